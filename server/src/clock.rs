//! The only place that asks what time it is.

use std::time::SystemTime;

use engine::measure::Day;
use jiff::Timestamp;
use jiff::tz::TimeZone;

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
            Self::Computer => Day::from(moment(SystemTime::now()).to_zoned(TimeZone::system()).date()),
        }
    }

    /// The moment in universal time, as in RFC 3339.
    pub fn moment(self) -> String {
        match self {
            Self::Fixed(day) => format!("{}T12:00:00Z", day.iso()),
            Self::Computer => moment(SystemTime::now()).strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
        }
    }

    /// The moment so many days from now.
    pub fn moment_in(self, days: i32) -> String {
        match self {
            Self::Fixed(day) => format!("{}T12:00:00Z", day.plus(i64::from(days)).unwrap_or(day).iso()),
            Self::Computer => {
                let hours = jiff::SignedDuration::from_hours(24 * i64::from(days));
                let moment = moment(SystemTime::now()).checked_add(hours).unwrap_or(Timestamp::MAX);
                moment.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
            }
        }
    }
}

/// The moment a clock tells; a clock beyond the calendar, which ends with the year 9999, tells its end.
fn moment(time: SystemTime) -> Timestamp {
    let ends = if time > SystemTime::UNIX_EPOCH { Timestamp::MAX } else { Timestamp::MIN };
    Timestamp::try_from(time).unwrap_or(ends)
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, SystemTime};

    use jiff::tz::TimeZone;

    use super::moment;

    #[test]
    fn a_clock_beyond_the_calendar_tells_its_end() {
        // A thousand years after the last one the calendar has; a year has 31 556 952 seconds on average (identity).
        let beyond = SystemTime::UNIX_EPOCH + Duration::from_secs(9_030 * 31_556_952);
        for zone in [TimeZone::UTC, TimeZone::fixed(jiff::tz::offset(14)), TimeZone::fixed(jiff::tz::offset(-12))] {
            assert_eq!(moment(beyond).to_zoned(zone).date().year(), 9999);
        }
        let now = SystemTime::UNIX_EPOCH + Duration::from_secs(1_796_000_000);
        assert_eq!(moment(now).as_second(), 1_796_000_000);
    }
}
