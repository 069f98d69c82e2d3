//! The ledger of a plan: what happened to each print of its edition.

use engine::trade::edition::Print;

use super::Notebook;
use super::calculator::head_of;
use crate::error::Error;
use crate::names::Name;
use crate::store::{NewLine, Terms};

impl Notebook {
    /// Adds a line to the ledger of a plan. Gives the print it is about.
    ///
    /// # Errors
    /// When the number is not free, the plan has no edition, or the record cannot be written.
    pub fn add_line(&self, name: &Name, line: NewLine) -> Result<Print, Error> {
        let kept = self.text(name)?;
        let front = head_of(&kept.text).front;
        if front.edition == 0 {
            return Err(Error::unusable(
                "this plan has no edition",
                "write `edition = 12` in its head, with the number of prints",
            ));
        }
        self.history.is_whose_ledger(name, &kept.text)?;
        let terms = Terms { size: front.edition, proofs: front.proofs, today: self.today(), currency: front.currency };
        let print = self.store.add_line(name, terms, line, &self.moment())?;
        self.documents.tell(name, &format!("{}+ledger", kept.hash));
        Ok(print)
    }
}
