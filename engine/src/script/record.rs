//! What a plan stated while it was worked out: givens, rules, costs, steps, and how the piece hangs.

use std::collections::HashSet;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::atomic::{AtomicU64, AtomicUsize};
use std::sync::{Arc, Mutex, PoisonError};

use foldhash::fast::RandomState;

use super::actuals::{Actuals, Firm, Known};
use super::sandbox::{Moment, Stop};
use crate::measure::{Angle, Calendar, Currency, Day, Dims, Length, Mass, Money, Units};
use crate::trade::schedule::floats;
use crate::{Found, Trouble, Value};

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
    /// Where its literal stands in the document, and those of its choices; none when it is no plain literal.
    pub place: Option<GivenPlace>,
}

impl Given {
    /// Whether there is no less than none of what it measures or counts. Money, angles and plain decimals may lie below zero.
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
pub type Because = Arc<super::trace::Trace>;

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

/// One thing to be done.
#[derive(Clone, Debug)]
pub struct Step {
    /// What is done.
    pub what: String,
    /// By whom: a shop of the head, or any words.
    pub who: Option<String>,
    /// How many working days it takes; nought for a moment.
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
    /// It should have been done by now.
    pub late: bool,
    /// The steps it waits for, by their place among all.
    pub after: Vec<usize>,
    /// How many working days it may end later before the last step of the plan does; nothing once it is done.
    pub spare: Option<u32>,
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
    /// Steps.
    pub steps: Vec<Step>,
    /// The piece on the wall.
    pub hung: Option<Hung>,
    /// What really happened.
    pub actuals: Actuals,
}

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

    /// The sum of the costs as planned.
    pub fn planned(&self) -> Option<Money> {
        let mut lines = self.costs.iter().filter_map(|line| line.planned);
        let first = lines.next()?;
        lines.try_fold(first, Money::plus)
    }
}

/// One evaluation, as its statements see it.
pub(crate) struct Run {
    /// What stops it.
    pub(crate) stop: Option<Stop>,
    pub(crate) units: Units,
    pub(crate) currency: Currency,
    pub(crate) calendar: Calendar,
    pub(crate) start: Day,
    pub(crate) today: Day,
    pub(crate) notes: super::convert::Notes,
    /// Steps taken by the parts of this block that are done, when it is worked out in parts.
    pub(crate) taken: AtomicU64,
    /// Steps taken so far.
    pub(crate) last: AtomicU64,
    /// The same with the steps of functions that lists call.
    pub(crate) all: AtomicU64,
    /// Functions of the trade called so far.
    pub(crate) called: AtomicU64,
    /// What really happened, once that was read.
    pub(crate) known: Known,
    /// The different words of the text being read, when they are counted.
    pub(crate) words: Words,
    pub(crate) state: Mutex<State>,
}

/// The different words of a text, counted while it is read.
#[derive(Default)]
pub(crate) struct Words {
    /// How many there may be; nought while they are not counted.
    most: AtomicUsize,
    met: Mutex<HashSet<String, RandomState>>,
}

impl Words {
    pub(crate) fn begin(&self, most: usize) {
        self.most.store(most, Relaxed);
    }

    pub(crate) fn end(&self) {
        self.most.store(0, Relaxed);
        *self.met.lock().unwrap_or_else(PoisonError::into_inner) = HashSet::default();
    }

    /// Whether a word met now is one of those met before, or one more may be.
    pub(crate) fn has_room_for(&self, word: &str) -> bool {
        let most = self.most.load(Relaxed);
        if most == 0 {
            return true;
        }
        let mut met = self.met.lock().unwrap_or_else(PoisonError::into_inner);
        met.contains(word) || (met.len() < most && met.insert(word.to_owned()))
    }
}

/// What changes while a plan is worked out.
#[derive(Default)]
pub(crate) struct State {
    pub(crate) record: Record,
    /// The block being worked out; none while asks are.
    pub(crate) block: Option<usize>,
    pub(crate) shop: Option<String>,
    /// The givens and conditions found in the block's text.
    pub(crate) calls: Arc<super::calls::Calls>,
    /// The document offset of an offset in the block.
    pub(crate) offsets: Vec<(usize, usize)>,
    /// Names finished blocks gave, for functions, which see no others.
    pub(crate) names: std::collections::HashMap<String, rhai::Dynamic>,
    /// The document line a block's line 1 stands on.
    pub(crate) line: usize,
}

impl Run {
    /// Does something to the record of the block being worked out; refuses while asks are answered.
    pub(crate) fn state<T>(
        &self,
        statement: &str,
        act: impl FnOnce(&mut State, usize) -> Result<T, Trouble>,
    ) -> Result<T, Trouble> {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        match state.block {
            Some(block) => act(&mut state, block),
            None => Err(Trouble::new(
                format!("`{statement}` states something, and this place only asks"),
                format!("move `{statement}` into a block of workings and ask here for what it gives"),
            )),
        }
    }

    /// Why to stop.
    pub(crate) fn is_stopped(&self, moment: Moment) -> Option<Trouble> {
        let why = self.stop.as_ref()?(moment)?;
        let next = match moment {
            Moment::Begins | Moment::Reads => "cut the plan into two",
            Moment::Step(_) | Moment::Long => "look for a loop that never ends, or a list that keeps growing",
        };
        Some(Trouble::new(why, next))
    }

    /// A function of the trade is called, which may take as long as hundreds of steps. Why to stop, asked for one call in four,
    /// and for every one that looks for the best of many ways.
    pub(crate) fn calls(&self, function: &str) -> Option<Trouble> {
        let called = self.called.load(Relaxed) + 1;
        self.called.store(called, Relaxed);
        if called.is_multiple_of(4) || matches!(function, "nest" | "cut_list") {
            self.is_stopped(Moment::Long)
        } else {
            None
        }
    }

    /// A part of a block is done, and the next goes on counting where it ended.
    pub(crate) fn go_on(&self) {
        self.taken.store(self.last.load(Relaxed), Relaxed);
    }

    /// Counts from zero: a block or an ask begins.
    ///
    /// # Errors
    /// When the plan has had its time.
    pub(crate) fn begin(&self) -> Result<(), Trouble> {
        for count in [&self.taken, &self.last, &self.all, &self.called] {
            count.store(0, Relaxed);
        }
        self.is_stopped(Moment::Begins).map_or(Ok(()), Err)
    }

    /// Reads what belongs to this evaluation.
    pub(crate) fn read<T>(&self, look: impl FnOnce(&State) -> T) -> T {
        look(&self.state.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// A step as a value a plan can ask.
#[derive(Debug)]
pub(crate) struct StepValue(pub(crate) Step);

impl crate::Trade for StepValue {
    fn kind(&self) -> &'static str {
        "a step"
    }
    fn summary(&self) -> Vec<Value> {
        if self.0.start == self.0.end {
            vec![Value::Text(format!("{}, {}", self.0.what, self.0.end.brief()))]
        } else {
            vec![Value::Text(format!("{}, {} to {}", self.0.what, self.0.start.brief(), self.0.end.brief()))]
        }
    }
    fn parts(&self) -> &'static [(&'static str, &'static str)] {
        &[
            ("start", "The first day of it."),
            ("end", "The last day of it."),
            ("days", "How many working days it takes."),
            ("what", "What is done."),
        ]
    }
    fn part(&self, name: &str) -> Option<Found> {
        Some(match name {
            "start" => Found::stated(self.0.start),
            "end" => Found::by(
                self.0.end,
                "{}, the first on {}",
                [crate::measure::Days::days(f64::from(self.0.days)).into(), self.0.start.into()],
            ),
            "days" => Found::stated(crate::measure::Days::days(f64::from(self.0.days))),
            "what" => Found::stated(self.0.what.as_str()),
            _ => return None,
        })
    }
    fn as_any(&self) -> &dyn std::any::Any {
        self
    }
}

/// The steps another one waits for.
#[derive(Debug)]
pub(crate) struct After(pub(crate) Vec<String>);

impl crate::Trade for After {
    fn kind(&self) -> &'static str {
        "a wait for other steps"
    }
    fn summary(&self) -> Vec<Value> {
        vec![Value::Text(format!("after {}", self.0.join(", ")))]
    }
    fn parts(&self) -> &'static [(&'static str, &'static str)] {
        &[]
    }
    fn part(&self, _: &str) -> Option<Found> {
        None
    }
    fn as_any(&self) -> &dyn std::any::Any {
        self
    }
}
