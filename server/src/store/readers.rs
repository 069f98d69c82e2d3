//! Connections that only read: whoever asks waits for no write, here or of another program.

use std::ops::Deref;
use std::path::Path;
use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

use super::held;

/// How many questions are answered at once; further ones wait for one of these.
pub(super) const READERS: usize = 4;

/// Opens a record for reading only.
pub(super) fn reader(path: &Path) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(path, flags)?;
    connection.busy_timeout(Duration::from_secs(1))?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    for (pragma, value) in [("trusted_schema", "OFF"), ("cell_size_check", "ON"), ("temp_store", "MEMORY")] {
        connection.pragma_update(None, pragma, value)?;
    }
    connection.pragma_update(None, "mmap_size", 0)?;
    Ok(connection)
}

/// The reading connections of one record. They are opened once, with the record: a file put in its place later is not read.
pub(super) struct Readers {
    free: Mutex<Vec<Connection>>,
    back: Condvar,
    any: bool,
}

impl Readers {
    pub(super) fn new(all: Vec<Connection>) -> Self {
        Self { any: !all.is_empty(), free: Mutex::new(all), back: Condvar::new() }
    }

    /// One of them, once one is free; nothing for a record without any.
    pub(super) fn one(&self) -> Option<Reading<'_>> {
        if !self.any {
            return None;
        }
        let mut free = held(&self.free);
        loop {
            if let Some(connection) = free.pop() {
                return Some(Reading { connection: Some(connection), of: self });
            }
            free = self.back.wait(free).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// A connection taken for one question.
pub(super) struct Reading<'a> {
    connection: Option<Connection>,
    of: &'a Readers,
}

impl Deref for Reading<'_> {
    type Target = Connection;

    fn deref(&self) -> &Connection {
        #[expect(clippy::expect_used, reason = "it is given back only when this is dropped")]
        self.connection.as_ref().expect("a connection")
    }
}

impl Drop for Reading<'_> {
    fn drop(&mut self) {
        held(&self.of.free).extend(self.connection.take());
        self.of.back.notify_one();
    }
}
