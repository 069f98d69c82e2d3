//! Public holidays of the United States, on the days offices keep them.
//!
//! A private shop keeps its own list; this one is a start.

use crate::Message;
use crate::measure::Day;

/// A holiday, the day it falls on and the day it is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Holiday {
    /// Its name in the statute, in short.
    pub name: &'static str,
    /// The day itself.
    pub date: Day,
    /// The day off: the Friday before a Saturday, the Monday after a Sunday.
    pub observed: Day,
}

/// How the statute names a day.
enum When {
    /// A day of a month.
    On(i8, i8),
    /// The nth Monday or Thursday of a month: month, weekday (Monday is 0), which.
    Nth(i8, i64, i64),
    /// The last Monday of a month.
    LastMonday(i8),
}

const MONDAY: i64 = 0;
const THURSDAY: i64 = 3;

// Source: 5 U.S.C. 6103(a) (read).
const FEDERAL: &[(&str, When)] = &[
    ("New Year's Day", When::On(1, 1)),
    ("Birthday of Martin Luther King, Jr.", When::Nth(1, MONDAY, 3)),
    ("Washington's Birthday", When::Nth(2, MONDAY, 3)),
    ("Memorial Day", When::LastMonday(5)),
    ("Juneteenth National Independence Day", When::On(6, 19)),
    ("Independence Day", When::On(7, 4)),
    ("Labor Day", When::Nth(9, MONDAY, 1)),
    ("Columbus Day", When::Nth(10, MONDAY, 2)),
    ("Veterans Day", When::On(11, 11)),
    ("Thanksgiving Day", When::Nth(11, THURSDAY, 4)),
    ("Christmas Day", When::On(12, 25)),
];

/// The federal holidays whose date falls in a year, as the law stands since 2021. New Year's Day may be kept on the last
/// day of the year before.
///
/// Source: 5 U.S.C. 6103(a); Saturday to Friday, 6103(b)(1) (read); Sunday to Monday, Executive Order 11582 (from memory).
///
/// # Errors
/// When the year is before 2021 or past 9998.
pub fn federal(year: i16) -> Result<Vec<Holiday>, Message> {
    let outside = || Message::new(format!("the holidays of {year} are not known"), "ask for a year from 2021 to 9998");
    if !(2021..=9998).contains(&year) {
        return Err(outside());
    }
    FEDERAL.iter().map(|(name, when)| kept(name, when.day(year)?)).collect::<Option<_>>().ok_or_else(outside)
}

/// The days off of a year: those whose date falls in it, and New Year's Day of the next where it is kept on 31 December.
///
/// # Errors
/// As [`federal`].
pub fn days_off(year: i16) -> Result<Vec<Day>, Message> {
    let own = federal(year)?.into_iter().map(|one| one.observed);
    let next = Day::new(year + 1, 1, 1).and_then(|day| kept("New Year's Day", day)).map(|one| one.observed);
    Ok(own.chain(next.filter(|day| day.numbers().0 == year)).collect())
}

fn kept(name: &'static str, date: Day) -> Option<Holiday> {
    let observed = match weekday(date) {
        5 => date.plus(-1)?,
        6 => date.plus(1)?,
        _ => date,
    };
    Some(Holiday { name, date, observed })
}

impl When {
    fn day(&self, year: i16) -> Option<Day> {
        match *self {
            Self::On(month, day) => Day::new(year, month, day),
            Self::Nth(month, wanted, nth) => {
                let first = Day::new(year, month, 1)?;
                first.plus((wanted - weekday(first)).rem_euclid(7) + (nth - 1) * 7)
            }
            Self::LastMonday(month) => {
                let next = Day::new(year, month + 1, 1)?;
                next.plus(-1 - (weekday(next) + 6).rem_euclid(7))
            }
        }
    }
}

/// Days since Monday.
fn weekday(day: Day) -> i64 {
    // 1 January 2001 was a Monday.
    Day::new(2001, 1, 1).map_or(0, |monday| monday.until(day).rem_euclid(7))
}
