//! A moulding: the stick a frame is cut from.

use super::{above_zero, caution, pair};
use crate::measure::{Area, Density, Length, LinearDensity, Mass};
use crate::{Found, Message};

/// Density of a frame's wood when the plan names none: a middling hardwood. Source: common practice, no source.
pub const WOOD: Density = Density::kg_m3(600.0);

/// A stick of moulding, face and depth, and what it weighs.
#[derive(Clone, Debug, PartialEq)]
pub struct Moulding {
    name: String,
    face: Length,
    depth: Length,
    weight: Weight,
}

/// How the weight of a moulding is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Weight {
    /// From the wood, the section taken as full.
    Solid(Density),
    /// As the maker lists it.
    Listed(LinearDensity),
}

impl Moulding {
    /// A moulding with this face, seen from the front, and this depth from the wall.
    ///
    /// # Errors
    /// When a length or the weight is zero or less.
    pub fn new(name: &str, face: Length, depth: Length, weight: Weight) -> Result<Self, Message> {
        above_zero("face of the moulding", face)?;
        above_zero("depth of the moulding", depth)?;
        match weight {
            Weight::Solid(density) => above_zero("density of the moulding", density)?,
            Weight::Listed(per_length) => above_zero("weight per length of the moulding", per_length)?,
        }
        Ok(Self { name: name.into(), face, depth, weight })
    }

    /// Its face, seen from the front.
    pub fn face(&self) -> Length {
        self.face
    }

    /// Its depth, from front to wall.
    pub fn depth(&self) -> Length {
        self.depth
    }

    /// How its weight is known.
    pub fn weight(&self) -> Weight {
        self.weight
    }

    /// The full section, face times depth.
    pub fn section(&self) -> Area {
        self.face * self.depth
    }

    /// Weight per length, listed or from the full section.
    pub fn per_length(&self) -> LinearDensity {
        match self.weight {
            Weight::Listed(per_length) => per_length,
            Weight::Solid(density) => LinearDensity::kg_m((self.section() * Length::m(1.0) * density).to_kg()),
        }
    }
}

thing!(Moulding, "a moulding", |stick| vec![
    stick.name.as_str().into(), " moulding, face ".into(), stick.face.into(), ", depth ".into(), stick.depth.into(),
], {
    name "What it is called." => Found::stated(stick.name.as_str()),
    face "Its face, seen from the front." => Found::stated(stick.face),
    depth "Its depth, from front to wall." => Found::stated(stick.depth),
    section "Face and depth together." => Found::stated(pair(stick.face, stick.depth)),
    per_length "Its weight per length, listed or from the full section." => match stick.weight {
        Weight::Listed(per_length) => Found::stated(per_length),
        Weight::Solid(density) => Found::by(stick.per_length(), "{} × {} × {}", [
            stick.face.into(), stick.depth.into(), density.into(),
        ]),
    },
});

/// What four mitred sides weigh, with the corners counted once.
///
/// Volume = 2 × face × (W + H − 2 × face) × depth for an outside of W × H; for a listed weight per length, the length
/// along the middle of the face, 2 × (W + H) − 4 × face. Source: geometry of the ring (identity).
pub(super) fn ring(outside: (Length, Length), face: Length, depth: Length, weight: Weight) -> Found {
    let (width, height) = outside;
    let middle = (width + height) * 2.0 - face * 4.0;
    let found = match weight {
        Weight::Solid(density) => {
            let mass: Mass = face * middle * depth * density;
            Found::by(
                mass,
                "2 × {} × ({} + {} − 2 × {}) × {} × {}",
                [face.into(), width.into(), height.into(), face.into(), depth.into(), density.into()],
            )
        }
        Weight::Listed(per_length) => {
            let mass: Mass = middle * per_length;
            Found::by(mass, "{} along the middle of the face × {}", [middle.into(), per_length.into()])
        }
    };
    found.beware(caution::WEIGHT)
}
