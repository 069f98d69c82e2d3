//! What really happened, as a plan states it: steps done, quotes, invoices, snags. It re-dates and re-totals the plan.

use super::Record;
use crate::Message;
use crate::measure::{Calendar, Day, Money};
use crate::syntax::nearest::nearest;

/// A step that was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finished {
    /// The step.
    pub step: String,
    /// The day.
    pub day: Day,
    /// The line it is stated on.
    pub line: usize,
}

/// An amount a shop asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The line of cost.
    pub what: String,
    /// How much.
    pub amount: Money,
    /// The day, when it was said.
    pub day: Option<Day>,
    /// The line it is stated on.
    pub line: usize,
}

/// Something that went wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Snag {
    /// What happened.
    pub what: String,
    /// What it cost.
    pub cost: Option<Money>,
    /// The step that is done again.
    pub step: Option<String>,
    /// The line it is stated on.
    pub line: usize,
}

/// Everything that really happened, as a plan states it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Actuals {
    /// Steps done.
    pub finished: Vec<Finished>,
    /// Quotes.
    pub quoted: Vec<Asked>,
    /// Invoices.
    pub invoiced: Vec<Asked>,
    /// Snags.
    pub snags: Vec<Snag>,
}

/// What the second working-out knows of the first.
#[derive(Clone, Debug, Default)]
pub(crate) struct FirstPass {
    /// What really happened.
    pub(crate) actuals: Actuals,
    /// The steps as they were planned: name, first and last day.
    pub(crate) steps: Vec<(String, Day, Day)>,
}

/// How firm an amount is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Firm {
    /// Calculated.
    #[default]
    Planned,
    /// Quoted by the shop.
    Quoted,
    /// Invoiced.
    Invoiced,
    /// Came on top, from a snag.
    Snag,
}

impl Firm {
    /// As in `invoiced on Wed 9 Dec`.
    pub fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Quoted => "quoted",
            Self::Invoiced => "invoiced",
            Self::Snag => "not planned",
        }
    }
}

/// One time a step is done.
pub(crate) struct Time {
    pub(crate) what: String,
    pub(crate) start: Day,
    pub(crate) end: Day,
    pub(crate) done: Option<Day>,
    pub(crate) late: bool,
}

impl Actuals {
    /// Whether anything happened yet.
    pub fn is_empty(&self) -> bool {
        self.count() == 0
    }

    /// How many things happened.
    pub(crate) fn count(&self) -> usize {
        self.finished.len() + self.quoted.len() + self.invoiced.len() + self.snags.len()
    }

    /// What a line of cost stands at: invoiced, quoted, or as planned.
    pub(crate) fn cost(&self, what: &str, planned: Money) -> (Money, Firm, Option<Day>) {
        let invoiced: Vec<_> = self.invoiced.iter().filter(|one| one.what == what).collect();
        let sum = invoiced.iter().try_fold(Money::zero(planned.currency), |sum, one| sum.plus(one.amount));
        if let (Some(last), Some(sum)) = (invoiced.last(), sum) {
            return (sum, Firm::Invoiced, last.day);
        }
        match self.quoted.iter().rev().find(|one| one.what == what) {
            Some(quote) => (quote.amount, Firm::Quoted, quote.day),
            None => (planned, Firm::Planned, None),
        }
    }

    /// The times a step is done: once, and once more for every snag that names it. A step not done by today ends today at
    /// the earliest, in a plan whose steps are ticked off at all.
    pub(crate) fn times(
        &self,
        what: &str,
        start: Day,
        days: u32,
        calendar: &Calendar,
        today: Day,
    ) -> Option<Vec<Time>> {
        let again = self.snags.iter().filter(|snag| snag.step.as_deref() == Some(what)).count();
        let mut times: Vec<Time> = Vec::new();
        let mut start = start;
        for count in 0..=again {
            let what = match count {
                0 => what.to_owned(),
                1 => format!("{what}, again"),
                count => format!("{what}, {} time", nth(count + 1)),
            };
            let done = self.finished.iter().rev().find(|one| one.step == what).map(|one| one.day);
            let mut end = calendar.plus(start, days.saturating_sub(1))?;
            let mut late = false;
            match done {
                Some(day) => {
                    end = day;
                    start = start.min(day);
                }
                None if !self.finished.is_empty() && end < today => {
                    end = calendar.on_or_after(today)?;
                    late = true;
                }
                None => {}
            }
            times.push(Time { what, start, end, done, late });
            start = calendar.on_or_after(if days == 0 { end } else { end.plus(1)? })?;
        }
        Some(times)
    }

    /// What is stated of steps and costs the plan does not have: line, what is wrong, what to do.
    pub(crate) fn astray(&self, record: &Record) -> Vec<(usize, Message)> {
        let steps = self.finished.iter().map(|one| (one.line, Some(&one.step)));
        let steps = steps.chain(self.snags.iter().map(|one| (one.line, one.step.as_ref())));
        let steps = steps.filter_map(|(line, step)| Some((line, record.step_called(step?).err()?)));
        let asked = self.quoted.iter().chain(&self.invoiced);
        let costs = asked.filter_map(|one| Some((one.line, record.cost_called(&one.what).err()?)));
        steps.chain(costs).collect()
    }
}

impl Record {
    /// # Errors
    /// When the plan has no step of that name.
    pub(crate) fn step_called(&self, name: &str) -> Result<(), Message> {
        called("step", name, || self.steps.iter().flat_map(|step| [step.what.as_str(), step.of.as_str()]))
    }

    /// # Errors
    /// When the plan has no line of cost of that name.
    pub(crate) fn cost_called(&self, name: &str) -> Result<(), Message> {
        called("cost", name, || self.costs.iter().map(|line| line.what.as_str()))
    }
}

fn called<'a, I: Iterator<Item = &'a str>>(kind: &str, name: &str, all: impl Fn() -> I) -> Result<(), Message> {
    if all().any(|one| one == name) {
        return Ok(());
    }
    let next = nearest(name, all())
        .map_or_else(|| format!("write it as the {kind} is called"), |near| format!("was `{near}` meant?"));
    Err(Message::new(format!("no {kind} of this plan is called `{name}`"), next))
}

fn nth(count: usize) -> String {
    match count {
        3 => "a third".to_owned(),
        4 => "a fourth".to_owned(),
        count => format!("a {count}th"),
    }
}
