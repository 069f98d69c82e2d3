//! The sandbox a plan's workings run in, and the functions they can call.

pub mod args;
pub mod bindings;

pub use args::{Args, Function};
