//! The functions a plan can call, one file a subject of the trade. Each translates and calls; none computes.

mod colour;
mod drawn;
mod edition;
mod file;
mod film;
mod frame;
mod hanging;
mod light;
mod mount;
mod number;
mod packing;
mod paper;
pub(crate) mod practice;
mod price;
mod print;
mod scan;
mod time;

use std::collections::HashSet;
use std::sync::LazyLock;

use foldhash::fast::RandomState;
use rust_decimal::Decimal;

use super::args::{Args, Function};
use crate::measure::{Calendar, Day, Length, Money};
use crate::syntax::former;
use crate::trade::film::{Crop, Film};
use crate::trade::frame::{FloatFrame, RabbetFrame};
use crate::{Message, Value};

/// The functions of the trade by subject, in the order of the reference.
pub const SUBJECTS: &[(&str, &[Function])] = &[
    ("film", film::FUNCTIONS),
    ("scan", scan::FUNCTIONS),
    ("print", print::FUNCTIONS),
    ("colour", colour::FUNCTIONS),
    ("file", file::FUNCTIONS),
    ("paper", paper::FUNCTIONS),
    ("mount", mount::FUNCTIONS),
    ("frame", frame::FUNCTIONS),
    ("hanging", hanging::FUNCTIONS),
    ("light", light::FUNCTIONS),
    ("packing", packing::FUNCTIONS),
    ("time", time::FUNCTIONS),
    ("price", price::FUNCTIONS),
    ("edition", edition::FUNCTIONS),
    ("practice", practice::FUNCTIONS),
    ("number", number::FUNCTIONS),
    ("drawn", drawn::FUNCTIONS),
];

/// Every function of the trade.
pub fn all() -> impl Iterator<Item = &'static Function> {
    SUBJECTS.iter().flat_map(|(_, functions)| *functions)
}

/// The function of that name, or of a name it had before.
pub fn named(name: &str) -> Option<&'static Function> {
    let now = former::function(name);
    all().find(|one| one.name == now)
}

/// The name as the reference has it, when it is a function or a statement of ours, or was one under that name.
pub(crate) fn listed(name: &str) -> Option<&'static str> {
    static NAMES: LazyLock<HashSet<&'static str, RandomState>> = LazyLock::new(|| {
        all().map(|one| one.name).chain(super::statements::STATEMENTS.iter().map(|(name, ..)| *name)).collect()
    });
    NAMES.get(former::function(name)).copied()
}

/// Whether the language has a function of that name for plain numbers, which this one stands in for.
pub(crate) fn has_plain_kin(function: &Function) -> bool {
    number::FUNCTIONS.iter().any(|one| one.name == function.name)
}

/// A film, or the part of one that a crop keeps.
fn film_at<'a>(a: &'a Args<'_>, place: usize) -> Result<&'a Film, Message> {
    match a.is::<Crop>(place) {
        Some(crop) => Ok(crop.kept()),
        None => a.thing::<Film>(place, "film", "a film or a crop", "film(\"6x17\")"),
    }
}

/// Width and height: a list of two lengths, or anything with a size, such as a print.
fn size_at(a: &Args<'_>, place: usize, name: &str) -> Result<(Length, Length), Message> {
    if let Some(Value::Thing(thing)) = a.values.get(place)
        && let Some(size) = thing.part("size")
    {
        return Args { function: a.function, values: &[size.value] }.width_and_height(0, name);
    }
    a.width_and_height(place, name)
}

fn length_or(a: &Args<'_>, place: usize, name: &str, usual: Length) -> Result<Length, Message> {
    if a.has(place) { a.length(place, name) } else { Ok(usual) }
}

fn number_or(a: &Args<'_>, place: usize, name: &str, usual: f64) -> Result<f64, Message> {
    if a.has(place) { a.number(place, name) } else { Ok(usual) }
}

/// Outside of a frame, or any size.
pub(crate) fn outside_at(a: &Args<'_>, place: usize) -> Result<(Length, Length), Message> {
    if let Some(frame) = a.is::<FloatFrame>(place) {
        return Ok(frame.outside());
    }
    match a.is::<RabbetFrame>(place) {
        Some(frame) => Ok(frame.outside()),
        None => size_at(a, place, "size"),
    }
}

/// A plain number as it was typed.
fn exactly(a: &Args<'_>, place: usize, name: &str) -> Result<Decimal, Message> {
    let number = a.number(place, name)?;
    Money::exactly(number).ok_or_else(|| a.wrong(place, name, "a plain number of at most 28 digits", "0.4"))
}

fn day_at(a: &Args<'_>, place: usize, name: &str) -> Result<Day, Message> {
    match a.values.get(place) {
        Some(Value::Day(day)) => Ok(*day),
        _ => Err(a.wrong(place, name, "a date", "date(\"2027-01-25\")")),
    }
}

/// Whole working days, a part of one counted as one.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in 0..=10 000")]
fn day_count(a: &Args<'_>, place: usize, name: &str) -> Result<u32, Message> {
    let days = a.days(place, name)?.to_days();
    if (0.0..=10_000.0).contains(&days) {
        Ok(days.ceil() as u32)
    } else {
        Err(a.wrong(place, name, "from 0 to 10 000 working days", "5.days"))
    }
}

/// Weekdays less the holidays listed, if any are.
fn calendar_at(a: &Args<'_>, place: usize) -> Result<Calendar, Message> {
    let wrong = || a.wrong(place, "holidays", "a list of dates", "holidays(2027)");
    match a.values.get(place) {
        None => Ok(Calendar::default()),
        Some(Value::List(all)) => {
            let days: Option<Vec<Day>> =
                all.iter().map(|one| if let Value::Day(day) = one { Some(*day) } else { None }).collect();
            Ok(Calendar::new(days.ok_or_else(wrong)?))
        }
        Some(_) => Err(wrong()),
    }
}
