//! What really happened: `finished`, `quoted`, `invoiced`, `snag`. They re-date and re-total the plan round them.
//!
//! A plan that states any is worked out twice: once to read them and to learn what was planned, and once with them known
//! from the first line on, so that it makes no difference where in the text they stand.

use rhai::{Dynamic, ImmutableString, Module, NativeCallContext};

use super::nearest::nearest;
use super::record::{Record, Run};
use super::sandbox::{Outcome, raise, run_of};
use super::statements::STATEMENTS;
use super::{Args, convert};
use crate::measure::{Calendar, Day, Money};
use crate::{Trouble, Value};

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
pub(crate) struct Known {
    /// What really happened.
    pub(crate) actuals: Actuals,
    /// The steps as they were planned: name, first and last day.
    pub(crate) steps: Vec<(String, Day, Day)>,
}

/// How firm an amount is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Firm {
    /// Worked out.
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
    pub(crate) fn astray(&self, record: &Record) -> Vec<(usize, Trouble)> {
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
    pub(crate) fn step_called(&self, name: &str) -> Result<(), Trouble> {
        called("step", name, || self.steps.iter().flat_map(|step| [step.what.as_str(), step.of.as_str()]))
    }

    /// # Errors
    /// When the plan has no line of cost of that name.
    pub(crate) fn cost_called(&self, name: &str) -> Result<(), Trouble> {
        called("cost", name, || self.costs.iter().map(|line| line.what.as_str()))
    }
}

fn called<'a, I: Iterator<Item = &'a str>>(kind: &str, name: &str, all: impl Fn() -> I) -> Result<(), Trouble> {
    if all().any(|one| one == name) {
        return Ok(());
    }
    let next = nearest(name, all())
        .map_or_else(|| format!("write it as the {kind} is called"), |near| format!("was `{near}` meant?"));
    Err(Trouble::new(format!("no {kind} of this plan is called `{name}`"), next))
}

fn nth(count: usize) -> String {
    match count {
        3 => "a third".to_owned(),
        4 => "a fourth".to_owned(),
        count => format!("a {count}th"),
    }
}

/// The statements as functions of the script.
pub(crate) fn module() -> Module {
    let mut module = Module::new();
    let m = &mut module;
    for name in ["finished", "quoted", "invoiced", "snag"] {
        m.set_native_fn(name, move |c: NativeCallContext<'_>, what: ImmutableString| state(&c, name, &what, &[]));
        m.set_native_fn(name, move |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic| {
            state(&c, name, &what, &[a])
        });
        m.set_native_fn(name, move |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic, b: Dynamic| {
            state(&c, name, &what, &[a, b])
        });
    }
    module.build_index();
    module
}

fn state(context: &NativeCallContext<'_>, name: &'static str, what: &str, rest: &[Dynamic]) -> Outcome {
    let run = run_of(context)
        .ok_or_else(|| raise(Trouble::new("this statement stands outside a plan", "move it into a plan")))?;
    let within = context.call_position().line().unwrap_or(1);
    let values: Vec<_> = rest.iter().map(convert::plain).collect();
    run.state(name, |state, _| {
        let line = state.line + within - 1;
        let actuals = &mut state.record.actuals;
        if actuals.count() >= 1000 {
            return Err(Trouble::new(
                "a plan may state 1000 things that happened, and this is one more",
                "look for a loop",
            ));
        }
        match name {
            "finished" => {
                let [day] = values.as_slice() else { return Err(takes(name)) };
                let day = day_of(name, day)?;
                if day > run.today {
                    return Err(Trouble::new(
                        format!("`{what}` is said to be finished on {day}, and that is still to come"),
                        "state it on the day; until then the plan reckons with its own dates",
                    ));
                }
                actuals.finished.push(Finished { step: what.to_owned(), day, line });
            }
            "snag" => {
                let mut snag = Snag { what: what.to_owned(), cost: None, step: None, line };
                for value in &values {
                    match value {
                        Value::Text(step) if snag.step.is_none() => snag.step = Some(step.clone()),
                        value => snag.cost = Some(money(&run, name, what, value)?),
                    }
                }
                if let Some(cost) = snag.cost {
                    let shop =
                        snag.step.as_ref().and_then(|step| state.record.who(step)).or_else(|| state.shop.clone());
                    state.record.add_snag(what, cost, shop, (state.block.unwrap_or(0), line));
                }
                state.record.actuals.snags.push(snag);
            }
            _ => {
                let (amount, day) = match values.as_slice() {
                    [amount] => (amount, None),
                    [amount, day] => (amount, Some(day_of(name, day)?)),
                    _ => return Err(takes(name)),
                };
                let asked = Asked { what: what.to_owned(), amount: money(&run, name, what, amount)?, day, line };
                if name == "quoted" { actuals.quoted.push(asked) } else { actuals.invoiced.push(asked) }
            }
        }
        Ok(Dynamic::UNIT)
    })
    .map_err(raise)
}

fn takes(name: &str) -> Trouble {
    let takes = STATEMENTS.iter().find(|(one, ..)| *one == name).map_or("", |(_, takes, _)| takes);
    Trouble::new(format!("`{name}` is given too much or too little"), format!("write `{name}({takes})`"))
}

fn day_of(name: &str, value: &Value) -> Result<Day, Trouble> {
    let day = match value {
        Value::Day(day) => Some(*day),
        Value::Text(text) => Day::parse(text),
        _ => None,
    };
    day.ok_or_else(|| {
        Trouble::new(
            format!("`{name}` is given {} where its day belongs", value.kind()),
            "write the day in quotes, like \"2026-12-02\"",
        )
    })
}

fn money(run: &Run, name: &'static str, what: &str, value: &Value) -> Result<Money, Trouble> {
    let values = [Value::Text(what.to_owned()), value.clone()];
    let money = Args { function: name, values: &values }.money(1, "amount")?;
    if money.currency == run.currency {
        return Ok(money);
    }
    Err(Trouble::new(
        format!("`{what}` is {money}, and this plan counts in {}", run.currency.code),
        "bring it into the plan's currency with a rate you write down: `euros / 1.eur * 1.08.usd`",
    ))
}
