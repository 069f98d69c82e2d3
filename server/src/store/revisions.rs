//! Saved states of a document, each with its number.

use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior, params};

use super::Store;
use crate::names::Name;
use crate::trouble::Refusal;

/// One saved state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Revision {
    /// Its number, from 1.
    pub number: u32,
    /// The mark of its text.
    pub etag: String,
    /// When it was saved, in universal time.
    pub saved: String,
}

impl Store {
    /// Writes down what a save is about to put into the file, before it does. Gives the revision's number and row.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn intend(&self, plan: &Name, text: &str, etag: &str, saved: &str) -> Result<(u32, i64), Refusal> {
        let (plan, text, etag, saved) = (plan.as_str().to_owned(), text.to_owned(), etag.to_owned(), saved.to_owned());
        self.ask(move |connection| insert(connection, &plan, &text, &etag, &saved, "here", false))
    }

    /// Marks a revision as standing in its file.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn written(&self, row: i64) -> Result<(), Refusal> {
        self.ask(move |connection| {
            Ok(connection.execute("UPDATE revision SET written = 1 WHERE id = ?1", [row]).map(drop)?)
        })
    }

    /// Takes in a text that was changed outside, unless it is the last revision already. Gives the last revision.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn take_in(&self, plan: &Name, text: &str, etag: &str, saved: &str) -> Result<u32, Refusal> {
        let (plan, text, etag, saved) = (plan.as_str().to_owned(), text.to_owned(), etag.to_owned(), saved.to_owned());
        self.ask(move |connection| {
            let last: Option<(i64, u32, String, bool)> = connection
                .query_row(
                    "SELECT id, number, etag, written FROM revision WHERE plan = ?1 AND (written = 1 OR etag = ?2) ORDER BY number DESC LIMIT 1",
                    [&plan, &etag],
                    |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)),
                )
                .optional()?;
            match last {
                Some((row, number, last, written)) if last == etag => {
                    if !written {
                        // A save was cut short after the file was replaced: it counts.
                        connection.execute("UPDATE revision SET written = 1 WHERE id = ?1", [row])?;
                    }
                    Ok(number)
                }
                _ => insert(connection, &plan, &text, &etag, &saved, "outside", true).map(|(number, _)| number),
            }
        })
    }

    /// The saved states of a document, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn revisions(&self, plan: &Name) -> Result<Vec<Revision>, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            let mut all = connection.prepare_cached(
                "SELECT number, etag, saved FROM revision WHERE plan = ?1 AND written = 1 ORDER BY number DESC",
            )?;
            let rows = all
                .query_map([plan], |row| Ok(Revision { number: row.get(0)?, etag: row.get(1)?, saved: row.get(2)? }))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The text of one revision.
    ///
    /// # Errors
    /// When there is none of that number, or the record cannot be read.
    pub fn revision_text(&self, plan: &Name, number: u32) -> Result<String, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            let text: Option<String> = connection
                .query_row("SELECT text FROM revision WHERE plan = ?1 AND number = ?2", params![plan, number], |row| {
                    row.get(0)
                })
                .optional()?;
            text.ok_or_else(|| {
                Refusal::missing(format!("`{plan}` has no revision {number}"), "look at its list of revisions")
            })
        })
    }
}

fn insert(
    connection: &mut Connection,
    plan: &str,
    text: &str,
    etag: &str,
    saved: &str,
    source: &str,
    written: bool,
) -> Result<(u32, i64), Refusal> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let number: u32 =
        change
            .query_row("SELECT coalesce(max(number), 0) + 1 FROM revision WHERE plan = ?1", [plan], |row| row.get(0))?;
    change.execute(
        "INSERT INTO revision (plan, number, etag, text, saved, source, written) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![plan, number, etag, text, saved, source, written],
    )?;
    let row = change.last_insert_rowid();
    change.commit()?;
    Ok((number, row))
}
