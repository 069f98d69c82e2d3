//! The record copied whole while it is in use, and a copy looked through without touching it.

use std::path::Path;

use rusqlite::{Connection, OpenFlags};

use super::{FILE, ledger};
use crate::trouble::Refusal;

/// What a record holds.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Counts {
    /// The shape of the record.
    pub shape: u32,
    /// Revisions of all documents.
    pub revisions: u32,
    /// Lines of the ledger.
    pub ledger: u32,
    /// The mark of its last line.
    pub last_mark: String,
    /// Certificates handed out.
    pub certificates: u32,
}

/// Copies the record of a notebook as it stands at one moment, while others may write. The copy must not be there yet.
///
/// # Errors
/// When the record cannot be read or the copy not written.
pub fn copy(folder: &Path, to: &Path) -> Result<(), Refusal> {
    let record = Connection::open_with_flags(folder.join(FILE), OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    record.busy_timeout(std::time::Duration::from_secs(5))?;
    record.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
    Ok(())
}

/// Looks a copy through: every page, the ledger's chain, and what it holds. The file is not changed.
///
/// # Errors
/// When it cannot be read or is damaged.
pub fn look_through(file: &Path) -> Result<Counts, Refusal> {
    let damaged = |words: String| {
        Refusal::unable(format!("the record `{}` is damaged: {words}", file.display()), "use another backup")
    };
    let address = format!(
        "file:{}?immutable=1",
        file.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23")
    );
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let record = Connection::open_with_flags(&address, flags)?;
    let sound: String = record.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if sound != "ok" {
        return Err(damaged(sound));
    }
    if let Err(line) = ledger::chain(&record)? {
        return Err(damaged(format!("ledger line {line} is not as it was written")));
    }
    let count =
        |table: &str| record.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get::<_, u32>(0));
    Ok(Counts {
        shape: record.query_row("PRAGMA user_version", [], |row| row.get(0))?,
        revisions: count("revision")?,
        ledger: count("ledger")?,
        last_mark: record.query_row(
            "SELECT coalesce((SELECT mark FROM ledger ORDER BY id DESC LIMIT 1), '')",
            [],
            |row| row.get(0),
        )?,
        certificates: count("certificate")?,
    })
}
