//! The notebook's record beside its files: every saved revision, and what happened to each print. All SQL is here.
//!
//! One connection lives on a thread of its own; questions and writes reach it one after the other through a bounded queue.
//! [`revisions`] saved states of a document with what they were worked out on, [`results`] what they came to, [`ledger`]
//! the prints of an edition, [`certificates`] what was handed out with them, [`issued`] what each shop was handed, [`links`]
//! what shops may read, [`calendars`] what calendar programs may, [`access`] who may come in, `sound` whether the record lies
//! as it was left, [`copies`] all of it for a backup, [`backups`] when that was. [`index`] is a file of its own: what is known
//! of each document without reading it, which is no record of anything.

mod access;
mod backups;
mod calendars;
mod certificates;
pub mod copies;
pub(crate) mod index;
pub mod issued;
pub(crate) mod ledger;
mod links;
pub(crate) mod results;
pub(crate) mod revisions;
mod sound;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::mpsc::{SyncSender, sync_channel};
use std::sync::{Arc, Mutex, OnceLock};

use engine::Trouble;
use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

pub use backups::BackedUp;
pub use calendars::CalendarAddress;
pub use certificates::Issued;
pub use copies::Counts;
pub use index::FILE as INDEX;
use index::Index;
pub use ledger::{Line, NewLine, Terms, Which};
pub use links::{Link, NewLink, Opened};
pub use revisions::{Revision, Saw, Text};

use crate::trouble::Refusal;

/// The name of the record's file in the notebook.
pub const FILE: &str = "makeready.db";
/// Questions that may wait at once.
const WAITING: usize = 256;
/// Marks a file as this program's: "MkRd".
const APPLICATION: i32 = 0x4D6B_5264;

/// Steps from one shape of the record to the next, oldest first. A released step is never edited.
const MIGRATIONS: &[&str] = &[
    include_str!("1_revisions_and_ledger.sql"),
    include_str!("2_links_and_login.sql"),
    include_str!("3_issued_tickets.sql"),
    include_str!("4_what_a_revision_saw_and_a_longer_ledger.sql"),
    include_str!("5_backups.sql"),
    include_str!("6_issued_sheets.sql"),
    include_str!("7_calendar_addresses.sql"),
    include_str!("8_known_documents.sql"),
    include_str!("9_no_known_documents_and_what_waits.sql"),
    include_str!("10_addresses_let_in.sql"),
];

/// The step that gives the ledger its chain: the lines there were are carried over.
const LONGER_LEDGER: u32 = 4;

type Question = Box<dyn FnOnce(&mut Connection) + Send>;

/// The record, from any thread.
#[derive(Clone)]
pub struct Store {
    questions: Arc<SyncSender<Question>>,
    /// Why nothing is written any more, once that is so.
    halted: Arc<OnceLock<Trouble>>,
    /// Where it lies, unless in memory.
    folder: Option<Arc<Path>>,
    index: Arc<Index>,
    /// The ends of the ledgers as they were when last asked for.
    ends: Arc<Mutex<Arc<ledger::Ends>>>,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Store")
    }
}

impl Store {
    /// Opens the record of a notebook, or begins it. A damaged record is opened for reading only, and never written to.
    ///
    /// # Errors
    /// When the file cannot be used, or was written by a later version.
    pub fn open(folder: &Path) -> Result<Self, Refusal> {
        let path = folder.join(FILE);
        let fresh = !path.exists();
        let as_left = sound::is_as_left(folder);
        let mut connection = Connection::open(&path)?;
        let halted = OnceLock::new();
        match prepare(&mut connection, &path, as_left) {
            Ok(()) => sound::note_in_use(folder),
            Err(Unfit::Damaged(trouble)) => {
                tracing::error!(record.file = %path.display(), record.fault = %trouble.what, "the record is damaged");
                connection = Connection::open_with_flags(&path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
                connection.pragma_update(None, "trusted_schema", "OFF")?;
                let _ = halted.set(trouble);
            }
            Err(Unfit::Refused(refusal)) => return Err(refusal),
        }
        if fresh {
            // The library syncs the folder for its journals, not for a new record itself.
            crate::folder::sync(folder)?;
        }
        let store = Self::on_thread(connection, halted)?;
        if as_left {
            sound::read_through(folder, store.halted.clone());
        }
        Ok(Self { folder: Some(folder.into()), index: Arc::new(Index::open(folder)), ..store })
    }

    /// A record that lives in memory only, for tests and for commands that write nothing.
    ///
    /// # Errors
    /// When the library refuses.
    pub fn in_memory() -> Result<Self, Refusal> {
        let mut connection = Connection::open_in_memory()?;
        prepare(&mut connection, Path::new(":memory:"), false).map_err(Unfit::refusal)?;
        Ok(Self::on_thread(connection, OnceLock::new())?)
    }

    fn on_thread(mut connection: Connection, halted: OnceLock<Trouble>) -> std::io::Result<Self> {
        let (questions, waiting) = sync_channel::<Question>(WAITING);
        std::thread::Builder::new().name("record".into()).spawn(move || {
            while let Ok(question) = waiting.recv() {
                question(&mut connection);
            }
        })?;
        Ok(Self {
            questions: Arc::new(questions),
            halted: Arc::new(halted),
            folder: None,
            index: Arc::new(Index::in_memory()),
            ends: Arc::default(),
        })
    }

    /// What is known of each document.
    pub(crate) fn index(&self) -> &Index {
        &self.index
    }

    /// Why nothing is written any more, once that is so: the record was found damaged, or the disk did not keep what was
    /// written to it.
    pub fn halted(&self) -> Option<&Trouble> {
        self.halted.get()
    }

    /// Whether a text of this mark is in the record.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn holds(&self, etag: &str) -> Result<bool, Refusal> {
        let etag = etag.to_owned();
        self.ask(move |connection| {
            Ok(connection
                .query_row("SELECT EXISTS (SELECT 1 FROM revision WHERE etag = ?1)", [etag], |row| row.get(0))?)
        })
    }

    /// Brings the journal into the record's own file, before the program ends.
    pub fn settle(&self) {
        let settled = self.ask(|connection| {
            Ok(connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get::<_, i64>(0))?)
        });
        if let Err(refusal) = settled {
            tracing::warn!(refusal.what = %refusal.trouble().what, "the journal stays beside the record until the next start");
        } else if let Some(folder) = self.folder.as_ref().filter(|_| self.halted().is_none()) {
            sound::leave(folder);
        }
    }

    /// Asks the record something and waits for the answer.
    fn ask<T: Send + 'static>(
        &self,
        question: impl FnOnce(&mut Connection) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let (answer, wait) = sync_channel(1);
        let halted = self.halted.clone();
        let question: Question = Box::new(move |connection| {
            if halted.get().is_some() {
                // A fault may have been found meanwhile, by whoever reads the record through.
                let _ = connection.pragma_update(None, "query_only", "ON");
            }
            // A question that breaks takes its own change back and leaves the record to the others.
            let answered = catch_unwind(AssertUnwindSafe(|| question(connection)));
            let broke = || Refusal::unable("the notebook's record could not answer", "try again; nothing was changed");
            let mut answered = answered.unwrap_or_else(|_| Err(broke()));
            if let Err(Refusal::Halted(trouble)) = &answered {
                // What the disk did not keep cannot be written again: it may say the second time that all is well.
                let _ = halted.set(trouble.clone());
                let _ = connection.pragma_update(None, "query_only", "ON");
            } else if let Err(Refusal::Unable(_)) = &answered
                && let Some(trouble) = halted.get()
            {
                answered = Err(Refusal::Halted(trouble.clone()));
            }
            let _ = answer.send(answered);
        });
        let gone =
            || Refusal::unable("the notebook's record has stopped", "start the program again; what was saved is safe");
        self.questions.send(question).map_err(|_| gone())?;
        let answered = wait.recv().map_err(|_| gone())?;
        if let (Err(Refusal::Halted(_)), Some(folder)) = (&answered, &self.folder) {
            // What the disk did not keep is gone although the computer runs on: the next start reads all of it first.
            sound::forget(folder);
        }
        answered
    }
}

/// Why a record cannot be used as it is.
enum Unfit {
    Damaged(Trouble),
    Refused(Refusal),
}

impl Unfit {
    fn refusal(self) -> Refusal {
        match self {
            Self::Damaged(trouble) => Refusal::Halted(trouble),
            Self::Refused(refusal) => refusal,
        }
    }
}

impl From<rusqlite::Error> for Unfit {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as C;
        match error.sqlite_error_code() {
            Some(C::DatabaseCorrupt) => Self::damaged(&error.to_string()),
            _ => Self::Refused(error.into()),
        }
    }
}

impl Unfit {
    fn damaged(how: &str) -> Self {
        let how = how.lines().next().unwrap_or_default();
        Self::Damaged(Trouble::new(
            format!("the notebook's record is damaged, so nothing is saved ({how})"),
            format!(
                "end the program, put `{FILE}` aside and bring back a copy, the newest in `{}` or a backup's; the plans are plain files and are not touched",
                crate::daily::FOLDER
            ),
        ))
    }
}

fn prepare(connection: &mut Connection, path: &Path, as_left: bool) -> Result<(), Unfit> {
    // A fault that could damage a record with two connections was mended in 3.51.3.
    if rusqlite::version_number() < 3_051_003 {
        return Err(Unfit::Refused(Refusal::unable(
            "this program was built with too old a database library",
            "build it again with the lock file that came with it",
        )));
    }
    connection.busy_timeout(std::time::Duration::from_secs(5))?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    // Until it is known to be sound, nothing left over from before is brought into it.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    for (pragma, value) in [
        ("journal_mode", "WAL"),
        ("synchronous", "FULL"),
        ("foreign_keys", "ON"),
        ("recursive_triggers", "ON"),
        ("trusted_schema", "OFF"),
        ("cell_size_check", "ON"),
        ("temp_store", "MEMORY"),
        ("wal_autocheckpoint", "1000"),
        ("journal_size_limit", "67108864"),
        ("fullfsync", "ON"),
        ("checkpoint_fullfsync", "ON"),
    ] {
        connection.pragma_update(None, pragma, value)?;
    }
    connection.pragma_update(None, "mmap_size", 0)?;
    if !as_left {
        let sound: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
        if sound != "ok" {
            return Err(Unfit::damaged(&sound));
        }
    }
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    migrate(connection, path).map_err(Unfit::Refused)
}

fn migrate(connection: &mut Connection, path: &Path) -> Result<(), Refusal> {
    let application: i32 = connection.query_row("PRAGMA application_id", [], |row| row.get(0))?;
    let version: u32 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if application != APPLICATION && (application != 0 || version != 0) {
        return Err(Refusal::unable(
            format!("`{}` belongs to another program", path.display()),
            "move it out of the notebook's folder",
        ));
    }
    let migrations = || (1..).zip(MIGRATIONS);
    if version > 0 && migrations().all(|(number, _)| number < version) {
        return Err(Refusal::unable(
            format!("`{}` was written by a later version of this program", path.display()),
            "use that version or a newer one; nothing was changed",
        ));
    }
    for (number, step) in migrations().filter(|(number, _)| *number > version) {
        let change = connection.transaction()?;
        change.execute_batch(step)?;
        if number == LONGER_LEDGER {
            ledger::carry_over(&change)?;
        }
        change.pragma_update(None, "application_id", APPLICATION)?;
        change.pragma_update(None, "user_version", number)?;
        change.commit()?;
    }
    Ok(())
}

/// A trouble as a refusal to record something.
fn taken(trouble: Trouble) -> Refusal {
    Refusal::Taken(trouble)
}
