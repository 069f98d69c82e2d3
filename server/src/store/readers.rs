//! A connection that only reads: whoever asks waits for no write, here or of another program.

use std::path::Path;
use std::time::Duration;

use rusqlite::config::DbConfig;
use rusqlite::{Connection, OpenFlags};

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
