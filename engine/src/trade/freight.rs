//! Freight: the weight a carrier charges for, real or by size, and how long a parcel may be.

use super::above_zero;
use crate::measure::{Density, Dims, Length, Mass, Quantity, Units, Volume};
use crate::{Found, Message, Value};

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
    /// Each side is rounded up to this before anything else.
    pub side_step: Option<Length>,
    /// The carrier's own factor, a volume over a weight.
    pub factor: Quantity,
    /// Whether it adds for handling and large packages as the common private carriers do.
    pub private: bool,
}

/// The dimensions of a carrier's factor: a volume over a weight.
const FACTOR: Dims = Dims([3, -1, 0, 0, 0, 0, 0, 0]);

const fn inch(name: &'static str, in3_per_lb: f64, longest: Option<Length>) -> Tariff {
    Tariff {
        name,
        density: Density::lb_ft3(1728.0 / in3_per_lb),
        step: Mass::lb(1.0),
        from: Volume::foot3(if longest.is_some() { 1.0 } else { 0.0 }),
        longest,
        side_step: Some(Length::inch(1.0)),
        factor: Quantity::new(in3_per_lb * (16_387_064.0 / 453.592_37), FACTOR).shown_always(Units::Inch),
        private: false,
    }
}

const fn metric(name: &'static str, cm3_per_kg: f64, side_step: Option<Length>) -> Tariff {
    Tariff {
        name,
        density: Density::kg_m3(1e6 / cm3_per_kg),
        step: Mass::kg(0.5),
        from: Volume::ZERO,
        longest: None,
        side_step,
        factor: Quantity::new(cm3_per_kg * 1e3, FACTOR).shown_always(Units::Metric),
        private: false,
    }
}

/// When the limits and surcharges below were read; tariffs change.
pub const READ: &str = "limits and surcharges as published for January 2026; check the current tariff";
/// What a large package is charged for at least. Source: carriers' pages, January 2026 (read).
const LARGE: Mass = Mass::lb(90.0);

const TARIFFS: &[Tariff] = &[
    // Source: USPS Domestic Mail Manual: 166 in³/lb above 1 ft³ (read in a secondary page); length and girth at most
    // 108 in, ground service 130 in (read in Quick Service Guide 201e, 2021 archive).
    inch("postal", 166.0, Some(Length::inch(108.0))),
    inch("postal ground", 166.0, Some(Length::inch(130.0))),
    // Source: IATA, 6000 cm³/kg (read in an airport's page); half kilograms (from memory).
    metric("air", 6000.0, None),
    // Source: parcelindustry.com article 6567: 139 in³/lb, each side up to the next whole inch since 18 August 2025 (read);
    // length and girth at most 165 in: carriers' glossaries (read).
    Tariff { private: true, from: Volume::ZERO, ..inch("courier", 139.0, Some(Length::inch(165.0))) },
    // Source: couriers' help pages: 5000 cm³/kg, sides up to the centimetre, half kilograms (read in secondary pages).
    metric("courier metric", 5000.0, Some(Length::cm(1.0))),
];

impl Tariff {
    /// A tariff by its name.
    ///
    /// # Errors
    /// When there is none of that name.
    pub fn named(name: &str) -> Result<Self, Message> {
        TARIFFS.iter().find(|one| one.name.eq_ignore_ascii_case(name.trim())).copied().ok_or_else(|| {
            let names: Vec<_> = TARIFFS.iter().map(|one| one.name).collect();
            Message::new(
                format!("no tariff is called `{name}`"),
                format!("use one of {}, or give the carrier's factor: `139.inch3 / 1.lb`", names.join(", ")),
            )
        })
    }

    /// A tariff of your own, from the volume that costs as much as one unit of weight: its quantity is a volume over a
    /// weight.
    ///
    /// # Errors
    /// When the factor is zero or less.
    pub fn own(volume_per_mass: Quantity) -> Result<Self, Message> {
        above_zero("factor", volume_per_mass)?;
        let density = Density::of(Quantity::new(1.0 / volume_per_mass.value, Density::DIMS));
        // A factor in whole cubic centimetres to the kilogram is a metric one, and so are its steps.
        let whole = volume_per_mass.value / 1e3;
        let is_metric = (whole - whole.round()).abs() < 1e-6;
        Ok(Self {
            name: "own",
            density: density.unwrap_or_default(),
            step: if is_metric { Mass::kg(0.5) } else { Mass::lb(1.0) },
            from: Volume::ZERO,
            longest: None,
            side_step: None,
            factor: volume_per_mass.shown_always(if is_metric { Units::Metric } else { Units::Inch }),
            private: false,
        })
    }
}

/// Freight classes: from so many pounds to the cubic foot. Source: NMFC 13-step density scale, Docket 2025-1, from 19 July 2025
/// (steps 11 to 13 read at help.nmfta.org 32790591446427, the others in a page of item 48395).
const CLASSES: &[(f64, f64)] = &[
    (50.0, 50.0),
    (35.0, 55.0),
    (30.0, 60.0),
    (22.5, 65.0),
    (15.0, 70.0),
    (12.0, 85.0),
    (10.0, 92.5),
    (8.0, 100.0),
    (6.0, 125.0),
    (4.0, 175.0),
    (2.0, 250.0),
    (1.0, 300.0),
    (0.0, 400.0),
];

/// The freight class of a crate by its density, pallet and all: an estimate, as framed glass and art often carry a note of their own.
///
/// # Errors
/// When a side or the weight is zero or less.
pub fn class(sides: [Length; 3], weight: Mass) -> Result<Found, Message> {
    for side in sides {
        above_zero("side of the crate", side)?;
    }
    above_zero("weight", weight)?;
    let [width, height, depth] = sides;
    let volume = width * height * depth;
    above_zero("volume of the crate", volume)?;
    let density = weight.to_lb() / volume.to_foot3();
    let class = CLASSES.iter().find(|(from, _)| density >= *from - 1e-9).map_or(400.0, |(_, class)| *class);
    Ok(Found::by(class, "{} ÷ {}, by density", [weight.into(), volume.into()]))
}

/// A parcel and what it is charged for.
#[derive(Clone, Debug, PartialEq)]
pub struct Parcel {
    sides: [Length; 3],
    /// Length and girth as measured round a tube; of a box they follow from its sides.
    round: Option<Length>,
    tariff: Tariff,
    actual: Mass,
}

impl Parcel {
    /// A parcel of three sides in any order; `actual` is what it weighs, zero where that is not yet known.
    ///
    /// # Errors
    /// When a side is zero or less.
    pub fn new(sides: [Length; 3], tariff: Tariff, actual: Mass) -> Result<Self, Message> {
        for side in sides {
            above_zero("side of the parcel", side)?;
        }
        super::zero_or_more("weight", actual)?;
        above_zero("step of the weight", tariff.step)?;
        let up = |side: Length| tariff.side_step.map_or(side, |step| step * ((side - Length::SLACK) / step).ceil());
        let parcel = Self { sides: sides.map(up), round: None, tariff, actual };
        above_zero("volume of the parcel", parcel.volume())?;
        above_zero("weight by size", parcel.by_size())?;
        Ok(parcel)
    }

    /// The same for a tube, whose girth is measured round it.
    #[must_use]
    pub fn measured_round(self, length_and_girth: Length) -> Self {
        Self { round: Some(length_and_girth), ..self }
    }

    /// Its volume, by sides rounded as the tariff says.
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
        // Of a parcel not weighed yet nothing is known but its size.
        let counts = self.volume() > self.tariff.from || self.actual == Mass::ZERO;
        let by_size = if counts { self.by_size() } else { Mass::ZERO };
        let least = if self.large().is_empty() { Mass::ZERO } else { LARGE };
        let heavier = self.actual.max(by_size).max(least);
        self.tariff.step * (heavier / self.tariff.step - 1e-9).ceil().max(0.0)
    }

    /// Longest side + 2 × the two others, or as measured round a tube.
    pub fn length_and_girth(&self) -> Length {
        self.round.unwrap_or_else(|| self.girthed())
    }

    fn girthed(&self) -> Length {
        let [a, b, c] = self.sides;
        (a + b + c) * 2.0 - a.max(b).max(c)
    }

    /// The sides, longest first.
    fn ordered(&self) -> [Length; 3] {
        let mut sides = self.sides;
        sides.sort_by(|a, b| b.to_mm().total_cmp(&a.to_mm()));
        sides
    }

    /// Why a private carrier takes it as a large package, which replaces additional handling.
    ///
    /// Source: longest over 96 in, length and girth over 130 in, over 17 280 in³, over 110 lb: carriers' pages for January 2026
    /// (read).
    fn large(&self) -> Vec<&'static str> {
        let [long, ..] = self.ordered();
        self.reasons([
            (long > Length::inch(96.0), "longest side over 96 in"),
            (self.girthed() > Length::inch(130.0), "length and girth over 130 in"),
            (self.volume() > Volume::inch3(17_280.0), "over 17 280 cubic inches"),
            (self.actual > Mass::lb(110.0), "over 110 lb"),
        ])
    }

    /// Why a private carrier adds for handling.
    ///
    /// Source: longest over 48 in, second over 30 in, length and girth over 105 in, over 10 368 in³, over 50 lb: surcharge pages
    /// for January 2026 (read; one carrier means to drop the 105 in).
    fn handling(&self) -> Vec<&'static str> {
        let [long, second, _] = self.ordered();
        self.reasons([
            (long > Length::inch(48.0), "longest side over 48 in"),
            (second > Length::inch(30.0), "second side over 30 in"),
            (self.girthed() > Length::inch(105.0), "length and girth over 105 in"),
            (self.volume() > Volume::inch3(10_368.0), "over 10 368 cubic inches"),
            (self.actual > Mass::lb(50.0), "over 50 lb"),
        ])
    }

    fn reasons<const N: usize>(&self, all: [(bool, &'static str); N]) -> Vec<&'static str> {
        all.into_iter().filter(|(so, _)| *so && self.tariff.private).map(|(_, why)| why).collect()
    }

    /// What a private carrier adds to its price, in words.
    fn surcharge(&self) -> String {
        match (self.large(), self.handling()) {
            (large, _) if !large.is_empty() => format!("large package: {}", large.join(", ")),
            (_, handling) if !handling.is_empty() => format!("additional handling: {}", handling.join(", ")),
            _ => "none known".to_owned(),
        }
    }
}

thing!(Parcel, "a parcel", |parcel| vec![
    "parcel, ".into(), Value::List(parcel.sides.into_iter().map(Value::from).collect()), ", charged ".into(), parcel.charged().into(),
], {
    volume "What it takes up." => Found::by(parcel.volume(), "{} × {} × {}", parcel.sides.map(Value::from)),
    by_size "The weight its size stands for." =>
        Found::by(parcel.by_size(), "{} ÷ {}", [parcel.volume().into(), Value::Quantity(parcel.tariff.factor)]),
    sides "Its sides as the tariff counts them." => Found::stated(Value::List(parcel.sides.into_iter().map(Value::from).collect())),
    surcharge "Why a private carrier adds to its price: a large package, else additional handling; the post's own fees are not known." =>
        Found::stated(parcel.surcharge()),
    read "When the limits were read." => Found::stated(READ),
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
