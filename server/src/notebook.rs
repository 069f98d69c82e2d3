//! One notebook: its files, its record and what its plans come to, kept together.

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use engine::document::html::View;
use engine::document::{Document, Kind, change, copy};
use engine::measure::Units;
use engine::{Facts, Trouble};
use tokio::sync::broadcast;

use crate::clock::Clock;
use crate::evaluator::{Evaluator, Worked};
use crate::folder::{self, Kept, Seen};
use crate::names::Name;
use crate::store::ledger::entries;
use crate::store::{Line, NewLine, Store};
use crate::trouble::Refusal;

/// Something changed: which document, and the mark of its text now (empty when it is gone).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// The document.
    pub name: Name,
    /// The mark of its text.
    pub etag: String,
}

/// A document as last read from its file.
#[derive(Clone, Debug)]
pub struct Entry {
    /// Its text, or what is wrong with the file.
    pub text: Result<Arc<Kept>, Arc<Refusal>>,
    /// Plan or rate sheet.
    pub kind: Kind,
    /// Its title.
    pub title: String,
    seen: Seen,
}

/// A plan saved: its revision and the mark of its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The revision's number.
    pub revision: u32,
    /// The mark of the text.
    pub etag: String,
}

/// One notebook.
#[derive(Debug)]
pub struct Notebook {
    /// Its folder.
    pub root: PathBuf,
    store: Store,
    evaluator: Evaluator,
    clock: Clock,
    entries: RwLock<BTreeMap<Name, Entry>>,
    saving: Mutex<HashMap<Name, Arc<Mutex<()>>>>,
    changes: broadcast::Sender<Changed>,
}

impl Notebook {
    /// Opens a notebook and reads its folder.
    ///
    /// # Errors
    /// When the system gives no threads.
    pub fn open(root: PathBuf, store: Store, clock: Clock) -> std::io::Result<Self> {
        let notebook = Self {
            root,
            store,
            evaluator: Evaluator::start()?,
            clock,
            entries: RwLock::default(),
            saving: Mutex::default(),
            changes: broadcast::channel(64).0,
        };
        notebook.look();
        Ok(notebook)
    }

    /// The day it is.
    pub fn today(&self) -> engine::measure::Day {
        self.clock.today()
    }

    /// Hears of every change from now on.
    pub fn changes(&self) -> broadcast::Receiver<Changed> {
        self.changes.subscribe()
    }

    // ------------------------------------------------------------------------------------------------- reading

    /// Looks through the folder and reads what changed since the last look.
    pub fn look(&self) {
        let seen = folder::look(&self.root);
        let known: BTreeMap<Name, Seen> =
            self.read().iter().map(|(name, entry)| (name.clone(), entry.seen.clone())).collect();
        for gone in known.keys().filter(|name| seen.binary_search_by(|one| one.name.cmp(name)).is_err()) {
            self.write().remove(gone);
            self.tell(gone, "");
        }
        for one in seen {
            if known.get(&one.name) != Some(&one) {
                self.take(&one);
            }
        }
    }

    /// Reads one file again and takes a change made outside into the record.
    fn take(&self, seen: &Seen) {
        let text = folder::read(&self.root, &seen.name).map(Arc::new).map_err(Arc::new);
        let before =
            self.read().get(&seen.name).and_then(|entry| entry.text.as_ref().ok().map(|kept| kept.etag.clone()));
        if let Ok(kept) = &text
            && kept.text.is_empty()
            && before.is_some()
        {
            // An editor that truncates before it writes: the next look finds the text.
            return;
        }
        let (kind, title) = match &text {
            Ok(kept) => {
                let document = Document::read(&kept.text);
                (document.front.kind, document.title())
            }
            Err(_) => (Kind::Plan, String::new()),
        };
        let title = if title.is_empty() { seen.name.as_str().to_owned() } else { title };
        if let Ok(kept) = &text {
            let noted = self.store.take_in(&seen.name, &kept.text, &kept.etag, &self.clock.moment());
            if let Err(refusal) = noted {
                tracing::warn!(document.name = seen.name.as_str(), refusal.what = %refusal.trouble().what, "a change made outside was not recorded");
            }
        }
        let after = text.as_ref().ok().map(|kept| kept.etag.clone());
        self.write().insert(seen.name.clone(), Entry { text, kind, title, seen: seen.clone() });
        if before != after {
            self.tell(&seen.name, after.as_deref().unwrap_or_default());
        }
    }

    /// Reads one document again when its file changed since it was read.
    fn fresh(&self, name: &Name) {
        let path = name.file(&self.root);
        let now = std::fs::symlink_metadata(&path).ok();
        let known = self.read().get(name).map(|entry| entry.seen.clone());
        match now {
            Some(about) => {
                let seen = Seen { name: name.clone(), length: about.len(), changed: about.modified().ok() };
                if known.as_ref() != Some(&seen) {
                    self.take(&seen);
                }
            }
            None if known.is_some() => {
                self.write().remove(name);
                self.tell(name, "");
            }
            None => {}
        }
    }

    fn tell(&self, name: &Name, etag: &str) {
        // No page open is no fault.
        let _ = self.changes.send(Changed { name: name.clone(), etag: etag.to_owned() });
    }

    fn read(&self) -> std::sync::RwLockReadGuard<'_, BTreeMap<Name, Entry>> {
        self.entries.read().unwrap_or_else(PoisonError::into_inner)
    }

    fn write(&self) -> std::sync::RwLockWriteGuard<'_, BTreeMap<Name, Entry>> {
        self.entries.write().unwrap_or_else(PoisonError::into_inner)
    }

    /// Every document of one kind, by name.
    pub fn all(&self, kind: Kind) -> Vec<(Name, Entry)> {
        self.read()
            .iter()
            .filter(|(_, entry)| entry.kind == kind)
            .map(|(name, entry)| (name.clone(), entry.clone()))
            .collect()
    }

    /// A document's text and mark.
    ///
    /// # Errors
    /// When there is none of that name, or its file cannot be read as text.
    pub fn text(&self, name: &Name) -> Result<Arc<Kept>, Refusal> {
        self.fresh(name);
        let found = self.read().get(name).map(|entry| entry.text.clone());
        match found {
            Some(Ok(kept)) => Ok(kept),
            // Read again for a refusal of its own.
            _ => folder::read(&self.root, name).map(Arc::new),
        }
    }

    /// The facts a plan is worked out on.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn facts(&self, name: &Name, units: Option<Units>) -> Result<Facts, Refusal> {
        let sheets: BTreeMap<String, String> = self
            .read()
            .iter()
            .filter(|(_, entry)| entry.kind == Kind::RateSheet)
            .filter_map(|(name, entry)| Some((name.as_str().to_owned(), entry.text.as_ref().ok()?.text.clone())))
            .collect();
        let ledger = entries(&self.store.ledger(name)?);
        Ok(Facts { today: self.today(), sheets: Arc::new(sheets), ledger, units })
    }

    /// What the shops of a plan are called: the titles of their rate sheets.
    pub fn view(&self, document: &Document) -> View {
        let entries = self.read();
        let shops = document.front.shops.iter().map(|(role, sheet)| {
            let name = Name::new(sheet).ok().and_then(|name| entries.get(&name)).map(|entry| entry.title.clone());
            (role.clone(), name.unwrap_or_else(|| role.clone()))
        });
        View { shops: shops.collect(), ticket: None }
    }

    /// A text worked out as the plan of that name would be.
    ///
    /// # Errors
    /// When the record cannot be read or too much is being worked out.
    pub fn work_out(&self, name: &Name, text: &str, units: Option<Units>) -> Result<Arc<Worked>, Refusal> {
        // Only the head is needed to know the shops; it is read again with the rest.
        let view = self.view(&Document::read(engine::document::front::head_of(text)));
        self.evaluator.work_out(text, &self.facts(name, units)?, &view)
    }

    // ------------------------------------------------------------------------------------------------- writing

    /// Saves a text made from the one marked `from`.
    ///
    /// The revision is written into the record first, then the file is replaced, then the revision is marked as
    /// standing: only then is the save acknowledged.
    ///
    /// # Errors
    /// When the document changed meanwhile (both texts are kept), is too long, or cannot be written.
    pub fn save(&self, name: &Name, text: &str, from: &str) -> Result<Saved, Refusal> {
        let lock = self.lock_of(name);
        let _held = held(&lock);
        let now = self.text(name)?;
        if now.etag != from {
            return Err(stale(&now));
        }
        self.put(name, text)
    }

    /// Saves a change to the text marked `from`.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the change cannot be made.
    fn save_change(
        &self,
        name: &Name,
        from: &str,
        act: impl FnOnce(&Kept) -> Result<String, Refusal>,
    ) -> Result<Saved, Refusal> {
        let lock = self.lock_of(name);
        let _held = held(&lock);
        let now = self.text(name)?;
        if now.etag != from {
            return Err(stale(&now));
        }
        let text = act(&now)?;
        self.put(name, &text)
    }

    /// Rewrites one given of a plan.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when what was entered cannot be read.
    pub fn set_given(&self, name: &Name, from: &str, number: usize, entered: &str) -> Result<Saved, Refusal> {
        self.save_change(name, from, |now| {
            let worked = self.work_out(name, &now.text, None)?;
            let given = worked
                .evaluation
                .record
                .givens
                .get(number)
                .ok_or_else(|| Refusal::missing("this given is no longer in the plan", "look at the page again"))?;
            change::set_given(&worked.document, given, entered).map_err(Refusal::Unusable)
        })
    }

    /// Ticks or clears a box of a plan.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the line has no box.
    pub fn set_tick(&self, name: &Name, from: &str, line: usize, done: bool) -> Result<Saved, Refusal> {
        self.save_change(name, from, |now| {
            change::set_tick(&Document::read(&now.text), line, done).map_err(Refusal::Unusable)
        })
    }

    fn put(&self, name: &Name, text: &str) -> Result<Saved, Refusal> {
        if text.len() as u64 > folder::LONGEST {
            return Err(Refusal::TooLong(Trouble::new(
                format!("this text is {} kB long, and at most 1024 kB are kept", text.len() / 1024),
                "cut it into two documents",
            )));
        }
        let etag = folder::etag(text.as_bytes());
        let (revision, row) = self.store.intend(name, text, &etag, &self.clock.moment())?;
        folder::replace(&self.root, name, text)?;
        self.store.written(row)?;
        self.fresh(name);
        Ok(Saved { revision, etag })
    }

    fn lock_of(&self, name: &Name) -> Arc<Mutex<()>> {
        let mut all = self.saving.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, lock| Arc::strong_count(lock) > 1);
        all.entry(name.clone()).or_default().clone()
    }

    /// Begins a document under a free name made from its title.
    ///
    /// # Errors
    /// When the title makes no name, or the folder cannot be written.
    pub fn begin(&self, title: &str, text: &str) -> Result<Name, Refusal> {
        let wanted = Name::from_title(title).map_err(Refusal::Unusable)?;
        // One at a time, so that two new plans never take the same name.
        let lock = self.lock_of(&wanted);
        let _held = held(&lock);
        let name = std::iter::once(wanted.clone())
            .chain((2..1000).map(|number| wanted.numbered(number)))
            .find(|name| !name.file(&self.root).exists() && !self.is_known(name))
            .ok_or_else(|| Refusal::Taken(Trouble::new("a thousand plans have this title", "give this one another")))?;
        self.put(&name, text)?;
        Ok(name)
    }

    /// A name that has a record is not used again, so that no new plan finds an old ledger under its name.
    fn is_known(&self, name: &Name) -> bool {
        let lines = self.store.ledger(name).is_ok_and(|lines| !lines.is_empty());
        lines || self.store.revisions(name).is_ok_and(|all| !all.is_empty())
    }

    /// Makes the start of the next piece from a plan.
    ///
    /// # Errors
    /// When the plan or its head cannot be read, or the copy cannot be written.
    pub fn copy(&self, name: &Name, title: &str) -> Result<Name, Refusal> {
        let kept = self.text(name)?;
        let text = copy::next_piece(&Document::read(&kept.text), name.as_str(), title, self.today())
            .map_err(Refusal::Unusable)?;
        self.begin(title, &text)
    }

    // -------------------------------------------------------------------------------------------------- record

    /// The revision a text stands at: the last one with its mark, else the number of revisions.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn revision(&self, name: &Name, etag: &str) -> Result<u32, Refusal> {
        let all = self.store.revisions(name)?;
        Ok(all.iter().find(|one| one.etag == etag).or(all.first()).map_or(0, |one| one.number))
    }

    /// The revisions of a document, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn revisions(&self, name: &Name) -> Result<Vec<crate::store::Revision>, Refusal> {
        self.store.revisions(name)
    }

    /// The text of one revision.
    ///
    /// # Errors
    /// When there is none of that number.
    pub fn revision_text(&self, name: &Name, number: u32) -> Result<String, Refusal> {
        self.store.revision_text(name, number)
    }

    /// The ledger of a plan, oldest line first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn ledger(&self, name: &Name) -> Result<Vec<Line>, Refusal> {
        self.store.ledger(name)
    }

    /// Adds a line to the ledger of a plan.
    ///
    /// # Errors
    /// When the number is not free, the plan has no edition, or the record cannot be written.
    pub fn add_line(&self, name: &Name, line: NewLine) -> Result<(), Refusal> {
        let kept = self.text(name)?;
        let front = Document::read(engine::document::front::head_of(&kept.text)).front;
        if front.edition == 0 {
            return Err(Refusal::Unusable(Trouble::new(
                "this plan has no edition",
                "write `edition = 12` in its head, with the number of prints",
            )));
        }
        self.store.add_line(name, front.edition, front.proofs, line, &self.clock.moment())?;
        self.tell(name, &format!("{}+ledger", kept.etag));
        Ok(())
    }
}

fn held(lock: &Mutex<()>) -> MutexGuard<'_, ()> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

fn stale(now: &Kept) -> Refusal {
    Refusal::Stale {
        trouble: Trouble::new(
            "this document was changed meanwhile, here in another window or outside",
            "look at both texts and choose; neither is lost",
        ),
        theirs: now.text.clone(),
        etag: now.etag.clone(),
    }
}

/// The folder of the notebook a file lies in: the nearest one above it with a record or with rate sheets, else its own.
pub fn root_of(file: &Path) -> PathBuf {
    let own = file.parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf);
    let own = if own.as_os_str().is_empty() { PathBuf::from(".") } else { own };
    let marked = |folder: &Path| folder.join(crate::store::FILE).exists() || folder.join("shops").is_dir();
    let above: Vec<_> =
        own.ancestors().take(3).filter(|folder| !folder.as_os_str().is_empty()).map(Path::to_path_buf).collect();
    above.into_iter().find(|folder| marked(folder)).unwrap_or(own)
}
