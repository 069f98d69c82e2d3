//! What is known of each document without reading its file, and the words in it to be looked for.
//!
//! All of it can be found again from the files, so it stands in a file of its own beside the record: nothing that is saved
//! waits for it, it need not reach the disk at once, and when it is damaged or of another version it is begun again.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use parking_lot::{Mutex, MutexGuard};
use rusqlite::{Connection, OptionalExtension as _, params};

use crate::error::Error;
use crate::folder::hash_of;

/// The name of the file in the notebook.
pub const FILE: &str = "makeready-index.db";
/// Counted up with every change of what stands in it.
const SHAPE: u32 = 2;
/// Marks a file as this program's: "MkRx".
const APPLICATION: i32 = 0x4D6B_5278;

/// What is known of one document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Known {
    /// Its name.
    pub(crate) name: String,
    /// How its file was seen.
    pub(crate) seen: String,
    /// The hash of its text.
    pub(crate) hash: String,
    /// Whether it is a rate sheet.
    pub(crate) is_sheet: bool,
    /// Its title.
    pub(crate) title: String,
    /// The plan it was made from.
    pub(crate) from: Option<String>,
    /// In short, with what that was made from, when it was calculated.
    pub(crate) short: Option<String>,
}

/// The words of a document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Words {
    /// The hash of its text.
    pub(crate) hash: String,
    /// Its title and its text.
    pub(crate) text: String,
    /// Its results.
    pub(crate) values: String,
}

/// The file, from any thread: whoever looks something up does not wait for whoever writes.
#[derive(Debug)]
pub(crate) struct Index {
    writing: Mutex<Connection>,
    /// None for one that lives in memory.
    reading: Option<Mutex<Connection>>,
    /// Where it lies; taken away when it is found damaged, so that the next start begins it again.
    path: Option<PathBuf>,
}

impl Index {
    /// Opens what an earlier start left, or begins again. Where no file can be written it lives in memory.
    pub(crate) fn open(folder: &Path) -> Self {
        let path = folder.join(FILE);
        let opened = on_disk(&path).or_else(|error| {
            if !is_unusable(&error) {
                // Another program has hold of it, or nothing can be written here: it is no worse for that.
                return Err(error);
            }
            tracing::info!(index.file = %path.display(), index.fault = %error, "what is known of the documents is begun again");
            take_away(&path);
            on_disk(&path)
        });
        match opened {
            Ok((writing, reading)) => {
                Self { writing: Mutex::new(writing), reading: Some(Mutex::new(reading)), path: Some(path) }
            }
            Err(error) => {
                tracing::info!(index.file = %path.display(), index.fault = %error, "what is known of the documents is not kept");
                Self::in_memory()
            }
        }
    }

    /// One that nobody finds again.
    pub(crate) fn in_memory() -> Self {
        #[expect(clippy::expect_used, reason = "memory for an empty table is there, or nothing else would be")]
        let writing = Connection::open_in_memory().expect("memory");
        let _ = writing.execute_batch(include_str!("index.sql"));
        Self { writing: Mutex::new(writing), reading: None, path: None }
    }

    /// What came of a question; a damaged file is taken away.
    fn sound<T>(&self, came: rusqlite::Result<T>) -> Result<T, Error> {
        came.map_err(|error| {
            if let Some(path) = self.path.as_ref().filter(|_| is_unusable(&error)) {
                tracing::warn!(index.file = %path.display(), index.fault = %error, "what is known of the documents is damaged");
                take_away(path);
            }
            Error::storage(
                format!("what is known of the plans cannot be looked through ({error})"),
                "start the program again: it is found out again from the files",
            )
            .because(error)
        })
    }

    fn reading(&self) -> MutexGuard<'_, Connection> {
        self.reading.as_ref().unwrap_or(&self.writing).lock()
    }

    /// Everything known, handed on document by document.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(crate) fn known(&self, each: impl FnMut(Known)) -> Result<(), Error> {
        let came = all_known(&self.reading(), each);
        self.sound(came)
    }

    /// Writes down what is known of some documents, with their words where those changed, and forgets others.
    ///
    /// # Errors
    /// When it cannot be written.
    pub(crate) fn know(&self, known: &[(Known, Option<Words>)], gone: &[String]) -> Result<(), Error> {
        let came = know(&mut self.writing.lock(), known, gone);
        self.sound(came)
    }

    /// The names of the plans that hold all of some words, or the beginnings of them; nothing when there is no word.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(crate) fn find(&self, words: &str) -> Result<Option<HashSet<String>>, Error> {
        let wanted = asked(words);
        if wanted.is_empty() {
            return Ok(None);
        }
        let came = match find(&self.reading(), wanted) {
            // The index takes apart what was asked as one word, in a script it does not know: it holds no such word.
            Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::Unknown) => Ok(HashSet::new()),
            came => came,
        };
        self.sound(came).map(Some)
    }
}

fn all_known(connection: &Connection, mut each: impl FnMut(Known)) -> rusqlite::Result<()> {
    let mut all = connection.prepare("SELECT name, seen, mark, kind = 'rates', title, origin, short FROM known")?;
    let mut rows = all.query([])?;
    while let Some(row) = rows.next()? {
        each(Known {
            name: row.get(0)?,
            seen: row.get(1)?,
            hash: row.get(2)?,
            is_sheet: row.get(3)?,
            title: row.get(4)?,
            from: row.get(5)?,
            short: row.get(6)?,
        });
    }
    Ok(())
}

fn know(connection: &mut Connection, known: &[(Known, Option<Words>)], gone: &[String]) -> rusqlite::Result<()> {
    let change = connection.transaction()?;
    for name in gone {
        let id: Option<i64> = change
            .prepare_cached("DELETE FROM known WHERE name = ?1 RETURNING id")?
            .query_row([name], |row| row.get(0))
            .optional()?;
        if let Some(id) = id {
            change.prepare_cached("DELETE FROM words WHERE rowid IN (?1, ?1 + 1)")?.execute([id * 2])?;
        }
    }
    for (one, words) in known {
        let kind = if one.is_sheet { "rates" } else { "plan" };
        let (id, worded, valued): (i64, Option<String>, Option<String>) = change
            .prepare_cached(
                "INSERT INTO known (name, seen, mark, kind, title, origin, short) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
                 ON CONFLICT (name) DO UPDATE SET seen = ?2, mark = ?3, kind = ?4, title = ?5, origin = ?6, short = ?7
                 RETURNING id, worded, valued",
            )?
            .query_row(params![one.name, one.seen, one.hash, kind, one.title, one.from, one.short], |row| {
                Ok((row.get(0)?, row.get(1)?, row.get(2)?))
            })?;
        let Some(words) = words else { continue };
        let put = |row: i64, text: &str| -> rusqlite::Result<()> {
            change.prepare_cached("DELETE FROM words WHERE rowid = ?1")?.execute([row])?;
            change.prepare_cached("INSERT INTO words (rowid, text) VALUES (?1, ?2)")?.execute(params![row, text])?;
            Ok(())
        };
        if worded.as_ref() != Some(&words.hash) {
            put(id * 2, &words.text)?;
            change.prepare_cached("UPDATE known SET worded = ?2 WHERE id = ?1")?.execute(params![id, words.hash])?;
        }
        // A shop that is written to again often asks what it asked before.
        let values = hash_of(words.values.as_bytes());
        if valued.as_ref() != Some(&values) {
            put(id * 2 + 1, &words.values)?;
            change.prepare_cached("UPDATE known SET valued = ?2 WHERE id = ?1")?.execute(params![id, values])?;
        }
    }
    change.commit()
}

fn find(connection: &Connection, wanted: Vec<String>) -> rusqlite::Result<HashSet<String>> {
    let holds = vec!["id IN (SELECT rowid / 2 FROM words WHERE words MATCH ?)"; wanted.len()].join(" AND ");
    let mut found = connection.prepare_cached(&format!("SELECT name FROM known WHERE kind = 'plan' AND {holds}"))?;
    let names = found.query_map(rusqlite::params_from_iter(wanted), |row| row.get(0))?;
    names.collect()
}

/// Whether a file that gives this error is of no use any more: damaged, no database, or of another shape.
fn is_unusable(error: &rusqlite::Error) -> bool {
    use rusqlite::ErrorCode as C;
    matches!(error, rusqlite::Error::InvalidQuery)
        || matches!(error.sqlite_error_code(), Some(C::DatabaseCorrupt | C::NotADatabase))
}

/// Removes the file and its journals.
fn take_away(path: &Path) {
    for end in ["", "-wal", "-shm"] {
        let mut file = path.as_os_str().to_owned();
        file.push(end);
        let _ = std::fs::remove_file(file);
    }
}

/// The file open twice, to write and to read.
fn on_disk(path: &Path) -> rusqlite::Result<(Connection, Connection)> {
    let mut writing = Connection::open(path)?;
    writing.busy_timeout(std::time::Duration::from_secs(5))?;
    for (pragma, value) in
        [("journal_mode", "WAL"), ("synchronous", "NORMAL"), ("trusted_schema", "OFF"), ("cell_size_check", "ON")]
    {
        writing.pragma_update(None, pragma, value)?;
    }
    let number = |pragma: &str| writing.query_row(&format!("PRAGMA {pragma}"), [], |row| row.get::<_, i64>(0));
    let stands = (number("application_id")?, number("user_version")?);
    if stands == (0, 0) {
        let begin = writing.transaction()?;
        begin.execute_batch(include_str!("index.sql"))?;
        begin.pragma_update(None, "application_id", APPLICATION)?;
        begin.pragma_update(None, "user_version", SHAPE)?;
        begin.commit()?;
    } else if stands != (APPLICATION.into(), SHAPE.into()) {
        return Err(rusqlite::Error::InvalidQuery);
    }
    let reading = Connection::open(path)?;
    for pragma in ["trusted_schema", "query_only"] {
        reading.pragma_update(None, pragma, if pragma == "query_only" { "ON" } else { "OFF" })?;
    }
    reading.query_row("SELECT count(*) FROM known WHERE id < 0", [], |_| Ok(()))?;
    Ok((writing, reading))
}

/// Words as the index is asked for them: each as it stands, in quotes, or as a beginning. Source: the query syntax of FTS5,
/// where a string in double quotes holds no operator.
fn asked(words: &str) -> Vec<String> {
    words
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .take(12)
        .map(|word| format!("\"{word}\"*"))
        .collect()
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::{FILE, Index, Known, Words, asked};

    fn plan(name: &str, text: &str) -> (Known, Option<Words>) {
        let known = Known {
            name: name.to_owned(),
            seen: String::new(),
            hash: "m".to_owned(),
            is_sheet: false,
            title: name.to_owned(),
            from: None,
            short: None,
        };
        (known, Some(Words { hash: text.to_owned(), text: text.to_owned(), values: String::new() }))
    }

    #[test]
    fn plans_are_found_by_all_words_by_their_beginnings_and_without_accents() {
        let index = Index::in_memory();
        index.know(&[plan("a", "Größe at the weir, 72 in"), plan("b", "The lock and the weir")], &[]).unwrap();
        let find = |words: &str| index.find(words).unwrap();
        let names = |all: &[&str]| Some(all.iter().map(|name| (*name).to_owned()).collect::<HashSet<_>>());
        assert_eq!(find("weir"), names(&["a", "b"]));
        assert_eq!(find("WEI the"), names(&["a", "b"]));
        assert_eq!(find("grosse weir"), names(&[]), "ß is a letter of its own");
        assert_eq!(find("große"), names(&["a"]));
        assert_eq!(find("groß 72"), names(&["a"]));
        assert_eq!(find("lock 72"), names(&[]));
        assert_eq!(find("  .,- "), None);
        // Nothing that is typed is an operator.
        for typed in ["weir OR lock", "NOT weir", "weir*", "\"weir", "title:weir", "NEAR(weir lock)", "^weir"] {
            assert!(index.find(typed).is_ok(), "{typed}");
        }
        // A letter younger than the index's table of letters.
        assert!(index.find("a\u{323b0}b").is_ok());
        index.know(&[plan("a", "Nothing of it")], &["b".to_owned()]).unwrap();
        assert_eq!(find("weir"), names(&[]));
        assert_eq!(find("nothing"), names(&["a"]));
        // The values of a plan are found with its text, and replaced without it.
        let (known, words) = plan("c", "Sluice");
        let recorded_results = |values: &str| {
            index
                .know(&[(known.clone(), words.clone().map(|words| Words { values: values.to_owned(), ..words }))], &[])
                .unwrap();
        };
        recorded_results("$120.00");
        assert_eq!((find("sluice 120"), find("sluice 130")), (names(&["c"]), names(&[])));
        recorded_results("$130.00");
        assert_eq!((find("sluice 120"), find("sluice 130")), (names(&[]), names(&["c"])));
        recorded_results("$130.00");
        assert_eq!(find("sluice 130"), names(&["c"]), "the same again takes nothing away");
        assert_eq!(asked("a\"b"), ["\"a\"*", "\"b\"*"]);
    }

    #[test]
    fn one_that_is_damaged_or_not_ours_is_begun_again() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(FILE);
        let count = |index: &Index| {
            let mut count = 0;
            index.known(|_| count += 1).unwrap();
            count
        };
        let index = Index::open(folder.path());
        index.know(&[plan("a", "weir")], &[]).unwrap();
        drop(index);
        assert_eq!(count(&Index::open(folder.path())), 1, "it was kept");
        for wrong in ["no database at all", ""] {
            std::fs::write(&path, wrong.repeat(1000)).unwrap();
            let index = Index::open(folder.path());
            assert_eq!(count(&index), 0, "{wrong}");
            index.know(&[plan("b", "lock")], &[]).unwrap();
            assert_eq!(count(&index), 1);
        }
        // Of another version, or another program's.
        for pragma in ["user_version", "application_id"] {
            let other = rusqlite::Connection::open(&path).unwrap();
            other.pragma_update(None, pragma, 7).unwrap();
            drop(other);
            let index = Index::open(folder.path());
            assert_eq!(count(&index), 0, "{pragma}");
            index.know(&[plan("b", "lock")], &[]).unwrap();
        }
        // Damaged within: told, taken away, and begun again the next time.
        let many: Vec<_> = (0..500).map(|number| plan(&format!("weir {number}"), &"heron ".repeat(200))).collect();
        Index::open(folder.path()).know(&many, &[]).unwrap();
        let mut all = std::fs::read(&path).unwrap();
        let half = all.len() / 2;
        all[half..].fill(0xA5);
        std::fs::write(&path, all).unwrap();
        let damaged = Index::open(folder.path());
        let told = damaged.known(|_| {}).unwrap_err();
        assert!(told.message().what.starts_with("what is known of the plans cannot be looked through"), "{told:?}");
        drop(damaged);
        assert_eq!(count(&Index::open(folder.path())), 0);
    }
}
