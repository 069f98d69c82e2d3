//! What each shop was handed: the revision and the lines it read.

use data_encoding::HEXLOWER;
use rusqlite::{OptionalExtension as _, params};
use sha2::{Digest as _, Sha256};

use super::Store;
use super::plans::plan_of;
use crate::error::Error;
use crate::names::Name;

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
    pub hash: String,
    /// What the shop read, line by line.
    pub lines: Vec<String>,
    /// Words of whoever handed it over.
    pub words: String,
    /// When, in universal time.
    pub handed: String,
    /// Whether the sheet itself was kept.
    pub kept: bool,
}

/// A ticket to be handed over.
#[derive(Clone, Debug)]
pub struct NewIssue {
    /// What the shop is called.
    pub shop: String,
    /// The plan's revision.
    pub revision: u32,
    /// The mark of the plan's text.
    pub hash: String,
    /// What the shop reads, line by line.
    pub lines: Vec<String>,
    /// Words of whoever hands it over.
    pub words: String,
    /// The sheet itself, where the program sets paper.
    pub sheet: Option<IssuedSheet>,
}

/// The sheet of paper a shop was handed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct IssuedSheet {
    /// `letter` or `a4`.
    pub paper: String,
    /// The file.
    pub pdf: Vec<u8>,
}

impl Store {
    /// What a shop was handed of a plan, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn issued(&self, plan: &Name, role: &str) -> Result<Vec<Issued>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let mut all = connection.prepare_cached(
                "SELECT number, shop, revision, etag, lines, words, handed, EXISTS (SELECT 1 FROM issued_sheet WHERE issued = issued.id) FROM issued WHERE plan = ?1 AND role = ?2 ORDER BY number DESC",
            )?;
            let rows = all.query_map([plan.as_str(), role], |row| {
                let lines: String = row.get(4)?;
                Ok(Issued {
                    number: row.get(0)?,
                    shop: row.get(1)?,
                    revision: row.get(2)?,
                    hash: row.get(3)?,
                    lines: serde_json::from_str(&lines).unwrap_or_default(),
                    words: row.get(5)?,
                    handed: row.get(6)?,
                    kept: row.get(7)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Writes down that a ticket was handed over. Gives its number.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn issue(&self, plan: &Name, role: &str, issue: NewIssue, handed: &str) -> Result<u32, Error> {
        let plan = plan.as_str();
        self.write(|change| {
            let plan = plan_of(change, plan)?;
            let number: u32 = change.query_row(
                "SELECT coalesce(max(number), 0) + 1 FROM issued WHERE plan = ?1 AND role = ?2",
                [plan.as_str(), role],
                |row| row.get(0),
            )?;
            let lines = serde_json::to_string(&issue.lines).unwrap_or_else(|_| "[]".to_owned());
            change.execute(
                "INSERT INTO issued (plan, role, number, shop, revision, etag, lines, words, handed) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                params![plan, role, number, issue.shop, issue.revision, issue.hash, lines, issue.words, handed],
            )?;
            if let Some(sheet) = &issue.sheet {
                let row = change.last_insert_rowid();
                change.execute(
                    "INSERT INTO issued_sheet (issued, paper, mark, pdf) VALUES (?1, ?2, ?3, ?4)",
                    params![row, sheet.paper, mark(&sheet.pdf), sheet.pdf],
                )?;
            }
            Ok(number)
        })
    }

    /// The sheet of one issue, as it was handed over.
    ///
    /// # Errors
    /// When it was not kept, is no longer as it was, or the record cannot be read.
    pub fn issued_sheet(&self, plan: &Name, role: &str, number: u32) -> Result<IssuedSheet, Error> {
        let plan = plan.as_str();
        let found: Option<(IssuedSheet, String)> = self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            Ok(connection
                .query_row(
                    "SELECT paper, pdf, mark FROM issued_sheet JOIN issued ON issued.id = issued_sheet.issued WHERE plan = ?1 AND role = ?2 AND number = ?3",
                    params![plan, role, number],
                    |row| Ok((IssuedSheet { paper: row.get(0)?, pdf: row.get(1)? }, row.get(2)?)),
                )
                .optional()?)
        })?;
        match found {
            Some((sheet, kept)) if mark(&sheet.pdf) == kept => Ok(sheet),
            Some(_) => Err(Error::storage(
                format!("the sheet of issue {number} is no longer as it was issued"),
                "bring the record back from a backup; the lines of the issue are on its page",
            )),
            None => Err(Error::missing(
                format!("no sheet was kept of issue {number}"),
                "look at what it said on the ticket's page",
            )),
        }
    }
}

/// The mark of a file: the same bytes give the same mark. Source: SHA-256, FIPS 180-4 (by the crate `sha2`).
fn mark(file: &[u8]) -> String {
    HEXLOWER.encode(&Sha256::digest(file))
}
