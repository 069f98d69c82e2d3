//! A plan calculated, as the HTML of its page. Safe: raw HTML of the text is shown as text, links
//! lead only to the web, to mail and to the notebook itself, and pictures come only from the notebook.
//!
//! The writer here goes through the text; the values in it are in `asks`, the blocks of workings in `workings`, what
//! becomes a table in `tables`, a price list in `price_table`; `title` is the title block, and `article` what comes of it all, in passages.

mod article;
mod asks;
mod price_table;
mod tables;
mod title;
mod workings;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Range;

use foldhash::fast::RandomState;
use pulldown_cmark::{CodeBlockKind, CowStr, Event, HeadingLevel, LinkType, Tag as Mark, TagEnd};

use crate::Found;
use crate::document::prices::{self, PriceTable};
use crate::document::reading::{Document, is_ask, is_workings, number};
use crate::document::{Kind, Problem};
use crate::evaluate::Evaluation;
use crate::record::OF_A_SHEET;
use crate::record::Rule;
use crate::syntax::trace::Piece;

pub use crate::markup::escape;
use crate::markup::{Html, Id, Link, Name, Picture, Tag};
pub use article::{Article, Passage};
use article::{End, end};
pub use title::title_block;

/// The largest page, in bytes: beyond it the rest of the text is left out with a remark.
const LARGEST: usize = 2 << 20;

/// Problems of the text as a whole that are listed above it.
const SHOWN: usize = 40;

/// What the plan's own words are shown with.
#[derive(Clone, Debug, Default)]
pub struct View {
    /// What each shop of the plan is called.
    pub shops: Vec<(String, String)>,
}

impl View {
    fn shop(&self, role: &str) -> String {
        let name = self.shops.iter().find(|(one, _)| one == role).map(|(_, name)| name.clone());
        name.unwrap_or_else(|| role.to_owned())
    }
}

/// A page's article.
#[must_use]
pub fn article(document: &Document, evaluation: &Evaluation, view: &View) -> Article {
    let mut writer = Writer::new(document, evaluation, view);
    writer.write();
    Article::of(writer.out, writer.ends)
}

struct Writer<'a> {
    document: &'a Document,
    evaluation: &'a Evaluation,
    view: &'a View,
    out: Html,
    ends: Vec<End>,
    notes: Vec<Html>,
    /// Parts of conditions that do not hold, with the words of the rule.
    broken: Vec<(String, &'a Rule)>,
    /// The first given bound to each name, by its number.
    givens: HashMap<&'a str, usize, RandomState>,
    /// Names of headings, with the last number given behind each.
    ids: BTreeMap<String, usize>,
    /// The price list of a rate sheet, until it is written.
    prices: Option<PriceTable>,
    next_ask: usize,
    next_block: usize,
    next_section: usize,
    depth: usize,
    heading: bool,
    seen_title: bool,
}

impl<'a> Writer<'a> {
    fn new(document: &'a Document, evaluation: &'a Evaluation, view: &'a View) -> Self {
        let broken = evaluation.record.rules.iter().filter(|rule| !rule.kept).flat_map(|rule| {
            rule.because.iter().flat_map(|trace| &trace.0).filter_map(move |piece| match piece {
                Piece::Path(path) => Some((path.clone(), rule)),
                Piece::Text(_) => None,
            })
        });
        let mut givens = HashMap::default();
        for (number, given) in evaluation.record.givens.iter().enumerate() {
            if let Some(name) = given.place.as_ref().and_then(|place| place.name.as_deref()) {
                givens.entry(name).or_insert(number);
            }
        }
        Self {
            document,
            evaluation,
            view,
            givens,
            out: Html::with_capacity(document.text.len() * 3),
            ends: Vec::new(),
            notes: Vec::new(),
            broken: broken.collect(),
            ids: BTreeMap::new(),
            prices: (document.front.kind == Kind::RateSheet).then(|| prices::table(document)).flatten(),
            next_ask: 0,
            next_block: 0,
            next_section: 0,
            depth: 0,
            heading: false,
            seen_title: false,
        }
    }

    /// Writes it in parts, each a passage of the article: one for what stands before the first heading, one for each heading.
    fn write(&mut self) {
        self.out.open(Tag::Div).class("part");
        self.parts();
        self.end_part();
    }

    fn end_part(&mut self) {
        self.out.close(Tag::Div);
        end(&mut self.ends, &self.out);
    }

    fn parts(&mut self) {
        let document = self.document;
        self.head_problems();
        let first =
            document.sections.iter().find(|one| one.level > 1).map_or(document.text.len(), |one| one.range.start);
        let (from, to) = self.lines_of(&(document.body..first));
        self.out.open(Tag::P).class("write-top").holds(|out| {
            let button = out.open(Tag::Button).attr(Name::Type, "button").class("do write");
            button.line(Name::DataFrom, from).line(Name::DataTo, to).says("write here");
        });
        let mut index = 0;
        while let Some((event, range)) = document.events.get(index) {
            if self.out.len() > LARGEST {
                let words = "The page ends here: it would be larger than 2 MB. The text itself is kept whole.";
                self.out.open(Tag::P).class("problem").says(words);
                return;
            }
            if let Event::Start(Mark::Heading { level, .. }) = event {
                self.next_section += 1;
                if self.depth == 0 && !self.is_title(*level) {
                    self.end_part();
                    self.out.open(Tag::Div).class("part");
                }
            }
            index = self.event(index, event, range.start);
        }
    }

    /// Counts what is left out, so that later answers are not mixed up.
    fn skip(&mut self, event: &Event<'_>) {
        match event {
            Event::Code(words) if is_ask(words) => self.next_ask += 1,
            Event::Start(Mark::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => self.next_block += 1,
            _ => {}
        }
    }

    /// Writes one event and gives the index of the next.
    fn event(&mut self, index: usize, event: &Event<'static>, at: usize) -> usize {
        let document = self.document;
        match event {
            Event::Start(Mark::Heading { level, .. }) => return self.open_heading(index, *level, at),
            Event::End(TagEnd::Heading(level)) => self.close_heading(*level),
            Event::Start(Mark::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => {
                let end = document
                    .events
                    .get(index..)
                    .and_then(|rest| rest.iter().position(|(event, _)| matches!(event, Event::End(TagEnd::CodeBlock))));
                self.workings();
                return index + end.unwrap_or(0) + 1;
            }
            Event::Start(Mark::Paragraph) => {
                if let Some(next) = self.lone_ask(index) {
                    return next;
                }
                self.passage(Tag::P, None, at);
            }
            Event::Start(Mark::HtmlBlock) => self.open(Tag::P),
            Event::End(TagEnd::Paragraph | TagEnd::HtmlBlock) => self.close(Tag::P, "\n"),
            Event::Start(Mark::Table(_)) => {
                let prices = self.prices.take_if(|table| table.start == at);
                self.passage(Tag::Table, prices.is_some().then_some("prices wide"), at);
                return match prices {
                    Some(table) => self.price_table(index + 1, &table),
                    None => self.table(index + 1),
                };
            }
            Event::Start(Mark::Link { link_type, dest_url, title, .. }) => {
                self.depth += 1;
                self.link(*link_type, dest_url, title);
            }
            Event::Start(Mark::Image { dest_url, .. }) => {
                let (words, next) = self.words_of_picture(index);
                self.out.open(Tag::Img).src(Picture::of(dest_url).as_ref()).attr(Name::Alt, words);
                return next;
            }
            Event::Start(mark) => self.start(mark),
            Event::End(mark) => self.end(*mark),
            Event::Code(words) if is_ask(words) => self.ask(),
            Event::Code(words) => self.out.open(Tag::Code).says(words),
            Event::Html(text) | Event::InlineHtml(text) | Event::Text(text) => _ = self.out.text(text),
            Event::TaskListMarker(done) => self.tick(index, *done, at),
            Event::SoftBreak => _ = self.out.text("\n"),
            Event::HardBreak => {
                self.out.open(Tag::Br);
                self.out.text("\n");
            }
            Event::Rule => {
                self.out.open(Tag::Hr);
                self.out.text("\n");
            }
            // Not among what is read: see `Document::options`.
            Event::InlineMath(text) | Event::DisplayMath(text) | Event::FootnoteReference(text) => {
                self.out.text(text);
            }
        }
        index + 1
    }

    /// What other passages and marks begin with.
    fn start(&mut self, mark: &Mark<'static>) {
        self.depth += 1;
        let out = &mut self.out;
        match mark {
            Mark::BlockQuote(_) => drop(out.open(Tag::Blockquote)),
            Mark::CodeBlock(kind) => {
                drop(out.open(Tag::Pre));
                let code = out.open(Tag::Code);
                if let CodeBlockKind::Fenced(info) = kind
                    && let Some(language) = info.split_whitespace().next()
                {
                    drop(code.attr(Name::Class, format_args!("language-{language}")));
                }
            }
            Mark::List(Some(1)) => drop(out.open(Tag::Ol)),
            Mark::List(Some(first)) => drop(out.open(Tag::Ol).attr(Name::Start, first)),
            Mark::List(None) => drop(out.open(Tag::Ul)),
            mark => {
                if let Some(tag) = element(mark.to_end()) {
                    drop(out.open(tag));
                }
            }
        }
        if matches!(mark, Mark::BlockQuote(_) | Mark::List(_)) {
            self.out.text("\n");
        }
    }

    fn end(&mut self, mark: TagEnd) {
        if mark == TagEnd::CodeBlock {
            self.out.close(Tag::Code);
        }
        if let Some(tag) = element(mark) {
            self.out.close(tag);
        }
        if matches!(mark, TagEnd::BlockQuote(_) | TagEnd::CodeBlock | TagEnd::List(_) | TagEnd::Item) {
            self.out.text("\n");
        }
        self.depth = self.depth.saturating_sub(1);
        if self.depth == 0 {
            self.margin();
        }
    }

    /// The words that stand for a picture, as plain text, and the index of what follows it. Pictures may stand in its words.
    fn words_of_picture(&mut self, index: usize) -> (String, usize) {
        let (mut words, mut open, mut next) = (String::new(), 0_usize, index);
        for (event, _) in self.document.events.get(index..).unwrap_or_default() {
            next += 1;
            match event {
                Event::Start(Mark::Image { .. }) => open += 1,
                Event::End(TagEnd::Image) => open -= 1,
                Event::Code(code) if is_ask(code) => {
                    match self.evaluation.answers.get(self.next_ask).map(|answer| &answer.result) {
                        Some(Ok(found)) => words.push_str(&found.value.shown(self.evaluation.units)),
                        _ => words.push_str("not known yet"),
                    }
                    self.next_ask += 1;
                }
                Event::Text(text) | Event::Code(text) => words.push_str(text),
                Event::SoftBreak | Event::HardBreak => words.push(' '),
                _ => {}
            }
            if open == 0 {
                break;
            }
        }
        (words, next)
    }

    /// Begins a passage, which tells of the line of the text it stands on.
    fn passage(&mut self, tag: Tag, class: Option<&'static str>, at: usize) {
        let line = (self.depth == 0).then(|| self.document.lines.line(at));
        let start = self.out.open(tag);
        let start = if let Some(class) = class { start.class(class) } else { start };
        if let Some(line) = line {
            drop(start.line(Name::DataLine, line));
        }
        self.depth += 1;
    }

    /// The lines of a part of the text: its first, and the one after its last.
    fn lines_of(&self, part: &Range<usize>) -> (usize, usize) {
        let (text, lines) = (&self.document.text, &self.document.lines);
        let after = if part.end < text.len() { lines.line(part.end) } else { lines.count() + 1 };
        (lines.line(part.start), after)
    }

    fn open(&mut self, tag: Tag) {
        drop(self.out.open(tag));
        self.depth += 1;
    }

    fn close(&mut self, tag: Tag, after: &str) {
        self.out.close(tag).text(after);
        self.depth = self.depth.saturating_sub(1);
        if self.depth == 0 {
            self.margin();
        }
    }

    /// What stands beside the passage just written.
    fn margin(&mut self) {
        let notes = std::mem::take(&mut self.notes);
        if !notes.is_empty() {
            let aside = self.out.open(Tag::Aside).class("working").attr(Name::AriaLabel, "Workings");
            aside.holds(|out| notes.iter().for_each(|note| _ = out.piece(note)));
            self.out.text("\n");
        }
    }

    fn note(&mut self, write: impl FnOnce(&mut Html)) {
        let mut note = Html::default();
        write(&mut note);
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    fn caution(&mut self, found: &Found) {
        if let Some(caution) = found.caution {
            self.note(|out| out.open(Tag::P).class("caution").says(caution));
        }
    }

    // ------------------------------------------------------------------------------------------------ headings

    fn open_heading(&mut self, index: usize, level: HeadingLevel, at: usize) -> usize {
        let section = self.document.sections.get(self.next_section - 1);
        if self.is_title(level) {
            self.seen_title = true;
            let end =
                self.document.events.get(index..).and_then(|rest| {
                    rest.iter().position(|(event, _)| matches!(event, Event::End(TagEnd::Heading(_))))
                });
            let end = index + end.unwrap_or(0) + 1;
            for (event, _) in self.document.events.get(index..end).unwrap_or_default() {
                self.skip(event);
            }
            return end;
        }
        let id = self.id(section.map_or("", |one| &one.title));
        let line = (self.depth == 0).then(|| self.document.lines.line(at));
        let start = self.out.open(Tag::heading(number(level))).id(&Id::Heading(&id));
        if let Some(line) = line {
            drop(start.line(Name::DataLine, line));
        }
        self.depth += 1;
        self.heading = true;
        index + 1
    }

    /// The first of the highest, which the title block shows.
    fn is_title(&self, level: HeadingLevel) -> bool {
        number(level) == 1 && !self.seen_title
    }

    fn close_heading(&mut self, level: HeadingLevel) {
        let tag = Tag::heading(number(level));
        let section = self.document.sections.get(self.next_section - 1);
        self.heading = false;
        self.depth = self.depth.saturating_sub(1);
        let Some(section) = section else {
            self.out.close(tag).text("\n");
            return;
        };
        let (from, to) = self.lines_of(&section.range);
        self.out.text(" ");
        let button = self.out.open(Tag::Button).attr(Name::Type, "button").class("do write");
        let button = button.line(Name::DataFrom, from).line(Name::DataTo, to);
        button.attr(Name::AriaLabel, format_args!("write the section {}", section.title)).says("write");
        self.out.close(tag).text("\n");
        if section.level == 2 || section.shop.is_some() || section.private {
            let words = match (&section.shop, section.private) {
                (_, true) => "private, on no ticket".to_owned(),
                (Some(role), _) => format!("on the ticket for {}", self.view.shop(role)),
                (None, _) if self.document.front.shops.is_empty() => String::new(),
                (None, _) => "on no ticket".to_owned(),
            };
            if !words.is_empty() {
                self.out.open(Tag::P).class("for aside").says(words);
                self.out.text("\n");
            }
        }
        self.margin();
    }

    /// An id no form control or script could be mistaken for.
    fn id(&mut self, title: &str) -> String {
        let mut base = String::new();
        let mut between = true;
        for c in title.chars().flat_map(char::to_lowercase) {
            if !c.is_alphanumeric() {
                between = true;
                continue;
            }
            if std::mem::take(&mut between) {
                base.push('-');
            }
            base.push(c);
        }
        if between && base.is_empty() {
            base.push('-');
        }
        // The number after the last one given for this name; another heading may have it as its own name.
        let mut count = self.ids.get(&base).copied().unwrap_or(0) + 1;
        let mut id = if count == 1 { base.clone() } else { format!("{base}-{count}") };
        while count > 1 && self.ids.contains_key(&id) {
            count += 1;
            id = format!("{base}-{count}");
        }
        self.ids.insert(base, count);
        self.ids.entry(id.clone()).or_insert(1);
        id
    }

    // ---------------------------------------------------------------------------------------------------- rest

    /// A table, whole: the cells of its head are others than those of its rows.
    fn table(&mut self, from: usize) -> usize {
        let document = self.document;
        let mut index = from;
        let mut cell = Tag::Th;
        while let Some((event, range)) = document.events.get(index) {
            match event {
                Event::Start(Mark::TableHead) => _ = self.out.fixed("<thead><tr>"),
                Event::End(TagEnd::TableHead) => {
                    cell = Tag::Td;
                    self.out.fixed("</tr></thead><tbody>");
                }
                Event::Start(Mark::TableRow) => drop(self.out.open(Tag::Tr)),
                Event::End(TagEnd::TableRow) => _ = self.out.close(Tag::Tr),
                Event::Start(Mark::TableCell) if cell == Tag::Th => drop(self.out.open(cell).attr(Name::Scope, "col")),
                Event::Start(Mark::TableCell) => drop(self.out.open(cell)),
                Event::End(TagEnd::TableCell) => _ = self.out.close(cell),
                Event::End(TagEnd::Table) => {
                    self.out.close(Tag::Tbody);
                    self.close(Tag::Table, "\n");
                    return index + 1;
                }
                event => {
                    index = self.event(index, event, range.start);
                    continue;
                }
            }
            index += 1;
        }
        index
    }

    fn tick(&mut self, index: usize, done: bool, at: usize) {
        let mut words = String::new();
        for (event, _) in self.document.events.get(index + 1..).unwrap_or_default() {
            match event {
                Event::Text(text) | Event::Code(text) => words.push_str(text),
                Event::End(TagEnd::Item | TagEnd::Paragraph) | Event::Start(Mark::List(_)) => break,
                _ => {}
            }
        }
        let line = self.document.lines.line(at);
        let tick = self.out.open(Tag::Input).attr(Name::Type, "checkbox").line(Name::DataTick, line);
        drop(tick.attr(Name::AriaLabel, words.trim()).flag(Name::Checked, done));
        self.out.text(" ");
    }

    fn link(&mut self, kind: LinkType, to: &CowStr<'_>, title: &CowStr<'_>) {
        let to = if kind == LinkType::Email { format!("mailto:{to}") } else { to.to_string() };
        let start = self.out.open(Tag::A);
        if let Some(to) = Link::of(&to) {
            let start = start.href(&to).attr(Name::Rel, "noopener noreferrer");
            if !title.is_empty() {
                drop(start.attr(Name::Title, title));
            }
        }
    }

    /// What is wrong with the head and the text as a whole, above everything else.
    fn head_problems(&mut self) {
        let document = self.document;
        let place = |problem: &'a Problem| (problem.line, problem.column, problem.what.as_str());
        let of_text: BTreeSet<_> = document.problems.iter().map(place).collect();
        let is_own = |problem: &&'a Problem| {
            of_text.contains(&place(problem)) || document.lines.start(problem.line) < document.body
        };
        let mut own: Vec<_> = self.evaluation.problems.iter().filter(is_own).chain(&self.evaluation.doubts).collect();
        own.sort_by_key(|one| (one.line, one.column));
        let quotes: Vec<_> = self.evaluation.quotes.iter().filter_map(|quote| quote.matter.as_ref()).collect();
        let beyond = self.evaluation.record.rules.iter().filter(|rule| rule.block == OF_A_SHEET && !rule.kept);
        let beyond: Vec<_> = beyond.collect();
        if own.is_empty() && quotes.is_empty() && beyond.is_empty() {
            return;
        }
        self.out.open(Tag::Div).class("problems").holds(|out| {
            for rule in beyond {
                let words = format_args!("Beyond what the shop can make: {}.", rule.text);
                out.open(Tag::P).class("state broken").says(words);
            }
            for matter in quotes {
                out.open(Tag::P).class("state slack quote").says(format_args!("{}.", capital(matter)));
            }
            for problem in own.iter().take(SHOWN) {
                said(out, "problem", problem);
            }
            if let Some(more) = own.len().checked_sub(SHOWN).filter(|more| *more > 0) {
                out.open(Tag::P).class("problem").says(format_args!("And {more} more like these."));
            }
        });
        self.out.text("\n");
    }
}

/// The element of a passage or mark that is always the same.
fn element(mark: TagEnd) -> Option<Tag> {
    Some(match mark {
        TagEnd::BlockQuote(_) => Tag::Blockquote,
        TagEnd::CodeBlock => Tag::Pre,
        TagEnd::List(true) => Tag::Ol,
        TagEnd::List(false) => Tag::Ul,
        TagEnd::Item => Tag::Li,
        TagEnd::Emphasis => Tag::Em,
        TagEnd::Strong => Tag::Strong,
        TagEnd::Strikethrough => Tag::Del,
        TagEnd::Link => Tag::A,
        _ => return None,
    })
}

fn said(out: &mut Html, class: &'static str, problem: &Problem) {
    out.open(Tag::P).class(class).holds(|out| {
        out.text("Line ").count(problem.line).text(", column ").count(problem.column).text(": ");
        out.ticked(&problem.what).text(". ");
        out.open(Tag::Span).class("next").holds(|out| _ = out.ticked(&capital(&problem.next)).text("."));
    });
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
