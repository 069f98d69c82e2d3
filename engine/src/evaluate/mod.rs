//! Evaluates a plan: text and facts in, values and problems out. The same text and facts always give the same.
//!
//! What goes in and comes out is here; [`worker`] goes through the blocks and asks, `runner` runs them, [`quotes`] looks at what is quoted,
//! [`doubts`] at what is most likely a slip, [`limits`] at what the shops can make; `sheets` and [`rates`] are rate sheets,
//! `compiled` keeps workings once read.

mod compiled;
mod doubts;
pub(crate) mod limits;
mod quotes;
pub mod rates;
mod runner;
mod sheets;
mod worker;

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use foldhash::fast::RandomState;

use self::compiled::CompiledBlock;
use self::worker::Worker;
use crate::document::{Ask, Document, Lines, Problem};
use crate::measure::{Day, Units};
use crate::record::Record;
use crate::record::actuals::FirstPass;
use crate::script::{Stop, sandbox};
use crate::syntax::calls::Calls;
use crate::syntax::trace::Trace;

use crate::trade::edition::{Edition, Entry};
use crate::{Found, Value};

pub use compiled::Compiled;

/// Everything a plan depends on that is not in its text.
#[derive(Clone, Debug)]
pub struct Facts {
    /// The day it is calculated from.
    pub today: Day,
    /// The texts of the notebook's rate sheets, by the path a plan imports them by.
    pub sheets: Arc<BTreeMap<String, String>>,
    /// What happened to the prints of the edition.
    pub ledger: Vec<Entry>,
    /// Units to show instead of the plan's own.
    pub units: Option<Units>,
}

impl Facts {
    /// The facts of a notebook without rate sheets and of an edition none of which is printed.
    pub fn on(today: Day) -> Self {
        Self { today, sheets: Arc::default(), ledger: Vec::new(), units: None }
    }
}

/// Something of each name.
pub type Names<T> = HashMap<Arc<str>, T, RandomState>;

/// A name and its value.
#[derive(Clone, Debug)]
pub struct Named {
    /// The name.
    pub name: Arc<str>,
    /// Its value, with its working.
    pub found: Found,
}

/// The results of a block of workings.
#[derive(Clone)]
pub struct Outcome {
    /// The names it gave, with values.
    pub gives: Vec<Named>,
    /// What was wrong with it.
    pub problems: Vec<Problem>,
    /// Itself, when it was read at all.
    compiled: Option<Arc<CompiledBlock>>,
}

impl Outcome {
    /// The names it used and did not give itself.
    pub fn reads(&self) -> &[String] {
        self.compiled.as_ref().map_or(&[], |block| &block.text.uses().reads)
    }

    /// Rate sheets it drew on: path and name here.
    pub fn imports(&self) -> &[(String, String)] {
        self.compiled.as_ref().map_or(&[], |block| &block.text.uses().imports)
    }

    /// The names it set, each with the text of its right-hand side.
    pub(crate) fn lets(&self) -> impl DoubleEndedIterator<Item = (&str, Option<String>)> {
        let calls = self.compiled.as_ref().map(|block| &block.calls);
        calls.into_iter().flat_map(|calls| {
            let right = |whole: &Option<std::ops::Range<usize>>| whole.as_ref().and_then(|range| calls.text(range));
            calls.lets.iter().map(move |one| (one.name.as_ref(), right(&one.whole)))
        })
    }

    /// Of a block that was not calculated.
    fn nothing(problems: Vec<Problem>) -> Self {
        Self { gives: Vec::new(), problems, compiled: None }
    }
}

impl std::fmt::Debug for Outcome {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Outcome")
            .field("reads", &self.reads())
            .field("gives", &self.gives)
            .field("imports", &self.imports())
            .field("problems", &self.problems)
            .finish()
    }
}

/// The result of an ask.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The value, or what is wrong.
    pub result: Result<Found, Problem>,
    /// The expression with its names, when it is more than a name.
    pub trace: Option<Arc<Trace>>,
}

/// The quote of a shop whose rate sheet a plan draws on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quote {
    /// The rate sheet.
    pub sheet: String,
    /// What the shop is called.
    pub shop: String,
    /// What it does for this plan, when the head says so.
    pub role: Option<String>,
    /// The day it was quoted.
    pub quoted: Option<Day>,
    /// The last day its prices hold.
    pub until: Option<Day>,
    /// The plan holds to it, whatever the shop asks since.
    pub held: bool,
    /// What is the matter with it, in words.
    pub matter: Option<String>,
}

/// A plan calculated.
#[derive(Debug)]
pub struct Evaluation {
    /// The units it is shown in.
    pub units: Units,
    /// The day it is calculated from.
    pub today: Day,
    /// One for each block.
    pub blocks: Vec<Outcome>,
    /// One for each ask.
    pub answers: Vec<Answer>,
    /// What was stated.
    pub record: Record,
    /// The edition as of the ledger; none when the head gives no number of prints.
    pub edition: Option<Edition>,
    /// The quotes of the rate sheets it draws on.
    pub quotes: Vec<Quote>,
    /// Everything wrong, in the order of the text.
    pub problems: Vec<Problem>,
    /// What can be calculated and is most likely a slip, in the order of the text. No part of what the plan comes to, so that
    /// a revision saved before something was doubted still comes to the same.
    pub doubts: Vec<Problem>,
    /// Every name with its last value.
    pub names: Names<Found>,
    /// Where each name comes from.
    sources: Names<Source>,
}

/// Where a name comes from.
#[derive(Debug)]
struct Source {
    /// The line it is set on.
    line: usize,
    /// Its right-hand side, as one of a block's names.
    right: Option<(Arc<Calls>, usize)>,
}

/// Evaluates a document.
///
/// `compiled` keeps workings read before; it changes how fast this is, never what it gives. `stop` may end workings that
/// go on too long. The deepest workings take nearly 2 MB of stack.
pub fn evaluate(document: &Document, facts: &Facts, compiled: &Arc<Compiled>, stop: Option<Stop>) -> Evaluation {
    let first = Worker::new(document, facts, compiled, stop.clone(), FirstPass::default()).work();
    if first.record.actuals.is_empty() {
        return first;
    }
    // What really happened is known from the first line on, wherever it is stated.
    let steps = first.record.steps.iter().map(|step| (step.what.clone(), step.start, step.end)).collect();
    let known = FirstPass { actuals: first.record.actuals, steps };
    Worker::new(document, facts, compiled, stop, known).work()
}

impl Evaluation {
    /// What is written beside a name or an ask: its own working, else its right-hand side with values.
    pub fn working(&self, expression: &str, found: &Found, trace: Option<&Trace>) -> Option<String> {
        let own = found.working.as_ref();
        let told = own.filter(|working| working.is_told()).map(|working| working.shown(self.units));
        let right = || self.sources.get(expression)?.right.as_ref().and_then(|(calls, place)| calls.right(*place));
        let traced = || self.shown(trace.or_else(|| right().map(Arc::as_ref))?);
        let shown = told.or_else(traced).or_else(|| own.map(|working| working.shown(self.units)));
        shown.filter(|words| !words.is_empty())
    }

    /// A trace with the values of its names; nothing when one of them has none that can be written in a line.
    pub fn shown(&self, trace: &Trace) -> Option<String> {
        trace.shown(|path, out| {
            let part;
            let value = match self.names.get(path) {
                Some(found) => &found.value,
                None => {
                    part = self.value_of(path)?.value;
                    &part
                }
            };
            (!matches!(value, Value::Thing(_))).then(|| value.push(out, self.units))
        })
    }

    /// The value of a name, a part of a thing or a part of a list: `frame.weight`, `lab::least_ppi`, `door[0]`.
    pub fn value_of(&self, path: &str) -> Option<Found> {
        if let Some(found) = self.names.get(path) {
            return Some(found.clone());
        }
        let end = path.find(['.', '[']).unwrap_or(path.len());
        let (name, mut rest) = path.split_at_checked(end)?;
        let mut found = self.names.get(name)?.clone();
        while !rest.is_empty() {
            if let Some(inside) = rest.strip_prefix('[') {
                let (index, after) = inside.split_once(']')?;
                let Value::List(all) = &found.value else { return None };
                found = Found::stated(all.get(index.trim().parse::<usize>().ok()?)?.clone());
                rest = after;
            } else {
                let inside = rest.strip_prefix('.')?;
                let (part, after) = inside.split_at_checked(inside.find(['.', '[']).unwrap_or(inside.len()))?;
                found = sandbox::part(&found, part).ok()?;
                rest = after;
            }
        }
        Some(found)
    }

    /// The sum of the costs, of one shop or of all.
    pub fn cost(&self, shop: Option<&str>) -> Option<crate::measure::Money> {
        self.record.cost(shop)
    }

    /// Problems and doubts together, in the order of the text: what a person is told.
    pub fn remarks(&self) -> Vec<&Problem> {
        let mut all: Vec<_> = self.problems.iter().chain(&self.doubts).collect();
        all.sort_by_key(|one| (one.line, one.column));
        all
    }

    /// Whether every `must` is kept.
    pub fn keeps_rules(&self) -> bool {
        self.record.rules.iter().all(|rule| rule.kept || !rule.must)
    }
}

/// Values as the words of a machine-readable listing.
impl Value {
    /// A number as JSON number, everything else as text.
    pub fn json(&self, units: Units) -> serde_json::Value {
        match (self, self.number_and_unit(units)) {
            (Self::Truth(truth), _) => serde_json::Value::Bool(*truth),
            (Self::Whole(whole), _) => (*whole).into(),
            (Self::Money(money), _) => money.rounded().amount.to_string().into(),
            (Self::Day(day), _) => day.iso().into(),
            (_, Some((number, _))) => {
                serde_json::Number::from_f64(number).map_or(serde_json::Value::Null, serde_json::Value::Number)
            }
            (other, None) => other.shown(units).into(),
        }
    }
}

/// Works out one expression by itself, as an ask of an empty plan would be.
///
/// # Errors
/// When it cannot be read or calculated.
///
/// ```
/// let found = engine::evaluate::expression("24.inch / 2", None).unwrap();
/// assert_eq!(found.value.shown(engine::measure::Units::Inch), "12\u{a0}in");
/// ```
pub fn expression(expression: &str, stop: Option<Stop>) -> Result<Found, Problem> {
    let mut document = Document::read("");
    document.text = expression.trim().to_owned();
    document.lines = Lines::of(&document.text);
    document.asks.push(Ask { expression: expression.trim().to_owned(), at: 0, range: 0..0, section: None });
    let nothing = || Problem {
        line: 1,
        column: 1,
        what: "nothing was asked".to_owned(),
        next: "write an expression, like `24.inch / 2`".to_owned(),
    };
    let today = Day::parse("2000-01-01").ok_or_else(nothing)?;
    let evaluation = evaluate(&document, &Facts::on(today), &Arc::default(), stop);
    evaluation.answers.into_iter().next().ok_or_else(nothing)?.result
}
