//! The sandbox a plan's workings run in, and the functions they can call.
//!
//! [`sandbox`] builds the engine from nothing, [`statements`] what a plan states, `actuals` what really happened, `shops` what the shops ask,
//! [`bindings`] the functions of the trade, [`run`] one evaluation as all of these see it, `lists` lists in order, `explain`
//! errors in the trade's words, `mistakes` those that the text around them tells more about. No document and no HTML is known here.

pub(crate) mod actuals;
pub mod args;
pub mod bindings;
pub(crate) mod convert;
pub(crate) mod explain;
mod explained;
pub(crate) mod lists;
pub(crate) mod mistakes;
pub(crate) mod operators;
pub mod run;
pub mod sandbox;
pub(crate) mod shops;
pub mod statements;

pub use args::{Args, Function};
pub use run::{Moment, Stop};
