//! What the wall and the year need to know of each plan, kept small so that a thousand plans are at hand at once.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, PoisonError};
use std::time::{Duration, Instant};

use engine::document::{Document, Kind, front};
use engine::measure::{Day, Units};
use engine::script::record::{CostLine, Hung, Step};
use engine::trade::edition::Edition;

use super::{Entry, Notebook, held};
use crate::evaluator::Worked;
use crate::folder::Kept;
use crate::names::Name;
use crate::trouble::Refusal;

/// Threads that work plans out for a whole notebook; the evaluator has no more.
const AT_ONCE: usize = 2;
/// Plans that are worked out while a page waits; of more, the page shows what was known.
const AT_HAND: usize = 12;
/// How often open pages hear how far the others are.
const TOLD: Duration = Duration::from_secs(2);

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

impl Summary {
    /// Of a plan of which only the title is known yet.
    fn blank(title: &str) -> Self {
        Self {
            title: title.to_owned(),
            units: Units::default(),
            hung: None,
            finished: None,
            edition: None,
            steps: Vec::new(),
            costs: Vec::new(),
            shops: Vec::new(),
            problems: 0,
            rules: 0,
            broken: None,
            slack: None,
            quote: None,
        }
    }
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

/// A plan in short, or what is wrong with its file.
pub type InShort = Result<Arc<Summary>, String>;
/// The last line of every plan's ledger.
type Ends = HashMap<String, i64>;

/// A plan of the notebook, in short or with what is wrong with its file.
#[derive(Clone, Debug)]
pub struct Listed {
    /// Its name.
    pub name: Name,
    /// Its title, else its name.
    pub title: String,
    /// In short.
    pub summary: InShort,
    /// What is told is from before, or nothing yet: it is being worked out anew.
    pub anew: bool,
}

impl Notebook {
    /// Every plan in short, by name. A few that are not known as they stand are worked out at once; of many, what was known
    /// before is given, so that a page never waits for a thousand plans, and [`Notebook::catch_up`] is called for.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn summaries(&self) -> Result<Vec<Listed>, Refusal> {
        let ends = self.store.ledger_ends()?;
        let plans = self.all(Kind::Plan);
        let known: Vec<_> = plans.iter().map(|(name, entry)| self.known(name, entry, &ends)).collect();
        let open: Vec<_> =
            plans.iter().zip(&known).filter(|(_, known)| known.is_none()).map(|(plan, _)| plan).collect();
        let mut found = HashMap::new();
        if open.len() <= AT_HAND {
            found = self.work_out_in_short(&open, &ends, || {});
        } else {
            self.behind.notify_one();
        }
        let listed = plans.iter().zip(known).map(|((name, entry), known)| {
            let known = known.or_else(|| found.remove(name));
            let anew = known.is_none();
            let before = || held(&self.summaries).get(name).map(|(_, summary)| summary.clone());
            let summary =
                known.unwrap_or_else(|| Ok(before().unwrap_or_else(|| Arc::new(Summary::blank(&entry.title)))));
            Listed { name: name.clone(), title: entry.title.clone(), summary, anew }
        });
        Ok(listed.collect())
    }

    /// Works every plan out in short that is not known as it stands, and tells open pages as it goes on. Gives how many
    /// there were.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn catch_up(&self) -> Result<usize, Refusal> {
        let ends = self.store.ledger_ends()?;
        let plans = self.all(Kind::Plan);
        let open: Vec<_> = plans.iter().filter(|(name, entry)| self.known(name, entry, &ends).is_none()).collect();
        let told = std::sync::Mutex::new(Instant::now());
        let tell = || {
            if let Some((name, entry)) = open.first() {
                self.tell(name, entry.text.as_ref().map_or("", |kept| kept.etag.as_str()));
            }
        };
        let _ = self.work_out_in_short(&open, &ends, || {
            let mut last = held(&told);
            if last.elapsed() > TOLD {
                *last = Instant::now();
                tell();
            }
        });
        tell();
        Ok(open.len())
    }

    /// Waits until there is more to work out than a page waits for.
    pub async fn is_behind(&self) {
        self.behind.notified().await;
    }

    fn work_out_in_short(
        &self,
        plans: &[&(Name, Entry)],
        ends: &Ends,
        done: impl Fn() + Sync,
    ) -> HashMap<Name, InShort> {
        let found = std::sync::Mutex::new(HashMap::with_capacity(plans.len()));
        at_once(plans, |(name, entry)| {
            let summary = self.summary(name, entry, end_of(ends, name));
            held(&found).insert(name.clone(), summary);
            done();
        });
        found.into_inner().unwrap_or_else(PoisonError::into_inner)
    }

    /// What is known of a plan as it stands.
    fn known(&self, name: &Name, entry: &Entry, ends: &Ends) -> Option<InShort> {
        let kept = match &entry.text {
            Ok(kept) => kept,
            Err(refusal) => return Some(Err(refusal.trouble().to_string())),
        };
        let made = self.made(kept, end_of(ends, name));
        let (mut from, summary) = held(&self.summaries).get(name).cloned()?;
        let holds = from.holds(&made, || {
            let front = Document::read(front::head_of(&kept.text)).front;
            self.marks_of(&front, from.uses.iter().map(|(sheet, _)| sheet.as_str())).unwrap_or_default()
        });
        if !holds {
            return None;
        }
        if from.sheets != made.sheets {
            from.sheets = made.sheets;
            held(&self.summaries).insert(name.clone(), (from, summary.clone()));
        }
        Some(Ok(summary))
    }

    fn made(&self, kept: &Kept, ledger: i64) -> Made {
        Made { etag: kept.etag.clone(), today: self.today(), sheets: self.sheets_seen(), ledger, uses: Vec::new() }
    }

    fn summary(&self, name: &Name, entry: &Entry, ledger: i64) -> Result<Arc<Summary>, String> {
        let words = |refusal: Refusal| refusal.trouble().to_string();
        let kept = entry.text.as_ref().map_err(|refusal| refusal.trouble().to_string())?;
        let mut made = self.made(kept, ledger);
        let worked = self.work_out(name, &kept.text, None).map_err(words)?;
        // What could not be worked out may be, once a rate sheet it looks for is there.
        if worked.evaluation.problems.is_empty() {
            let sheets = worked.evaluation.quotes.iter().map(|quote| quote.sheet.as_str());
            made.uses = self.marks_of(&worked.document.front, sheets).map_err(words)?;
        }
        if worked.is_cut_short {
            // Another time it may not be: this is shown until then, and does not hold.
            made.etag.clear();
        }
        let summary = Arc::new(self.short(name, &worked));
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

/// The last line of a plan's ledger, nought when there is none.
fn end_of(ends: &Ends, name: &Name) -> i64 {
    ends.get(name.as_str()).copied().unwrap_or(0)
}

/// Does something with each of many, a few at once.
pub(super) fn at_once<T: Sync>(all: &[T], act: impl Fn(&T) + Sync) {
    let next = AtomicUsize::new(0);
    std::thread::scope(|threads| {
        for _ in 0..AT_ONCE.min(all.len()) {
            threads.spawn(|| {
                while let Some(one) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
                    act(one);
                }
            });
        }
    });
}
