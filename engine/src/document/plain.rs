//! A plan worked out as plain pieces: headings, paragraphs, lists, tables and drawings, every ask replaced by its value. What a
//! sheet of paper is made from; it holds no marks of any other language.

use std::collections::{BTreeSet, HashSet};

use pulldown_cmark::{Alignment, CodeBlockKind, CowStr, Event, Tag, TagEnd};
use serde::Serialize;

use super::html::{is_ask, is_safe_link};
use super::reading::{Document, is_workings, number};
use crate::drawing::{self, Drawing};
use crate::evaluate::Evaluation;
use crate::measure::{Area, Day, Length, Mass, Money, Units, Volume};
use crate::script::record::{CostLine, Step};
use crate::script::statements::Shown;
use crate::{Found, Value};

/// How deep lists and quotations may stand in each other; what is deeper is written at this depth.
const DEEPEST: usize = 6;

/// A piece of a plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "lowercase")]
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
#[derive(Clone, Debug, PartialEq, Serialize)]
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

/// Words set alike.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "lowercase")]
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
    /// A picture, by the words that stand for it.
    Picture {
        /// The words.
        words: String,
    },
    /// The end of a line.
    Break,
}

/// What is known of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum State {
    /// It is known.
    Found,
    /// It could not be worked out.
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
pub fn steps<'a>(all: impl Iterator<Item = &'a Step>, name: impl Fn(&str) -> String) -> Vec<StepRow> {
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
            start: step.start.iso(),
            end: step.end.iso(),
            days: step.days,
            from: first.map_or(0.0, |first| days(first, step.start) / whole),
            long: (days(step.start, step.end) + 1.0) / whole,
        })
        .collect()
}

/// `Fri 27 Nov`, or from one day to another.
pub(super) fn when(step: &Step) -> String {
    if step.start == step.end { step.end.brief() } else { format!("{} to {}", step.start.brief(), step.end.brief()) }
}

/// Lines of cost as rows.
#[must_use]
pub fn costs<'a>(all: impl Iterator<Item = &'a CostLine>, name: impl Fn(&str) -> String) -> Vec<CostRow> {
    all.map(|line| CostRow {
        what: line.what.clone(),
        to: line.shop.as_deref().map(&name).unwrap_or_default(),
        amount: line.amount.to_string(),
    })
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

struct Reader<'a> {
    document: &'a Document,
    evaluation: &'a Evaluation,
    shops: &'a [(String, String)],
    role: Option<&'a str>,
    at: usize,
    next_ask: usize,
    next_block: usize,
    next_section: usize,
    tick: Option<bool>,
    in_heading: bool,
    cautions: BTreeSet<&'static str>,
    unknown: Vec<String>,
    /// Values already written in both units since the last heading.
    told: HashSet<String>,
}

impl<'a> Reader<'a> {
    fn new(
        document: &'a Document,
        evaluation: &'a Evaluation,
        shops: &'a [(String, String)],
        role: Option<&'a str>,
    ) -> Self {
        Self {
            document,
            evaluation,
            shops,
            role,
            at: 0,
            next_ask: 0,
            next_block: 0,
            next_section: 0,
            tick: None,
            in_heading: false,
            cautions: BTreeSet::new(),
            unknown: Vec::new(),
            told: HashSet::new(),
        }
    }

    fn read(mut self) -> Read {
        let mut blocks = Vec::new();
        // Sections begin only at headings that stand in nothing else.
        while self.peek().is_some() {
            if self.shows() {
                self.blocks(0, true, &mut blocks);
            } else {
                self.skip_section();
            }
        }
        let cautions = self.cautions.into_iter().map(str::to_owned).collect();
        Read { blocks, cautions, unknown: self.unknown }
    }

    fn peek(&self) -> Option<&'a Event<'static>> {
        self.document.events.get(self.at).map(|(event, _)| event)
    }

    fn next(&mut self) -> Option<&'a Event<'static>> {
        let event = self.peek();
        self.at += 1;
        event
    }

    fn name(&self, role: &str) -> String {
        self.shops.iter().find(|(one, _)| one == role).map_or_else(|| role.to_owned(), |(_, name)| name.clone())
    }

    /// Whether the passage that begins here, with a heading or before any, is on this sheet.
    fn shows(&self) -> bool {
        let Some(role) = self.role else { return true };
        if !matches!(self.peek(), Some(Event::Start(Tag::Heading { .. }))) {
            return false;
        }
        let section = self.document.sections.get(self.next_section);
        section.is_some_and(|one| !one.private && one.shop.as_deref() == Some(role))
    }

    /// Passes over everything down to the next heading that stands in nothing else, counting asks and blocks.
    fn skip_section(&mut self) {
        let mut depth = 0_usize;
        let mut begun = false;
        while let Some(event) = self.peek() {
            if depth == 0 && begun && matches!(event, Event::Start(Tag::Heading { .. })) {
                return;
            }
            begun = true;
            match event {
                Event::Start(tag) => {
                    depth += 1;
                    match tag {
                        Tag::Heading { .. } => self.next_section += 1,
                        Tag::CodeBlock(CodeBlockKind::Fenced(info)) if is_workings(info) => self.next_block += 1,
                        _ => {}
                    }
                }
                Event::End(_) => depth = depth.saturating_sub(1),
                Event::Code(words) if is_ask(words) => self.next_ask += 1,
                _ => {}
            }
            self.at += 1;
        }
    }

    /// Pieces up to the end of what they stand in; at the top, up to the next heading.
    fn blocks(&mut self, depth: usize, top: bool, out: &mut Vec<Block>) {
        let mut stray = Vec::new();
        let mut through = 0_usize;
        let mut begun = false;
        while let Some(event) = self.peek() {
            if top && begun && through == 0 && matches!(event, Event::Start(Tag::Heading { .. })) {
                break;
            }
            begun = true;
            self.at += 1;
            match event {
                Event::Start(tag) => match tag {
                    Tag::Paragraph | Tag::HtmlBlock => {
                        flush(&mut stray, out);
                        match self.lone_ask() {
                            Some(block) => out.push(block),
                            None => {
                                let runs = self.runs(0);
                                if !runs.is_empty() {
                                    out.push(Block::Paragraph { runs });
                                }
                            }
                        }
                    }
                    Tag::Heading { level, .. } => {
                        flush(&mut stray, out);
                        self.next_section += 1;
                        self.told.clear();
                        self.in_heading = true;
                        let runs = self.runs(0);
                        self.in_heading = false;
                        out.push(Block::Heading { level: number(*level), runs });
                    }
                    Tag::CodeBlock(CodeBlockKind::Fenced(info)) if is_workings(info) => {
                        flush(&mut stray, out);
                        self.workings();
                    }
                    Tag::CodeBlock(_) => {
                        flush(&mut stray, out);
                        out.push(Block::Code { text: self.typed() });
                    }
                    Tag::List(first) if depth < DEEPEST => {
                        flush(&mut stray, out);
                        out.push(Block::List { first: *first, items: self.items(depth + 1) });
                    }
                    Tag::BlockQuote(_) if depth < DEEPEST => {
                        flush(&mut stray, out);
                        let mut blocks = Vec::new();
                        self.blocks(depth + 1, false, &mut blocks);
                        out.push(Block::Quote { blocks });
                    }
                    Tag::Table(columns) => {
                        flush(&mut stray, out);
                        out.push(self.table(columns));
                    }
                    Tag::Emphasis | Tag::Strong | Tag::Strikethrough | Tag::Link { .. } | Tag::Image { .. } => {
                        let run = self.set(tag, 1);
                        stray.push(run);
                    }
                    _ => through += 1,
                },
                Event::End(_) if through == 0 && !top => break,
                Event::End(_) => through = through.saturating_sub(1),
                Event::Rule => {
                    flush(&mut stray, out);
                    out.push(Block::Line);
                }
                event => self.leaf(event, &mut stray),
            }
        }
        flush(&mut stray, out);
    }

    fn items(&mut self, depth: usize) -> Vec<Item> {
        let mut items = Vec::new();
        while let Some(event) = self.next() {
            match event {
                Event::Start(Tag::Item) => {
                    let around = self.tick.take();
                    let mut blocks = Vec::new();
                    self.blocks(depth, false, &mut blocks);
                    items.push(Item { tick: self.tick.take(), blocks });
                    self.tick = around;
                }
                Event::End(TagEnd::List(_)) => break,
                _ => {}
            }
        }
        items
    }

    fn table(&mut self, columns: &[Alignment]) -> Block {
        let columns = columns
            .iter()
            .map(|column| match column {
                Alignment::Right => "right",
                Alignment::Center => "middle",
                Alignment::Left | Alignment::None => "left",
            })
            .collect();
        let (mut head, mut rows, mut row) = (Vec::new(), Vec::new(), Vec::new());
        while let Some(event) = self.next() {
            match event {
                Event::Start(Tag::TableCell) => row.push(self.runs(0)),
                Event::End(TagEnd::TableHead) => head = std::mem::take(&mut row),
                Event::End(TagEnd::TableRow) => rows.push(std::mem::take(&mut row)),
                Event::End(TagEnd::Table) => break,
                _ => {}
            }
        }
        Block::Table { columns, head, rows }
    }

    /// Words up to the end of what they stand in.
    fn runs(&mut self, depth: usize) -> Vec<Run> {
        let mut out = Vec::new();
        let mut through = 0_usize;
        while let Some(event) = self.next() {
            match event {
                Event::Start(tag) if depth < DEEPEST && is_set(tag) => {
                    let run = self.set(tag, depth + 1);
                    out.push(run);
                }
                Event::Start(_) => through += 1,
                Event::End(_) if through == 0 => break,
                Event::End(_) => through -= 1,
                event => self.leaf(event, &mut out),
            }
        }
        out
    }

    fn set(&mut self, tag: &Tag<'_>, depth: usize) -> Run {
        let runs = self.runs(depth);
        match tag {
            Tag::Strong => Run::Strong { runs },
            Tag::Emphasis => Run::Emphasis { runs },
            Tag::Strikethrough => Run::Struck { runs },
            Tag::Link { dest_url, link_type, .. } => Run::Link { to: outward(dest_url, *link_type), runs },
            _ => Run::Picture { words: runs_text(&runs) },
        }
    }

    /// Something with nothing inside.
    fn leaf(&mut self, event: &Event<'_>, out: &mut Vec<Run>) {
        match event {
            Event::Code(words) if is_ask(words) => {
                if let Some(run) = self.ask() {
                    out.push(run);
                }
            }
            Event::Code(text) => out.push(Run::Code { text: text.to_string() }),
            Event::Text(text) | Event::Html(text) | Event::InlineHtml(text) => match out.last_mut() {
                Some(Run::Text { text: before }) => before.push_str(text),
                _ => out.push(Run::Text { text: text.to_string() }),
            },
            Event::SoftBreak => match out.last_mut() {
                Some(Run::Text { text }) => text.push(' '),
                _ => out.push(Run::Text { text: " ".to_owned() }),
            },
            Event::HardBreak => out.push(Run::Break),
            Event::TaskListMarker(done) => self.tick = Some(*done),
            _ => {}
        }
    }

    fn typed(&mut self) -> String {
        let mut text = String::new();
        while let Some(event) = self.next() {
            match event {
                Event::Text(words) => text.push_str(words),
                Event::End(TagEnd::CodeBlock) => break,
                _ => {}
            }
        }
        text
    }

    /// Workings stay off paper; the cautions of what they give do not.
    fn workings(&mut self) {
        let _ = self.typed();
        if let Some(outcome) = self.evaluation.blocks.get(self.next_block) {
            self.cautions.extend(outcome.gives.iter().filter_map(|named| named.found.caution));
        }
        self.next_block += 1;
    }

    fn ask(&mut self) -> Option<Run> {
        let index = self.next_ask;
        self.next_ask += 1;
        let (ask, answer) = (self.document.asks.get(index)?, self.evaluation.answers.get(index)?);
        let units = self.evaluation.units;
        Some(match &answer.result {
            Err(_) => {
                self.unknown.push(ask.expression.clone());
                Run::Value { shown: "not known yet".to_owned(), other: None, state: State::Unknown }
            }
            Ok(found) => {
                self.beware(found);
                let shown = found.value.shown(units);
                if self.role.is_some_and(|role| self.withheld(role, &found.value, &shown)) {
                    return Some(Run::Value {
                        shown: "not on this ticket".to_owned(),
                        other: None,
                        state: State::Withheld,
                    });
                }
                let wanted = self.role.is_some() && !self.in_heading && self.told.insert(shown.clone());
                let other = if wanted { in_other_units(&found.value, units) } else { None };
                Run::Value { shown, other, state: State::Found }
            }
        })
    }

    fn beware(&mut self, found: &Found) {
        self.cautions.extend(found.caution);
    }

    /// Money that is not this shop's own stays off its ticket, in whatever form it is asked for.
    fn withheld(&self, role: &str, value: &Value, shown: &str) -> bool {
        let money = match value {
            Value::Money(_) => true,
            _ => crate::measure::Currency::all().iter().any(|one| {
                shown.match_indices(one.sign.trim_end()).any(|(at, sign)| {
                    shown
                        .get(at + sign.len()..)
                        .is_some_and(|rest| rest.trim_start().starts_with(|c: char| c.is_ascii_digit()))
                })
            }),
        };
        if !money {
            return false;
        }
        let own = self.evaluation.record.costs.iter().filter(|line| line.shop.as_deref() == Some(role));
        let all = own.map(|line| line.amount).chain(self.evaluation.cost(Some(role)));
        !all.into_iter().any(|amount: Money| amount.to_string() == shown)
    }

    /// A paragraph that is one ask for a table or a drawing becomes it.
    fn lone_ask(&mut self) -> Option<Block> {
        let events = &self.document.events;
        let (Some((Event::Code(words), _)), Some((Event::End(TagEnd::Paragraph), _))) =
            (events.get(self.at), events.get(self.at + 1))
        else {
            return None;
        };
        if !is_ask(words) {
            return None;
        }
        let evaluation = self.evaluation;
        let Ok(found) = &evaluation.answers.get(self.next_ask)?.result else { return None };
        let Value::Thing(thing) = &found.value else { return None };
        let block = match thing.get::<Shown>() {
            Some(Shown::Costs) => {
                let own = |shop: Option<&str>| self.role.is_none() || shop == self.role;
                let lines = evaluation.record.costs.iter().filter(|line| own(line.shop.as_deref()));
                let total = evaluation.cost(self.role).map(|sum| sum.to_string()).unwrap_or_default();
                Block::Costs { rows: costs(lines, |role| self.name(role)), total }
            }
            Some(Shown::Steps) => {
                let own = |who: Option<&str>| self.role.is_none() || who == self.role;
                let all = evaluation.record.steps.iter().filter(|step| own(step.who.as_deref()));
                Block::Steps { rows: steps(all, |role| self.name(role)) }
            }
            Some(Shown::Wall) => match &evaluation.record.hung {
                Some(hung) => Block::Drawing {
                    drawing: Box::new(drawing::wall::hung(hung, &self.document.title(), evaluation.units)),
                },
                None => Block::Remark { text: "No piece hangs yet.".to_owned() },
            },
            None => Block::Drawing { drawing: Box::new(drawing::of(thing, evaluation.units)?) },
        };
        self.beware(found);
        self.next_ask += 1;
        self.at += 2;
        Some(block)
    }
}

fn flush(stray: &mut Vec<Run>, out: &mut Vec<Block>) {
    if !stray.is_empty() {
        out.push(Block::Paragraph { runs: std::mem::take(stray) });
    }
}

fn is_set(tag: &Tag<'_>) -> bool {
    matches!(tag, Tag::Emphasis | Tag::Strong | Tag::Strikethrough | Tag::Link { .. } | Tag::Image { .. })
}

/// Where a link leads on paper: to the web or to mail. A link inside the notebook leads nowhere there.
fn outward(to: &CowStr<'_>, kind: pulldown_cmark::LinkType) -> Option<String> {
    let to = if kind == pulldown_cmark::LinkType::Email { format!("mailto:{to}") } else { to.to_string() };
    let lower = to.trim().to_lowercase();
    let leads = ["http://", "https://", "mailto:"].iter().any(|start| lower.starts_with(start));
    (leads && is_safe_link(&to)).then(|| to.trim().to_owned())
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
            Run::Picture { words } => out.push_str(words),
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
                out.push(format!("in all: {total}"));
            }
            Self::Steps { rows } => out.extend(rows.iter().map(|row| format!("{}: {}", row.what, row.when))),
        }
    }
}
