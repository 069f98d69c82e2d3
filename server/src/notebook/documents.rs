//! The documents of the folder: what is known of each, their texts, who saves one just now, and what changed. It knows no record
//! of what happened and calculates nothing.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use engine::document::{Front, Kind};
use engine::render::html::View;
use parking_lot::{Mutex, RwLock, RwLockReadGuard, RwLockWriteGuard};
use tokio::sync::broadcast;

use crate::error::Error;
use crate::folder::{self, Displaced, Kept, Seen};
use crate::names::Name;
use crate::store::Store;

/// Something changed: which document, and the hash of its text now (empty when it is gone).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// The document.
    pub name: Name,
    /// The hash of its text.
    pub hash: String,
}

/// A document as last read from its file.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The hash of its text, or what is wrong with the file.
    pub hash: Result<Arc<str>, Arc<Error>>,
    /// Plan or rate sheet.
    pub kind: Kind,
    /// Its title.
    pub title: String,
    /// The plan it was made from.
    pub from: Option<String>,
    pub(super) seen: Seen,
    /// Read so soon after a change that it must be read again, or not yet in the record.
    pub(super) unsure: bool,
}

/// Files whose place was taken that are watched at once, for another program's last words.
const DISPLACED: usize = 128;

/// All documents.
#[derive(Debug)]
pub struct Documents {
    pub(super) root: PathBuf,
    store: Arc<Store>,
    entries: RwLock<BTreeMap<Name, Entry>>,
    /// Held while a document is saved or read again.
    locks: Mutex<HashMap<Name, Arc<Mutex<()>>>>,
    displaced: Mutex<Vec<(Name, Displaced)>>,
    changes: broadcast::Sender<Changed>,
    /// Counts documents that came and went, and what was decided of plans without a file.
    arrivals: AtomicU64,
}

impl Documents {
    pub(super) fn new(root: PathBuf, store: Arc<Store>) -> Self {
        Self {
            root,
            store,
            entries: RwLock::default(),
            locks: Mutex::default(),
            displaced: Mutex::default(),
            changes: broadcast::channel(64).0,
            arrivals: AtomicU64::default(),
        }
    }

    pub(super) fn read(&self) -> RwLockReadGuard<'_, BTreeMap<Name, Entry>> {
        self.entries.read()
    }

    fn write(&self) -> RwLockWriteGuard<'_, BTreeMap<Name, Entry>> {
        self.entries.write()
    }

    /// Every document of one kind, by name.
    pub fn all(&self, kind: Kind) -> Vec<(Name, Entry)> {
        let all = self.read();
        all.iter().filter(|(_, entry)| entry.kind == kind).map(|(name, entry)| (name.clone(), entry.clone())).collect()
    }

    /// The plans made from a plan, by name: name and title.
    pub(crate) fn made_from(&self, name: &Name) -> Vec<(Name, String)> {
        let is_copy = |entry: &Entry| entry.kind == Kind::Plan && entry.from.as_deref() == Some(name.as_str());
        let all = self.read();
        all.iter().filter(|(_, entry)| is_copy(entry)).map(|(one, entry)| (one.clone(), entry.title.clone())).collect()
    }

    /// The title a document has, else its name.
    pub(super) fn title_of(&self, name: &Name) -> String {
        self.read().get(name).map_or_else(|| name.shown().to_owned(), |entry| entry.title.clone())
    }

    /// What the shops of a plan are called: the titles of their rate sheets.
    pub(crate) fn view(&self, front: &Front) -> View {
        let entries = self.read();
        let shops = front.shops.iter().map(|(role, sheet)| {
            let name = Name::new(sheet).ok().and_then(|name| entries.get(&name)).map(|entry| entry.title.clone());
            // A shop without a rate sheet may be given by its name alone.
            let words = (!sheet.contains('/') && sheet.contains(' ')).then(|| sheet.clone());
            (role.clone(), name.or(words).unwrap_or_else(|| role.clone()))
        });
        View { shops: shops.collect() }
    }

    /// Takes over what is known of a document. Gives the kind it had before.
    pub(super) fn put(&self, name: &Name, entry: Entry) -> Option<Kind> {
        let before = self.write().insert(name.clone(), entry).map(|entry| entry.kind);
        if before.is_none() {
            self.note_arrival();
        }
        before
    }

    /// Forgets a document. Gives the kind it had.
    pub(super) fn remove(&self, name: &Name) -> Option<Kind> {
        let before = self.write().remove(name).map(|entry| entry.kind);
        self.note_arrival();
        before
    }

    /// Has a document read again at the next look.
    pub(super) fn doubt(&self, name: &Name) {
        if let Some(entry) = self.write().get_mut(name) {
            entry.unsure = true;
        }
    }

    /// Some disks hold `Salt` and `salt` for one name, so two documents never differ in that alone.
    pub(super) fn is_taken(&self, name: &Name) -> bool {
        std::fs::symlink_metadata(folder::place(&self.root, name)).is_ok()
            || self.read().keys().any(|one| one.folded() == name.folded())
    }

    /// Whether a document's file is as it was last read.
    pub(super) fn is_as_read(&self, name: &Name) -> bool {
        match (Seen::now(&self.root, name), self.read().get(name)) {
            (Some(now), Some(entry)) => entry.seen == now && !entry.unsure,
            (None, None) => true,
            _ => false,
        }
    }

    /// The text as it was last read.
    pub(super) fn as_read(&self, name: &Name) -> Result<Arc<Kept>, Error> {
        let Some(Ok(hash)) = self.read().get(name).map(|entry| entry.hash.clone()) else {
            // Read again for a refusal of its own.
            return folder::read(&self.root, name).map(Arc::new);
        };
        let lies = folder::read(&self.root, name);
        let kept = match lies {
            Ok(kept) if *kept.hash == *hash => kept,
            // It changed since, perhaps only for a moment: until the next look the last one stands, and the record has it.
            lies => match self.store.text_of_hash(&hash)? {
                Some(text) => Kept { text, hash: hash.to_string() },
                None => lies?,
            },
        };
        Ok(Arc::new(kept))
    }

    /// The lock of one document.
    pub(super) fn lock_of(&self, name: &Name) -> Arc<Mutex<()>> {
        let mut all = self.locks.lock();
        all.retain(|_, lock| Arc::strong_count(lock) > 1);
        all.entry(name.clone()).or_default().clone()
    }

    /// Watches files whose place was taken for a while.
    pub(super) fn displace(&self, displaced: impl IntoIterator<Item = (Name, Displaced)>) {
        let mut all = self.displaced.lock();
        all.extend(displaced);
        let over = all.len().saturating_sub(DISPLACED);
        all.drain(..over);
    }

    /// The files that are watched, to be looked at.
    pub(super) fn take_displaced(&self) -> Vec<(Name, Displaced)> {
        std::mem::take(&mut *self.displaced.lock())
    }

    /// Tells open pages of a change.
    pub(super) fn tell(&self, name: &Name, hash: &str) {
        // No page open is not a fault.
        let _ = self.changes.send(Changed { name: name.clone(), hash: hash.to_owned() });
    }

    /// Receives every change from now on.
    pub(crate) fn changes(&self) -> broadcast::Receiver<Changed> {
        self.changes.subscribe()
    }

    /// Counts a document that came or went, or what was decided of a plan without a file.
    pub(super) fn note_arrival(&self) {
        self.arrivals.fetch_add(1, Ordering::SeqCst);
    }

    /// How often that was.
    pub(super) fn arrivals(&self) -> u64 {
        self.arrivals.load(Ordering::SeqCst)
    }

    /// Its folder.
    pub(crate) fn root(&self) -> &Path {
        &self.root
    }
}
