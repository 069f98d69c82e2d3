//! The units a plan writes after a number: `63.inch`, `4000.ppi`, `18.lb`.

use crate::measure::{
    Angle, Area, Data, DataRate, Days, Density, Dims, Exposure, Grammage, Illuminance, Length, LinePairs,
    LinearDensity, Mass, Pixels, Quantity, Resolution, Time, Volume,
};

/// One unit: how it is written in a plan and on a page, and how large one of it is.
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    /// As written after a number, without the point.
    pub name: &'static str,
    /// As shown on a page.
    pub shown: &'static str,
    /// In words, for a label: `in inches`.
    pub words: &'static str,
    /// One of it.
    pub one: Quantity,
}

impl Unit {
    /// The unit of a name.
    pub fn of(name: &str) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.name == name)
    }

    /// So many of it.
    pub fn times(&self, number: f64) -> Quantity {
        Quantity::new(number * self.one.value, self.one.dims)
    }

    /// How many of it a quantity of the same kind is.
    pub fn count(&self, quantity: Quantity) -> Option<f64> {
        (quantity.dims == self.one.dims).then(|| quantity.value / self.one.value)
    }
}

const fn unit(name: &'static str, shown: &'static str, words: &'static str, one: Quantity) -> Unit {
    Unit { name, shown, words, one }
}

/// Every unit, in the order of the reference.
pub const UNITS: &[Unit] = &[
    unit("inch", "in", "inches", Length::inch(1.0).quantity()),
    unit("ft", "ft", "feet", Length::foot(1.0).quantity()),
    unit("yd", "yd", "yards", Length::yard(1.0).quantity()),
    unit("pt", "pt", "points of 1/72 inch", Length::point(1.0).quantity()),
    unit("mil", "mil", "thousandths of an inch", Length::mil(1.0).quantity()),
    unit("mm", "mm", "millimetres", Length::mm(1.0).quantity()),
    unit("cm", "cm", "centimetres", Length::cm(1.0).quantity()),
    unit("m", "m", "metres", Length::m(1.0).quantity()),
    unit("um", "µm", "micrometres", Length::um(1.0).quantity()),
    unit("mm2", "mm²", "square millimetres", Area::mm2(1.0).quantity()),
    unit("m2", "m²", "square metres", Area::m2(1.0).quantity()),
    unit("inch2", "in²", "square inches", Area::inch2(1.0).quantity()),
    unit("ft2", "ft²", "square feet", Area::foot2(1.0).quantity()),
    unit("cm3", "cm³", "cubic centimetres", Volume::cm3(1.0).quantity()),
    unit("m3", "m³", "cubic metres", Volume::m3(1.0).quantity()),
    unit("inch3", "in³", "cubic inches", Volume::inch3(1.0).quantity()),
    unit("ft3", "ft³", "cubic feet", Volume::foot3(1.0).quantity()),
    unit("lb", "lb", "pounds", Mass::lb(1.0).quantity()),
    unit("oz", "oz", "ounces", Mass::oz(1.0).quantity()),
    unit("kg", "kg", "kilograms", Mass::kg(1.0).quantity()),
    unit("g", "g", "grams", Mass::g(1.0).quantity()),
    unit("gsm", "g/m²", "grams per square metre", Grammage::gsm(1.0).quantity()),
    unit("lb_ft2", "lb/ft²", "pounds per square foot", Grammage::lb_ft2(1.0).quantity()),
    unit("oz_yd2", "oz/yd²", "ounces per square yard", Grammage::oz_yd2(1.0).quantity()),
    unit("kg_m3", "kg/m³", "kilograms per cubic metre", Density::kg_m3(1.0).quantity()),
    unit("lb_ft3", "lb/ft³", "pounds per cubic foot", Density::lb_ft3(1.0).quantity()),
    unit("kg_m", "kg/m", "kilograms per metre", LinearDensity::kg_m(1.0).quantity()),
    unit("lb_ft", "lb/ft", "pounds per foot", LinearDensity::lb_ft(1.0).quantity()),
    unit("px", "px", "pixels", Pixels::px(1.0).quantity()),
    unit("ppi", "ppi", "pixels per inch", Resolution::ppi(1.0).quantity()),
    unit("px_mm", "px/mm", "pixels per millimetre", Resolution::px_mm(1.0).quantity()),
    unit("lp_mm", "lp/mm", "line pairs per millimetre", LinePairs::lp_mm(1.0).quantity()),
    unit("bytes", "bytes", "bytes", Data::bytes(1.0).quantity()),
    unit("kb", "kB", "kilobytes", Data::kb(1.0).quantity()),
    unit("mb", "MB", "megabytes", Data::mb(1.0).quantity()),
    unit("gb", "GB", "gigabytes", Data::gb(1.0).quantity()),
    unit("kib", "KiB", "kibibytes", Data::kib(1.0).quantity()),
    unit("mib", "MiB", "mebibytes", Data::mib(1.0).quantity()),
    unit("gib", "GiB", "gibibytes", Data::gib(1.0).quantity()),
    unit("tib", "TiB", "tebibytes", Data::tib(1.0).quantity()),
    unit("mbit_s", "Mbit/s", "megabits per second", DataRate::mbit_s(1.0).quantity()),
    unit("mb_s", "MB/s", "megabytes per second", DataRate::mb_s(1.0).quantity()),
    unit("seconds", "s", "seconds", Time::s(1.0).quantity()),
    unit("minutes", "min", "minutes", Time::minutes(1.0).quantity()),
    unit("hours", "h", "hours", Time::hours(1.0).quantity()),
    unit("days", "days", "working days", Days::days(1.0).quantity()),
    unit("day", "day", "working days", Days::days(1.0).quantity()),
    unit("weeks", "weeks", "weeks of five working days", Days::weeks(1.0).quantity()),
    unit("week", "week", "weeks of five working days", Days::weeks(1.0).quantity()),
    unit("deg", "°", "degrees", Angle::degrees(1.0).quantity()),
    unit("lux", "lux", "lux", Illuminance::lux(1.0).quantity()),
    unit("fc", "fc", "foot-candles", Illuminance::footcandle(1.0).quantity()),
    unit("lux_hours", "lux h", "lux hours", Exposure::lux_hours(1.0).quantity()),
    unit("percent", "%", "percent", Quantity::new(0.01, Dims::NONE)),
];
