//! Equal blanks cut from stock boards: how many come out of one, and how many boards to order.

use super::{above_zero, pair, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// Most blanks of one order.
const MOST: u32 = 10_000;

/// An order of equal blanks.
#[derive(Clone, Debug, PartialEq)]
pub struct Boards {
    size: (Length, Length),
    stock: (Length, Length),
    count: u32,
    on_one: u32,
}

impl Boards {
    /// `count` blanks of `size` out of boards of `stock`, the saw taking `kerf` between two.
    ///
    /// A board is cut once across or along, and each part filled with blanks all one way; every such cut is tried. What is
    /// said to come out of a board does come out; now and then a cleverer cut gets one more.
    ///
    /// # Errors
    /// When a length is zero or less, there are no blanks or over 10 000, or a blank does not come out of a board.
    pub fn new(size: (Length, Length), stock: (Length, Length), count: u32, kerf: Length) -> Result<Self, Message> {
        for (what, side) in [
            ("width of the blank", size.0),
            ("height of the blank", size.1),
            ("width of the board", stock.0),
            ("height of the board", stock.1),
        ] {
            above_zero(what, side)?;
        }
        zero_or_more("kerf", kerf)?;
        if !(1..=MOST).contains(&count) {
            return Err(Message::new(format!("an order of {count} blanks"), format!("give 1 to {MOST} blanks")));
        }
        if (stock.0.max(stock.1) / size.0.min(size.1)) > 1e4 {
            return Err(Message::new(
                format!("a blank {} by {} is far smaller than the board", said(size.0), said(size.1)),
                "check its digits and its unit",
            ));
        }
        let on_one = [(stock.0, stock.1), (stock.1, stock.0)]
            .into_iter()
            .flat_map(|board| [(board, size), (board, (size.1, size.0))])
            .map(|(board, blank)| most(board, blank, kerf))
            .max()
            .unwrap_or(0);
        if on_one == 0 {
            return Err(Message::new(
                format!("a blank {} by {} does not come out of the board", said(size.0), said(size.1)),
                "order a larger board; a mounter does not join one",
            ));
        }
        Ok(Self { size, stock, count, on_one })
    }

    /// Boards to order.
    pub fn boards(&self) -> u32 {
        self.count.div_ceil(self.on_one)
    }

    fn waste(&self) -> f64 {
        let (blank, board) = (self.size.0 * self.size.1, self.stock.0 * self.stock.1);
        1.0 - (blank * f64::from(self.count)) / (board * f64::from(self.boards()))
    }
}

/// Rows of blanks one way, and the rest of the board filled the other way, over every number of rows.
fn most(board: (Length, Length), blank: (Length, Length), kerf: Length) -> u32 {
    let rows = fit(board.1, blank.1, kerf);
    let across = fit(board.0, blank.0, kerf);
    (0..=rows.min(10_000))
        .map(|count| {
            let rest = board.1 - (blank.1 + kerf) * f64::from(count);
            let turned = fit(board.0, blank.1, kerf) * fit(rest, blank.0, kerf);
            across * count + turned
        })
        .max()
        .unwrap_or(0)
}

/// How many of a length come out of another.
fn fit(room: Length, piece: Length, kerf: Length) -> u32 {
    piece.count_in(room, kerf, MOST)
}

thing!(Boards, "an order of boards", |order| vec![
    order.boards().into(), " boards ".into(), pair(order.stock.0, order.stock.1), ", ".into(), order.on_one.into(), " from each".into(),
], {
    on_one "How many blanks come out of one board." => Found::stated(order.on_one),
    boards "How many boards to order." => Found::by(order.boards(), "{} ÷ {}, rounded up", [order.count.into(), order.on_one.into()]),
    waste "The share of the boards that falls away, 0 to 1." => Found::by(order.waste(), "1 − {} × {} ÷ ({} × {})", [
        order.count.into(), (order.size.0 * order.size.1).into(), order.boards().into(), (order.stock.0 * order.stock.1).into(),
    ]),
});
