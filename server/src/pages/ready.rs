//! Pages of plans as they were last made, given again until anything they could show has changed.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};

use axum::body::Bytes;
use engine::measure::{Day, Units};

use crate::names::Name;

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

/// Pages in two generations: what was not asked for during one is let go with it.
#[derive(Debug, Default)]
pub struct Ready(Mutex<Kept>);

#[derive(Debug, Default)]
struct Kept {
    young: HashMap<Which, (Stood, Bytes)>,
    bytes: usize,
    old: HashMap<Which, (Stood, Bytes)>,
}

impl Ready {
    /// The page, when the notebook stands as it stood.
    pub(crate) fn get(&self, which: &Which, stands: Stood) -> Option<Bytes> {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((stood, page)) = kept.young.get(which) {
            return (*stood == stands).then(|| page.clone());
        }
        let (stood, page) = kept.old.remove(which)?;
        let page = (stood == stands).then_some(page)?;
        kept.put(which, stood, &page);
        Some(page)
    }

    /// Keeps a page made from what stood before it was begun.
    pub(crate) fn put(&self, which: &Which, stood: Stood, page: &Bytes) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).put(which, stood, page);
    }
}

impl Kept {
    fn put(&mut self, which: &Which, stood: Stood, page: &Bytes) {
        if self.bytes + page.len() > ROOM {
            self.old = std::mem::take(&mut self.young);
            self.bytes = 0;
        }
        self.bytes += page.len();
        if let Some((_, before)) = self.young.insert(which.clone(), (stood, page.clone())) {
            self.bytes -= before.len();
        }
    }
}
