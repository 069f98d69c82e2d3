//! The passphrase and the browsers that gave it.

use std::net::IpAddr;

use data_encoding::HEXLOWER;
use rusqlite::{OptionalExtension as _, Transaction};
use sha2::{Digest as _, Sha256};

use super::Store;
use crate::error::Error;
use crate::passphrase::{Kept, network};

/// Addresses that are remembered for having been let in.
const KNOWN: u32 = 64;

/// What stands in the record for a secret: 256 bits of it are too many to be found by trying.
pub(super) fn mark(secret: &str) -> String {
    HEXLOWER.encode(&Sha256::digest(secret.as_bytes()))
}

/// Carries a passphrase over that an earlier version kept.
pub(super) fn carry_over(change: &Transaction<'_>) -> Result<(), Error> {
    let before: Option<(String, String, String)> = change
        .query_row("SELECT salt, hash, chosen FROM passphrase ORDER BY id DESC LIMIT 1", [], |row| row.try_into())
        .optional()?;
    if let Some((salt, hash, chosen)) = before
        && let Some(kept) = Kept::of_earlier(&salt, &hash)
    {
        change.execute("INSERT INTO passphrase_hash (hash, chosen) VALUES (?1, ?2)", [&kept.0, &chosen])?;
    }
    change.execute("DROP TABLE passphrase", [])?;
    Ok(())
}

impl Store {
    /// The passphrase as kept, when there is one.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn passphrase(&self) -> Result<Option<Kept>, Error> {
        self.read(|connection| {
            let sql = "SELECT hash FROM passphrase_hash ORDER BY id DESC LIMIT 1";
            Ok(connection.query_row(sql, [], |row| row.get(0).map(Kept)).optional()?)
        })
    }

    /// Sets the passphrase; everyone who gave the old one must give this one.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn set_passphrase(&self, kept: &Kept, now: &str) -> Result<(), Error> {
        self.write(|change| {
            change.execute("DELETE FROM passphrase_hash", [])?;
            change.execute("DELETE FROM session", [])?;
            change.execute("INSERT INTO passphrase_hash (hash, chosen) VALUES (?1, ?2)", [&kept.0, now])?;
            Ok(())
        })
    }

    /// Keeps the same passphrase at another cost, unless it was set to another meanwhile; nobody has to give it again.
    ///
    /// # Errors
    /// When the record cannot be written just now.
    pub(crate) fn renew_passphrase(&self, before: &Kept, renewed: &Kept) -> Result<(), Error> {
        self.write_in_passing(|change| {
            change.execute("UPDATE passphrase_hash SET hash = ?2 WHERE hash = ?1", [&before.0, &renewed.0])?;
            Ok(())
        })
    }

    /// Lets a browser in that gave the passphrase; what expired is cleared away.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn let_in(&self, token: &str, from: IpAddr, now: &str, expires: &str) -> Result<(), Error> {
        let (hash, address) = (mark(token), network(from).to_string());
        self.write(|change| {
            change.execute("DELETE FROM session WHERE expires <= ?1", [now])?;
            change.execute("INSERT INTO session (hash, expires, seen) VALUES (?1, ?2, ?3)", [&hash, expires, now])?;
            change.execute("INSERT OR REPLACE INTO came_in (address, seen) VALUES (?1, ?2)", [&address, now])?;
            change.execute(
                "DELETE FROM came_in WHERE address NOT IN (SELECT address FROM came_in ORDER BY seen DESC LIMIT ?1)",
                [KNOWN],
            )?;
            Ok(())
        })
    }

    /// Whether a browser at this address was let in before.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn came_in_from(&self, address: IpAddr) -> Result<bool, Error> {
        let address = network(address).to_string();
        self.read(|connection| {
            let sql = "SELECT EXISTS (SELECT 1 FROM came_in WHERE address = ?1)";
            Ok(connection.query_row(sql, [address], |row| row.get(0))?)
        })
    }

    /// Whether a browser was let in and was seen after `idle`.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn is_let_in(&self, token: &str, now: &str, idle: &str) -> Result<bool, Error> {
        let hash = mark(token);
        let seen: Option<String> = self.read(|connection| {
            Ok(connection
                .query_row(
                    "SELECT seen FROM session WHERE hash = ?1 AND expires > ?2 AND seen > ?3",
                    [&hash, now, idle],
                    |row| row.get(0),
                )
                .optional()?)
        })?;
        if seen.as_ref().is_some_and(|seen| seen.get(..10) != now.get(..10)) {
            // Once a day is enough; a record that cannot be written keeps nobody out.
            let _ = self.write_in_passing(|change| {
                Ok(change.execute("UPDATE session SET seen = ?2 WHERE hash = ?1", [&hash, now])?)
            });
        }
        Ok(seen.is_some())
    }

    /// Lets one browser out, or all of them.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn let_out(&self, token: Option<&str>) -> Result<(), Error> {
        let hash = token.map(mark);
        self.write(|change| {
            change.execute("DELETE FROM session WHERE ?1 IS NULL OR hash = ?1", [hash])?;
            Ok(())
        })
    }
}
