//! Kinds of quantity, each a number in one base unit.
//!
//! The base length is a tenth of a millimetre, so that an inch is 254 and a foot 3048: fractions of an inch and
//! whole millimetres are both whole numbers and compare exactly.

use super::units::Units;

/// How often each base kind is multiplied into a quantity: length, mass, pixels, bytes, seconds, working days,
/// degrees, lux.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Dims(pub [i8; 8]);

impl Dims {
    /// A plain number.
    pub const NONE: Self = Self([0; 8]);

    /// The dimensions of a product, or nothing when an exponent leaves the range of a byte.
    pub fn times(self, other: Self) -> Option<Self> {
        let mut out = self.0;
        for (a, b) in out.iter_mut().zip(other.0) {
            *a = a.checked_add(b)?;
        }
        Some(Self(out))
    }

    /// The dimensions of a quotient, or nothing when an exponent leaves the range of a byte.
    pub fn over(self, other: Self) -> Option<Self> {
        let mut out = self.0;
        for (a, b) in out.iter_mut().zip(other.0) {
            *a = a.checked_sub(b)?;
        }
        Some(Self(out))
    }

    /// What a photographer calls a quantity of these dimensions: "a length", "a weight".
    pub fn name(self) -> &'static str {
        KINDS.iter().find(|(dims, _)| *dims == self).map_or("a combined quantity", |(_, name)| name)
    }
}

/// A number of any kind, used where the kind is known only when the plan runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The number, in base units: tenths of a millimetre, grams, pixels, bytes, seconds, working days, degrees, lux.
    pub value: f64,
    /// What the number counts.
    pub dims: Dims,
    /// The units it is shown in whatever the plan's are: film is spoken of in millimetres everywhere.
    pub always: Option<Units>,
    /// One of several in a list, such as the positions of hooks, and not a side of a size.
    pub listed: bool,
}

impl Quantity {
    /// A plain number.
    pub fn plain(value: f64) -> Self {
        Self::new(value, Dims::NONE)
    }

    /// So much of a kind, in base units.
    pub const fn new(value: f64, dims: Dims) -> Self {
        Self { value, dims, always: None, listed: false }
    }

    /// The same, always shown in these units.
    #[must_use]
    pub const fn shown_always(self, units: Units) -> Self {
        Self { always: Some(units), ..self }
    }

    /// The same as one of several in a list.
    #[must_use]
    pub const fn among_others(self) -> Self {
        Self { listed: true, ..self }
    }

    /// Whether two quantities of one kind agree to nine digits, as a tape and a scale never do better.
    pub fn agrees(self, other: Self) -> bool {
        self.dims == other.dims && agree(self.value, other.value)
    }
}

/// Whether two numbers agree to nine digits.
pub(crate) fn agree(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

macro_rules! kinds {
    ($( $(#[$doc:meta])* $kind:ident $name:literal $dims:expr; $( $make:ident $read:ident $unit:literal $factor:expr ),* ; )*) => {
        const KINDS: &[(Dims, &str)] = &[(Dims::NONE, "a plain number"), $( (Dims($dims), $name), )*];
        $(
            $(#[$doc])*
            #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
            pub struct $kind(f64);
            #[allow(clippy::self_named_constructors, reason = "working days are counted in days")]
            impl $kind {
                /// The dimensions every value of this kind has.
                pub const DIMS: Dims = Dims($dims);
                /// None of it.
                pub const ZERO: Self = Self(0.0);
                $(
                    #[doc = concat!("From ", $unit, ".")]
                    pub const fn $make(value: f64) -> Self { Self(value * ($factor)) }
                    #[doc = concat!("In ", $unit, ".")]
                    pub fn $read(self) -> f64 { self.0 / ($factor) }
                )*
                /// The same amount as a quantity of any kind.
                pub const fn quantity(self) -> Quantity { Quantity::new(self.0, Self::DIMS) }
                /// The amount, when the quantity is of this kind.
                pub fn of(quantity: Quantity) -> Option<Self> {
                    (quantity.dims == Self::DIMS).then_some(Self(quantity.value))
                }
                /// The smaller of two.
                pub fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
                /// The larger of two.
                pub fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
                /// More than none of it, and a number one can count with.
                pub fn is_positive(self) -> bool { self.0.is_finite() && self.0 > 0.0 }
            }
            impl From<$kind> for Quantity { fn from(value: $kind) -> Self { value.quantity() } }
            impl std::ops::Add for $kind { type Output = Self; fn add(self, other: Self) -> Self { Self(self.0 + other.0) } }
            impl std::ops::Sub for $kind { type Output = Self; fn sub(self, other: Self) -> Self { Self(self.0 - other.0) } }
            impl std::ops::Mul<f64> for $kind { type Output = Self; fn mul(self, by: f64) -> Self { Self(self.0 * by) } }
            impl std::ops::Div<f64> for $kind { type Output = Self; fn div(self, by: f64) -> Self { Self(self.0 / by) } }
            impl std::ops::Div for $kind { type Output = f64; fn div(self, by: Self) -> f64 { self.0 / by.0 } }
            impl std::iter::Sum for $kind { fn sum<I: Iterator<Item = Self>>(all: I) -> Self { Self(all.map(|one| one.0).sum()) } }
        )*
    };
}

macro_rules! products {
    ($( $a:ident * $b:ident = $c:ident; )*) => { $(
        impl std::ops::Mul<$b> for $a { type Output = $c; fn mul(self, other: $b) -> $c { $c(self.0 * other.0) } }
        impl std::ops::Div<$b> for $c { type Output = $a; fn div(self, other: $b) -> $a { $a(self.0 / other.0) } }
    )* };
}

// Sources: the international inch and foot, the avoirdupois pound, the mil and the point are exact by definition:
// NIST SP 811 appendix B.8 (from memory; compared in tests with values from a general units library).
kinds! {
    /// A length.
    Length "a length" [1, 0, 0, 0, 0, 0, 0, 0];
        tenth_mm to_tenth_mm "tenths of a millimetre" 1.0, mm to_mm "millimetres" 10.0, cm to_cm "centimetres" 100.0,
        m to_m "metres" 10_000.0, um to_um "micrometres" 0.01, inch to_inch "inches" 254.0, foot to_foot "feet" 3_048.0,
        yard to_yard "yards" 9_144.0, mil to_mil "thousandths of an inch" 0.254,
        point to_point "points of 1/72 inch" 254.0 / 72.0;
    /// An area.
    Area "an area" [2, 0, 0, 0, 0, 0, 0, 0];
        mm2 to_mm2 "square millimetres" 1e2, m2 to_m2 "square metres" 1e8, inch2 to_inch2 "square inches" 64_516.0,
        foot2 to_foot2 "square feet" 9_290_304.0;
    /// A volume.
    Volume "a volume" [3, 0, 0, 0, 0, 0, 0, 0];
        cm3 to_cm3 "cubic centimetres" 1e6, m3 to_m3 "cubic metres" 1e12, inch3 to_inch3 "cubic inches" 16_387_064.0,
        foot3 to_foot3 "cubic feet" 28_316_846_592.0, litre to_litre "litres" 1e9;
    /// A weight, as a scale shows it: a mass.
    Mass "a weight" [0, 1, 0, 0, 0, 0, 0, 0];
        g to_g "grams" 1.0, kg to_kg "kilograms" 1e3, lb to_lb "pounds" 453.592_37, oz to_oz "ounces" 28.349_523_125;
    /// Weight per area of a sheet.
    Grammage "a weight per area" [-2, 1, 0, 0, 0, 0, 0, 0];
        gsm to_gsm "grams per square metre" 1e-8, lb_ft2 to_lb_ft2 "pounds per square foot" 453.592_37 / 9_290_304.0,
        oz_yd2 to_oz_yd2 "ounces per square yard" 28.349_523_125 / 83_612_736.0;
    /// Weight per volume.
    Density "a density" [-3, 1, 0, 0, 0, 0, 0, 0];
        kg_m3 to_kg_m3 "kilograms per cubic metre" 1e-9, lb_ft3 to_lb_ft3 "pounds per cubic foot" 453.592_37 / 28_316_846_592.0;
    /// Weight per length, as a moulding is listed.
    LinearDensity "a weight per length" [-1, 1, 0, 0, 0, 0, 0, 0];
        kg_m to_kg_m "kilograms per metre" 0.1, lb_ft to_lb_ft "pounds per foot" 453.592_37 / 3_048.0;
    /// A count of pixels.
    Pixels "a pixel count" [0, 0, 1, 0, 0, 0, 0, 0];
        px to_px "pixels" 1.0;
    /// Pixels along a length.
    Resolution "a resolution" [-1, 0, 1, 0, 0, 0, 0, 0];
        ppi to_ppi "pixels per inch" 1.0 / 254.0, px_mm to_px_mm "pixels per millimetre" 0.1;
    /// Line pairs along a length.
    LinePairs "a count of line pairs per length" [-1, 0, 0, 0, 0, 0, 0, 0];
        lp_mm to_lp_mm "line pairs per millimetre" 0.1;
    /// An amount of data.
    Data "an amount of data" [0, 0, 0, 1, 0, 0, 0, 0];
        bytes to_bytes "bytes" 1.0, kb to_kb "kB" 1e3, mb to_mb "MB of 10^6 bytes" 1e6, gb to_gb "GB of 10^9 bytes" 1e9,
        kib to_kib "KiB" 1_024.0, mib to_mib "MiB of 2^20 bytes" 1_048_576.0, gib to_gib "GiB of 2^30 bytes" 1_073_741_824.0,
        tib to_tib "TiB of 2^40 bytes" 1_099_511_627_776.0;
    /// Data per time.
    DataRate "a speed of transfer" [0, 0, 0, 1, -1, 0, 0, 0];
        mbit_s to_mbit_s "megabits per second" 125_000.0, mb_s to_mb_s "megabytes per second" 1e6;
    /// A span of clock time.
    Time "a time" [0, 0, 0, 0, 1, 0, 0, 0];
        s to_s "seconds" 1.0, minutes to_minutes "minutes" 60.0, hours to_hours "hours" 3_600.0;
    /// Working days.
    Days "a number of working days" [0, 0, 0, 0, 0, 1, 0, 0];
        days to_days "working days" 1.0, weeks to_weeks "weeks of five working days" 5.0;
    /// An angle.
    Angle "an angle" [0, 0, 0, 0, 0, 0, 1, 0];
        degrees to_degrees "degrees" 1.0, radians to_radians "radians" 180.0 / std::f64::consts::PI;
    /// Light falling on a surface.
    Illuminance "an illuminance" [0, 0, 0, 0, 0, 0, 0, 1];
        lux to_lux "lux" 1.0, footcandle to_footcandle "foot-candles" 1.0 / (0.3048 * 0.3048);
    /// Light over time.
    Exposure "a light dose" [0, 0, 0, 0, 1, 0, 0, 1];
        lux_hours to_lux_hours "lux hours" 3_600.0;
}

products! {
    Length * Resolution = Pixels;
    DataRate * Time = Data;
    Illuminance * Time = Exposure;
    Area * Grammage = Mass;
    Volume * Density = Mass;
    Length * LinearDensity = Mass;
    Area * Length = Volume;
    Length * Density = Grammage;
}

impl std::ops::Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

impl std::ops::Div<Length> for Area {
    type Output = Length;
    fn div(self, other: Length) -> Length {
        Length(self.0 / other.0)
    }
}

impl std::ops::Div<Length> for Pixels {
    type Output = Resolution;
    fn div(self, other: Length) -> Resolution {
        Resolution(self.0 / other.0)
    }
}

impl std::ops::Div<Length> for Grammage {
    type Output = Density;
    fn div(self, other: Length) -> Density {
        Density(self.0 / other.0)
    }
}
