//! What is usual in the trade and stands in no standard: the defaults, each to be changed by whoever knows better.

use super::{edition, frame, hanging, light, price, print};
use crate::measure::{Days, Length, Resolution};
use crate::{Found, Message, Value};

/// How a habit of the trade is written down.
enum Usual {
    /// One value.
    One(fn() -> Value),
    /// From and to.
    Range(fn() -> Value, fn() -> Value),
    /// Words.
    Words(&'static str),
}

use Usual::{One, Range, Words};

fn share(text: &str) -> Value {
    text.parse::<f64>().map_or(Value::Nothing, Value::from)
}

// Source of every row: common practice, no source; said by people who do it, and open to correction by any shop.
const USUAL: &[(&str, Usual)] = &[
    ("print resolution", One(|| Resolution::ppi(300.0).into())),
    ("large print", Range(|| Length::inch(24.0).into(), || Length::inch(72.0).into())),
    ("export", Words("16-bit TIFF, RGB, uncompressed or compressed without loss")),
    ("board thickness", One(|| Length::inch(0.75).into())),
    ("surface", Words("luster laminate over a high-gloss print; the laminate takes the place of glazing")),
    ("frame", Words("float frame, without a mat")),
    ("float gap", Range(|| Length::inch(0.25).into(), || Length::inch(0.375).into())),
    ("proof", Words("a small proof of the whole picture before the print at full size")),
    ("framing time", One(|| Days::days(5.0).into())),
    ("artist's proofs", One(|| edition::PROOFS.into())),
    ("gallery commission", Range(|| share(price::COMMISSION.0), || share(price::COMMISSION.1))),
    ("hanging centre", Range(|| Length::inch(57.0).into(), || Length::inch(60.0).into())),
    ("safety factor", One(|| hanging::FACTOR.into())),
    ("viewing distance", Range(|| print::VIEWED_FROM_DIAGONALS.into(), || 2.0.into())),
    ("aiming angle", One(|| light::AIM.into())),
    ("mat bottom", Range(|| Length::inch(0.25).into(), || Length::inch(1.0).into())),
    ("frame allowance", One(|| frame::ALLOWANCE.into())),
    ("mitre waste", One(|| frame::MITRE_FACES.into())),
    ("core", One(|| super::tube::CORE.into())),
    ("bleed", One(|| Length::inch(0.25).into())),
    ("mural bleed", One(|| Length::inch(1.0).into())),
    ("roll margin", One(|| super::roll::MARGIN.into())),
];

/// What is usual, by name.
///
/// # Errors
/// When nothing here has that name.
pub fn usual(name: &str) -> Result<Found, Message> {
    let found = USUAL.iter().find(|(one, _)| super::spelling::is_same(one, name)).ok_or_else(|| {
        let names: Vec<_> = USUAL.iter().map(|(name, _)| *name).collect();
        Message::new(format!("no practice is called `{name}` here"), format!("ask for one of {}", names.join(", ")))
    })?;
    Ok(Found::stated(match &found.1 {
        One(value) => value(),
        Range(from, to) => Value::List(vec![from(), to()]),
        Words(words) => Value::from(*words),
    }))
}

/// A measure of a shop that a piece is held against.
#[derive(Clone, Debug, PartialEq)]
pub enum Bound {
    /// The shorter side goes through this: a roll, a laminator, a press.
    Short(Length),
    /// The longer side is at most this: a stick, a van.
    Long(Length),
    /// The piece lies on this, turned if need be: a board, a table.
    Both(Length, Length),
}

/// A piece held against what a shop can do.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    size: (Length, Length),
    bounds: Vec<(String, Bound)>,
}

impl Limits {
    /// A piece of `size` against each of `bounds`, by name.
    ///
    /// # Errors
    /// When a length is zero or less, or there is no bound.
    pub fn new(size: (Length, Length), bounds: Vec<(String, Bound)>) -> Result<Self, Message> {
        super::above_zero("width of the piece", size.0)?;
        super::above_zero("height of the piece", size.1)?;
        if bounds.is_empty() || bounds.len() > 100 {
            return Err(Message::new(
                format!("{} limits are not something to hold a piece against", bounds.len()),
                "list 1 to 100 of them: `[[\"laminator\", 61.inch]]`",
            ));
        }
        for (name, bound) in &bounds {
            let (Bound::Short(one) | Bound::Long(one) | Bound::Both(one, _)) = bound;
            super::above_zero(name, *one)?;
            if let Bound::Both(_, other) = bound {
                super::above_zero(name, *other)?;
            }
        }
        Ok(Self { size, bounds })
    }

    /// The limits that are not kept, each with its excess in words.
    pub fn broken(&self) -> Vec<String> {
        self.each().filter_map(|(name, excess)| excess.map(|excess| format!("{name}: {excess}"))).collect()
    }

    /// Every limit by name, with the excess in words where it is not kept.
    pub fn each(&self) -> impl Iterator<Item = (&str, Option<String>)> {
        let (short, long) = (self.size.0.min(self.size.1), self.size.0.max(self.size.1));
        let over = |side: Length, limit: Length| {
            let excess = super::said(side - limit);
            (side > limit + Length::mm(1e-6)).then(|| format!("{excess} over {}", super::said(limit)))
        };
        self.bounds.iter().map(move |(name, bound)| {
            let excess = match bound {
                Bound::Short(limit) => over(short, *limit),
                Bound::Long(limit) => over(long, *limit),
                Bound::Both(a, b) => over(long, a.max(*b)).or_else(|| over(short, a.min(*b))),
            };
            (name.as_str(), excess)
        })
    }
}

thing!(Limits, "a piece held against limits", |all| vec![if all.broken().is_empty() {
    "within every limit".into()
} else {
    Value::Text(all.broken().join("; "))
}], {
    all "Whether every limit is kept." => Found::stated(all.broken().is_empty()),
    broken "The limits that are not kept, each with its excess." =>
        Found::stated(Value::List(all.broken().into_iter().map(Value::from).collect())),
    count "How many limits the piece was held against." => Found::stated(i64::try_from(all.bounds.len()).unwrap_or(i64::MAX)),
});

/// A currency's digits after the point. Source: ISO 4217, minor units.
///
/// # Errors
/// When a plan cannot use the currency.
pub fn minor_units(code: &str) -> Result<Found, Message> {
    crate::measure::Currency::of(code.trim()).map(|one| Found::stated(one.places)).ok_or_else(|| {
        Message::new(
            format!("no currency here is called `{code}`"),
            "use its three letters in ISO 4217, such as USD, EUR or JPY",
        )
    })
}
