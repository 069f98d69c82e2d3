//! A plan worked out, as the HTML of its page. Safe: raw HTML of the text is shown as text, links
//! lead only to the web, to mail and to the notebook itself, and pictures come only from the notebook.
//!
//! The writer here goes through the text; the values in it are in `asks`, the blocks of workings in `workings`, what
//! becomes a table in `tables`; `title` is the title block, `ink` how marks, text and values are put down, and `article`
//! what comes of it all, in passages.

mod article;
mod asks;
mod ink;
mod tables;
mod title;
mod workings;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::fmt::Write as _;
use std::ops::Range;

use foldhash::fast::RandomState;
use pulldown_cmark::{CodeBlockKind, CowStr, Event, HeadingLevel, LinkType, Tag, TagEnd, html};

use super::Problem;
use super::reading::{Document, is_workings, number};
use super::ticket::reach::OF_A_SHEET;
use crate::Found;
use crate::evaluate::Evaluation;
use crate::script::record::Rule;
use crate::script::trace::Piece;

use article::Cuts;
pub use article::{Article, Passage};
use ink::Ink as _;
pub use ink::escape;
pub use title::title_block;
pub(crate) use workings::Page;

/// The largest page, in bytes: beyond it the rest of the text is left out with a remark.
const LARGEST: usize = 2 << 20;

/// Where a part of a page begins: what is written under one heading.
const PART: &str = "<div class=\"part\">";

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
    Article::of(writer.out, writer.cuts)
}

struct Writer<'a> {
    document: &'a Document,
    evaluation: &'a Evaluation,
    view: &'a View,
    out: String,
    cuts: Cuts,
    notes: Vec<String>,
    /// Parts of conditions that do not hold, with the words of the rule.
    broken: Vec<(String, &'a Rule)>,
    /// The first given bound to each name, by its number.
    givens: HashMap<&'a str, usize, RandomState>,
    /// Names of headings, with the last number given behind each.
    ids: BTreeMap<String, usize>,
    next_ask: usize,
    next_block: usize,
    next_section: usize,
    depth: usize,
    picture: usize,
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
            out: String::with_capacity(document.text.len() * 3),
            cuts: Cuts::default(),
            notes: Vec::new(),
            broken: broken.collect(),
            ids: BTreeMap::new(),
            next_ask: 0,
            next_block: 0,
            next_section: 0,
            depth: 0,
            picture: 0,
            heading: false,
            seen_title: false,
        }
    }

    /// Writes it in parts, each a passage of the article: one for what stands before the first heading, one for each heading.
    fn write(&mut self) {
        self.out.raw(PART);
        self.parts();
        self.out.raw("</div>");
        self.cuts.end(&self.out);
    }

    fn parts(&mut self) {
        let document = self.document;
        self.head_problems();
        let first =
            document.sections.iter().find(|one| one.level > 1).map_or(document.text.len(), |one| one.range.start);
        self.out.raw("<p class=\"write-top\"><button type=\"button\" class=\"do write\"");
        self.lines_of(&(document.body..first));
        self.out.raw(">write here</button></p>");
        let mut index = 0;
        while let Some((event, range)) = document.events.get(index) {
            if self.out.len() > LARGEST {
                self.out.push_str("<p class=\"problem\">The page ends here: it would be larger than 2 MB. The text itself is kept whole.</p>");
                return;
            }
            if let Event::Start(Tag::Heading { level, .. }) = event {
                self.next_section += 1;
                if self.depth == 0 && !self.is_title(*level) {
                    self.out.raw("</div>");
                    self.cuts.end(&self.out);
                    self.out.raw(PART);
                }
            }
            index = self.event(index, event, range.start);
        }
    }

    /// Counts what is left out, so that later answers are not mixed up.
    fn skip(&mut self, event: &Event<'_>) {
        match event {
            Event::Code(words) if is_ask(words) => self.next_ask += 1,
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => self.next_block += 1,
            _ => {}
        }
    }

    /// Writes one event and gives the index of the next.
    fn event(&mut self, index: usize, event: &Event<'static>, at: usize) -> usize {
        let document = self.document;
        match event {
            Event::Start(Tag::Heading { level, .. }) => return self.open_heading(index, *level, at),
            Event::End(TagEnd::Heading(level)) => self.close_heading(*level),
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => {
                let end = document
                    .events
                    .get(index..)
                    .and_then(|rest| rest.iter().position(|(event, _)| matches!(event, Event::End(TagEnd::CodeBlock))));
                self.workings();
                return index + end.unwrap_or(0) + 1;
            }
            Event::Start(Tag::Paragraph) => {
                if let Some(next) = self.lone_ask(index) {
                    return next;
                }
                self.out.raw("<p");
                self.line(at);
                self.open(">");
            }
            Event::End(TagEnd::Paragraph) => self.close("</p>\n"),
            Event::Start(Tag::HtmlBlock) => self.open("<p>"),
            Event::End(TagEnd::HtmlBlock) => self.close("</p>\n"),
            Event::Start(Tag::Table(columns)) => {
                let top = self.depth == 0;
                self.depth += 1;
                self.html(Event::Start(Tag::Table(columns.clone())));
                if top && self.out.ends_with("<table>") {
                    self.out.truncate(self.out.len() - 1);
                    self.depth = 0;
                    self.line(at);
                    self.open(">");
                }
                return self.table(index + 1);
            }
            Event::Start(Tag::Link { link_type, dest_url, title, .. }) => {
                self.depth += 1;
                self.link(*link_type, dest_url, title);
            }
            Event::End(TagEnd::Link) => {
                self.depth -= 1;
                self.out.push_str("</a>");
            }
            Event::Start(Tag::Image { dest_url, .. }) => {
                self.depth += 1;
                self.picture += 1;
                let source = if is_local_picture(dest_url) { escape(dest_url) } else { String::new() };
                let _ = write!(self.out, "<img src=\"{source}\" alt=\"");
            }
            Event::End(TagEnd::Image) => {
                self.depth -= 1;
                self.picture -= 1;
                self.out.push_str("\">");
            }
            Event::Start(tag) => {
                self.depth += 1;
                self.html(Event::Start(tag.clone()));
            }
            Event::End(tag) => {
                self.html(Event::End(*tag));
                self.depth = self.depth.saturating_sub(1);
                if self.depth == 0 {
                    self.margin();
                }
            }
            Event::Code(words) if is_ask(words) => self.ask(),
            Event::Html(text) | Event::InlineHtml(text) | Event::Text(text) => _ = self.out.text(text),
            Event::Code(text) if self.picture > 0 => _ = self.out.text(text),
            Event::SoftBreak if self.picture > 0 => self.out.push(' '),
            Event::TaskListMarker(done) => self.tick(index, *done, at),
            other => self.html(other.clone()),
        }
        index + 1
    }

    fn html(&mut self, event: Event<'static>) {
        // The library keeps the state of a table between events, so tables are written whole by `table`.
        html::push_html(&mut self.out, std::iter::once(event));
    }

    /// The line of the text a passage begins on.
    fn line(&mut self, at: usize) {
        if self.depth == 0 {
            self.out.raw(" data-line=\"");
            self.cuts.line(&mut self.out, self.document.lines.line(at));
            self.out.raw("\"");
        }
    }

    /// The lines of a part of the text: its first, and the one after its last.
    fn lines_of(&mut self, part: &Range<usize>) {
        let (text, lines) = (&self.document.text, &self.document.lines);
        let after = if part.end < text.len() { lines.line(part.end) } else { lines.count() + 1 };
        self.out.raw(" data-from=\"");
        self.cuts.line(&mut self.out, lines.line(part.start));
        self.out.raw("\" data-to=\"");
        self.cuts.line(&mut self.out, after);
        self.out.raw("\"");
    }

    fn open(&mut self, tag: &str) {
        self.out.push_str(tag);
        self.depth += 1;
    }

    fn close(&mut self, tag: &str) {
        self.out.push_str(tag);
        self.depth = self.depth.saturating_sub(1);
        if self.depth == 0 {
            self.margin();
        }
    }

    /// What stands beside the passage just written.
    fn margin(&mut self) {
        let notes = std::mem::take(&mut self.notes);
        if !notes.is_empty() {
            self.out.raw("<aside class=\"working\" aria-label=\"Workings\">");
            notes.iter().for_each(|note| self.out.push_str(note));
            self.out.raw("</aside>\n");
        }
    }

    fn note(&mut self, note: String) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    fn caution(&mut self, found: &Found) {
        if let Some(caution) = found.caution {
            self.note(format!("<p class=\"caution\">{}</p>", escape(caution)));
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
        self.out.raw("<h").count(number(level).max(2).into()).raw(" id=\"").raw(&id).raw("\"");
        self.line(at);
        self.open(">");
        self.heading = true;
        index + 1
    }

    /// The first of the highest, which the title block shows.
    fn is_title(&self, level: HeadingLevel) -> bool {
        number(level) == 1 && !self.seen_title
    }

    fn close_heading(&mut self, level: HeadingLevel) {
        let tag = number(level).max(2);
        let section = self.document.sections.get(self.next_section - 1);
        self.heading = false;
        self.depth = self.depth.saturating_sub(1);
        let Some(section) = section else {
            let _ = writeln!(self.out, "</h{tag}>");
            return;
        };
        self.out.raw(" <button type=\"button\" class=\"do write\"");
        self.lines_of(&section.range);
        self.out.raw(" aria-label=\"write the section ");
        self.out.text(&section.title).raw("\">write</button></h").count(tag.into()).raw(">\n");
        if section.level == 2 || section.shop.is_some() || section.private {
            let words = match (&section.shop, section.private) {
                (_, true) => "private, on no ticket".to_owned(),
                (Some(role), _) => format!("on the ticket for {}", escape(&self.view.shop(role))),
                (None, _) if self.document.front.shops.is_empty() => String::new(),
                (None, _) => "on no ticket".to_owned(),
            };
            if !words.is_empty() {
                let _ = writeln!(self.out, "<p class=\"for aside\">{words}</p>");
            }
        }
        self.margin();
    }

    /// An id no form control or script could be mistaken for.
    fn id(&mut self, title: &str) -> String {
        let mut base = String::from("h");
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
        if between && base.len() == 1 {
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

    /// A table, whole: the library that writes it keeps state from row to row.
    fn table(&mut self, from: usize) -> usize {
        let document = self.document;
        let mut index = from;
        let mut head = true;
        while let Some((event, range)) = document.events.get(index) {
            match event {
                Event::Start(Tag::TableHead) => self.out.push_str("<thead><tr>"),
                Event::End(TagEnd::TableHead) => {
                    head = false;
                    self.out.push_str("</tr></thead><tbody>");
                }
                Event::Start(Tag::TableRow) => self.out.push_str("<tr>"),
                Event::End(TagEnd::TableRow) => self.out.push_str("</tr>"),
                Event::Start(Tag::TableCell) => self.out.push_str(if head { "<th scope=\"col\">" } else { "<td>" }),
                Event::End(TagEnd::TableCell) => self.out.push_str(if head { "</th>" } else { "</td>" }),
                Event::End(TagEnd::Table) => {
                    self.close("</tbody></table>\n");
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
                Event::End(TagEnd::Item | TagEnd::Paragraph) | Event::Start(Tag::List(_)) => break,
                _ => {}
            }
        }
        self.out.raw("<input type=\"checkbox\" data-tick=\"");
        self.cuts.line(&mut self.out, self.document.lines.line(at));
        self.out.raw("\" aria-label=\"").text(words.trim()).raw(if done { "\" checked> " } else { "\"> " });
    }

    fn link(&mut self, kind: LinkType, to: &CowStr<'_>, title: &CowStr<'_>) {
        let to = if kind == LinkType::Email { format!("mailto:{to}") } else { to.to_string() };
        if is_safe_link(&to) {
            let _ = write!(self.out, "<a href=\"{}\" rel=\"noopener noreferrer\"", escape(&to));
            if !title.is_empty() {
                let _ = write!(self.out, " title=\"{}\"", escape(title));
            }
            self.out.push('>');
        } else {
            self.out.push_str("<a>");
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
        let own: Vec<_> = self.evaluation.problems.iter().filter(is_own).collect();
        let quotes: Vec<_> = self.evaluation.quotes.iter().filter_map(|quote| quote.matter.as_ref()).collect();
        let beyond = self.evaluation.record.rules.iter().filter(|rule| rule.block == OF_A_SHEET && !rule.kept);
        let beyond: Vec<_> = beyond.collect();
        if own.is_empty() && quotes.is_empty() && beyond.is_empty() {
            return;
        }
        self.out.push_str("<div class=\"problems\">");
        for rule in beyond {
            self.out.raw("<p class=\"state broken\">Beyond what the shop can make: ").text(&rule.text).raw(".</p>");
        }
        for matter in quotes {
            let _ = write!(self.out, "<p class=\"state slack quote\">{}.</p>", escape(&capital(matter)));
        }
        for problem in own.iter().take(SHOWN) {
            let _ = write!(self.out, "<p class=\"problem\">{}</p>", said(problem));
        }
        if let Some(more) = own.len().checked_sub(SHOWN).filter(|more| *more > 0) {
            let _ = write!(self.out, "<p class=\"problem\">And {more} more like these.</p>");
        }
        self.out.push_str("</div>\n");
    }
}

fn said(problem: &Problem) -> String {
    format!(
        "Line {}, column {}: {}. <span class=\"next\">{}.</span>",
        problem.line,
        problem.column,
        ticked(&problem.what),
        ticked(&capital(&problem.next))
    )
}

/// Text between back-ticks, set apart.
fn ticked(text: &str) -> String {
    let mut out = String::new();
    for (index, part) in text.split('`').enumerate() {
        if index % 2 == 0 {
            out.push_str(&escape(part));
        } else {
            let _ = write!(out, "<span class=\"nb\">{}</span>", escape(part));
        }
    }
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

pub(super) fn is_ask(words: &str) -> bool {
    words.strip_prefix('?').is_some_and(|rest| rest.starts_with([' ', '\u{a0}']))
}

/// A link to the web, to mail, or inside the notebook.
pub(super) fn is_safe_link(to: &str) -> bool {
    let plain: String = to.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect::<String>().to_lowercase();
    let scheme = plain.split_once(':').map(|(scheme, _)| scheme).filter(|scheme| !scheme.contains(['/', '?', '#']));
    match scheme {
        Some(scheme) => matches!(scheme, "http" | "https" | "mailto"),
        // A browser reads a backslash as a slash, and two of either lead to another server.
        None => !plain.contains('\\') && !plain.starts_with("//"),
    }
}

/// A picture of the notebook itself: never from the web, where its owner would see who looks.
pub(crate) fn is_local_picture(to: &str) -> bool {
    let plain: String = to.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect();
    !plain.contains([':', '\\']) && !plain.starts_with("//") && !plain.contains("..")
}
