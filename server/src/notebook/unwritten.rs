//! Documents of which something became known that is not written down yet.

use std::collections::{HashMap, HashSet};

use crate::names::Name;
use crate::store::index::Words;

/// Documents written down in one go.
const AT_A_TIME: usize = 100;

/// Documents of which something is to be written down.
#[derive(Debug, Default)]
pub(super) struct Unwritten {
    names: HashSet<Name>,
    words: HashMap<Name, Words>,
}

impl Unwritten {
    /// What is known of this document changed.
    pub(super) fn note(&mut self, name: &Name) {
        if !self.names.contains(name) {
            self.names.insert(name.clone());
        }
    }

    /// The words of this document changed.
    pub(super) fn words(&mut self, name: &Name, words: Words) {
        self.note(name);
        self.words.insert(name.clone(), words);
    }

    /// How many documents there are.
    pub(super) fn count(&self) -> usize {
        self.names.len()
    }

    /// Whether so much waits that it should be written down now.
    pub(super) fn is_much(&self) -> bool {
        self.words.len() >= AT_A_TIME
    }

    /// Some of them, with their words where those changed.
    pub(super) fn take(&mut self) -> Vec<(Name, Option<Words>)> {
        let some: Vec<_> = self.names.iter().take(AT_A_TIME).cloned().collect();
        some.into_iter()
            .map(|name| {
                self.names.remove(&name);
                let words = self.words.remove(&name);
                (name, words)
            })
            .collect()
    }

    /// Those that could not be written down.
    pub(super) fn put_back(&mut self, all: Vec<(Name, Option<Words>)>) {
        for (name, words) in all {
            if let Some(words) = words {
                self.words.entry(name.clone()).or_insert(words);
            }
            self.names.insert(name);
        }
    }
}
