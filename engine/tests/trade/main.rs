//! Every calculation of the trade against something outside: a standard, a statute, a handbook, an identity.
//!
//! Beside each row stands where its value comes from and whether that was read, recalled from memory, or follows by
//! arithmetic (identity). `practice` means common practice, no source. The letter and number name the row in the
//! project's list of outside values.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests may")]

mod calendar;
mod colour;
mod cutting;
mod disclosure;
mod edition;
mod examples;
mod file;
mod film;
mod fit;
mod frame;
mod freight;
mod hanging;
mod lifting;
mod light;
mod limits;
mod mount;
mod nesting;
mod passage;
mod price;
mod print;
mod properties;
mod roll;
mod scan;
mod units;

use engine::measure::{Length, Quantity};
use engine::{Found, Trade, Value};

/// The number of a value: of a quantity in base units, or a plain one.
fn number(value: &Value) -> f64 {
    match value {
        Value::Quantity(Quantity { value, .. }) => *value,
        Value::Whole(value) => *value as f64,
        other => panic!("no number: {other:?}"),
    }
}

/// One part of a thing.
fn part(thing: &impl Trade, name: &str) -> Found {
    thing.part(name).unwrap_or_else(|| panic!("{} has no {name}", thing.kind()))
}

/// Two numbers agree to a share of themselves.
fn near(row: &str, got: f64, want: f64, rel: f64) {
    let apart = (got - want).abs();
    assert!(apart <= rel * want.abs().max(f64::MIN_POSITIVE), "{row}: got {got}, want {want}");
}

/// Two numbers agree to so much.
fn within(row: &str, got: f64, want: f64, by: f64) {
    assert!((got - want).abs() <= by, "{row}: got {got}, want {want} ± {by}");
}

/// A value that is a length, in inches.
fn inches(found: &Found) -> f64 {
    match &found.value {
        Value::Quantity(quantity) => Length::of(*quantity).expect("a length").to_inch(),
        other => panic!("no length: {other:?}"),
    }
}

/// A list of lengths, in inches.
fn all_inches(found: &Found) -> Vec<f64> {
    match &found.value {
        Value::List(all) => all.iter().map(|one| inches(&Found::stated(one.clone()))).collect(),
        other => panic!("no list: {other:?}"),
    }
}

fn inch(value: f64) -> Length {
    Length::inch(value)
}
