//! Goes through a plan once and leaves what a reader of paper is to have.

use std::collections::{BTreeSet, HashSet};

use pulldown_cmark::{Alignment, CodeBlockKind, CowStr, Event, Tag, TagEnd};

use super::{Block, Item, Read, Run, State, costs, in_other_units, runs_text, steps};
use crate::document::reading::{Document, is_ask, is_workings, number};
use crate::drawing;
use crate::evaluate::Evaluation;
use crate::markup::{is_local_picture, is_safe_link};
use crate::measure::Money;
use crate::script::statements::Shown;
use crate::{Found, Value};

/// How deep lists and quotations may stand in each other; what is deeper is written at this depth.
const DEEPEST: usize = 6;

pub(super) struct Reader<'a> {
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
    shown: HashSet<String>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(
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
            shown: HashSet::new(),
        }
    }

    pub(super) fn read(mut self) -> Read {
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
                        self.shown.clear();
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
            Tag::Image { dest_url, .. } => {
                let file = is_local_picture(dest_url).then(|| dest_url.to_string());
                Run::Picture { words: runs_text(&runs), file }
            }
            _ => Run::Picture { words: runs_text(&runs), file: None },
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
                let wanted = self.role.is_some() && !self.in_heading && self.shown.insert(shown.clone());
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
                let total = evaluation.record.total(self.role).unwrap_or_default();
                Block::Costs { rows: costs(&evaluation.record, self.role, |role| self.name(role)), total }
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
