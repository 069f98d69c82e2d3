//! One notebook: its files, its record and what its plans come to, kept together.
//!
//! Reading and writing are here; [`facts`] what a plan is worked out on, [`history`] its revisions worked out again,
//! [`edition`] its ledger, [`certificate`] what goes with a print, [`rates`]
//! what a new rate sheet moves, [`summary`] each plan in short,
//! [`archive`] a plan out and in.

mod archive;
mod certificate;
mod edition;
mod facts;
mod history;
mod rates;
mod summary;

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use engine::Trouble;
use engine::document::happened::{self, Happened};
use engine::document::html::View;
use engine::document::{Document, Kind, change, copy};
use engine::measure::Units;
use tokio::sync::broadcast;

use crate::assets;
use crate::clock::Clock;
use crate::evaluator::{Evaluator, Worked};
use crate::folder::{self, Displaced, Kept, Replaced, Seen};
use crate::names::Name;
use crate::store::Store;
use crate::store::revisions::Text;
use crate::trouble::Refusal;

pub use archive::{Brought, Ledger};
pub use certificate::Draft;
pub use history::{Again, Differs, title_of};
pub use rates::{Moves, PlanMoves, in_words};
pub use summary::{Listed, Summary};

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
    /// The plan it was made from.
    pub from: Option<String>,
    seen: Seen,
    /// Read so soon after a change that it must be read again, or not yet in the record.
    unsure: bool,
}

/// A plan saved: its revision and the mark of its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The revision's number.
    pub revision: u32,
    /// The mark of the text.
    pub etag: String,
}

/// Files whose place was taken that are watched at once, for another program's last words.
const DISPLACED: usize = 128;

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
    displaced: Mutex<Vec<(Name, Displaced)>>,
    changes: broadcast::Sender<Changed>,
    /// The folder was looked through once: from now on what comes from outside is worked out at once.
    opened: AtomicBool,
    /// The rate sheets as they stand, until one changes.
    shelf: Mutex<Option<Arc<facts::Shelf>>>,
    /// Texts of rate sheets as they were, by name and mark.
    past: Mutex<HashMap<(String, String), Arc<str>>>,
    /// Counts the changes of rate sheets.
    sheets: AtomicU64,
    /// Every plan in short, with what that was made from.
    summaries: Mutex<HashMap<Name, (summary::Made, Arc<Summary>)>>,
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
            displaced: Mutex::default(),
            changes: broadcast::channel(64).0,
            opened: AtomicBool::new(false),
            shelf: Mutex::default(),
            past: Mutex::default(),
            sheets: AtomicU64::default(),
            summaries: Mutex::default(),
        };
        folder::tidy(&notebook.root, |etag| notebook.store.holds(etag).unwrap_or(false));
        notebook.look();
        notebook.opened.store(true, Ordering::SeqCst);
        Ok(notebook)
    }

    /// The day it is.
    pub fn today(&self) -> engine::measure::Day {
        self.clock.today()
    }

    /// The day a revision was saved, else today.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn day_of(&self, name: &Name, revision: u32) -> Result<engine::measure::Day, Refusal> {
        let all = self.store.revisions(name)?;
        let saved = all.iter().find(|one| one.number == revision).and_then(|one| one.saved.get(..10));
        Ok(saved.and_then(engine::measure::Day::parse).unwrap_or_else(|| self.today()))
    }

    /// Hears of every change from now on.
    pub fn changes(&self) -> broadcast::Receiver<Changed> {
        self.changes.subscribe()
    }

    /// The moment it is, in universal time.
    pub fn moment(&self) -> String {
        self.clock.moment()
    }

    /// The moment so many days from now.
    pub fn moment_in(&self, days: i32) -> String {
        self.clock.moment_in(days)
    }

    /// The record.
    pub(crate) fn store(&self) -> &Store {
        &self.store
    }

    /// Whether a browser gave the passphrase, within the last week and not before thirty days.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn is_let_in(&self, token: &str, now: &str) -> Result<bool, Refusal> {
        self.store.is_let_in(token, now, &self.moment_in(-7))
    }

    /// Why nothing is saved any more, once that is so.
    pub fn halted(&self) -> Option<Trouble> {
        self.store.halted().cloned()
    }

    /// Brings everything to rest before the program ends.
    pub fn settle(&self) {
        self.look();
        self.store.settle();
    }

    // ------------------------------------------------------------------------------------------------- reading

    /// Looks through the folder and reads what changed since the last look. Says whether it should look again in a moment,
    /// because something was only just being written.
    pub fn look(&self) -> bool {
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
        changed.sort_by_key(|name| !self.is_sheet(name));
        let mut again = false;
        for name in changed {
            self.fresh(&name);
            again |= self.read().get(&name).is_some_and(|entry| entry.unsure);
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
            .map_or((None, false), |entry| (entry.text.as_ref().ok().map(|kept| kept.etag.clone()), entry.unsure));
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
            && let Err(refusal) = self.record(&name, kept)
        {
            tracing::warn!(document.name = name.as_str(), refusal.what = %refusal.trouble().what, "a change made outside is not recorded yet");
            unsure = true;
        }
        let (kind, title, from) = match &text {
            Ok(kept) => {
                let document = Document::read(&kept.text);
                let title = document.title();
                (document.front.kind, title, document.front.from)
            }
            Err(_) => (Kind::Plan, String::new(), None),
        };
        let title = if title.is_empty() { name.as_str().to_owned() } else { title };
        self.insert(&name, Entry { text, kind, title, from, seen, unsure });
        if before != after {
            self.tell(&name, after.as_deref().unwrap_or_default());
        }
    }

    /// Takes a text into the record, unless it is the last revision already, and what it comes to; at the first look that is
    /// left for later, so that a large notebook opens at once.
    fn record(&self, name: &Name, kept: &Kept) -> Result<(), Refusal> {
        let (saw, moment) = (self.saw(name, &kept.text)?, self.clock.moment());
        let text = Text { plan: name, text: &kept.text, etag: &kept.etag, saved: &moment };
        let taken = self.store.take_in(text, saw)?;
        match taken.fresh.filter(|_| self.opened.load(Ordering::SeqCst)) {
            Some(row) => {
                let came = self.came(name, taken.number, &kept.text);
                came.map_or(Ok(()), |came| self.store.keep_results(row, came))
            }
            None => Ok(()),
        }
    }

    /// Reads one document again when its file changed since it was read.
    fn fresh(&self, name: &Name) {
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

    fn fresh_held(&self, name: &Name) {
        if self.is_as_read(name) {
            return;
        }
        if let Some(seen) = Seen::now(&self.root, name) {
            self.take(seen);
        } else {
            self.forget(name);
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

    fn insert(&self, name: &Name, entry: Entry) {
        let sheet = entry.kind == Kind::RateSheet;
        let before = {
            let mut entries = self.entries.write().unwrap_or_else(PoisonError::into_inner);
            entries.insert(name.clone(), entry).map(|entry| entry.kind)
        };
        if sheet || before == Some(Kind::RateSheet) {
            self.sheets_changed();
        }
    }

    /// How often a rate sheet changed since the notebook was opened.
    fn sheets_seen(&self) -> u64 {
        self.sheets.load(Ordering::SeqCst)
    }

    fn sheets_changed(&self) {
        *held(&self.shelf) = None;
        self.sheets.fetch_add(1, Ordering::SeqCst);
    }

    fn forget(&self, name: &Name) {
        self.entries.write().unwrap_or_else(PoisonError::into_inner).remove(name);
        held(&self.summaries).remove(name);
        self.sheets_changed();
        self.tell(name, "");
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
        self.as_read(name)
    }

    fn as_read(&self, name: &Name) -> Result<Arc<Kept>, Refusal> {
        let found = self.read().get(name).map(|entry| entry.text.clone());
        match found {
            Some(Ok(kept)) => Ok(kept),
            // Read again for a refusal of its own.
            _ => folder::read(&self.root, name).map(Arc::new),
        }
    }

    /// What the shops of a plan are called: the titles of their rate sheets.
    pub fn view(&self, document: &Document) -> View {
        let entries = self.read();
        let shops = document.front.shops.iter().map(|(role, sheet)| {
            let name = Name::new(sheet).ok().and_then(|name| entries.get(&name)).map(|entry| entry.title.clone());
            // A shop without a rate sheet may be given by its name alone.
            let words = (!sheet.contains('/') && sheet.contains(' ')).then(|| sheet.clone());
            (role.clone(), name.or(words).unwrap_or_else(|| role.clone()))
        });
        View { shops: shops.collect() }
    }

    /// A text worked out as the plan of that name would be.
    ///
    /// # Errors
    /// When the record cannot be read or too much is being worked out.
    pub fn work_out(&self, name: &Name, text: &str, units: Option<Units>) -> Result<Arc<Worked>, Refusal> {
        // Only the head is needed to know the shops and quotes held; it is read again with the rest.
        let head = Document::read(engine::document::front::head_of(text));
        self.evaluator.work_out(text, &self.facts(name, &head.front, units)?, &self.view(&head))
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
        let wanted = folder::etag(text.as_bytes());
        self.save_change(name, from, Some(&wanted), |_| Ok(text.to_owned()))
    }

    /// Saves a change to the text marked `from`.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the change cannot be made.
    fn save_change(
        &self,
        name: &Name,
        from: &str,
        wanted: Option<&str>,
        act: impl FnOnce(&Kept) -> Result<String, Refusal>,
    ) -> Result<Saved, Refusal> {
        let lock = self.lock_of(name);
        let _held = held(&lock);
        self.fresh_held(name);
        let now = self.as_read(name)?;
        if wanted == Some(now.etag.as_str()) {
            // Saved already: the answer to the first try was lost on the way.
            self.record(name, &now)?;
            return Ok(Saved { revision: self.revision(name, &now.etag)?, etag: now.etag.clone() });
        }
        if now.etag != from {
            return Err(stale(&now));
        }
        let text = act(&now)?;
        // What is about to be replaced must be in the record: it may have come from outside a moment ago.
        self.record(name, &now)?;
        self.put(name, &text, Some(&now.etag))
    }

    /// Rewrites one given of a plan.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when what was entered cannot be read.
    pub fn set_given(&self, name: &Name, from: &str, number: usize, entered: &str) -> Result<Saved, Refusal> {
        self.save_change(name, from, None, |now| {
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
        self.save_change(name, from, None, |now| {
            change::set_tick(&Document::read(&now.text), line, done).map_err(Refusal::Unusable)
        })
    }

    /// Writes something that happened into a plan's text.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when what is written cannot stand in a plan.
    pub fn note(&self, name: &Name, from: &str, happened: &Happened) -> Result<Saved, Refusal> {
        self.save_change(name, from, None, |now| {
            happened::write(&Document::read(&now.text), happened).map_err(Refusal::Unusable)
        })
    }

    /// Writes a text made from the one marked `from`, or a new document. Only while its lock is held.
    fn put(&self, name: &Name, text: &str, from: Option<&str>) -> Result<Saved, Refusal> {
        if text.len() as u64 > folder::LONGEST {
            return Err(Refusal::TooLong(Trouble::new(
                format!("this text is {} kB long, and at most 1024 kB are kept", text.len() / 1024),
                "cut it into two documents",
            )));
        }
        let etag = folder::etag(text.as_bytes());
        let (saw, moment) = (self.saw(name, text)?, self.clock.moment());
        let (revision, row) = self.store.intend(Text { plan: name, text, etag: &etag, saved: &moment }, saw)?;
        match folder::replace(&self.root, name, text, from)? {
            Replaced::Done(displaced) => {
                let mut all = held(&self.displaced);
                all.extend(displaced.map(|displaced| (name.clone(), displaced)));
                let over = all.len().saturating_sub(DISPLACED);
                all.drain(..over);
            }
            Replaced::Changed => {
                self.fresh_held(name);
                return Err(stale(&*self.as_read(name)?));
            }
        }
        self.store.written(row, self.came(name, revision, text))?;
        if text.is_empty() {
            // Emptied here, and not by an editor that will go on writing.
            self.write().remove(name);
        }
        self.fresh_held(name);
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
        self.begin_as(&Name::from_title(title).map_err(Refusal::Unusable)?, text)
    }

    /// Begins a plan from one of the built-in beginnings.
    ///
    /// # Errors
    /// When there is none of that name, or as [`Notebook::begin`].
    pub fn begin_from(&self, beginning: &str, title: &str) -> Result<Name, Refusal> {
        let name = assets::BEGINNINGS.iter().find(|one| **one == beginning).ok_or_else(|| {
            Refusal::missing(format!("there is no beginning called `{beginning}`"), "choose one from the list")
        })?;
        let text = assets::text(&format!("beginnings/{name}.md"));
        let text = copy::begun(&Document::read(&text), title, self.today()).map_err(Refusal::Unusable)?;
        self.begin(title, &text)
    }

    /// Begins a document under a name, or that name with a number when it is taken.
    fn begin_as(&self, wanted: &Name, text: &str) -> Result<Name, Refusal> {
        // One at a time, so that two new plans never take the same name.
        let lock = self.lock_of(wanted);
        let _held = held(&lock);
        let name = std::iter::once(wanted.clone())
            .chain((2..1000).map(|number| wanted.numbered(number)))
            .find(|name| !self.is_taken(name) && !self.is_known(name))
            .ok_or_else(|| Refusal::Taken(Trouble::new("a thousand plans have this title", "give this one another")))?;
        self.put(&name, text, None)?;
        Ok(name)
    }

    /// Some disks hold `Salt` and `salt` for one name, so two documents never differ in that alone.
    fn is_taken(&self, name: &Name) -> bool {
        folder::place(&self.root, name).exists() || self.read().keys().any(|one| one.folded() == name.folded())
    }

    /// A name that has a record is not used again, so that no new plan finds an old ledger under its name.
    fn is_known(&self, name: &Name) -> bool {
        let lines = self.store.ledger(name).is_ok_and(|lines| !lines.is_empty());
        lines || self.store.has_revisions(name).unwrap_or(true)
    }

    /// Makes the start of the next piece from a plan, without the sections of these titles.
    ///
    /// # Errors
    /// When the plan or its head cannot be read, or the copy cannot be written.
    pub fn copy(&self, name: &Name, title: &str, without: &[String]) -> Result<Name, Refusal> {
        let kept = self.text(name)?;
        let text = copy::next_piece(&Document::read(&kept.text), name.as_str(), title, self.today(), without)
            .map_err(Refusal::Unusable)?;
        self.begin(title, &text)
    }
}

fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
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
