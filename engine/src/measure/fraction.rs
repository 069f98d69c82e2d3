//! Inches and sixteenths, as a tape measure shows them.

use super::digits::push_whole;
use super::quantity::{Length, agree};

/// A length rounded to the nearest sixteenth of an inch; half a sixteenth rounds up, away from zero.
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
        write!(f, "{} in", Fraction { parts: self.0, of: 16 }.to_string().replace('\u{a0}', " "))
    }
}

/// A length that is just so many sixteenths, thirty-seconds or sixty-fourths of an inch, none of it rounded away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fraction {
    parts: i64,
    of: i64,
}

impl Fraction {
    /// The fraction, when the length agrees with it to nine digits; nothing for any other length.
    ///
    /// ```
    /// use engine::measure::{Fraction, Length};
    /// let shown = |inch| Fraction::of(Length::inch(inch)).map(|one| one.to_string());
    /// assert_eq!(shown(70.125), Some("70\u{a0}1/8".to_owned()));
    /// assert_eq!(shown(0.3), None);
    /// ```
    #[expect(clippy::cast_possible_truncation, reason = "checked to lie below a hundred thousand sixty-fourths")]
    pub fn of(length: Length) -> Option<Self> {
        const MOST: f64 = 100_000.0;
        [16_i32, 32, 64].into_iter().find_map(|of| {
            let parts = length.to_inch() * f64::from(of);
            let exact =
                parts.abs() < MOST * 64.0 && agree(parts, parts.round()) && (parts.round() != 0.0 || parts == 0.0);
            exact.then(|| Self { parts: parts.round() as i64, of: of.into() })
        })
    }
}

impl Fraction {
    pub(crate) fn push(self, out: &mut String) {
        let of = self.of.unsigned_abs().max(1);
        let (whole, part) = (self.parts.unsigned_abs() / of, self.parts.unsigned_abs() % of);
        let cut = 1 << part.trailing_zeros().min(of.trailing_zeros());
        if self.parts < 0 {
            out.push('\u{2212}');
        }
        if whole > 0 || part == 0 {
            push_whole(out, whole);
        }
        if part > 0 {
            if whole > 0 {
                out.push('\u{a0}');
            }
            push_whole(out, part / cut);
            out.push('/');
            push_whole(out, of / cut);
        }
    }
}

impl std::fmt::Display for Fraction {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut out = String::new();
        self.push(&mut out);
        f.write_str(&out)
    }
}
