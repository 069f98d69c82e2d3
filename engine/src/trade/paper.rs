//! Paper by name: the sheet sizes a shop orders.

use super::pair;
use crate::measure::Length;
use crate::{Found, Message};

/// One inch size and its name.
struct SheetSize {
    name: &'static str,
    short: f64,
    long: f64,
}

const fn inch(name: &'static str, short: f64, long: f64) -> SheetSize {
    SheetSize { name, short, long }
}

// Source: ANSI/ASME Y14.1; A to E read in a web table, ARCH D and E1 read in another, the other ARCH sizes from memory.
const INCH_SHEETS: &[SheetSize] = &[
    inch("ANSI A", 8.5, 11.0),
    inch("ANSI B", 11.0, 17.0),
    inch("ANSI C", 17.0, 22.0),
    inch("ANSI D", 22.0, 34.0),
    inch("ANSI E", 34.0, 44.0),
    inch("ARCH A", 9.0, 12.0),
    inch("ARCH B", 12.0, 18.0),
    inch("ARCH C", 18.0, 24.0),
    inch("ARCH D", 24.0, 36.0),
    inch("ARCH E", 36.0, 48.0),
    inch("ARCH E1", 30.0, 42.0),
];

/// Longest sides of the sheets that all others are halved from, in millimetres. Source: ISO 216 (A table read, B from
/// memory).
const A0: (u32, u32) = (841, 1189);
const B0: (u32, u32) = (1000, 1414);

/// Short and long side of a sheet by its name: `A2`, `B1`, `ANSI C`, `ARCH D`.
///
/// ISO sheets are halved across the long side and cut to the whole millimetre below. Source: ISO 216 (from memory).
///
/// # Errors
/// When no sheet has that name.
pub fn sheet_size(name: &str) -> Result<(Length, Length), Message> {
    let plain = name.trim().to_uppercase();
    if let Some(size) = iso(&plain) {
        return Ok(size);
    }
    let found = INCH_SHEETS.iter().find(|one| one.name.replace(' ', "") == plain.replace(' ', ""));
    found.map(|one| (Length::inch(one.short), Length::inch(one.long))).ok_or_else(|| {
        let names: Vec<_> = INCH_SHEETS.iter().map(|one| one.name).collect();
        Message::new(
            format!("no sheet is called `{name}`"),
            format!("use A0 to A10, B0 to B10, {}, or write the size: `[24.inch, 36.inch]`", names.join(", ")),
        )
    })
}

fn iso(name: &str) -> Option<(Length, Length)> {
    let ((mut short, mut long), halvings) = match name.split_at_checked(1)? {
        ("A", rest) => (A0, rest),
        ("B", rest) => (B0, rest),
        _ => return None,
    };
    let halvings: u32 = halvings.parse().ok().filter(|count| *count <= 10)?;
    for _ in 0..halvings {
        (short, long) = (long / 2, short);
    }
    Some((Length::mm(short.into()), Length::mm(long.into())))
}

/// As [`sheet_size`], as a width and a height.
///
/// # Errors
/// As [`sheet_size`].
pub fn found_size(name: &str) -> Result<Found, Message> {
    sheet_size(name).map(|(short, long)| Found::stated(pair(short, long)))
}
