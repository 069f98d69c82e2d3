//! Job tickets and plans as PDF: plain data in, the bytes of a sheet out, tagged and fit to be archived.
//!
//! Read in this order: [`sheet`] what a sheet holds; `plain_text` what is done to its words so that every one of them can be
//! set; `closed` the layout, in a world with no files, no packages, no network and no clock; [`press`] the threads it runs on.
//! Nothing a person wrote is ever read as markup: it enters as data through the one template `sheet.typ`.

mod closed;
mod plain_text;
pub mod press;
pub mod sheet;

pub use press::{Press, Refused};
pub use sheet::{Paper, Part, Passage, Sheet};
