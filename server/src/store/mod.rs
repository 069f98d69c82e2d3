//! The notebook's record beside its files: every saved revision, and what happened to each print. All SQL is here.
//!
//! One connection lives on a thread of its own; questions and writes reach it one after the other through a bounded queue.
//! [`revisions`] saved states of a document, [`ledger`] the prints of an edition.

pub(crate) mod ledger;
mod revisions;

use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{SyncSender, sync_channel};

use engine::Trouble;
use rusqlite::Connection;

pub use ledger::{Line, NewLine};
pub use revisions::Revision;

use crate::trouble::Refusal;

/// The name of the record's file in the notebook.
pub const FILE: &str = "makeready.db";
/// Questions that may wait at once.
const WAITING: usize = 256;
/// Marks a file as this program's: "MkRd".
const APPLICATION: i32 = 0x4D6B_5264;

/// Steps from one shape of the record to the next, oldest first. A released step is never edited.
const MIGRATIONS: &[&str] = &[include_str!("1_revisions_and_ledger.sql")];

type Question = Box<dyn FnOnce(&mut Connection) + Send>;

/// The record, from any thread.
#[derive(Clone)]
pub struct Store {
    questions: Arc<SyncSender<Question>>,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Store")
    }
}

impl Store {
    /// Opens the record of a notebook, or begins it.
    ///
    /// # Errors
    /// When the file cannot be used, is damaged, or was written by a later version.
    pub fn open(folder: &Path) -> Result<Self, Refusal> {
        let path = folder.join(FILE);
        let fresh = !path.exists();
        let mut connection = Connection::open(&path)?;
        prepare(&mut connection, &path)?;
        if fresh {
            // The library syncs the folder for its journals, not for a new record itself.
            crate::folder::sync(folder)?;
        }
        Ok(Self::on_thread(connection)?)
    }

    /// A record that lives in memory only, for tests and for commands that write nothing.
    ///
    /// # Errors
    /// When the library refuses.
    pub fn in_memory() -> Result<Self, Refusal> {
        let mut connection = Connection::open_in_memory()?;
        prepare(&mut connection, Path::new(":memory:"))?;
        Ok(Self::on_thread(connection)?)
    }

    fn on_thread(mut connection: Connection) -> std::io::Result<Self> {
        let (questions, waiting) = sync_channel::<Question>(WAITING);
        std::thread::Builder::new().name("record".into()).spawn(move || {
            while let Ok(question) = waiting.recv() {
                question(&mut connection);
            }
            let _ = connection.pragma_update(None, "wal_checkpoint", "TRUNCATE");
        })?;
        Ok(Self { questions: Arc::new(questions) })
    }

    /// Asks the record something and waits for the answer.
    fn ask<T: Send + 'static>(
        &self,
        question: impl FnOnce(&mut Connection) -> Result<T, Refusal> + Send + 'static,
    ) -> Result<T, Refusal> {
        let (answer, wait) = sync_channel(1);
        let question: Question = Box::new(move |connection| {
            let _ = answer.send(question(connection));
        });
        let gone =
            || Refusal::unable("the notebook's record has stopped", "start the program again; what was saved is safe");
        self.questions.send(question).map_err(|_| gone())?;
        wait.recv().map_err(|_| gone())?
    }
}

fn prepare(connection: &mut Connection, path: &Path) -> Result<(), Refusal> {
    // A fault that could damage a record with two connections was mended in 3.51.3.
    if rusqlite::version_number() < 3_051_003 {
        return Err(Refusal::unable(
            "this program was built with too old a database library",
            "build it again with the lock file that came with it",
        ));
    }
    connection.busy_timeout(std::time::Duration::from_secs(5))?;
    for (pragma, value) in [
        ("journal_mode", "WAL"),
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
    let sound: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    if sound != "ok" {
        return Err(Refusal::unable(
            format!("the notebook's record `{}` is damaged: {sound}", path.display()),
            "put it aside and bring back a copy; the plans themselves are plain files and are not touched",
        ));
    }
    migrate(connection, path)
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
