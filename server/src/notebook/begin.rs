//! New documents: an empty one, one of the built-in beginnings, the next piece made from a plan.

use engine::document::{Document, copy};

use super::Notebook;
use crate::error::Error;
use crate::names::Name;

impl Notebook {
    /// Begins a document under a free name made from its title.
    ///
    /// # Errors
    /// When the title makes no name, or the folder cannot be written.
    pub fn begin(&self, title: &str, text: &str) -> Result<Name, Error> {
        self.begin_as(&Name::from_title(title).map_err(Error::Unusable)?, text)
    }

    /// Begins a plan from the text of a beginning.
    ///
    /// # Errors
    /// As [`Notebook::begin`].
    pub fn begin_from(&self, beginning: &str, title: &str) -> Result<Name, Error> {
        let text = copy::begun(&Document::read(beginning), title, self.today()).map_err(Error::Unusable)?;
        self.begin(title, &text)
    }

    /// Begins a document under a name, or that name with a number when it is taken.
    pub(super) fn begin_as(&self, wanted: &Name, text: &str) -> Result<Name, Error> {
        // One at a time, so that two new plans never take the same name.
        let lock = self.documents.lock_of(wanted);
        let _held = lock.lock();
        let name = self.free_name(wanted)?;
        self.put(&name, text, None)?;
        Ok(name)
    }

    /// A name, or that name with a number when it is taken. Only while its lock is held.
    pub(super) fn free_name(&self, wanted: &Name) -> Result<Name, Error> {
        std::iter::once(wanted.clone())
            .chain((2..1000).map(|number| wanted.numbered(number)))
            .find(|name| !self.documents.is_taken(name) && !self.is_known(name))
            .ok_or_else(|| Error::taken("a thousand plans have this title", "give this one another"))
    }

    /// A name that has a record is not used again, so that no new plan finds an old ledger under its name.
    fn is_known(&self, name: &Name) -> bool {
        let lines = self.store.ledger(name).is_ok_and(|lines| !lines.is_empty());
        lines || self.store.has_revisions(name).unwrap_or(true)
    }

    /// Makes the start of the next piece from a plan, without the sections of these titles.
    ///
    /// # Errors
    /// When the plan or its head cannot be read, or the copy cannot be written.
    pub fn copy(&self, name: &Name, title: &str, without: &[String]) -> Result<Name, Error> {
        let kept = self.text(name)?;
        let text = copy::next_piece(&Document::read(&kept.text), name.as_str(), title, self.today(), without)
            .map_err(Error::Unusable)?;
        self.begin(title, &text)
    }
}
