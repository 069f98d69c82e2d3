//! Prints of several sizes on one length of roll, nested so that little paper falls away.

mod search;
mod skyline;

use self::skyline::Prefer;
use super::roll::Roll;
use super::{above_zero, nanometres, pair, said};
use crate::measure::{Area, Length};
use crate::{Found, Message, Value};

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
    least: Length,
    proved: bool,
}

impl Nest {
    /// Lays prints on a roll: in rows, and always at the lowest free place the print that fills it best, tried in many
    /// orders; up to six prints in every way there is. The shortest is kept.
    ///
    /// It is never longer than twice the area over the width and the highest print besides, as the rows are not, and
    /// [`Nest::proved`] says when none can be shorter.
    ///
    /// # Errors
    /// When there are no prints or too many, a side is zero or less, or a print fits in no way it may lie.
    pub fn new(prints: &[(Length, Length)], roll: &Roll, may_turn: bool) -> Result<Self, Message> {
        if prints.is_empty() || prints.len() > MOST {
            return Err(Message::new(
                format!("{} prints to lay on a roll", prints.len()),
                format!("list 1 to {MOST} prints"),
            ));
        }
        let gap = nanometres(roll.gap())?;
        let room = nanometres(roll.printable())? + gap;
        let mut pieces = Vec::with_capacity(prints.len());
        for (width, height) in prints.iter().copied() {
            above_zero("width of a print", width)?;
            above_zero("height of a print", height)?;
            let narrowest = if may_turn { width.min(height) } else { width };
            let piece = GappedPrint {
                width: nanometres(width)? + gap,
                height: nanometres(height)? + gap,
                size: (width, height),
            };
            if nanometres(narrowest)? + gap > room {
                return Err(Message::new(
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
        let (laid, least, proved) = best(&pieces, room, may_turn);
        let placed = laid.spots.iter().map(PlacedPrint::placed).collect();
        Ok(Self { roll: roll.clone(), placed, least: micro(least - gap), proved })
    }

    /// The roll they lie on.
    pub fn roll(&self) -> &Roll {
        &self.roll
    }

    /// Where each print lies, in the order they were laid.
    pub fn placed(&self) -> &[Placed] {
        &self.placed
    }

    /// No layout of these prints takes less than this, both end margins in it.
    pub fn least(&self) -> Length {
        self.least + self.roll.end() * 2.0
    }

    /// Whether it is proved that no layout is shorter: it reaches the least, or all were looked through.
    pub fn proved(&self) -> bool {
        self.proved
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
    least "No layout of these prints is shorter: by their area, their height, and those too wide to lie side by side." =>
        Found::stated(nest.least()),
    proved "Whether it is proved that no layout is shorter than this one." => Found::stated(nest.proved()),
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
struct GappedPrint {
    width: i64,
    height: i64,
    size: (Length, Length),
}

impl GappedPrint {
    fn turned(self) -> Self {
        Self { width: self.height, height: self.width, size: (self.size.1, self.size.0) }
    }
}

/// Where a print lies, in nanometres from the left margin and from the end margin.
#[derive(Clone, Copy, Debug)]
struct PlacedPrint {
    x: i64,
    y: i64,
    piece: GappedPrint,
}

impl PlacedPrint {
    fn placed(&self) -> Placed {
        let (width, height) = self.piece.size;
        Placed { across: micro(self.x), along: micro(self.y), width, height }
    }
}

/// Prints laid, and where the last of them ends, the gap after it in it.
#[derive(Clone, Debug)]
struct Laid {
    end: i64,
    spots: Vec<PlacedPrint>,
}

/// No layout ends before this: the area over the width, the highest print that cannot lie lower, and the prints too wide
/// to lie side by side one after another.
fn least(pieces: &[GappedPrint], room: i64, may_turn: bool) -> i64 {
    let area: i128 = pieces.iter().map(|one| i128::from(one.width) * i128::from(one.height)).sum();
    let area = i64::try_from(area / i128::from(room.max(1))).unwrap_or(i64::MAX);
    let lowest = |one: &GappedPrint| {
        if may_turn && one.height <= room { one.width.min(one.height) } else { one.height }
    };
    let widest = |one: &GappedPrint| if may_turn && one.height <= room { one.width.min(one.height) } else { one.width };
    let alone: i64 = pieces.iter().filter(|one| widest(one) > room / 2).map(lowest).sum();
    pieces.iter().map(lowest).max().unwrap_or(0).max(alone).max(area)
}

/// The shortest of many layouts, and whether none can be shorter.
fn best(pieces: &[GappedPrint], room: i64, may_turn: bool) -> (Laid, i64, bool) {
    let least = least(pieces, room, may_turn);
    let mut best = skyline::rows(pieces, room, may_turn);
    let mut keep = |laid: Laid| {
        if laid.end < best.end {
            best = laid;
        }
        best.end
    };
    for prefer in [Prefer::Wide, Prefer::High, Prefer::Large, Prefer::Just] {
        for beside_tall in [false, true] {
            keep(skyline::lay(pieces, room, may_turn, prefer, beside_tall));
        }
    }
    let count = u64::try_from(pieces.len()).unwrap_or(u64::MAX).max(1);
    for seed in 0..(WORK / (count * count)).clamp(1, 400) {
        let share = i64::try_from(seed % 11).unwrap_or(0) * 100;
        if keep(skyline::lay(pieces, room, may_turn, Prefer::Chance(seed, share), seed % 2 == 1)) <= least {
            break;
        }
    }
    let (shorter, all) = search::shortest(pieces, room, may_turn, best.end, least);
    let best = shorter.unwrap_or(best);
    let proved = all || best.end <= least;
    (best, least, proved)
}

/// How much is tried, in prints looked at.
const WORK: u64 = 60_000;

#[expect(clippy::cast_precision_loss, reason = "nanometres of a roll are far below 2^53")]
fn micro(nanometres: i64) -> Length {
    Length::um(nanometres as f64 / 1e3)
}
