//! Drawings to scale, in millimetres of paper, for the page and for print.
//!
//! [`figure`] a finished drawing and its SVG; [`canvas`] the hand that draws and letters it, with the [`lettering`] of the
//! shipped face. Then what is drawn: [`crop`] on the film, [`roll`] of paper, [`board`] and mat, [`moulding`] cut list,
//! [`section`] of a frame at full size, [`wall`], [`back`] of a frame, [`crating`], [`panels`] of a mural.
//!
//! Lines after ISO 128, dimensions after ISO 129-1, scales after ISO 5455 (all from memory).

mod canvas;
pub mod figure;
mod lettering;

pub mod back;
pub mod board;
pub mod crating;
pub mod crop;
pub mod moulding;
pub mod panels;
pub mod roll;
pub mod section;
pub mod wall;

pub use figure::{Drawing, Scale};

use crate::measure::{Length, Units};
use crate::trade::backside::Backside;
use crate::trade::blank::Blank;
use crate::trade::crating::Crate;
use crate::trade::cutting::CutList;
use crate::trade::elevation::Elevation;
use crate::trade::film::Crop;
use crate::trade::frame::{FloatFrame, RabbetFrame};
use crate::trade::mat::Mat;
use crate::trade::mural::Mural;
use crate::trade::nesting::Nest;
use crate::trade::roll::Layout;
use crate::{Thing, Value};

/// The drawing of a thing that has one.
#[must_use]
pub fn of(thing: &Thing, units: Units) -> Option<Drawing> {
    None.or_else(|| thing.get::<FloatFrame>().map(|frame| section::float(frame, units)))
        .or_else(|| thing.get::<RabbetFrame>().map(|frame| section::rabbeted(frame, units)))
        .or_else(|| thing.get::<Crop>().map(|crop| crop::drawing(crop, units)))
        .or_else(|| thing.get::<Layout>().map(|layout| roll::layout(layout, units)))
        .or_else(|| thing.get::<Nest>().map(|nest| roll::nest(nest, units)))
        .or_else(|| thing.get::<Mat>().map(|mat| board::mat(mat, units)))
        .or_else(|| thing.get::<Blank>().map(|blank| board::blank(blank, units)))
        .or_else(|| thing.get::<CutList>().map(|list| moulding::drawing(list, units)))
        .or_else(|| thing.get::<Elevation>().map(|piece| wall::drawing(piece, "The piece", units)))
        .or_else(|| thing.get::<Backside>().map(|piece| back::drawing(piece, units)))
        .or_else(|| thing.get::<Crate>().map(|packed| crating::drawing(packed, units)))
        .or_else(|| thing.get::<Mural>().map(|mural| panels::drawing(mural, units)))
}

/// A number of a drawing: at most two places.
pub(crate) fn n(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A length as written at a dimension line: in inches as a tape has it, `92 1/4 in`, where it is a whole number of
/// thirty-seconds, else as everywhere.
fn say(length: Length, units: Units) -> String {
    tape(length).filter(|_| units == Units::Inch).unwrap_or_else(|| length.quantity().shown(units))
}

/// Inches and thirty-seconds of an inch; nothing when it is not exactly that, or a whole number of inches.
fn tape(length: Length) -> Option<String> {
    let parts = length.to_inch() * 32.0;
    let whole = parts.round();
    if (parts - whole).abs() > 1e-6 || !(1.0..1e6).contains(&whole) || whole % 32.0 == 0.0 {
        return None;
    }
    let (mut over, mut under) = (whole % 32.0, 32.0);
    while over % 2.0 == 0.0 {
        over /= 2.0;
        under /= 2.0;
    }
    let inches = (whole / 32.0).floor();
    let inches = if inches > 0.0 { format!("{inches}\u{a0}") } else { String::new() };
    Some(format!("{inches}{over}/{under}\u{a0}in"))
}

/// A width and a height together.
fn pair((width, height): (Length, Length), units: Units) -> String {
    Value::List(vec![width.into(), height.into()]).shown(units)
}

/// A width and a height in the plan's units and in the other ones.
fn both(size: (Length, Length), units: Units) -> String {
    format!("{} ({})", pair(size, units), pair(size, units.other()))
}

/// So much of something on paper.
fn on_paper(length: Length, scale: Scale) -> f64 {
    length.to_mm() * scale.factor()
}

#[cfg(test)]
mod tests {
    use super::say;
    use crate::measure::{Length, Units};

    fn check(inches: f64, wanted: &str) {
        assert_eq!(say(Length::inch(inches), Units::Inch).replace('\u{a0}', " "), wanted);
    }

    #[test]
    fn a_dimension_is_written_as_a_tape_has_it() {
        check(0.375, "3/8 in");
        check(92.25, "92 1/4 in");
        check(1.03125, "1 1/32 in");
        check(58.0, "58 in");
        check(0.77, "0.77 in");
    }
}
