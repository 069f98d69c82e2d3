//! The text of workings taken apart without running it: [`tokens`], the statements in it ([`calls`]), what is written beside a
//! number ([`trace`]), the [`units`] behind numbers, the [`former`] names of functions, and the [`nearest`] of some names to a
//! misspelt one.

pub mod calls;
pub mod former;
pub mod nearest;
pub(crate) mod tokens;
pub mod trace;
pub mod units;
