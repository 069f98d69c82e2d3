//! Texts nobody would write, thrown at everything that reads: nothing breaks, nothing hangs, nothing grows out of hand.
//!
//! Each target is a test of its own. It begins with the texts kept in `server/tests/corpus`, each of which once showed what no
//! text before it had shown, and goes on with new ones, by a seed, so that what it finds is found again.
//! `MAKEREADY_FUZZ=180` goes on for 180 seconds a target; `MAKEREADY_SEED=7` throws other dice; `MAKEREADY_CORPUS=1` keeps the
//! texts that showed something new. `cargo test --workspace --test fuzz -- --nocapture` tells how many there were.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

#[path = "../program/active.rs"]
mod active;
mod asked;
mod growth;
#[path = "../../../engine/tests/plan/marks.rs"]
mod marks;
mod names;
mod packed;
#[path = "../program/mod.rs"]
mod program;
mod sheets;
mod tables;
mod texts;
mod tries;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use engine::Facts;
use engine::measure::Day;

pub(crate) fn facts() -> Facts {
    Facts { sheets: Arc::new(BTreeMap::new()), ..Facts::on(Day::new(2026, 11, 25).unwrap()) }
}

/// On a thread like the server's own: a text so deep that its stack ends would end the program.
pub(crate) fn on_a_thread<T: Send + 'static>(act: impl FnOnce() -> T + Send + 'static) -> T {
    std::thread::Builder::new().stack_size(16 << 20).spawn(act).unwrap().join().expect("it does not break")
}

/// The time this thread itself calculated: what else the computer does is left out.
pub(crate) fn calculated() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), time.tv_nsec.unsigned_abs() as u32)
}
