//! The whole server as its pages see it: every test asks `server::app` on a notebook of its own.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    missing_docs,
    unreachable_pub,
    reason = "a test that meets something unexpected is to fail at once"
)]

mod addresses;
mod bad_input;
mod calendar_and_tables;
mod changes;
mod claims;
mod desk;
mod doors;
mod drafts;
mod editions;
mod known;
mod logged;
mod names;
mod next_piece;
mod outside;
mod pages;
#[path = "../program/mod.rs"]
mod program;
mod saving;
mod sessions;
mod shops;
mod tickets;
