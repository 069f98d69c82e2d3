//! The record copied whole while it is in use, and a copy looked through without touching it.

use std::path::{Path, PathBuf};

use fs_err as fs;
use rusqlite::{Connection, OpenFlags};

use super::readers::reader;
use super::witness::{self, Witness};
use super::{FILE, ledger, sound};
use crate::error::Error;
use crate::folder;

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
/// When the record cannot be read, is not the one last used there, or the copy cannot be written.
pub fn copy(folder: &Path, to: &Path) -> Result<(), Error> {
    let record = right(folder)?;
    record.execute("VACUUM INTO ?1", [to.to_string_lossy()])?;
    Ok(())
}

/// The record of a notebook, to be copied: one that is not the one last used there is no copy to keep.
fn right(folder: &Path) -> Result<Connection, Error> {
    let path = folder.join(FILE);
    let (record, noted) = (reader(&path)?, Witness::noted(folder));
    if noted.as_ref().is_some_and(|noted| noted.is_another_file(&path))
        && let Some(fault) = sound::fault_in(&record, true)?
    {
        return Err(Error::storage(
            format!("the record `{}` is damaged: {fault}", path.display()),
            "run `makeready check`",
        ));
    }
    if let Some(lacks) = witness::lacks(folder, noted.as_ref(), &record)? {
        return Err(Error::Halted(witness::older(folder, &lacks)));
    }
    Ok(record)
}

/// Keeps a copy of the record of a notebook under a name where copies lie, once it was looked through.
///
/// # Errors
/// When the record is damaged or not the one last used there, or the disk refuses.
pub(crate) fn keep_one(folder: &Path, place: &Path, name: &str) -> Result<PathBuf, Error> {
    keep(&right(folder)?, place, name, None)
}

/// The same of a record that is open; it must stand like this, when that is known.
pub(super) fn keep(record: &Connection, place: &Path, name: &str, stands: Option<&Witness>) -> Result<PathBuf, Error> {
    fs::create_dir_all(place)?;
    let part = tempfile::Builder::new().suffix(".part").tempdir_in(place)?;
    let draft = part.path().join(FILE);
    record.execute("VACUUM INTO ?1", [draft.to_string_lossy()])?;
    look_through(&draft)?;
    if stands.is_some_and(|stands| witness(&draft).is_ok_and(|witness| witness != *stands)) {
        return Err(Error::storage("the copy of the record does not hold all that was saved", "keep the other copies"));
    }
    fs::File::open(&draft)?.sync_all()?;
    let copy = place.join(name);
    fs::rename(&draft, &copy)?;
    folder::sync(place)?;
    Ok(copy)
}

/// How a copy stands, looked at without touching it.
///
/// # Errors
/// When it cannot be read.
pub(crate) fn witness(file: &Path) -> Result<Witness, Error> {
    Ok(Witness::of(&untouched(file)?)?)
}

/// A record opened so that neither it nor anything beside it is changed.
fn untouched(file: &Path) -> rusqlite::Result<Connection> {
    let address = format!(
        "file:{}?immutable=1",
        file.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23")
    );
    Connection::open_with_flags(&address, OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI)
}

/// Looks a copy through: every page, the ledger's chain, and what it holds. The file is not changed.
///
/// # Errors
/// When it cannot be read or is damaged.
pub fn look_through(file: &Path) -> Result<Counts, Error> {
    look(&untouched(file)?, file)
}

/// The same of a record with its log beside it.
///
/// # Errors
/// As [`look_through`].
pub(crate) fn look_through_in_use(file: &Path) -> Result<Counts, Error> {
    look(&reader(file)?, file)
}

fn look(record: &Connection, file: &Path) -> Result<Counts, Error> {
    let damaged = |words: String| {
        Error::storage(format!("the record `{}` is damaged: {words}", file.display()), "use another backup")
    };
    let sound: String = record.query_row("PRAGMA integrity_check(1)", [], |row| row.get(0))?;
    if sound != "ok" {
        return Err(damaged(sound));
    }
    if let Err(line) = ledger::chain(record)? {
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
