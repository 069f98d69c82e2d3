//! Changes to the price list of a rate sheet as its page sends them: each is saved at once, and what it moved is told.

use axum::Json;
use axum::body::Bytes;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use engine::Message;
use engine::document::prices::Column;
use engine::document::{Document, price_edit};
use engine::measure::Units;
use serde_json::{Value, json};

use super::extract::{Change, read};
use super::{answer, moves};
use crate::error::Error;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::table;

/// What is done to the list.
#[derive(Debug, serde::Deserialize)]
#[serde(tag = "act", rename_all = "lowercase")]
enum Act {
    /// One cell is filled in.
    Set { row: usize, column: String, value: String },
    /// An item is added, with the cells that were filled in.
    Add { cells: Vec<(String, String)> },
    /// An item is taken out.
    Remove { row: usize },
    /// A day of the quote is filled in: `quoted` or `until`.
    Day { which: String, value: String },
    /// A list from elsewhere is added: lines of cells set apart by tabs, semicolons or commas.
    Paste { text: String },
}

/// Changes the price list.
pub(crate) async fn post(change: Change, body: Bytes) -> Result<Response, Error> {
    let act = read::<Act>(&body)?;
    change.with(move |notebook, name, units, from| changed(notebook, name, units, from, &act)).await
}

fn changed(notebook: &Notebook, name: &Name, units: Option<Units>, from: &str, act: &Act) -> Result<Response, Error> {
    let kept = notebook.text(name)?;
    let ahead = if kept.hash == from { Some(act.on(notebook, name, &kept.text)?) } else { None };
    let is_new = ahead.as_ref().is_none_or(|made| made.text != kept.text.trim_start_matches('\u{feff}'));
    let mut moved = None;
    if let Some(made) = ahead.as_ref().filter(|_| is_new && !notebook.drawing_on(name).is_empty()) {
        moved = Some(moves::told(&notebook.moves(name, &made.text)?));
    }
    let saved = if is_new {
        notebook.rewrite(name, from, |text| act.on(notebook, name, text).map(|made| made.text))?
    } else {
        // The same text makes no new revision.
        notebook.save(name, &kept.text, from)?
    };
    let kept = notebook.text(name)?;
    let worked = notebook.calculator.calculate(name, &kept.text, units)?;
    let mut shown = answer::whole(notebook, &worked, name, Some((saved.revision, &saved.hash)));
    shown.extend(moved.map(|moved| ("moves".to_owned(), moved)));
    if let Some(made) = ahead.filter(|_| matches!(act, Act::Paste { .. })) {
        shown.insert("added".into(), made.added.into());
        shown.insert("unread".into(), made.unread.into());
    }
    Ok(([(header::ETAG, format!("\"{}\"", saved.hash))], Json(shown)).into_response())
}

/// What a change makes of a text.
#[derive(Default)]
struct Made {
    text: String,
    /// Rows a pasted list added.
    added: usize,
    /// Its lines that could not be read, each with the reason.
    unread: Vec<Value>,
}

impl Act {
    fn on(&self, notebook: &Notebook, name: &Name, text: &str) -> Result<Made, Error> {
        let document = Document::read(text);
        let text = match self {
            Self::Set { row, column, value } => price_edit::set(&document, *row, self::column(column)?, value),
            Self::Add { cells } => {
                let cells = cells.iter().map(|(column, value)| Ok((self::column(column)?, value.clone())));
                price_edit::append(&document, &[cells.collect::<Result<_, Error>>()?])
            }
            Self::Remove { row } => price_edit::remove(&document, *row),
            Self::Day { which, value } => {
                return Ok(Made {
                    text: notebook.fill_in(name, text, &format!("head.{which}"), 0, value)?,
                    ..Made::default()
                });
            }
            Self::Paste { text } => return pasted(&document, text).map_err(Error::Unusable),
        };
        Ok(Made { text: text.map_err(Error::Unusable)?, ..Made::default() })
    }
}

fn column(words: &str) -> Result<Column, Error> {
    Column::ALL
        .into_iter()
        .find(|column| column.words() == words)
        .ok_or_else(|| Error::missing(format!("a price list has no column `{words}`"), "look at the page again"))
}

fn pasted(document: &Document, text: &str) -> Result<Made, Message> {
    let rows = table::read(text);
    let cells: Vec<_> = rows.iter().map(|(_, cells)| cells.clone()).collect();
    let found = price_edit::pasted(document, &cells)?;
    let unread = found.unread.iter().map(|(row, why)| {
        let line = rows.get(*row).map_or(0, |(line, _)| *line);
        let words = text.lines().nth(line.saturating_sub(1)).unwrap_or_default();
        json!({"line": line, "text": words, "what": why.what, "next": why.next})
    });
    let unread: Vec<_> = unread.collect();
    if found.rows.is_empty() {
        return Ok(Made { text: document.text.clone(), added: 0, unread });
    }
    Ok(Made { text: price_edit::append(document, &found.rows)?, added: found.rows.len(), unread })
}
