//! The folder looked through: what changed since the last look is read, and what changed outside goes into the record.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use engine::document::{Document, Kind};

use super::{Entry, Notebook, held};
use crate::folder::{self, Kept, Replaced, Seen};
use crate::names::Name;
use crate::store::revisions::Text;
use crate::titles::title;
use crate::trouble::Refusal;

/// Changes of which each is worked out as it is taken into the record; of more, all are taken in first.
const AT_HAND: usize = 12;

impl Notebook {
    /// Looks through the folder and reads what changed since the last look. Says whether it should look again in a moment,
    /// because something was only just being written.
    pub fn look(&self) -> bool {
        self.store.look_after();
        let seen = folder::look(&self.root);
        let known: BTreeMap<Name, (Seen, bool)> =
            self.read().iter().map(|(name, entry)| (name.clone(), (entry.seen.clone(), entry.unsure))).collect();
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
        self.takes_in_many.store(many, Ordering::SeqCst);
        let mut again = false;
        for name in changed {
            self.fresh(&name);
            again |= self.read().get(&name).is_some_and(|entry| entry.unsure);
        }
        self.takes_in_many.store(false, Ordering::SeqCst);
        if many {
            self.fall_behind();
        }
        self.hear_last_words() || again
    }

    /// Whether a file holds a rate sheet, as it lies there now.
    fn is_sheet(&self, name: &Name) -> bool {
        let head = |kept: Kept| Document::read(engine::document::front::head_of(&kept.text)).front.kind;
        folder::read(&self.root, name).is_ok_and(|kept| head(kept) == Kind::RateSheet)
    }

    /// Brings back what another program wrote into a file whose place was taken by a save a moment ago.
    fn hear_last_words(&self) -> bool {
        let all = std::mem::take(&mut *held(&self.displaced));
        let mut young = Vec::new();
        for (name, mut displaced) in all {
            if let Some(words) = displaced.last_words() {
                let lock = self.lock_of(&name);
                let _held = held(&lock);
                if let Err(refusal) = self.bring_back(&name, &words, &displaced.by) {
                    tracing::error!(document.name = name.as_str(), refusal.what = %refusal.trouble().what, "a text written outside could not be kept");
                }
            }
            if displaced.is_young() {
                young.push((name, displaced));
            }
        }
        let again = !young.is_empty();
        held(&self.displaced).extend(young);
        again
    }

    /// Last words go into the record, and back into the file unless something newer stands there.
    fn bring_back(&self, name: &Name, words: &Kept, by: &str) -> Result<(), Refusal> {
        self.fresh_held(name);
        let now = self.as_read(name)?;
        self.record(name, words)?;
        if now.etag != by {
            return self.record(name, &now);
        }
        if let Replaced::Done(Some(displaced)) = folder::replace(&self.root, name, &words.text, Some(&now.etag))? {
            held(&self.displaced).push((name.clone(), displaced));
        }
        self.fresh_held(name);
        Ok(())
    }

    /// Reads one file again and takes a change made outside into the record. Only while its lock is held.
    fn take(&self, seen: Seen) {
        let name = seen.name.clone();
        let text = folder::read(&self.root, &name).map(Arc::new).map_err(Arc::new);
        let (before, was_unsure) = self
            .read()
            .get(&name)
            .map_or((None, false), |entry| (entry.mark.as_ref().ok().map(|mark| mark.to_string()), entry.unsure));
        let after = text.as_ref().ok().map(|kept| kept.etag.clone());
        let mut unsure = seen.is_unsure();
        if let Ok(kept) = &text
            && kept.text.is_empty()
            && unsure
            && before.is_some()
        {
            // An editor that truncates before it writes: the next look finds the text.
            if let Some(entry) = self.write().get_mut(&name) {
                entry.unsure = true;
            }
            return;
        }
        if let Ok(kept) = &text
            && (before != after || was_unsure)
            && let Err(refusal) = self.recognise(&name, kept).and_then(|()| self.record_in_passing(&name, kept))
        {
            tracing::warn!(document.name = name.as_str(), refusal.what = %refusal.trouble().what, "a change made outside is not recorded yet");
            unsure = true;
        }
        let (kind, title, from) = match &text {
            Ok(kept) => {
                let document = Document::read(&kept.text);
                let title = title(&document, &name);
                (document.front.kind, title, document.front.from)
            }
            Err(_) => (Kind::Plan, name.as_str().to_owned(), None),
        };
        let sheet = text.as_ref().ok().filter(|_| kind == Kind::RateSheet).cloned();
        if let Ok(kept) = &text
            && self.opened.load(Ordering::SeqCst)
        {
            self.keep_text(&name, kept);
        }
        let mark = text.map(|kept| kept.etag.as_str().into());
        self.insert(&name, Entry { mark, sheet, kind, title, from, seen, unsure });
        if before != after {
            self.tell(&name, after.as_deref().unwrap_or_default());
        }
    }

    /// Takes a text into the record, unless it is the last revision already, and what it comes to. At the first look that is
    /// left for later, so that a large notebook opens at once; and of many changes at once, so that all are soon kept.
    pub(super) fn record(&self, name: &Name, kept: &Kept) -> Result<(), Refusal> {
        self.record_within(name, kept, false)
    }

    /// The same another time when another program holds the record: a page waits for it.
    fn record_in_passing(&self, name: &Name, kept: &Kept) -> Result<(), Refusal> {
        self.record_within(name, kept, true)
    }

    fn record_within(&self, name: &Name, kept: &Kept, in_passing: bool) -> Result<(), Refusal> {
        let (saw, moment) = (self.saw(name, &kept.text)?, self.clock.moment());
        let text = Text { plan: name, text: &kept.text, etag: &kept.etag, saved: &moment };
        let taken = self.store.take_in(text, saw, in_passing)?;
        let Some(row) = taken.fresh else { return Ok(()) };
        if !self.opened.load(Ordering::SeqCst) || self.takes_in_many.load(Ordering::SeqCst) {
            self.waits.store(true, Ordering::SeqCst);
            return Ok(());
        }
        let came = self.came(name, taken.number, &kept.text);
        came.map_or(Ok(()), |came| self.store.keep_results(row, came))
    }

    /// Reads one document again when its file changed since it was read.
    pub(super) fn fresh(&self, name: &Name) {
        if self.is_as_read(name) {
            return;
        }
        let lock = self.lock_of(name);
        let _held = held(&lock);
        self.fresh_held(name);
    }

    fn is_as_read(&self, name: &Name) -> bool {
        let now = Seen::now(&self.root, name);
        let entries = self.read();
        match (now, entries.get(name)) {
            (Some(now), Some(entry)) => entry.seen == now && !entry.unsure,
            (None, None) => true,
            _ => false,
        }
    }

    pub(super) fn fresh_held(&self, name: &Name) {
        if self.is_as_read(name) {
            return;
        }
        if let Some(seen) = Seen::now(&self.root, name) {
            self.take(seen);
        } else {
            self.forget(name);
        }
    }
}
