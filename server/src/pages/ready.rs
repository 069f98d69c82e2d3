//! Pages of plans as they were last made, given again until anything they could show has changed.

use axum::body::Bytes;
use engine::measure::{Day, Units};
use parking_lot::Mutex;

use crate::names::Name;
use crate::recent::Recent;

/// How many bytes of pages are kept in each of two generations.
const ROOM: usize = 8 << 20;

/// Which page: the plan, and the units asked for.
pub(crate) type Which = (Name, Option<Units>);

/// What a page was made from: how often the notebook had changed, the day, and whether anything is saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stood {
    pub(crate) changes: u64,
    pub(crate) day: Day,
    pub(crate) halted: bool,
}

/// The pages, with what each was made from.
#[derive(Debug)]
pub struct Ready(Mutex<Recent<Which, (Stood, Bytes)>>);

impl Default for Ready {
    fn default() -> Self {
        Self(Mutex::new(Recent::of(ROOM)))
    }
}

impl Ready {
    /// The page, when the notebook stands as it stood.
    pub(crate) fn get(&self, which: &Which, stands: Stood) -> Option<Bytes> {
        let kept = self.0.lock().get(which);
        kept.filter(|(stood, _)| *stood == stands).map(|(_, page)| page)
    }

    /// Keeps a page made from what stood before it was begun.
    pub(crate) fn put(&self, which: Which, stood: Stood, page: &Bytes) {
        self.0.lock().put(which, (stood, page.clone()), page.len());
    }
}
