//! Laying prints one by one at the lowest free place.

use super::{GappedPrint, Laid, PlacedPrint};

/// Which of the prints that fit a place goes there.
#[derive(Clone, Copy, Debug)]
pub(super) enum Prefer {
    /// The widest.
    Wide,
    /// The highest.
    High,
    /// The largest.
    Large,
    /// One that fills the place just, or comes level with what stands beside it, then the widest.
    Just,
    /// As `Just`, and then by width and height in these shares, each print with a weight of its own from this number on.
    Chance(u64, i64),
}

/// One level stretch of what is laid so far.
#[derive(Clone, Copy, Debug)]
struct Level {
    from: i64,
    width: i64,
    height: i64,
}

/// What is laid so far, seen from its far end.
struct Skyline(Vec<Level>);

/// Lays all prints; `beside_tall` puts each beside the higher neighbour instead of to the left.
pub(super) fn lay(pieces: &[GappedPrint], room: i64, may_turn: bool, prefer: Prefer, beside_tall: bool) -> Laid {
    let mut left: Vec<(usize, GappedPrint)> = pieces.iter().copied().enumerate().collect();
    let mut sky = Skyline(vec![Level { from: 0, width: room, height: 0 }]);
    let mut laid = Laid { end: 0, spots: Vec::with_capacity(left.len()) };
    while !left.is_empty() {
        let lowest = sky.0.iter().copied().enumerate().min_by_key(|(_, level)| (level.height, level.from));
        let Some((at, level)) = lowest else { break };
        let fits = left.iter().enumerate().flat_map(|(place, (number, piece))| {
            let turned = may_turn.then(|| piece.turned());
            std::iter::once(*piece).chain(turned).map(move |piece| (place, *number, piece))
        });
        let best = fits
            .filter(|(.., piece)| piece.width <= level.width)
            .max_by_key(|(_, number, piece)| sky.score(at, level, *piece, *number, prefer));
        let Some((place, _, piece)) = best else {
            sky.raise(at);
            continue;
        };
        left.remove(place);
        let right = beside_tall && sky.side(at, 1) > sky.side(at, -1);
        let from = if right { level.from + level.width - piece.width } else { level.from };
        laid.spots.push(PlacedPrint { x: from, y: level.height, piece });
        laid.end = laid.end.max(level.height + piece.height);
        sky.put(at, from, piece);
    }
    laid
}

/// Lays all prints in rows, the highest first, each in the last row while it fits there.
///
/// No such layout is longer than twice the area over the width and the highest print besides. Source: Coffman, Garey,
/// Johnson and Tarjan, SIAM Journal on Computing 9 (1980) (next-fit decreasing height; from memory).
pub(super) fn rows(pieces: &[GappedPrint], room: i64, may_turn: bool) -> Laid {
    let lying = |piece: &GappedPrint| {
        let turned = piece.turned();
        if may_turn && turned.height < piece.height && turned.width <= room || piece.width > room {
            turned
        } else {
            *piece
        }
    };
    let mut all: Vec<GappedPrint> = pieces.iter().map(lying).collect();
    all.sort_by_key(|piece| std::cmp::Reverse((piece.height, piece.width)));
    let mut laid = Laid { end: 0, spots: Vec::with_capacity(all.len()) };
    let (mut x, mut y) = (0, 0);
    for piece in all {
        if x + piece.width > room {
            (x, y) = (0, laid.end);
        }
        laid.spots.push(PlacedPrint { x, y, piece });
        laid.end = laid.end.max(y + piece.height);
        x += piece.width;
    }
    laid
}

impl Skyline {
    fn score(&self, at: usize, level: Level, piece: GappedPrint, number: usize, prefer: Prefer) -> (i64, i64, i64) {
        let (width, height) = (piece.width, piece.height);
        let just = || {
            let fills = i64::from(width == level.width);
            let top = level.height + height;
            fills * 2 + i64::from(top == self.side(at, -1) || top == self.side(at, 1))
        };
        match prefer {
            Prefer::Wide => (width, height, 0),
            Prefer::High => (height, width, 0),
            Prefer::Large => (width.saturating_mul(height / 1_000), width, 0),
            Prefer::Just => (just(), width, height),
            Prefer::Chance(seed, share) => {
                let weight = 700 + chance(seed, number) % 600;
                let size = (width / 1_000) * share + (height / 1_000) * (1_000 - share);
                (just(), (size / 1_000).saturating_mul(weight), width)
            }
        }
    }

    /// How high the stretch beside this one is; the edge of the paper is higher than all.
    fn side(&self, at: usize, step: isize) -> i64 {
        at.checked_add_signed(step).and_then(|at| self.0.get(at)).map_or(i64::MAX, |level| level.height)
    }

    /// Fills a stretch nothing fits up to its lower neighbour.
    fn raise(&mut self, at: usize) {
        let height = self.side(at, -1).min(self.side(at, 1));
        if let Some(level) = self.0.get_mut(at) {
            level.height = height;
        }
        self.merge();
    }

    fn put(&mut self, at: usize, from: i64, piece: GappedPrint) {
        let Some(level) = self.0.get(at).copied() else { return };
        let end = from + piece.width;
        let parts = [
            Level { from: level.from, width: from - level.from, height: level.height },
            Level { from, width: piece.width, height: level.height + piece.height },
            Level { from: end, width: level.from + level.width - end, height: level.height },
        ];
        self.0.splice(at..=at, parts.into_iter().filter(|part| part.width > 0));
        self.merge();
    }

    /// Joins stretches of one height that touch.
    fn merge(&mut self) {
        self.0.dedup_by(|next, level| {
            let same = next.height == level.height;
            if same {
                level.width += next.width;
            }
            same
        });
    }
}

/// A number from 0 to 9999 that looks like chance and is the same every time.
fn chance(seed: u64, number: usize) -> i64 {
    let mut mixed = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (number as u64).wrapping_mul(0xD1B5_4A32_D192_ED03);
    mixed ^= mixed >> 31;
    mixed = mixed.wrapping_mul(0x7FB5_D329_728E_A185);
    i64::try_from((mixed >> 27) % 10_000).unwrap_or(0)
}
