//! The ledger written a second time, line by line into a file of its own beside the record: a sale that was acknowledged is
//! known, whatever becomes of the record. The record is what counts; this is only read to complete one that lost lines.

use std::io::Write as _;
use std::path::Path;

use fs_err as fs;
use rusqlite::{Connection, Transaction, params, params_from_iter, types::Value};

use crate::error::Error;
use crate::folder;

/// The file, a line of data for each line of the ledger.
pub(crate) const FILE: &str = ".makeready-ledger.txt";

/// A line as it is kept: every column of its row.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
struct Row(i64, String, String, u32, u32, String, String, String, String, String, String, String, String);

const COLUMNS: &str = "id, plan, kind, number, nth, what, happened, words, amount, place, entered, before, mark";

/// The number and mark of the last line in the file; nothing where there is none.
pub(super) fn end(folder: &Path) -> (i64, String) {
    read(folder).pop().map_or_else(Default::default, |row| (row.0, row.12))
}

/// Writes the lines of a record down that come after a number, and brings them to the disk. Gives the number of the last.
pub(super) fn add(folder: &Path, connection: &Connection, after: i64) -> Result<i64, Error> {
    let mut rows = connection.prepare_cached(&format!("SELECT {COLUMNS} FROM ledger WHERE id > ?1 ORDER BY id"))?;
    let rows = rows.query_map([after], |row| {
        Ok(Row(
            row.get(0)?,
            row.get(1)?,
            row.get(2)?,
            row.get(3)?,
            row.get(4)?,
            row.get(5)?,
            row.get(6)?,
            row.get(7)?,
            row.get(8)?,
            row.get(9)?,
            row.get(10)?,
            row.get(11)?,
            row.get(12)?,
        ))
    })?;
    let (mut text, mut last) = (String::new(), after);
    for row in rows {
        let row = row?;
        last = row.0;
        // Before it, because one that was cut off may stand above.
        text.push('\n');
        text.push_str(&serde_json::to_string(&row).map_err(std::io::Error::from)?);
    }
    if text.is_empty() {
        return Ok(last);
    }
    let path = folder.join(FILE);
    let fresh = !path.exists();
    let mut file = fs::OpenOptions::new().append(true).create(true).open(&path)?;
    file.write_all(text.as_bytes())?;
    file.sync_data()?;
    if fresh {
        folder::sync(folder)?;
    }
    Ok(last)
}

/// Begins the file with what a record holds, when what stands in it is of another ledger; that is put where copies lie.
pub(super) fn begin(folder: &Path, connection: &Connection) -> Result<i64, Error> {
    let (line, mark) = end(folder);
    let place = folder.join(super::kept_copies::FOLDER);
    fs::create_dir_all(&place)?;
    fs::rename(folder.join(FILE), place.join(format!("ledger-{line}-{}.txt", mark.get(..8).unwrap_or_default())))?;
    add(folder, connection, 0)
}

/// Writes the lines into a record that it lost: those that follow its last one. Gives how many there were, and how many more
/// stand in the file that do not follow.
///
/// # Errors
/// When the record cannot be written.
pub(super) fn complete(change: &Transaction<'_>, folder: &Path) -> Result<(usize, usize), Error> {
    let last: i64 = change.query_row("SELECT coalesce(max(id), 0) FROM ledger", [], |row| row.get(0))?;
    let (mut added, mut left) = (0, 0);
    for row in read(folder).into_iter().filter(|row| row.0 > last) {
        let mut before =
            change.prepare_cached("SELECT coalesce((SELECT mark FROM ledger ORDER BY id DESC LIMIT 1), '')")?;
        let before: String = before.query_row([], |row| row.get(0))?;
        if before != row.11 || left > 0 {
            left += 1;
            continue;
        }
        let texts = [row.5, row.6, row.7, row.8, row.9, row.10, row.11, row.12].map(Value::Text);
        let head = [Value::Integer(row.0), Value::Text(row.1), Value::Text(row.2), row.3.into(), row.4.into()];
        change.execute(
            &format!("INSERT INTO ledger ({COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)"),
            params_from_iter(head.into_iter().chain(texts)),
        )?;
        added += 1;
    }
    Ok((added, left))
}

/// The lines a record lacks of those in the file; nothing when it holds the last.
pub(super) fn lacking(folder: &Path, connection: &Connection) -> rusqlite::Result<Option<i64>> {
    let (line, mark) = end(folder);
    let held = "SELECT ?1 = 0 OR EXISTS (SELECT 1 FROM ledger WHERE id = ?1 AND mark = ?2)";
    if connection.query_row(held, params![line, mark], |row| row.get(0))? {
        return Ok(None);
    }
    let last: i64 = connection.query_row("SELECT coalesce(max(id), 0) FROM ledger", [], |row| row.get(0))?;
    Ok(Some(line - last))
}

/// The lines in the file; one that was cut off counts for nothing.
fn read(folder: &Path) -> Vec<Row> {
    let text = fs::read_to_string(folder.join(FILE)).unwrap_or_default();
    let mut rows: Vec<Row> = Vec::new();
    for row in text.lines().filter_map(|line| serde_json::from_str::<Row>(line).ok()) {
        // Two programs at work at once may both write a line down.
        if rows.last().is_none_or(|last| last.0 < row.0) {
            rows.push(row);
        }
    }
    rows
}
