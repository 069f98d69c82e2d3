//! Saved states of a document, each with its number, what it was calculated from, and its results.

use std::collections::BTreeMap;

use engine::measure::Day;
use rusqlite::{Connection, OptionalExtension as _, Transaction, params};

use super::Store;
use super::plans::{Files, plan_of};
use super::results::{RecordedResults, unpack};
use crate::error::Error;
use crate::names::Name;

/// One saved state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Revision {
    /// Its number, from 1.
    pub number: u32,
    /// The hash of its text.
    pub hash: String,
    /// When it was saved, in universal time.
    pub saved: String,
    /// Whether it was saved on a page; otherwise it came from outside.
    pub here: bool,
    /// What moved since the revision before, in words; nothing when it was not calculated yet.
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

/// What a revision was calculated from, besides its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SavedInputs {
    /// The day.
    pub today: Day,
    /// The last line of the ledger there was; zero when there was none.
    pub ledger: i64,
    /// The hashes of the rate sheets' texts, by name.
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
    /// The hash of that.
    pub hash: &'a str,
    /// When, in universal time.
    pub saved: &'a str,
}

impl Store {
    /// Writes down what a save is about to put into the file, before it does. Gives the revision's number and row.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn intend(&self, text: Text<'_>, inputs: SavedInputs) -> Result<(u32, i64), Error> {
        let (number, row) =
            self.write(|change| insert(change, &plan_of(change, text.plan.as_str())?, text, "here", false, &inputs))?;
        self.write_again(row)?;
        Ok((number, row))
    }

    /// Writes a revision down a second time, beside the record.
    fn write_again(&self, row: i64) -> Result<(), Error> {
        let Some(place) = &self.place else { return Ok(()) };
        self.read(|connection| super::saves::add(&place.folder, connection, row))
    }

    /// Marks a revision as standing in its file, with its results when that could be calculated.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn written(&self, row: i64, results: Option<RecordedResults>) -> Result<(), Error> {
        self.write(|change| {
            change.execute("UPDATE revision SET written = 1 WHERE id = ?1", [row])?;
            results.map_or(Ok(()), |results| super::results::insert(change, row, &results))
        })
    }

    /// Takes in a text that was changed outside, unless it is the last revision already. What is taken in `in_passing` is so
    /// another time when another program holds the record.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn take_in(&self, text: Text<'_>, inputs: SavedInputs, in_passing: bool) -> Result<TakenIn, Error> {
        let known = self.read(|connection| last(connection, &plan_of(connection, text.plan.as_str())?, text.hash))?;
        if let Some((number, _, true)) = known {
            return Ok(TakenIn { number, fresh: None });
        }
        let take_in = |change: &Transaction<'_>| {
            let plan = plan_of(change, text.plan.as_str())?;
            if let Some((number, row, _)) = last(change, &plan, text.hash)? {
                // A save was cut short after the file was replaced: it counts.
                change.execute("UPDATE revision SET written = 1 WHERE id = ?1 AND written = 0", [row])?;
                return Ok(TakenIn { number, fresh: None });
            }
            let (number, row) = insert(change, &plan, text, "outside", true, &inputs)?;
            Ok(TakenIn { number, fresh: Some(row) })
        };
        let taken = if in_passing { self.write_in_passing(take_in) } else { self.write(take_in) }?;
        if let Some(row) = taken.fresh {
            self.write_again(row)?;
        }
        Ok(taken)
    }

    /// The saved states of a document, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn revisions(&self, plan: &Name) -> Result<Vec<Revision>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let mut all = connection.prepare_cached(
                "SELECT number, etag, saved, source, moved, numbers, lines_in, lines_out, program FROM revision LEFT JOIN results ON results.revision = revision.id WHERE plan = ?1 AND written = 1 ORDER BY number DESC",
            )?;
            let rows = all.query_map([plan], |row| {
                Ok(Revision {
                    number: row.get(0)?,
                    hash: row.get(1)?,
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

    /// The number of the revision with a hash, the last of that hash; else the last number there is, zero without any.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn number_of(&self, plan: &Name, hash: &str) -> Result<u32, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let marked: Option<u32> = connection
                .prepare_cached("SELECT max(number) FROM revision WHERE plan = ?1 AND etag = ?2 AND written = 1")?
                .query_row(params![plan, hash], |row| row.get(0))?;
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
    pub fn has_revisions(&self, plan: &Name) -> Result<bool, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            Ok(connection
                .query_row("SELECT EXISTS (SELECT 1 FROM revision WHERE plan = ?1)", [plan], |row| row.get(0))?)
        })
    }

    /// The text of one revision.
    ///
    /// # Errors
    /// When there is none of that number, or the record cannot be read.
    pub fn revision_text(&self, plan: &Name, number: u32) -> Result<String, Error> {
        let plan = plan.as_str();
        let name = plan;
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let text: Option<String> = connection
                .query_row("SELECT text FROM revision WHERE plan = ?1 AND number = ?2", params![plan, number], |row| {
                    row.get(0)
                })
                .optional()?;
            text.ok_or_else(|| no_revision(name, number))
        })
    }

    /// The text of a hash: whatever document had it, it is the same.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn text_of_hash(&self, hash: &str) -> Result<Option<String>, Error> {
        self.read(|connection| {
            Ok(connection
                .prepare_cached("SELECT text FROM revision WHERE etag = ?1 LIMIT 1")?
                .query_row([hash], |row| row.get(0))
                .optional()?)
        })
    }

    /// The hash of the text a document had at the end of a day; when it came into the record later, of its first text.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn stood_on(&self, plan: &Name, day: Day) -> Result<Option<String>, Error> {
        let (plan, day) = (plan.as_str(), day.iso());
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
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

    /// The row of a revision and what it was calculated from; nothing for revisions older than that was kept.
    ///
    /// # Errors
    /// When there is no such revision, or the record cannot be read.
    pub fn inputs(&self, plan: &Name, number: u32) -> Result<(i64, Option<SavedInputs>), Error> {
        let plan = plan.as_str();
        let name = plan;
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            type Found = (i64, Option<String>, Option<i64>, Option<String>);
            let found: Option<Found> = connection
                .prepare_cached("SELECT id, today, ledger, sheets FROM revision LEFT JOIN facts ON facts.revision = revision.id WHERE plan = ?1 AND number = ?2")?
                .query_row(params![plan, number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
                .optional()?;
            let (row, today, ledger, sheets) = found.ok_or_else(|| no_revision(name, number))?;
            let read = || {
                let sheets = serde_json::from_str(sheets.as_deref()?).ok()?;
                Some(SavedInputs { today: Day::parse(today.as_deref()?)?, ledger: ledger?, sheets })
            };
            Ok((row, read()))
        })
    }

    /// The results of a revision when it was saved; nothing when it was not calculated.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn recorded_results(
        &self,
        plan: &Name,
        number: u32,
    ) -> Result<Option<engine::render::compare::Results>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
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
    pub fn before(&self, plan: &Name, number: u32) -> Result<Option<u32>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            Ok(connection
                .prepare_cached("SELECT max(number) FROM revision WHERE plan = ?1 AND number < ?2 AND written = 1")?
                .query_row(params![plan, number], |row| row.get(0))?)
        })
    }

    /// Revisions not calculated yet that have their facts, oldest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn without_results(&self) -> Result<Vec<(Name, u32)>, Error> {
        self.read(|connection| {
            let mut all = connection.prepare(
                // By the indexes alone: the tables hold all texts and results there ever were.
                "WITH waiting AS MATERIALIZED (
                     SELECT revision FROM facts INDEXED BY facts_of
                     WHERE NOT EXISTS (SELECT 1 FROM results INDEXED BY results_of WHERE results.revision = facts.revision)
                 )
                 SELECT plan, number FROM waiting JOIN revision ON revision.id = waiting.revision WHERE written = 1 ORDER BY revision.id",
            )?;
            let files = Files::read(connection)?;
            let rows = all.query_map([], |row| Ok((files.name(&row.get::<_, String>(0)?), row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Every revision of every document that stands in its file, in the order they were saved.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn all_revisions(&self) -> Result<Vec<(Name, u32)>, Error> {
        self.read(|connection| {
            let mut all = connection.prepare("SELECT plan, number FROM revision WHERE written = 1 ORDER BY id")?;
            let files = Files::read(connection)?;
            let rows = all.query_map([], |row| Ok((files.name(&row.get::<_, String>(0)?), row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

fn no_revision(plan: &str, number: u32) -> Error {
    Error::missing(format!("`{plan}` has no revision {number}"), "look at its list of revisions")
}

/// The number and row of a plan's last revision, when it has this hash, and whether it is marked as standing in its file.
fn last(connection: &Connection, plan: &str, hash: &str) -> Result<Option<(u32, i64, bool)>, Error> {
    let last: Option<(u32, i64, String, bool)> = connection
        .prepare_cached(
            "SELECT number, id, etag, written FROM revision WHERE plan = ?1 AND (written = 1 OR etag = ?2) ORDER BY number DESC LIMIT 1",
        )?
        .query_row([plan, hash], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
        .optional()?;
    Ok(last.filter(|(_, _, last, _)| last == hash).map(|(number, row, _, written)| (number, row, written)))
}

fn insert(
    change: &Transaction<'_>,
    plan: &str,
    text: Text<'_>,
    source: &str,
    written: bool,
    inputs: &SavedInputs,
) -> Result<(u32, i64), Error> {
    let number: u32 =
        change
            .query_row("SELECT coalesce(max(number), 0) + 1 FROM revision WHERE plan = ?1", [plan], |row| row.get(0))?;
    change.execute(
        "INSERT INTO revision (plan, number, etag, text, saved, source, written) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![plan, number, text.hash, text.text, text.saved, source, written],
    )?;
    let row = change.last_insert_rowid();
    let sheets = serde_json::to_string(&inputs.sheets).unwrap_or_default();
    change.execute(
        "INSERT INTO facts (revision, today, ledger, sheets) VALUES (?1, ?2, ?3, ?4)",
        params![row, inputs.today.iso(), inputs.ledger, sheets],
    )?;
    Ok((number, row))
}
