//! Changes to the price list of a rate sheet: a cell rewritten, a row added or taken out, a new sheet begun. Every other byte
//! stays as it is, and each change is read again by what reads price lists, so that nothing is written that says something else.

use std::ops::Range;

use super::Document;
use super::prices::{self, Column, PriceTable};
use crate::Message;
use crate::measure::{Currency, Day, Units};
use crate::trade::price_list::Line;
use crate::trade::{roles, usual_items};

/// The longest text of one cell, in letters.
const LONGEST: usize = 200;
/// Rows of one list.
const MOST: usize = 500;

/// Cells of one row, as entered.
pub type Entered = Vec<(Column, String)>;

/// Rewrites one cell. Rows are counted from 0.
///
/// # Errors
/// When the cell is not there, or its column cannot hold the text.
pub fn set(document: &Document, row: usize, column: Column, text: &str) -> Result<String, Message> {
    let table = list(document)?;
    let text = fit(document, column, text)?;
    let place = table.columns.iter().position(|one| *one == Some(column));
    let cells = table.rows.get(row).map(|row| &row.cells);
    let (Some(place), Some(cell)) = (place, place.zip(cells).and_then(|(place, cells)| cells.get(place))) else {
        return Err(gone());
    };
    if cell.text.trim() == text {
        return Ok(document.text.clone());
    }
    let line = table.rows.get(row).map_or(0, |row| row.line);
    let start = document.lines.start(line);
    let end =
        start + document.text.get(start..).and_then(|rest| rest.lines().next()).map_or(0, |line| line.trim_end().len());
    let written = if cell.range.start < end {
        let (before, after) = around(document, cell.range.clone());
        let gap = |is_there: bool| if is_there || text.is_empty() { "" } else { " " };
        let (lead, tail) = (gap(before.ends_with([' ', '\t'])), gap(after.starts_with([' ', '\t'])));
        format!("{before}{lead}{text}{tail}{after}")
    } else {
        // The row ends before this column: the cells between stay empty.
        let there = table.rows.get(row).map_or(0, |row| row.cells.iter().filter(|cell| cell.range.start < end).count());
        let (before, after) = around(document, end..end);
        let last = if before.ends_with('|') { format!(" {text} |") } else { format!(" | {text}") };
        format!("{before}{}{last}{after}", " |".repeat(place.saturating_sub(there)))
    };
    let mut wanted = texts(&table);
    if let Some(cell) = wanted.get_mut(row).and_then(|row| row.get_mut(place)) {
        *cell = text;
    }
    if column == Column::Item {
        let mut others = wanted.clone();
        let own = others.remove(row);
        named(&table, &others, &own)?;
    }
    checked(written, &wanted)
}

/// Adds rows after the last; cells that were not entered stay empty.
///
/// # Errors
/// When a row has no item or one that is there already, or a column cannot hold its text.
pub fn append(document: &Document, rows: &[Entered]) -> Result<String, Message> {
    let table = list(document)?;
    if table.rows.len() + rows.len() > MOST {
        return Err(Message::new(
            format!("this price list would have more than {MOST} items"),
            "take out what is no longer asked for, or begin a second sheet",
        ));
    }
    // Behind the last row, and as that begins: a list may stand in a quotation.
    let end = document.text.get(..table.end).unwrap_or_default().trim_end().len();
    let last = document.text.get(document.lines.start(document.lines.line(end))..end).unwrap_or_default();
    let lead: String = last.chars().take_while(|c| matches!(c, ' ' | '\t' | '>')).collect();
    let newline = if document.text.contains("\r\n") { "\r\n" } else { "\n" };
    let (mut wanted, mut new) = (texts(&table), String::new());
    for row in rows {
        let mut cells = Vec::new();
        for column in &table.columns {
            let entered = column.and_then(|column| row.iter().find(|(one, _)| *one == column));
            cells.push(entered.map_or(Ok(String::new()), |(column, text)| fit(document, *column, text))?);
        }
        named(&table, &wanted, &cells)?;
        new.push_str(newline);
        new.push_str(&written_row(&lead, &cells));
        wanted.push(cells);
    }
    let (before, after) = around(document, end..end);
    checked(format!("{before}{new}{after}"), &wanted)
}

/// Takes a row out, with its line.
///
/// # Errors
/// When it is not there.
pub fn remove(document: &Document, row: usize) -> Result<String, Message> {
    let table = list(document)?;
    let line = table.rows.get(row).ok_or_else(gone)?.line;
    let (start, next) = (document.lines.start(line), document.lines.start(line + 1));
    let (before, after) = if line < document.lines.count() {
        (document.text.get(..start), document.text.get(next..))
    } else {
        // The last line of a text that ends without a line break takes the one before it along.
        (document.text.get(..start).map(|before| before.trim_end_matches(['\r', '\n'])), None)
    };
    let mut wanted = texts(&table);
    wanted.remove(row);
    checked(format!("{}{}", before.unwrap_or_default(), after.unwrap_or_default()), &wanted)
}

/// What a new rate sheet says in its head.
#[derive(Clone, Debug)]
pub struct NewSheet<'a> {
    /// What the shop does.
    pub trade: &'a str,
    /// What it is called.
    pub name: &'a str,
    /// The day it was asked.
    pub quoted: Day,
    /// The last day its prices hold.
    pub until: Option<Day>,
    /// The currency of its prices.
    pub currency: Currency,
    /// What bare lengths are in.
    pub units: Units,
}

/// The text of a new rate sheet: its head, and a price list of what such a shop usually makes, to be filled in.
///
/// # Errors
/// When its name is not one of one line, its trade is not known, or its prices end before they begin.
pub fn new_sheet(new: &NewSheet<'_>) -> Result<String, Message> {
    let name = new.name.trim();
    if name.is_empty() || name.chars().count() > 120 || name.chars().any(char::is_control) {
        return Err(Message::new(
            "a shop needs a name of one line, at most 120 letters",
            "write what the shop is called",
        ));
    }
    let role = roles::role(new.trade).ok_or_else(|| {
        let all: Vec<_> = roles::ROLES.iter().map(|role| role.name).collect();
        Message::new(format!("`{}` is not a trade", new.trade), format!("choose one of {}", all.join(", ")))
    })?;
    if let Some(until) = new.until.filter(|until| *until < new.quoted) {
        return Err(Message::new(
            format!("the prices would hold until {until}, before they were quoted on {}", new.quoted),
            "look at the two days",
        ));
    }
    let units = if new.units == Units::Metric { "metric" } else { "inch" };
    let mut head = toml_edit::DocumentMut::new();
    let mut put = |key: &str, words: &str| _ = head.insert(key, toml_edit::value(words));
    put("title", name);
    put("kind", "rate sheet");
    put("trade", role.name);
    put("quoted", &new.quoted.iso());
    if let Some(until) = new.until {
        put("until", &until.iso());
    }
    put("currency", new.currency.code);
    put("units", units);
    let mut text = format!("+++\n{head}+++\n\n# {}\n\n", plain(name));
    let columns: Vec<_> = Column::ALL.iter().map(|column| column.words().to_owned()).collect();
    text.push_str(&written_row("", &columns));
    text.push_str("\n|---|---:|---|---:|---:|---:|---:|\n");
    for (item, per) in usual_items::usual(role.name, new.units) {
        let cells = Column::ALL.map(|column| match column {
            Column::Item => item.to_owned(),
            Column::Per => per.words().to_owned(),
            _ => String::new(),
        });
        text.push_str(&written_row("", &cells));
        text.push('\n');
    }
    Ok(text)
}

/// Rows read out of a list that was pasted.
#[derive(Debug, Default)]
pub struct Pasted {
    /// What could be read.
    pub rows: Vec<Entered>,
    /// What could not: the number of the row, and why.
    pub unread: Vec<(usize, Message)>,
}

/// Reads rows of cells as items of the price list. A first row of column heads says which column is which; without one they are
/// those of a new list, in their order. What cannot be read is told and not guessed.
///
/// # Errors
/// When the document has no price list, or the heads name no item or no price.
pub fn pasted(document: &Document, rows: &[Vec<String>]) -> Result<Pasted, Message> {
    let table = list(document)?;
    let of = |head: &String| {
        let head = head.trim().to_lowercase();
        Column::ALL.into_iter().find(|column| column.words() == head)
    };
    let heads: Vec<Option<Column>> = rows.first().map(|row| row.iter().map(of).collect()).unwrap_or_default();
    let is_head = heads.contains(&Some(Column::Item)) && heads.contains(&Some(Column::Price));
    let columns = if is_head { heads } else { Column::ALL.map(Some).to_vec() };
    let (mut found, mut taken) = (Pasted::default(), texts(&table));
    for (index, cells) in rows.iter().enumerate().skip(usize::from(is_head)) {
        if cells.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let read = pasted_row(document, &table, &columns, cells).and_then(|row| {
            let cells = in_columns(&table, &row);
            named(&table, &taken, &cells).map(|()| taken.push(cells)).map(|()| row)
        });
        match read {
            Ok(row) => found.rows.push(row),
            Err(message) => found.unread.push((index, message)),
        }
    }
    Ok(found)
}

fn pasted_row(
    document: &Document,
    table: &PriceTable,
    columns: &[Option<Column>],
    cells: &[String],
) -> Result<Entered, Message> {
    if let Some(beyond) = cells.get(columns.len()..).and_then(|rest| rest.iter().find(|cell| !cell.trim().is_empty())) {
        return Err(Message::new(
            format!("`{}` stands behind the last column", beyond.trim()),
            "put an item with a comma in it in quotes, or paste the list with tabs between its columns",
        ));
    }
    let mut row = Entered::new();
    for (column, cell) in columns.iter().zip(cells) {
        let Some(column) = column else { continue };
        let text = fit(document, *column, cell)?;
        if text.is_empty() {
            continue;
        }
        if !table.columns.contains(&Some(*column)) {
            return Err(Message::new(
                format!("this price list has no column `{}` for `{text}`", column.words()),
                "add the column in the text of the sheet first",
            ));
        }
        row.push((*column, text));
    }
    if !row.iter().any(|(column, _)| *column == Column::Price) {
        return Err(Message::new("this line has no price", "write it in the column behind the item"));
    }
    Ok(row)
}

/// The cells of a row in the order of the table.
fn in_columns(table: &PriceTable, row: &Entered) -> Vec<String> {
    let cell = |column: &Option<Column>| row.iter().find(|(one, _)| Some(*one) == *column);
    table.columns.iter().map(|column| cell(column).map(|(_, text)| text.clone()).unwrap_or_default()).collect()
}

fn list(document: &Document) -> Result<PriceTable, Message> {
    prices::table(document).ok_or_else(|| {
        Message::new("this rate sheet has no price list", "write a table with the columns `item` and `price`")
    })
}

fn gone() -> Message {
    Message::new("this cell is no longer in the price list", "look at the page again")
}

/// The item of a row must have a name, and one of its own among the other rows.
fn named(table: &PriceTable, others: &[Vec<String>], row: &[String]) -> Result<(), Message> {
    let at = table.columns.iter().position(|one| *one == Some(Column::Item)).unwrap_or_default();
    let item = row.get(at).map_or("", String::as_str);
    if item.is_empty() {
        return Err(Message::new("an item needs a name", "write what is made, or remove the row"));
    }
    if others.iter().filter_map(|row| row.get(at)).any(|one| one.to_lowercase() == item.to_lowercase()) {
        return Err(Message::new(format!("`{item}` stands on this price list already"), "give this one another name"));
    }
    Ok(())
}

/// What stands before a place and behind it.
fn around(document: &Document, place: Range<usize>) -> (&str, &str) {
    let text = &document.text;
    (text.get(..place.start).unwrap_or_default(), text.get(place.end..).unwrap_or_default())
}

/// A text as a cell of this column holds it.
fn fit(document: &Document, column: Column, text: &str) -> Result<String, Message> {
    let text = text.trim();
    if text.contains(['|', '`', '\\']) || text.chars().any(char::is_control) || text.chars().count() > LONGEST {
        return Err(Message::new(
            format!("a cell of the price list holds one line of at most {LONGEST} letters, without |, ` or \\"),
            "leave them out, and write a comma or a dash instead",
        ));
    }
    let mut line = Line::default();
    prices::read(&mut line, column, text, document.front.currency, document.front.units)?;
    Ok(if column == Column::Per && !text.is_empty() { line.per.words().to_owned() } else { text.to_owned() })
}

fn written_row(lead: &str, cells: &[String]) -> String {
    let mut row = format!("{lead}|");
    for cell in cells {
        row.push_str(if cell.is_empty() { "" } else { " " });
        row.push_str(cell);
        row.push_str(" |");
    }
    row
}

fn texts(table: &PriceTable) -> Vec<Vec<String>> {
    let row = |row: &prices::PriceRow| row.cells.iter().map(|cell| cell.text.trim().to_owned()).collect();
    table.rows.iter().map(row).collect()
}

/// The new text, when it reads as it is meant to.
fn checked(text: String, wanted: &[Vec<String>]) -> Result<String, Message> {
    let is_as_meant = prices::table(&Document::read(&text)).is_some_and(|table| texts(&table) == wanted);
    if is_as_meant {
        Ok(text)
    } else {
        Err(Message::new(
            "these words would be read as something else in the table",
            "write them in plain letters, without signs such as * _ < or [, or change the table in the text of the sheet",
        ))
    }
}

/// A name as the words of a heading, with nothing in it that Markdown reads as a sign.
fn plain(name: &str) -> String {
    let mut words = String::with_capacity(name.len());
    for c in name.chars() {
        if matches!(c, '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '<' | '>' | '#' | '&' | '~' | '|') {
            words.push('\\');
        }
        words.push(c);
    }
    words
}
