//! What is known of each document is written down, so that the next start reads and calculates only what changed since.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use engine::document::Kind;
use serde::{Deserialize, Serialize};

use super::Entry;
use super::summary::Summary;
use super::summary_cache::{Inputs, SummaryCache};
use crate::error::Error;
use crate::folder::Seen;
use crate::names::Name;
use crate::store::index::{Known, Words};

/// Counted up when plans come to something else in short, so that what an older program wrote down is calculated again.
const SHAPE: &str = concat!(env!("CARGO_PKG_VERSION"), " 4");
/// Documents that whoever looks for a word waits for.
const AT_HAND: usize = 12;

/// A summary as it is written down.
#[derive(Serialize)]
struct Short<'a> {
    shape: &'a str,
    made: &'a Inputs,
    summary: &'a Summary,
}

/// As it is read back.
#[derive(Deserialize)]
struct Recalled {
    shape: String,
    made: Inputs,
    summary: Summary,
}

impl SummaryCache {
    /// Takes over what an earlier start wrote down of the plans whose files are still those it saw. Gives all documents of
    /// which that is so.
    pub(super) fn recall(&self, seen: &HashMap<String, Seen>) -> Vec<(Seen, Known)> {
        let mut found = Vec::with_capacity(seen.len());
        let read = self.store.index().known(|mut known| {
            let is_same = |seen: &&Seen| seen.written() == known.seen && !seen.is_unsure();
            let Some(seen) = seen.get(&known.name).filter(is_same) else { return };
            let short = known.short.take().and_then(|short| serde_json::from_str::<Recalled>(&short).ok());
            found.push((seen.clone(), short.filter(|short| short.shape == SHAPE), known));
        });
        if let Err(error) = read {
            tracing::warn!(error.what = %error.message().what, "what was known of the documents is found out again");
            return Vec::new();
        }
        let mut all = self.known.lock();
        let known = found.into_iter().map(|(seen, short, known)| {
            if let Some(short) = short.filter(|short| short.made.hash == known.hash) {
                all.insert(seen.name.clone(), (short.made, Arc::new(short.summary)));
            }
            (seen, known)
        });
        known.collect()
    }

    /// What is known of a document changed.
    pub(super) fn note(&self, name: &Name) {
        self.unwritten.lock().note(name);
    }

    /// A document is gone.
    pub(super) fn remove(&self, name: &Name) {
        self.known.lock().remove(name);
        self.note(name);
    }

    /// Whether so much became known that it should be written down now.
    pub(super) fn has_much_to_write_down(&self) -> bool {
        self.unwritten.lock().is_much()
    }

    /// Writes down what became known since the last time. Nothing depends on it but how soon the next start is there.
    pub fn write_down(&self) {
        loop {
            let some = self.unwritten.lock().take();
            if some.is_empty() {
                return;
            }
            if let Err(error) = self.write_some_down(&some) {
                tracing::debug!(error.what = %error.message().what, "what is known of the documents is not written down");
                self.unwritten.lock().put_back(some);
                return;
            }
        }
    }

    fn write_some_down(&self, some: &[(Name, Option<Words>)]) -> Result<(), Error> {
        let (mut known, mut gone) = (Vec::new(), Vec::new());
        for (name, words) in some {
            let entry = self.calculator.documents.read().get(name).cloned();
            match entry {
                Some(Entry { hash: Ok(hash), kind, title, from, seen, unsure, .. }) => {
                    let short = self.known.lock().get(name).filter(|(made, _)| *made.hash == *hash).cloned();
                    let short = short.and_then(|(made, summary)| {
                        serde_json::to_string(&Short { shape: SHAPE, made: &made, summary: &summary }).ok()
                    });
                    let known_now = Known {
                        name: name.as_str().to_owned(),
                        // Not sure yet: the next start looks for itself.
                        seen: if unsure { String::new() } else { seen.written() },
                        hash: hash.to_string(),
                        is_sheet: kind == Kind::RateSheet,
                        title,
                        from,
                        short,
                    };
                    known.push((known_now, words.clone()));
                }
                // Unreadable or gone.
                _ => gone.push(name.as_str().to_owned()),
            }
        }
        self.store.index().know(&known, &gone)
    }

    /// The names of the plans in which all of some words are found, nothing when there is no word to look for.
    ///
    /// # Errors
    /// When the index cannot be read.
    pub fn find(&self, words: &str) -> Result<Option<HashSet<String>>, Error> {
        // Of many that are being calculated again, what was known before is looked through.
        if self.unwritten.lock().count() <= AT_HAND {
            self.write_down();
        }
        self.store.index().find(words)
    }
}
