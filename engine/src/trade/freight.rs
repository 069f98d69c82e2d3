//! Freight: the weight a carrier charges for, real or by size, and how long a parcel may be.

use super::above_nought;
use crate::measure::{Density, Length, Mass, Quantity, Volume};
use crate::{Found, Trouble, Value};

/// How a carrier turns size into weight. Rates change: check the carrier's current tariff, and give your own factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tariff {
    /// What it is called.
    pub name: &'static str,
    /// The density at which size and weight cost the same.
    pub density: Density,
    /// Weights are rounded up to this.
    pub step: Mass,
    /// Only a parcel larger than this is charged by its size.
    pub from: Volume,
    /// Longest length and girth together.
    pub longest: Option<Length>,
}

const fn inch(name: &'static str, in3_per_lb: f64, longest: Option<Length>) -> Tariff {
    Tariff {
        name,
        density: Density::lb_ft3(1728.0 / in3_per_lb),
        step: Mass::lb(1.0),
        from: Volume::foot3(if longest.is_some() { 1.0 } else { 0.0 }),
        longest,
    }
}

const fn metric(name: &'static str, cm3_per_kg: f64) -> Tariff {
    Tariff { name, density: Density::kg_m3(1e6 / cm3_per_kg), step: Mass::kg(0.5), from: Volume::ZERO, longest: None }
}

const TARIFFS: &[Tariff] = &[
    // Source: USPS Domestic Mail Manual: 166 in³/lb above 1 ft³ (read in a secondary page); length and girth at most
    // 108 in, ground service 130 in (read in Quick Service Guide 201e, 2021 archive).
    inch("postal", 166.0, Some(Length::inch(108.0))),
    inch("postal ground", 166.0, Some(Length::inch(130.0))),
    // Source: IATA, 6000 cm³/kg (read in an airport's page); half kilograms (from memory).
    metric("air", 6000.0),
    // Source: common practice of private carriers, no source.
    inch("courier", 139.0, None),
    metric("courier metric", 5000.0),
];

impl Tariff {
    /// A tariff by its name.
    ///
    /// # Errors
    /// When there is none of that name.
    pub fn named(name: &str) -> Result<Self, Trouble> {
        TARIFFS.iter().find(|one| one.name.eq_ignore_ascii_case(name.trim())).copied().ok_or_else(|| {
            let names: Vec<_> = TARIFFS.iter().map(|one| one.name).collect();
            Trouble::new(
                format!("no tariff is called `{name}`"),
                format!("use one of {}, or give the carrier's factor: `139.inch3 / 1.lb`", names.join(", ")),
            )
        })
    }

    /// A tariff of your own, from the volume that costs as much as one unit of weight: its quantity is a volume over a
    /// weight.
    ///
    /// # Errors
    /// When the factor is nought or less.
    pub fn own(volume_per_mass: Quantity) -> Result<Self, Trouble> {
        above_nought("factor", volume_per_mass)?;
        let density = Density::of(Quantity::new(1.0 / volume_per_mass.value, Density::DIMS));
        Ok(Self {
            name: "own",
            density: density.unwrap_or_default(),
            step: Mass::lb(1.0),
            from: Volume::ZERO,
            longest: None,
        })
    }
}

/// A parcel and what it is charged for.
#[derive(Clone, Debug, PartialEq)]
pub struct Parcel {
    sides: [Length; 3],
    tariff: Tariff,
    actual: Mass,
}

impl Parcel {
    /// A parcel of three sides in any order; `actual` is what it weighs, nought where that is not yet known.
    ///
    /// # Errors
    /// When a side is nought or less.
    pub fn new(sides: [Length; 3], tariff: Tariff, actual: Mass) -> Result<Self, Trouble> {
        for side in sides {
            above_nought("side of the parcel", side)?;
        }
        super::nought_or_more("weight", actual)?;
        above_nought("step of the weight", tariff.step)?;
        let parcel = Self { sides, tariff, actual };
        above_nought("volume of the parcel", parcel.volume())?;
        above_nought("weight by size", parcel.by_size())?;
        Ok(parcel)
    }

    /// Its volume.
    pub fn volume(&self) -> Volume {
        let [width, height, depth] = self.sides;
        width * height * depth
    }

    /// The weight its size stands for: volume ÷ the carrier's factor.
    pub fn by_size(&self) -> Mass {
        self.volume() * self.tariff.density
    }

    /// The larger of real weight and weight by size, rounded up to the carrier's step.
    pub fn charged(&self) -> Mass {
        let by_size = if self.volume() > self.tariff.from { self.by_size() } else { Mass::ZERO };
        let heavier = self.actual.max(by_size);
        self.tariff.step * (heavier / self.tariff.step - 1e-9).ceil().max(0.0)
    }

    /// Longest side + 2 × the two others.
    pub fn length_and_girth(&self) -> Length {
        let [a, b, c] = self.sides;
        (a + b + c) * 2.0 - a.max(b).max(c)
    }
}

thing!(Parcel, "a parcel", |parcel| vec![
    "parcel, ".into(), Value::List(parcel.sides.into_iter().map(Value::from).collect()), ", charged ".into(), parcel.charged().into(),
], {
    volume "What it takes up." => Found::by(parcel.volume(), "{} × {} × {}", parcel.sides.map(Value::from)),
    by_size "The weight its size stands for." =>
        Found::by(parcel.by_size(), "{} × {}", [parcel.volume().into(), parcel.tariff.density.into()]),
    charged "The larger of real weight and weight by size, rounded up to the carrier's step." =>
        Found::by(parcel.charged(), "larger of {} and {}, up to a whole {}", [
            parcel.actual.into(), parcel.by_size().into(), parcel.tariff.step.into(),
        ]),
    length_and_girth "Longest side and twice the two others." => Found::stated(parcel.length_and_girth()),
    longest "Longest length and girth together that the carrier takes; none where none is stated." =>
        parcel.tariff.longest.map(Found::stated),
    too_long "Whether it is longer than that." =>
        Found::stated(parcel.tariff.longest.is_some_and(|longest| parcel.length_and_girth() > longest)),
});
