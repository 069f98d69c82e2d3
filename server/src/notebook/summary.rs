//! What the wall and the year need to know of each plan, kept small so that a thousand plans are at hand at once.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use engine::document::Kind;
use engine::measure::{Day, Units};
use engine::script::record::{CostLine, Hung, Step};
use engine::trade::edition::Edition;

use super::{Entry, Notebook, held};
use crate::evaluator::Worked;
use crate::names::Name;
use crate::trouble::Refusal;

/// Threads that work plans out for a whole notebook; the evaluator has no more.
const AT_ONCE: usize = 2;

/// One plan in short.
#[derive(Clone, Debug)]
pub struct Summary {
    /// Its title, else its name.
    pub title: String,
    /// The units it is shown in.
    pub units: Units,
    /// The finished piece.
    pub hung: Option<Hung>,
    /// The day it was hung.
    pub finished: Option<Day>,
    /// Its edition as of the ledger.
    pub edition: Option<Edition>,
    /// Its steps.
    pub steps: Vec<Step>,
    /// Its costs.
    pub costs: Vec<CostLine>,
    /// The names of its shops, by role.
    pub shops: Vec<(String, String)>,
    /// How many numbers cannot be worked out.
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

/// What a summary was made from.
#[derive(Clone, Debug)]
pub(super) struct Made {
    etag: String,
    today: Day,
    sheets: u64,
    ledger: i64,
    /// The rate sheets drawn on, with the marks of their texts.
    uses: Vec<(String, String)>,
}

impl Made {
    /// Whether a summary made from this still holds: nothing it depends on changed.
    fn holds(&self, now: &Self, marks: impl FnOnce() -> Vec<(String, String)>) -> bool {
        let same = self.etag == now.etag && self.today == now.today && self.ledger == now.ledger;
        same && (self.sheets == now.sheets || (!self.uses.is_empty() && self.uses == marks()))
    }
}

/// A plan of the notebook, in short or with what is wrong with its file.
pub type Listed = (Name, Entry, Result<Arc<Summary>, String>);

impl Notebook {
    /// Every plan in short, by name.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn summaries(&self) -> Result<Vec<Listed>, Refusal> {
        let ends = self.store.ledger_ends()?;
        let plans = self.all(Kind::Plan);
        let (next, found) = (AtomicUsize::new(0), std::sync::Mutex::new(Vec::with_capacity(plans.len())));
        std::thread::scope(|threads| {
            for _ in 0..AT_ONCE.min(plans.len()) {
                threads.spawn(|| {
                    while let Some((name, entry)) = plans.get(next.fetch_add(1, Ordering::Relaxed)) {
                        let summary = self.summary(name, entry, ends.get(name.as_str()).copied().unwrap_or(0));
                        held(&found).push((name.clone(), entry.clone(), summary));
                    }
                });
            }
        });
        let mut found = found.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
        found.sort_by(|(a, ..), (b, ..)| a.cmp(b));
        Ok(found)
    }

    fn summary(&self, name: &Name, entry: &Entry, ledger: i64) -> Result<Arc<Summary>, String> {
        let kept = entry.text.as_ref().map_err(|refusal| refusal.trouble().to_string())?;
        let mut made =
            Made { etag: kept.etag.clone(), today: self.today(), sheets: self.sheets_seen(), ledger, uses: Vec::new() };
        let known = held(&self.summaries).get(name).cloned();
        if let Some((mut from, summary)) = known
            && from.holds(&made, || self.marks_of(from.uses.iter().map(|(sheet, _)| sheet.as_str())))
        {
            if from.sheets != made.sheets {
                from.sheets = made.sheets;
                held(&self.summaries).insert(name.clone(), (from, summary.clone()));
            }
            return Ok(summary);
        }
        let worked = self.work_out(name, &kept.text, None).map_err(|refusal| refusal.trouble().to_string())?;
        // What could not be worked out may be, once a rate sheet it looks for is there.
        if worked.evaluation.problems.is_empty() {
            made.uses = self.marks_of(worked.evaluation.quotes.iter().map(|quote| quote.sheet.as_str()));
        }
        let summary = Arc::new(self.short(name, &worked));
        if worked.is_cut_short {
            return Ok(summary);
        }
        held(&self.summaries).insert(name.clone(), (made, summary.clone()));
        Ok(summary)
    }

    fn short(&self, name: &Name, worked: &Worked) -> Summary {
        let (evaluation, front) = (&worked.evaluation, &worked.document.front);
        let rule = |must: bool| {
            evaluation.record.rules.iter().find(|rule| rule.must == must && !rule.kept).map(|rule| rule.text.clone())
        };
        let title = worked.document.title();
        Summary {
            title: if title.is_empty() { name.as_str().to_owned() } else { title },
            units: evaluation.units,
            hung: evaluation.record.hung,
            finished: front.hung,
            edition: evaluation.edition.clone(),
            steps: evaluation.record.steps.clone(),
            costs: evaluation.record.costs.clone(),
            shops: self.view(&worked.document).shops,
            problems: evaluation.problems.len(),
            rules: evaluation.record.rules.len(),
            broken: rule(true),
            slack: rule(false),
            quote: evaluation.quotes.iter().find_map(|quote| quote.matter.clone()),
        }
    }

    /// The plans made from a plan, by name: name and title.
    pub fn made_from(&self, name: &Name) -> Vec<(Name, String)> {
        let all = self.all(Kind::Plan).into_iter();
        all.filter(|(_, entry)| entry.from.as_deref() == Some(name.as_str()))
            .map(|(one, entry)| (one, entry.title))
            .collect()
    }
}
