//! How long a ticket of two pages takes to set, beside the least the typesetting library takes for a sheet of one word.
//!
//! `cargo bench -p paper` prints the first sheet of the process, then one whose numbers changed and one that did not, each with
//! its ratio to the floor of the same run, and the memory the process holds after two hundred sheets.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a bench")]

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::Criterion;
use paper::{Form, Sheet, Size, pdf};
use serde_json::{Value, json};

/// A ticket with a table of sizes, prose, thirty rows and a drawing, about two pages.
fn ticket(wide: usize) -> Sheet {
    let words = |text: String| json!([{ "is": "text", "text": text }]);
    let value = |shown: String| json!([{ "is": "text", "text": "It is " }, { "is": "value", "shown": shown, "other": "1828.8 mm", "state": "found" }, { "is": "text", "text": " wide, and nothing else is to be done to it." }]);
    let rows: Vec<Value> =
        (0..30).map(|row| json!([words(format!("strip {row}")), words(format!("{} mm", wide + row))])).collect();
    let lines: String = (0..60)
        .map(|at| format!("<path d=\"M{at} 0L{at} 40\" stroke=\"#000\" stroke-width=\"0.25\" fill=\"none\"/>"))
        .collect();
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 120 50\" width=\"120mm\" height=\"50mm\">{lines}<text x=\"2\" y=\"48\" font-size=\"3.3\" font-family=\"Libertinus Serif\">{wide} mm</text></svg>"
    );
    let mut blocks = vec![json!({ "is": "heading", "level": 2, "runs": words("The print".to_owned()) })];
    blocks.extend((0..6).map(|at| json!({ "is": "paragraph", "runs": value(format!("{} in", wide + at)) })));
    blocks.push(json!({ "is": "drawing", "drawing": { "svg": svg, "alt": "lines", "caption": "Lines", "width": 120, "height": 50 } }));
    blocks.push(json!({ "is": "table", "columns": ["left", "right"], "head": [words("what".to_owned()), words("how much".to_owned())], "rows": rows }));
    sheet(
        json!({
            "title": "Weir, Low Water", "subtitle": "The print", "needed": "7 January 2027", "revision": "4", "issued": "26 November 2026",
            "quantity": "1 piece", "number": null, "shop": "The Lab",
            "sizes": (0..10).map(|at| json!({ "what": format!("size {at}"), "shown": format!("{} in", wide + at), "other": "1 mm" })).collect::<Vec<_>>(),
            "blocks": blocks, "deliver": ["One print"], "close": [], "steps": [], "total": null, "costs": [],
            "ticks": ["Looked at whole", "Nothing bent"], "cautions": ["Two people carry it."], "contact": [["name", "A. B."]],
            "handed": [], "square": null, "code": "weir", "fields": [{ "label": "title", "value": "Weir, Low Water" }],
        }),
        Form::Ticket,
    )
}

/// A sheet of one word.
fn word(at: usize) -> Sheet {
    sheet(json!({ "title": at.to_string(), "rows": [], "note": "", "square": null, "code": "" }), Form::Certificate)
}

fn sheet(says: Value, form: Form) -> Sheet {
    Sheet {
        form,
        size: Size::Letter,
        title: "Weir".to_owned(),
        author: "A. B.".to_owned(),
        day: (2026, 11, 26),
        running: "Weir".to_owned(),
        ident: "weir".to_owned(),
        says,
    }
}

/// Memory this process holds, in megabytes.
fn held() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let kilobytes =
        status.lines().find_map(|line| line.strip_prefix("VmRSS:")?.trim().strip_suffix(" kB")?.parse::<f64>().ok());
    kilobytes.unwrap_or_default() / 1024.0
}

/// Half of so many rounds take less.
fn median(rounds: usize, mut round: impl FnMut(usize)) -> Duration {
    let mut all: Vec<Duration> = (0..rounds)
        .map(|at| {
            let began = Instant::now();
            round(at);
            began.elapsed()
        })
        .collect();
    all.sort();
    all.get(rounds / 2).copied().unwrap_or_default()
}

fn main() {
    let began = Instant::now();
    let first = pdf(&ticket(0)).unwrap();
    let first_took = began.elapsed();
    let floor = median(100, |at| {
        black_box(pdf(&word(at)).unwrap());
    });
    let changed = median(100, |at| {
        black_box(pdf(&ticket(at + 1)).unwrap());
    });
    let same = median(100, |_| {
        black_box(pdf(&ticket(0)).unwrap());
    });
    let ms = |took: Duration| took.as_secs_f64() * 1000.0;
    println!("two pages, {} bytes; floor, a sheet of one word: {:.2} ms", first.pdf.len(), ms(floor));
    println!("first of the process   {:6.2} ms  goal 50", ms(first_took));
    for (what, took) in [("numbers changed", changed), ("unchanged", same)] {
        println!(
            "{what:<22} {:6.2} ms  {:5.2} times the floor, goal 20 ms",
            ms(took),
            took.as_secs_f64() / floor.as_secs_f64()
        );
    }
    println!("memory held after these {:6.1} MB", held());
    let mut criterion = Criterion::default().configure_from_args();
    let mut at = 1000;
    criterion.bench_function("ticket, numbers changed", |b| {
        b.iter(|| {
            at += 1;
            pdf(&ticket(at)).unwrap()
        });
    });
    criterion.final_summary();
}
