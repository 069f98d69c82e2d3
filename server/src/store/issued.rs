//! What each shop was handed: the revision and the lines it read.

use rusqlite::{TransactionBehavior, params};

use super::Store;
use crate::names::Name;
use crate::trouble::Refusal;

/// A ticket that was handed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issued {
    /// Its number among those of this shop and plan, from 1.
    pub number: u32,
    /// What the shop was called.
    pub shop: String,
    /// The plan's revision.
    pub revision: u32,
    /// The mark of the plan's text.
    pub etag: String,
    /// What the shop read, line by line.
    pub lines: Vec<String>,
    /// Words of whoever handed it over.
    pub words: String,
    /// When, in universal time.
    pub handed: String,
}

/// A ticket to be handed over.
#[derive(Clone, Debug)]
pub struct NewIssue {
    /// What the shop is called.
    pub shop: String,
    /// The plan's revision.
    pub revision: u32,
    /// The mark of the plan's text.
    pub etag: String,
    /// What the shop reads, line by line.
    pub lines: Vec<String>,
    /// Words of whoever hands it over.
    pub words: String,
}

impl Store {
    /// What a shop was handed of a plan, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn issued(&self, plan: &Name, role: &str) -> Result<Vec<Issued>, Refusal> {
        let (plan, role) = (plan.as_str().to_owned(), role.to_owned());
        self.ask(move |connection| {
            let mut all = connection.prepare_cached(
                "SELECT number, shop, revision, etag, lines, words, handed FROM issued WHERE plan = ?1 AND role = ?2 ORDER BY number DESC",
            )?;
            let rows = all.query_map([plan, role], |row| {
                let lines: String = row.get(4)?;
                Ok(Issued {
                    number: row.get(0)?,
                    shop: row.get(1)?,
                    revision: row.get(2)?,
                    etag: row.get(3)?,
                    lines: serde_json::from_str(&lines).unwrap_or_default(),
                    words: row.get(5)?,
                    handed: row.get(6)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Writes down that a ticket was handed over. Gives its number.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn issue(&self, plan: &Name, role: &str, issue: NewIssue, handed: &str) -> Result<u32, Refusal> {
        let (plan, role, handed) = (plan.as_str().to_owned(), role.to_owned(), handed.to_owned());
        self.ask(move |connection| {
            let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
            let number: u32 = change.query_row(
                "SELECT coalesce(max(number), 0) + 1 FROM issued WHERE plan = ?1 AND role = ?2",
                [&plan, &role],
                |row| row.get(0),
            )?;
            let lines = serde_json::to_string(&issue.lines).unwrap_or_else(|_| "[]".to_owned());
            change.execute(
                "INSERT INTO issued (plan, role, number, shop, revision, etag, lines, words, handed) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                params![plan, role, number, issue.shop, issue.revision, issue.etag, lines, issue.words, handed],
            )?;
            change.commit()?;
            Ok(number)
        })
    }
}
