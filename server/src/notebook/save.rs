//! Saving: a change to a text, acknowledged only when the record and the file hold it.

use engine::Message;
use engine::document::actuals::{self, Actual};
use engine::document::{Document, change, head_edit};

use super::history::Calculate;
use super::{Notebook, Saved};
use crate::error::Error;
use crate::folder::{self, Kept, Replaced};
use crate::names::Name;
use crate::store::revisions::Text;

/// The mark some editors begin a text with.
const BYTE_ORDER: char = '\u{feff}';

impl Notebook {
    /// Saves a text made from the one marked `from`.
    ///
    /// The revision is written into the record first, then the file is replaced, then the revision is marked as
    /// standing: only then is the save acknowledged.
    ///
    /// # Errors
    /// When the document changed meanwhile (both texts are kept), is too long, or cannot be written.
    pub fn save(&self, name: &Name, text: &str, from: &str) -> Result<Saved, Error> {
        let wanted = folder::hash_of(text.as_bytes());
        self.save_change(name, from, Some(&wanted), |_| Ok(text.to_owned()))
    }

    /// Saves a change to the text marked `from`.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the change cannot be made.
    pub(super) fn save_change(
        &self,
        name: &Name,
        from: &str,
        wanted: Option<&str>,
        act: impl FnOnce(&Kept) -> Result<String, Error>,
    ) -> Result<Saved, Error> {
        let lock = self.documents.lock_of(name);
        let _held = lock.lock();
        self.fresh_held(name, Calculate::Now);
        let now = self.documents.as_read(name)?;
        if wanted == Some(now.hash.as_str()) {
            // Saved already: the answer to the first try was lost on the way.
            self.history.record(name, &now)?;
            return Ok(Saved { revision: self.store.number_of(name, &now.hash)?, hash: now.hash.clone() });
        }
        if now.hash != from {
            return Err(stale(&now));
        }
        let mut text = act(&now)?;
        // What the program itself changes keeps the byte-order mark a file begins with; it is not part of what is read.
        if wanted.is_none() && now.text.starts_with(BYTE_ORDER) && !text.starts_with(BYTE_ORDER) {
            text.insert(0, BYTE_ORDER);
        }
        // What is about to be replaced must be in the record: it may have come from outside a moment ago.
        self.history.record(name, &now)?;
        self.put(name, &text, Some(&now.hash))
    }

    /// Rewrites one given of a plan.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when what was entered cannot be read.
    pub fn set_given(&self, name: &Name, from: &str, number: usize, entered: &str) -> Result<Saved, Error> {
        self.save_change(name, from, None, |now| {
            let worked = self.calculator.calculate(name, &now.text, None)?;
            let given = worked
                .evaluation
                .record
                .givens
                .get(number)
                .ok_or_else(|| Error::missing("this given is no longer in the plan", "look at the page again"))?;
            change::set_given(&worked.document, given, entered).map_err(Error::Unusable)
        })
    }

    /// Saves what a change makes of the text marked `from`.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the change cannot be made.
    pub(crate) fn rewrite(
        &self,
        name: &Name,
        from: &str,
        change: impl FnOnce(&str) -> Result<String, Error>,
    ) -> Result<Saved, Error> {
        self.save_change(name, from, None, |now| change(&now.text))
    }

    /// Ticks or clears a box of a plan.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the line has no box.
    pub fn set_tick(&self, name: &Name, from: &str, line: usize, done: bool) -> Result<Saved, Error> {
        self.save_change(name, from, None, |now| {
            change::set_tick(&Document::read(&now.text), line, done).map_err(Error::Unusable)
        })
    }

    /// Names the shop that does something for the plan, by its rate sheet.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the head cannot be read.
    pub fn set_shop(&self, name: &Name, from: &str, role: &str, sheet: &str) -> Result<Saved, Error> {
        self.save_change(name, from, None, |now| {
            head_edit::set_shop(&Document::read(&now.text), role, sheet).map_err(Error::Unusable)
        })
    }

    /// Writes something that happened into a plan's text.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when what is written cannot stand in a plan or tells of a step or cost it does not have.
    pub fn note(&self, name: &Name, from: &str, actual: &Actual) -> Result<Saved, Error> {
        self.save_change(name, from, None, |now| {
            let worked = self.calculator.calculate(name, &now.text, None)?;
            actual.belongs_to(&worked.evaluation.record).map_err(Error::Unusable)?;
            actuals::write(&worked.document, actual).map_err(Error::Unusable)
        })
    }

    /// Writes a text made from the one marked `from`, or a new document. Only while its lock is held.
    pub(super) fn put(&self, name: &Name, text: &str, from: Option<&str>) -> Result<Saved, Error> {
        if text.len() as u64 > folder::LONGEST {
            return Err(Error::TooLong(Message::new(
                format!("this text is {} kB long, and at most 1024 kB are kept", text.len() / 1024),
                "cut it into two documents",
            )));
        }
        let hash = folder::hash_of(text.as_bytes());
        let (inputs, moment) = (self.calculator.inputs(name, text)?, self.moment());
        let (revision, row) = self.store.intend(Text { plan: name, text, hash: &hash, saved: &moment }, inputs)?;
        match folder::replace(self.root(), name, text, from)? {
            Replaced::Done(displaced) => {
                self.documents.displace(displaced.map(|displaced| (name.clone(), displaced)));
            }
            Replaced::Changed => {
                self.fresh_held(name, Calculate::Now);
                return Err(stale(&*self.documents.as_read(name)?));
            }
        }
        self.store.written(row, self.history.results_of(name, revision, text))?;
        if text.is_empty() {
            // Emptied here, and not by an editor that will go on writing.
            self.documents.remove(name);
        }
        self.fresh_held(name, Calculate::Now);
        Ok(Saved { revision, hash })
    }
}

fn stale(now: &Kept) -> Error {
    Error::Stale {
        message: Message::new(
            "this document was changed meanwhile, here in another window or outside",
            "look at both texts and choose; neither is lost",
        ),
        theirs: now.text.clone(),
        hash: now.hash.clone(),
    }
}
