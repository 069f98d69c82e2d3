//! The days of a piece laid out at once: which steps decide the end, and how long each of the others can wait.

use std::ops::Add;

use super::{Message, Value};
use crate::Found;
use crate::measure::{Calendar, Day, Days};

/// Most steps of one schedule.
const MOST: usize = 200;
/// Most working days of one step.
const LONGEST: u32 = 1000;

/// One thing to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// What it is called.
    pub name: String,
    /// How many working days it takes.
    pub days: u32,
    /// The steps above it that it waits for.
    pub after: Vec<String>,
}

/// A step with its earliest first day, counted in working days from the start.
#[derive(Clone, Debug, PartialEq, Eq)]
struct DatedStep {
    step: Step,
    early: i64,
    /// How many working days it can wait.
    float: i64,
}

/// How long each of some steps can be put off: up to what waits for it, each after a `gap`, and as long as that can be put off
/// itself; what nothing waits for, up to the end of all. Only steps further down wait for one.
///
/// Source: total float of the critical path method, latest days backwards (identity).
pub(crate) fn floats<T: Copy + Default + Ord + Add<Output = T>>(
    count: usize,
    waits: impl Fn(usize, usize) -> bool,
    gap: impl Fn(usize, Option<usize>) -> T,
) -> Vec<T> {
    let mut floats = vec![T::default(); count];
    for index in (0..count).rev() {
        let below = (index + 1..count).zip(floats.iter().skip(index + 1));
        let waiting = below.filter(|(other, _)| waits(*other, index));
        let least = waiting.map(|(other, float)| gap(index, Some(other)) + *float).min();
        if let Some(float) = floats.get_mut(index) {
            *float = least.unwrap_or_else(|| gap(index, None));
        }
    }
    floats
}

/// Steps that wait for each other, from a start and perhaps up to an opening.
#[derive(Clone, Debug, PartialEq)]
pub struct Schedule {
    steps: Vec<DatedStep>,
    start: Day,
    calendar: Calendar,
    length: i64,
    room: Option<i64>,
}

impl Schedule {
    /// Lays steps out from the first working day on or after `start`. With an `opening`, everything is to be done on the
    /// working day before it, and what is to spare is counted up to there.
    ///
    /// Source: critical path method: earliest days forwards, latest days backwards (identity).
    ///
    /// # Errors
    /// When there are no steps or over 200, one takes over 1000 days, two have one name, or one waits for a step that
    /// does not stand above it.
    pub fn new(steps: Vec<Step>, start: Day, opening: Option<Day>, calendar: Calendar) -> Result<Self, Message> {
        if steps.is_empty() || steps.len() > MOST {
            return Err(Message::new(
                format!("a schedule of {} steps", steps.len()),
                format!("list 1 to {MOST} steps, such as `[\"Scan\", 7.days]`"),
            ));
        }
        let mut placed: Vec<DatedStep> = Vec::new();
        for step in steps {
            if step.days > LONGEST {
                return Err(Message::new(
                    format!("`{}` takes {} working days", step.name, step.days),
                    format!("give it from 0 to {LONGEST} working days"),
                ));
            }
            if placed.iter().any(|one| one.step.name == step.name) {
                return Err(Message::new(
                    format!("two steps are called `{}`", step.name),
                    "give each step a name of its own",
                ));
            }
            let mut early = 0;
            for before in &step.after {
                let Some(one) = placed.iter().find(|one| one.step.name == *before) else {
                    return Err(Message::new(
                        format!("`{}` waits for `{before}`, and no step above is called so", step.name),
                        "list a step below those it waits for, and write their names as they are",
                    ));
                };
                early = early.max(one.end());
            }
            placed.push(DatedStep { step, early, float: 0 });
        }
        let length = placed.iter().map(DatedStep::end).max().unwrap_or(0);
        let first = calendar.on_or_after(start).ok_or_else(past)?;
        let room = opening.map(|opening| i64::from(calendar.between(first, opening)));
        let last = room.unwrap_or(length);
        let waits = |other: usize, one: usize| match (placed.get(other), placed.get(one)) {
            (Some(other), Some(one)) => other.step.after.contains(&one.step.name),
            _ => false,
        };
        let gap = |one: usize, other: Option<usize>| {
            let begins = other.and_then(|other| placed.get(other)).map_or(last, |other| other.early);
            begins - placed.get(one).map_or(0, DatedStep::end)
        };
        let floats = floats(placed.len(), waits, gap);
        placed.iter_mut().zip(floats).for_each(|(one, float)| one.float = float);
        let schedule = Self { steps: placed, start: first, calendar, length, room };
        schedule.end().ok_or_else(past)?;
        Ok(schedule)
    }

    fn day(&self, offset: i64) -> Option<Day> {
        match u32::try_from(offset) {
            Ok(offset) => self.calendar.plus(self.start, offset),
            Err(_) => back(self.start, u32::try_from(-offset).ok()?, &self.calendar),
        }
    }

    /// The day the last step ends.
    pub fn end(&self) -> Option<Day> {
        self.day((self.length - 1).max(0))
    }

    /// Working days from the first step to the last.
    pub fn length(&self) -> Days {
        days(self.length)
    }

    /// The steps of which none may slip: those with the least to spare.
    pub fn critical(&self) -> Vec<&str> {
        let least = self.steps.iter().map(|one| one.float).min().unwrap_or(0);
        self.steps.iter().filter(|one| one.float == least).map(|one| one.step.name.as_str()).collect()
    }

    fn named(&self, name: &str) -> Result<&DatedStep, Message> {
        self.steps.iter().find(|one| one.step.name == name).ok_or_else(|| {
            let names: Vec<_> = self.steps.iter().map(|one| one.step.name.as_str()).collect();
            Message::new(
                format!("no step of this schedule is called `{name}`"),
                format!("use one of {}", names.join(", ")),
            )
        })
    }

    /// How many working days a step can wait before the end, or the opening, moves; below zero it is late already.
    ///
    /// # Errors
    /// When no step has that name.
    pub fn spare(&self, name: &str) -> Result<Found, Message> {
        let one = self.named(name)?;
        Ok(Found::by(
            days(one.float),
            "day {} at the latest − day {} at the earliest",
            [Value::Whole(one.late() + 1), Value::Whole(one.early + 1)],
        ))
    }

    /// The first day of a step at the earliest.
    ///
    /// # Errors
    /// When no step has that name.
    pub fn earliest(&self, name: &str) -> Result<Found, Message> {
        let one = self.named(name)?;
        self.day(one.early).map(Found::stated).ok_or_else(past)
    }

    /// The first day of a step at the latest.
    ///
    /// # Errors
    /// When no step has that name.
    pub fn latest(&self, name: &str) -> Result<Found, Message> {
        let one = self.named(name)?;
        self.day(one.late()).map(Found::stated).ok_or_else(past)
    }
}

impl DatedStep {
    fn end(&self) -> i64 {
        self.early + i64::from(self.step.days)
    }

    /// The latest first day.
    fn late(&self) -> i64 {
        self.early + self.float
    }
}

#[expect(clippy::cast_precision_loss, reason = "at most 1000 steps of 1000 days")]
fn days(count: i64) -> Days {
    Days::days(count as f64)
}

fn past() -> Message {
    Message::new("that day lies outside the calendar", "use fewer days")
}

thing!(Schedule, "a schedule", |plan| vec![
    "schedule of ".into(), days(plan.length).into(), " to ".into(), plan.end().map_or(Value::Nothing, Value::from),
], {
    days "Working days from the first step to the last." => Found::stated(days(plan.length)),
    start "The first day worked." => Found::stated(plan.start),
    end "The day the last step ends." => plan.end().map(Found::stated),
    critical "The steps that decide the end: if one of them slips, the end slips." =>
        Found::stated(Value::List(plan.critical().into_iter().map(Value::from).collect())),
    to_spare "Working days between the end and the opening; zero when no opening was told, below zero when it is missed." =>
        Found::stated(days(plan.room.map_or(0, |room| room - plan.length))),
    spares "Each step and how many working days it can wait." => Found::stated(Value::List(
        plan.steps.iter().map(|one| Value::List(vec![one.step.name.as_str().into(), days(one.float).into()])).collect(),
    )),
});

fn back(day: Day, count: u32, calendar: &Calendar) -> Option<Day> {
    let mut day = day;
    for _ in 0..count {
        day = day.plus(-1)?;
        while !calendar.is_worked(day) {
            day = day.plus(-1)?;
        }
    }
    Some(day)
}

/// The day work must begin so that so many working days are done before `day`, which itself is not worked on.
///
/// # Errors
/// When there are over 10 000 days, or the calendar ends before.
pub fn start_by(day: Day, count: u32, calendar: &Calendar) -> Result<Found, Message> {
    if count > 10_000 {
        return Err(Message::new(format!("{count} working days"), "give from 0 to 10 000 working days"));
    }
    let begin = back(day, count, calendar).ok_or_else(past)?;
    Ok(Found::by(begin, "{} working days before {}", [count.into(), day.into()]))
}

/// Working days from one day up to but not including another.
///
/// # Errors
/// When the second day is before the first, or over a hundred years after it.
pub fn count(from: Day, to: Day, calendar: &Calendar) -> Result<Found, Message> {
    if to < from || from.until(to) > 36_600 {
        return Err(Message::new(
            format!("{to} is not a day within a hundred years after {from}"),
            "give the earlier day first",
        ));
    }
    let count = calendar.between(from, to);
    Ok(Found::by(days(count.into()), "weekdays from {} up to {}, less holidays", [from.into(), to.into()]))
}

/// The day of the year as ISO 8601 writes it: `2026-365`.
///
/// Source: ISO 8601-1 (ordinal date; from memory).
pub fn ordinal(day: Day) -> Found {
    let (year, ..) = day.numbers();
    let number = Day::new(year, 1, 1).map_or(1, |first| first.until(day) + 1);
    Found::stated(format!("{year:04}-{number:03}"))
}
