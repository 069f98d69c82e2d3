//! What happened to each print of an edition, in lines that are only ever added.

use engine::Trouble;
use engine::measure::Day;
use engine::trade::edition::{Edition, Entry, Event};
use rusqlite::{Connection, TransactionBehavior, params};

use super::{Store, taken};
use crate::names::Name;
use crate::trouble::Refusal;

/// One line of the ledger.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Line {
    /// The print's number.
    pub number: u32,
    /// What happened: `sold`, `reserved`, `given away`, `destroyed`, `voided`.
    pub what: String,
    /// The day it happened, as in ISO 8601.
    pub when: String,
    /// To whom, or why.
    pub words: String,
    /// For how much, as written.
    pub amount: String,
}

/// A line to be added.
#[derive(Clone, Debug)]
pub struct NewLine {
    /// The print's number.
    pub number: u32,
    /// What happened.
    pub what: Event,
    /// The day it happened.
    pub when: Day,
    /// To whom, or why.
    pub words: String,
    /// For how much, as written.
    pub amount: String,
}

impl Store {
    /// The lines of a plan's ledger, oldest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn ledger(&self, plan: &Name) -> Result<Vec<Line>, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| lines(connection, &plan))
    }

    /// Adds a line, when the edition allows it: no number twice, none outside the edition. Of many at once for one
    /// number, one wins and the others are refused.
    ///
    /// # Errors
    /// When the number is not free, or the record cannot be written.
    pub fn add_line(&self, plan: &Name, size: u32, proofs: u32, line: NewLine, entered: &str) -> Result<(), Refusal> {
        let (plan, entered) = (plan.as_str().to_owned(), entered.to_owned());
        self.ask(move |connection| {
            let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let mut all = entries(&lines(&change, &plan)?);
            all.push(Entry { number: line.number, what: line.what });
            Edition::new(size, proofs, &all).map_err(taken)?;
            change.execute(
                "INSERT INTO ledger (plan, number, what, happened, words, amount, entered) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                params![plan, line.number, line.what.word(), line.when.iso(), line.words, line.amount, entered],
            )?;
            Ok(change.commit()?)
        })
    }
}

fn lines(connection: &Connection, plan: &str) -> Result<Vec<Line>, Refusal> {
    let mut all = connection
        .prepare_cached("SELECT number, what, happened, words, amount FROM ledger WHERE plan = ?1 ORDER BY id")?;
    let rows = all.query_map([plan], |row| {
        Ok(Line { number: row.get(0)?, what: row.get(1)?, when: row.get(2)?, words: row.get(3)?, amount: row.get(4)? })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Lines as the engine reads them.
pub(crate) fn entries(lines: &[Line]) -> Vec<Entry> {
    lines.iter().filter_map(|line| event(&line.what).ok().map(|what| Entry { number: line.number, what })).collect()
}

/// What a line says, from its word.
///
/// # Errors
/// When the word is none of the five.
pub(crate) fn event(word: &str) -> Result<Event, Trouble> {
    [Event::Sold, Event::Reserved, Event::Given, Event::Destroyed, Event::Voided]
        .into_iter()
        .find(|event| event.word() == word)
        .ok_or_else(|| {
            Trouble::new(
                format!("`{word}` is nothing that happens to a print"),
                "write sold, reserved, given away, destroyed or voided",
            )
        })
}
