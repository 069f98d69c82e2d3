//! What is noted beside the record: which one it is and how far it was written. A record that is gone, or another or an older
//! one in its place, is known by it, and is never taken for a new one.

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::Path;

use engine::Message;
use rusqlite::{Connection, OptionalExtension as _, params};

use super::{FILE, INDEX, daybook, kept_copies, saves};
use crate::folder::{self, hash_of};

/// Where it is noted.
const NOTE: &str = ".makeready-record.txt";
/// What the note says to whoever finds it.
const WORDS: &str =
    "Makeready notes here which record this notebook has and how far it was written. Leave it beside makeready.db.";
/// The first shape of the record that has a name of its own.
const NAMED: u32 = 10;

/// How a record stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Witness {
    /// Its name, nothing for one older than records have names.
    pub(crate) name: String,
    /// How often it was written to.
    pub(crate) writes: i64,
    /// The row of the last revision and the mark of its text.
    pub(crate) revision: (i64, String),
    /// The last line of the ledger and its mark.
    pub(crate) ledger: (i64, String),
    /// Which file it lay in, as the system counts them; of no weight in a comparison of what it holds.
    file: (u64, u64),
}

impl Witness {
    /// How a record stands.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(crate) fn of(connection: &Connection) -> rusqlite::Result<Self> {
        let shape: u32 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
        if shape < NAMED {
            return Ok(Self::default());
        }
        connection
            .prepare_cached(
                "SELECT name, writes, coalesce(revision.id, 0), coalesce(etag, ''), coalesce(ledger.id, 0), coalesce(mark, '')
                 FROM record LEFT JOIN revision ON revision.id = (SELECT max(id) FROM revision)
                 LEFT JOIN ledger ON ledger.id = (SELECT max(id) FROM ledger)",
            )?
            .query_row([], |row| {
                Ok(Self {
                    name: row.get(0)?,
                    writes: row.get(1)?,
                    revision: (row.get(2)?, row.get(3)?),
                    ledger: (row.get(4)?, row.get(5)?),
                    file: (0, 0),
                })
            })
    }

    /// What was last noted in a notebook; nothing when it cannot be read, as after a power failure.
    pub(crate) fn noted(folder: &Path) -> Option<Self> {
        let text = fs::read_to_string(folder.join(NOTE)).ok()?;
        let (said, mark) = text.rsplit_once("mark ")?;
        if hash_of(said.as_bytes()) != mark.trim_end() {
            return None;
        }
        let line = |word: &str| {
            let line = said.lines().find_map(|line| line.strip_prefix(word))?;
            Some(line.split_whitespace().map(str::to_owned).collect::<Vec<_>>())
        };
        let number = |word: &str, at: usize| line(word)?.get(at)?.parse().ok();
        let mark = |word: &str| Some(line(word)?.get(1).cloned().unwrap_or_default());
        Some(Self {
            name: line("record ")?.first()?.clone(),
            writes: number("writes ", 0)?,
            revision: (number("revision ", 0)?, mark("revision ")?),
            ledger: (number("ledger ", 0)?, mark("ledger ")?),
            file: (u64::try_from(number("file ", 0)?).ok()?, u64::try_from(number("file ", 1)?).ok()?),
        })
    }

    /// Notes it in a notebook. Every note is as long as any other, so that it is written in place; it is not brought to the
    /// disk by itself: what it tells of is there first, and an older note asks for nothing that is not. Without it only less
    /// is noticed.
    pub(super) fn note(&self, folder: &Path, file: (u64, u64)) {
        let mut said = format!("{WORDS}\nrecord {}\nwrites {:20}\n", self.name, self.writes);
        for (word, (row, mark)) in [("revision", &self.revision), ("ledger", &self.ledger)] {
            let _ = writeln!(said, "{word} {row:20} {mark:64}");
        }
        let _ = writeln!(said, "file {:20} {:20}", file.0, file.1);
        let mark = hash_of(said.as_bytes());
        let _ = writeln!(said, "mark {mark}");
        let path = folder.join(NOTE);
        let fresh = !path.exists();
        let noted = (|| {
            let mut note = fs::OpenOptions::new().write(true).create(true).truncate(false).open(&path)?;
            note.write_all(said.as_bytes())
        })();
        if let Err(error) = noted {
            tracing::debug!(error = %error, "how far the record was written is not noted");
        } else if fresh {
            let _ = folder::sync(folder);
        }
    }

    /// Takes the note away: whatever record lies there is the right one.
    pub(crate) fn forget(folder: &Path) {
        let _ = fs::remove_file(folder.join(NOTE));
    }

    /// Whether another file lies at the record's place than when this was noted.
    pub(super) fn is_another_file(&self, record: &Path) -> bool {
        file_at(record).is_some_and(|file| file != self.file)
    }

    /// What a record lacks of what was noted, in words; nothing when it holds all of it.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(crate) fn lacks(&self, connection: &Connection) -> rusqlite::Result<Option<String>> {
        let now = Self::of(connection)?;
        if now.name != self.name {
            return Ok(Some("it is another record".to_owned()));
        }
        let holds = |query: &str, (row, mark): &(i64, String)| {
            let found: Option<i64> = connection.query_row(query, params![row, mark], |row| row.get(0)).optional()?;
            Ok::<_, rusqlite::Error>(*row == 0 || found.is_some())
        };
        let whole = now.writes >= self.writes
            && holds("SELECT 1 FROM revision WHERE id = ?1 AND etag = ?2", &self.revision)?
            && holds("SELECT 1 FROM ledger WHERE id = ?1 AND mark = ?2", &self.ledger)?;
        if whole {
            return Ok(None);
        }
        let counted = |count: i64, one: &str, more: &str| match count {
            1 => Some(format!("one {one}")),
            2.. => Some(format!("{count} {more}")),
            _ => None,
        };
        let lacking: Vec<_> = [
            counted(self.revision.0 - now.revision.0, "save", "saves"),
            counted(self.ledger.0 - now.ledger.0, "ledger entry", "ledger entries"),
        ]
        .into_iter()
        .flatten()
        .collect();
        Ok(Some(if lacking.is_empty() {
            "it lacks what was last written to it".to_owned()
        } else {
            format!("it lacks {}", lacking.join(" and "))
        }))
    }
}

/// Which file lies at a path, as the system counts them.
fn file_at(path: &Path) -> Option<(u64, u64)> {
    fs::metadata(path).ok().filter(fs::Metadata::is_file).map(|about| file_of(&about))
}

/// Which file it is, as the system counts them.
pub(super) fn file_of(about: &fs::Metadata) -> (u64, u64) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        (about.dev(), about.ino())
    }
    #[cfg(not(unix))]
    {
        let _ = about;
        (0, 0)
    }
}

/// What a record lacks of what was written to the one of a notebook, in words; nothing when it holds all of it.
///
/// # Errors
/// When it cannot be read.
pub(super) fn lacks(
    folder: &Path,
    noted: Option<&Witness>,
    connection: &Connection,
) -> rusqlite::Result<Option<String>> {
    if let Some(lacks) = noted.map(|noted| noted.lacks(connection)).transpose()?.flatten() {
        return Ok(Some(lacks));
    }
    let shape: u32 = connection.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    let lines = if shape < NAMED { None } else { daybook::lacking(folder, connection)? };
    Ok(lines.map(|lines| format!("the ledger in `{}` does not end as its own ({lines} more lines)", daybook::FILE)))
}

/// What in a notebook says that it had a record; nothing in a folder that never had one.
pub(crate) fn traces(folder: &Path) -> Option<String> {
    let journal = format!("{FILE}-wal");
    let has = |name: &str| fs::metadata(folder.join(name)).is_ok_and(|about| about.len() > 0);
    let mut all: Vec<_> =
        [NOTE, daybook::FILE, saves::FILE, INDEX, journal.as_str()].into_iter().filter(|name| has(name)).collect();
    if !kept_copies::all(&folder.join(kept_copies::FOLDER)).is_empty() {
        all.push(kept_copies::FOLDER);
    }
    let named: Vec<_> = all.iter().map(|name| format!("`{name}`")).collect();
    (!named.is_empty()).then(|| named.join(", "))
}

/// What is told of a record that is gone.
pub(super) fn gone(folder: &Path, traces: &str) -> Message {
    let how = if folder.join(FILE).exists() { "is empty" } else { "is gone" };
    Message::new(
        format!(
            "the notebook's record `{FILE}` {how}, though there was one ({traces}): without it no sale and no revision is known"
        ),
        format!(
            "put it back from where it went; or {}; or begin a record with nothing in it: `makeready recover {} --new`",
            bring_back(folder),
            quoted(folder)
        ),
    )
}

/// What is told of a record that is not the one last used.
pub(super) fn older(folder: &Path, lacks: &str) -> Message {
    Message::new(
        format!("the notebook's record `{FILE}` is not the one last used here, so nothing is saved: {lacks}"),
        format!(
            "end the program; put the right one back, or {}; or go on with this one, without what it lacks: `makeready recover {} --as-it-is`",
            bring_back(folder),
            quoted(folder)
        ),
    )
}

/// How the best copy is brought back.
pub(super) fn bring_back(folder: &Path) -> String {
    match kept_copies::all(&folder.join(kept_copies::FOLDER)).last().and_then(|last| last.file_stem()) {
        Some(last) => {
            let last = last.to_string_lossy();
            format!("bring back the last copy ({last}): `makeready recover {}`", quoted(folder))
        }
        None => format!("bring back a backup's: `makeready recover {} --from BACKUP/{FILE}`", quoted(folder)),
    }
}

/// A folder as it is written on a command line.
fn quoted(folder: &Path) -> String {
    let shown = folder.canonicalize().unwrap_or_else(|_| folder.to_path_buf());
    format!("'{}'", shown.display())
}
