//! The notebook in a real browser, as a person meets it: typing, changing, saving, printing, with a keyboard alone and on
//! a phone. Every test serves a notebook of its own and drives a browser of its own; a browser that is missing fails.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    missing_docs,
    unreachable_pub,
    reason = "a test that meets something unexpected is to fail at once"
)]

mod beginning;
mod clashes;
mod driver;
mod following;
mod givens;
mod hostile;
mod keyboard;
mod letters;
mod own;
mod page;
mod record;
mod screens;
#[path = "../../server/tests/paper/sheets.rs"]
mod sheets;
mod shops;
mod studio;
mod tickets;
#[path = "../../server/tests/vectors/mod.rs"]
mod vectors;
mod writing;
