//! Pages of plans as they were last rendered, given again until anything they could show has changed.

use std::sync::{Mutex, PoisonError};

use axum::body::Bytes;
use engine::measure::{Day, Units};

use crate::names::Name;
use crate::recent::Recent;

/// How many bytes of pages are kept in each of two generations.
const ROOM: usize = 8 << 20;

/// Which page: the plan, and the units asked for.
pub(crate) type Which = (Name, Option<Units>);

/// What a page was made from: how often the notebook had changed, the day, and whether anything is saved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct CacheKey {
    pub(crate) changes: u64,
    pub(crate) day: Day,
    pub(crate) halted: bool,
}

/// The pages, with what each was made from.
#[derive(Debug)]
pub struct PageCache(Mutex<Recent<Which, (CacheKey, Bytes)>>);

impl Default for PageCache {
    fn default() -> Self {
        Self(Mutex::new(Recent::of(ROOM)))
    }
}

impl PageCache {
    /// The page, when nothing it depends on changed.
    pub(crate) fn get(&self, which: &Which, key: CacheKey) -> Option<Bytes> {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner).get(which);
        kept.filter(|(made_from, _)| *made_from == key).map(|(_, page)| page)
    }

    /// Keeps a page made from what held before it was begun.
    pub(crate) fn put(&self, which: Which, key: CacheKey, page: &Bytes) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).put(which, (key, page.clone()), page.len());
    }
}
