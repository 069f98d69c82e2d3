//! A text calculated as the plan of its name: on the day, the rate sheets and the ledger that it sees.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::Facts;
use engine::document::{Document, Front, front};
use engine::measure::Units;
use engine::trade::edition::Entry;

use super::documents::Documents;
use super::rate_sheets::{RateSheets, Shelf};
use crate::clock::Clock;
use crate::error::Error;
use crate::evaluator::{Evaluator, Worked};
use crate::names::Name;
use crate::store::ledger::entries;
use crate::store::{SavedInputs, Store};

/// What calculates.
#[derive(Debug)]
pub struct Calculator {
    pub(super) store: Arc<Store>,
    pub(super) documents: Arc<Documents>,
    pub(super) rates: Arc<RateSheets>,
    pub(super) evaluator: Evaluator,
    pub(super) clock: Clock,
}

impl Calculator {
    /// A text calculated as the plan of that name would be.
    ///
    /// # Errors
    /// When the record cannot be read or too much is being calculated.
    pub fn calculate(&self, name: &Name, text: &str, units: Option<Units>) -> Result<Arc<Worked>, Error> {
        let head = head_of(text);
        self.evaluator.work_out(text, &self.facts(name, &head.front, units)?, &self.documents.view(&head.front))
    }

    /// The same on the facts a revision saw.
    pub(super) fn again(&self, name: &Name, text: &str, inputs: &SavedInputs) -> Result<Arc<Worked>, Error> {
        // With the shops' names of today, which change no number: then what a page shows is calculated just once.
        let view = self.documents.view(&head_of(text).front);
        self.evaluator.work_out(text, &self.facts_then(name, inputs)?, &view)
    }

    /// The facts a plan with this head is calculated on today.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn facts(&self, name: &Name, front: &Front, units: Option<Units>) -> Result<Facts, Error> {
        let ledger = entries(&self.store.ledger(name)?, Some(self.clock.today()));
        Ok(Facts { units, ..self.facts_on(&*self.rates.shelf_of(front)?, ledger) })
    }

    /// The facts of today on rate sheets that were looked up.
    pub(super) fn facts_on(&self, shelf: &Shelf, ledger: Vec<Entry>) -> Facts {
        Facts { today: self.clock.today(), sheets: shelf.texts.clone(), ledger, units: None }
    }

    /// The facts as the record keeps them beside a revision.
    pub(super) fn inputs(&self, name: &Name, text: &str) -> Result<SavedInputs, Error> {
        let ledger = self.store.ledger(name)?.last().map_or(0, |line| line.line);
        let shelf = self.rates.shelf_of(&head_of(text).front)?;
        Ok(SavedInputs { today: self.clock.today(), ledger, sheets: shelf.hashes.clone() })
    }

    /// The facts a revision was calculated on.
    ///
    /// # Errors
    /// When a rate sheet it saw is no longer in the record.
    pub(super) fn facts_then(&self, name: &Name, inputs: &SavedInputs) -> Result<Facts, Error> {
        let mut sheets = BTreeMap::new();
        for (sheet, hash) in &inputs.sheets {
            sheets.insert(sheet.clone(), self.rates.past_text(sheet, hash)?.to_string());
        }
        let mut lines = self.store.ledger(name)?;
        lines.retain(|line| line.line <= inputs.ledger);
        Ok(Facts {
            today: inputs.today,
            sheets: Arc::new(sheets),
            ledger: entries(&lines, Some(inputs.today)),
            units: None,
        })
    }
}

/// What tells the shops and the quotes held; it is read again with the rest.
pub(super) fn head_of(text: &str) -> Document {
    Document::read(front::head_of(text))
}
