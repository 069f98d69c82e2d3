//! What is known of each document without reading its file, and the words in it to be looked for. It can all be found again
//! from the files, so nothing here is history and everything may be replaced.

use rusqlite::types::ToSql;
use rusqlite::{OptionalExtension as _, params};

use super::Store;
use crate::trouble::Refusal;

/// What is known of one document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Known {
    /// Its name.
    pub(crate) name: String,
    /// How its file was seen.
    pub(crate) seen: String,
    /// The mark of its text.
    pub(crate) mark: String,
    /// Whether it is a rate sheet.
    pub(crate) is_sheet: bool,
    /// Its title.
    pub(crate) title: String,
    /// The plan it was made from.
    pub(crate) from: Option<String>,
    /// In short, with what that was made from, when it was worked out.
    pub(crate) short: Option<String>,
}

/// The words of a document: its title, and everything else.
pub(crate) type Words = (String, String);

impl Store {
    /// Everything known, handed on document by document.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn known(&self, mut each: impl FnMut(Known) + Send + 'static) -> Result<(), Refusal> {
        self.ask(move |connection| {
            let mut all =
                connection.prepare("SELECT name, seen, mark, kind = 'rates', title, origin, short FROM known")?;
            let mut rows = all.query([])?;
            while let Some(row) = rows.next()? {
                each(Known {
                    name: row.get(0)?,
                    seen: row.get(1)?,
                    mark: row.get(2)?,
                    is_sheet: row.get(3)?,
                    title: row.get(4)?,
                    from: row.get(5)?,
                    short: row.get(6)?,
                });
            }
            Ok(())
        })
    }

    /// Writes down what is known of some documents, with their words where those changed, and forgets others.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn know(&self, known: Vec<(Known, Option<Words>)>, gone: Vec<String>) -> Result<(), Refusal> {
        self.ask(move |connection| {
            let change = connection.transaction()?;
            for name in gone {
                let id: Option<i64> = change
                    .prepare_cached("SELECT id FROM known WHERE name = ?1")?
                    .query_row([&name], |row| row.get(0))
                    .optional()?;
                if let Some(id) = id {
                    change.prepare_cached("DELETE FROM words WHERE rowid = ?1")?.execute([id])?;
                    change.prepare_cached("DELETE FROM known WHERE id = ?1")?.execute([id])?;
                }
            }
            for (one, words) in known {
                let kind = if one.is_sheet { "rates" } else { "plan" };
                let id: i64 = change
                    .prepare_cached(
                        "INSERT INTO known (name, seen, mark, kind, title, origin, short) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
                         ON CONFLICT (name) DO UPDATE SET seen = ?2, mark = ?3, kind = ?4, title = ?5, origin = ?6, short = ?7
                         RETURNING id",
                    )?
                    .query_row(
                        params![one.name, one.seen, one.mark, kind, one.title, one.from, one.short],
                        |row| row.get(0),
                    )?;
                if let Some((title, text)) = words {
                    change.prepare_cached("DELETE FROM words WHERE rowid = ?1")?.execute([id])?;
                    change
                        .prepare_cached("INSERT INTO words (rowid, title, text) VALUES (?1, ?2, ?3)")?
                        .execute(params![id, title, text])?;
                }
            }
            Ok(change.commit()?)
        })
    }

    /// The names of the plans that hold all of some words, or the beginnings of them; nothing when there is no word.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn find(&self, words: &str) -> Result<Option<Vec<String>>, Refusal> {
        let Some(wanted) = question(words) else { return Ok(None) };
        self.ask(move |connection| {
            let mut found = connection.prepare_cached(
                "SELECT name FROM known WHERE kind = 'plan' AND id IN (SELECT rowid FROM words WHERE words MATCH ?1)",
            )?;
            let names = found.query_map([&wanted as &dyn ToSql], |row| row.get(0))?;
            Ok(Some(names.collect::<Result<_, _>>()?))
        })
    }
}

/// Words as the index is asked for them: each as it stands, in quotes, or as a beginning. Source: the query syntax of FTS5,
/// where a string in double quotes holds no operator.
fn question(words: &str) -> Option<String> {
    let asked: Vec<String> = words
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .take(12)
        .map(|word| format!("\"{word}\"*"))
        .collect();
    (!asked.is_empty()).then(|| asked.join(" "))
}

#[cfg(test)]
mod tests {
    use super::{Known, question};
    use crate::store::Store;

    fn plan(name: &str, text: &str) -> (Known, Option<(String, String)>) {
        let known = Known {
            name: name.to_owned(),
            seen: String::new(),
            mark: "m".to_owned(),
            is_sheet: false,
            title: name.to_owned(),
            from: None,
            short: None,
        };
        (known, Some((name.to_owned(), text.to_owned())))
    }

    #[test]
    fn plans_are_found_by_all_words_by_their_beginnings_and_without_accents() {
        let store = Store::in_memory().unwrap();
        store
            .know(vec![plan("a", "Größe at the weir, 72 in"), plan("b", "The lock and the weir")], Vec::new())
            .unwrap();
        let find = |words: &str| {
            let mut found = store.find(words).unwrap();
            found.iter_mut().for_each(|names| names.sort());
            found
        };
        let names = |all: &[&str]| Some(all.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>());
        assert_eq!(find("weir"), names(&["a", "b"]));
        assert_eq!(find("WEI the"), names(&["a", "b"]));
        assert_eq!(find("grosse weir"), names(&[]), "ß is a letter of its own");
        assert_eq!(find("große"), names(&["a"]));
        assert_eq!(find("groß 72"), names(&["a"]));
        assert_eq!(find("lock 72"), names(&[]));
        assert_eq!(find("  .,- "), None);
        // Nothing that is typed is an operator.
        for typed in ["weir OR lock", "NOT weir", "weir*", "\"weir", "title:weir", "NEAR(weir lock)", "^weir"] {
            assert!(store.find(typed).is_ok(), "{typed}");
        }
        store.know(vec![plan("a", "Nothing of it")], vec!["b".to_owned()]).unwrap();
        assert_eq!(find("weir"), names(&[]));
        assert_eq!(find("nothing"), names(&["a"]));
        assert_eq!(question("a\"b"), Some("\"a\"* \"b\"*".to_owned()));
    }
}
