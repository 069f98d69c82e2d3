//! The copies of the record in a notebook: where they lie and what they are called.

use std::fs;
use std::path::{Path, PathBuf};

use engine::measure::Day;

/// Where the copies lie.
pub const FOLDER: &str = ".makeready-copies";
/// How the name begins of a copy of a record that was lost while it was in use; the count of its writes follows.
pub(super) const RESCUED: &str = "makeready-rescued-";

/// The copies of each day, oldest first: their names are their days.
pub(crate) fn all(place: &Path) -> Vec<PathBuf> {
    let of_a_day = |name: &str| {
        let day = name.strip_prefix("makeready-").and_then(|rest| rest.strip_suffix(".db"));
        day.and_then(Day::parse).is_some()
    };
    let mut all = named(place, of_a_day);
    all.sort();
    all
}

/// The copies that were made of records that were lost while they were in use.
pub(crate) fn rescued(place: &Path) -> Vec<PathBuf> {
    named(place, |name| name.starts_with(RESCUED) && name.ends_with(".db"))
}

/// The files there whose names are of a kind.
fn named(place: &Path, is_one: impl Fn(&str) -> bool) -> Vec<PathBuf> {
    let entries = fs::read_dir(place).into_iter().flatten().flatten();
    entries.filter(|entry| is_one(&entry.file_name().to_string_lossy())).map(|entry| entry.path()).collect()
}
