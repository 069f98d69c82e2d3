//! Drawings to scale, as SVG that follows the page's colours.
//!
//! [`wall`] the piece on its wall beside a person, [`section`] a frame cut through.

pub mod section;
pub mod wall;

use crate::measure::Units;
use crate::{Thing, trade};

/// The drawing of a thing that has one.
#[must_use]
pub fn of(thing: &Thing, units: Units) -> Option<String> {
    thing.get::<trade::frame::FloatFrame>().map(|frame| section::figure(frame, units))
}

/// A number of a drawing: at most two places.
pub(crate) fn n(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
