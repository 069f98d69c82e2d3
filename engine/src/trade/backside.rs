//! The back of a framed piece: where its wire, its straps or its cleat are.

use super::{above_zero, caution, pair, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// What a piece hangs by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hardware {
    /// Two straps, each on a hook of its own.
    Straps,
    /// A wire from side to side.
    Wire,
    /// A cleat along the upper edge.
    Cleat,
}

impl Hardware {
    /// The hardware of that name.
    ///
    /// # Errors
    /// When there is none.
    pub fn named(name: &str) -> Result<Self, Message> {
        match name.trim().to_lowercase().as_str() {
            "straps" | "strap hangers" | "hangers" => Ok(Self::Straps),
            "wire" => Ok(Self::Wire),
            "cleat" => Ok(Self::Cleat),
            _ => Err(Message::new(
                format!("nothing a piece hangs by is called `{name}`"),
                "write \"straps\", \"wire\" or \"cleat\"",
            )),
        }
    }

    /// What it is called.
    pub fn word(self) -> &'static str {
        match self {
            Self::Straps => "straps",
            Self::Wire => "wire",
            Self::Cleat => "cleat",
        }
    }
}

/// The back of a piece with its hardware in place.
#[derive(Clone, Debug, PartialEq)]
pub struct Backside {
    outside: (Length, Length),
    hardware: Hardware,
    inset: Length,
    drop: Length,
}

impl Backside {
    /// Hardware `inset` from each side and `drop` below the upper edge.
    ///
    /// # Errors
    /// When a size is zero or less, or the hardware is not on the piece.
    pub fn new(outside: (Length, Length), hardware: Hardware, inset: Length, drop: Length) -> Result<Self, Message> {
        above_zero("outside width", outside.0)?;
        above_zero("outside height", outside.1)?;
        zero_or_more("inset", inset)?;
        zero_or_more("drop", drop)?;
        if inset * 2.0 >= outside.0 || drop >= outside.1 {
            return Err(Message::new(
                format!("hardware {} from each side and {} down is not on this piece", said(inset), said(drop)),
                format!("it is {} wide and {} high", said(outside.0), said(outside.1)),
            ));
        }
        Ok(Self { outside, hardware, inset, drop })
    }

    /// Outside width and height of the piece.
    pub fn outside(&self) -> (Length, Length) {
        self.outside
    }

    /// What it hangs by.
    pub fn hardware(&self) -> Hardware {
        self.hardware
    }

    /// From each side to the hardware.
    pub fn inset(&self) -> Length {
        self.inset
    }

    /// From the upper edge down to the hardware.
    pub fn drop(&self) -> Length {
        self.drop
    }

    /// From one end of the hardware to the other.
    pub fn apart(&self) -> Length {
        self.outside.0 - self.inset * 2.0
    }
}

thing!(Backside, "the back of a piece", |back| vec![
    "back of ".into(), pair(back.outside.0, back.outside.1), " with ".into(), back.hardware.word().into(), ", ".into(),
    back.apart().into(), " apart".into(),
], {
    apart "From one end of the hardware to the other." =>
        Found::by(back.apart(), "{} − 2 × {}", [back.outside.0.into(), back.inset.into()]),
    inset "From each side to the hardware." => Found::stated(back.inset),
    drop "From the upper edge down to the hardware." => Found::stated(back.drop).beware(caution::HANGING),
    hardware "What it hangs by." => Found::stated(back.hardware.word()),
});
