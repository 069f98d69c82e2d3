//! What open pages show already, so that the answer to a key press carries no more than what the key changed.

use std::collections::HashMap;
use std::hash::{BuildHasher as _, RandomState};
use std::sync::Arc;

use engine::render::html::Article;
use parking_lot::Mutex;

use engine::recent::Recent;

/// How many bytes of what was sent are remembered, in each of two generations; a long plan takes some kilobytes.
const ROOM: usize = 2 << 20;

/// Articles as pages were last told them, by their marks.
#[derive(Debug)]
pub struct PageDiff {
    kept: Mutex<Recent<u64, Arc<[Piece]>>>,
    hasher: RandomState,
}

impl Default for PageDiff {
    fn default() -> Self {
        Self { kept: Mutex::new(Recent::of(ROOM)), hasher: RandomState::new() }
    }
}

/// A passage: what it is like wherever it stands, and the first line it tells of.
#[derive(Clone, Copy, Debug, Hash, PartialEq, Eq)]
struct Piece {
    like: u64,
    line: usize,
}

/// A part of an article as a page is told it.
#[derive(Debug, PartialEq, Eq, serde::Serialize)]
#[serde(untagged)]
pub(crate) enum Part<'a> {
    /// Passages the page shows already: from which on, how many, and how many lines further down they stand now.
    Kept(usize, usize, isize),
    /// A passage it does not show.
    New(&'a str),
}

impl PageDiff {
    /// The parts of an article for a page that shows the one of the mark `shown`, and the mark of this one.
    pub(crate) fn parts<'a>(&self, article: &'a Article, shown: Option<u64>) -> (u64, Vec<Part<'a>>) {
        let pieces = article
            .passages()
            .map(|passage| Piece { like: self.hasher.hash_one(passage), line: passage.line() })
            .collect::<Arc<[_]>>();
        let mark = self.hasher.hash_one(&pieces);
        let mut kept = self.kept.lock();
        let before = shown.and_then(|mark| kept.get(&mark)).unwrap_or_default();
        kept.put(mark, pieces.clone(), size_of_val::<[Piece]>(&pieces));
        drop(kept);
        (mark, differing(article, &pieces, &before))
    }
}

/// What stands in an article and not in the one before it. Both are gone through once, from above: what was moved up past
/// another passage is sent again.
fn differing<'a>(article: &'a Article, now: &[Piece], before: &[Piece]) -> Vec<Part<'a>> {
    let mut places: HashMap<u64, Vec<usize>> = HashMap::with_capacity(before.len());
    for (place, piece) in before.iter().enumerate() {
        places.entry(piece.like).or_default().push(place);
    }
    let (mut parts, mut next) = (Vec::new(), 0);
    for (piece, passage) in now.iter().zip(article.passages()) {
        let places = places.get(&piece.like).map_or(&[][..], Vec::as_slice);
        let Some(place) = places.get(places.partition_point(|place| *place < next)).copied() else {
            parts.push(Part::New(passage.html));
            continue;
        };
        let moved = before.get(place).map_or(0, |was| piece.line.wrapping_sub(was.line).cast_signed());
        match parts.last_mut() {
            Some(Part::Kept(from, count, lines)) if *from + *count == place && (*lines == moved || piece.line == 0) => {
                *count += 1;
            }
            _ => parts.push(Part::Kept(place, 1, moved)),
        }
        next = place + 1;
    }
    parts
}
