//! How long sheets take to set: the first of a process, the next, and a table of ten thousand rows, with the memory held.
//!
//! `cargo bench -p paper` prints each beside its goal.
#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, clippy::print_stdout, reason = "a bench")]

use std::time::{Duration, Instant};

use paper::content::{Block, Column, Drawing, Place, Row, Run, Shape, Side, Step, Stroke, Table};
use paper::{Bounds, Sheet, Size, pdf};

fn words(text: impl Into<String>) -> Vec<Run> {
    vec![Run::plain(text)]
}

fn rows(count: usize, wide: usize) -> Block {
    let row = |at: usize| Row {
        cells: vec![words(format!("strip {at}")), words(format!("{} mm", wide + at)), words("from the left")],
        bar: None,
    };
    Block::Table(Table {
        columns: vec![Column::default(); 3],
        head: vec![words("what"), words("how much"), words("where")],
        rows: (0..count).map(row).collect(),
        is_named: true,
        ..Table::default()
    })
}

/// A ticket with prose, thirty rows and a drawing, about two pages.
fn ticket(wide: usize) -> Sheet {
    let line = |at: usize| Shape::Path {
        steps: vec![Step::Move(Place(at as f64, 0.0)), Step::Line(Place(at as f64, 40.0))],
        stroke: Some(Stroke { width: 25, grey: 0, dash: Vec::new() }),
        fill: None,
    };
    let mut shapes: Vec<Shape> = (0..60).map(line).collect();
    shapes.push(Shape::Words {
        at: Place(2.0, 48.0),
        anchor: Side::Start,
        turned: false,
        size: 330,
        words: format!("{wide} mm"),
    });
    let drawing = Drawing { alt: "lines".into(), caption: "Lines".into(), size: Place(120.0, 50.0), shapes };
    let mut body = vec![Block::Head {
        title: "Weir, Low Water".into(),
        subtitle: "The print".into(),
        beside: vec![words("revision 4")],
    }];
    body.push(Block::Heading { level: 2, runs: words("The print") });
    body.extend((0..6).map(|at| {
        Block::Paragraph(words(
            format!("It is {} in wide, and nothing else is to be done to it. ", wide + at).repeat(4),
        ))
    }));
    body.push(Block::Drawing(drawing));
    body.push(rows(30, wide));
    sheet(body)
}

fn sheet(body: Vec<Block>) -> Sheet {
    Sheet {
        size: Size::Letter,
        title: "Weir".into(),
        author: "A. B.".into(),
        day: (2026, 11, 26),
        running: "Weir".into(),
        ident: "weir".into(),
        body,
        foot: vec![Block::Fields(vec![("title".into(), "Weir".into())])],
    }
}

fn set(sheet: &Sheet) -> (Duration, usize) {
    let began = Instant::now();
    let made = pdf(sheet, &Bounds::default(), &|| true).unwrap();
    (began.elapsed(), made.pdf.len())
}

/// The most memory this process ever held, in megabytes.
fn most() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let kilobytes =
        status.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse::<f64>().ok());
    kilobytes.unwrap_or_default() / 1024.0
}

fn main() {
    let ms = |took: Duration| took.as_secs_f64() * 1000.0;
    let (first, bytes) = set(&ticket(0));
    println!("first of the process {:8.2} ms, goal 20; {bytes} bytes, at most {:.1} MB held", ms(first), most());
    let mut all: Vec<Duration> = (1..100).map(|at| set(&ticket(at)).0).collect();
    all.sort();
    println!("the next             {:8.2} ms, goal 8; at most {:.1} MB held", ms(all[all.len() / 2]), most());
    let before = most();
    let long = sheet(vec![rows(10_000, 0)]);
    let (took, bytes) = set(&long);
    println!(
        "10 000 rows          {:8.2} ms, goal 1500; {bytes} bytes, {:.1} MB more, goal 64",
        ms(took),
        most() - before
    );
}
