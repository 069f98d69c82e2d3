//! What a plan stated while it was evaluated: givens, rules, costs, steps, how the piece hangs, and in [`actuals`] what really
//! happened. Plain data; the statements that write it are in `script`.

pub mod actuals;

use std::sync::Arc;

use crate::Value;
use crate::measure::{Angle, Calendar, Day, Dims, Length, Mass, Money};
use crate::syntax::trace::Trace;
use crate::trade::schedule::floats;

pub use actuals::{Actuals, Firm};

/// A named input a person may change on the page.
#[derive(Clone, Debug)]
pub struct Given {
    /// What it is called on the page.
    pub label: String,
    /// Its value now.
    pub value: Value,
    /// The values it may take, when it is a choice.
    pub choices: Vec<Value>,
    /// The block it stands in.
    pub block: usize,
    /// Where its literal stands in the document, and those of its choices; none when it is not a plain literal.
    pub place: Option<GivenPlace>,
}

impl Given {
    /// Whether there is nothing below zero of what it measures or counts. Money, angles and plain decimals may lie below zero.
    pub fn begins_at_zero(&self) -> bool {
        match &self.value {
            Value::Whole(_) => true,
            Value::Quantity(one) => one.dims != Dims::NONE && one.dims != Angle::DIMS,
            _ => false,
        }
    }

    /// Whether it is below zero where there is no such thing.
    pub fn is_below_zero(&self) -> bool {
        let is_negative = match &self.value {
            Value::Whole(count) => *count < 0,
            Value::Quantity(one) => one.value < 0.0,
            _ => false,
        };
        is_negative && self.begins_at_zero()
    }
}

/// Where a given is written, in bytes of the document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GivenPlace {
    /// The name it is bound to by `let`, when it is.
    pub name: Option<String>,
    /// The value's own text.
    pub value: std::ops::Range<usize>,
    /// The text of each choice.
    pub choices: Vec<std::ops::Range<usize>>,
}

/// Something the plan must or should keep.
#[derive(Clone, Debug)]
pub struct Rule {
    /// What it says.
    pub text: String,
    /// A `must`; otherwise a `should`.
    pub must: bool,
    /// Whether it is kept.
    pub kept: bool,
    /// The comparison with its values, when it is one: `236 ppi ≥ 250 ppi`.
    pub because: Option<Because>,
    /// The block it stands in.
    pub block: usize,
    /// The line of the document it stands on.
    pub line: usize,
}

/// The text of a condition and the values of the names in it.
pub type Because = Arc<Trace>;

/// One line of what the piece costs.
#[derive(Clone, Debug)]
pub struct CostLine {
    /// What is paid for.
    pub what: String,
    /// How much.
    pub amount: Money,
    /// The shop it goes to, of the head's `[shops]`.
    pub shop: Option<String>,
    /// The block it stands in.
    pub block: usize,
    /// The line of the document it stands on.
    pub line: usize,
    /// What was planned; nothing for what a snag cost.
    pub planned: Option<Money>,
    /// How firm the amount is.
    pub firm: Firm,
    /// The day of its quote or invoice, when that was said.
    pub day: Option<Day>,
}

/// A line of cost that has no amount: nobody was asked for it yet, or its workings are broken. A sum without it says so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenCost {
    /// What is paid for.
    pub what: String,
    /// The shop it goes to.
    pub shop: Option<String>,
    /// The line of the document it stands on.
    pub line: usize,
    /// Its workings are broken; otherwise its price is to come.
    pub broken: bool,
}

impl OpenCost {
    /// What stands in the place of its amount.
    #[must_use]
    pub fn shown(&self) -> &'static str {
        if self.broken { "not known yet" } else { "price to come" }
    }
}

/// One thing to be done.
#[derive(Clone, Debug)]
pub struct Step {
    /// What is done.
    pub what: String,
    /// By whom: a shop of the head, or any words.
    pub who: Option<String>,
    /// How many working days it takes; zero for a moment.
    pub days: u32,
    /// Its first day.
    pub start: Day,
    /// Its last day.
    pub end: Day,
    /// The block it stands in.
    pub block: usize,
    /// The line of the document it stands on.
    pub line: usize,
    /// The name it was stated under; `what` differs when it is done again after a snag.
    pub of: String,
    /// The first and last day as planned, once anything has really happened; nothing for what a snag brought.
    pub planned: Option<(Day, Day)>,
    /// The day it was done.
    pub done: Option<Day>,
    /// It should have been done by now and ends today at the earliest, in a plan whose steps are ticked off at all; whether
    /// it is late is told by [`Step::days_late`].
    pub late: bool,
    /// The steps it waits for, by their place among all.
    pub after: Vec<usize>,
    /// How many working days it may end later before the last step of the plan does; nothing once it is done.
    pub spare: Option<u32>,
}

impl Step {
    /// How many days ago it should have been done, as it was planned; nothing when it is done or not due yet.
    #[must_use]
    pub fn days_late(&self, today: Day) -> Option<i64> {
        let due = self.planned.filter(|_| self.late).map_or(self.end, |(_, due)| due);
        (self.done.is_none() && due < today).then(|| due.until(today))
    }
}

/// The finished piece on the wall.
#[derive(Clone, Copy, Debug)]
pub struct Hung {
    /// Its outside width.
    pub width: Length,
    /// Its outside height.
    pub height: Length,
    /// What it weighs, when that was said.
    pub weight: Option<Mass>,
}

/// All that was stated, in order.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// Givens.
    pub givens: Vec<Given>,
    /// Rules.
    pub rules: Vec<Rule>,
    /// Costs.
    pub costs: Vec<CostLine>,
    /// Lines of cost without an amount.
    pub open: Vec<OpenCost>,
    /// Steps.
    pub steps: Vec<Step>,
    /// The piece on the wall.
    pub hung: Option<Hung>,
    /// What really happened.
    pub actuals: Actuals,
}

/// The block of a rule that stands in no block: it comes from a rate sheet.
pub(crate) const OF_A_SHEET: usize = usize::MAX;

/// The most givens, rules, costs and steps, of each, that a plan may state.
pub(crate) const MOST: usize = 1_000;

impl Record {
    /// Works out how long each step can be put off. What waits for nothing else may end with the last step of all; what is
    /// waited for may use the days that lie idle before those that wait, and the days they have to spare.
    ///
    /// Source: total float of the critical path method (identity: the latest finish less the earliest, in working days).
    pub(crate) fn reckon_spare_days(&mut self, calendar: &Calendar) {
        let Some(last) = self.steps.iter().map(|step| step.end).max() else { return };
        let steps = &self.steps;
        let waits = |other: usize, one: usize| steps.get(other).is_some_and(|other| other.after.contains(&one));
        let gap = |one: usize, other: Option<usize>| {
            let one = steps.get(one)?;
            let Some(other) = other.and_then(|other| steps.get(other)) else {
                return Some(calendar.between(one.end.plus(1)?, last.plus(1)?));
            };
            // From the first day after it.
            let free = if one.days == 0 { one.end } else { one.end.plus(1)? };
            Some(calendar.between(free, other.start))
        };
        let spare = floats(steps.len(), waits, |one, other| gap(one, other).unwrap_or(0));
        for (step, spare) in self.steps.iter_mut().zip(spare) {
            step.spare = step.done.is_none().then_some(spare);
        }
    }

    /// Who does a step.
    pub(crate) fn who(&self, step: &str) -> Option<String> {
        self.steps.iter().find(|one| one.of == step).and_then(|step| step.who.clone())
    }

    /// A line of cost that nobody planned.
    pub(crate) fn add_snag(&mut self, what: &str, amount: Money, shop: Option<String>, (block, line): (usize, usize)) {
        self.costs.push(CostLine {
            what: what.to_owned(),
            amount,
            shop,
            block,
            line,
            planned: None,
            firm: Firm::Snag,
            day: None,
        });
    }

    /// The sum of the costs, of one shop or of all; nothing where there is none.
    pub fn cost(&self, shop: Option<&str>) -> Option<Money> {
        let mut lines = self.costs.iter().filter(|line| shop.is_none() || line.shop.as_deref() == shop);
        let first = lines.next()?.amount;
        lines.try_fold(first, |sum, line| sum.plus(line.amount))
    }

    /// The same as written, with what it misses: `$1,839.00 and Drum scan, price to come`.
    pub fn total(&self, shop: Option<&str>) -> Option<String> {
        let open: Vec<_> = self.open.iter().filter(|one| shop.is_none() || one.shop.as_deref() == shop).collect();
        let missing = match open.as_slice() {
            [] => None,
            [one] => Some(format!("{}, {}", one.what, one.shown())),
            all => {
                let broken = all.iter().filter(|one| one.broken).count();
                let told = |count: usize, what: &str| match count {
                    0 => None,
                    1 => Some(format!("one {what}")),
                    count => Some(format!("{count} {what}")),
                };
                let prices = if all.len() - broken == 1 { "price to come" } else { "prices to come" };
                let lines = if broken == 1 { "line not known yet" } else { "lines not known yet" };
                let all = [told(all.len() - broken, prices), told(broken, lines)];
                Some(all.into_iter().flatten().collect::<Vec<_>>().join(" and "))
            }
        };
        let sum = self.cost(shop).map(|sum| sum.to_string());
        match (sum, missing) {
            (sum, None) => sum,
            (None, missing) => missing,
            (Some(sum), Some(missing)) => Some(format!("{sum} and {missing}")),
        }
    }

    /// The sum of the costs as planned.
    pub fn planned(&self) -> Option<Money> {
        let mut lines = self.costs.iter().filter_map(|line| line.planned);
        let first = lines.next()?;
        lines.try_fold(first, Money::plus)
    }
}
