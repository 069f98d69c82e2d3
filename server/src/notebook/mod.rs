//! One notebook, in the few things it is: its [`documents`], its [`rate_sheets`], the [`history`] of both, and a [`summary`] of
//! every plan in the [`summary_cache`]. The [`calculator`] calculates a text on what a plan sees; the [`backlog`] says what is to
//! be calculated while nobody waits. What needs several of them is done here:
//!
//! [`scan`] takes in what changed in the folder, [`save`] changes a text, [`begin`] makes a new one, [`edition`] writes the
//! ledger, [`orphans`] are the plans of the record without a file, [`certificate`] goes with a print, [`moves`] tells what a new
//! rate sheet would move, [`front_matter`] changes one thing in a head, [`index_writer`] writes down for the next start what is
//! known, [`archive`] lets a plan go out, [`import`] one come in from what [`unpack`] looked through.

mod archive;
mod backlog;
mod begin;
mod calculator;
mod certificate;
mod documents;
mod edition;
mod front_matter;
mod history;
mod import;
mod index_writer;
mod moves;
mod orphans;
mod rate_sheets;
mod save;
mod scan;
mod summary;
mod summary_cache;
mod unpack;
mod unwritten;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::Message;
use engine::measure::{Day, Units};

use crate::clock::Clock;
use crate::error::Error;
use crate::evaluator::{Evaluator, Worked};
use crate::folder::{self, Kept};
use crate::names::Name;
use crate::store::Store;

pub use archive::Ledger;
pub use backlog::Backlog;
use backlog::Work;
pub use calculator::Calculator;
pub use certificate::Draft;
pub use documents::{Changed, Documents, Entry};
pub use history::{Again, Differs, History};
pub use import::Brought;
pub use moves::{Moves, PlanMoves};
pub use orphans::Orphan;
pub use rate_sheets::RateSheets;
pub use summary::{Cost, Due, InEdition, Summary};
pub use summary_cache::{InShort, Listed, SummaryCache};

/// A plan saved: its revision and the hash of its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The revision's number.
    pub revision: u32,
    /// The hash of the text.
    pub hash: String,
}

/// A document as it stands: its text, its revision, and what it comes to.
#[derive(Clone, Debug)]
pub struct Current {
    /// The text.
    pub kept: Arc<Kept>,
    /// The revision it is.
    pub revision: u32,
    /// The text calculated.
    pub worked: Arc<Worked>,
}

/// One notebook.
#[derive(Debug)]
pub struct Notebook {
    /// Its files and their texts.
    pub documents: Arc<Documents>,
    /// The rate sheets among them, as plans see them.
    pub rates: Arc<RateSheets>,
    /// What calculates a text.
    pub calculator: Arc<Calculator>,
    /// Its revisions, with their results.
    pub history: History,
    /// Every plan in short.
    pub summaries: SummaryCache,
    /// What is to be calculated while nobody waits.
    pub backlog: Arc<Backlog>,
    store: Arc<Store>,
}

impl Notebook {
    /// Opens a notebook and reads its folder.
    ///
    /// # Errors
    /// When the system gives no threads.
    pub fn open(root: PathBuf, store: Store, clock: Clock) -> std::io::Result<Self> {
        let (store, backlog) = (Arc::new(store), Arc::new(Backlog::default()));
        let documents = Arc::new(Documents::new(root, store.clone()));
        let rates = Arc::new(RateSheets::new(store.clone()));
        let calculator = Arc::new(Calculator {
            store: store.clone(),
            documents: documents.clone(),
            rates: rates.clone(),
            evaluator: Evaluator::default(),
            clock,
        });
        let history = History::new(calculator.clone(), backlog.clone());
        let summaries = SummaryCache::new(calculator.clone(), backlog.clone());
        let notebook = Self { documents, rates, calculator, history, summaries, backlog, store };
        // An earlier start may have ended before it reached them.
        notebook.backlog.leave(Work::Revisions);
        notebook.recall();
        notebook.first_look();
        Ok(notebook)
    }

    /// Clears away what saves that were cut short left in the folder. Only for the one who serves it: beside a server, what
    /// looks left behind may be a save that is under way.
    pub fn tidy(&self) {
        folder::tidy(self.root(), |hash| self.store.holds(hash).unwrap_or(false));
    }

    /// Its folder.
    #[must_use]
    pub fn root(&self) -> &Path {
        self.documents.root()
    }

    /// What it is called: its folder.
    #[must_use]
    pub fn studio(&self) -> String {
        let root = self.root().canonicalize().ok();
        let name = root.as_deref().and_then(Path::file_name).map(|name| name.to_string_lossy().into_owned());
        name.unwrap_or_else(|| "Notebook".into())
    }

    /// The day it is.
    #[must_use]
    pub fn today(&self) -> Day {
        self.calculator.clock.today()
    }

    /// The moment it is, in universal time.
    #[must_use]
    pub fn moment(&self) -> String {
        self.calculator.clock.moment()
    }

    /// The moment so many days from now.
    #[must_use]
    pub fn moment_in(&self, days: i32) -> String {
        self.calculator.clock.moment_in(days)
    }

    /// The record.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Whether a browser gave the passphrase, within the last week and not before thirty days.
    pub(crate) fn is_let_in(&self, token: &str) -> Result<bool, Error> {
        self.store.is_let_in(token, &self.moment(), &self.moment_in(-7))
    }

    /// Why nothing is saved any more, once that is so.
    #[must_use]
    pub fn halted(&self) -> Option<Message> {
        self.store.halted().cloned()
    }

    /// Brings everything to rest before the program ends.
    pub fn settle(&self) {
        self.look();
        self.summaries.write_down();
        self.store.settle();
    }

    /// A document's text and hash.
    ///
    /// # Errors
    /// When there is none of that name, or its file cannot be read as text.
    pub fn text(&self, name: &Name) -> Result<Arc<Kept>, Error> {
        self.fresh(name);
        self.documents.as_read(name)
    }

    /// A document as it stands.
    ///
    /// # Errors
    /// As [`Notebook::text`], and when the record cannot be read or too much is being calculated.
    pub(crate) fn current(&self, name: &Name, units: Option<Units>) -> Result<Current, Error> {
        let kept = self.text(name)?;
        let worked = self.calculator.calculate(name, &kept.text, units)?;
        let revision = self.store.number_of(name, &kept.hash)?;
        Ok(Current { kept, revision, worked })
    }

    /// The title a document has now, else its name.
    pub(crate) fn title_now(&self, name: &Name) -> String {
        self.fresh(name);
        self.documents.title_of(name)
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
