//! A piece on its wall: how high its middle, its edges and its hooks are above the floor.

use super::{above_zero, caution, pair, said};
use crate::measure::Length;
use crate::{Found, Message};

/// Height of the centre of a hung piece above the floor: 57 to 60 in. Source: common practice, no source.
pub const CENTRE: Length = Length::inch(59.0);

/// A piece hung so that its middle is at a height, with or without its hooks.
#[derive(Clone, Debug, PartialEq)]
pub struct Elevation {
    outside: (Length, Length),
    centre: Length,
    hooks: Option<(Length, Length)>,
}

impl Elevation {
    /// A piece of this outside size with its middle `centre` above the floor; `hooks` are their height and how far apart
    /// they are, zero for a single one.
    ///
    /// # Errors
    /// When a size or height is zero or less, the piece would stand below the floor, or a hook is not behind it.
    pub fn new(outside: (Length, Length), centre: Length, hooks: Option<(Length, Length)>) -> Result<Self, Message> {
        above_zero("outside width", outside.0)?;
        above_zero("outside height", outside.1)?;
        above_zero("height of the centre", centre)?;
        let piece = Self { outside, centre, hooks };
        if !(outside.1 / 2.0).fits(centre) {
            return Err(Message::new(
                format!(
                    "a piece {} high with its middle at {} would stand below the floor",
                    said(outside.1),
                    said(centre)
                ),
                format!("put its middle at {} or higher", said(outside.1 / 2.0)),
            ));
        }
        if let Some((height, apart)) = hooks {
            above_zero("height of the hooks", height)?;
            let behind = height.fits(piece.top()) && piece.bottom().fits(height);
            if !behind || !apart.fits(outside.0) || apart < Length::ZERO {
                return Err(Message::new(
                    format!("hooks at {}, {} apart, are not behind the piece", said(height), said(apart)),
                    format!("put them between {} and {} from the floor", said(piece.bottom()), said(piece.top())),
                ));
            }
        }
        Ok(piece)
    }

    /// Outside width and height of the piece.
    pub fn outside(&self) -> (Length, Length) {
        self.outside
    }

    /// Floor to the middle of the piece.
    pub fn centre(&self) -> Length {
        self.centre
    }

    /// Floor to its upper edge.
    pub fn top(&self) -> Length {
        self.centre + self.outside.1 / 2.0
    }

    /// Floor to its lower edge.
    pub fn bottom(&self) -> Length {
        self.centre - self.outside.1 / 2.0
    }

    /// Height of the hooks and how far apart they are.
    pub fn hooks(&self) -> Option<(Length, Length)> {
        self.hooks
    }
}

thing!(Elevation, "a piece on its wall", |piece| vec![
    pair(piece.outside.0, piece.outside.1), " on the wall, its middle ".into(), piece.centre.into(), " above the floor".into(),
], {
    centre "Floor to the middle of the piece." => Found::stated(piece.centre),
    top "Floor to its upper edge." => Found::by(piece.top(), "{} + {} ÷ 2", [piece.centre.into(), piece.outside.1.into()]),
    bottom "Floor to its lower edge." => Found::by(piece.bottom(), "{} − {} ÷ 2", [piece.centre.into(), piece.outside.1.into()]),
    hooks "Floor to the hooks." => piece.hooks.map(|(height, _)| Found::stated(height).beware(caution::HANGING)),
    apart "From one hook to the other, centre to centre." => piece.hooks.map(|(_, apart)| Found::stated(apart)),
});
