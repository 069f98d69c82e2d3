//! The revisions of documents: kept with their results, calculated again on what they saw, and brought back. It knows the
//! record and what calculates, and no summary.

use std::sync::Arc;

use engine::corrections::{self, Correction};
use engine::render::compare::{self, Moved, Results};
use parking_lot::Mutex;

use super::backlog::{Backlog, Work};
use super::calculator::Calculator;
use super::orphans::Orphan;
use super::{Notebook, Saved};
use crate::error::Error;
use crate::evaluator::Worked;
use crate::folder::Kept;
use crate::names::Name;
use crate::store::Store;
use crate::store::results::{RecordedResults, pack};
use crate::store::revisions::Text;

/// The version of this program, kept beside what it calculated.
const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// When a text that is taken into the record is calculated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Calculate {
    /// At once.
    Now,
    /// Once all others are taken in too.
    Later,
}

/// A revision whose numbers are not what they were.
#[derive(Clone, Debug)]
pub struct Differs {
    /// The document.
    pub name: Name,
    /// The revision.
    pub number: u32,
    /// The version of the program that calculated it first.
    pub program: String,
    /// What it gives now instead.
    pub moved: Vec<Moved>,
    /// The corrections made since that touch what its text or rate sheets use.
    pub causes: Vec<&'static Correction>,
}

/// Every revision calculated again.
#[derive(Clone, Debug, Default)]
pub struct Again {
    /// How many there are.
    pub revisions: usize,
    /// How many gave the same to the last digit.
    pub same: usize,
    /// Those that did not.
    pub differ: Vec<Differs>,
    /// Those that had results then and cannot be calculated now, and why: document, revision, words.
    pub lost: Vec<(String, u32, String)>,
    /// Those with nothing to compare: what they were calculated from, or their results, were not kept. Document, revision, words.
    pub not: Vec<(String, u32, String)>,
}

impl Again {
    /// Whether everything that was kept is still given, but for what a stated correction touches. A revision that was wrong
    /// when it was saved, and is wrong in the same way now, gives the same.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.differ.iter().all(|one| !one.causes.is_empty()) && self.lost.is_empty()
    }
}

/// The revisions of all documents.
#[derive(Debug)]
pub struct History {
    pub(super) store: Arc<Store>,
    pub(super) calculator: Arc<Calculator>,
    backlog: Arc<Backlog>,
    /// The plans without a file, as of a count of what came and went.
    pub(super) orphans: Mutex<Option<(u64, Arc<Vec<Orphan>>)>>,
}

impl History {
    pub(super) fn new(calculator: Arc<Calculator>, backlog: Arc<Backlog>) -> Self {
        Self { store: calculator.store.clone(), calculator, backlog, orphans: Mutex::default() }
    }

    /// Takes a text into the record, unless it is the last revision already, and what it comes to.
    pub(super) fn record(&self, name: &Name, kept: &Kept) -> Result<(), Error> {
        self.record_within(name, kept, Calculate::Now, false)
    }

    /// Takes a text that came from outside into the record, once it is known which plan it is; another time when another
    /// program holds the record, for a page waits for it.
    pub(super) fn take_in(&self, name: &Name, kept: &Kept, when: Calculate) -> Result<(), Error> {
        self.recognise(name, kept)?;
        self.record_within(name, kept, when, true)
    }

    fn record_within(&self, name: &Name, kept: &Kept, when: Calculate, in_passing: bool) -> Result<(), Error> {
        let (inputs, moment) = (self.calculator.inputs(name, &kept.text)?, self.calculator.clock.moment());
        let text = Text { plan: name, text: &kept.text, hash: &kept.hash, saved: &moment };
        let taken = self.store.take_in(text, inputs, in_passing)?;
        let Some(row) = taken.fresh else { return Ok(()) };
        if when == Calculate::Later {
            self.backlog.leave(Work::Revisions);
            return Ok(());
        }
        let results = self.results_of(name, taken.number, &kept.text);
        results.map_or(Ok(()), |results| self.store.keep_results(row, results))
    }

    /// The results of a revision when it was saved; calculated on its own facts when that was not kept yet.
    ///
    /// # Errors
    /// When there is no such revision, or it cannot be calculated.
    pub(crate) fn recorded_results(&self, name: &Name, number: u32) -> Result<Results, Error> {
        match self.store.recorded_results(name, number)? {
            Some(results) => Ok(results),
            None => self.again(name, number)?.ok_or_else(|| {
                Error::missing(
                    format!("what revision {number} of `{}` was calculated from is not in the record", name.as_str()),
                    "its text is: look at that, or bring it back",
                )
            }),
        }
    }

    /// Calculates a revision again on the facts it saw; nothing for those older than facts were kept.
    fn again(&self, name: &Name, number: u32) -> Result<Option<Results>, Error> {
        let (_, inputs) = self.store.inputs(name, number)?;
        let Some(inputs) = inputs else { return Ok(None) };
        let text = self.store.revision_text(name, number)?;
        numbers(&*self.calculator.again(name, &text, &inputs)?).map(Some)
    }

    /// The results of a text just saved, and what moved since the revision before. A save never fails for it.
    pub(super) fn results_of(&self, name: &Name, number: u32, text: &str) -> Option<RecordedResults> {
        let made = self
            .again(name, number)
            .and_then(|results| results.map(|results| self.packed(name, number, text, &results)).transpose());
        made.unwrap_or_else(|error| {
            tracing::warn!(document.name = name.as_str(), error.what = %error.message().what, "the results of a revision were not saved");
            None
        })
    }

    fn packed(&self, name: &Name, number: u32, text: &str, results: &Results) -> Result<RecordedResults, Error> {
        let mut recorded = RecordedResults {
            program: PROGRAM,
            packed: pack(results)?,
            moved: String::new(),
            numbers: 0,
            lines: (count(text.lines().count()), 0),
        };
        if let Some(before) = self.store.before(name, number)? {
            // The one before may still wait to be calculated; without its facts nothing can be said.
            let moved =
                self.recorded_results(name, before).map_or_else(|_| Vec::new(), |earlier| earlier.moved(results));
            recorded.lines = counted(&self.store.revision_text(name, before)?, text);
            (recorded.moved, recorded.numbers) = (compare::words(&moved, 3), count(moved.len()));
        }
        Ok(recorded)
    }

    /// Calculates what was taken in but not calculated yet, oldest first. Gives how many there were.
    ///
    /// # Errors
    /// When the record cannot be read or written.
    pub fn catch_up(&self) -> Result<usize, Error> {
        self.catch_up_until(|| false)
    }

    /// The same until pages wait for something else.
    ///
    /// # Errors
    /// When the record cannot be read or written.
    pub fn catch_up_in_between(&self) -> Result<usize, Error> {
        self.catch_up_until(|| self.backlog.has(Work::Summaries))
    }

    fn catch_up_until(&self, enough: impl Fn() -> bool) -> Result<usize, Error> {
        if !self.backlog.take(Work::Revisions) {
            return Ok(0);
        }
        self.calculate_waiting(enough).inspect_err(|_| self.backlog.leave(Work::Revisions))
    }

    fn calculate_waiting(&self, enough: impl Fn() -> bool) -> Result<usize, Error> {
        let mut done = 0;
        for (name, number) in self.store.without_results()? {
            if enough() {
                self.backlog.leave(Work::Revisions);
                break;
            }
            let (row, _) = self.store.inputs(&name, number)?;
            let Ok(Some(results)) = self.again(&name, number) else { continue };
            let text = self.store.revision_text(&name, number)?;
            let results = self.packed(&name, number, &text, &results)?;
            // Another look may have been quicker.
            if self.store.recorded_results(&name, number)?.is_none() {
                self.store.keep_results(row, results)?;
                done += 1;
            }
        }
        Ok(done)
    }

    /// Calculates every revision again on its own facts and tells which no longer give the same.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn check(&self) -> Result<Again, Error> {
        let mut check = Again::default();
        for (name, number) in self.store.all_revisions()? {
            check.revisions += 1;
            let plan = name.shown().to_owned();
            let then = self.store.recorded_results(&name, number)?;
            match (then, self.again(&name, number)) {
                (Some(_), Err(error)) => check.lost.push((plan, number, error.message().to_string())),
                (None, Err(error)) => check.not.push((plan, number, error.message().to_string())),
                (_, Ok(None)) => {
                    check.not.push((plan, number, "what it was calculated from was not saved yet".to_owned()))
                }
                (None, Ok(Some(_))) => check.not.push((plan, number, "its results were not saved".to_owned())),
                (Some(then), Ok(Some(now))) => match then.moved_by_the_program(&now) {
                    moved if moved.is_empty() => check.same += 1,
                    moved => check.differ.push(self.differs(name, number, moved)?),
                },
            }
        }
        Ok(check)
    }

    /// A revision that gives other numbers, with the corrections since that touch its text or a rate sheet it saw.
    fn differs(&self, name: Name, number: u32, moved: Vec<Moved>) -> Result<Differs, Error> {
        let all = self.store.revisions(&name)?;
        let program = all.into_iter().find(|one| one.number == number).and_then(|one| one.program).unwrap_or_default();
        let text = self.store.revision_text(&name, number)?;
        let sheets = match self.store.inputs(&name, number)?.1 {
            Some(inputs) => self.calculator.facts_then(&name, &inputs)?.sheets,
            None => Arc::default(),
        };
        let texts = std::iter::once(text.as_str()).chain(sheets.values().map(String::as_str));
        let causes = corrections::since(&program, texts);
        Ok(Differs { name, number, program, moved, causes })
    }
}

impl Notebook {
    /// The day a revision was saved, else today.
    pub(crate) fn day_of(&self, name: &Name, revision: u32) -> Result<engine::measure::Day, Error> {
        let all = self.store.revisions(name)?;
        let saved = all.iter().find(|one| one.number == revision).and_then(|one| one.saved.get(..10));
        Ok(saved.and_then(engine::measure::Day::parse).unwrap_or_else(|| self.today()))
    }

    /// Brings a revision's text back, as a new revision.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when there is no such revision.
    pub fn restore(&self, name: &Name, number: u32, from: &str) -> Result<Saved, Error> {
        let text = self.store.revision_text(name, number)?;
        self.save(name, &text, from)
    }
}

/// All results of a document, unless a calculation was stopped for taking too long: that says nothing of the plan.
fn numbers(worked: &Worked) -> Result<Results, Error> {
    if worked.is_cut_short {
        return Err(Error::Busy(engine::Message::new(
            "this plan could not be calculated in time",
            "try again when the computer has less to do",
        )));
    }
    Ok(Results::of(&worked.document, &worked.evaluation))
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// Lines added and lines removed between two texts.
fn counted(before: &str, after: &str) -> (u32, u32) {
    let diff = similar::TextDiff::from_lines(before, after);
    diff.iter_all_changes().fold((0, 0), |(added, removed), change| match change.tag() {
        similar::ChangeTag::Insert => (added + 1, removed),
        similar::ChangeTag::Delete => (added, removed + 1),
        similar::ChangeTag::Equal => (added, removed),
    })
}
