//! A plan calculated, as the HTML of its page. Safe: raw HTML of the text is shown as text, links
//! lead only to the web, to mail and to the notebook itself, and pictures come only from the notebook.
//!
//! The writer here goes through the text; the values in it are in `asks`, the blocks of workings in `workings`, what
//! becomes a table in `tables`; `title` is the title block, and `article` what comes of it all, in passages.

mod article;
mod asks;
mod price_table;
mod tables;
mod title;
mod workings;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Range;

use foldhash::fast::RandomState;

use crate::Found;
use crate::document::prices::{self, PriceTable};
use crate::document::tree::{Node, Nodes, Part};
use crate::document::{Document, Kind, Problem};
use crate::evaluate::Evaluation;
use crate::record::OF_A_SHEET;
use crate::record::Rule;
use crate::syntax::trace::Piece;

pub use crate::markup::escape;
use crate::markup::{Html, Id, Link, Name, Picture, Tag};
use crate::render::exhibit::UNKNOWN;
use crate::render::shop_name;
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
        shop_name(&self.shops, role)
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
    /// The section whose heading the title block shows.
    title: Option<usize>,
    /// The price list of a rate sheet, until it is written.
    prices: Option<PriceTable>,
    /// How many elements of the text are open.
    depth: usize,
    in_heading: bool,
    /// The page would be too large, and the rest is left out.
    is_cut: bool,
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
            title: document.sections.iter().position(|one| one.level == 1),
            prices: (document.front.kind == Kind::RateSheet).then(|| prices::table(document)).flatten(),
            depth: 0,
            in_heading: false,
            is_cut: false,
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
        self.nodes(document.nodes());
        if self.is_cut {
            let words = "The page ends here: it would be larger than 2 MB. The text itself is kept whole.";
            self.out.open(Tag::P).class("problem").says(words);
        }
    }

    /// Writes passages or words one after the other.
    fn nodes(&mut self, mut nodes: Nodes<'a>) {
        while let Some((node, inside)) = nodes.next() {
            if self.out.len() > LARGEST {
                self.is_cut = true;
                return;
            }
            self.node(node, inside, nodes);
            if self.depth == 0 {
                self.margin();
            }
        }
    }

    /// Writes one node with what stands inside it; `after` is what follows it there.
    fn node(&mut self, node: &'a Node, inside: Nodes<'a>, after: Nodes<'a>) {
        let document = self.document;
        match &node.part {
            Part::Heading { level, section } => self.heading(*level, *section, node, inside),
            Part::Paragraph { lone: Some(ask) } if self.exhibit(*ask) => {}
            Part::Paragraph { .. } => {
                self.passage(Tag::P, node);
                self.within(Tag::P, inside).text("\n");
            }
            Part::Workings(block) => self.workings(*block),
            Part::Typed { language } => {
                drop(self.out.open(Tag::Pre));
                let code = self.out.open(Tag::Code);
                drop(match language {
                    Some(language) => code.attr(Name::Class, format_args!("language-{language}")),
                    None => code,
                });
                self.within(Tag::Code, inside).close(Tag::Pre).text("\n");
            }
            Part::HtmlBlock => _ = self.element(Tag::P, inside).text("\n"),
            Part::List { first } => {
                let tag = if first.is_some() { Tag::Ol } else { Tag::Ul };
                let list = self.out.open(tag);
                drop(match first {
                    Some(first) if *first != 1 => list.attr(Name::Start, first),
                    _ => list,
                });
                self.out.text("\n");
                self.within(tag, inside).text("\n");
            }
            Part::Item => _ = self.element(Tag::Li, inside).text("\n"),
            Part::Quote => {
                drop(self.out.open(Tag::Blockquote));
                self.out.text("\n");
                self.within(Tag::Blockquote, inside).text("\n");
            }
            Part::Table { .. } if self.prices.as_ref().is_some_and(|table| table.start == node.range.start) => {
                self.price_table(node, inside);
            }
            Part::Table { .. } => {
                self.passage(Tag::Table, node);
                self.within(Tag::Tbody, inside).close(Tag::Table).text("\n");
            }
            Part::Head => {
                self.out.fixed("<thead><tr>");
                for (_, words) in inside {
                    drop(self.out.open(Tag::Th).attr(Name::Scope, "col"));
                    self.within(Tag::Th, words);
                }
                self.out.fixed("</tr></thead><tbody>");
            }
            Part::Row => _ = self.element(Tag::Tr, inside),
            Part::Cell => _ = self.element(Tag::Td, inside),
            Part::Emphasis => _ = self.element(Tag::Em, inside),
            Part::Strong => _ = self.element(Tag::Strong, inside),
            Part::Struck => _ = self.element(Tag::Del, inside),
            Part::Link { to, title } => self.link(to, title, inside),
            Part::Picture { file } => {
                let words = self.words_of_picture(inside);
                self.out.open(Tag::Img).src(Picture::of(file).as_ref()).attr(Name::Alt, words);
            }
            Part::Text(_) | Part::Html(_) => _ = self.out.text(document.words(node)),
            Part::Code(words) => self.out.open(Tag::Code).says(words),
            Part::Ask(ask) => self.ask(*ask),
            Part::Tick(done) => self.tick(*done, node, after),
            Part::SoftBreak => _ = self.out.text("\n"),
            Part::HardBreak => {
                self.out.open(Tag::Br);
                self.out.text("\n");
            }
            Part::Rule => {
                self.out.open(Tag::Hr);
                self.out.text("\n");
            }
        }
    }

    fn element(&mut self, tag: Tag, inside: Nodes<'a>) -> &mut Html {
        drop(self.out.open(tag));
        self.within(tag, inside)
    }

    /// What stands inside an element that is open, and the end of it.
    fn within(&mut self, tag: Tag, inside: Nodes<'a>) -> &mut Html {
        self.depth += 1;
        self.nodes(inside);
        self.depth -= 1;
        self.out.close(tag)
    }

    /// Begins a passage, which tells of the line of the text it stands on.
    fn passage(&mut self, tag: Tag, node: &Node) {
        let line = self.line(node);
        drop(self.out.open(tag).begins_on(line));
    }

    /// The line of a passage that stands in nothing else.
    fn line(&self, node: &Node) -> Option<usize> {
        (self.depth == 0).then(|| self.document.lines.line(node.range.start))
    }

    /// The words that stand for a picture, as plain text. Pictures may stand in them.
    fn words_of_picture(&self, inside: Nodes<'_>) -> String {
        let mut words = String::new();
        for node in inside.all() {
            match &node.part {
                Part::Ask(ask) => match self.evaluation.answers.get(*ask).map(|answer| &answer.result) {
                    Some(Ok(found)) => words.push_str(&found.value.shown(self.evaluation.units)),
                    _ => words.push_str(UNKNOWN),
                },
                Part::Text(_) | Part::Code(_) => words.push_str(self.document.words(node)),
                Part::SoftBreak | Part::HardBreak => words.push(' '),
                _ => {}
            }
        }
        words
    }

    /// The lines of a part of the text: its first, and the one after its last.
    fn lines_of(&self, part: &Range<usize>) -> (usize, usize) {
        let (text, lines) = (&self.document.text, &self.document.lines);
        let after = if part.end < text.len() { lines.line(part.end) } else { lines.count() + 1 };
        (lines.line(part.start), after)
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

    fn heading(&mut self, level: u8, index: usize, node: &Node, inside: Nodes<'a>) {
        let document = self.document;
        let Some(section) = document.sections.get(index) else { return };
        // The title block shows the first of the highest.
        if self.title == Some(index) {
            return;
        }
        if self.depth == 0 {
            self.end_part();
            self.out.open(Tag::Div).class("part");
        }
        let id = self.id(&section.title);
        let (tag, line) = (Tag::heading(level), self.line(node));
        drop(self.out.open(tag).id(&Id::Heading(&id)).begins_on(line));
        self.in_heading = true;
        self.depth += 1;
        self.nodes(inside);
        self.depth -= 1;
        self.in_heading = false;
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

    fn tick(&mut self, done: bool, node: &Node, after: Nodes<'_>) {
        let document = self.document;
        let mut words = String::new();
        for node in after.all() {
            match &node.part {
                Part::Text(_) | Part::Code(_) => words.push_str(document.words(node)),
                Part::Ask(ask) => words.extend(document.asks.get(*ask).map(|ask| format!("? {}", ask.expression))),
                Part::Paragraph { .. } | Part::List { .. } => break,
                _ => {}
            }
        }
        let line = document.lines.line(node.range.start);
        let tick = self.out.open(Tag::Input).attr(Name::Type, "checkbox").line(Name::DataTick, line);
        drop(tick.attr(Name::AriaLabel, words.trim()).flag(Name::Checked, done));
        self.out.text(" ");
    }

    fn link(&mut self, to: &str, title: &str, inside: Nodes<'a>) {
        let start = self.out.open(Tag::A);
        if let Some(to) = Link::of(to) {
            let start = start.href(&to).attr(Name::Rel, "noopener noreferrer");
            drop(if title.is_empty() { start } else { start.attr(Name::Title, title) });
        } else {
            drop(start);
        }
        self.within(Tag::A, inside);
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
