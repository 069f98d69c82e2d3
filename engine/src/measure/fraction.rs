//! Inches and sixteenths, as a tape measure shows them.

use super::quantity::Length;

/// A length rounded to the nearest sixteenth of an inch; half a sixteenth rounds up, away from nought.
///
/// Source: ISO 80000-1:2009 annex B rule B, applied to a sixteenth (from memory).
///
/// ```
/// use engine::measure::{Length, Sixteenths};
/// assert_eq!(Sixteenths::nearest(Length::inch(23.968)).to_string(), "23 15/16 in");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sixteenths(i64);

impl Sixteenths {
    /// The nearest sixteenth of an inch.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a length in sixteenths is far inside the range of i64; larger saturates"
    )]
    pub fn nearest(length: Length) -> Self {
        Self((length.to_inch() * 16.0 + 1e-9_f64.copysign(length.to_inch())).round() as i64)
    }
}

impl std::fmt::Display for Sixteenths {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (whole, part) = (self.0.unsigned_abs() / 16, self.0.unsigned_abs() % 16);
        let sign = if self.0 < 0 { "\u{2212}" } else { "" };
        let cut = 1 << part.trailing_zeros().min(4);
        match (whole, part) {
            (whole, 0) => write!(f, "{sign}{whole} in"),
            (0, part) => write!(f, "{sign}{}/{} in", part / cut, 16 / cut),
            (whole, part) => write!(f, "{sign}{whole} {}/{} in", part / cut, 16 / cut),
        }
    }
}
