//! Paper from a roll: how many prints lie side by side, what length they take, and what falls away.

use super::{above_zero, pair, said, zero_or_more};
use crate::measure::{Area, Length};
use crate::{Found, Message};

/// Margins at the sides, gaps between prints and margins at the ends, unless the plan says otherwise.
/// Source: common practice, no source.
pub const MARGIN: Length = Length::inch(0.5);

/// A roll of paper and the room a printer keeps free on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Roll {
    width: Length,
    side: Length,
    gap: Length,
    end: Length,
}

impl Roll {
    /// A roll of `width` with a margin at each side, a gap between prints and a margin at each end.
    ///
    /// # Errors
    /// When the width is zero or less, an allowance below zero, or the margins leave nothing.
    pub fn new(width: Length, side: Length, gap: Length, end: Length) -> Result<Self, Message> {
        above_zero("width of the roll", width)?;
        zero_or_more("side margin", side)?;
        zero_or_more("gap", gap)?;
        zero_or_more("end margin", end)?;
        let roll = Self { width, side, gap, end };
        if roll.printable().is_positive() {
            return Ok(roll);
        }
        Err(Message::new(
            format!("side margins of {} leave nothing of a roll {} wide", said(side), said(width)),
            "give smaller margins or a wider roll",
        ))
    }

    /// Width of the paper.
    pub fn width(&self) -> Length {
        self.width
    }

    /// What stays free along each edge.
    pub fn side(&self) -> Length {
        self.side
    }

    /// What stays free between two prints.
    pub fn gap(&self) -> Length {
        self.gap
    }

    /// What stays free at each end of the length.
    pub fn end(&self) -> Length {
        self.end
    }

    /// The width left between the side margins.
    pub fn printable(&self) -> Length {
        self.width - self.side * 2.0
    }
}

thing!(Roll, "a roll", |roll| vec!["roll ".into(), roll.width.into(), " wide".into()], {
    width "Width of the paper." => Found::stated(roll.width),
    printable "Width between the side margins." =>
        Found::by(roll.printable(), "{} − 2 × {}", [roll.width.into(), roll.side.into()]),
    side_margin "What stays free along each edge." => Found::stated(roll.side),
    gap "What stays free between two prints." => Found::stated(roll.gap),
    end_margin "What stays free at each end of the length." => Found::stated(roll.end),
});

/// So many prints of one size laid on a roll in rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    roll: Roll,
    across: Length,
    along: Length,
    count: u32,
    turned: bool,
    in_row: u32,
    rows: u32,
}

impl Layout {
    /// `count` prints laid with their width across the roll; with `may_turn`, whichever way takes less paper.
    ///
    /// A row holds ⌊(printable width + gap) ÷ (print width + gap)⌋ prints.
    ///
    /// # Errors
    /// When a side is zero or less, there is nothing to lay, or no allowed way fits.
    pub fn new(width: Length, height: Length, roll: &Roll, count: u32, may_turn: bool) -> Result<Self, Message> {
        above_zero("width of the print", width)?;
        above_zero("height of the print", height)?;
        if count == 0 {
            return Err(Message::new("there are 0 prints to lay on the roll", "give at least 1"));
        }
        let straight = Self::lay(roll, width, height, count, false);
        let turned = may_turn.then(|| Self::lay(roll, height, width, count, true)).flatten();
        let best = match (straight, turned) {
            (Some(straight), Some(turned)) if turned.length() < straight.length() => Some(turned),
            (Some(straight), _) => Some(straight),
            (None, turned) => turned,
        };
        best.ok_or_else(|| {
            let turn = !may_turn && height.fits(roll.printable());
            Message::new(
                format!(
                    "a print {} wide does not fit the {} between the margins of the roll",
                    said(width),
                    said(roll.printable())
                ),
                if turn {
                    "let it be turned: `on_roll(size, roll, 1, true)`, or take a wider roll"
                } else {
                    "take a wider roll, smaller margins or a smaller print"
                },
            )
        })
    }

    fn lay(roll: &Roll, across: Length, along: Length, count: u32, turned: bool) -> Option<Self> {
        let in_row = across.count_in(roll.printable(), roll.gap, count);
        (in_row > 0).then(|| Self {
            roll: roll.clone(),
            across,
            along,
            count,
            turned,
            in_row,
            rows: count.div_ceil(in_row),
        })
    }

    /// The roll they lie on.
    pub fn roll(&self) -> &Roll {
        &self.roll
    }

    /// Size of one print as it lies, across the roll first.
    pub fn print(&self) -> (Length, Length) {
        (self.across, self.along)
    }

    /// How many prints.
    pub fn count(&self) -> u32 {
        self.count
    }

    /// Prints side by side.
    pub fn in_row(&self) -> u32 {
        self.in_row
    }

    /// Rows along the roll.
    pub fn rows(&self) -> u32 {
        self.rows
    }

    /// Length of paper taken: rows, gaps between them and both ends.
    pub fn length(&self) -> Length {
        let rows = f64::from(self.rows);
        self.along * rows + self.roll.gap * (rows - 1.0) + self.roll.end * 2.0
    }

    /// Area of the paper taken.
    pub fn area(&self) -> Area {
        self.roll.width * self.length()
    }

    /// The share of the paper taken that is print, 0 to 1.
    pub fn used(&self) -> f64 {
        (self.across * self.along * f64::from(self.count)) / self.area()
    }
}

thing!(Layout, "a roll layout", |layout| vec![
    layout.count.into(), " on a roll ".into(), layout.roll.width.into(), " wide, ".into(), layout.length().into(), " long".into(),
], {
    across "Prints side by side." => Found::by(layout.in_row, "whole part of ({} + {}) ÷ ({} + {})", [
        layout.roll.printable().into(), layout.roll.gap.into(), layout.across.into(), layout.roll.gap.into(),
    ]),
    rows "Rows along the roll." => Found::by(layout.rows, "{} ÷ {}, rounded up", [layout.count.into(), layout.in_row.into()]),
    length "Length of paper taken: rows, gaps and both ends." => Found::by(layout.length(), "{} × {} + {} × {} + 2 × {}", [
        layout.rows.into(), layout.along.into(), (layout.rows - 1).into(), layout.roll.gap.into(), layout.roll.end.into(),
    ]),
    area "Area of the paper taken." =>
        Found::by(layout.area(), "{} × {}", [layout.roll.width.into(), layout.length().into()]),
    used "The share of the paper taken that is print, 0 to 1." => Found::by(layout.used(), "{} × {} ÷ {}", [
        layout.count.into(), (layout.across * layout.along).into(), layout.area().into(),
    ]),
    waste "The share of the paper taken that falls away, 0 to 1." => Found::by(1.0 - layout.used(), "1 − {}", [layout.used().into()]),
    turned "Whether the prints are turned by a quarter." => Found::stated(layout.turned),
    print "Size of one print as it lies, across the roll first." => Found::stated(pair(layout.across, layout.along)),
});

/// Widths paper is sold in on rolls, in inches.
///
/// Source: common practice, no source; each maker has its own.
const WIDTHS: &[(&str, &[f64])] =
    &[("chromogenic", &[20.0, 24.0, 30.0, 40.0, 50.0, 72.0]), ("pigment", &[17.0, 24.0, 36.0, 44.0, 60.0, 64.0])];

/// The usual widths of rolls for a process, `chromogenic` or `pigment`.
///
/// # Errors
/// When there is no such process.
pub fn widths(process: &str) -> Result<Vec<Length>, Message> {
    let found = WIDTHS.iter().find(|(name, _)| name.eq_ignore_ascii_case(process.trim()));
    let (_, all) = found
        .ok_or_else(|| Message::new(format!("no rolls are listed for `{process}`"), "use chromogenic or pigment"))?;
    Ok(all.iter().map(|width| Length::inch(*width)).collect())
}

/// The narrowest usual roll that takes a print of that width between its side margins.
///
/// # Errors
/// When the width is zero or less, the margin below zero, or no usual roll is wide enough.
pub fn narrowest(width: Length, process: &str, margin: Length) -> Result<Found, Message> {
    above_zero("width of the print", width)?;
    zero_or_more("margin", margin)?;
    let needed = width + margin * 2.0;
    let all = widths(process)?;
    let widest = all.iter().copied().fold(Length::ZERO, Length::max);
    let found = all.into_iter().find(|roll| needed.fits(*roll));
    let found = found.ok_or_else(|| {
        Message::new(
            format!("no usual roll is {} wide; the widest is {}", said(needed), said(widest)),
            "print it in panels, or ask the lab for a wider roll",
        )
    })?;
    Ok(Found::by(found, "narrowest roll of {} + 2 × {} or more", [width.into(), margin.into()]))
}
