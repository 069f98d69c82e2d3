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
mod price;
mod print;
mod scan;

use super::args::{Args, Function};
use crate::measure::Length;
use crate::trade::film::{Crop, Film};
use crate::{Trouble, Value};

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
    ("price", price::FUNCTIONS),
    ("edition", edition::FUNCTIONS),
    ("number", number::FUNCTIONS),
    ("drawn", drawn::FUNCTIONS),
];

/// Every function of the trade.
pub fn all() -> impl Iterator<Item = &'static Function> {
    SUBJECTS.iter().flat_map(|(_, functions)| *functions)
}

/// Whether the language has a function of that name for plain numbers, which this one stands in for.
pub(crate) fn has_plain_kin(function: &Function) -> bool {
    number::FUNCTIONS.iter().any(|one| one.name == function.name)
}

/// A film, or the part of one that a crop keeps.
fn film_at<'a>(a: &'a Args<'_>, place: usize) -> Result<&'a Film, Trouble> {
    match a.is::<Crop>(place) {
        Some(crop) => Ok(crop.kept()),
        None => a.thing::<Film>(place, "film", "a film or a crop", "film(\"6x17\")"),
    }
}

/// Width and height: a list of two lengths, or anything with a size, such as a print.
fn size_at(a: &Args<'_>, place: usize, name: &str) -> Result<(Length, Length), Trouble> {
    if let Some(Value::Thing(thing)) = a.values.get(place)
        && let Some(size) = thing.part("size")
    {
        return Args { function: a.function, values: &[size.value] }.width_and_height(0, name);
    }
    a.width_and_height(place, name)
}

fn length_or(a: &Args<'_>, place: usize, name: &str, usual: Length) -> Result<Length, Trouble> {
    if a.has(place) { a.length(place, name) } else { Ok(usual) }
}

fn number_or(a: &Args<'_>, place: usize, name: &str, usual: f64) -> Result<f64, Trouble> {
    if a.has(place) { a.number(place, name) } else { Ok(usual) }
}
