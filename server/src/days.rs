//! Days as people enter and read them.

use engine::measure::Day;

use crate::error::Error;

/// A day as it was entered.
///
/// # Errors
/// When it is none.
pub(crate) fn entered(text: &str) -> Result<Day, Error> {
    Day::parse(text).ok_or_else(|| Error::unusable(format!("`{text}` is not a day"), "write it as 2026-11-25"))
}

/// A day of the record as a person reads it, with or without its time; what is not a day is shown as it is.
pub(crate) fn shown(stamp: &str) -> String {
    Day::parse(stamp.get(..10).unwrap_or(stamp)).map_or_else(|| stamp.to_owned(), |day| day.to_string())
}
