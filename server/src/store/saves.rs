//! Every saved text written a second time, into a file beside the record, from one day's copy of the record to the next: what was
//! saved since then is known even when the record is deleted, emptied or replaced. Like the ledger's second copy, it is only read
//! to complete a record that lost something.

use std::fs::{self, File, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::Path;

use rusqlite::{Connection, OptionalExtension as _, Transaction, params};

use crate::error::Error;
use crate::folder;

/// The file, a line of JSON for each revision.
pub(crate) const FILE: &str = ".makeready-saves.txt";
/// Revisions that stay in the file although a copy of the record holds them: saves under way while the copy was made.
const OVERLAP: i64 = 100;

/// A revision with what it was calculated from.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
struct SavedRevision {
    id: i64,
    plan: String,
    number: u32,
    #[serde(rename = "etag")]
    hash: String,
    text: String,
    saved: String,
    source: String,
    today: String,
    ledger: i64,
    sheets: String,
}

/// Writes one revision of the record down and brings it to the disk.
///
/// # Errors
/// When the record cannot be read or the file cannot be written.
pub(super) fn add(folder: &Path, connection: &Connection, row: i64) -> Result<(), Error> {
    let saved = connection
        .prepare_cached(
            "SELECT id, plan, number, etag, text, saved, source, today, ledger, sheets
             FROM revision JOIN facts ON facts.revision = revision.id WHERE id = ?1",
        )?
        .query_row([row], |row| {
            Ok(SavedRevision {
                id: row.get(0)?,
                plan: row.get(1)?,
                number: row.get(2)?,
                hash: row.get(3)?,
                text: row.get(4)?,
                saved: row.get(5)?,
                source: row.get(6)?,
                today: row.get(7)?,
                ledger: row.get(8)?,
                sheets: row.get(9)?,
            })
        })?;
    let path = folder.join(FILE);
    let is_new = !path.exists();
    let mut file = OpenOptions::new().append(true).create(true).open(&path)?;
    file.lock()?;
    file.write_all(line(&saved)?.as_bytes())?;
    file.sync_data()?;
    if is_new {
        folder::sync(folder)?;
    }
    Ok(())
}

/// Drops what a copy of the record holds, up to this row.
///
/// # Errors
/// When the file cannot be read or written.
pub(crate) fn shorten(folder: &Path, copied: i64) -> Result<(), Error> {
    let Ok(mut file) = OpenOptions::new().read(true).write(true).open(folder.join(FILE)) else { return Ok(()) };
    file.lock()?;
    let mut rest = String::new();
    for saved in read(&mut file)?.iter().filter(|saved| saved.id > copied - OVERLAP) {
        rest.push_str(&line(saved)?);
    }
    file.set_len(0)?;
    file.seek(SeekFrom::Start(0))?;
    file.write_all(rest.as_bytes())?;
    Ok(file.sync_data()?)
}

/// Writes the revisions into a record that it lost. Gives how many there were, and how many stand in the file that do not follow
/// those of the record; with such, the file is put where copies lie.
///
/// # Errors
/// When the record or the file cannot be read or written.
pub(super) fn complete(change: &Transaction<'_>, folder: &Path) -> Result<(usize, usize), Error> {
    let Ok(mut file) = File::open(folder.join(FILE)) else { return Ok((0, 0)) };
    let mut all = read(&mut file)?;
    all.sort_by_key(|saved| saved.id);
    all.dedup();
    let (mut added, mut apart) = (0, 0);
    for saved in &all {
        let held: Option<String> = change
            .prepare_cached("SELECT etag FROM revision WHERE id = ?1 OR (plan = ?2 AND number = ?3)")?
            .query_row(params![saved.id, saved.plan, saved.number], |row| row.get(0))
            .optional()?;
        match held {
            Some(hash) if hash == saved.hash => {
                // A save that was under way when the copy was made.
                change.execute("UPDATE revision SET written = 1 WHERE id = ?1 AND written = 0", [saved.id])?;
            }
            Some(_) => apart += 1,
            None => {
                insert(change, saved)?;
                added += 1;
            }
        }
    }
    if apart > 0 {
        let place = folder.join(super::kept_copies::FOLDER);
        fs::create_dir_all(&place)?;
        fs::rename(folder.join(FILE), place.join(format!("saves-{}.txt", all.last().map_or(0, |last| last.id))))?;
    }
    Ok((added, apart))
}

fn insert(change: &Transaction<'_>, saved: &SavedRevision) -> Result<(), Error> {
    change.execute(
        "INSERT INTO revision (id, plan, number, etag, text, saved, source, written) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, 1)",
        params![saved.id, saved.plan, saved.number, saved.hash, saved.text, saved.saved, saved.source],
    )?;
    change.execute(
        "INSERT INTO facts (revision, today, ledger, sheets) VALUES (?1, ?2, ?3, ?4)",
        params![saved.id, saved.today, saved.ledger, saved.sheets],
    )?;
    Ok(())
}

/// A line of the file. It begins with the line break, because one that was cut off may stand above.
fn line(saved: &SavedRevision) -> Result<String, Error> {
    Ok(format!("\n{}", serde_json::to_string(saved).map_err(std::io::Error::from)?))
}

/// The revisions in the file; a line that was cut off counts for nothing.
fn read(file: &mut File) -> Result<Vec<SavedRevision>, Error> {
    let mut text = Vec::new();
    file.read_to_end(&mut text)?;
    Ok(text.split(|byte| *byte == b'\n').filter_map(|line| serde_json::from_slice(line).ok()).collect())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop")]

    use super::*;

    #[test]
    fn what_a_copy_holds_is_dropped_and_a_line_cut_off_is_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        let saved = |id: i64| SavedRevision {
            id,
            plan: "one".into(),
            number: 1,
            hash: format!("{id}"),
            text: "# One\n".into(),
            saved: String::new(),
            source: "here".into(),
            today: String::new(),
            ledger: 0,
            sheets: "{}".into(),
        };
        let mut text: String = (1..=300).map(|id| line(&saved(id)).unwrap()).collect();
        text.push_str("\n{\"id\": 301, \"pl");
        fs::write(folder.path().join(FILE), text).unwrap();
        shorten(folder.path(), 250).unwrap();
        let left = read(&mut File::open(folder.path().join(FILE)).unwrap()).unwrap();
        assert_eq!(left.iter().map(|one| one.id).collect::<Vec<_>>(), (151..=300).collect::<Vec<_>>());
        assert_eq!(left[0], saved(151));
    }
}
