//! The sandbox a plan's workings run in, and the functions they can call.
//!
//! [`sandbox`] builds the engine from nothing, [`statements`] what a plan states, [`bindings`] the functions of the
//! trade, [`actuals`] what really happened, [`record`] what was stated, [`trace`] the text beside a number, [`sheets`] rate
//! sheets, `lists` lists in order, `explain` errors in
//! the trade's words.

pub mod actuals;
pub mod args;
pub mod bindings;
pub mod calls;
pub mod compiled;
pub(crate) mod convert;
pub(crate) mod explain;
pub(crate) mod lists;
pub mod nearest;
pub(crate) mod operators;
pub mod record;
pub mod sandbox;
pub mod sheets;
pub mod statements;
pub(crate) mod tokens;
pub mod trace;
pub mod units;

pub use args::{Args, Function};
pub use compiled::Compiled;
pub use sandbox::{Moment, Stop};
