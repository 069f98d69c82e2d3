//! Private addresses under which a calendar program reads the steps of a plan.

use rusqlite::{Connection, OptionalExtension as _, params};

use super::Store;
use super::access::mark;
use super::plans::{name_of, plan_of};
use crate::error::Error;
use crate::names::Name;

/// One address, without its secret: that is nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarAddress {
    /// Its row.
    pub id: i64,
    /// When it was made, in universal time.
    pub made: String,
    /// When it ends, unless it is renewed.
    pub expires: String,
    /// When it was last read, if it was.
    pub read: Option<String>,
    /// When it was revoked, if it was.
    pub revoked: Option<String>,
}

impl Store {
    /// Makes an address of this secret for a plan, good until it ends.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn make_calendar_address(&self, plan: &Name, token: &str, made: &str, expires: &str) -> Result<(), Error> {
        let (plan, hash) = (plan.as_str(), mark(token));
        self.write(|change| {
            let plan = plan_of(change, plan)?;
            change.execute(
                "INSERT INTO calendar_address (hash, plan, made, expires) VALUES (?1, ?2, ?3, ?4)",
                params![hash, plan, made, expires],
            )?;
            Ok(())
        })
    }

    /// The addresses of a plan, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn calendar_addresses(&self, plan: &Name) -> Result<Vec<CalendarAddress>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let mut all = connection.prepare_cached(
                "SELECT id, made, expires, read, revoked FROM calendar_address WHERE plan = ?1 ORDER BY id DESC",
            )?;
            let rows = all.query_map([plan], |row| {
                Ok(CalendarAddress {
                    id: row.get(0)?,
                    made: row.get(1)?,
                    expires: row.get(2)?,
                    read: row.get(3)?,
                    revoked: row.get(4)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// The plan a secret is for, unless it was revoked or has ended; that it was read is noted once a day.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn calendar_of(&self, token: &str, now: &str) -> Result<Option<String>, Error> {
        let hash = mark(token);
        let found: Option<(i64, String, Option<String>)> = self.read(|connection| {
            Ok(connection
                .query_row(
                    "SELECT id, plan, read FROM calendar_address WHERE hash = ?1 AND revoked IS NULL AND expires > ?2",
                    params![hash, now],
                    |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
                )
                .optional()?)
        })?;
        let Some((id, plan, read)) = found else { return Ok(None) };
        if read.as_deref().and_then(|read| read.get(..10)) != now.get(..10) {
            let noted = self.write_in_passing(|change| {
                Ok(change.execute("UPDATE calendar_address SET read = ?2 WHERE id = ?1", params![id, now])?)
            });
            if let Err(error) = noted {
                tracing::warn!(error.what = %error.message().what, "that a calendar was read was not noted");
            }
        }
        self.read(|connection| Ok(Some(name_of(connection, &plan)?.as_str().to_owned())))
    }

    /// Lets an address of a plan go on until another moment, whether it has ended or not.
    ///
    /// # Errors
    /// When the plan has no such address, it was revoked, or the record cannot be written.
    pub fn renew_calendar_address(&self, plan: &Name, id: i64, expires: &str) -> Result<(), Error> {
        self.change_calendar_address(plan, id, |change, is_open| {
            if !is_open {
                return Err(Error::missing("this address was revoked", "make a new one"));
            }
            change.execute("UPDATE calendar_address SET expires = ?2 WHERE id = ?1", params![id, expires])?;
            Ok(())
        })
    }

    /// Revokes an address of a plan. One that is revoked already stays so.
    ///
    /// # Errors
    /// When the plan has no such address, or the record cannot be written.
    pub fn revoke_calendar_address(&self, plan: &Name, id: i64, now: &str) -> Result<(), Error> {
        self.change_calendar_address(plan, id, |change, is_open| {
            if is_open {
                change.execute("UPDATE calendar_address SET revoked = ?2 WHERE id = ?1", params![id, now])?;
            }
            Ok(())
        })
    }

    fn change_calendar_address(
        &self,
        plan: &Name,
        id: i64,
        act: impl FnOnce(&Connection, bool) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let plan = plan.as_str();
        self.write(|change| {
            let plan = plan_of(change, plan)?;
            let is_open = change
                .query_row(
                    "SELECT revoked IS NULL FROM calendar_address WHERE id = ?1 AND plan = ?2",
                    params![id, plan],
                    |row| row.get(0),
                )
                .optional()?;
            match is_open {
                Some(is_open) => act(change, is_open),
                None => Err(Error::missing("this plan has no such address", "look at its list of links")),
            }
        })
    }
}
