//! New documents: one put together from stages, the next piece made from a plan, a shop.

use engine::document::price_edit::{self, NewSheet};
use engine::document::stages::{self, Head, Stage};
use engine::document::{Document, change, copy};

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

    /// Begins a rate sheet, in the folder of the shops.
    ///
    /// # Errors
    /// When its head cannot be written so, or the folder cannot be written.
    pub fn begin_shop(&self, new: &NewSheet<'_>) -> Result<Name, Error> {
        let text = price_edit::new_sheet(new).map_err(Error::Unusable)?;
        let name = Name::from_title(new.name).and_then(|name| Name::new(&format!("shops/{}", name.as_str())));
        let name = name
            .map_err(|_| Error::unusable("this name holds no letter and no digit", "write what the shop is called"))?;
        self.begin_as(&name, &text)
    }

    /// The text of a plan of stages, with what was filled in besides: labels of givens and what they are to be.
    ///
    /// # Errors
    /// When the title or a stage does not fit, or what was filled in cannot be read.
    pub fn composed(&self, head: &Head, stages: &[&Stage], filled: &[(&str, &str)]) -> Result<String, Error> {
        let mut text = stages::compose(head, stages).map_err(Error::Unusable)?;
        let name = Name::from_title(&head.title).map_err(Error::Unusable)?;
        for (label, entered) in filled.iter().filter(|(_, entered)| !entered.trim().is_empty()) {
            let worked = self.calculator.calculate(&name, &text, None)?;
            if let Some(given) = worked.evaluation.record.givens.iter().find(|given| given.label == *label) {
                text = change::set_given(&worked.document, given, entered).map_err(Error::Unusable)?;
            }
        }
        Ok(text)
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
