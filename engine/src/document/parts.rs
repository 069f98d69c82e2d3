//! What a document has lists of: blocks of workings, asks in the prose, and the sections that go to one shop.

use std::ops::Range;

use crate::Message;

/// The longest text of one block of workings, in bytes: longer ones take too long to read.
const LONGEST_BLOCK: usize = 32 << 10;
/// The longest ask, in bytes.
const LONGEST_ASK: usize = 4 << 10;

/// A block of workings.
#[derive(Debug)]
pub struct Block {
    /// The text between the fences.
    pub text: String,
    /// The line of its opening fence.
    pub line: usize,
    /// Where the whole block lies in the document, fences included.
    pub range: Range<usize>,
    /// The section it stands in, as an index into [`Document::sections`](super::Document::sections).
    pub section: Option<usize>,
    /// Where pieces of `text` came from: offset there, offset in the document.
    pub(super) pieces: Vec<(usize, usize)>,
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
