//! Civil days and the working days between them.

use std::collections::BTreeSet;
use std::fmt;

use jiff::civil::{Date, Weekday};

/// A day of the calendar, without hours or time zone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

impl Day {
    /// A day by number; nothing when the calendar has no such day.
    pub fn new(year: i16, month: i8, day: i8) -> Option<Self> {
        Date::new(year, month, day).ok().map(Self)
    }

    /// A day written as in ISO 8601, `2026-11-25`.
    pub fn parse(text: &str) -> Option<Self> {
        let plain = text.len() == 10 && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
        plain.then(|| text.parse().ok().map(Self)).flatten()
    }

    /// So many calendar days later; nothing past the end of the calendar (year 9999).
    pub fn plus(self, days: i64) -> Option<Self> {
        let span = jiff::Span::new().try_days(days).ok()?;
        self.0.checked_add(span).ok().map(Self)
    }

    /// Calendar days from `self` to `other`.
    pub fn until(self, other: Self) -> i64 {
        self.0.until(other.0).map_or(0, |span| i64::from(span.get_days()))
    }

    /// Saturday or Sunday.
    pub fn is_weekend(self) -> bool {
        matches!(self.0.weekday(), Weekday::Saturday | Weekday::Sunday)
    }

    /// As in ISO 8601: `2026-11-25`.
    pub fn iso(self) -> String {
        self.0.to_string()
    }

    /// Year, month and day.
    pub fn numbers(self) -> (i16, i8, i8) {
        (self.0.year(), self.0.month(), self.0.day())
    }

    /// The week of the year and the day of the week, Monday first: `2026-W53-5`.
    ///
    /// Source: ISO 8601-1 (the first week holds the first Thursday; from memory).
    pub fn week(self) -> String {
        let week = self.0.iso_week_date();
        format!("{}-W{:02}-{}", week.year(), week.week(), week.weekday().to_monday_one_offset())
    }

    /// Short, for a list: `Fri 27 Nov`.
    pub fn brief(self) -> String {
        self.0.strftime("%a %-d %b").to_string()
    }
}

impl From<Date> for Day {
    fn from(date: Date) -> Self {
        Self(date)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.strftime("%-d %B %Y"))
    }
}

/// Which days are worked: all but weekends and the holidays given.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Calendar {
    holidays: BTreeSet<Day>,
}

impl Calendar {
    /// A calendar with these days off besides weekends.
    pub fn new(holidays: impl IntoIterator<Item = Day>) -> Self {
        Self { holidays: holidays.into_iter().collect() }
    }

    /// Whether anyone works that day.
    pub fn is_worked(&self, day: Day) -> bool {
        !day.is_weekend() && !self.holidays.contains(&day)
    }

    /// The day itself when it is worked, else the next that is; nothing past year 9999.
    pub fn on_or_after(&self, day: Day) -> Option<Day> {
        let mut day = day;
        while !self.is_worked(day) {
            day = day.plus(1)?;
        }
        Some(day)
    }

    /// So many working days after `day`, which first rolls forward to a worked day. Nothing past year 9999.
    ///
    /// A task of five days that begins on `day` ends on `plus(day, 4)`.
    pub fn plus(&self, day: Day, days: u32) -> Option<Day> {
        let mut day = self.on_or_after(day)?;
        for _ in 0..days {
            day = self.on_or_after(day.plus(1)?)?;
        }
        Some(day)
    }

    /// Working days from `from` up to but not including `to`: five in each whole week, those of the rest of a week one by
    /// one, less the holidays among them.
    pub fn between(&self, from: Day, to: Day) -> u32 {
        let all = from.until(to).max(0);
        let (weeks, rest) = (all / 7, all % 7);
        let last = (0..rest).filter_map(|day| from.plus(day)).filter(|day| !day.is_weekend()).count();
        let off = if from < to { self.holidays.range(from..to).filter(|day| !day.is_weekend()).count() } else { 0 };
        // At most some three million days lie between the ends of the calendar.
        u32::try_from(weeks * 5).unwrap_or(u32::MAX) + u32::try_from(last).unwrap_or(0)
            - u32::try_from(off).unwrap_or(0)
    }
}

#[cfg(test)]
mod tests {
    use super::{Calendar, Day};

    #[test]
    fn working_days_between_two_days_are_those_counted_one_by_one() {
        let day = |text: &str| Day::parse(text).expect("a day");
        let holidays = ["2026-12-25", "2026-12-26", "2026-12-28", "2027-01-01"].map(day);
        let calendar = Calendar::new(holidays);
        let first = day("2026-12-14");
        for from in 0..30 {
            for to in 0..40 {
                let at = |days| first.plus(days).expect("a day");
                let counted = (from..to).filter(|days| calendar.is_worked(at(*days))).count();
                assert_eq!(calendar.between(at(from), at(to)) as usize, counted, "{from} {to}");
            }
        }
    }
}
