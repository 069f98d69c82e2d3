//! The notebook's record beside its files: every saved revision, and what happened to each print. All SQL is here.
//!
//! One connection writes, behind a lock; a few others read, each behind its own, and wait for no write. [`place`] sees at every write that the
//! record is still the one in the folder, [`witness`] notes beside it how far it was written. [`revisions`] saved states of a document with what they were calculated from, [`results`] their results, [`ledger`]
//! the prints of an edition, [`certificates`] what was handed out with them, [`issued`] what each shop was handed, [`links`]
//! what shops may read, [`calendars`] what calendar programs may, [`access`] who may come in, `sound` whether the record lies
//! as it was left, [`copies`] all of it for a backup, [`backups`] when that was. [`index`] is a file of its own: what is known
//! of each document without reading it, which is not a record of anything.

mod access;
mod backups;
mod calendars;
mod certificates;
pub mod copies;
pub(crate) mod daybook;
pub(crate) mod index;
pub mod issued;
pub mod kept_copies;
pub(crate) mod ledger;
mod links;
mod place;
mod plans;
mod readers;
pub(crate) mod results;
pub(crate) mod revisions;
pub(crate) mod saves;
mod sound;
pub(crate) mod witness;

use std::path::Path;
use std::sync::atomic::{AtomicI32, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use engine::Message;
use parking_lot::{Mutex, MutexGuard};
use rusqlite::config::DbConfig;
use rusqlite::hooks::Wal;
use rusqlite::{Connection, Transaction, TransactionBehavior};

pub use backups::BackedUp;
pub use calendars::CalendarAddress;
pub use certificates::Issued;
pub use copies::Counts;
pub(crate) use daybook::FILE as LEDGER;
pub use index::FILE as INDEX;
use index::Index;
pub use ledger::{Line, NewLine, Terms, Which};
pub use links::{Link, NewLink, Opened};
use place::Place;
pub use plans::Renamed;
use readers::reader;
pub use revisions::{Revision, SavedInputs, Text};
pub(crate) use saves::FILE as SAVES;

use crate::error::Error;
use witness::Witness;

/// The name of the record's file in the notebook.
pub const FILE: &str = "makeready.db";
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
    include_str!("10_which_record_and_whose_ledger.sql"),
    include_str!("11_addresses_let_in.sql"),
    include_str!("12_links_for_one_shop_and_calendars_that_end.sql"),
    include_str!("13_passphrase_with_its_cost.sql"),
];

/// The step that gives the ledger its chain: the lines there were are carried over.
const LONGER_LEDGER: u32 = 4;
/// The step that keeps the passphrase with its cost.
const COSTED_PASSPHRASE: u32 = 13;

/// Questions answered at once; further ones wait for one of these.
const READERS: usize = 4;
/// How long a write waits for others, of this program or of another that holds the record.
const PATIENCE: Duration = Duration::from_secs(5);
/// How long what can be written another time waits for it.
const IN_PASSING: Duration = Duration::from_millis(100);
/// Pages in the journal from which on they are brought into the record's own file.
const PAGES: i32 = 1000;

/// What a record got back: how many entries, and how many more there are that do not follow its own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Completed {
    /// Entries of the ledger.
    pub(crate) ledger: (usize, usize),
    /// Saved texts.
    pub(crate) saves: (usize, usize),
}

/// The record, from any thread.
pub struct Store {
    /// Questions that change nothing wait neither for writes nor for another program that writes. None for one in memory. Opened
    /// once, with the record: a file put in its place later is not read.
    readers: Vec<Mutex<Connection>>,
    writer: Mutex<Connection>,
    /// Pages that stand in the journal after the last write.
    pages: Arc<AtomicI32>,
    /// Why nothing is written any more, once that is so.
    halted: Arc<OnceLock<Message>>,
    /// Where it lies, unless in memory.
    place: Option<Place>,
    index: Index,
    /// The ends of the ledgers as they were when last asked for.
    ends: Mutex<ledger::Known>,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Store")
    }
}

impl Store {
    /// Opens the record of a notebook, or begins it where there never was one. A record that is damaged, or is not the one
    /// last used here, is opened for reading only, and never written to.
    ///
    /// # Errors
    /// When the record is gone although there was one, cannot be used, or was written by a later version.
    pub fn open(folder: &Path) -> Result<Self, Error> {
        has_one(folder)?;
        Self::open_or_begin(folder)
    }

    /// Opens the record of a notebook when there is or was one; a folder without one is looked at only.
    ///
    /// # Errors
    /// As [`Store::open`].
    pub fn of(folder: &Path) -> Result<Self, Error> {
        if has_one(folder)? { Self::open_or_begin(folder) } else { Self::in_memory() }
    }

    /// Writes into the record what it lost of the ledger and of the saved texts, from the files they were written into besides.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn complete(folder: &Path) -> Result<Completed, Error> {
        let mut connection = Connection::open(folder.join(FILE))?;
        prepare(&mut connection, &folder.join(FILE), None, false).map_err(Unfit::error)?;
        let ((ledger, saves), _) = written(&mut connection, |change| {
            Ok((daybook::complete(change, folder)?, saves::complete(change, folder)?))
        })?;
        if ledger.1 > 0 {
            daybook::begin(folder, &connection)?;
        }
        Ok(Completed { ledger, saves })
    }

    /// Opens the record of a notebook, or begins it, whatever says that there was another.
    pub(crate) fn open_or_begin(folder: &Path) -> Result<Self, Error> {
        let path = folder.join(FILE);
        let fresh = !path.exists();
        let as_left = sound::is_as_left(folder);
        let mut connection = Connection::open(&path)?;
        let halted = OnceLock::new();
        match prepare(&mut connection, &path, Some(folder), as_left) {
            Ok(()) => {}
            Err(Unfit::Damaged(message)) => {
                tracing::error!(record.file = %path.display(), record.fault = %message.what, "the record is not written to");
                connection = reader(&path)?;
                let _ = halted.set(message);
            }
            Err(Unfit::Refused(error)) => return Err(error),
        }
        if fresh {
            // The library syncs the folder for its journals, not for a new record itself.
            crate::folder::sync(folder)?;
        }
        let readers = (0..READERS).map(|_| reader(&path).map(Mutex::new)).collect::<rusqlite::Result<_>>()?;
        let mut store = Self::of_connection(connection, readers, halted)?;
        store.index = Index::open(folder);
        if store.halted().is_none() {
            store.place = Some(Place::of(folder, &store.writer.lock())?);
        }
        if as_left {
            sound::read_through(folder, store.halted.clone());
        }
        Ok(store)
    }

    /// A record that lives in memory only, for tests and for commands that write nothing.
    ///
    /// # Errors
    /// When the library refuses.
    pub fn in_memory() -> Result<Self, Error> {
        let mut connection = Connection::open_in_memory()?;
        prepare(&mut connection, Path::new(":memory:"), None, false).map_err(Unfit::error)?;
        Self::of_connection(connection, Vec::new(), OnceLock::new())
    }

    fn of_connection(
        mut connection: Connection,
        readers: Vec<Mutex<Connection>>,
        halted: OnceLock<Message>,
    ) -> Result<Self, Error> {
        let pages = Arc::new(AtomicI32::new(0));
        let counted = pages.clone();
        // In the place of the library's own, so that nobody else changes the record's file in the midst of a write.
        connection.wal_hook(Some(move |_: &mut Wal, all| {
            counted.store(all, Ordering::SeqCst);
            Ok(())
        }))?;
        Ok(Self {
            readers,
            writer: Mutex::new(connection),
            pages,
            halted: Arc::new(halted),
            place: None,
            index: Index::in_memory(),
            ends: Mutex::default(),
        })
    }

    /// What is known of each document.
    pub(crate) fn index(&self) -> &Index {
        &self.index
    }

    /// Why nothing is written any more, once that is so: the record was found damaged or is not the one last used here, or
    /// the disk did not keep what was written to it.
    pub fn halted(&self) -> Option<&Message> {
        self.halted.get()
    }

    /// Whether a text of this mark is in the record.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn holds(&self, hash: &str) -> Result<bool, Error> {
        self.read(|connection| {
            Ok(connection
                .query_row("SELECT EXISTS (SELECT 1 FROM revision WHERE etag = ?1)", [hash], |row| row.get(0))?)
        })
    }

    /// Looks whether the record still lies where it is written to; once it does not, nothing more is written.
    pub fn look_after(&self) {
        if self.halted().is_none()
            && let Ok(connection) = self.writer(IN_PASSING)
        {
            let _ = self.in_place(&connection);
        }
    }

    /// Brings the journal into the record's own file, before the program ends.
    pub fn settle(&self) {
        let settled = || {
            let connection = self.writer(PATIENCE)?;
            self.in_place(&connection)?;
            Ok::<i64, Error>(connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?)
        };
        let Some(place) = self.place.as_ref().filter(|_| self.halted().is_none()) else { return };
        if let Err(error) = settled() {
            tracing::warn!(error.what = %error.message().what, "the journal stays beside the record until the next start");
        } else {
            sound::leave(&place.folder);
        }
    }

    /// Asks the record something that changes nothing.
    fn read<T>(&self, question: impl FnOnce(&Connection) -> Result<T, Error>) -> Result<T, Error> {
        let free = self.readers.iter().find_map(Mutex::try_lock);
        let connection = free.unwrap_or_else(|| self.readers.first().unwrap_or(&self.writer).lock());
        match (question(&connection), self.halted()) {
            (Err(Error::Storage(_)), Some(message)) => Err(Error::Halted(message.clone())),
            (answered, _) => answered,
        }
    }

    /// Changes the record, all of it or nothing: what comes back is on the disk, in the record that lies in the folder.
    fn write<T>(&self, change: impl FnOnce(&Transaction<'_>) -> Result<T, Error>) -> Result<T, Error> {
        self.write_within(PATIENCE, change)
    }

    /// Changes the record, unless another program holds it just now: for what can be written another time.
    fn write_in_passing<T>(&self, change: impl FnOnce(&Transaction<'_>) -> Result<T, Error>) -> Result<T, Error> {
        self.write_within(IN_PASSING, change)
    }

    fn write_within<T>(
        &self,
        patience: Duration,
        change: impl FnOnce(&Transaction<'_>) -> Result<T, Error>,
    ) -> Result<T, Error> {
        let mut connection = self.writer(patience)?;
        self.in_place(&connection)?;
        let written = written(&mut connection, change).map_err(|error| self.failed(error))?;
        let (answer, Some(stands)) = written else { return Ok(written.0) };
        if let Some(place) = &self.place {
            place.written(&connection, stands);
            self.in_place(&connection)?;
            if self.pages.load(Ordering::SeqCst) >= PAGES {
                place.brought_in(&connection);
            }
        }
        Ok(answer)
    }

    /// The connection that writes, once nobody else has it.
    fn writer(&self, patience: Duration) -> Result<MutexGuard<'_, Connection>, Error> {
        let connection = self.writer.try_lock_for(patience).ok_or_else(Error::record_held)?;
        if let Some(message) = self.halted() {
            return Err(Error::Halted(message.clone()));
        }
        connection.busy_timeout(patience)?;
        Ok(connection)
    }

    /// Ends all writing when the record that is written to is not the one in the folder any more.
    fn in_place(&self, connection: &Connection) -> Result<(), Error> {
        let Some(message) = self.place.as_ref().and_then(|place| place.lost(connection)) else { return Ok(()) };
        tracing::error!(record.fault = %message.what, "the record is not in its place");
        Err(self.failed(Error::Halted(message)))
    }

    /// The error of a write that failed.
    fn failed(&self, error: Error) -> Error {
        match (error, self.halted()) {
            (Error::Halted(message), _) => {
                // What the disk did not keep cannot be written again: it may say the second time that all is well.
                Error::Halted(self.halted.get_or_init(|| message).clone())
            }
            (Error::Storage(_), Some(message)) => Error::Halted(message.clone()),
            (error, _) => error,
        }
    }
}

/// Makes one change. Gives how the record stands after it, unless nothing was changed.
fn written<T>(
    connection: &mut Connection,
    change: impl FnOnce(&Transaction<'_>) -> Result<T, Error>,
) -> Result<(T, Option<Witness>), Error> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let before = transaction.total_changes();
    let answer = change(&transaction)?;
    if transaction.total_changes() == before {
        return Ok((answer, None));
    }
    transaction.prepare_cached("UPDATE record SET writes = writes + 1")?.execute([])?;
    let stands = Witness::of(&transaction)?;
    transaction.commit()?;
    Ok((answer, Some(stands)))
}

/// Whether a notebook has a record.
///
/// # Errors
/// When it is gone although there was one.
pub(crate) fn has_one(folder: &Path) -> Result<bool, Error> {
    match witness::traces(folder) {
        Some(traces) if !is_there(folder) => Err(Error::Halted(witness::gone(folder, &traces))),
        _ => Ok(is_there(folder)),
    }
}

/// Whether a record lies in a folder: a file with something in it.
pub fn is_there(folder: &Path) -> bool {
    std::fs::metadata(folder.join(FILE)).is_ok_and(|about| about.len() > 0)
}

/// Why a record cannot be used as it is.
enum Unfit {
    Damaged(Message),
    Refused(Error),
}

impl Unfit {
    fn error(self) -> Error {
        match self {
            Self::Damaged(message) => Error::Halted(message),
            Self::Refused(error) => error,
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
        Self::Damaged(Message::new(
            format!("the notebook's record is damaged, so nothing is saved ({how})"),
            format!(
                "end the program and bring back a copy with `makeready recover`, the newest in `{}` or a backup's `{FILE}`; the plans are plain files and are not touched",
                kept_copies::FOLDER
            ),
        ))
    }
}

fn prepare(connection: &mut Connection, path: &Path, folder: Option<&Path>, as_left: bool) -> Result<(), Unfit> {
    // A fault that could damage a record with two connections was mended in 3.51.3.
    if rusqlite::version_number() < 3_051_003 {
        return Err(Unfit::Refused(Error::storage(
            "this program was built with too old a database library",
            "build it again with the lock file that came with it",
        )));
    }
    connection.busy_timeout(PATIENCE)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    // Until it is known to be sound, nothing left over from before is brought into it.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, true)?;
    for (pragma, value) in [
        ("synchronous", "FULL"),
        ("foreign_keys", "ON"),
        ("recursive_triggers", "ON"),
        ("trusted_schema", "OFF"),
        ("cell_size_check", "ON"),
        ("temp_store", "MEMORY"),
        ("journal_size_limit", "67108864"),
        ("fullfsync", "ON"),
        ("checkpoint_fullfsync", "ON"),
    ] {
        connection.pragma_update(None, pragma, value)?;
    }
    connection.pragma_update(None, "mmap_size", 0)?;
    let noted = folder.and_then(Witness::noted);
    if !as_left {
        // Another file than the one last used: a log beside it may belong to that one.
        let other = noted.as_ref().is_some_and(|noted| noted.is_another_file(path));
        if let Some(fault) = sound::fault_in(connection, other)? {
            return Err(Unfit::damaged(&fault));
        }
    }
    if let Some(folder) = folder
        && let Some(lacks) = witness::lacks(folder, noted.as_ref(), connection)?
    {
        return Err(Unfit::Damaged(witness::older(folder, &lacks)));
    }
    // To its last step: it answers before it is done, and without a log nothing of this holds.
    let mut change = connection.prepare("PRAGMA journal_mode = WAL")?;
    let mut answers = change.query([])?;
    while answers.next()?.is_some() {}
    drop(answers);
    drop(change);
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, false)?;
    migrate(connection, path).map_err(Unfit::Refused)
}

fn migrate(connection: &mut Connection, path: &Path) -> Result<(), Error> {
    let application: i32 = connection.query_row("PRAGMA application_id", [], |row| row.get(0))?;
    let version: u32 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    if application != APPLICATION && (application != 0 || version != 0) {
        return Err(Error::storage(
            format!("`{}` belongs to another program", path.display()),
            "move it out of the notebook's folder",
        ));
    }
    let migrations = || (1..).zip(MIGRATIONS);
    if version > 0 && migrations().all(|(number, _)| number < version) {
        return Err(Error::storage(
            format!("`{}` was written by a later version of this program", path.display()),
            "use that version or a newer one; nothing was changed",
        ));
    }
    for (number, step) in migrations().filter(|(number, _)| *number > version) {
        let change = connection.transaction()?;
        change.execute_batch(step)?;
        match number {
            LONGER_LEDGER => ledger::carry_over(&change)?,
            COSTED_PASSPHRASE => access::carry_over(&change)?,
            _ => {}
        }
        change.pragma_update(None, "application_id", APPLICATION)?;
        change.pragma_update(None, "user_version", number)?;
        change.commit()?;
    }
    Ok(())
}

/// A message as a refusal to record something.
fn taken(message: Message) -> Error {
    Error::Conflict(message)
}
