//! The folder looked through: what changed since the last look is read, and what changed outside goes into the record.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use engine::document::{Document, Kind};

use super::calculator::head_of;
use super::history::Calculate;
use super::{Entry, Notebook, Work};
use crate::error::Error;
use crate::folder::{self, Kept, Replaced, Seen};
use crate::names::Name;
use crate::titles::title;

/// Changes of which each is calculated as it is taken into the record; of more, all are taken in first.
const AT_HAND: usize = 12;

impl Notebook {
    /// Looks through the folder and reads what changed since the last look. Says whether it should look again in a moment,
    /// because something was only just being written.
    pub fn look(&self) -> bool {
        self.look_through(false)
    }

    /// The first time results are left for later, so that a large notebook opens at once.
    pub(super) fn first_look(&self) {
        self.look_through(true);
    }

    fn look_through(&self, is_first: bool) -> bool {
        self.store.look_after();
        let seen = folder::look(self.root());
        let known: BTreeMap<Name, (Seen, bool)> = self
            .documents
            .read()
            .iter()
            .map(|(name, entry)| (name.clone(), (entry.seen.clone(), entry.unsure)))
            .collect();
        for gone in known.keys().filter(|name| seen.binary_search_by(|one| one.name.cmp(name)).is_err()) {
            self.fresh(gone);
        }
        let mut changed: Vec<_> = seen
            .into_iter()
            .filter(|one| known.get(&one.name).is_none_or(|(before, unsure)| *unsure || before != one))
            .map(|one| one.name)
            .collect();
        // Rate sheets first, so that what a plan saw of them is in the record before the plan is.
        changed.sort_by_cached_key(|name| !self.is_sheet(name));
        let many = changed.len() > AT_HAND;
        let when = if many || is_first { Calculate::Later } else { Calculate::Now };
        let mut again = false;
        for name in changed {
            self.fresh_with(&name, when);
            again |= self.documents.read().get(&name).is_some_and(|entry| entry.unsure);
        }
        if many {
            self.backlog.add(Work::Summaries);
        }
        self.hear_last_words() || again
    }

    /// Takes over what an earlier start wrote down of every file that is still the one it saw.
    pub(super) fn recall(&self) {
        let seen: HashMap<_, _> =
            folder::look(self.root()).into_iter().map(|seen| (seen.name.as_str().to_owned(), seen)).collect();
        for (seen, known) in self.summaries.recall(&seen) {
            if known.is_sheet {
                let text = folder::read(self.root(), &seen.name).ok().filter(|kept| kept.hash == known.hash);
                let Some(text) = text else { continue };
                self.rates.put(&seen.name, Arc::new(text));
            }
            let name = seen.name.clone();
            let kind = if known.is_sheet { Kind::RateSheet } else { Kind::Plan };
            let (hash, title, from) = (Ok(known.hash.as_str().into()), known.title, known.from);
            self.documents.put(&name, Entry { hash, kind, title, from, seen, unsure: false });
        }
    }

    /// Whether a file holds a rate sheet, as it lies there now.
    fn is_sheet(&self, name: &Name) -> bool {
        folder::read(self.root(), name).is_ok_and(|kept| head_of(&kept.text).front.kind == Kind::RateSheet)
    }

    /// Brings back what another program wrote into a file whose place was taken by a save a moment ago.
    fn hear_last_words(&self) -> bool {
        let mut young = Vec::new();
        for (name, mut displaced) in self.documents.take_displaced() {
            if let Some(words) = displaced.last_words() {
                let lock = self.documents.lock_of(&name);
                let _held = lock.lock();
                if let Err(error) = self.bring_back(&name, &words, &displaced.by) {
                    tracing::error!(document.name = name.as_str(), error.what = %error.message().what, "a text written outside could not be kept");
                }
            }
            if displaced.is_young() {
                young.push((name, displaced));
            }
        }
        let again = !young.is_empty();
        self.documents.displace(young);
        again
    }

    /// Last words go into the record, and back into the file unless something newer stands there.
    fn bring_back(&self, name: &Name, words: &Kept, by: &str) -> Result<(), Error> {
        self.fresh_held(name, Calculate::Now);
        let now = self.documents.as_read(name)?;
        self.history.record(name, words)?;
        if now.hash != by {
            return self.history.record(name, &now);
        }
        if let Replaced::Done(displaced) = folder::replace(self.root(), name, &words.text, Some(&now.hash))? {
            self.documents.displace(displaced.map(|displaced| (name.clone(), displaced)));
        }
        self.fresh_held(name, Calculate::Now);
        Ok(())
    }

    /// Reads one document again when its file changed since it was read.
    pub(super) fn fresh(&self, name: &Name) {
        self.fresh_with(name, Calculate::Now);
    }

    fn fresh_with(&self, name: &Name, when: Calculate) {
        if self.documents.is_as_read(name) {
            return;
        }
        let lock = self.documents.lock_of(name);
        let _held = lock.lock();
        self.fresh_held(name, when);
    }

    /// The same while its lock is held.
    pub(super) fn fresh_held(&self, name: &Name, when: Calculate) {
        if self.documents.is_as_read(name) {
            return;
        }
        match Seen::now(self.root(), name) {
            Some(seen) => self.take(seen, when),
            None => self.forget(name),
        }
    }

    /// Reads one file again and takes a change made outside into the record.
    fn take(&self, seen: Seen, when: Calculate) {
        let name = seen.name.clone();
        let text = folder::read(self.root(), &name).map(Arc::new).map_err(Arc::new);
        let (before, was_unsure) = match self.documents.read().get(&name) {
            Some(entry) => (entry.hash.clone().ok(), entry.unsure),
            None => (None, false),
        };
        let after = text.as_ref().ok().map(|kept| Arc::from(kept.hash.as_str()));
        let mut unsure = seen.is_unsure();
        if unsure && before.is_some() && text.as_ref().is_ok_and(|kept| kept.text.is_empty()) {
            // An editor that truncates before it writes: the next look finds the text.
            return self.documents.doubt(&name);
        }
        let (mut kind, mut heading, mut from) = (Kind::Plan, name.as_str().to_owned(), None);
        if let Ok(kept) = &text {
            if (before != after || was_unsure)
                && let Err(error) = self.history.take_in(&name, kept, when)
            {
                tracing::warn!(document.name = name.as_str(), error.what = %error.message().what, "a change made outside is not recorded yet");
                unsure = true;
            }
            let document = Document::read(&kept.text);
            (kind, heading, from) = (document.front.kind, title(&document, &name), document.front.from);
        }
        let sheet = text.as_ref().ok().filter(|_| kind == Kind::RateSheet).cloned();
        let hash = text.map(|kept| kept.hash.as_str().into());
        let kind_before = self.documents.put(&name, Entry { hash, kind, title: heading, from, seen, unsure });
        self.summaries.note(&name);
        match sheet {
            Some(sheet) => {
                self.rates.put(&name, sheet);
                self.backlog.add(Work::Summaries);
            }
            None => self.is_no_sheet(&name, kind_before),
        }
        if before != after {
            self.documents.tell(&name, after.as_deref().unwrap_or_default());
        }
    }

    /// Forgets a document whose file is gone.
    fn forget(&self, name: &Name) {
        let kind = self.documents.remove(name);
        self.summaries.remove(name);
        self.is_no_sheet(name, kind);
        self.documents.tell(name, "");
    }

    /// No rate sheet lies under a name, where perhaps one did.
    fn is_no_sheet(&self, name: &Name, before: Option<Kind>) {
        if before == Some(Kind::RateSheet) {
            self.rates.remove(name);
            self.backlog.add(Work::Summaries);
        }
    }
}
