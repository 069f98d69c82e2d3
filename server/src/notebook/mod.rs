//! One notebook: its files, its record and what its plans come to, kept together.
//!
//! What is known of every document is here; [`look`] takes in what changed in the folder, [`save`] changes a text, [`begin`]
//! makes a new one; [`facts`] what a plan is worked out on, [`history`] its revisions worked out again, [`edition`] its
//! ledger, [`orphans`] the plans of the record without a file, [`certificate`] what goes with a print, [`rates`] what a new rate sheet moves, [`summary`] every plan
//! in [`short`], [`known`] what is written down of it for the next start, [`archive`] a plan
//! going out, [`import`] one coming in from what [`unpack`] looked through.

mod archive;
mod begin;
mod certificate;
mod edition;
mod facts;
mod head;
mod history;
mod import;
mod known;
mod look;
mod orphans;
mod rates;
mod save;
mod short;
mod summary;
mod unpack;

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use engine::Trouble;
use engine::document::{Document, Kind};
use engine::measure::Units;
use engine::render::html::View;
use tokio::sync::broadcast;

use crate::clock::Clock;
use crate::evaluator::{Evaluator, Worked};
use crate::folder::{self, Displaced, Kept, Seen};
use crate::names::Name;
use crate::recent::Recent;
use crate::store::Store;
use crate::trouble::Refusal;

pub use archive::Ledger;
pub use certificate::Draft;
pub use history::{Again, Differs, title_of};
pub use import::Brought;
pub use orphans::Orphan;
pub use rates::{Moves, PlanMoves, in_words};
pub use short::{Cost, Due, InEdition, Summary};
pub use summary::{InShort, Listed};

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
    /// The mark of its text, or what is wrong with the file.
    pub mark: Result<Arc<str>, Arc<Refusal>>,
    /// The text of a rate sheet: plans draw on it all the time. A plan's is read when it is asked for.
    pub sheet: Option<Arc<Kept>>,
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

/// How many bytes of plans' texts are kept in each of two generations.
const TEXTS: usize = 4 << 20;

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
    /// Many changes from outside are being taken in: what each comes to waits.
    takes_in_many: AtomicBool,
    /// Some revisions may not be worked out yet.
    waits: AtomicBool,
    /// The rate sheets as plans see them, until one changes.
    shelves: Mutex<facts::Shelves>,
    /// Texts of rate sheets as they were, by name and mark.
    past: Mutex<HashMap<(String, String), Arc<str>>>,
    /// Counts whatever changed that a page of a plan could show.
    moves: AtomicU64,
    /// Counts the changes of rate sheets.
    sheets: AtomicU64,
    /// Every plan in short, with what that was made from.
    summaries: Mutex<summary::Summaries>,
    /// Texts of plans asked for a moment ago.
    texts: Mutex<Recent<Name, Arc<Kept>>>,
    /// What is to be written down of which documents, so that the next start knows it.
    unwritten: Mutex<known::Unwritten>,
    /// Held by whoever looks what a new text of a rate sheet would move in every plan.
    looks_ahead: Mutex<()>,
    /// Told when more plans are to be worked out than a page waits for.
    behind: tokio::sync::Notify,
    /// It was told, and nobody has begun: what can wait longer makes room.
    hurries: AtomicBool,
    /// Counts documents that came and went, and what was decided of plans without a file.
    comings: AtomicU64,
    /// The plans without a file, as of a count of those.
    orphans: Mutex<Option<(u64, Arc<Vec<Orphan>>)>>,
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
            takes_in_many: AtomicBool::new(false),
            // An earlier start may have ended before it came to them.
            waits: AtomicBool::new(true),
            shelves: Mutex::default(),
            past: Mutex::default(),
            moves: AtomicU64::default(),
            sheets: AtomicU64::default(),
            summaries: Mutex::default(),
            texts: Mutex::new(Recent::of(TEXTS)),
            unwritten: Mutex::default(),
            looks_ahead: Mutex::default(),
            behind: tokio::sync::Notify::new(),
            hurries: AtomicBool::new(false),
            comings: AtomicU64::default(),
            orphans: Mutex::default(),
        };
        notebook.recall();
        notebook.look();
        notebook.opened.store(true, Ordering::SeqCst);
        Ok(notebook)
    }

    /// Clears away what saves that were cut short left in the folder. Only for the one who serves it: beside a server, what
    /// looks left behind may be a save that is under way.
    pub fn tidy(&self) {
        folder::tidy(&self.root, |etag| self.store.holds(etag).unwrap_or(false));
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
        self.write_down();
        self.store.settle();
    }

    /// How often anything changed that a page of a plan could show, with the change of this plan's file that may have come
    /// this moment. What is made after asking holds until the number is another.
    pub(crate) fn moved(&self, name: &Name) -> u64 {
        self.fresh(name);
        self.moves.load(Ordering::SeqCst)
    }

    fn tell(&self, name: &Name, etag: &str) {
        self.moves.fetch_add(1, Ordering::SeqCst);
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
        if before.is_none() {
            self.comings.fetch_add(1, Ordering::SeqCst);
        }
        self.moves.fetch_add(1, Ordering::SeqCst);
        held(&self.unwritten).note(name);
        if sheet || before == Some(Kind::RateSheet) {
            self.sheets_changed();
        }
    }

    /// How often a rate sheet changed since the notebook was opened.
    fn sheets_seen(&self) -> u64 {
        self.sheets.load(Ordering::SeqCst)
    }

    fn sheets_changed(&self) {
        let mut shelves = held(&self.shelves);
        self.sheets.fetch_add(1, Ordering::SeqCst);
        *shelves = facts::Shelves::default();
        drop(shelves);
        self.fall_behind();
    }

    fn forget(&self, name: &Name) {
        let gone = self.entries.write().unwrap_or_else(PoisonError::into_inner).remove(name);
        held(&self.summaries).remove(name);
        held(&self.unwritten).note(name);
        self.comings.fetch_add(1, Ordering::SeqCst);
        if gone.is_some_and(|entry| entry.kind == Kind::RateSheet) {
            self.sheets_changed();
        }
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

    fn keep_text(&self, name: &Name, kept: &Arc<Kept>) {
        held(&self.texts).put(name.clone(), kept.clone(), kept.text.len());
    }

    /// The text as it was last read.
    fn as_read(&self, name: &Name) -> Result<Arc<Kept>, Refusal> {
        let found = self.read().get(name).map(|entry| (entry.mark.clone(), entry.sheet.clone()));
        let Some((Ok(mark), sheet)) = found else {
            // Read again for a refusal of its own.
            return folder::read(&self.root, name).map(Arc::new);
        };
        if let Some(kept) = sheet.or_else(|| held(&self.texts).get(name).filter(|kept| *kept.etag == *mark)) {
            return Ok(kept);
        }
        let lies = folder::read(&self.root, name);
        let kept = match lies {
            Ok(kept) if *kept.etag == *mark => kept,
            // It changed since, perhaps only for a moment: until the next look the last one stands, and the record has it.
            lies => match self.store.marked_text(&mark)? {
                Some(text) => Kept { text, etag: mark.to_string() },
                None => lies?,
            },
        };
        let kept = Arc::new(kept);
        self.keep_text(name, &kept);
        Ok(kept)
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
        let head = head_of(text);
        self.evaluator.work_out(text, &self.facts(name, &head.front, units)?, &self.view(&head))
    }

    /// The same for one of many plans that nobody looks at.
    fn glance(&self, name: &Name, text: &str) -> Result<Arc<Worked>, Refusal> {
        let head = head_of(text);
        self.evaluator.glance(text, &self.facts(name, &head.front, None)?, &self.view(&head))
    }
}

/// What tells the shops and the quotes held; it is read again with the rest.
fn head_of(text: &str) -> Document {
    Document::read(engine::document::front::head_of(text))
}

fn held<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
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
