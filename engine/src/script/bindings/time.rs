//! Days: weeks, working days counted and counted back, the steps that decide an end, and a calendar's entry.

use super::{calendar_at, day_at, day_count};
use crate::measure::Day;
use crate::script::args::{Args, Function};
use crate::trade::calendar_text::{AllDay, calendar};
use crate::trade::schedule::{self, Schedule, Step};
use crate::{Found, Message, Thing, Value};

const STEPS: (&str, &str) = (
    "a list of steps, each a name, its days and what it waits for",
    "[[\"Scan\", 7.days], [\"Clean\", 4.days, [\"Scan\"]]]",
);

fn step(a: &Args<'_>, step: &Value) -> Result<Step, Message> {
    let Value::List(all) = step else { return Err(a.wrong(0, "steps", STEPS.0, STEPS.1)) };
    let inner = Args { function: a.function, values: all };
    let after = match all.get(2) {
        None => Vec::new(),
        Some(Value::Text(one)) => vec![one.clone()],
        Some(Value::List(names)) => {
            let inner = Args { function: a.function, values: names };
            (0..names.len()).map(|at| inner.text(at, "earlier step").map(str::to_owned)).collect::<Result<_, _>>()?
        }
        Some(_) => return Err(inner.wrong(2, "earlier steps", "the names of steps above it", "[\"Scan\"]")),
    };
    Ok(Step { name: inner.text(0, "name of the step")?.to_owned(), days: day_count(&inner, 1, "time")?, after })
}

fn plan_at<'a>(a: &'a Args<'_>) -> Result<&'a Schedule, Message> {
    a.thing::<Schedule>(0, "schedule", "a schedule", "schedule([[\"Scan\", 7.days]], date(\"2027-01-04\"))")
}

/// A name that is the same each time for the same entry.
fn uid(what: &str, first: Day) -> String {
    let plain: String = what
        .chars()
        .map(|letter| if letter.is_ascii_alphanumeric() { letter.to_ascii_lowercase() } else { '-' })
        .take(40)
        .collect();
    format!("{}-{plain}@plan", first.iso())
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "schedule",
        takes: "steps, start, [opening], [holidays]",
        about: "Steps that wait for each other, from the first working day on or after the start: the day all is done, the steps that decide it, and how long each of the others can wait. Each step is a name, its working days, and the names of the steps above that it waits for. With an opening, all is to be done on the working day before it, and what is to spare is counted up to there. Source: critical path method (identity).",
        example: "schedule([[\"Scan\", 7.days], [\"Frame\", 5.days], [\"Print\", 3.days, [\"Scan\"]], [\"Hang\", 1.day, [\"Print\", \"Frame\"]]], date(\"2027-01-04\")).critical",
        call: |a| {
            let Some(Value::List(all)) = a.values.first() else { return Err(a.wrong(0, "steps", STEPS.0, STEPS.1)) };
            let steps = all.iter().map(|one| step(a, one)).collect::<Result<Vec<_>, _>>()?;
            let opening = if a.has(2) { Some(day_at(a, 2, "opening")?) } else { None };
            Ok(Found::stated(Thing::new(Schedule::new(steps, day_at(a, 1, "start")?, opening, calendar_at(a, 3)?)?)))
        },
    },
    Function {
        name: "spare_days",
        takes: "schedule, step",
        about: "How many working days a step of a schedule can wait before the end, or the opening, moves; below zero it is late already. Source: critical path method, latest less earliest start (identity).",
        example: "spare_days(schedule([[\"Scan\", 7.days], [\"Frame\", 5.days], [\"Hang\", 1.day, [\"Scan\", \"Frame\"]]], date(\"2027-01-04\")), \"Frame\")",
        call: |a| plan_at(a)?.spare(a.text(1, "step")?),
    },
    Function {
        name: "earliest_start",
        takes: "schedule, step",
        about: "The first day on which a step of a schedule can begin. Source: critical path method (identity).",
        example: "earliest_start(schedule([[\"Scan\", 7.days], [\"Print\", 3.days, [\"Scan\"]]], date(\"2027-01-04\")), \"Print\")",
        call: |a| plan_at(a)?.earliest(a.text(1, "step")?),
    },
    Function {
        name: "latest_start",
        takes: "schedule, step",
        about: "The last day on which a step of a schedule can begin without moving the end, or the opening. Source: critical path method (identity).",
        example: "latest_start(schedule([[\"Scan\", 7.days], [\"Print\", 3.days, [\"Scan\"]]], date(\"2027-01-04\"), date(\"2027-02-01\")), \"Scan\")",
        call: |a| plan_at(a)?.latest(a.text(1, "step")?),
    },
    Function {
        name: "start_by",
        takes: "day, days, [holidays]",
        about: "The day to begin so that so many working days are done before a day, such as an opening; weekends and the holidays given are not worked. Source: counting (identity).",
        example: "start_by(date(\"2027-02-01\"), 10.days, holidays(2027))",
        call: |a| schedule::start_by(day_at(a, 0, "day")?, day_count(a, 1, "number of days")?, &calendar_at(a, 2)?),
    },
    Function {
        name: "count_working_days",
        takes: "from, to, [holidays]",
        about: "Working days from one day up to but not including another; weekends and the holidays given are left out. Source: counting (identity).",
        example: "count_working_days(date(\"2026-06-01\"), date(\"2026-07-01\"), holidays(2026))",
        call: |a| schedule::count(day_at(a, 0, "first day")?, day_at(a, 1, "last day")?, &calendar_at(a, 2)?),
    },
    Function {
        name: "week_of",
        takes: "day",
        about: "The week of a day and the day of the week, Monday first, as shops in much of the world write it: `2026-W53-5`. Week 1 holds the first Thursday. Source: ISO 8601-1 (rule read in pages that quote it).",
        example: "week_of(date(\"2027-01-01\"))",
        call: |a| Ok(Found::stated(day_at(a, 0, "day")?.week())),
    },
    Function {
        name: "day_of_year",
        takes: "day",
        about: "A day by its number in the year: `2026-365`. Source: ISO 8601-1 (from memory).",
        example: "day_of_year(date(\"2026-12-31\"))",
        call: |a| Ok(schedule::ordinal(day_at(a, 0, "day")?)),
    },
    Function {
        name: "calendar_text",
        takes: "what, first, [last]",
        about: "An entry of whole days as the text of a calendar file, to paste into one or send; any calendar reads it. The steps of a plan are had together from its page. Source: RFC 5545 (folding read, the rest from memory).",
        example: "calendar_text(\"Proof\", date(\"2026-06-08\"), date(\"2026-06-12\"))",
        call: |a| {
            let (what, first) = (a.text(0, "words")?, day_at(a, 1, "first day")?);
            let last = if a.has(2) { day_at(a, 2, "last day")? } else { first };
            if last < first {
                return Err(Message::new(
                    format!("the last day, {last}, is before the first"),
                    "give the earlier day first",
                ));
            }
            let (year, month, day) = first.numbers();
            let event = AllDay {
                uid: uid(what, first),
                stamp: format!("{year:04}{month:02}{day:02}T000000Z"),
                sequence: 0,
                first,
                last,
                summary: what.to_owned(),
            };
            Ok(Found::stated(calendar("-//plan//days//EN", &[event])))
        },
    },
];
