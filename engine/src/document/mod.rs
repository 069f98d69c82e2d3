//! The Markdown of a plan or a rate sheet, read into what it is made of. Reading never fails: what is wrong is a problem.
//!
//! [`front`] the head between `+++` lines, [`lines`] where an offset stands, [`reading`] blocks, asks and sections,
//! [`prices`] the price list of a rate sheet, [`change`] rewriting just one given or one tick, [`price_edit`] one cell or row of
//! a price list, [`happened`] writing down what really happened, [`copy`] the start of
//! the next piece. Text in, text out: nothing here evaluates or renders.

pub mod change;
pub mod copy;
pub mod front;
pub mod happened;
pub mod head_edit;
pub mod lines;
mod pictures;
pub mod price_edit;
pub mod prices;
pub mod reading;
pub mod stages;

pub use front::{Front, Kind};
pub use lines::Lines;
pub use reading::{Ask, Block, Document, Section};

/// Something wrong in a document: where, what, and what to do next.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Problem {
    /// Line of the file, from 1.
    pub line: usize,
    /// Column of that line in characters, from 1.
    pub column: usize,
    /// What is wrong with which value.
    pub what: String,
    /// What to do next.
    pub next: String,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}: {}; {}", self.line, self.column, self.what, self.next)
    }
}
