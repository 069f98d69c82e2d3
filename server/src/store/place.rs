//! Whether the record that is written to is still the one that lies in the folder. Programs that keep folders alike on several
//! computers put another file in its place, and what is written to the old one from then on is lost with it: this is looked at
//! before and after every write.

use std::fs;
use std::path::{Path, PathBuf};

use engine::Message;
use parking_lot::Mutex;
use rusqlite::Connection;

use super::readers::reader;
use super::witness::{self, Witness, file_of};
use super::{FILE, copies, daybook, kept_copies, sound};
use crate::error::Error;

/// Where the record lies.
pub(super) struct Place {
    pub(super) folder: PathBuf,
    record: PathBuf,
    journal: PathBuf,
    known: Mutex<Known>,
}

/// How it lay, and how it stood, when that was last known to be right. Only who writes asks for it or changes it.
struct Known {
    record: Option<Lies>,
    journal: Option<Lies>,
    stands: Witness,
    /// The last line of the ledger that is written down a second time.
    line: i64,
}

/// How a file lies there.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Lies {
    file: (u64, u64),
    length: u64,
    /// When it was last written to and when anything about it last changed: the second cannot be set by hand.
    changed: [i64; 4],
}

impl Lies {
    fn at(path: &Path) -> Option<Self> {
        let about = fs::metadata(path).ok().filter(fs::Metadata::is_file)?;
        #[cfg(unix)]
        let changed = {
            use std::os::unix::fs::MetadataExt as _;
            [about.mtime(), about.mtime_nsec(), about.ctime(), about.ctime_nsec()]
        };
        #[cfg(not(unix))]
        let changed = {
            let age = about.modified().ok()?.duration_since(std::time::SystemTime::UNIX_EPOCH).ok()?;
            [i64::try_from(age.as_secs()).ok()?, i64::from(age.subsec_nanos()), 0, 0]
        };
        Some(Self { file: file_of(&about), length: about.len(), changed })
    }
}

impl Place {
    /// The place of a record that was just opened and found sound.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(super) fn of(folder: &Path, connection: &Connection) -> Result<Self, Error> {
        let (record, journal) = (folder.join(FILE), folder.join(format!("{FILE}-wal")));
        let stands = Witness::of(connection)?;
        let mut known =
            Known { record: Lies::at(&record), journal: Lies::at(&journal), stands, line: daybook::end(folder).0 };
        known.note(folder, connection);
        Ok(Self { folder: folder.to_path_buf(), record, journal, known: Mutex::new(known) })
    }

    /// Notes how the record stands after a write.
    pub(super) fn written(&self, connection: &Connection, stands: Witness) {
        let mut known = self.known.lock();
        known.stands = stands;
        known.journal = Lies::at(&self.journal).or(known.journal);
        known.note(&self.folder, connection);
    }

    /// Brings the journal into the record's own file.
    pub(super) fn brought_in(&self, connection: &Connection) {
        if let Err(error) = connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(())) {
            tracing::warn!(error = %error, "the journal grows on");
        }
        let mut known = self.known.lock();
        let now = Lies::at(&self.record);
        if now.map(|now| now.file) == known.record.map(|before| before.file) {
            known.record = now;
        }
    }

    /// What is told when the record in the folder is not the one that is written to; nothing while it is. What was saved is
    /// brought to safety first.
    pub(super) fn lost(&self, connection: &Connection) -> Option<Message> {
        let mut known = self.known.lock();
        let how = self.how(&mut known)?;
        let kept = self.rescue(connection, &known.stands);
        let next = match kept {
            Ok(copy) => format!(
                "everything saved until then is in `{}/{copy}`: end the program, and {}",
                kept_copies::FOLDER,
                witness::bring_back(&self.folder)
            ),
            Err(error) => {
                tracing::error!(error.what = %error.message().what, "what was saved could not be copied");
                format!(
                    "end the program; look where the file went and put it back, or {}",
                    witness::bring_back(&self.folder)
                )
            }
        };
        Some(Message::new(
            format!("the notebook's record `{FILE}` {how} while it was in use, so nothing more is saved"),
            next,
        ))
    }

    fn how(&self, known: &mut Known) -> Option<&'static str> {
        let (record, journal) = (Lies::at(&self.record), Lies::at(&self.journal));
        let (Some(now), Some(before)) = (record, known.record) else { return Some("was deleted or moved away") };
        if now.file != before.file {
            return Some("was replaced by another file");
        }
        if now.length < before.length {
            return Some("was emptied or cut short");
        }
        let log = match (journal, known.journal) {
            (Some(now), Some(before)) if now.file == before.file => now.length >= before.length,
            (_, Some(_)) => return Some("lost its log (`makeready.db-wal`)"),
            (_, None) => true,
        };
        if now == before && log {
            return None;
        }
        // Written to by someone else: by another program of ours, or over.
        if !self.is_whole(&known.stands) {
            return Some("was written over by another program");
        }
        known.record = record;
        known.journal = journal;
        None
    }

    /// Whether the record, read from the folder, is sound and holds all that was written to it.
    fn is_whole(&self, stands: &Witness) -> bool {
        let is_whole = (|| {
            let connection = reader(&self.record)?;
            Ok::<_, rusqlite::Error>(
                sound::fault_in(&connection, true)?.is_none() && stands.lacks(&connection)?.is_none(),
            )
        })();
        is_whole.unwrap_or(false)
    }

    /// Copies what is still at hand of a record that is gone to where copies lie, when it is all there. Gives its name.
    fn rescue(&self, connection: &Connection, stands: &Witness) -> Result<String, Error> {
        let name = format!("{}{}.db", kept_copies::RESCUED, stands.writes);
        let place = self.folder.join(kept_copies::FOLDER);
        if !place.join(&name).exists() {
            copies::keep(connection, &place, &name, Some(stands))?;
        }
        Ok(name)
    }
}

impl Known {
    fn note(&mut self, folder: &Path, connection: &Connection) {
        if self.line < self.stands.ledger.0 {
            match daybook::add(folder, connection, self.line) {
                Ok(line) => self.line = line,
                Err(error) => {
                    tracing::warn!(error.what = %error.message().what, "a ledger line is not written down a second time yet");
                }
            }
        }
        self.stands.note(folder, self.record.map_or((0, 0), |lies| lies.file));
    }
}
