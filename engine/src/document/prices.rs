//! The price list of a rate sheet: the first table of its body with a column `item` and a column `price`.

use std::ops::Range;

use super::tree::{Node, Nodes, Part};
use super::{Document, Problem};
use crate::Message;
use crate::measure::{Currency, Length, Money, Units};
use crate::syntax::units::Unit;
use crate::trade::price_list::{Line, Per, amount};

/// A column of a price list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    /// What is made.
    Item,
    /// The price of one.
    Price,
    /// One of what.
    Per,
    /// The least that is charged.
    Least,
    /// The largest the shorter side may be.
    Widest,
    /// The largest the longer side may be.
    Longest,
    /// How long it takes.
    Days,
}

impl Column {
    /// All of them, in the order of a new price list.
    pub const ALL: [Self; 7] =
        [Self::Item, Self::Price, Self::Per, Self::Least, Self::Widest, Self::Longest, Self::Days];

    /// Its head.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Item => "item",
            Self::Price => "price",
            Self::Per => "per",
            Self::Least => "least charge",
            Self::Widest => "widest",
            Self::Longest => "longest",
            Self::Days => "working days",
        }
    }

    fn of(head: &str) -> Option<Self> {
        let head = head.trim().to_lowercase();
        Self::ALL.into_iter().find(|one| one.words() == head)
    }
}

/// A price list as it is written.
#[derive(Debug)]
pub struct PriceTable {
    /// What each column holds; nothing for remarks.
    pub columns: Vec<Option<Column>>,
    /// The words above each.
    pub heads: Vec<String>,
    /// Its rows, without its head.
    pub rows: Vec<PriceRow>,
    /// Where it begins.
    pub start: usize,
    /// Where it ends.
    pub end: usize,
}

/// One row of it.
#[derive(Debug)]
pub struct PriceRow {
    /// The line of the document, from 1.
    pub line: usize,
    /// Its cells, one for each column.
    pub cells: Vec<Cell>,
}

/// One cell.
#[derive(Debug)]
pub struct Cell {
    /// Where its text stands in the document, without the blanks round it.
    pub range: Range<usize>,
    /// What it says.
    pub text: String,
}

/// The price list of a document; nothing when it has none.
#[must_use]
pub fn table(document: &Document) -> Option<PriceTable> {
    let mut tables = document.nodes().every().filter(|(node, _)| matches!(node.part, Part::Table { .. }));
    tables.find_map(|(table, rows)| {
        let mut rows = rows.map(|(row, cells)| PriceRow {
            line: document.lines.line(row.range.start),
            cells: cells.map(|(cell, words)| Cell::of(document, cell, words)).collect(),
        });
        let heads: Vec<_> = rows.next()?.cells.into_iter().map(|cell| cell.text).collect();
        let columns: Vec<_> = heads.iter().map(|head| Column::of(head)).collect();
        let is_list = [Column::Item, Column::Price].iter().all(|one| columns.contains(&Some(*one)));
        let Range { start, end } = table.range;
        is_list.then(|| PriceTable { columns, heads, rows: rows.collect(), start, end })
    })
}

impl Cell {
    fn of(document: &Document, cell: &Node, words: Nodes<'_>) -> Self {
        let written = document.text.get(cell.range.clone()).unwrap_or_default();
        let start = cell.range.start + written.len() - written.trim_start().len();
        let range = start..start + written.trim().len();
        Self { range, text: words.all().iter().map(|node| document.words(node)).collect() }
    }
}

/// The lines of a price list, and what of it cannot be read. A row without an item is left out.
pub fn lines(document: &Document, table: &PriceTable) -> (Vec<Line>, Vec<Problem>) {
    let (mut lines, mut problems) = (Vec::<Line>::new(), Vec::new());
    let (currency, units) = (document.front.currency, document.front.units);
    for row in &table.rows {
        let mut line = Line::default();
        for (column, cell) in table.columns.iter().zip(&row.cells) {
            let Some(column) = column else { continue };
            if let Err(message) = read(&mut line, *column, cell.text.trim(), currency, units) {
                problems.push(document.problem_at(cell.range.start, message.what, message.next));
            }
        }
        let start = row.cells.first().map_or(0, |cell| cell.range.start);
        if lines.iter().any(|one| one.item.to_lowercase() == line.item.to_lowercase()) && !line.item.is_empty() {
            problems.push(document.problem_at(
                start,
                format!("`{}` stands twice on this price list", line.item),
                "give one of them another name, or take it out",
            ));
        } else if !line.item.is_empty() {
            lines.push(line);
        }
    }
    (lines, problems)
}

/// Reads one cell into a line.
///
/// # Errors
/// When the cell says nothing that its column holds.
pub fn read(line: &mut Line, column: Column, text: &str, currency: Currency, units: Units) -> Result<(), Message> {
    match column {
        Column::Item => text.clone_into(&mut line.item),
        Column::Price => line.price = money(text, currency)?,
        Column::Least => line.least = money(text, currency)?,
        Column::Per => {
            line.per = Per::of(text).ok_or_else(|| {
                let all: Vec<_> = Per::ALL.iter().map(|one| one.words()).collect();
                Message::new(
                    format!("`{text}` is nothing a price is counted by"),
                    format!("write one of {}", all.join(", ")),
                )
            })?;
        }
        Column::Widest => line.widest = length(text, units)?,
        Column::Longest => line.longest = length(text, units)?,
        Column::Days => {
            let days = || text.parse::<u32>().ok().filter(|days| *days <= 1000);
            line.days = match text {
                "" => None,
                _ => Some(days().ok_or_else(|| {
                    Message::new(format!("`{text}` is not a number of working days"), "write a whole number, like 5")
                })?),
            };
        }
    }
    Ok(())
}

fn money(text: &str, currency: Currency) -> Result<Option<Money>, Message> {
    let plain = text.replace(currency.sign.trim(), "").replace(currency.code, "");
    if plain.trim().is_empty() {
        return Ok(None);
    }
    amount(&plain).map(|amount| Some(Money::new(amount, currency))).ok_or_else(|| {
        Message::new(
            format!("`{text}` is not an amount in {}", currency.code),
            "write digits with a point before the cents, like 18.50 or 1250; the currency stands in the head of the sheet",
        )
    })
}

fn length(text: &str, units: Units) -> Result<Option<Length>, Message> {
    if text.is_empty() {
        return Ok(None);
    }
    let wrong = || Message::new(format!("`{text}` is not a length"), "write it like 50 in, 49 1/2 in or 1270 mm");
    let cut = text.find(|c: char| c.is_alphabetic() || c == '"' || c == '″').unwrap_or(text.len());
    let (digits, unit) = (text.get(..cut).unwrap_or_default().trim(), text.get(cut..).unwrap_or_default().trim());
    let unit = match (unit, units) {
        ("", Units::Metric) => Unit::of("mm"),
        ("" | "in" | "\"" | "″" | "inches", _) => Unit::of("inch"),
        (name, _) => Unit::of(name),
    };
    let one = unit.and_then(|unit| Length::of(unit.one)).ok_or_else(wrong)?;
    let fraction = |text: &str| -> Option<f64> {
        match text.split_once('/') {
            Some((upper, lower)) => {
                let (upper, lower) = (upper.trim().parse::<u32>().ok()?, lower.trim().parse::<u32>().ok()?);
                (lower > 0).then(|| f64::from(upper) / f64::from(lower))
            }
            None => text.parse::<f64>().ok(),
        }
    };
    let number = match digits.split_once(' ') {
        Some((whole, part)) if part.contains('/') => {
            whole.parse::<u32>().ok().zip(fraction(part.trim())).map(|(whole, part)| f64::from(whole) + part)
        }
        _ => fraction(digits),
    };
    let number = number.filter(|number| *number > 0.0 && *number < 1e6).ok_or_else(wrong)?;
    Ok(Some(Length::inch(one.to_inch() * number)))
}
