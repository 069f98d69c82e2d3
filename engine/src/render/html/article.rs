//! The article of a page as it is sent: whole, or in its passages, which can be told from what a page shows already.

use std::hash::{Hash, Hasher};
use std::ops::Range;

use crate::markup::Html;

/// A document's HTML, and where its passages end: the pieces that stand on the page one under the other.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Article {
    /// All of it.
    pub html: String,
    ends: Vec<End>,
    /// Numbers of lines, as they stand in attributes of the HTML.
    lines: Vec<(Range<usize>, usize)>,
}

/// Where a passage ends: in the HTML, and in the numbers of lines written into it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct End {
    html: usize,
    lines: usize,
}

/// The passage being written ends here, when anything was written.
pub(super) fn end(ends: &mut Vec<End>, out: &Html) {
    let (html, lines) = out.mark();
    if ends.last().map_or(0, |last| last.html) < html {
        ends.push(End { html, lines });
    }
}

impl Article {
    pub(super) fn of(out: Html, ends: Vec<End>) -> Self {
        let (html, lines) = out.into_parts();
        Self { html, ends, lines }
    }

    /// The passages from the first to the last. Joined they are the whole.
    pub fn passages(&self) -> impl ExactSizeIterator<Item = Passage<'_>> {
        let mut from = End::default();
        self.ends.iter().map(move |end| {
            let passage = Passage {
                html: self.html.get(from.html..end.html).unwrap_or_default(),
                lines: self.lines.get(from.lines..end.lines).unwrap_or_default(),
                at: from.html,
            };
            from = *end;
            passage
        })
    }
}

/// One piece of an article.
#[derive(Clone, Copy, Debug)]
pub struct Passage<'a> {
    /// Its HTML, which stands for itself.
    pub html: &'a str,
    lines: &'a [(Range<usize>, usize)],
    at: usize,
}

impl Passage<'_> {
    /// The first line it tells of, or 0.
    #[must_use]
    pub fn line(&self) -> usize {
        self.lines.first().map_or(0, |(_, line)| *line)
    }
}

/// Two passages are alike when one becomes the other by moving it so many lines up or down.
impl Hash for Passage<'_> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        let (mut from, first) = (0, self.line());
        for (place, line) in self.lines {
            self.html.get(from..place.start - self.at).unwrap_or_default().hash(state);
            line.wrapping_sub(first).hash(state);
            from = place.end - self.at;
        }
        self.html.get(from..).unwrap_or_default().hash(state);
    }
}
