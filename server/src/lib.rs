//! Makeready's server: files, database, pages and commands round the engine.
//!
//! Read in this order: [`commands`] what the program does; [`notebook`] one notebook, with its [`folder`] and [`store`];
//! [`evaluator`] what calculates; [`state`] what pages share; [`mod@app`] the table of addresses, behind it the pages.

mod amount;
pub mod app;
mod assets;
pub mod backup;
pub mod clock;
mod code;
pub mod commands;
pub mod daily;
mod days;
pub mod error;
pub mod evaluator;
pub mod export;
pub mod folder;
mod guard;
mod links;
pub mod listen;
pub mod log;
pub mod memory;
pub mod names;
pub mod notebook;
mod page_diff;
mod pages;
pub mod passphrase;
mod semaphore;
mod sheets;
mod state;
pub mod store;
mod table;
mod templates;
mod tickets;
mod titles;
mod tls;
pub mod watch;

pub use app::app;
pub use error::Error;
pub use state::App;

/// Memory is counted, so that a calculation that grows without end is stopped.
#[global_allocator]
static MEMORY: memory::Counted = memory::Counted;
