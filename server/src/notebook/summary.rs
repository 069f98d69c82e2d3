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

use super::facts::{Held, Shelf, held_by};
use super::short::Summary;
use super::{Entry, Notebook, held};
use crate::evaluator::{STACK, Worked};
use crate::folder::Kept;
use crate::names::Name;
use crate::store::index::Words;
use crate::store::ledger::{Ends, Ledgers, entries};
use crate::trouble::Refusal;

/// Threads that work plans out for a whole notebook; the evaluator has more, for what people ask meanwhile.
const AT_ONCE: usize = 2;
/// Plans that are worked out while a page waits; of more, the page shows what was known.
const AT_HAND: usize = 12;
/// How often open pages hear how far the others are.
const TOLD: Duration = Duration::from_secs(2);
/// The count of rate sheets' changes of a summary an earlier start made: no count of this one.
const BEFORE: fn() -> u64 = || u64::MAX;

/// Who waits until plans are worked out.
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
pub(super) struct Made {
    pub(super) etag: String,
    today: Day,
    #[serde(skip, default = "BEFORE")]
    sheets: u64,
    ledger: i64,
    /// What the plan holds to.
    holds: Held,
    /// The rate sheets drawn on or named in its head, with the marks of their texts.
    uses: Uses,
}

/// What of the rate sheets a summary was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
enum Uses {
    /// Some, with the marks of their texts.
    Some(Vec<(String, String)>),
    /// Something could not be worked out, which any of them may mend: the mark of all, and those the text names.
    Any(String, Vec<String>),
}

impl Uses {
    /// Whether the rate sheets are the same on a shelf.
    fn stand_on(&self, shelf: &Shelf) -> bool {
        match self {
            Self::Some(uses) => uses.iter().all(|(sheet, mark)| shelf.mark_of(sheet) == mark),
            Self::Any(mark, _) => *shelf.mark == **mark,
        }
    }
}

impl Made {
    /// Whether nothing else than the rate sheets can have changed.
    fn is_of(&self, mark: &str, today: Day, ledger: i64) -> bool {
        self.etag == mark && self.today == today && self.ledger == ledger
    }
}

/// Every plan in short, with what that was made from.
pub(super) type Summaries = HashMap<Name, (Made, Arc<Summary>)>;
/// A plan in short, or what is wrong with its file.
pub type InShort = Result<Arc<Summary>, String>;

/// What is seen of a plan at first glance.
enum Standing {
    /// It is known as it stands.
    Known(InShort),
    /// It was, but rate sheets changed since, and it holds to some as they once were: these are to be looked up.
    Doubtful,
    /// It is to be worked out.
    Unknown,
}

/// What is seen of a plan, as rate sheets stand that were counted before their shelf was looked at.
fn standing(
    all: &mut Summaries,
    name: &Name,
    entry: &Entry,
    ends: &Ends,
    today: Day,
    (sheets, shelf): (u64, &Shelf),
) -> Standing {
    let mark = match &entry.mark {
        Ok(mark) => mark,
        Err(refusal) => return Standing::Known(Err(refusal.trouble().to_string())),
    };
    match all.get_mut(name).filter(|(made, _)| made.is_of(mark, today, end_of(ends, name))) {
        None => Standing::Unknown,
        Some((made, summary)) if made.sheets == sheets => Standing::Known(Ok(summary.clone())),
        Some((made, _)) if made.holds != Held::default() => Standing::Doubtful,
        Some((made, summary)) if made.uses.stand_on(shelf) => {
            made.sheets = sheets;
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
        let (ends, today) = (self.store.ledger_ends()?, self.today());
        let plans = self.all(Kind::Plan);
        let known = self.all_known(&plans, &ends, today);
        let open: Vec<_> =
            plans.iter().zip(&known).filter(|(_, known)| known.is_none()).map(|(plan, _)| plan).collect();
        let mut found = HashMap::new();
        if open.len() <= AT_HAND {
            found = self.work_out_in_short(&open, &ends, Waits::APage, || {
                if self.has_much_to_write_down() {
                    self.write_down();
                }
            });
        } else {
            self.fall_behind();
        }
        let all = held(&self.summaries);
        let listed = plans.iter().zip(known).map(|((name, entry), known)| {
            let known = known.or_else(|| found.remove(name));
            let anew = known.is_none();
            let before = || all.get(name).map(|(_, summary)| summary.clone());
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
        self.hurries.store(false, Ordering::SeqCst);
        let (ends, today) = (self.store.ledger_ends()?, self.today());
        let plans = self.all(Kind::Plan);
        let known = self.all_known(&plans, &ends, today);
        let open: Vec<_> =
            plans.iter().zip(&known).filter(|(_, known)| known.is_none()).map(|(plan, _)| plan).collect();
        if open.is_empty() {
            self.write_down();
            return Ok(0);
        }
        // After their ends: a line that is added meanwhile leaves its plan to be worked out again.
        let ledgers = if open.len() > AT_HAND { Some(self.store.ledgers(today)?) } else { None };
        let waits = ledgers.as_ref().map_or(Waits::APage, Waits::Nobody);
        let told = Mutex::new(Instant::now());
        let tell = || {
            if let Some((name, entry)) = open.first() {
                self.tell(name, entry.mark.as_deref().unwrap_or_default());
            }
        };
        // Whoever works plans out does not wait for what is written down of those before.
        let (much, hears) = sync_channel(1);
        std::thread::scope(|threads| {
            threads.spawn(move || hears.iter().for_each(|()| self.write_down()));
            let _ = self.work_out_in_short(&open, &ends, waits, || {
                if self.has_much_to_write_down() {
                    let _ = much.try_send(());
                }
                let mut last = held(&told);
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

    /// There is more to work out than a page waits for.
    pub(super) fn fall_behind(&self) {
        self.hurries.store(true, Ordering::SeqCst);
        self.behind.notify_one();
    }

    /// Waits until there is more to work out than a page waits for.
    pub async fn is_behind(&self) {
        self.behind.notified().await;
    }

    fn work_out_in_short(
        &self,
        plans: &[&(Name, Entry)],
        ends: &Ends,
        waits: Waits<'_>,
        done: impl Fn() + Sync,
    ) -> HashMap<Name, InShort> {
        let found = Mutex::new(HashMap::with_capacity(plans.len()));
        at_once(plans, |(name, entry)| {
            let summary = self.summary(name, entry, end_of(ends, name), waits);
            held(&found).insert(name.clone(), summary);
            done();
        });
        found.into_inner()
    }

    /// What is known of each plan as it stands.
    fn all_known(&self, plans: &[(Name, Entry)], ends: &Ends, today: Day) -> Vec<Option<InShort>> {
        let standings: Vec<_> = {
            let (sheets, shelf) = (self.sheets_seen(), self.shelf());
            // Locked once: a lock that is asked for ten thousand times is waited for ten thousand times.
            let mut all = held(&self.summaries);
            plans.iter().map(|(name, entry)| standing(&mut all, name, entry, ends, today, (sheets, &shelf))).collect()
        };
        let known = plans.iter().zip(standings).map(|((name, entry), standing)| match standing {
            Standing::Known(short) => Some(short),
            Standing::Doubtful => self.looked_up(name, entry, ends, today),
            Standing::Unknown => None,
        });
        known.collect()
    }

    /// What is known of a plan that holds to rate sheets as they once were, unless one of these is another now.
    fn looked_up(&self, name: &Name, entry: &Entry, ends: &Ends, today: Day) -> Option<InShort> {
        let sheets = self.sheets_seen();
        let (holds, uses) = {
            let all = held(&self.summaries);
            let (made, _) = all.get(name)?;
            (made.holds.clone(), made.uses.clone())
        };
        let (mark, ledger) = (entry.mark.as_deref().ok()?, end_of(ends, name));
        let now = match &uses {
            Uses::Some(uses) => Uses::Some(self.marks_of(&holds, uses.iter().map(|(sheet, _)| sheet.as_str())).ok()?),
            Uses::Any(_, named) => Uses::Any(self.shelf().mark.to_string(), named.clone()),
        };
        if now != uses {
            return None;
        }
        let mut all = held(&self.summaries);
        let (made, summary) = all.get_mut(name).filter(|(made, _)| made.is_of(mark, today, ledger))?;
        made.sheets = sheets;
        Some(Ok(summary.clone()))
    }

    /// The rate sheets a plan drew on when it was last worked out; nothing when that is not known.
    pub(super) fn drew_on(&self, name: &Name, entry: &Entry) -> Option<Vec<String>> {
        let mark = entry.mark.as_deref().ok()?;
        let all = held(&self.summaries);
        let (made, _) = all.get(name).filter(|(made, _)| *made.etag == *mark)?;
        match &made.uses {
            Uses::Some(uses) => Some(uses.iter().map(|(sheet, _)| sheet.clone()).collect()),
            Uses::Any(_, named) => Some(named.clone()),
        }
    }

    fn summary(&self, name: &Name, entry: &Entry, ledger: i64, waits: Waits<'_>) -> Result<Arc<Summary>, String> {
        let words = |refusal: Refusal| refusal.trouble().to_string();
        if let Err(refusal) = &entry.mark {
            return Err(refusal.trouble().to_string());
        }
        // All it is made from is looked at before, so that what changes meanwhile is seen to have changed.
        let (sheets, now) = (self.sheets_seen(), self.shelf());
        let kept = self.as_read(name).map_err(words)?;
        let document = Document::read(&kept.text);
        let holds = held_by(&document.front);
        let shelf = self.shelf_holding(&holds).map_err(words)?;
        let ledgered = match waits {
            Waits::APage => entries(&self.store.ledger(name).map_err(words)?, Some(self.today())),
            Waits::Nobody(ledgers) => ledger_of(ledgers, name),
        };
        let (facts, view) = (self.facts_on(&shelf, ledgered), self.view(&document));
        let worked = match waits {
            Waits::APage => self.evaluator.glance(&kept.text, &facts, &view),
            Waits::Nobody(_) => self.evaluator.here(document, &facts, view).map(Arc::new),
        };
        let worked = worked.map_err(words)?;
        let uses = if worked.evaluation.problems.is_empty() {
            let drawn = worked.evaluation.quotes.iter().map(|quote| quote.sheet.as_str());
            let shops = worked.document.front.shops.iter().map(|(_, sheet)| sheet.as_str());
            let mut all: Vec<&str> = drawn.chain(shops).collect();
            all.sort_unstable();
            all.dedup();
            Uses::Some(all.into_iter().map(|sheet| (sheet.to_owned(), shelf.mark_of(sheet).to_owned())).collect())
        } else {
            // What could not be worked out may be, once a rate sheet it looks for is there.
            Uses::Any(now.mark.to_string(), now.named_in(&kept.text))
        };
        // What was cut short may not be another time: it is shown until then, and does not hold.
        let etag = if worked.is_cut_short { String::new() } else { kept.etag.clone() };
        let made = Made { etag, today: facts.today, sheets, ledger, holds, uses };
        let summary = Arc::new(Summary::of(name, &worked.document, &worked.evaluation, &worked.view.shops));
        held(&self.summaries).insert(name.clone(), (made, summary.clone()));
        held(&self.unwritten).words(name, words_of(&summary.title, &kept, &worked));
        Ok(summary)
    }

    /// The plans made from a plan, by name: name and title.
    pub fn made_from(&self, name: &Name) -> Vec<(Name, String)> {
        let entries = self.read();
        let made = entries
            .iter()
            .filter(|(_, entry)| entry.kind == Kind::Plan && entry.from.as_deref() == Some(name.as_str()));
        made.map(|(one, entry)| (one.clone(), entry.title.clone())).collect()
    }
}

/// A plan's text and all its values, to be looked for.
fn words_of(title: &str, kept: &Kept, worked: &Worked) -> Words {
    let values = worked.evaluation.answers.iter().filter_map(|answer| answer.result.as_ref().ok());
    let values: Vec<_> = values.map(|found| found.value.shown(worked.evaluation.units)).collect();
    Words { mark: kept.etag.clone(), text: format!("{title}\n{}", kept.text), values: values.join("\n") }
}

/// What happened to a plan's prints.
pub(super) fn ledger_of(ledgers: &Ledgers, name: &Name) -> Vec<Happening> {
    ledgers.get(name.as_str()).cloned().unwrap_or_default()
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
