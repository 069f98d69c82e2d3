//! The body of a document as one tree: passages and words in the order of the text, asks and workings at their places.

use std::ops::Range;

/// A passage, a word or a mark, and where it stands in the document.
#[derive(Debug)]
pub(crate) struct Node {
    pub(crate) part: Part,
    pub(crate) range: Range<usize>,
    /// How many nodes stand in it, those in them included; they follow it.
    pub(super) inside: usize,
}

/// Other words than those of its place, where something in them is escaped.
pub(crate) type Words = Option<Box<str>>;

/// What a node is. Numbers are indices into the lists of the [`Document`](super::Document).
#[derive(Debug)]
pub(crate) enum Part {
    /// A heading, 1 for `#`, with which a section begins.
    Heading { level: u8, section: usize },
    /// A paragraph; when it is one ask and nothing else, that ask.
    Paragraph { lone: Option<usize> },
    /// A block of workings. Nothing stands in it.
    Workings(usize),
    /// Text as typed, and the language its fence names.
    Typed { language: Option<Box<str>> },
    /// A passage of HTML, which is text here.
    HtmlBlock,
    /// A list of items, numbered from the first on or not.
    List { first: Option<u64> },
    /// An item of a list.
    Item,
    /// A quotation.
    Quote,
    /// A table: its head, then its rows, cells in each. A column is set `left`, `middle` or `right`.
    Table { columns: Box<[&'static str]> },
    /// The head of a table.
    Head,
    /// A row of a table.
    Row,
    /// A cell of a head or a row.
    Cell,
    /// A line across.
    Rule,
    /// Words in italics.
    Emphasis,
    /// Words set bold.
    Strong,
    /// Words struck through.
    Struck,
    /// Words that lead elsewhere; the address is not looked at yet.
    Link { to: Box<str>, title: Box<str> },
    /// A picture and the words that stand for it; the address is not looked at yet.
    Picture { file: Box<str> },
    /// Words.
    Text(Words),
    /// Marks of HTML, which are text here.
    Html(Words),
    /// Code in a line that does not ask for a value.
    Code(Box<str>),
    /// A live value.
    Ask(usize),
    /// The box of an item, ticked or not.
    Tick(bool),
    /// The end of a line of the text, a space on the page.
    SoftBreak,
    /// The end of a line.
    HardBreak,
}

impl Part {
    /// Whether such parts stand in one another to any depth.
    pub(super) fn nests(&self) -> bool {
        let is_words = matches!(self, Self::Emphasis | Self::Strong | Self::Struck | Self::Link { .. });
        is_words || matches!(self, Self::List { .. } | Self::Quote | Self::Picture { .. })
    }
}

/// Nodes that stand one after the other, each with those inside it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nodes<'a>(&'a [Node]);

impl<'a> Nodes<'a> {
    pub(super) fn of(all: &'a [Node]) -> Self {
        Self(all)
    }

    /// Every one at any depth, each with what stands in it.
    pub(crate) fn every(self) -> impl Iterator<Item = (&'a Node, Self)> {
        (0..self.0.len()).filter_map(move |at| Self(self.0.get(at..)?).next())
    }

    /// All of them, and after each what stands in it.
    pub(crate) fn all(self) -> &'a [Node] {
        self.0
    }
}

impl<'a> Iterator for Nodes<'a> {
    type Item = (&'a Node, Self);

    fn next(&mut self) -> Option<Self::Item> {
        let (node, rest) = self.0.split_first()?;
        let (inside, after) = rest.split_at_checked(node.inside)?;
        self.0 = after;
        Some((node, Self(inside)))
    }
}
