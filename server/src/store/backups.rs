//! When the whole notebook was last backed up, and whether anything was saved since.

use rusqlite::{OptionalExtension as _, params};

use super::{Counts, Store};
use crate::error::Error;

/// How safe the notebook is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BackedUp {
    /// When it was last backed up, in universal time; nothing when it never was.
    pub last: Option<String>,
    /// Something was saved since that is in no backup.
    pub changed: bool,
}

impl Store {
    /// Notes that a backup was made and what it holds. Rows are never taken away, so their number is that of the last.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn note_backup(&self, made: &str, folder: &str, holds: &Counts) -> Result<(), Error> {
        let (revision, ledger) = (holds.revisions, holds.ledger);
        self.write(|change| {
            change.execute(
                "INSERT INTO backup (made, folder, revision, ledger) VALUES (?1, ?2, ?3, ?4)",
                params![made, folder, revision, ledger],
            )?;
            Ok(())
        })
    }

    /// How safe the notebook is. What was only taken in as it was found is not work yet.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn backed_up(&self) -> Result<BackedUp, Error> {
        self.read(|connection| {
            let last: Option<(String, bool)> = connection
                .prepare_cached("SELECT made, revision < (SELECT coalesce(max(id), 0) FROM revision) OR ledger < (SELECT coalesce(max(id), 0) FROM ledger) FROM backup ORDER BY id DESC LIMIT 1")?
                .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))
                .optional()?;
            if let Some((made, changed)) = last {
                return Ok(BackedUp { last: Some(made), changed });
            }
            let changed = connection
                .prepare_cached("SELECT EXISTS (SELECT 1 FROM revision WHERE number > 1) OR EXISTS (SELECT 1 FROM ledger)")?
                .query_row([], |row| row.get(0))?;
            Ok(BackedUp { last: None, changed })
        })
    }
}
