//! What the wall and the year need to know of each plan, kept small so that ten thousand plans are at hand at once.

use std::collections::HashMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::sync_channel;
use std::time::{Duration, Instant};

use engine::document::{Document, Kind};
use engine::measure::Day;
use engine::trade::edition::Entry as Happening;
use parking_lot::Mutex;
use serde::{Deserialize, Serialize};

use super::backlog::{Backlog, Work};
use super::calculator::Calculator;
use super::documents::Entry;
use super::rate_sheets::{Held, Shelf, held_by};
use super::summary::Summary;
use super::unwritten::Unwritten;
use crate::error::Error;
use crate::evaluator::{STACK, Worked};
use crate::folder::Kept;
use crate::names::Name;
use crate::store::Store;
use crate::store::index::Words;
use crate::store::ledger::{Ends, Ledgers, entries};

/// Threads that calculate plans for a whole notebook; the evaluator has more, for what people ask meanwhile.
const AT_ONCE: usize = 2;
/// Plans that are calculated while a page waits; of more, the page shows what was known.
const AT_HAND: usize = 12;
/// How often open pages hear how far the others are.
const TOLD: Duration = Duration::from_secs(2);
/// The count of rate sheets' changes of a summary an earlier start made: no count of this one.
const BEFORE: fn() -> u64 = || u64::MAX;

/// Who waits until plans are calculated.
#[derive(Clone, Copy)]
enum Waits<'a> {
    /// A page, of which there may be many: the evaluator's threads see to them in turn.
    APage,
    /// Nobody, and they are many. Only one goes through the notebook like this, on threads of its own, and has looked up all
    /// ledgers before.
    Nobody(&'a Ledgers),
}

/// What a summary was made from.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Inputs {
    #[serde(rename = "etag")]
    pub(super) hash: String,
    today: Day,
    #[serde(skip, default = "BEFORE")]
    sheets: u64,
    ledger: i64,
    /// What the plan holds to.
    holds: Held,
    /// The rate sheets drawn on or named in its head, with the hashes of their texts.
    uses: Uses,
}

/// What of the rate sheets a summary was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
enum Uses {
    /// Some, with the hashes of their texts.
    Some(Vec<(String, String)>),
    /// Something could not be calculated, which any of them may mend: the hash of all, and those the text names.
    Any(String, Vec<String>),
}

impl Uses {
    /// Whether the rate sheets are the same on a shelf.
    fn stand_on(&self, shelf: &Shelf) -> bool {
        match self {
            Self::Some(uses) => uses.iter().all(|(sheet, hash)| shelf.hash_of(sheet) == hash),
            Self::Any(hash, _) => *shelf.hash == **hash,
        }
    }
}

impl Inputs {
    /// Whether nothing else than the rate sheets can have changed.
    fn is_of(&self, hash: &str, today: Day, ledger: i64) -> bool {
        self.hash == hash && self.today == today && self.ledger == ledger
    }
}

/// A plan in short, or what is wrong with its file.
pub type InShort = Result<Arc<Summary>, String>;

/// What is seen of a plan at first glance.
enum Standing {
    /// It is known as it stands.
    Known(InShort),
    /// It was, but rate sheets changed since, and it holds to some as they once were: these are to be looked up.
    Doubtful,
    /// It is to be calculated.
    Unknown,
}

/// What is seen of a plan, as rate sheets stand that were counted before their shelf was looked at.
fn standing(
    all: &mut HashMap<Name, (Inputs, Arc<Summary>)>,
    name: &Name,
    entry: &Entry,
    ends: &Ends,
    today: Day,
    (sheets, shelf): (u64, &Shelf),
) -> Standing {
    let hash = match &entry.hash {
        Ok(hash) => hash,
        Err(error) => return Standing::Known(Err(error.message().to_string())),
    };
    match all.get_mut(name).filter(|(inputs, _)| inputs.is_of(hash, today, end_of(ends, name))) {
        None => Standing::Unknown,
        Some((inputs, summary)) if inputs.sheets == sheets => Standing::Known(Ok(summary.clone())),
        Some((inputs, _)) if inputs.holds != Held::default() => Standing::Doubtful,
        Some((inputs, summary)) if inputs.uses.stand_on(shelf) => {
            inputs.sheets = sheets;
            Standing::Known(Ok(summary.clone()))
        }
        Some(_) => Standing::Unknown,
    }
}

/// A plan of the notebook, in short or with what is wrong with its file.
#[derive(Clone, Debug)]
pub struct Listed {
    /// Its name.
    pub name: Name,
    /// Its title, else its name.
    pub title: String,
    /// In short.
    pub summary: InShort,
    /// What is told is from before, or nothing yet: it is being calculated again.
    pub stale: bool,
}

/// Every plan in short, with what that was made from.
#[derive(Debug)]
pub struct SummaryCache {
    pub(super) store: Arc<Store>,
    pub(super) calculator: Arc<Calculator>,
    backlog: Arc<Backlog>,
    pub(super) known: Mutex<HashMap<Name, (Inputs, Arc<Summary>)>>,
    /// What is to be written down of which documents, so that the next start knows it.
    pub(super) unwritten: Mutex<Unwritten>,
}

/// All plans, and what is known of each.
struct AllKnown {
    plans: Vec<(Name, Entry)>,
    known: Vec<Option<InShort>>,
    ends: Arc<Ends>,
}

impl AllKnown {
    /// Those not known as they stand.
    fn open(&self) -> Vec<&(Name, Entry)> {
        self.plans.iter().zip(&self.known).filter(|(_, known)| known.is_none()).map(|(plan, _)| plan).collect()
    }
}

impl SummaryCache {
    pub(super) fn new(calculator: Arc<Calculator>, backlog: Arc<Backlog>) -> Self {
        let store = calculator.store.clone();
        Self { store, calculator, backlog, known: Mutex::default(), unwritten: Mutex::default() }
    }

    /// Every plan in short, by name. A few that are not known as they stand are calculated at once; of many, what was known
    /// before is given, so that a page never waits for a thousand plans, and [`SummaryCache::catch_up`] is called for.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn all(&self) -> Result<Vec<Listed>, Error> {
        let all = self.all_known()?;
        let (open, mut found) = (all.open(), HashMap::new());
        if open.len() <= AT_HAND {
            found = self.calculate_all(&open, &all.ends, Waits::APage, || {
                if self.has_much_to_write_down() {
                    self.write_down();
                }
            });
        } else {
            self.backlog.add(Work::Summaries);
        }
        let AllKnown { plans, known, .. } = all;
        let all = self.known.lock();
        let listed = plans.iter().zip(known).map(|((name, entry), known)| {
            let known = known.or_else(|| found.remove(name));
            let stale = known.is_none();
            let before = || all.get(name).map(|(_, summary)| summary.clone());
            let summary = known.unwrap_or_else(|| {
                Ok(before().unwrap_or_else(|| Arc::new(Summary { title: entry.title.clone(), ..Summary::default() })))
            });
            Listed { name: name.clone(), title: entry.title.clone(), summary, stale }
        });
        Ok(listed.collect())
    }

    /// Calculates every plan that is not known as it stands, and tells open pages as it goes on. Gives how many there were.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn catch_up(&self) -> Result<usize, Error> {
        self.backlog.take(Work::Summaries);
        let all = self.all_known()?;
        let open = all.open();
        if open.is_empty() {
            self.write_down();
            return Ok(0);
        }
        // After their ends: a line that is added meanwhile leaves its plan to be calculated again.
        let ledgers =
            if open.len() > AT_HAND { Some(self.store.ledgers(self.calculator.clock.today())?) } else { None };
        let waits = ledgers.as_ref().map_or(Waits::APage, Waits::Nobody);
        let last_told = Mutex::new(Instant::now());
        let tell = || {
            if let Some((name, entry)) = open.first() {
                self.calculator.documents.tell(name, entry.hash.as_deref().unwrap_or_default());
            }
        };
        // Whoever calculates plans does not wait for what is written down of those before.
        let (much, hears) = sync_channel(1);
        std::thread::scope(|threads| {
            threads.spawn(move || hears.iter().for_each(|()| self.write_down()));
            let _ = self.calculate_all(&open, &all.ends, waits, || {
                if self.has_much_to_write_down() {
                    let _ = much.try_send(());
                }
                let mut last = last_told.lock();
                if last.elapsed() > TOLD {
                    *last = Instant::now();
                    tell();
                }
            });
            drop(much);
        });
        self.write_down();
        tell();
        Ok(open.len())
    }

    fn calculate_all(
        &self,
        plans: &[&(Name, Entry)],
        ends: &Ends,
        waits: Waits<'_>,
        done: impl Fn() + Sync,
    ) -> HashMap<Name, InShort> {
        let found = Mutex::new(HashMap::with_capacity(plans.len()));
        at_once(plans, |(name, entry)| {
            let summary = self.summary(name, entry, end_of(ends, name), waits);
            found.lock().insert(name.clone(), summary);
            done();
        });
        found.into_inner()
    }

    /// What is known of each plan as it stands.
    fn all_known(&self) -> Result<AllKnown, Error> {
        let (ends, today) = (self.store.ledger_ends()?, self.calculator.clock.today());
        let plans = self.calculator.documents.all(Kind::Plan);
        let standings: Vec<_> = {
            let (sheets, shelf) = self.calculator.rates.now();
            // Locked once: a lock that is asked for ten thousand times is waited for ten thousand times.
            let mut all = self.known.lock();
            plans.iter().map(|(name, entry)| standing(&mut all, name, entry, &ends, today, (sheets, &shelf))).collect()
        };
        let known = plans.iter().zip(standings).map(|((name, entry), standing)| match standing {
            Standing::Known(short) => Some(short),
            Standing::Doubtful => self.looked_up(name, entry, &ends, today),
            Standing::Unknown => None,
        });
        let known = known.collect();
        Ok(AllKnown { plans, known, ends })
    }

    /// What is known of a plan that holds to rate sheets as they once were, unless one of these is another now.
    fn looked_up(&self, name: &Name, entry: &Entry, ends: &Ends, today: Day) -> Option<InShort> {
        let (sheets, shelf) = self.calculator.rates.now();
        let (holds, uses) = {
            let all = self.known.lock();
            let (inputs, _) = all.get(name)?;
            (inputs.holds.clone(), inputs.uses.clone())
        };
        let (hash, ledger) = (entry.hash.as_deref().ok()?, end_of(ends, name));
        let now = match &uses {
            Uses::Some(uses) => {
                let held = self.calculator.rates.shelf_holding(&holds).ok()?;
                Uses::Some(held.marks_of(uses.iter().map(|(sheet, _)| sheet.as_str())))
            }
            Uses::Any(_, named) => Uses::Any(shelf.hash.to_string(), named.clone()),
        };
        if now != uses {
            return None;
        }
        let mut all = self.known.lock();
        let (inputs, summary) = all.get_mut(name).filter(|(inputs, _)| inputs.is_of(hash, today, ledger))?;
        inputs.sheets = sheets;
        Some(Ok(summary.clone()))
    }

    /// The rate sheets a plan used when it was last calculated; nothing when that is not known.
    pub(super) fn used_by(&self, name: &Name, entry: &Entry) -> Option<Vec<String>> {
        let hash = entry.hash.as_deref().ok()?;
        let all = self.known.lock();
        let (inputs, _) = all.get(name).filter(|(inputs, _)| *inputs.hash == *hash)?;
        match &inputs.uses {
            Uses::Some(uses) => Some(uses.iter().map(|(sheet, _)| sheet.clone()).collect()),
            Uses::Any(_, named) => Some(named.clone()),
        }
    }

    fn summary(&self, name: &Name, entry: &Entry, ledger: i64, waits: Waits<'_>) -> Result<Arc<Summary>, String> {
        let words = |error: Error| error.message().to_string();
        if let Err(error) = &entry.hash {
            return Err(error.message().to_string());
        }
        // All it is made from is looked at before, so that what changes meanwhile is seen to have changed.
        let Calculator { documents, rates, evaluator, clock, .. } = &*self.calculator;
        let (sheets, now) = rates.now();
        let kept = documents.as_read(name).map_err(words)?;
        let document = Document::read(&kept.text);
        let holds = held_by(&document.front);
        let shelf = rates.shelf_holding(&holds).map_err(words)?;
        let ledgered = match waits {
            Waits::APage => entries(&self.store.ledger(name).map_err(words)?, Some(clock.today())),
            Waits::Nobody(ledgers) => ledger_of(ledgers, name),
        };
        let (facts, view) = (self.calculator.facts_on(&shelf, ledgered), documents.view(&document.front));
        let worked = match waits {
            Waits::APage => evaluator.glance(&kept.text, &facts, &view),
            Waits::Nobody(_) => evaluator.here(document, &facts, view).map(Arc::new),
        };
        let worked = worked.map_err(words)?;
        let uses = if worked.evaluation.problems.is_empty() {
            let drawn = worked.evaluation.quotes.iter().map(|quote| quote.sheet.as_str());
            let shops = worked.document.front.shops.iter().map(|(_, sheet)| sheet.as_str());
            let mut all: Vec<&str> = drawn.chain(shops).collect();
            all.sort_unstable();
            all.dedup();
            Uses::Some(shelf.marks_of(all.into_iter()))
        } else {
            // What could not be calculated may be, once a rate sheet it looks for is there.
            Uses::Any(now.hash.to_string(), now.named_in(&kept.text))
        };
        // What was cut short may not be another time: it is shown until then, and does not hold.
        let hash = if worked.is_cut_short { String::new() } else { kept.hash.clone() };
        let inputs = Inputs { hash, today: facts.today, sheets, ledger, holds, uses };
        let summary = Arc::new(Summary::of(name, &worked.document, &worked.evaluation, &worked.view.shops));
        self.known.lock().insert(name.clone(), (inputs, summary.clone()));
        self.unwritten.lock().words(name, words_of(&summary.title, &kept, &worked));
        Ok(summary)
    }
}

/// A plan's text and all its values, to be looked for.
fn words_of(title: &str, kept: &Kept, worked: &Worked) -> Words {
    let values = worked.evaluation.answers.iter().filter_map(|answer| answer.result.as_ref().ok());
    let values: Vec<_> = values.map(|found| found.value.shown(worked.evaluation.units)).collect();
    Words { hash: kept.hash.clone(), text: format!("{title}\n{}", kept.text), values: values.join("\n") }
}

/// What happened to a plan's prints.
pub(super) fn ledger_of(ledgers: &Ledgers, name: &Name) -> Vec<Happening> {
    ledgers.get(name.as_str()).cloned().unwrap_or_default()
}

/// The last line of a plan's ledger, zero when there is none.
fn end_of(ends: &Ends, name: &Name) -> i64 {
    ends.get(name.as_str()).copied().unwrap_or(0)
}

/// Does something with each of many, a few at once.
pub(super) fn at_once<T: Sync>(all: &[T], act: impl Fn(&T) + Sync) {
    let next = AtomicUsize::new(0);
    std::thread::scope(|threads| {
        for _ in 0..AT_ONCE.min(all.len()) {
            let go_on = || {
                while let Some(one) = all.get(next.fetch_add(1, Ordering::Relaxed)) {
                    act(one);
                }
            };
            // Without a thread to be had, it is done here.
            if std::thread::Builder::new().stack_size(STACK).spawn_scoped(threads, go_on).is_err() {
                go_on();
            }
        }
    });
}
