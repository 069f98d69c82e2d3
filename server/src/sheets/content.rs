//! The pieces of a plan as pieces of a sheet.

use std::path::PathBuf;
use std::sync::Arc;

use engine::drawing::Drawing;
use engine::drawing::figure::{Anchor, Shape as Drawn, Step as Way, person};
use engine::render::plain::{Block, CostRow, Run as Words, State, StepRow};
use paper::content::{
    Block as Piece, Column, Drawing as OnPaper, Item, Look, Picture, Place, Row, Run, Shape, Side, Step, Stroke, Table,
};

use crate::names::Name;
use crate::notebook::Notebook;

/// The grey of a person on a drawing.
const PERSON: u8 = 0x9a;
/// How many pictures a sheet shows; further ones are named.
const PICTURES: usize = 60;

/// Plain words in one run.
pub(super) fn words(text: impl Into<String>) -> Vec<Run> {
    vec![Run::plain(text)]
}

/// The pictures beside a plan.
pub(super) struct Pictures<'a> {
    notebook: &'a Notebook,
    beside: PathBuf,
    left: usize,
    bytes: usize,
}

impl<'a> Pictures<'a> {
    pub(super) fn of(notebook: &'a Notebook, plan: &Name) -> Self {
        let beside = plan.as_str().rsplit_once('/').map_or(PathBuf::new(), |(folder, _)| PathBuf::from(folder));
        Self { notebook, beside, left: PICTURES, bytes: paper::Bounds::default().pictures }
    }

    /// The file of a picture; nothing when it is not there or is more than a sheet takes.
    fn read(&mut self, file: &str) -> Option<Arc<Vec<u8>>> {
        self.left = self.left.checked_sub(1)?;
        let read = self.notebook.picture_beside(&self.beside, file, self.bytes)?;
        let is_known = read.starts_with(&[0xff, 0xd8]) || read.starts_with(b"\x89PNG");
        self.bytes -= if is_known { read.len() } else { 0 };
        is_known.then(|| Arc::new(read))
    }
}

/// Pieces of a plan, their headings one step apart at most: a reader's outline has no gaps.
pub(super) fn pieces(blocks: &[Block], deep: &mut u8, pictures: &mut Pictures<'_>) -> Vec<Piece> {
    let mut out = Vec::new();
    for block in blocks {
        piece(block, deep, pictures, &mut out);
    }
    out
}

fn piece(block: &Block, deep: &mut u8, pictures: &mut Pictures<'_>, out: &mut Vec<Piece>) {
    out.push(match block {
        Block::Heading { level, runs } => {
            *deep = (*level).clamp(2, *deep + 1);
            Piece::Heading { level: *deep, runs: flat(runs) }
        }
        Block::Paragraph { runs } => return paragraph(runs, pictures, out),
        Block::List { first, items } => Piece::List {
            first: *first,
            items: items
                .iter()
                .map(|item| Item { tick: item.tick, blocks: self::pieces(&item.blocks, deep, pictures) })
                .collect(),
        },
        Block::Table { columns, head, rows } => Piece::Table(Table {
            columns: columns.iter().map(|side| Column { side: side_of(side), share: 0 }).collect(),
            head: if head.iter().any(|cell| !cell.is_empty()) {
                head.iter().map(|cell| flat(cell)).collect()
            } else {
                Vec::new()
            },
            rows: rows
                .iter()
                .map(|row| Row { cells: row.iter().map(|cell| flat(cell)).collect(), bar: None })
                .collect(),
            ..Table::default()
        }),
        Block::Quote { blocks } => Piece::Quote(self::pieces(blocks, deep, pictures)),
        Block::Code { text } => Piece::Code(text.clone()),
        Block::Line => Piece::Rule,
        Block::Drawing { drawing } => Piece::Drawing(self::drawing(drawing)),
        Block::Costs { rows, total } => costs(rows, total),
        Block::Steps { rows } => steps(rows),
        Block::Remark { text } => Piece::Paragraph(vec![Run::italic(text)]),
    });
}

fn side_of(side: &str) -> Side {
    match side {
        "right" => Side::End,
        "middle" => Side::Middle,
        _ => Side::Start,
    }
}

/// A paragraph; its pictures stand between its words.
fn paragraph(runs: &[Words], pictures: &mut Pictures<'_>, out: &mut Vec<Piece>) {
    let mut before = Vec::new();
    let flush = |before: &mut Vec<Run>, out: &mut Vec<Piece>| {
        let before = std::mem::take(before);
        if before.iter().any(|run| !run.text.trim().is_empty()) {
            out.push(Piece::Paragraph(before));
        }
    };
    for run in runs {
        let file = match run {
            Words::Picture { words, file: Some(file) } => pictures.read(file).map(|file| (file, words)),
            _ => None,
        };
        match file {
            Some((file, words)) => {
                flush(&mut before, out);
                out.push(Piece::Picture(Picture { file, alt: words.clone() }));
            }
            None => flatten(std::slice::from_ref(run), Look::default(), None, &mut before),
        }
    }
    flush(&mut before, out);
}

fn flat(runs: &[Words]) -> Vec<Run> {
    let mut out = Vec::new();
    flatten(runs, Look::default(), None, &mut out);
    out
}

fn flatten(runs: &[Words], look: Look, to: Option<&String>, out: &mut Vec<Run>) {
    let push =
        |text: &str, look: Look, out: &mut Vec<Run>| out.push(Run { text: text.to_owned(), look, to: to.cloned() });
    for run in runs {
        match run {
            Words::Text { text } | Words::Code { text } => push(text, look, out),
            Words::Break => push("\n", look, out),
            Words::Picture { words, .. } => push(&format!("picture: {words}"), Look { italic: true, ..look }, out),
            Words::Value { shown, other, state } => {
                let is_found = *state == State::Found;
                push(shown, Look { bold: look.bold || is_found, italic: look.italic || !is_found, ..look }, out);
                if let Some(other) = other {
                    push(&format!(" ({other})"), look, out);
                }
            }
            Words::Strong { runs } => flatten(runs, Look { bold: true, ..look }, to, out),
            Words::Emphasis { runs } => flatten(runs, Look { italic: true, ..look }, to, out),
            Words::Struck { runs } => flatten(runs, Look { struck: true, ..look }, to, out),
            Words::Link { to: leads, runs } => flatten(runs, look, leads.as_ref().or(to), out),
        }
    }
}

/// Lines of cost and their sum.
fn costs(rows: &[CostRow], total: &str) -> Piece {
    let row = |row: &CostRow| Row { cells: vec![words(&row.what), words(&row.to), words(&row.amount)], bar: None };
    Piece::Table(Table {
        columns: vec![
            Column { share: 10, ..Column::default() },
            Column::default(),
            Column { side: Side::End, share: 0 },
        ],
        head: vec![words("what"), words("to"), words("cost")],
        rows: rows.iter().map(row).collect(),
        total: Some((words("Total"), words(total))),
        is_named: true,
        widest: None,
    })
}

/// Steps with their dates; the bars of all stand on one length of time.
pub(super) fn steps(rows: &[StepRow]) -> Piece {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of one, held to it")]
    let share = |of: f64| (of.clamp(0.0, 1.0) * 1000.0) as u16;
    let row = |row: &StepRow| Row {
        cells: vec![words(&row.what), words(&row.who), words(row.when_and_late())],
        bar: Some((share(row.from), share(row.long))),
    };
    Piece::Table(Table {
        columns: vec![
            Column { share: 15, ..Column::default() },
            Column { share: 12, ..Column::default() },
            Column::default(),
        ],
        head: vec![words("what"), words("who"), words("when, bars on one scale")],
        rows: rows.iter().map(row).collect(),
        is_named: true,
        ..Table::default()
    })
}

fn drawing(drawing: &Drawing) -> OnPaper {
    let (left, top) = drawing.corner();
    let at = |(x, y): (f64, f64)| Place(x - left, y - top);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "letters are some millimetres high")]
    let size = (drawing.letters() * 100.0).round() as u16;
    let shape = |shape: &Drawn| match shape {
        Drawn::Lines { points, closed, line, fill } => {
            let mut steps: Vec<Step> = points
                .iter()
                .enumerate()
                .map(|(number, place)| if number == 0 { Step::Move(at(*place)) } else { Step::Line(at(*place)) })
                .collect();
            if *closed {
                steps.push(Step::Close);
            }
            let (width, grey, dash) = line.on_paper();
            Shape::Path { steps, stroke: Some(Stroke { width, grey, dash: dash.to_vec() }), fill: fill.on_paper() }
        }
        Drawn::Person { feet, tall } => {
            let way = |step: Way| match step {
                Way::Move(to) => Step::Move(at(to)),
                Way::Line(to) => Step::Line(at(to)),
                Way::Curve(a, b, to) => Step::Curve(at(a), at(b), at(to)),
                Way::Close => Step::Close,
            };
            Shape::Path { steps: person(*feet, *tall).into_iter().map(way).collect(), stroke: None, fill: Some(PERSON) }
        }
        Drawn::Words { at: place, anchor, turned, words } => Shape::Words {
            at: at(*place),
            anchor: match anchor {
                Anchor::Start => Side::Start,
                Anchor::Middle => Side::Middle,
                Anchor::End => Side::End,
            },
            turned: *turned,
            size,
            words: words.clone(),
        },
    };
    OnPaper {
        alt: format!("{}. {}", drawing.title, drawing.says),
        caption: drawing.caption.clone(),
        size: Place(drawing.width, drawing.height),
        shapes: drawing.shapes().iter().map(shape).collect(),
    }
}
