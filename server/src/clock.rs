//! The only place that asks what time it is.

use engine::measure::Day;

/// Tells the day and the moment; tests give a fixed one.
#[derive(Clone, Copy, Debug, Default)]
pub enum Clock {
    /// The computer's.
    #[default]
    Computer,
    /// Always this day.
    Fixed(Day),
}

impl Clock {
    /// The day where the computer stands.
    pub fn today(self) -> Day {
        match self {
            Self::Fixed(day) => day,
            Self::Computer => {
                let date = jiff::Zoned::now().date();
                Day::from(date)
            }
        }
    }

    /// The moment in universal time, as in RFC 3339.
    pub fn moment(self) -> String {
        match self {
            Self::Fixed(day) => format!("{}T12:00:00Z", day.iso()),
            Self::Computer => jiff::Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        }
    }

    /// The moment so many days from now.
    pub fn moment_in(self, days: i32) -> String {
        match self {
            Self::Fixed(day) => format!("{}T12:00:00Z", day.plus(i64::from(days)).unwrap_or(day).iso()),
            Self::Computer => {
                let hours = jiff::SignedDuration::from_hours(24 * i64::from(days));
                let moment = jiff::Timestamp::now().checked_add(hours).unwrap_or(jiff::Timestamp::MAX);
                moment.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
            }
        }
    }
}
