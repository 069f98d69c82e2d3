//! Saved states of a document, each with its number, what it was worked out on, and what it came to.

use std::collections::BTreeMap;

use engine::measure::Day;
use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior, params};

use super::Store;
use super::results::{Came, unpack};
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
    /// Whether it was saved on a page; otherwise it came from outside.
    pub here: bool,
    /// What moved since the revision before, in words; nothing when it was not worked out yet.
    pub moved: Option<String>,
    /// How many numbers moved.
    pub numbers: u32,
    /// Lines of text that came.
    pub lines_in: u32,
    /// Lines of text that went.
    pub lines_out: u32,
    /// The version of the program that worked it out.
    pub program: Option<String>,
}

/// What a revision was worked out on, besides its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saw {
    /// The day.
    pub today: Day,
    /// The last line of the ledger there was; nought when there was none.
    pub ledger: i64,
    /// The marks of the rate sheets' texts, by name.
    pub sheets: BTreeMap<String, String>,
}

/// A text taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TakenIn {
    /// The number of its revision.
    pub number: u32,
    /// The row to keep its results under, when it is a new one.
    pub fresh: Option<i64>,
}

/// A text to be kept as a revision.
#[derive(Clone, Copy, Debug)]
pub struct Text<'a> {
    /// The document.
    pub plan: &'a Name,
    /// What it says.
    pub text: &'a str,
    /// The mark of that.
    pub etag: &'a str,
    /// When, in universal time.
    pub saved: &'a str,
}

struct Owned {
    plan: String,
    text: String,
    etag: String,
    saved: String,
}

impl From<Text<'_>> for Owned {
    fn from(from: Text<'_>) -> Self {
        Self {
            plan: from.plan.as_str().to_owned(),
            text: from.text.to_owned(),
            etag: from.etag.to_owned(),
            saved: from.saved.to_owned(),
        }
    }
}

impl Store {
    /// Writes down what a save is about to put into the file, before it does. Gives the revision's number and row.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn intend(&self, text: Text<'_>, saw: Saw) -> Result<(u32, i64), Refusal> {
        let text = Owned::from(text);
        self.ask(move |connection| insert(connection, &text, "here", false, &saw))
    }

    /// Marks a revision as standing in its file, with what it came to when that could be worked out.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn written(&self, row: i64, came: Option<Came>) -> Result<(), Refusal> {
        self.ask(move |connection| {
            let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            change.execute("UPDATE revision SET written = 1 WHERE id = ?1", [row])?;
            if let Some(came) = came {
                super::results::insert(&change, row, &came)?;
            }
            Ok(change.commit()?)
        })
    }

    /// Takes in a text that was changed outside, unless it is the last revision already.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn take_in(&self, text: Text<'_>, saw: Saw) -> Result<TakenIn, Refusal> {
        let text = Owned::from(text);
        self.ask(move |connection| {
            let last: Option<(i64, u32, String, bool)> = connection
                .prepare_cached(
                    "SELECT id, number, etag, written FROM revision WHERE plan = ?1 AND (written = 1 OR etag = ?2) ORDER BY number DESC LIMIT 1",
                )?
                .query_row([&text.plan, &text.etag], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
                .optional()?;
            match last {
                Some((row, number, last, written)) if last == text.etag => {
                    if !written {
                        // A save was cut short after the file was replaced: it counts.
                        connection.execute("UPDATE revision SET written = 1 WHERE id = ?1", [row])?;
                    }
                    Ok(TakenIn { number, fresh: None })
                }
                _ => insert(connection, &text, "outside", true, &saw)
                    .map(|(number, row)| TakenIn { number, fresh: Some(row) }),
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
                "SELECT number, etag, saved, source, moved, numbers, lines_in, lines_out, program FROM revision LEFT JOIN results ON results.revision = revision.id WHERE plan = ?1 AND written = 1 ORDER BY number DESC",
            )?;
            let rows = all.query_map([plan], |row| {
                Ok(Revision {
                    number: row.get(0)?,
                    etag: row.get(1)?,
                    saved: row.get(2)?,
                    here: row.get::<_, String>(3)? == "here",
                    moved: row.get(4)?,
                    numbers: row.get::<_, Option<u32>>(5)?.unwrap_or(0),
                    lines_in: row.get::<_, Option<u32>>(6)?.unwrap_or(0),
                    lines_out: row.get::<_, Option<u32>>(7)?.unwrap_or(0),
                    program: row.get(8)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The number of the revision with a mark, the last of that mark; else the last number there is, nought without any.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn number_of(&self, plan: &Name, etag: &str) -> Result<u32, Refusal> {
        let (plan, etag) = (plan.as_str().to_owned(), etag.to_owned());
        self.ask(move |connection| {
            let marked: Option<u32> = connection
                .prepare_cached("SELECT max(number) FROM revision WHERE plan = ?1 AND etag = ?2 AND written = 1")?
                .query_row(params![plan, etag], |row| row.get(0))?;
            if let Some(number) = marked {
                return Ok(number);
            }
            Ok(connection
                .prepare_cached("SELECT coalesce(max(number), 0) FROM revision WHERE plan = ?1 AND written = 1")?
                .query_row([plan], |row| row.get(0))?)
        })
    }

    /// Whether a document of that name ever had a revision.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn has_revisions(&self, plan: &Name) -> Result<bool, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            Ok(connection
                .query_row("SELECT EXISTS (SELECT 1 FROM revision WHERE plan = ?1)", [plan], |row| row.get(0))?)
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
            text.ok_or_else(|| no_revision(&plan, number))
        })
    }

    /// The text a document had under a mark.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn marked_text(&self, plan: &str, etag: &str) -> Result<Option<String>, Refusal> {
        let (plan, etag) = (plan.to_owned(), etag.to_owned());
        self.ask(move |connection| {
            Ok(connection
                .prepare_cached("SELECT text FROM revision WHERE plan = ?1 AND etag = ?2 LIMIT 1")?
                .query_row(params![plan, etag], |row| row.get(0))
                .optional()?)
        })
    }

    /// The mark of the text a document had at the end of a day; when it came into the record later, of its first text.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn stood_on(&self, plan: &Name, day: Day) -> Result<Option<String>, Refusal> {
        let (plan, day) = (plan.as_str().to_owned(), day.iso());
        self.ask(move |connection| {
            let then: Option<String> = connection
                .prepare_cached("SELECT etag FROM revision WHERE plan = ?1 AND written = 1 AND substr(saved, 1, 10) <= ?2 ORDER BY number DESC LIMIT 1")?
                .query_row([&plan, &day], |row| row.get(0))
                .optional()?;
            if then.is_some() {
                return Ok(then);
            }
            Ok(connection
                .prepare_cached("SELECT etag FROM revision WHERE plan = ?1 AND written = 1 ORDER BY number LIMIT 1")?
                .query_row([&plan], |row| row.get(0))
                .optional()?)
        })
    }

    /// The row of a revision and what it was worked out on; nothing for revisions older than that was kept.
    ///
    /// # Errors
    /// When there is no such revision, or the record cannot be read.
    pub fn saw(&self, plan: &Name, number: u32) -> Result<(i64, Option<Saw>), Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            type Found = (i64, Option<String>, Option<i64>, Option<String>);
            let found: Option<Found> = connection
                .prepare_cached("SELECT id, today, ledger, sheets FROM revision LEFT JOIN facts ON facts.revision = revision.id WHERE plan = ?1 AND number = ?2")?
                .query_row(params![plan, number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
                .optional()?;
            let (row, today, ledger, sheets) = found.ok_or_else(|| no_revision(&plan, number))?;
            let read = || {
                let sheets = serde_json::from_str(sheets.as_deref()?).ok()?;
                Some(Saw { today: Day::parse(today.as_deref()?)?, ledger: ledger?, sheets })
            };
            Ok((row, read()))
        })
    }

    /// What a revision came to when it was saved; nothing when it was not worked out.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn came_to(&self, plan: &Name, number: u32) -> Result<Option<engine::compare::Results>, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            let packed: Option<Vec<u8>> = connection
                .prepare_cached("SELECT packed FROM results JOIN revision ON revision.id = results.revision WHERE plan = ?1 AND number = ?2")?
                .query_row(params![plan, number], |row| row.get(0))
                .optional()?;
            packed.map(|packed| unpack(&packed)).transpose()
        })
    }

    /// The last revision below a number that stands in its file, if there is one.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn before(&self, plan: &Name, number: u32) -> Result<Option<u32>, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            Ok(connection
                .prepare_cached("SELECT max(number) FROM revision WHERE plan = ?1 AND number < ?2 AND written = 1")?
                .query_row(params![plan, number], |row| row.get(0))?)
        })
    }

    /// Revisions not worked out yet that have their facts, oldest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn not_worked_out(&self) -> Result<Vec<(String, u32)>, Refusal> {
        self.ask(|connection| {
            let mut all = connection.prepare(
                // By the indexes alone: the tables hold all texts and results there ever were.
                "WITH waiting AS MATERIALIZED (
                     SELECT revision FROM facts INDEXED BY facts_of
                     WHERE NOT EXISTS (SELECT 1 FROM results INDEXED BY results_of WHERE results.revision = facts.revision)
                 )
                 SELECT plan, number FROM waiting JOIN revision ON revision.id = waiting.revision WHERE written = 1 ORDER BY revision.id",
            )?;
            let rows = all.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Every revision of every document that stands in its file, in the order they were saved.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn all_revisions(&self) -> Result<Vec<(String, u32)>, Refusal> {
        self.ask(|connection| {
            let mut all = connection.prepare("SELECT plan, number FROM revision WHERE written = 1 ORDER BY id")?;
            let rows = all.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

fn no_revision(plan: &str, number: u32) -> Refusal {
    Refusal::missing(format!("`{plan}` has no revision {number}"), "look at its list of revisions")
}

fn insert(
    connection: &mut Connection,
    text: &Owned,
    source: &str,
    written: bool,
    saw: &Saw,
) -> Result<(u32, i64), Refusal> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let number: u32 =
        change.query_row("SELECT coalesce(max(number), 0) + 1 FROM revision WHERE plan = ?1", [&text.plan], |row| {
            row.get(0)
        })?;
    change.execute(
        "INSERT INTO revision (plan, number, etag, text, saved, source, written) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![text.plan, number, text.etag, text.text, text.saved, source, written],
    )?;
    let row = change.last_insert_rowid();
    let sheets = serde_json::to_string(&saw.sheets).unwrap_or_default();
    change.execute(
        "INSERT INTO facts (revision, today, ledger, sheets) VALUES (?1, ?2, ?3, ?4)",
        params![row, saw.today.iso(), saw.ledger, sheets],
    )?;
    change.commit()?;
    Ok((number, row))
}
