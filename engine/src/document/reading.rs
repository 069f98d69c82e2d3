//! Blocks of workings, asks in the prose, and the sections that go to one shop.

use std::ops::Range;

use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, Options, Parser, Tag, TagEnd};

use super::Problem;
use super::front::{self, Front};
use super::lines::Lines;
use crate::Message;

/// The longest text a document may have, in bytes.
pub const LONGEST: usize = 1 << 20;
/// The longest text of one block of workings, in bytes: longer ones take too long to read.
pub const LONGEST_BLOCK: usize = 32 << 10;
/// Beginnings, ends and pieces of text that the Markdown of a document may come apart into. Each takes some hundred bytes.
pub const MOST_EVENTS: usize = 100_000;
/// Sections for shops the head does not name that are told one by one.
const MOST_TOLD: usize = 100;
/// The longest ask, in bytes.
pub const LONGEST_ASK: usize = 4 << 10;

/// A document as read.
#[derive(Debug)]
pub struct Document {
    /// The whole text, without a byte-order mark.
    pub text: String,
    /// Where its lines begin.
    pub lines: Lines,
    /// Its head.
    pub front: Front,
    /// Where its body begins.
    pub body: usize,
    /// Its blocks of workings, in order.
    pub blocks: Vec<Block>,
    /// Its asks, in order.
    pub asks: Vec<Ask>,
    /// Its sections, in order.
    pub sections: Vec<Section>,
    /// What is wrong with it before anything is calculated.
    pub problems: Vec<Problem>,
    /// What is read as it stands and is most likely a slip.
    pub doubts: Vec<Problem>,
    /// Code that would be an ask with a space behind its question mark: the expression, and where the code stands.
    pub(crate) unasked: Vec<(String, usize)>,
    /// The Markdown events with their places, from which the page is made.
    pub(crate) events: Vec<(Event<'static>, Range<usize>)>,
}

/// A block of workings.
#[derive(Debug)]
pub struct Block {
    /// The text between the fences.
    pub text: String,
    /// The line of its opening fence.
    pub line: usize,
    /// Where the whole block lies in the document, fences included.
    pub range: Range<usize>,
    /// The section it stands in, as an index into [`Document::sections`].
    pub section: Option<usize>,
    /// Where pieces of `text` came from: offset there, offset in the document.
    pieces: Vec<(usize, usize)>,
}

impl Block {
    /// The offset in the document of an offset in the block.
    pub fn offset(&self, within: usize) -> usize {
        let index = self.pieces.partition_point(|(start, _)| *start <= within).saturating_sub(1);
        self.pieces.get(index).map_or(self.range.start, |(start, at)| at + within.saturating_sub(*start))
    }

    /// Refuses what is too long to be calculated.
    pub(crate) fn fits(&self) -> Result<(), Message> {
        let said = || {
            Message::new(
                format!("these workings are {} kB long, and at most 32 kB are calculated", self.text.len() / 1024),
                "split them into several blocks",
            )
        };
        if self.text.len() > LONGEST_BLOCK { Err(said()) } else { Ok(()) }
    }

    /// Where pieces of the block came from: offset in the block, offset in the document.
    pub(crate) fn pieces(&self) -> &[(usize, usize)] {
        &self.pieces
    }

    /// The offset in the document of a line and column of the block, both from 1, the column in characters.
    pub fn place(&self, line: usize, column: usize) -> usize {
        let start = self.text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum::<usize>();
        let rest = self.text.get(start..).unwrap_or_default();
        let within = rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(at, _)| at);
        self.offset(start + within)
    }
}

/// A live value asked for in the prose.
#[derive(Debug)]
pub struct Ask {
    /// The expression, without its question mark.
    pub expression: String,
    /// Where the expression begins in the document.
    pub at: usize,
    /// Where the whole code span lies.
    pub range: Range<usize>,
    /// The section it stands in.
    pub section: Option<usize>,
}

impl Ask {
    /// Refuses what is too long to be calculated.
    pub(crate) fn fits(&self) -> Result<(), Message> {
        let said = || {
            Message::new(
                format!("this ask is {} kB long, and at most 4 kB are calculated", self.expression.len() / 1024),
                "calculate it in a block of workings, give it a name there, and ask for the name",
            )
        };
        if self.expression.len() > LONGEST_ASK { Err(said()) } else { Ok(()) }
    }
}

/// A heading and what stands under it, down to the next heading of its level.
#[derive(Debug)]
pub struct Section {
    /// The words of the heading.
    pub title: String,
    /// 1 for `#`, 2 for `##`.
    pub level: u8,
    /// Heading and text.
    pub range: Range<usize>,
    /// The shop whose ticket it goes to, its own or that of the section around it.
    pub shop: Option<String>,
    /// On no ticket at all.
    pub private: bool,
}

impl Document {
    /// Reads a document. Never fails: what cannot be read is a problem, and the text is kept as it is.
    pub fn read(text: &str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).to_owned();
        let lines = Lines::of(&text);
        let mut problems = Vec::new();
        let split = front::split(&text);
        let mut doubts = Vec::new();
        let front = front::read(&text, &lines, &split, (&mut problems, &mut doubts));
        let mut document = Self {
            lines,
            front,
            body: split.body,
            blocks: Vec::new(),
            asks: Vec::new(),
            sections: Vec::new(),
            problems,
            doubts,
            unasked: Vec::new(),
            events: Vec::new(),
            text,
        };
        if document.text.len() > LONGEST {
            document.problem(
                0,
                format!("this document is {} kB long, and at most 1024 kB are read", document.text.len() / 1024),
                "cut it into two plans, or take long notes out into a file of their own",
            );
        } else {
            document.read_body();
        }
        document
    }

    /// The title: of the head, else the first heading.
    pub fn title(&self) -> String {
        let heading = || self.sections.iter().find(|one| one.level == 1).map(|one| one.title.clone());
        self.front.title.clone().or_else(heading).unwrap_or_default()
    }

    /// How many beginnings, ends and pieces of text its Markdown comes apart into.
    pub fn pieces(&self) -> usize {
        self.events.len()
    }

    /// Whether the text came apart into more pieces than are shown, so that nothing of it is.
    #[must_use]
    pub fn is_too_much(&self) -> bool {
        self.events.is_empty() && self.text.get(self.body..).is_some_and(|body| !body.trim().is_empty())
    }

    /// Line and column of an offset.
    pub fn place(&self, offset: usize) -> (usize, usize) {
        self.lines.place(&self.text, offset)
    }

    /// A problem at an offset.
    pub(crate) fn problem_at(&self, offset: usize, what: impl Into<String>, next: impl Into<String>) -> Problem {
        let (line, column) = self.place(offset);
        Problem { line, column, what: what.into(), next: next.into() }
    }

    fn problem(&mut self, offset: usize, what: String, next: &str) {
        let problem = self.problem_at(offset, what, next);
        self.problems.push(problem);
    }

    /// Markdown with tables, task lists, footnotes, strikethrough and heading attributes; no metadata blocks, which
    /// are slow on hostile text, and no raw HTML, which becomes text.
    fn options() -> Options {
        Options::ENABLE_TABLES
            | Options::ENABLE_TASKLISTS
            | Options::ENABLE_STRIKETHROUGH
            | Options::ENABLE_HEADING_ATTRIBUTES
    }

    fn read_body(&mut self) {
        let body = self.body;
        let Some(markdown) = self.text.get(body..) else { return };
        let mut events = Vec::with_capacity(markdown.len() / 24);
        events.extend(
            Parser::new_ext(markdown, Self::options())
                .into_offset_iter()
                .take(MOST_EVENTS + 1)
                .map(|(event, range)| (event.into_static(), range.start + body..range.end + body)),
        );
        if events.len() > MOST_EVENTS {
            let at = events.last().map_or(body, |(_, range)| range.start);
            return self.problem(
                at,
                format!(
                    "this document comes apart into more than {MOST_EVENTS} pieces up to here, too many to be shown"
                ),
                "cut it into two plans, or take long lists and tables out into a file of their own",
            );
        }
        self.events = events;
        self.find_sections();
        self.find_blocks_and_asks();
    }

    fn find_sections(&mut self) {
        let mut open: Option<Section> = None;
        let mut found: Vec<Section> = Vec::new();
        for (event, range) in &self.events {
            match event {
                Event::Start(Tag::Heading { level, attrs, .. }) => {
                    let attr = |name: &str| attrs.iter().find(|(key, _)| &**key == name);
                    open = Some(Section {
                        title: String::new(),
                        level: number(*level),
                        range: range.start..self.text.len(),
                        shop: attr("for").and_then(|(_, value)| value.as_ref().map(|value| value.to_string())),
                        private: attr("private").is_some(),
                    });
                }
                Event::Text(words) | Event::Code(words) => {
                    if let Some(section) = &mut open {
                        section.title.push_str(words);
                    }
                }
                Event::End(TagEnd::Heading(_)) => found.extend(open.take()),
                _ => {}
            }
        }
        // The sections a heading stands in, outermost first; each ends where one of its level or above begins.
        let mut around: Vec<usize> = Vec::new();
        for index in 0..found.len() {
            let Some((before, [section, ..])) = found.split_at_mut_checked(index) else { continue };
            while let Some(outer) = around.last().and_then(|at| before.get_mut(*at)) {
                if outer.level < section.level {
                    // The section around it hands down its shop and its privacy.
                    section.private |= outer.private;
                    if section.shop.is_none() {
                        section.shop.clone_from(&outer.shop);
                    }
                    break;
                }
                outer.range.end = section.range.start;
                around.pop();
            }
            around.push(index);
        }
        self.sections = found;
        let mut count = 0;
        for index in 0..self.sections.len() {
            let Some(section) = self.sections.get(index) else { continue };
            let (at, title) = (section.range.start, section.title.clone());
            if let Some(shop) = section.shop.clone()
                && self.front.kind == super::Kind::Plan
                && !self.front.shops.iter().any(|(role, _)| *role == shop)
            {
                count += 1;
                if count > MOST_TOLD {
                    break;
                }
                let roles: Vec<_> = self.front.shops.iter().map(|(role, _)| role.as_str()).collect();
                let next = if roles.is_empty() {
                    format!("name it in the head, below `[shops]`: `{shop} = \"shops/…\"`")
                } else {
                    format!("the head names {}; write one of them, or add this one below `[shops]`", roles.join(", "))
                };
                self.problem(
                    at,
                    format!("the section `{title}` is for `{shop}`, and the head names no such shop"),
                    &next,
                );
            }
        }
    }

    fn find_blocks_and_asks(&mut self) {
        let mut open: Option<Block> = None;
        let mut section = None;
        let mut sections = 0;
        let (mut blocks, mut asks, mut unasked) = (Vec::new(), Vec::new(), Vec::new());
        let mut unclosed = None;
        for (event, range) in &self.events {
            match event {
                Event::Start(Tag::Heading { .. }) => {
                    section = Some(sections);
                    sections += 1;
                }
                Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) if is_workings(info) => {
                    open = Some(Block {
                        text: String::new(),
                        line: self.lines.line(range.start),
                        range: range.clone(),
                        section,
                        pieces: Vec::new(),
                    });
                }
                Event::Text(words) => {
                    if let Some(block) = &mut open {
                        block.pieces.push((block.text.len(), range.start));
                        block.text.push_str(words);
                    }
                }
                Event::End(TagEnd::CodeBlock) => {
                    if let Some(block) = open.take() {
                        if !closes(self.text.get(range.clone()).unwrap_or_default()) {
                            unclosed = Some(range.start);
                        }
                        blocks.push(block);
                    }
                }
                Event::Code(words) => {
                    let Some(expression) = words.strip_prefix('?') else { continue };
                    if expression.starts_with([' ', '\u{a0}']) {
                        let inside = self.text.get(range.clone()).unwrap_or_default();
                        let lead = inside.find('?').map_or(0, |at| at + 1);
                        let rest = inside.get(lead..).unwrap_or_default();
                        let at = range.start + lead + (rest.len() - rest.trim_start().len());
                        asks.push(Ask { expression: expression.trim().to_owned(), at, range: range.clone(), section });
                    } else if expression.starts_with(|c: char| c.is_ascii_alphabetic() || c == '_') {
                        unasked.push((expression.to_owned(), range.start));
                    }
                }
                _ => {}
            }
        }
        self.blocks = blocks;
        self.asks = asks;
        self.unasked = unasked;
        if let Some(at) = unclosed {
            self.problem(
                at,
                "these workings begin with ``` and never end, so the rest of the text is taken as workings".into(),
                "write a line ``` where the workings end",
            );
        }
    }

    /// The section an offset stands in: the innermost.
    pub fn section_at(&self, offset: usize) -> Option<&Section> {
        self.sections.iter().rev().find(|one| one.range.contains(&offset))
    }
}

/// A fence says `workings`, and nothing else or more words after it.
pub(crate) fn is_workings(info: &str) -> bool {
    info.split_whitespace().next() == Some("workings")
}

/// Code that asks for a value: `? piece.size`.
pub(crate) fn is_ask(words: &str) -> bool {
    words.strip_prefix('?').is_some_and(|rest| rest.starts_with([' ', '\u{a0}']))
}

/// Whether a fenced block has its closing fence.
fn closes(block: &str) -> bool {
    let mut lines = block.trim_end().lines();
    let fence = |line: &str| {
        line.trim_start_matches(['>', ' ', '\t']).starts_with("```")
            || line.trim_start_matches(['>', ' ', '\t']).starts_with("~~~")
    };
    let first = lines.next().is_some_and(fence);
    first && lines.next_back().is_some_and(fence)
}

pub(crate) fn number(level: HeadingLevel) -> u8 {
    match level {
        HeadingLevel::H1 => 1,
        HeadingLevel::H2 => 2,
        HeadingLevel::H3 => 3,
        HeadingLevel::H4 => 4,
        HeadingLevel::H5 => 5,
        HeadingLevel::H6 => 6,
    }
}
