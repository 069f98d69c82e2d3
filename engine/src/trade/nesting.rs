//! Prints of several sizes on one length of roll, nested so that little paper falls away.

use super::roll::Roll;
use super::{above_nought, nanometres, pair, said};
use crate::measure::{Area, Length};
use crate::{Found, Trouble, Value};

/// Most prints on one length.
const MOST: usize = 200;

/// Where one print lies: from the left margin, from the first end margin, and its size as it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// From the left margin of the paper to the print.
    pub across: Length,
    /// From the first end margin to the print.
    pub along: Length,
    /// Width as it lies, across the roll.
    pub width: Length,
    /// Height as it lies, along the roll.
    pub height: Length,
}

/// Prints laid on a roll.
#[derive(Clone, Debug, PartialEq)]
pub struct Nest {
    roll: Roll,
    placed: Vec<Placed>,
}

impl Nest {
    /// Lays prints on a roll: always at the lowest free place, the print that fills it best, tried in several orders, the
    /// shortest kept. Good, not proved the shortest.
    ///
    /// # Errors
    /// When there are no prints or too many, a side is nought or less, or a print fits in no way it may lie.
    pub fn new(prints: &[(Length, Length)], roll: &Roll, may_turn: bool) -> Result<Self, Trouble> {
        if prints.is_empty() || prints.len() > MOST {
            return Err(Trouble::new(
                format!("{} prints to lay on a roll", prints.len()),
                format!("list 1 to {MOST} prints"),
            ));
        }
        let gap = nanometres(roll.gap())?;
        let room = nanometres(roll.printable())? + gap;
        let mut pieces = Vec::with_capacity(prints.len());
        for (width, height) in prints.iter().copied() {
            above_nought("width of a print", width)?;
            above_nought("height of a print", height)?;
            let narrowest = if may_turn { width.min(height) } else { width };
            let piece =
                Piece { width: nanometres(width)? + gap, height: nanometres(height)? + gap, size: (width, height) };
            if nanometres(narrowest)? + gap > room {
                return Err(Trouble::new(
                    format!(
                        "a print {} wide does not fit the {} between the margins of the roll",
                        said(narrowest),
                        said(roll.printable())
                    ),
                    "take a wider roll, smaller margins or a smaller print",
                ));
            }
            pieces.push(piece);
        }
        let mut best: Option<(i64, Vec<Placed>)> = None;
        for prefer in [Prefer::Wide, Prefer::High, Prefer::Large] {
            for beside_tall in [false, true] {
                let laid = Skyline::lay(pieces.clone(), room, may_turn, prefer, beside_tall);
                if best.as_ref().is_none_or(|best| laid.0 < best.0) {
                    best = Some(laid);
                }
            }
        }
        Ok(Self { roll: roll.clone(), placed: best.map(|best| best.1).unwrap_or_default() })
    }

    /// Where each print lies, in the order they were laid.
    pub fn placed(&self) -> &[Placed] {
        &self.placed
    }

    /// Length of paper taken, both end margins in it.
    pub fn length(&self) -> Length {
        let last = self.placed.iter().map(|one| one.along + one.height).fold(Length::ZERO, Length::max);
        last + self.roll.end() * 2.0
    }

    /// Area of the paper taken.
    pub fn area(&self) -> Area {
        self.roll.width() * self.length()
    }

    /// The share of the paper taken that is print, 0 to 1.
    pub fn used(&self) -> f64 {
        self.prints() / self.area()
    }

    fn prints(&self) -> Area {
        self.placed.iter().map(|one| one.width * one.height).sum()
    }
}

thing!(Nest, "a nested roll", |nest| vec![
    i64::try_from(nest.placed.len()).unwrap_or(i64::MAX).into(), " prints on a roll ".into(), nest.roll.width().into(),
    " wide, ".into(), nest.length().into(), " long".into(),
], {
    length "Length of paper taken, both end margins in it." => Found::stated(nest.length()),
    area "Area of the paper taken." => Found::by(nest.area(), "{} × {}", [nest.roll.width().into(), nest.length().into()]),
    used "The share of the paper taken that is print, 0 to 1." =>
        Found::by(nest.used(), "{} ÷ {}", [nest.prints().into(), nest.area().into()]),
    waste "The share of the paper taken that falls away, 0 to 1." => Found::by(1.0 - nest.used(), "1 − {}", [nest.used().into()]),
    places "From the left margin and from the first end margin to each print, in the order they are laid." => Found::stated(
        Value::List(nest.placed.iter().map(|one| pair(one.across, one.along)).collect()),
    ),
    sizes "Width and height of each print as it lies, in the same order." => Found::stated(
        Value::List(nest.placed.iter().map(|one| pair(one.width, one.height)).collect()),
    ),
});

/// A print and the gap after it, in nanometres.
#[derive(Clone, Copy, Debug)]
struct Piece {
    width: i64,
    height: i64,
    size: (Length, Length),
}

impl Piece {
    fn turned(self) -> Self {
        Self { width: self.height, height: self.width, size: (self.size.1, self.size.0) }
    }
}

/// Which of the prints that fit a place goes there.
#[derive(Clone, Copy, Debug)]
enum Prefer {
    Wide,
    High,
    Large,
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

impl Skyline {
    fn lay(mut left: Vec<Piece>, room: i64, may_turn: bool, prefer: Prefer, beside_tall: bool) -> (i64, Vec<Placed>) {
        let mut sky = Self(vec![Level { from: 0, width: room, height: 0 }]);
        let mut placed = Vec::with_capacity(left.len());
        let mut end = 0;
        while !left.is_empty() {
            let Some((at, level)) =
                sky.0.iter().copied().enumerate().min_by_key(|(_, level)| (level.height, level.from))
            else {
                break;
            };
            let fits = left.iter().enumerate().flat_map(|(place, piece)| {
                let turned = may_turn.then(|| piece.turned());
                std::iter::once(*piece).chain(turned).map(move |piece| (place, piece))
            });
            let best = fits.filter(|(_, piece)| piece.width <= level.width).max_by_key(|(_, piece)| match prefer {
                Prefer::Wide => (piece.width, piece.height),
                Prefer::High => (piece.height, piece.width),
                Prefer::Large => (piece.width.saturating_mul(piece.height / 1_000), piece.width),
            });
            let Some((place, piece)) = best else {
                sky.raise(at);
                continue;
            };
            left.remove(place);
            let right = beside_tall && sky.side(at, 1) > sky.side(at, -1);
            let from = if right { level.from + level.width - piece.width } else { level.from };
            placed.push(Placed {
                across: micro(from),
                along: micro(level.height),
                width: piece.size.0,
                height: piece.size.1,
            });
            end = end.max(level.height + piece.height);
            sky.put(at, from, piece);
        }
        (end, placed)
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

    fn put(&mut self, at: usize, from: i64, piece: Piece) {
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

#[expect(clippy::cast_precision_loss, reason = "nanometres of a roll are far below 2^53")]
fn micro(nanometres: i64) -> Length {
    Length::um(nanometres as f64 / 1e3)
}
