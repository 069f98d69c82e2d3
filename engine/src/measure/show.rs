//! How a number is written for a photographer: the unit the plan is in, as many digits as the trade uses.

use super::Units;
use super::digits::push_whole;
use super::fraction::Fraction;
use super::quantity::{
    Angle, Area, Data, DataRate, Days, Density, Dims, Exposure, Grammage, Illuminance, Length, LinePairs,
    LinearDensity, Mass, Pixels, Quantity, Resolution, Time, Volume,
};

/// A number with at most `decimals` places, trailing zeros cut, digits grouped by a thin space from ten thousand up.
pub fn number(value: f64, decimals: usize) -> String {
    let mut out = String::new();
    push_number(&mut out, value, decimals);
    out
}

/// The same, after what is written already.
pub(crate) fn push_number(out: &mut String, value: f64, decimals: usize) {
    /// Ten to the power of the places, for the few the trade uses.
    const TENS: [u32; 5] = [1, 10, 100, 1_000, 10_000];
    /// Numbers up to here times their power of ten are rounded here: their product is off by far less than `CLOSE`.
    const LARGEST: f64 = 1e9;
    const CLOSE: f64 = 1e-6;
    if let Some(ten) = TENS.get(decimals) {
        let scaled = value.abs() * f64::from(*ten);
        if scaled < LARGEST && (scaled.fract() - 0.5).abs() > CLOSE {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in 0..=1e9")]
            let all = scaled.round() as u64;
            if value < 0.0 && all > 0 {
                out.push('\u{2212}');
            }
            let (whole, mut rest, mut left) = (all / u64::from(*ten), all % u64::from(*ten), u64::from(*ten));
            push_whole(out, whole);
            if rest > 0 {
                out.push('.');
            }
            while rest > 0 {
                left /= 10;
                out.push(char::from(b'0' + u8::try_from(rest / left).unwrap_or(0)));
                rest %= left;
            }
            return;
        }
    }
    let text = format!("{value:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    let text = if text == "-0" { "0" } else { text };
    let (sign, text) = text.strip_prefix('-').map_or(("", text), |rest| ("\u{2212}", rest));
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    out.push_str(sign);
    push_grouped(out, whole, '\u{202f}', 5);
    out.push_str(rest);
}

/// Digits in threes, when there are at least `from` of them.
pub(crate) fn push_grouped(out: &mut String, digits: &str, by: char, from: usize) {
    if digits.len() < from {
        out.push_str(digits);
        return;
    }
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(by);
        }
        out.push(digit);
    }
}

/// A number as it will be written: with so many decimals at most, or as a fraction.
#[derive(Clone, Copy)]
enum Figure {
    Decimal(f64, usize),
    Fraction(Fraction),
}

impl Figure {
    fn push(self, out: &mut String) {
        match self {
            Self::Decimal(value, decimals) => push_number(out, value, decimals),
            Self::Fraction(fraction) => fraction.push(out),
        }
    }
}

impl Quantity {
    /// The number and its unit, apart: `("29.9", "in")`. The unit of a plain number is empty.
    pub fn parts(self, units: Units) -> (String, &'static str) {
        let (figure, unit, _) = self.in_unit(units);
        let mut number = String::new();
        figure.push(&mut number);
        (number, unit)
    }

    /// The unit it is written in; empty for a plain number.
    pub(crate) fn unit(self, units: Units) -> &'static str {
        self.in_unit(units).1
    }

    /// Writes the number alone.
    pub(crate) fn push_figure(self, out: &mut String, units: Units) {
        self.in_unit(units).0.push(out);
    }

    /// Writes the number and its unit.
    pub(crate) fn push(self, out: &mut String, units: Units) {
        let (figure, unit, _) = self.in_unit(units);
        figure.push(out);
        if !matches!(unit, "" | "°") {
            out.push('\u{a0}');
        }
        out.push_str(unit);
    }

    /// The number and its unit as written in a sentence: `29.9 in`.
    pub fn shown(self, units: Units) -> String {
        let mut out = String::new();
        self.push(&mut out, units);
        out
    }

    /// The value in the unit it is shown in, unrounded, and that unit.
    pub fn plainly(self, units: Units) -> (f64, &'static str) {
        let (_, unit, value) = self.in_unit(units);
        (value, unit)
    }

    fn in_unit(self, units: Units) -> (Figure, &'static str, f64) {
        let inch = self.always.unwrap_or(units) == Units::Inch;
        let say = |value: f64, decimals: usize, unit: &'static str| (Figure::Decimal(value, decimals), unit, value);
        match self.dims {
            Dims::NONE => say(self.value, places(self.value), ""),
            Length::DIMS => {
                let length = Length::tenth_mm(self.value);
                if inch {
                    let value = length.to_inch();
                    match Fraction::of(length) {
                        Some(fraction) => (Figure::Fraction(fraction), "in", value),
                        None => say(value, if value.abs() < 0.1 { 4 } else { 2 }, "in"),
                    }
                } else if length.to_m().abs() >= 10.0 {
                    say(length.to_m(), 2, "m")
                } else {
                    let value = length.to_mm();
                    say(value, if value.abs() < 1.0 { 3 } else { 1 }, "mm")
                }
            }
            Area::DIMS => {
                let area = Quantity::area(self.value);
                if inch { say(area.to_foot2(), 2, "ft²") } else { say(area.to_m2(), 3, "m²") }
            }
            Volume::DIMS => {
                let volume = self.value;
                if inch { say(volume / 28_316_846_592.0, 2, "ft³") } else { say(volume / 1e12, 3, "m³") }
            }
            Mass::DIMS => {
                let mass = Mass::g(self.value);
                match (inch, mass.to_lb().abs(), mass.to_kg().abs()) {
                    (true, lb, _) if lb >= 1.0 => say(mass.to_lb(), 1, "lb"),
                    (true, ..) => say(mass.to_oz(), 1, "oz"),
                    (false, _, kg) if kg >= 1.0 => say(mass.to_kg(), 2, "kg"),
                    (false, ..) => say(mass.to_g(), 0, "g"),
                }
            }
            Grammage::DIMS => say(self.value / 1e-8, 1, "g/m²"),
            Density::DIMS => say(self.value / 1e-9, 1, "kg/m³"),
            LinearDensity::DIMS if inch => say(self.value / (453.592_37 / 3_048.0), 3, "lb/ft"),
            LinearDensity::DIMS => say(self.value / 0.1, 3, "kg/m"),
            Pixels::DIMS => say(self.value, 0, "px"),
            Resolution::DIMS => say(self.value * 254.0, 1, "ppi"),
            LinePairs::DIMS => say(self.value * 10.0, 1, "lp/mm"),
            Data::DIMS => match self.value.abs() {
                size if size >= 1e9 => say(self.value / 1e9, 2, "GB"),
                size if size >= 1e6 => say(self.value / 1e6, 0, "MB"),
                size if size >= 1e3 => say(self.value / 1e3, 0, "kB"),
                _ => say(self.value, 0, "bytes"),
            },
            DataRate::DIMS => say(self.value / 125_000.0, 1, "Mbit/s"),
            Time::DIMS => match self.value.abs() {
                s if s >= 5_400.0 => say(self.value / 3_600.0, 1, "hours"),
                s if s >= 90.0 => say(self.value / 60.0, 1, "minutes"),
                _ => say(self.value, 1, "seconds"),
            },
            Days::DIMS if agrees_with_one(self.value) => say(self.value, 1, "working day"),
            Days::DIMS => say(self.value, 1, "working days"),
            Angle::DIMS => say(self.value, 1, "°"),
            Illuminance::DIMS => say(self.value, 0, "lux"),
            Exposure::DIMS => say(self.value / 3_600.0, 0, "lux hours"),
            // What passes through a plan on the way to something else: a carrier's factor, a weight on an arm, a tariff.
            Dims([3, -1, 0, 0, 0, 0, 0, 0]) if inch => say(self.value / (16_387_064.0 / 453.592_37), 1, "in³/lb"),
            Dims([3, -1, 0, 0, 0, 0, 0, 0]) => say(self.value / 1e3, 1, "cm³/kg"),
            Dims([1, 1, 0, 0, 0, 0, 0, 0]) if inch => say(self.value / (254.0 * 453.592_37), 2, "in × lb"),
            Dims([1, 1, 0, 0, 0, 0, 0, 0]) => say(self.value / 1e7, 4, "m × kg"),
            _ => say(self.value, 4, "in a unit without a name"),
        }
    }

    fn area(value: f64) -> Area {
        Area::mm2(value / 1e2)
    }
}

fn agrees_with_one(value: f64) -> bool {
    (value - 1.0).abs() < 1e-9
}

/// Places a plain number is shown with: enough for three or four figures.
fn places(value: f64) -> usize {
    match value.abs() {
        size if size >= 1000.0 => 1,
        size if size >= 10.0 => 2,
        size if size >= 1.0 => 3,
        _ => 4,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::number;
    use crate::measure::digits::push_whole;

    /// The same by the standard library's own exact formatting, digits put in threes afterwards.
    fn by_the_book(value: f64, decimals: usize) -> String {
        let text = format!("{:.decimals$}", value.abs());
        let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
        let threes = |from: usize| {
            let digits = whole.as_bytes().rchunks(3).rev().map(|three| String::from_utf8_lossy(three).into_owned());
            if whole.len() < from { whole.to_owned() } else { digits.collect::<Vec<_>>().join("\u{202f}") }
        };
        let sign = if value < 0.0 && text != "0" { "\u{2212}" } else { "" };
        format!("{sign}{}{rest}", threes(5))
    }

    proptest! {
        #[test]
        fn a_number_is_rounded_and_written_as_the_standard_library_does(
            value in prop_oneof![-1e3..1e3_f64, -1e12..1e12_f64, -1.0..1.0_f64, any::<f64>().prop_filter("a number", |one| one.is_finite() && one.abs() < 1e30)],
            decimals in 0_usize..6,
        ) {
            prop_assert_eq!(number(value, decimals), by_the_book(value, decimals));
        }

        #[test]
        fn a_number_on_the_edge_of_rounding_goes_the_same_way(
            whole in -100_000_i32..100_000, decimals in 0_usize..5, nudge in -3_i32..4,
        ) {
            // Half a last place, and the nearest numbers beside it.
            let mut value = (f64::from(whole) + 0.5) / 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
            for _ in 0..nudge.abs() {
                value = if nudge > 0 { value.next_up() } else { value.next_down() };
            }
            prop_assert_eq!(number(value, decimals), by_the_book(value, decimals));
        }

        #[test]
        fn a_whole_number_keeps_its_digits(value in any::<u64>()) {
            let mut out = String::new();
            push_whole(&mut out, value);
            prop_assert_eq!(out.replace('\u{202f}', ""), value.to_string());
        }
    }
}
