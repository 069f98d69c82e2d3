//! Crates a piece travels in.

use super::mount::Sheet;
use super::{above_zero, caution, zero_or_more};
use crate::measure::{Length, Mass, Volume};
use crate::{Found, Message, Value};

/// Thickness of a crate's plywood. Source: common practice, no source (1/2 in).
pub const WALL: Length = Length::inch(0.5);

/// A closed crate round a padded piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Crate {
    piece: [Length; 3],
    padding: Length,
    wall: Length,
}

impl Crate {
    /// A crate for a piece of this width, height and depth, padded on all six sides.
    ///
    /// # Errors
    /// When a side is zero or less, or padding or wall below zero.
    pub fn new(piece: [Length; 3], padding: Length, wall: Length) -> Result<Self, Message> {
        for (what, side) in ["width of the piece", "height of the piece", "depth of the piece"].into_iter().zip(piece) {
            above_zero(what, side)?;
        }
        zero_or_more("padding", padding)?;
        zero_or_more("wall of the crate", wall)?;
        Ok(Self { piece, padding, wall })
    }

    /// Width, height and depth of the piece.
    pub fn piece(&self) -> [Length; 3] {
        self.piece
    }

    /// Padding on each side of the piece.
    pub fn padding(&self) -> Length {
        self.padding
    }

    /// Thickness of the crate's walls.
    pub fn wall(&self) -> Length {
        self.wall
    }

    /// Room inside: the piece and padding on both sides.
    pub fn inside(&self) -> [Length; 3] {
        self.piece.map(|side| side + self.padding * 2.0)
    }

    /// Outside: the room and a wall on both sides.
    pub fn outside(&self) -> [Length; 3] {
        self.inside().map(|side| side + self.wall * 2.0)
    }

    /// What the crate takes up.
    pub fn volume(&self) -> Volume {
        product(self.outside())
    }

    /// What it weighs empty, all walls of birch plywood, battens and screws not counted.
    pub fn empty(&self) -> Option<Mass> {
        let ply = Sheet::of("birch plywood", Some(self.wall)).ok()?;
        Some((self.volume() - product(self.inside())) * (ply.grammage() / ply.thickness()))
    }
}

fn product([width, height, depth]: [Length; 3]) -> Volume {
    width * height * depth
}

fn list(sides: [Length; 3]) -> Value {
    Value::List(sides.into_iter().map(Value::from).collect())
}

thing!(Crate, "a crate", |packed| vec!["crate, ".into(), list(packed.outside()), " outside".into()], {
    piece "Width, height and depth of the piece." => Found::stated(list(packed.piece)),
    inside "Room inside." => Found::by(list(packed.inside()), "{} + 2 × {}", [list(packed.piece), packed.padding.into()]),
    outside "Outside width, height and depth." =>
        Found::by(list(packed.outside()), "{} + 2 × {}", [list(packed.inside()), packed.wall.into()]),
    volume "What it takes up." => Found::by(packed.volume(), "{} × {} × {}", packed.outside().map(Value::from)),
    empty_weight "What it weighs empty, its walls of birch plywood; battens and screws come on top." =>
        packed.empty().map(|mass| Found::stated(mass).beware(caution::LIFTING)),
});
