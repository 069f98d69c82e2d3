//! The text of workings taken apart without running it: [`tokens`], the statements in it ([`calls`]), what is written beside a
//! number ([`trace`]), the [`units`] behind numbers, the [`former`] names of functions, the [`plain_words`] they are looked for
//! under, the [`nearest`] of some names to a misspelt one, and [`slips`] of the hand in a line.

pub mod calls;
pub mod former;
pub mod nearest;
pub mod plain_words;
pub(crate) mod slips;
pub(crate) mod tokens;
pub mod trace;
pub mod units;
