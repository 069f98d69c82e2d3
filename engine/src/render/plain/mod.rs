//! A plan calculated as plain pieces: headings, paragraphs, lists, tables and drawings, every ask replaced by its value. What a
//! sheet of paper is made from; it holds no marks of any other language. [`reader`] goes through the text.

mod reader;

use serde::Serialize;

use self::reader::Reader;
use crate::Value;
use crate::document::Document;
use crate::drawing::Drawing;
use crate::evaluate::Evaluation;
use crate::measure::{Area, Day, Length, Mass, Units, Volume};
use crate::record::{Record, Step};

/// A piece of a plan.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading, 2 for those below the title.
    Heading {
        /// 1 for the title, 2 for `##`.
        level: u8,
        /// Its words.
        runs: Vec<Run>,
    },
    /// A paragraph.
    Paragraph {
        /// Its words.
        runs: Vec<Run>,
    },
    /// A list.
    List {
        /// The number of the first item, when it is numbered.
        first: Option<u64>,
        /// Its items.
        items: Vec<Item>,
    },
    /// A table.
    Table {
        /// How each column is set: `left`, `middle` or `right`.
        columns: Vec<&'static str>,
        /// The cells of its head.
        head: Vec<Vec<Run>>,
        /// The cells of its rows.
        rows: Vec<Vec<Vec<Run>>>,
    },
    /// Words of someone else.
    Quote {
        /// What they said.
        blocks: Vec<Block>,
    },
    /// Text as typed.
    Code {
        /// The text.
        text: String,
    },
    /// A line across.
    Line,
    /// A drawing to scale.
    Drawing {
        /// The drawing.
        drawing: Box<Drawing>,
    },
    /// Lines of cost and their sum.
    Costs {
        /// What, to whom, how much.
        rows: Vec<CostRow>,
        /// The sum.
        total: String,
    },
    /// Steps with their dates, and bars that show them on one length of time.
    Steps {
        /// The steps, in order.
        rows: Vec<StepRow>,
    },
    /// Something that could not be shown, and why.
    Remark {
        /// In a sentence.
        text: String,
    },
}

/// One item of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Ticked or not, when it has a box.
    pub tick: Option<bool>,
    /// What it says.
    pub blocks: Vec<Block>,
}

/// One line of cost.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CostRow {
    /// What is paid for.
    pub what: String,
    /// Whom it goes to.
    pub to: String,
    /// How much, as written.
    pub amount: String,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepRow {
    /// What is done.
    pub what: String,
    /// By whom.
    pub who: String,
    /// When, as written.
    pub when: String,
    /// How late it is: `3 days late`. No part of what two issues are compared by, since it is another each day.
    pub late: Option<String>,
    /// Its first day, as in ISO 8601.
    pub start: String,
    /// Its last day, as in ISO 8601.
    pub end: String,
    /// How many working days it takes.
    pub days: u32,
    /// Where its bar begins, as a share of the whole time.
    pub from: f64,
    /// How long its bar is, as a share of the whole time.
    pub long: f64,
}

impl StepRow {
    /// When, and how late it is.
    #[must_use]
    pub fn when_and_late(&self) -> String {
        self.late.as_ref().map_or_else(|| self.when.clone(), |late| format!("{}, {late}", self.when))
    }
}

/// Words set alike.
#[derive(Clone, Debug, PartialEq)]
pub enum Run {
    /// Plain words.
    Text {
        /// The words.
        text: String,
    },
    /// Set bold.
    Strong {
        /// What.
        runs: Vec<Run>,
    },
    /// Set in italics.
    Emphasis {
        /// What.
        runs: Vec<Run>,
    },
    /// Struck through.
    Struck {
        /// What.
        runs: Vec<Run>,
    },
    /// As typed.
    Code {
        /// The text.
        text: String,
    },
    /// Words that lead elsewhere.
    Link {
        /// Where to: the web or mail; nothing when it leads nowhere safe or inside the notebook.
        to: Option<String>,
        /// The words.
        runs: Vec<Run>,
    },
    /// The value of an ask.
    Value {
        /// As written in the plan's units.
        shown: String,
        /// In the other units, where a shop may work in them.
        other: Option<String>,
        /// Whether it is known, and may be told.
        state: State,
    },
    /// A picture, with the words that stand for it.
    Picture {
        /// The words.
        words: String,
        /// Where the file is in the notebook, as written; nothing when it is not a picture of the notebook.
        file: Option<String>,
    },
    /// The end of a line.
    Break,
}

/// What is known of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// It is known.
    Found,
    /// It could not be calculated.
    Unknown,
    /// It is money that is not this shop's.
    Withheld,
}

/// What was read of a plan.
#[derive(Clone, Debug, Default)]
pub struct Read {
    /// Its pieces, in order.
    pub blocks: Vec<Block>,
    /// The cautions of the numbers in them, each once.
    pub cautions: Vec<String>,
    /// Asks among them that have no value yet.
    pub unknown: Vec<String>,
}

/// The whole plan, `shops` being what each role is called.
#[must_use]
pub fn whole(document: &Document, evaluation: &Evaluation, shops: &[(String, String)]) -> Read {
    Reader::new(document, evaluation, shops, None).read()
}

/// Only the sections given to one shop, without private ones and without money that is not its own.
#[must_use]
pub fn of_shop(document: &Document, evaluation: &Evaluation, shops: &[(String, String)], role: &str) -> Read {
    Reader::new(document, evaluation, shops, Some(role)).read()
}

/// Steps as rows, with bars on one length of time.
#[must_use]
pub fn steps<'a>(
    all: impl Iterator<Item = &'a Step>,
    (document, evaluation): (&Document, &Evaluation),
    name: impl Fn(&str) -> String,
) -> Vec<StepRow> {
    let all: Vec<_> = all.collect();
    let first = all.iter().map(|step| step.start).min();
    let last = all.iter().map(|step| step.end).max();
    #[expect(clippy::cast_precision_loss, reason = "days of a plan are far below 2^52")]
    let days = |from: Day, to: Day| from.until(to) as f64;
    let whole = first.zip(last).map_or(1.0, |(first, last)| days(first, last) + 1.0);
    all.into_iter()
        .map(|step| StepRow {
            what: step.what.clone(),
            who: step.who.as_deref().map(&name).unwrap_or_default(),
            when: when(step),
            late: lateness(document, evaluation, step),
            start: step.start.iso(),
            end: step.end.iso(),
            days: step.days,
            from: first.map_or(0.0, |first| days(first, step.start) / whole),
            long: (days(step.start, step.end) + 1.0) / whole,
        })
        .collect()
}

/// `3 days late`; nothing when it is not late, or the piece hangs.
#[must_use]
pub(super) fn lateness(document: &Document, evaluation: &Evaluation, step: &Step) -> Option<String> {
    let days = step.days_late(evaluation.today).filter(|_| document.front.hung.is_none())?;
    Some(if days == 1 { "1 day late".to_owned() } else { format!("{days} days late") })
}

/// `Fri 27 Nov`, or from one day to another.
pub(super) fn when(step: &Step) -> String {
    if step.start == step.end { step.end.brief() } else { format!("{} to {}", step.start.brief(), step.end.brief()) }
}

/// The lines of cost of one shop or of all as rows, those without an amount last.
#[must_use]
pub fn costs(record: &Record, shop: Option<&str>, name: impl Fn(&str) -> String) -> Vec<CostRow> {
    let own = |one: Option<&str>| shop.is_none() || one == shop;
    let row = |what: &str, to: Option<&str>, amount: String| CostRow {
        what: what.to_owned(),
        to: to.map(&name).unwrap_or_default(),
        amount,
    };
    let lines = record.costs.iter().filter(|line| own(line.shop.as_deref()));
    let open = record.open.iter().filter(|one| own(one.shop.as_deref()));
    lines
        .map(|line| row(&line.what, line.shop.as_deref(), line.amount.to_string()))
        .chain(open.map(|one| row(&one.what, one.shop.as_deref(), one.shown().to_owned())))
        .collect()
}

/// A value in the other units, where they say it otherwise.
#[must_use]
pub fn in_other_units(value: &Value, units: Units) -> Option<String> {
    let measured = |value: &Value| matches!(value, Value::Quantity(one) if [Length::DIMS, Area::DIMS, Mass::DIMS, Volume::DIMS].contains(&one.dims));
    let is = match value {
        Value::List(all) => !all.is_empty() && all.len() <= 3 && all.iter().all(measured),
        value => measured(value),
    };
    let (own, other) = (value.shown(units), value.shown(units.other()));
    (is && own != other).then_some(other)
}

/// The words alone, as one would read them out.
#[must_use]
pub fn runs_text(runs: &[Run]) -> String {
    let mut out = String::new();
    for run in runs {
        match run {
            Run::Text { text } | Run::Code { text } => out.push_str(text),
            Run::Strong { runs } | Run::Emphasis { runs } | Run::Struck { runs } | Run::Link { runs, .. } => {
                out.push_str(&runs_text(runs));
            }
            Run::Value { shown, .. } => out.push_str(shown),
            Run::Picture { words, .. } => out.push_str(words),
            Run::Break => out.push(' '),
        }
    }
    out
}

impl Block {
    /// What it says, a line for each thing that can change by itself.
    pub fn lines(&self, out: &mut Vec<String>) {
        match self {
            Self::Heading { runs, .. } | Self::Paragraph { runs } => out.push(runs_text(runs)),
            Self::List { items, .. } => {
                for item in items {
                    item.blocks.iter().for_each(|block| block.lines(out));
                }
            }
            Self::Table { head, rows, .. } => {
                for row in std::iter::once(head).chain(rows) {
                    out.push(row.iter().map(|cell| runs_text(cell)).collect::<Vec<_>>().join(" | "));
                }
            }
            Self::Quote { blocks } => blocks.iter().for_each(|block| block.lines(out)),
            Self::Code { text } | Self::Remark { text } => out.push(text.trim().to_owned()),
            Self::Line => {}
            Self::Drawing { drawing } => out.push(format!("{}. {}", drawing.title, drawing.says)),
            Self::Costs { rows, total } => {
                out.extend(rows.iter().map(|row| format!("{}: {}", row.what, row.amount)));
                out.push(format!("Total: {total}"));
            }
            Self::Steps { rows } => out.extend(rows.iter().map(|row| format!("{}: {}", row.what, row.when))),
        }
    }
}
