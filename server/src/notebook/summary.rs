//! A plan in short: what the wall and the year tell of it, small enough that ten thousand are at hand, and written down so
//! that a notebook opens without calculating anything.

use engine::Evaluation;
use engine::document::Document;
use engine::measure::{Day, Length, Money, Units};
use engine::record::Firm;
use serde::{Deserialize, Serialize};

use crate::names::Name;
use crate::titles::title;

/// One plan in short.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Its title, else its name.
    pub title: String,
    /// The units it is shown in.
    pub units: Units,
    /// The finished piece's outside: width and height.
    pub hung: Option<(Length, Length)>,
    /// The day it was hung.
    pub finished: Option<Day>,
    /// Its edition as of the ledger.
    pub edition: Option<InEdition>,
    /// Its steps.
    pub steps: Vec<Due>,
    /// Its costs.
    pub costs: Vec<Cost>,
    /// How many numbers cannot be calculated.
    pub problems: usize,
    /// How many rules it has.
    pub rules: usize,
    /// The first rule of a `must` that is broken.
    pub broken: Option<String>,
    /// The first rule of a `should` that is not kept.
    pub slack: Option<String>,
    /// What is the matter with a quote it draws on.
    pub quote: Option<String>,
}

/// How an edition stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct InEdition {
    /// Numbered prints.
    pub size: u32,
    /// Proofs besides.
    pub proofs: u32,
    /// Numbers not gone yet.
    pub remaining: u32,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Due {
    /// What is done.
    pub what: Box<str>,
    /// What whoever does it is called.
    pub who: Option<Box<str>>,
    /// Its first day.
    pub start: Day,
    /// Its last day.
    pub end: Day,
    /// The day it was done.
    pub done: Option<Day>,
    /// It should have been done by now.
    pub late: bool,
}

/// One line of cost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cost {
    /// How much.
    pub amount: Money,
    /// The month it falls into: that of its invoice or quote, else of the last step of its shop, else of the plan.
    pub month: Option<Day>,
    /// It is spent, and not only promised.
    pub spent: bool,
}

impl Summary {
    /// Of a plan that was calculated; `shops` is what each role is called.
    pub(super) fn of(name: &Name, document: &Document, evaluation: &Evaluation, shops: &[(String, String)]) -> Self {
        let record = &evaluation.record;
        let rule =
            |must: bool| record.rules.iter().find(|rule| rule.must == must && !rule.kept).map(|rule| rule.text.clone());
        let called = |who: &String| {
            let known = shops.iter().find(|(role, _)| role == who).map(|(_, shop)| shop);
            known.unwrap_or(who).as_str().into()
        };
        let last = record.steps.iter().map(|step| step.end).max();
        let month = |shop: &Option<String>, day: Option<Day>| {
            let own = record.steps.iter().filter(|step| shop.is_some() && step.who == *shop).map(|step| step.end).max();
            let (year, month, _) = day.or(own).or(last)?.numbers();
            Day::new(year, month, 1)
        };
        let finished = document.front.hung;
        Self {
            title: title(document, name),
            units: evaluation.units,
            hung: record.hung.map(|hung| (hung.width, hung.height)),
            finished,
            edition: evaluation.edition.as_ref().map(|edition| InEdition {
                size: edition.size(),
                proofs: edition.proofs(),
                remaining: edition.remaining(),
            }),
            steps: record
                .steps
                .iter()
                .map(|step| Due {
                    what: step.what.as_str().into(),
                    who: step.who.as_ref().map(called),
                    start: step.start,
                    end: step.end,
                    done: step.done,
                    late: finished.is_none() && step.days_late(evaluation.today).is_some(),
                })
                .collect(),
            costs: record
                .costs
                .iter()
                .map(|line| Cost {
                    amount: line.amount,
                    month: month(&line.shop, line.day),
                    // A finished piece is paid for; a snag is paid when it is noted.
                    spent: matches!(line.firm, Firm::Invoiced | Firm::Snag) || finished.is_some(),
                })
                .collect(),
            problems: evaluation.problems.len(),
            rules: record.rules.len(),
            broken: rule(true),
            slack: rule(false),
            quote: evaluation.quotes.iter().find_map(|quote| quote.matter.clone()),
        }
    }
}
