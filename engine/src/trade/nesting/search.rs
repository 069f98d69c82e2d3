//! Looking through every layout of a few prints.
//!
//! In some shortest layout every print lies against the left margin or another print, and against the end margin or
//! another print. So it is enough to try each print, each way up, at each place where it does.

use std::collections::HashSet;

use super::{GappedPrint, Laid, PlacedPrint};

/// Prints that are looked through at most.
pub(super) const FEW: usize = 6;
/// Layouts looked at before it is given up.
const LOOKS: usize = 3_000;

/// A shorter layout than `best`, if there is one, and whether none can be shorter than what is then the best.
pub(super) fn shortest(
    pieces: &[GappedPrint],
    room: i64,
    may_turn: bool,
    best: i64,
    least: i64,
) -> (Option<Laid>, bool) {
    if pieces.len() > FEW {
        return (None, false);
    }
    let mut search = LayoutSearch {
        pieces,
        room,
        may_turn,
        best,
        least,
        found: None,
        seen: HashSet::new(),
        left: LOOKS,
        done: true,
    };
    search.place(&mut Vec::with_capacity(pieces.len()), 0);
    (search.found, search.done)
}

struct LayoutSearch<'a> {
    pieces: &'a [GappedPrint],
    room: i64,
    may_turn: bool,
    best: i64,
    least: i64,
    found: Option<Laid>,
    /// Partial layouts met before, by where each print lies.
    seen: HashSet<Vec<(i64, i64, i64, i64)>>,
    left: usize,
    done: bool,
}

impl LayoutSearch<'_> {
    /// `used` has a bit for each print laid.
    fn place(&mut self, spots: &mut Vec<PlacedPrint>, used: u32) {
        if self.best <= self.least {
            return;
        }
        if spots.len() == self.pieces.len() {
            let end = spots.iter().map(|spot| spot.y + spot.piece.height).max().unwrap_or(0);
            if end < self.best {
                self.best = end;
                self.found = Some(Laid { end, spots: spots.clone() });
            }
            return;
        }
        let mut tried: Vec<(i64, i64)> = Vec::new();
        for (number, piece) in self.pieces.iter().copied().enumerate() {
            if used & (1 << number) != 0 {
                continue;
            }
            for piece in [Some(piece), self.may_turn.then(|| piece.turned())].into_iter().flatten() {
                // Prints of one size are one print.
                if tried.contains(&(piece.width, piece.height)) {
                    continue;
                }
                tried.push((piece.width, piece.height));
                for (x, y) in self.places(spots, piece) {
                    if self.left == 0 {
                        self.done = false;
                        return;
                    }
                    spots.push(PlacedPrint { x, y, piece });
                    let mut key: Vec<_> =
                        spots.iter().map(|one| (one.x, one.y, one.piece.width, one.piece.height)).collect();
                    key.sort_unstable();
                    if self.seen.insert(key) {
                        self.left -= 1;
                        self.place(spots, used | (1 << number));
                    }
                    spots.pop();
                }
            }
        }
    }

    /// Where a print lies on the paper, short of the best layout, clear of the others and against something to its left
    /// and before it.
    fn places(&self, spots: &[PlacedPrint], piece: GappedPrint) -> Vec<(i64, i64)> {
        let apart =
            |from: i64, size: i64, other: i64, other_size: i64| from + size <= other || other + other_size <= from;
        let mut out = Vec::new();
        for x in std::iter::once(0).chain(spots.iter().map(|one| one.x + one.piece.width)) {
            if x + piece.width > self.room {
                continue;
            }
            for y in std::iter::once(0).chain(spots.iter().map(|one| one.y + one.piece.height)) {
                if y + piece.height >= self.best || out.contains(&(x, y)) {
                    continue;
                }
                let beside = |one: &PlacedPrint| !apart(y, piece.height, one.y, one.piece.height);
                let before = |one: &PlacedPrint| !apart(x, piece.width, one.x, one.piece.width);
                let clear = !spots.iter().any(|one| beside(one) && before(one));
                let left = x == 0 || spots.iter().any(|one| one.x + one.piece.width == x && beside(one));
                let below = y == 0 || spots.iter().any(|one| one.y + one.piece.height == y && before(one));
                if clear && left && below {
                    out.push((x, y));
                }
            }
        }
        out
    }
}
