//! The revisions of a document: kept with what they came to, looked at again, worked out again, and brought back.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use engine::corrections::{self, Correction};
use engine::document::Document;
use engine::render::compare::{self, Moved, Results};

use super::{Notebook, Saved};
use crate::evaluator::Worked;
use crate::names::Name;
use crate::store::Revision;
use crate::store::results::{Came, pack};
use crate::trouble::Refusal;

/// The version of this program, kept beside what it worked out.
const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// A revision whose numbers are not what they were.
#[derive(Clone, Debug)]
pub struct Differs {
    /// The document.
    pub name: Name,
    /// The revision.
    pub number: u32,
    /// The version of the program that worked it out first.
    pub program: String,
    /// What it gives now instead.
    pub moved: Vec<Moved>,
    /// The corrections made since that touch what its text or rate sheets use.
    pub causes: Vec<&'static Correction>,
}

/// Every revision worked out again.
#[derive(Clone, Debug, Default)]
pub struct Again {
    /// How many there are.
    pub revisions: usize,
    /// How many gave the same to the last digit.
    pub same: usize,
    /// Those that did not.
    pub differ: Vec<Differs>,
    /// Those that came to something then and cannot be worked out now, and why: document, revision, words.
    pub lost: Vec<(String, u32, String)>,
    /// Those with nothing to compare: what they came to or were worked out on was not kept. Document, revision, words.
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

impl Notebook {
    /// The revision a text stands at: the last one with its mark, else the last there is.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn revision(&self, name: &Name, etag: &str) -> Result<u32, Refusal> {
        self.store.number_of(name, etag)
    }

    /// The revisions of a document, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn revisions(&self, name: &Name) -> Result<Vec<Revision>, Refusal> {
        self.store.revisions(name)
    }

    /// The text of one revision.
    ///
    /// # Errors
    /// When there is none of that number.
    pub fn revision_text(&self, name: &Name, number: u32) -> Result<String, Refusal> {
        self.store.revision_text(name, number)
    }

    /// What a revision came to when it was saved; worked out on its own facts when that was not kept yet.
    ///
    /// # Errors
    /// When there is no such revision, or it cannot be worked out.
    pub fn came_to(&self, name: &Name, number: u32) -> Result<Results, Refusal> {
        match self.store.came_to(name, number)? {
            Some(results) => Ok(results),
            None => self.again(name, number)?.ok_or_else(|| {
                Refusal::missing(
                    format!("what revision {number} of `{}` was worked out on is not in the record", name.as_str()),
                    "its text is: look at that, or bring it back",
                )
            }),
        }
    }

    /// Works a revision out again on the facts it saw; nothing for those older than facts were kept.
    fn again(&self, name: &Name, number: u32) -> Result<Option<Results>, Refusal> {
        let (_, saw) = self.store.saw(name, number)?;
        let Some(saw) = saw else { return Ok(None) };
        let text = self.store.revision_text(name, number)?;
        // With the shops' names of today, which change no number: then what a page shows is worked out just once.
        let view = self.view(&Document::read(engine::document::front::head_of(&text)));
        let worked = self.evaluator.work_out(&text, &self.facts_then(name, &saw)?, &view)?;
        results(&worked).map(Some)
    }

    /// What a text just saved came to, and what moved since the revision before. A save never fails for it.
    pub(super) fn came(&self, name: &Name, number: u32, text: &str) -> Option<Came> {
        let made = self.again(name, number).and_then(|results| match results {
            Some(results) => self.packed(name, number, text, &results).map(Some),
            None => Ok(None),
        });
        made.unwrap_or_else(|refusal| {
            tracing::warn!(document.name = name.as_str(), refusal.what = %refusal.trouble().what, "what a revision came to was not kept");
            None
        })
    }

    fn packed(&self, name: &Name, number: u32, text: &str, results: &Results) -> Result<Came, Refusal> {
        let packed = pack(results)?;
        let Some(before) = self.store.before(name, number)? else {
            return Ok(Came {
                program: PROGRAM,
                packed,
                moved: String::new(),
                numbers: 0,
                lines: (count(text.lines().count()), 0),
            });
        };
        // The one before may still wait to be worked out; without its facts nothing can be said.
        let moved = self.came_to(name, before).map_or_else(|_| Vec::new(), |earlier| earlier.moved(results));
        let lines = counted(&self.store.revision_text(name, before)?, text);
        Ok(Came { program: PROGRAM, packed, moved: compare::words(&moved, 3), numbers: count(moved.len()), lines })
    }

    /// Works out what was taken in but not worked out yet, oldest first. Gives how many there were.
    ///
    /// # Errors
    /// When the record cannot be read or written.
    pub fn work_out_what_waits(&self) -> Result<usize, Refusal> {
        self.work_out_waiting_until(|| false)
    }

    /// The same until pages wait for something else.
    ///
    /// # Errors
    /// When the record cannot be read or written.
    pub fn work_out_what_waits_in_between(&self) -> Result<usize, Refusal> {
        self.work_out_waiting_until(|| self.hurries.load(Ordering::SeqCst))
    }

    fn work_out_waiting_until(&self, enough: impl Fn() -> bool) -> Result<usize, Refusal> {
        if !self.waits.swap(false, Ordering::SeqCst) {
            return Ok(0);
        }
        self.work_out_those_waiting(enough).inspect_err(|_| self.waits.store(true, Ordering::SeqCst))
    }

    fn work_out_those_waiting(&self, enough: impl Fn() -> bool) -> Result<usize, Refusal> {
        let waiting = self.store.not_worked_out()?;
        let mut done = 0;
        for (name, number) in waiting {
            if enough() {
                self.waits.store(true, Ordering::SeqCst);
                break;
            }
            let (row, _) = self.store.saw(&name, number)?;
            let Ok(Some(results)) = self.again(&name, number) else { continue };
            let text = self.store.revision_text(&name, number)?;
            let came = self.packed(&name, number, &text, &results)?;
            // Another look may have been quicker.
            if self.store.came_to(&name, number)?.is_none() {
                self.store.keep_results(row, came)?;
                done += 1;
            }
        }
        Ok(done)
    }

    /// Works every revision out again on its own facts and tells which no longer give the same.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn check_history(&self) -> Result<Again, Refusal> {
        let mut told = Again::default();
        for (name, number) in self.store.all_revisions()? {
            told.revisions += 1;
            let plan = name.shown().to_owned();
            let then = self.store.came_to(&name, number)?;
            match (then, self.again(&name, number)) {
                (Some(_), Err(refusal)) => told.lost.push((plan, number, refusal.trouble().to_string())),
                (None, Err(refusal)) => told.not.push((plan, number, refusal.trouble().to_string())),
                (_, Ok(None)) => told.not.push((plan, number, "what it was worked out on was not kept yet".to_owned())),
                (None, Ok(Some(_))) => told.not.push((plan, number, "what it came to was not kept".to_owned())),
                (Some(then), Ok(Some(now))) => {
                    let moved = then.moved(&now);
                    if moved.is_empty() {
                        told.same += 1;
                    } else {
                        let program = self.program_of(&name, number)?;
                        let causes = self.corrected_since(&name, number, &program)?;
                        told.differ.push(Differs { name, number, program, moved, causes });
                    }
                }
            }
        }
        Ok(told)
    }

    /// The corrections since a version that touch a revision's text or a rate sheet it saw.
    fn corrected_since(&self, name: &Name, number: u32, program: &str) -> Result<Vec<&'static Correction>, Refusal> {
        let text = self.store.revision_text(name, number)?;
        let sheets = match self.store.saw(name, number)?.1 {
            Some(saw) => self.facts_then(name, &saw)?.sheets,
            None => Arc::default(),
        };
        let texts = std::iter::once(text.as_str()).chain(sheets.values().map(String::as_str));
        Ok(corrections::since(program, texts))
    }

    fn program_of(&self, name: &Name, number: u32) -> Result<String, Refusal> {
        let all = self.store.revisions(name)?;
        Ok(all.into_iter().find(|one| one.number == number).and_then(|one| one.program).unwrap_or_default())
    }

    /// Brings a revision's text back, as a new revision.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when there is no such revision.
    pub fn restore(&self, name: &Name, number: u32, from: &str) -> Result<Saved, Refusal> {
        let text = self.store.revision_text(name, number)?;
        self.save(name, &text, from)
    }
}

/// Everything a document came to, unless a calculation was stopped for taking too long: that says nothing of the plan.
fn results(worked: &Arc<Worked>) -> Result<Results, Refusal> {
    if worked.is_cut_short {
        return Err(Refusal::Busy(engine::Trouble::new(
            "this plan could not be worked out in time",
            "try again when the computer has less to do",
        )));
    }
    Ok(Results::of(&worked.document, &worked.evaluation))
}

fn count(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// Lines that came and lines that went between two texts.
fn counted(before: &str, after: &str) -> (u32, u32) {
    let diff = similar::TextDiff::from_lines(before, after);
    diff.iter_all_changes().fold((0, 0), |(came, went), change| match change.tag() {
        similar::ChangeTag::Insert => (came + 1, went),
        similar::ChangeTag::Delete => (came, went + 1),
        similar::ChangeTag::Equal => (came, went),
    })
}

/// The title a revision had.
#[must_use]
pub fn title_of(text: &str) -> String {
    Document::read(text).title()
}
