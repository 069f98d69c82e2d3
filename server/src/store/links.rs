//! Addresses under which a shop reads its ticket, and when they were opened.

use rusqlite::{Connection, OptionalExtension as _, Row, params};

use super::Store;
use super::access::mark;
use super::plans::{name_of, plan_of};
use crate::error::Error;
use crate::names::Name;

/// Openings that are listed of one link; further ones are kept only as the last.
const LISTED: u32 = 50;

/// One link, without its secret: that is nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    /// Its row.
    pub id: i64,
    /// The plan, by the name of the file it has now; one that has none has no name a file could have.
    pub plan: String,
    /// The shop, as the plan's head calls it.
    pub role: String,
    /// The shop's name when the link was made.
    pub shop: String,
    /// What the plan's head named for it then: its rate sheet, or its name. Links of an earlier version do not have it.
    pub sheet: Option<String>,
    /// The plan's revision then.
    pub revision: u32,
    /// What the ticket said then, line by line.
    pub said: String,
    /// When it was made, in universal time.
    pub made: String,
    /// When it ends.
    pub expires: String,
    /// When it was revoked, if it was.
    pub revoked: Option<String>,
    /// When it was opened and from where, newest first.
    pub opened: Vec<Opened>,
}

/// One time a link was opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opened {
    /// When, in universal time.
    pub when: String,
    /// The network address it was opened from.
    pub address: String,
    /// What the browser calls itself.
    pub browser: String,
}

/// A link to be made.
#[derive(Clone, Debug)]
pub struct NewLink {
    /// Its secret part.
    pub token: String,
    /// The shop, as the plan's head calls it.
    pub role: String,
    /// The shop's name.
    pub shop: String,
    /// What the plan's head names for it: its rate sheet, or its name.
    pub sheet: String,
    /// The plan's revision.
    pub revision: u32,
    /// What the ticket says, line by line.
    pub said: String,
    /// When it ends.
    pub expires: String,
}

impl Store {
    /// Makes a link.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn make_link(&self, plan: &Name, link: NewLink, made: &str) -> Result<(), Error> {
        let (plan, hash) = (plan.as_str(), mark(&link.token));
        self.write(|change| {
            let plan = plan_of(change, plan)?;
            change.execute(
                "INSERT INTO link (hash, plan, role, shop, sheet, revision, said, made, expires) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
                params![hash, plan, link.role, link.shop, link.sheet, link.revision, link.said, made, link.expires],
            )?;
            Ok(())
        })
    }

    /// The links of a plan, newest first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn links(&self, plan: &Name) -> Result<Vec<Link>, Error> {
        let plan = plan.as_str();
        self.read(|connection| {
            let plan = plan_of(connection, plan)?;
            let mut all = connection.prepare_cached(
                "SELECT id, plan, role, shop, sheet, revision, said, made, expires, revoked FROM link WHERE plan = ?1 ORDER BY id DESC",
            )?;
            let links: Vec<Link> = all.query_map([plan], read)?.collect::<Result<_, _>>()?;
            drop(all);
            links.into_iter().map(|link| Ok(Link { opened: opened(connection, link.id)?, ..link })).collect()
        })
    }

    /// The link of a secret, when it is neither revoked nor at its end.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn link(&self, token: &str, now: &str) -> Result<Option<Link>, Error> {
        let hash = mark(token);
        self.read(|connection| {
            let link = connection
                .query_row(
                    "SELECT id, plan, role, shop, sheet, revision, said, made, expires, revoked FROM link WHERE hash = ?1",
                    [hash],
                    read,
                )
                .optional()?;
            let open = link.filter(|link| link.revoked.is_none() && link.expires.as_str() > now);
            open.map(|link| Ok(Link { plan: name_of(connection, &link.plan)?.as_str().to_owned(), ..link })).transpose()
        })
    }

    /// Revokes a link of a plan. One that is revoked already stays so.
    ///
    /// # Errors
    /// When the plan has no such link, or the record cannot be written.
    pub fn revoke_link(&self, plan: &Name, id: i64, now: &str) -> Result<(), Error> {
        let plan = plan.as_str();
        self.write(|change| {
            let plan = plan_of(change, plan)?;
            let found: Option<bool> = change
                .query_row("SELECT revoked IS NULL FROM link WHERE id = ?1 AND plan = ?2", params![id, plan], |row| {
                    row.get(0)
                })
                .optional()?;
            match found {
                Some(true) => {
                    change.execute("UPDATE link SET revoked = ?2 WHERE id = ?1", params![id, now])?;
                    Ok(())
                }
                Some(false) => Ok(()),
                None => Err(Error::missing("this plan has no such link", "look at its list of links")),
            }
        })
    }

    /// Notes that a link was opened, once an hour for one address and browser.
    ///
    /// # Errors
    /// When the record cannot be written.
    pub fn note_opened(&self, id: i64, opened: Opened) -> Result<(), Error> {
        self.write_in_passing(|change| {
            let hour = opened.when.get(..13).unwrap_or(&opened.when).to_owned();
            let known: bool = change.query_row(
                "SELECT EXISTS (SELECT 1 FROM link_opened WHERE link = ?1 AND address = ?2 AND browser = ?3 AND substr(opened, 1, 13) = ?4)
                    OR (SELECT count(*) FROM link_opened WHERE link = ?1 AND substr(opened, 1, 13) = ?4) >= 20",
                params![id, opened.address, opened.browser, hour],
                |row| row.get(0),
            )?;
            if !known {
                change.execute(
                    "INSERT INTO link_opened (link, opened, address, browser) VALUES (?1, ?2, ?3, ?4)",
                    params![id, opened.when, opened.address, opened.browser],
                )?;
            }
            Ok(())
        })
    }
}

fn read(row: &Row<'_>) -> rusqlite::Result<Link> {
    Ok(Link {
        id: row.get(0)?,
        plan: row.get(1)?,
        role: row.get(2)?,
        shop: row.get(3)?,
        sheet: row.get(4)?,
        revision: row.get(5)?,
        said: row.get(6)?,
        made: row.get(7)?,
        expires: row.get(8)?,
        revoked: row.get(9)?,
        opened: Vec::new(),
    })
}

fn opened(connection: &Connection, link: i64) -> Result<Vec<Opened>, Error> {
    let mut all = connection
        .prepare_cached("SELECT opened, address, browser FROM link_opened WHERE link = ?1 ORDER BY id DESC LIMIT ?2")?;
    let rows = all.query_map(params![link, LISTED], |row| {
        Ok(Opened { when: row.get(0)?, address: row.get(1)?, browser: row.get(2)? })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}
