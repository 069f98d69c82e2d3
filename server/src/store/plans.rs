//! Which plan a file is. A plan's revisions, ledger, links, tickets and certificates stand under one word, its first file's
//! name; which file the plan has now is noted when a file is renamed, replaced by another plan, or joined to a ledger.

use std::collections::HashMap;

use rusqlite::{Connection, OptionalExtension as _, Transaction, params};

use super::Store;
use crate::error::Error;
use crate::names::Name;

/// What the record knows of a text that lies under a name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Heard {
    /// The plan of that name has revisions.
    pub(crate) has_own: bool,
    /// One of them has this text.
    pub(crate) is_own: bool,
    /// Other plans whose last text it is, as the record calls them, with the file each had.
    pub(crate) last_of: Vec<(String, Option<String>)>,
    /// A revision of another plan has this text.
    pub(crate) is_others: bool,
    /// Something was sold, handed over or opened to others under that name.
    pub(crate) is_bound: bool,
}

/// A plan of the record that may have no file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Known {
    /// As the record calls it.
    pub(crate) plan: String,
    /// The file it has or had.
    pub(crate) file: Option<String>,
    /// It was deleted on purpose.
    pub(crate) put_away: bool,
}

/// A plan's file that was renamed outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Renamed {
    /// The file's name before.
    pub from: String,
    /// Its name now.
    pub to: String,
    /// When that was seen, in universal time.
    pub since: String,
}

/// Which file every plan has.
pub(super) struct Files {
    plan_of: HashMap<String, String>,
    file_of: HashMap<String, String>,
}

impl Files {
    pub(super) fn read(connection: &Connection) -> rusqlite::Result<Self> {
        let mut all = connection.prepare_cached("SELECT file, plan FROM named WHERE file <> '' ORDER BY id")?;
        let mut rows = all.query([])?;
        let (mut plan_of, mut file_of) = (HashMap::new(), HashMap::new());
        while let Some(row) = rows.next()? {
            let (file, plan): (String, String) = (row.get(0)?, row.get(1)?);
            file_of.insert(plan.clone(), file.clone());
            plan_of.insert(file, plan);
        }
        Ok(Self { plan_of, file_of })
    }

    /// The file a plan has, as far as the record knows: without a row the one it began with.
    pub(super) fn file(&self, plan: &str) -> Option<String> {
        let stands = |file: &String| self.plan_of.get(file).is_some_and(|now| now == plan);
        match self.file_of.get(plan) {
            Some(file) => Some(file.clone()).filter(stands),
            None => {
                Some(plan.to_owned()).filter(|_| !self.plan_of.contains_key(plan) && !plan.contains(Name::OF_RECORD))
            }
        }
    }

    /// The document that stands for a plan: the file it has, else the plan itself as the record knows it.
    pub(super) fn name(&self, plan: &str) -> Name {
        self.file(plan).map_or_else(|| Name::of_record(plan), |file| Name::as_recorded(&file))
    }
}

/// What the record calls the plan of a name.
pub(super) fn plan_of(connection: &Connection, name: &str) -> rusqlite::Result<String> {
    if let Some(plan) = name.strip_prefix(Name::OF_RECORD) {
        return Ok(plan.to_owned());
    }
    let named = connection
        .prepare_cached("SELECT plan FROM named WHERE file = ?1 ORDER BY id DESC LIMIT 1")?
        .query_row([name], |row| row.get(0))
        .optional()?;
    Ok(named.unwrap_or_else(|| name.to_owned()))
}

/// The document that stands for a plan of the record.
pub(super) fn name_of(connection: &Connection, plan: &str) -> rusqlite::Result<Name> {
    Ok(Files::read(connection)?.name(plan))
}

impl Store {
    /// What the record calls the plan of a name: the same however its file is called.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn plan_of(&self, name: &Name) -> Result<String, Error> {
        self.read(|connection| Ok(plan_of(connection, name.as_str())?))
    }

    /// What the record knows of a text under a name.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn heard_of(&self, name: &Name, hash: &str) -> Result<Heard, Error> {
        self.read(|connection| {
            let own = plan_of(connection, name.as_str())?;
            let is = |query: &str| connection.prepare_cached(query)?.query_row([&own], |row| row.get::<_, bool>(0));
            let mut heard = Heard {
                has_own: is("SELECT EXISTS (SELECT 1 FROM revision WHERE plan = ?1)")?,
                is_bound: is(BOUND)?,
                ..Heard::default()
            };
            let files = Files::read(connection)?;
            let mut all = connection.prepare_cached(
                "SELECT plan, max(number) = (SELECT max(number) FROM revision last WHERE last.plan = one.plan AND written = 1)
                 FROM revision one WHERE etag = ?1 GROUP BY plan",
            )?;
            let mut rows = all.query([hash])?;
            while let Some(row) = rows.next()? {
                let (plan, is_last): (String, Option<bool>) = (row.get(0)?, row.get(1)?);
                if plan == own {
                    heard.is_own = true;
                    continue;
                }
                heard.is_others = true;
                if is_last == Some(true) {
                    let file = files.file(&plan);
                    heard.last_of.push((plan, file));
                }
            }
            Ok(heard)
        })
    }

    /// The text a plan was last saved with.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn last_text(&self, name: &Name) -> Result<Option<(String, String, u32)>, Error> {
        self.read(|connection| {
            let plan = plan_of(connection, name.as_str())?;
            Ok(connection
                .prepare_cached("SELECT text, saved, number FROM revision WHERE plan = ?1 AND written = 1 ORDER BY number DESC LIMIT 1")?
                .query_row([plan], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
                .optional()?)
        })
    }

    /// Every plan and rate sheet there ever was a revision or a ledger line of.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn known_plans(&self) -> Result<Vec<Known>, Error> {
        self.read(|connection| {
            let files = Files::read(connection)?;
            // From name to name along the index, not through all revisions.
            let mut all = connection.prepare_cached(
                "WITH RECURSIVE saved (plan) AS (
                     SELECT min(plan) FROM revision
                     UNION ALL SELECT (SELECT min(plan) FROM revision WHERE revision.plan > saved.plan) FROM saved WHERE plan IS NOT NULL
                 ),
                 known (plan) AS (SELECT plan FROM saved WHERE plan IS NOT NULL UNION SELECT plan FROM ledger)
                 SELECT plan, coalesce((SELECT why = 'put away' FROM named WHERE named.plan = known.plan ORDER BY id DESC LIMIT 1), 0) FROM known",
            )?;
            let rows = all.query_map([], |row| {
                let plan: String = row.get(0)?;
                Ok(Known { file: files.file(&plan), plan, put_away: row.get(1)? })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }

    /// Whether a person decided which plan a file is, or its name was followed.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn is_decided(&self, name: &Name) -> Result<bool, Error> {
        self.read(|connection| {
            let why: Option<String> = connection
                .prepare_cached("SELECT why FROM named WHERE file = ?1 ORDER BY id DESC LIMIT 1")?
                .query_row([name.as_str()], |row| row.get(0))
                .optional()?;
            Ok(matches!(why.as_deref(), Some("renamed" | "joined" | "apart")))
        })
    }

    /// A plan's file was renamed: all that the record has of the plan goes with it.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn follow(&self, plan: &str, from: Option<&str>, to: &Name, since: &str) -> Result<(), Error> {
        self.write(|change| {
            name(change, to.as_str(), plan, "renamed", since)?;
            if let Some(from) = from.filter(|from| *from != to.as_str()) {
                name(change, from, &fresh(change, from)?, "left", since)?;
            }
            Ok(())
        })
    }

    /// Another plan lies under a name than before: it has nothing of what the one before had.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn take_apart(&self, file: &Name, since: &str) -> Result<(), Error> {
        self.write(|change| {
            let plan = fresh(change, file.as_str())?;
            Ok(name(change, file.as_str(), &plan, "another", since)?)
        })
    }

    /// A file is a plan of its own, whatever it looks like.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn keep_apart(&self, file: &Name, since: &str) -> Result<(), Error> {
        self.write(|change| {
            let plan = plan_of(change, file.as_str())?;
            Ok(name(change, file.as_str(), &plan, "apart", since)?)
        })
    }

    /// A plan without a file goes on with this one. What the file was saved with under its own name follows after.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn join(&self, plan: &str, file: &Name, since: &str) -> Result<(), Error> {
        self.write(|change| {
            let own = plan_of(change, file.as_str())?;
            let last: u32 = change.query_row(
                "SELECT coalesce(max(number), 0) FROM revision WHERE plan = ?1",
                [plan],
                |row| row.get(0),
            )?;
            for copy in [
                "INSERT INTO revision (plan, number, etag, text, saved, source, written)
                 SELECT ?1, number + ?3, etag, text, saved, source, written FROM revision WHERE plan = ?2 ORDER BY number",
                "INSERT INTO facts (revision, today, ledger, sheets)
                 SELECT new.id, today, ledger, sheets FROM revision old JOIN facts ON facts.revision = old.id
                 JOIN revision new ON new.plan = ?1 AND new.number = old.number + ?3 WHERE old.plan = ?2",
                "INSERT INTO results (revision, program, packed, moved, numbers, lines_in, lines_out)
                 SELECT new.id, program, packed, moved, numbers, lines_in, lines_out FROM revision old JOIN results ON results.revision = old.id
                 JOIN revision new ON new.plan = ?1 AND new.number = old.number + ?3 WHERE old.plan = ?2",
            ] {
                change.execute(copy, params![plan, own, last])?;
            }
            name(change, file.as_str(), plan, "joined", since)?;
            Ok(name(change, "", &own, "put away", since)?)
        })
    }

    /// A plan without a file was deleted on purpose: it is no longer told of.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub(crate) fn put_away(&self, plan: &str, since: &str) -> Result<(), Error> {
        self.write(|change| Ok(name(change, "", plan, "put away", since)?))
    }

    /// The files that were renamed after a moment, last first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub(crate) fn renamed_since(&self, moment: &str) -> Result<Vec<Renamed>, Error> {
        self.read(|connection| {
            let mut all = connection.prepare_cached(
                "SELECT before.file, now.file, now.since FROM named now JOIN named before ON before.id = now.id + 1
                 WHERE now.why = 'renamed' AND before.why = 'left' AND now.since >= ?1 ORDER BY now.id DESC",
            )?;
            let rows =
                all.query_map([moment], |row| Ok(Renamed { from: row.get(0)?, to: row.get(1)?, since: row.get(2)? }))?;
            Ok(rows.collect::<Result<_, _>>()?)
        })
    }
}

/// Whether anything was sold, handed over or opened to others under a plan.
const BOUND: &str =
    "SELECT EXISTS (SELECT 1 FROM ledger WHERE plan = ?1) OR EXISTS (SELECT 1 FROM link WHERE plan = ?1)
    OR EXISTS (SELECT 1 FROM calendar_address WHERE plan = ?1) OR EXISTS (SELECT 1 FROM certificate WHERE plan = ?1)
    OR EXISTS (SELECT 1 FROM issued WHERE plan = ?1)";

/// A word no plan of the record has: no file's name holds its sign.
fn fresh(change: &Transaction<'_>, file: &str) -> rusqlite::Result<String> {
    let before: u32 = change.query_row("SELECT count(*) FROM named WHERE file = ?1", [file], |row| row.get(0))?;
    Ok(format!("{file}{}{}", Name::OF_RECORD, before + 2))
}

fn name(change: &Transaction<'_>, file: &str, plan: &str, why: &str, since: &str) -> rusqlite::Result<()> {
    change.execute(
        "INSERT INTO named (file, plan, why, since) VALUES (?1, ?2, ?3, ?4)",
        params![file, plan, why, since],
    )?;
    Ok(())
}
