//! The Markdown of a plan or a rate sheet, read into what it is made of. Reading never fails: what is wrong is a problem.
//!
//! [`reading`] the document as a whole, [`front`] the head between `+++` lines, [`markdown`] the body made into the one [`tree`]
//! that page and paper are made from, [`parts`] blocks, asks and sections, [`lines`] where an offset stands, [`prices`] the
//! price list of a rate sheet; [`stages`] what a new plan is put together from, [`head_edit`] rewriting one line of the head,
//! [`change`] just one given or one tick, [`price_edit`] one cell or row of a price list, [`actuals`] writing down what really
//! happened, [`copy`] the start of the next piece. Text in, text out: nothing here evaluates or renders.

pub mod actuals;
pub mod change;
pub mod copy;
pub mod front;
pub mod head_edit;
pub mod lines;
mod markdown;
mod parts;
mod pictures;
pub mod price_edit;
pub mod prices;
pub mod reading;
pub mod stages;
pub(crate) mod tree;

pub use front::{Front, Kind};
pub use lines::Lines;
pub use markdown::MOST_EVENTS;
pub use parts::{Ask, Block, Section};
pub use reading::Document;

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
