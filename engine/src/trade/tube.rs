//! A print rolled on a core and sent in a tube.

use super::{above_zero, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message, Value};

/// The least core a large print is rolled on, face out. Source: common practice, no source (6 in).
pub const CORE: Length = Length::inch(6.0);
/// What wrapping and wall add all round. Source: common practice, no source.
pub const PADDING: Length = Length::inch(0.75);
/// What the tube is longer than the print at each end. Source: common practice, no source.
pub const ENDS: Length = Length::inch(2.0);

/// A print on its core in a round tube.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    size: (Length, Length),
    core: Length,
    padding: Length,
    ends: Length,
}

impl Tube {
    /// A print of `size` rolled along its longer side, its shorter side along the core.
    ///
    /// # Errors
    /// When a side or the core is zero or less, an allowance below zero, or the core thicker than the print is long.
    pub fn new(size: (Length, Length), core: Length, padding: Length, ends: Length) -> Result<Self, Message> {
        above_zero("width of the print", size.0)?;
        above_zero("height of the print", size.1)?;
        above_zero("core", core)?;
        zero_or_more("padding", padding)?;
        zero_or_more("room at the ends", ends)?;
        if core > size.0.max(size.1) {
            return Err(Message::new(
                format!("a core of {} is thicker than the print is long", said(core)),
                "send the print flat, or give the diameter of the core, such as `6.inch`",
            ));
        }
        Ok(Self { size, core, padding, ends })
    }

    /// Outside length: the shorter side and the room at both ends.
    pub fn length(&self) -> Length {
        self.size.0.min(self.size.1) + self.ends * 2.0
    }

    /// Outside diameter: core and padding on both sides; the paper itself is left out.
    pub fn diameter(&self) -> Length {
        self.core + self.padding * 2.0
    }

    /// The box it takes up.
    pub fn sides(&self) -> [Length; 3] {
        [self.length(), self.diameter(), self.diameter()]
    }

    /// Once round. Carriers measure the girth round the thickest part.
    pub fn girth(&self) -> Length {
        self.diameter() * std::f64::consts::PI
    }

    /// How many times the print goes round its core.
    pub fn turns(&self) -> f64 {
        self.size.0.max(self.size.1) / (self.core * std::f64::consts::PI)
    }
}

thing!(Tube, "a tube", |tube| vec![
    "tube, ".into(), tube.length().into(), " long, ".into(), tube.diameter().into(), " thick".into(),
], {
    length "Outside length." => Found::by(tube.length(), "{} + 2 × {}", [tube.size.0.min(tube.size.1).into(), tube.ends.into()]),
    diameter "Outside diameter, the paper itself left out." =>
        Found::by(tube.diameter(), "{} + 2 × {}", [tube.core.into(), tube.padding.into()]),
    sides "The box it takes up: what a carrier reckons with." =>
        Found::stated(Value::List(tube.sides().into_iter().map(Value::from).collect())),
    girth "Once round the tube." => Found::by(tube.girth(), "π × {}", [tube.diameter().into()]),
    length_and_girth "Length and girth together, the girth measured round the tube." =>
        Found::by(tube.length() + tube.girth(), "{} + {}", [tube.length().into(), tube.girth().into()]),
    turns "How many times the print goes round its core." =>
        Found::by(tube.turns(), "{} ÷ (π × {})", [tube.size.0.max(tube.size.1).into(), tube.core.into()]),
    wide_enough "Whether the core is 6 in, 150 mm, or more (common practice, no source); on a thinner one coatings crack." =>
        Found::stated(tube.core >= Length::mm(150.0)),
});
