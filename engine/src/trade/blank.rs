//! A blank cut from a sheet of board or mat: whether it comes out of it, which way, and what is left.

use super::{above_zero, pair, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// One piece cut from one sheet, from a corner of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Blank {
    size: (Length, Length),
    stock: (Length, Length),
    trim: Length,
}

impl Blank {
    /// A piece of `size` from a sheet of `stock`, with `trim` cut off two edges of the sheet first; the sheet is turned when
    /// the piece comes out of it only that way.
    ///
    /// # Errors
    /// When a side is zero or less, or the piece does not come out of the sheet.
    pub fn new(size: (Length, Length), stock: (Length, Length), trim: Length) -> Result<Self, Message> {
        above_zero("width of the piece", size.0)?;
        above_zero("height of the piece", size.1)?;
        above_zero("width of the sheet", stock.0)?;
        above_zero("height of the sheet", stock.1)?;
        zero_or_more("trim", trim)?;
        let lies = |stock: (Length, Length)| size.0.fits(stock.0 - trim) && size.1.fits(stock.1 - trim);
        let turned = (stock.1, stock.0);
        let stock = if lies(stock) { stock } else { turned };
        if lies(stock) {
            return Ok(Self { size, stock, trim });
        }
        Err(Message::new(
            format!(
                "{} by {} does not come out of a sheet of {} by {}",
                said(size.0),
                said(size.1),
                said(turned.1),
                said(turned.0)
            ),
            "take a larger sheet, or join the piece where the shop does that",
        ))
    }

    /// The piece.
    pub fn size(&self) -> (Length, Length) {
        self.size
    }

    /// The sheet, the way it lies.
    pub fn stock(&self) -> (Length, Length) {
        self.stock
    }

    /// What is cut off two edges first.
    pub fn trim(&self) -> Length {
        self.trim
    }

    /// What is left beside and below the piece.
    pub fn left(&self) -> (Length, Length) {
        let left = |stock: Length, size: Length| (stock - self.trim - size).max(Length::ZERO);
        (left(self.stock.0, self.size.0), left(self.stock.1, self.size.1))
    }

    /// The share of the sheet that is the piece, 0 to 1.
    pub fn used(&self) -> f64 {
        (self.size.0 * self.size.1) / (self.stock.0 * self.stock.1)
    }
}

thing!(Blank, "a piece cut from a sheet", |blank| vec![
    pair(blank.size.0, blank.size.1), " from a sheet of ".into(), pair(blank.stock.0, blank.stock.1),
], {
    stock "The sheet, the way it lies under the piece." => Found::stated(pair(blank.stock.0, blank.stock.1)),
    offcuts "What is left beside and below the piece." => Found::by(
        pair(blank.left().0, blank.left().1), "{} − {} − {}",
        [pair(blank.stock.0, blank.stock.1), blank.trim.into(), pair(blank.size.0, blank.size.1)],
    ),
    used "The share of the sheet that is the piece, 0 to 1." => Found::stated(blank.used()),
});
