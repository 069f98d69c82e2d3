//! Certificates handed out, found again by their codes.

use rusqlite::{OptionalExtension as _, Row, params};

use super::Store;
use super::plans::{name_of, plan_of};
use crate::error::Error;
use crate::names::Name;

/// A certificate as it was handed out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Issued {
    /// Its code.
    pub code: String,
    /// The plan, by the file it has now.
    pub plan: Name,
    /// The print as written on it: `4`, `AP 1`.
    pub print: String,
    /// The revision of the plan it was made from.
    pub revision: u32,
    /// The day it was issued, as in ISO 8601.
    pub issued: String,
    /// What it says: label and words.
    pub says: Vec<(String, String)>,
}

impl Store {
    /// Keeps a certificate.
    ///
    /// # Errors
    /// When the code is taken, or the record cannot be written.
    pub fn hand_out(&self, issued: Issued) -> Result<(), Error> {
        self.write(|change| {
            let says = serde_json::to_string(&issued.says).unwrap_or_default();
            let proof = issued.print.strip_prefix("AP ");
            let (kind, number) = (if proof.is_some() { "proof" } else { "print" }, proof.unwrap_or(&issued.print));
            let plan = plan_of(change, issued.plan.as_str())?;
            change.execute(
                "INSERT INTO certificate (code, plan, kind, number, revision, issued, facts) VALUES (?1, ?2, ?3, CAST(?4 AS INTEGER), ?5, ?6, ?7)",
                params![issued.code, plan, kind, number, issued.revision, issued.issued, says],
            )?;
            Ok(())
        })
    }

    /// The certificate of a code.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn certificate(&self, code: &str) -> Result<Option<Issued>, Error> {
        self.read(|connection| {
            let found = connection
                .prepare_cached(
                    "SELECT code, plan, kind, number, revision, issued, facts FROM certificate WHERE code = ?1",
                )?
                .query_row([code], read)
                .optional()?;
            found.map(|found| Ok(Issued { plan: name_of(connection, found.plan.as_str())?, ..found })).transpose()
        })
    }

    /// The certificates handed out with prints of a plan, oldest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn certificates(&self, plan: &Name) -> Result<Vec<Issued>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let mut all = connection.prepare_cached("SELECT code, plan, kind, number, revision, issued, facts FROM certificate WHERE plan = ?1 ORDER BY rowid")?;
            let rows = all.query_map([plan], read)?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

fn read(row: &Row<'_>) -> rusqlite::Result<Issued> {
    let (kind, number): (String, u32) = (row.get(2)?, row.get(3)?);
    let says: String = row.get(6)?;
    Ok(Issued {
        code: row.get(0)?,
        plan: Name::as_recorded(&row.get::<_, String>(1)?),
        print: if kind == "proof" { format!("AP {number}") } else { number.to_string() },
        revision: row.get(4)?,
        issued: row.get(5)?,
        says: serde_json::from_str(&says).unwrap_or_default(),
    })
}
