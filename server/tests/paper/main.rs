//! Sheets of paper the program sets itself: read back with poppler and with pikepdf, which know nothing of how they were made.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    missing_docs,
    unreachable_pub,
    reason = "a test that meets something unexpected is to fail at once"
)]

#[path = "../app/desk.rs"]
mod desk;
mod handed;
mod hostile;
#[path = "../program/mod.rs"]
mod program;
mod reader;
mod sheets;
mod shipped;
mod size;
