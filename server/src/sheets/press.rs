//! Sets a sheet within bounds: a few at a time, none for longer than it may, the last ones kept.

use std::hash::{Hash as _, Hasher};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use engine::Message;
use paper::{Bounds, Sheet, Unset};
use parking_lot::Mutex;
use sha2::{Digest as _, Sha256};

use super::Made;
use crate::error::Error;
use crate::evaluator::LONG;
use crate::semaphore::{Permit, Semaphore};
use engine::recent::Recent;

/// How many sheets are set at once: each takes some tens of megabytes at most.
const AT_ONCE: usize = 3;
/// How many may wait for that, and for how long.
const WAITING: usize = 32;
const WAIT: Duration = Duration::from_secs(10);
/// How long setting one may take.
const LONGEST: Duration = if cfg!(debug_assertions) { Duration::from_secs(20) } else { Duration::from_millis(1500) };
/// How many bytes of sheets are kept in each of two generations.
const KEPT: usize = 3 << 20;

type Key = [u8; 32];

static PRESS: Semaphore = Semaphore::of(AT_ONCE, WAITING);
/// The last sheets. Eight who ask at once for the ticket of a plan of a megabyte wait 15 to 19 s with them and 31 s without, measured
/// with a build for tests (`tests/burden.rs`); a sheet of a shipped plan is set in 10 to 47 ms.
static LAST: LazyLock<Mutex<Recent<Key, Made>>> = LazyLock::new(|| Mutex::new(Recent::of(KEPT)));

/// The one long plan at once that is made into a sheet.
static LONG_ONES: Semaphore = Semaphore::of(1, usize::MAX);

/// While it is held, no other long plan is made into a sheet.
pub(crate) type Alone = Permit;

/// Waits until no other long plan is made into a sheet, for a text of so many bytes; short ones wait for nobody.
pub(super) fn alone(bytes: usize) -> Option<Alone> {
    if bytes > LONG { LONG_ONES.acquire(Duration::MAX) } else { None }
}

/// Sets a sheet, or gives the one that was set from the same data before.
///
/// # Errors
/// When it is more than a sheet may hold, takes too long, or too many are being set.
pub(super) fn set(sheet: Sheet) -> Result<Made, Error> {
    let key = key(&sheet);
    if let Some(made) = LAST.lock().get(&key) {
        return Ok(made);
    }
    let busy = || Error::Busy(Message::new("many sheets are being set at once", "try again in a moment"));
    let permit = PRESS.acquire(WAIT).ok_or_else(busy)?;
    let began = Instant::now();
    let set = paper::pdf(&sheet, &Bounds::default(), &|| began.elapsed() < LONGEST).map_err(|unset| {
        tracing::warn!(sheet = %sheet.ident, fault = %unset, "a sheet could not be set");
        refused(&unset)
    })?;
    drop(permit);
    let made = Made { pdf: set.pdf, unwritten: set.unwritten };
    LAST.lock().put(key, made.clone(), made.pdf.len());
    Ok(made)
}

/// What is told of a sheet that could not be set.
pub(super) fn refused(unset: &Unset) -> Error {
    match unset {
        Unset::TooMuch { .. } | Unset::TooLong => Error::TooLong(Message::new(
            format!("this sheet cannot be set: {unset}"),
            "divide the plan, or shorten its longest table; everything can still be read on its page",
        )),
        Unset::Refused(_) => Error::internal(
            format!("this sheet could not be set: {unset}"),
            "read it on its page instead, and tell us which plan it was",
        ),
    }
}

/// What tells a sheet from every other: all of its data.
fn key(sheet: &Sheet) -> Key {
    struct Whole(Sha256);
    impl Hasher for Whole {
        fn finish(&self) -> u64 {
            0
        }
        fn write(&mut self, bytes: &[u8]) {
            self.0.update(bytes);
        }
    }
    let mut whole = Whole(Sha256::new());
    sheet.hash(&mut whole);
    whole.0.finalize().into()
}
