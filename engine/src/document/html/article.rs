//! The article of a page as it is sent: whole, or in its passages, which can be told from what a page shows already.

use std::hash::{Hash, Hasher};
use std::ops::Range;

use super::ink::Ink as _;

/// A document's HTML, and where its passages end: the pieces that stand on the page one under the other.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Article {
    /// All of it.
    pub html: String,
    cuts: Cuts,
}

/// Where the passages of an article end, and the lines of the text it tells of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Cuts {
    ends: Vec<End>,
    /// Numbers of lines, as they stand in attributes of the HTML.
    lines: Vec<(Range<usize>, usize)>,
}

/// Where a passage ends: in the HTML, and in the numbers of lines written into it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct End {
    html: usize,
    lines: usize,
}

impl Cuts {
    /// Writes the number of a line.
    pub(super) fn line(&mut self, out: &mut String, line: usize) {
        let from = out.len();
        out.count(line);
        self.lines.push((from..out.len(), line));
    }

    /// The numbers of lines written since there were `from` bytes, their places counted from there.
    pub(super) fn since(&self, from: usize) -> Box<[(Range<usize>, usize)]> {
        let first = self.lines.partition_point(|(place, _)| place.start < from);
        let since = self.lines.get(first..).unwrap_or_default();
        since.iter().map(|(place, line)| (place.start - from..place.end - from, *line)).collect()
    }

    /// Writes a piece of HTML again, so many lines further down as it stands now.
    pub(super) fn again(
        &mut self,
        out: &mut String,
        html: &str,
        lines: &[(Range<usize>, usize)],
        (was, is): (usize, usize),
    ) {
        let mut from = 0;
        for (place, line) in lines {
            out.raw(html.get(from..place.start).unwrap_or_default());
            self.line(out, (line + is).saturating_sub(was));
            from = place.end;
        }
        out.raw(html.get(from..).unwrap_or_default());
    }

    /// The passage being written ends here, when anything was written.
    pub(super) fn end(&mut self, out: &str) {
        let end = End { html: out.len(), lines: self.lines.len() };
        if self.ends.last().map_or(0, |last| last.html) < end.html {
            self.ends.push(end);
        }
    }
}

impl Article {
    pub(super) fn of(html: String, cuts: Cuts) -> Self {
        Self { html, cuts }
    }

    /// The passages from the first to the last. Joined they are the whole.
    pub fn passages(&self) -> impl ExactSizeIterator<Item = Passage<'_>> {
        let mut from = End { html: 0, lines: 0 };
        self.cuts.ends.iter().map(move |end| {
            let passage = Passage {
                html: self.html.get(from.html..end.html).unwrap_or_default(),
                lines: self.cuts.lines.get(from.lines..end.lines).unwrap_or_default(),
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
