//! How a number is written for a photographer: the unit the plan is in, as many digits as the trade uses.

use super::fraction::Fraction;
use super::quantity::{
    Angle, Area, Data, DataRate, Days, Density, Dims, Exposure, Grammage, Illuminance, Length, LinePairs,
    LinearDensity, Mass, Pixels, Quantity, Resolution, Time, Volume,
};

/// The units a plan is written in. Either is always one click away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Units {
    /// Inches, pounds, square feet.
    #[default]
    Inch,
    /// Millimetres, kilograms, square metres.
    Metric,
}

impl Units {
    /// The word used in the head of a plan: `inch` or `metric`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inch => "inch",
            Self::Metric => "metric",
        }
    }

    /// The other system.
    pub fn other(self) -> Self {
        match self {
            Self::Inch => Self::Metric,
            Self::Metric => Self::Inch,
        }
    }
}

/// A number with at most `decimals` places, trailing noughts cut, digits grouped by a thin space from ten thousand up.
pub fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if decimals > 0 { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    let text = if text == "-0" { "0" } else { text };
    let (sign, text) = text.strip_prefix('-').map_or(("", text), |rest| ("\u{2212}", rest));
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    format!("{sign}{}{rest}", grouped(whole, '\u{202f}', 5))
}

/// Digits in threes, when there are at least `from` of them.
pub(crate) fn grouped(digits: &str, by: char, from: usize) -> String {
    if digits.len() < from {
        return digits.to_owned();
    }
    let mut out = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(by);
        }
        out.push(digit);
    }
    out
}

impl Quantity {
    /// The number and its unit, apart: `("29.9", "in")`. The unit of a plain number is empty.
    pub fn parts(self, units: Units) -> (String, &'static str) {
        let (number, unit, _) = self.in_unit(units);
        (number, unit)
    }

    /// The number and its unit as written in a sentence: `29.9 in`.
    pub fn shown(self, units: Units) -> String {
        let (number, unit) = self.parts(units);
        match unit {
            "" => number,
            "°" => format!("{number}°"),
            unit => format!("{number}\u{a0}{unit}"),
        }
    }

    /// The value in the unit it is shown in, unrounded, and that unit.
    pub fn plainly(self, units: Units) -> (f64, &'static str) {
        let (_, unit, value) = self.in_unit(units);
        (value, unit)
    }

    fn in_unit(self, units: Units) -> (String, &'static str, f64) {
        let inch = self.always.unwrap_or(units) == Units::Inch;
        let say = |value: f64, decimals: usize, unit: &'static str| (number(value, decimals), unit, value);
        match self.dims {
            Dims::NONE => say(self.value, places(self.value), ""),
            Length::DIMS => {
                let length = Length::tenth_mm(self.value);
                if inch {
                    let value = length.to_inch();
                    match Fraction::of(length) {
                        Some(fraction) => (fraction.to_string(), "in", value),
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
            _ => say(self.value, 4, "in base units"),
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
