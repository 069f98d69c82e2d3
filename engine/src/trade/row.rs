//! Pieces hung in a row: a diptych, a triptych, a wall of equal frames.

use super::{above_zero, each, pair, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// Pieces of one size side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    piece: (Length, Length),
    count: u32,
    gap: Length,
}

impl Row {
    /// So many pieces of one outside size with a gap between each and the next.
    ///
    /// # Errors
    /// When a side is zero or less, the gap below zero, or there are none or over 100.
    pub fn new(piece: (Length, Length), count: u32, gap: Length) -> Result<Self, Message> {
        above_zero("width of a piece", piece.0)?;
        above_zero("height of a piece", piece.1)?;
        zero_or_more("gap", gap)?;
        if !(1..=100).contains(&count) {
            return Err(Message::new(format!("{count} pieces do not make a row"), "give 1 to 100 pieces"));
        }
        Ok(Self { piece, count, gap })
    }

    /// Outside width and height of each piece.
    pub fn piece(&self) -> (Length, Length) {
        self.piece
    }

    /// How many pieces.
    pub fn count(&self) -> u32 {
        self.count
    }

    /// From the left edge of the first to the right edge of the last.
    pub fn width(&self) -> Length {
        self.piece.0 * f64::from(self.count) + self.gap * f64::from(self.count - 1)
    }

    /// From the left edge of the row to the left edge of each.
    pub fn lefts(&self) -> Vec<Length> {
        (0..self.count).map(|at| (self.piece.0 + self.gap) * f64::from(at)).collect()
    }

    /// From the left edge of the row to the middle of each.
    pub fn centres(&self) -> Vec<Length> {
        self.lefts().into_iter().map(|left| left + self.piece.0 / 2.0).collect()
    }
}

thing!(Row, "a row of pieces", |row| vec![
    row.count.into(), " in a row, ".into(), pair(row.width(), row.piece.1),
], {
    width "From the left edge of the first piece to the right edge of the last." => Found::by(row.width(), "{} × {} + {} × {}", [
        row.count.into(), row.piece.0.into(), (row.count - 1).into(), row.gap.into(),
    ]),
    size "Width and height of the whole row." => Found::stated(pair(row.width(), row.piece.1)),
    lefts "From the left edge of the row to the left edge of each piece." => Found::stated(each(row.lefts())),
    centres "From the left edge of the row to the middle of each piece." => Found::stated(each(row.centres())),
    apart "From the middle of one piece to the middle of the next." =>
        Found::by(row.piece.0 + row.gap, "{} + {}", [row.piece.0.into(), row.gap.into()]),
    count "How many pieces." => Found::stated(row.count),
});
