//! A mural: an image hung in panels side by side, each overlapping the next.

use super::{above_zero, pair, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message, Value};

/// Most panels of one mural.
const MOST: f64 = 200.0;

/// An image in panels of one width.
#[derive(Clone, Debug, PartialEq)]
pub struct Mural {
    size: (Length, Length),
    overlap: Length,
    count: u32,
}

impl Mural {
    /// An image of `size` in the fewest panels no wider than `widest`, each overlapping the next by `overlap`:
    /// ⌈(W − overlap) ÷ (widest − overlap)⌉ panels, all made equally wide.
    ///
    /// # Errors
    /// When a side is zero or less, the overlap below zero or no less than a panel, or there would be over 200 panels.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in 1..=200")]
    pub fn new(size: (Length, Length), widest: Length, overlap: Length) -> Result<Self, Message> {
        above_zero("width of the mural", size.0)?;
        above_zero("height of the mural", size.1)?;
        above_zero("width of a panel", widest)?;
        zero_or_more("overlap", overlap)?;
        if overlap >= widest {
            return Err(Message::new(
                format!("an overlap of {} is no less than a panel of {}", said(overlap), said(widest)),
                "give a smaller overlap or a wider panel",
            ));
        }
        let count = ((size.0 - overlap - Length::SLACK) / (widest - overlap)).ceil().max(1.0);
        if count > MOST {
            return Err(Message::new(
                format!("a mural {} wide would take more than 200 panels", said(size.0)),
                "give a wider panel",
            ));
        }
        Ok(Self { size, overlap, count: count as u32 })
    }

    /// Width and height of the whole image.
    pub fn size(&self) -> (Length, Length) {
        self.size
    }

    /// What each panel has in common with the next.
    pub fn overlap(&self) -> Length {
        self.overlap
    }

    /// How many panels.
    pub fn count(&self) -> u32 {
        self.count
    }

    /// Width of each panel: (W + (n − 1) × overlap) ÷ n.
    pub fn panel(&self) -> Length {
        (self.size.0 + self.overlap * f64::from(self.count - 1)) / f64::from(self.count)
    }

    /// From the left edge of the image to the left edge of each panel.
    pub fn starts(&self) -> Vec<Length> {
        (0..self.count).map(|at| (self.panel() - self.overlap) * f64::from(at)).collect()
    }
}

thing!(Mural, "a mural in panels", |mural| vec![
    pair(mural.size.0, mural.size.1), " in ".into(), mural.count.into(), " panels of ".into(), mural.panel().into(),
], {
    count "How many panels." => Found::stated(mural.count),
    panel "Width and height of each panel." => Found::by(
        pair(mural.panel(), mural.size.1), "({} + {} × {}) ÷ {}, by {}",
        [mural.size.0.into(), (mural.count - 1).into(), mural.overlap.into(), mural.count.into(), mural.size.1.into()],
    ),
    overlap "What each panel has in common with the next." => Found::stated(mural.overlap),
    starts "From the left edge of the image to the left edge of each panel." =>
        Found::stated(Value::List(mural.starts().into_iter().map(Value::from).collect())),
    size "Width and height of the whole image." => Found::stated(pair(mural.size.0, mural.size.1)),
});
