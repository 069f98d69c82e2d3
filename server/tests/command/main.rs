//! The program `makeready` itself, started as a person starts it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    missing_docs,
    unreachable_pub,
    reason = "a test that meets something unexpected is to fail at once"
)]

mod answers;
mod help;
#[path = "../program/mod.rs"]
mod program;
mod rights;
mod serving;
