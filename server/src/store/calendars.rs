//! Private addresses under which a calendar program reads the steps of a plan.

use rusqlite::{OptionalExtension as _, params};

use super::Store;
use super::access::mark;
use crate::names::Name;
use crate::trouble::Refusal;

/// One address, without its secret: that is nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarAddress {
    /// Its row.
    pub id: i64,
    /// When it was made, in universal time.
    pub made: String,
    /// When it was last read, if it was.
    pub read: Option<String>,
    /// When it was revoked, if it was.
    pub revoked: Option<String>,
}

impl Store {
    /// Makes an address of this secret for a plan.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn make_calendar_address(&self, plan: &Name, token: &str, made: &str) -> Result<(), Refusal> {
        let (plan, made, hash) = (plan.as_str().to_owned(), made.to_owned(), mark(token));
        self.ask(move |connection| {
            connection.execute(
                "INSERT INTO calendar_address (hash, plan, made) VALUES (?1, ?2, ?3)",
                params![hash, plan, made],
            )?;
            Ok(())
        })
    }

    /// The addresses of a plan, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn calendar_addresses(&self, plan: &Name) -> Result<Vec<CalendarAddress>, Refusal> {
        let plan = plan.as_str().to_owned();
        self.ask(move |connection| {
            let mut all = connection.prepare_cached(
                "SELECT id, made, read, revoked FROM calendar_address WHERE plan = ?1 ORDER BY id DESC",
            )?;
            let rows = all.query_map([plan], |row| {
                Ok(CalendarAddress { id: row.get(0)?, made: row.get(1)?, read: row.get(2)?, revoked: row.get(3)? })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The plan a secret is for, unless it was revoked; that it was read is noted once a day.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn calendar_of(&self, token: &str, now: &str) -> Result<Option<String>, Refusal> {
        let (hash, now) = (mark(token), now.to_owned());
        self.ask(move |connection| {
            let found: Option<(i64, String, Option<String>)> = connection
                .query_row(
                    "SELECT id, plan, read FROM calendar_address WHERE hash = ?1 AND revoked IS NULL",
                    [hash],
                    |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
                )
                .optional()?;
            let Some((id, plan, read)) = found else { return Ok(None) };
            if read.as_deref().and_then(|read| read.get(..10)) != now.get(..10)
                && let Err(error) =
                    connection.execute("UPDATE calendar_address SET read = ?2 WHERE id = ?1", params![id, now])
            {
                tracing::warn!(fault = %error, "that a calendar was read was not noted");
            }
            Ok(Some(plan))
        })
    }

    /// Revokes an address of a plan. One that is revoked already stays so.
    ///
    /// # Errors
    /// When the plan has no such address, or the record cannot be written.
    pub fn revoke_calendar_address(&self, plan: &Name, id: i64, now: &str) -> Result<(), Refusal> {
        let (plan, now) = (plan.as_str().to_owned(), now.to_owned());
        self.ask(move |connection| {
            let open: Option<bool> = connection
                .query_row(
                    "SELECT revoked IS NULL FROM calendar_address WHERE id = ?1 AND plan = ?2",
                    params![id, plan],
                    |row| row.get(0),
                )
                .optional()?;
            match open {
                Some(true) => {
                    connection.execute("UPDATE calendar_address SET revoked = ?2 WHERE id = ?1", params![id, now])?;
                    Ok(())
                }
                Some(false) => Ok(()),
                None => Err(Refusal::missing("this plan has no such address", "look at its list of links")),
            }
        })
    }
}
