//! Markdown made into a tree, and the blocks, asks and sections found on the way.

use std::ops::Range;

use pulldown_cmark::{Alignment, CodeBlockKind, CowStr, Event, LinkType, Options, Parser, Tag};

use super::lines::Lines;
use super::parts::{Ask, Block, Section};
use super::tree::{Node, Part, Words};
use crate::syntax::nearest::nearest;

/// Beginnings, ends and pieces of text that the Markdown of a document may come apart into. Each takes some hundred bytes.
pub const MOST_EVENTS: usize = 100_000;
/// What blocks of workings are marked with.
const WORKINGS: [&str; 1] = ["workings"];
/// How deep lists, quotations and marks stand in one another; what is deeper is put at this depth.
const DEEPEST: usize = 32;

/// What the Markdown of a text comes apart into.
#[derive(Debug, Default)]
pub(super) struct Markdown {
    pub(super) nodes: Vec<Node>,
    pub(super) blocks: Vec<Block>,
    pub(super) asks: Vec<Ask>,
    pub(super) sections: Vec<Section>,
    /// Code that would be an ask with a space behind its question mark: the expression, and where the code stands.
    pub(super) unasked: Vec<(String, usize)>,
    /// Code that is marked with a word like `workings`, and where it stands.
    pub(super) misnamed: Vec<(String, usize)>,
    /// Beginnings, ends and pieces of text.
    pub(super) pieces: usize,
    /// Where workings begin that never end.
    pub(super) unclosed: Option<usize>,
}

/// Markdown with tables, task lists, strikethrough and heading attributes; no metadata blocks, which are slow on hostile
/// text, and no raw HTML, which becomes text.
fn options() -> Options {
    Options::ENABLE_TABLES
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_HEADING_ATTRIBUTES
}

impl Markdown {
    /// Reads a text from where its body begins.
    ///
    /// # Errors
    /// Where in the text there are more pieces than are shown.
    pub(super) fn read(text: &str, body: usize, lines: &Lines) -> Result<Self, usize> {
        let markdown = text.get(body..).unwrap_or_default();
        let nodes = Vec::with_capacity(markdown.len() / 40);
        let out = Self { nodes, ..Self::default() };
        let mut reader = Reader { text, lines, out, open: Vec::new(), depth: 0, is_heading: false };
        for (event, range) in Parser::new_ext(markdown, options()).into_offset_iter() {
            let range = range.start + body..range.end + body;
            reader.out.pieces += 1;
            if reader.out.pieces > MOST_EVENTS {
                return Err(range.start);
            }
            match event {
                Event::Start(tag) => reader.begin(tag, range),
                Event::End(_) => reader.end(),
                event => reader.leaf(event, range),
            }
        }
        bound(&mut reader.out.sections);
        Ok(reader.out)
    }
}

/// Ends each section where one of its level or above begins, and hands its shop and its privacy down to those in it.
fn bound(sections: &mut [Section]) {
    // The sections a heading stands in, outermost first.
    let mut around: Vec<usize> = Vec::new();
    for index in 0..sections.len() {
        let Some((before, [section, ..])) = sections.split_at_mut_checked(index) else { continue };
        while let Some(outer) = around.last().and_then(|at| before.get_mut(*at)) {
            if outer.level < section.level {
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
}

struct Reader<'a> {
    text: &'a str,
    lines: &'a Lines,
    out: Markdown,
    /// The nodes that have not ended, outermost first; nothing for one that stands too deep to be one.
    open: Vec<Option<usize>>,
    /// How many of them are such as nest.
    depth: usize,
    is_heading: bool,
}

impl Reader<'_> {
    fn begin(&mut self, tag: Tag<'_>, range: Range<usize>) {
        let part = match tag {
            Tag::Paragraph => Part::Paragraph { lone: None },
            Tag::Heading { level, attrs, .. } => self.heading(level as u8, &attrs, range.start),
            Tag::CodeBlock(CodeBlockKind::Fenced(info)) => match info.split_whitespace().next() {
                // It says `workings`, and nothing else or more words after it.
                Some("workings") => self.workings(range.clone()),
                language => {
                    let is_near = |word: &&str| {
                        let word = word.to_lowercase();
                        WORKINGS.contains(&&*word) || nearest(&word, WORKINGS).is_some()
                    };
                    if let Some(word) = language.filter(is_near) {
                        self.out.misnamed.push((word.to_owned(), range.start));
                    }
                    Part::Typed { language: language.map(Box::from) }
                }
            },
            Tag::CodeBlock(CodeBlockKind::Indented) => Part::Typed { language: None },
            Tag::HtmlBlock => Part::HtmlBlock,
            Tag::List(first) => Part::List { first },
            Tag::Item => Part::Item,
            Tag::BlockQuote(_) => Part::Quote,
            Tag::Table(columns) => Part::Table { columns: columns.into_iter().map(column).collect() },
            Tag::TableHead => Part::Head,
            Tag::TableRow => Part::Row,
            Tag::TableCell => Part::Cell,
            Tag::Emphasis => Part::Emphasis,
            Tag::Strong => Part::Strong,
            Tag::Strikethrough => Part::Struck,
            Tag::Link { link_type: LinkType::Email, dest_url, title, .. } => {
                Part::Link { to: format!("mailto:{dest_url}").into(), title: boxed(title) }
            }
            Tag::Link { dest_url, title, .. } => Part::Link { to: boxed(dest_url), title: boxed(title) },
            Tag::Image { dest_url, .. } => Part::Picture { file: boxed(dest_url) },
            // Not among what is read: see `options`.
            _ => return self.open.push(None),
        };
        let is_of_none = matches!(part, Part::Item) && self.open.last() == Some(&None);
        if is_of_none || (part.nests() && self.depth == DEEPEST) {
            return self.open.push(None);
        }
        self.depth += usize::from(part.nests());
        self.open.push(Some(self.out.nodes.len()));
        self.out.nodes.push(Node { part, range, inside: 0 });
    }

    fn heading(&mut self, level: u8, attributes: &[(CowStr<'_>, Option<CowStr<'_>>)], start: usize) -> Part {
        let attribute = |name: &str| attributes.iter().find(|(key, _)| **key == *name);
        self.is_heading = true;
        let section = self.out.sections.len();
        self.out.sections.push(Section {
            title: String::new(),
            level,
            range: start..self.text.len(),
            shop: attribute("for").and_then(|(_, value)| value.as_ref().map(ToString::to_string)),
            private: attribute("private").is_some(),
        });
        Part::Heading { level, section }
    }

    fn workings(&mut self, range: Range<usize>) -> Part {
        let (line, section) = (self.lines.line(range.start), self.section());
        self.out.blocks.push(Block { text: String::new(), line, range, section, pieces: Vec::new() });
        Part::Workings(self.out.blocks.len() - 1)
    }

    /// The section begun last.
    fn section(&self) -> Option<usize> {
        self.out.sections.len().checked_sub(1)
    }

    fn end(&mut self) {
        let Some(at) = self.open.pop().flatten() else { return };
        let inside = self.out.nodes.len().saturating_sub(at + 1);
        let lone = match self.out.nodes.last().map(|last| &last.part) {
            Some(Part::Ask(ask)) if inside == 1 => Some(*ask),
            _ => None,
        };
        let Some(node) = self.out.nodes.get_mut(at) else { return };
        node.inside = inside;
        match &mut node.part {
            Part::Paragraph { lone: own } => *own = lone,
            Part::Heading { .. } => self.is_heading = false,
            Part::Workings(_) if !closes(self.text.get(node.range.clone()).unwrap_or_default()) => {
                self.out.unclosed = Some(node.range.start);
            }
            part => self.depth -= usize::from(part.nests()),
        }
    }

    /// Something in which nothing stands.
    fn leaf(&mut self, event: Event<'_>, range: Range<usize>) {
        let part = match event {
            Event::Text(words) => {
                let around = self.open.last().copied().flatten().and_then(|at| self.out.nodes.get(at));
                if let (Some(Part::Workings(_)), Some(block)) =
                    (around.map(|node| &node.part), self.out.blocks.last_mut())
                {
                    block.pieces.push((block.text.len(), range.start));
                    block.text.push_str(&words);
                    return;
                }
                self.titled(&words);
                Part::Text(self.words(words, &range))
            }
            Event::Code(words) => {
                self.titled(&words);
                self.code(words, &range)
            }
            Event::Html(words) | Event::InlineHtml(words) => Part::Html(self.words(words, &range)),
            Event::TaskListMarker(done) => Part::Tick(done),
            Event::SoftBreak => Part::SoftBreak,
            Event::HardBreak => Part::HardBreak,
            Event::Rule => Part::Rule,
            // Not among what is read: see `options`.
            Event::InlineMath(_) | Event::DisplayMath(_) | Event::FootnoteReference(_) => return,
            Event::Start(_) | Event::End(_) => return,
        };
        self.out.nodes.push(Node { part, range, inside: 0 });
    }

    /// Words in a heading are those of its section.
    fn titled(&mut self, words: &str) {
        if self.is_heading
            && let Some(section) = self.out.sections.last_mut()
        {
            section.title.push_str(words);
        }
    }

    fn words(&self, words: CowStr<'_>, range: &Range<usize>) -> Words {
        (self.text.get(range.clone()) != Some(&*words)).then(|| boxed(words))
    }

    /// Code in a line: an ask where it begins with a question mark and a space.
    fn code(&mut self, words: CowStr<'_>, range: &Range<usize>) -> Part {
        match words.strip_prefix('?') {
            Some(expression) if expression.starts_with([' ', '\u{a0}']) => {
                let inside = self.text.get(range.clone()).unwrap_or_default();
                let lead = inside.find('?').map_or(0, |at| at + 1);
                let rest = inside.get(lead..).unwrap_or_default();
                let at = range.start + lead + (rest.len() - rest.trim_start().len());
                let (expression, section) = (expression.trim().to_owned(), self.section());
                self.out.asks.push(Ask { expression, at, range: range.clone(), section });
                Part::Ask(self.out.asks.len() - 1)
            }
            Some(expression) if expression.starts_with(|c: char| c.is_ascii_alphabetic() || c == '_') => {
                self.out.unasked.push((expression.to_owned(), range.start));
                Part::Code(boxed(words))
            }
            _ => Part::Code(boxed(words)),
        }
    }
}

fn boxed(words: CowStr<'_>) -> Box<str> {
    words.into_string().into_boxed_str()
}

fn column(column: Alignment) -> &'static str {
    match column {
        Alignment::Right => "right",
        Alignment::Center => "middle",
        Alignment::Left | Alignment::None => "left",
    }
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
