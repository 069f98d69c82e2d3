//! What happened to each print of an edition, in lines that are only ever added and that a chain of marks holds together.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use data_encoding::HEXLOWER;
use engine::Message;
use engine::measure::{Currency, Day, Money};
use engine::trade::edition::{Edition, Entry, Event, Print};
use rusqlite::{Connection, Row, Transaction, params};
use sha2::{Digest as _, Sha256};

use super::plans::{Files, plan_of};
use super::{Store, taken};
use crate::amount::price;
use crate::error::Error;
use crate::names::Name;

/// One line of the ledger.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Line {
    /// The line's number in the whole notebook's ledger.
    pub line: i64,
    /// The print's number, or the proof's.
    pub number: u32,
    /// The print as it is written on it: `4`, `AP 1`.
    pub print: String,
    /// What happened: `printed`, `sold`, `voided`.
    pub what: String,
    /// The day it happened, as in ISO 8601.
    pub when: String,
    /// To whom, by whom, or why.
    pub words: String,
    /// For how much: `4200.00 USD`, or as it was written before amounts were read.
    pub amount: String,
    /// Where it is now.
    pub place: String,
    /// When the line was written, in universal time.
    pub entered: String,
    /// The mark of this line, made from all of it and the mark of the line before.
    pub mark: String,
}

impl Line {
    /// For how much, as it is shown: `$4,200.00`.
    pub fn amount_shown(&self) -> String {
        let read = self.amount.split_once(' ').and_then(|(amount, code)| price(amount, Currency::of(code)?).ok());
        read.map_or_else(|| self.amount.clone(), |money| money.to_string())
    }

    /// For how much and in which currency; an amount that was written before amounts were read stands as it is, without one.
    pub(crate) fn amount_and_currency(&self) -> (&str, &str) {
        let read = self.amount.split_once(' ').filter(|(_, code)| Currency::of(code).is_some());
        read.unwrap_or((&self.amount, ""))
    }

    /// Which print it is about.
    pub fn of(&self) -> Print {
        if self.print.starts_with("AP") { Print::Proof(self.number) } else { Print::Number(self.number) }
    }
}

/// The number of the last line of every ledger, by the name of its plan.
pub(crate) type Ends = HashMap<String, i64>;

/// The ends of the ledgers as they were when last asked for.
#[derive(Default)]
pub(super) struct Known {
    ends: Arc<Ends>,
    /// The last line of all.
    last: i64,
    /// The last name that was given to a plan.
    names: i64,
}

/// What happened to the prints of every plan, by its name.
pub(crate) type Ledgers = HashMap<String, Vec<Entry>>;

/// Which print a line is to be about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// This one.
    Print(Print),
    /// The lowest free number.
    Next,
}

/// A line to be added.
#[derive(Clone, Debug)]
pub struct NewLine {
    /// The print.
    pub which: Which,
    /// What happened.
    pub what: Event,
    /// The day it happened.
    pub when: Day,
    /// To whom, by whom, or why.
    pub words: String,
    /// For how much, as written; nothing when that is not said.
    pub amount: String,
    /// Where it is now.
    pub place: String,
}

/// What a line is checked against before it is written.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// Numbered prints of the edition.
    pub size: u32,
    /// Artist's proofs.
    pub proofs: u32,
    /// The day it is.
    pub today: Day,
    /// The currency of amounts that name none.
    pub currency: Currency,
}

impl Store {
    /// The lines of a plan's ledger, oldest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn ledger(&self, plan: &Name) -> Result<Vec<Line>, Error> {
        self.read(|connection| lines(connection, &plan_of(connection, plan.as_str())?))
    }

    /// Every ledger as the engine reads it, by the name of its plan, with the lines of a day and before.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn ledgers(&self, on: Day) -> Result<Ledgers, Error> {
        self.read(|connection| {
            let mut all = connection
                .prepare("SELECT plan, kind, number, what FROM ledger WHERE happened <= ?1 ORDER BY plan, id")?;
            let mut rows = all.query([on.iso()])?;
            let files = Files::read(connection)?;
            let mut ledgers = Ledgers::new();
            while let Some(row) = rows.next()? {
                let (kind, number, what): (String, u32, String) = (row.get(1)?, row.get(2)?, row.get(3)?);
                let Ok(what) = event(&what) else { continue };
                let print = if kind == "proof" { Print::Proof(number) } else { Print::Number(number) };
                let entry = Entry { print, what };
                let plan: String = row.get(0)?;
                if let Some(file) = files.file(&plan) {
                    ledgers.entry(file).or_default().push(entry);
                }
            }
            Ok(ledgers)
        })
    }

    /// The last line of every ledger, by the name of its plan.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn ledger_ends(&self) -> Result<Arc<Ends>, Error> {
        self.read(|connection| {
            let mut ends = self.ends.lock();
            let names: i64 =
                connection.prepare_cached("SELECT coalesce(max(id), 0) FROM named")?.query_row([], |row| row.get(0))?;
            if ends.names != names {
                *ends = Known { names, ..Known::default() };
            }
            // Lines are only ever added, each with a higher number than any before.
            let known = ends.last;
            let mut since = connection.prepare_cached(if known == 0 {
                "SELECT plan, max(id) FROM ledger WHERE id > ?1 GROUP BY plan"
            } else {
                "SELECT plan, id FROM ledger WHERE id > ?1 ORDER BY id"
            })?;
            let mut rows = since.query([known])?;
            let mut files = None;
            while let Some(row) = rows.next()? {
                if files.is_none() {
                    files = Some(Files::read(connection)?);
                }
                let (plan, line): (String, i64) = (row.get(0)?, row.get(1)?);
                ends.last = ends.last.max(line);
                if let Some(file) = files.as_ref().and_then(|files| files.file(&plan)) {
                    Arc::make_mut(&mut ends.ends).insert(file, line);
                }
            }
            Ok(ends.ends.clone())
        })
    }

    /// Adds a line, when the edition allows it: no number twice, none outside the edition, nothing before it happened.
    /// Of many at once for one number, one wins and the others are refused. Gives the print.
    ///
    /// # Errors
    /// When the number is not free or reserved for another, the day cannot be, the amount is not money, or the record cannot be written.
    pub fn add_line(&self, plan: &Name, terms: Terms, line: NewLine, entered: &str) -> Result<Print, Error> {
        let amount = match line.amount.trim() {
            "" => String::new(),
            text => written_amount(price(text, terms.currency).map_err(Error::Unusable)?),
        };
        self.write(|change| {
            let plan = plan_of(change, plan.as_str())?;
            let before = lines(change, &plan)?;
            let mut all = entries(&before, None);
            let print = match line.which {
                Which::Print(print) => print,
                Which::Next => next(terms, &all)?,
            };
            all.push(Entry { print, what: line.what });
            Edition::new(terms.size, terms.proofs, &all).map_err(taken)?;
            let own = || before.iter().filter(|one| one.of() == print);
            in_time(terms, print, line.when, own().next_back())?;
            promised(print, &line, own())?;
            let nth = u32::try_from(own().count()).unwrap_or(u32::MAX).saturating_add(1);
            insert(change, &plan, print, nth, &line, &amount, entered)?;
            Ok(print)
        })
    }

    /// Follows the chain of marks through the whole ledger. Gives how many lines it holds, or the first line that is not
    /// as it was written.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn follow_chain(&self) -> Result<Result<usize, i64>, Error> {
        self.read(chain)
    }
}

/// Follows the chain: how many lines it holds, or the first that is not as it was written.
pub(super) fn chain(connection: &Connection) -> Result<Result<usize, i64>, Error> {
    let mut all = connection.prepare(
        "SELECT id, kind, number, what, happened, words, amount, place, entered, mark, plan, before FROM ledger ORDER BY id",
    )?;
    let rows = all.query_map([], |row| Ok((read(row)?, row.get::<_, String>(10)?, row.get::<_, String>(11)?)))?;
    let (mut last, mut count) = (String::new(), 0);
    for row in rows {
        let (line, plan, before) = row?;
        if before != last || line.mark != mark(&before, &plan, &line) {
            return Ok(Err(line.line));
        }
        last = line.mark;
        count += 1;
    }
    Ok(Ok(count))
}

/// The lowest free number.
fn next(terms: Terms, entries: &[Entry]) -> Result<Print, Error> {
    let edition = Edition::new(terms.size, terms.proofs, entries).map_err(taken)?;
    edition.next().map(Print::Number).ok_or_else(|| {
        taken(Message::new(
            format!("all {} prints of this edition are gone", terms.size),
            "look at the ledger: a reserved one may still come free",
        ))
    })
}

/// A line says what happened: not what will, and not before the line above it.
fn in_time(terms: Terms, print: Print, when: Day, last: Option<&Line>) -> Result<(), Error> {
    if when > terms.today {
        return Err(Error::Unusable(Message::new(
            format!("{when} is still to come"),
            "a ledger says what happened: write it on the day",
        )));
    }
    match last.and_then(|last| Day::parse(&last.when)) {
        Some(last) if when < last => Err(Error::Unusable(Message::new(
            format!("the last line of {print} is of {last}, and this one would be of {when}"),
            "write what happened in its order; to put an earlier line right, void back to it first",
        ))),
        _ => Ok(()),
    }
}

/// A print promised to one person is sold or given to no other without a word.
fn promised<'a>(print: Print, line: &NewLine, own: impl DoubleEndedIterator<Item = &'a Line>) -> Result<(), Error> {
    let mut story: Vec<&Line> = Vec::new();
    for one in own {
        if one.what == Event::Voided.word() {
            story.pop();
        } else {
            story.push(one);
        }
    }
    let held = [Event::Reserved, Event::Sold, Event::Given, Event::Returned].map(Event::word);
    let last = story.into_iter().rev().find(|one| held.contains(&one.what.as_str()));
    let Some(reserved) = last.filter(|last| last.what == Event::Reserved.word() && !last.words.is_empty()) else {
        return Ok(());
    };
    if !matches!(line.what, Event::Sold | Event::Given) || is_one_person(&reserved.words, &line.words) {
        return Ok(());
    }
    let to = if line.words.is_empty() { "no one by name".to_owned() } else { line.words.clone() };
    Err(taken(Message::new(
        format!("{print} is reserved for {}, and this line gives it to {to}", reserved.words),
        "write the name it is reserved for; or, when the promise is over, void the reservation first",
    )))
}

/// Whether two lines name the same person: one name begins with the other, as in `J. Ames, until the new year`.
fn is_one_person(one: &str, other: &str) -> bool {
    let plain = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let begins = |whole: &str, part: &str| {
        !part.is_empty() && whole.strip_prefix(part).is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
    };
    let (one, other) = (plain(one), plain(other));
    begins(&one, &other) || begins(&other, &one)
}

/// An amount as the ledger keeps it: `4200.00 USD`.
fn written_amount(amount: Money) -> String {
    let places = amount.currency.places as usize;
    format!("{:.places$} {}", amount.rounded().amount, amount.currency.code)
}

fn insert(
    change: &Transaction<'_>,
    plan: &str,
    print: Print,
    nth: u32,
    line: &NewLine,
    amount: &str,
    entered: &str,
) -> Result<(), Error> {
    let (kind, number) = match print {
        Print::Number(number) => ("print", number),
        Print::Proof(number) => ("proof", number),
    };
    let last: Option<(i64, String)> = rusqlite::OptionalExtension::optional(change.query_row(
        "SELECT id, mark FROM ledger ORDER BY id DESC LIMIT 1",
        [],
        |row| Ok((row.get(0)?, row.get(1)?)),
    ))?;
    let (id, before) = last.unwrap_or_default();
    let mut written = Line {
        line: id + 1,
        number,
        print: written(kind, number),
        what: line.what.word().to_owned(),
        when: line.when.iso(),
        words: line.words.clone(),
        amount: amount.to_owned(),
        place: line.place.clone(),
        entered: entered.to_owned(),
        mark: String::new(),
    };
    written.mark = mark(&before, plan, &written);
    change.execute(
        "INSERT INTO ledger (id, plan, kind, number, nth, what, happened, words, amount, place, entered, before, mark) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
        params![written.line, plan, kind, number, nth, written.what, written.when, written.words, written.amount, written.place, written.entered, before, written.mark],
    )?;
    Ok(())
}

/// The mark of a line: anything changed in it, or in any line before it, gives another.
fn mark(before: &str, plan: &str, line: &Line) -> String {
    let all =
        [before, plan, &line.print, &line.what, &line.when, &line.words, &line.amount, &line.place, &line.entered];
    let mut digest = Sha256::new();
    for part in all {
        digest.update((part.len() as u64).to_be_bytes());
        digest.update(part.as_bytes());
    }
    HEXLOWER.encode(&digest.finalize())
}

fn written(kind: &str, number: u32) -> String {
    if kind == "proof" { format!("AP {number}") } else { number.to_string() }
}

fn read(row: &Row<'_>) -> rusqlite::Result<Line> {
    let (kind, number): (String, u32) = (row.get(1)?, row.get(2)?);
    Ok(Line {
        line: row.get(0)?,
        number,
        print: written(&kind, number),
        what: row.get(3)?,
        when: row.get(4)?,
        words: row.get(5)?,
        amount: row.get(6)?,
        place: row.get(7)?,
        entered: row.get(8)?,
        mark: row.get(9)?,
    })
}

fn lines(connection: &Connection, plan: &str) -> Result<Vec<Line>, Error> {
    let mut all = connection.prepare_cached(
        "SELECT id, kind, number, what, happened, words, amount, place, entered, mark FROM ledger WHERE plan = ?1 ORDER BY id",
    )?;
    let rows = all.query_map([plan], read)?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// A print as it is written: `4`, or `AP 1` for a proof.
pub(crate) fn print_label(print: Print) -> String {
    match print {
        Print::Number(number) => number.to_string(),
        Print::Proof(number) => format!("AP {number}"),
    }
}

/// Lines as the engine reads them, those of a day and before when one is given. A print's lines rise by day, so what is
/// left out is always the end of its story.
pub(crate) fn entries(lines: &[Line], on: Option<Day>) -> Vec<Entry> {
    let on = on.map(Day::iso);
    lines
        .iter()
        .filter(|line| on.as_ref().is_none_or(|on| line.when <= *on))
        .filter_map(|line| event(&line.what).ok().map(|what| Entry { print: line.of(), what }))
        .collect()
}

/// What a line says, from its word.
///
/// # Errors
/// When the word is none a ledger knows.
pub(crate) fn event(word: &str) -> Result<Event, Message> {
    Event::of(word).ok_or_else(|| {
        let all: Vec<_> = Event::ALL.iter().map(|event| event.word()).collect();
        Message::new(format!("`{word}` is nothing that happens to a print"), format!("write {}", all.join(", ")))
    })
}

/// Lines written before the ledger had its chain are carried over, in their order.
pub(super) fn carry_over(change: &Transaction<'_>) -> Result<(), Error> {
    type Old = (String, u32, String, String, String, String, String);
    let rows: Vec<Old> = {
        let mut all = change
            .prepare("SELECT plan, number, what, happened, words, amount, entered FROM ledger_before ORDER BY id")?;
        let rows = all.query_map([], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?, row.get(5)?, row.get(6)?))
        })?;
        rows.collect::<Result<_, _>>()?
    };
    let mut counted: BTreeMap<(String, u32), u32> = BTreeMap::new();
    for (plan, number, what, happened, words, amount, entered) in rows {
        let nth = counted.entry((plan.clone(), number)).or_default();
        *nth += 1;
        let when = Day::parse(&happened)
            .ok_or_else(|| Error::storage(format!("a ledger line has the day `{happened}`"), "tell us about it"))?;
        let which = Which::Print(Print::Number(number));
        let what = event(&what).map_err(taken)?;
        let line = NewLine { which, what, when, words, amount: String::new(), place: String::new() };
        insert(change, &plan, Print::Number(number), *nth, &line, &amount, &entered)?;
    }
    change.execute_batch("DROP TABLE ledger_before")?;
    Ok(())
}
