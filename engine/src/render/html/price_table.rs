//! The price list of a rate sheet as blanks: each cell a field of its own, and an empty last row for the next item.

use super::Writer;
use crate::document::prices::{Cell, Column, PriceTable};
use crate::document::tree::{Node, Nodes};
use crate::markup::{Html, Name, Tag};
use crate::trade::price_list::Per;

impl<'a> Writer<'a> {
    /// The price list, whole.
    pub(super) fn price_table(&mut self, node: &Node, rows: Nodes<'a>) {
        let Some(table) = self.prices.take() else { return };
        let (heads, line) = (self.heads(&table), self.line(node));
        drop(self.out.open(Tag::Table).class("prices wide").begins_on(line));
        self.out.fixed("<thead><tr>");
        for (head, column) in heads.iter().zip(&table.columns) {
            let start = self.out.open(Tag::Th).attr(Name::Scope, "col");
            let start = if column.is_some_and(is_number) { start.class("n") } else { start };
            start.says(head);
        }
        self.out.fixed("<td></td></tr></thead><tbody>");
        // The head of the table stands first.
        for (row, (_, cells)) in rows.skip(1).enumerate() {
            drop(self.out.open(Tag::Tr));
            for (at, (_, words)) in cells.enumerate() {
                match table.columns.get(at).copied().flatten() {
                    Some(column) => self.price_cell(&table, row, (column, at), heads.get(at)),
                    // A remark is prose; what stands in a field is shown as it is written.
                    None => {
                        self.open_cell(None, heads.get(at));
                        self.within(Tag::Td, words);
                    }
                }
            }
            self.end_row(&table, row);
        }
        self.next_row(&table, &heads);
        self.out.close(Tag::Tbody).close(Tag::Table).text("\n");
    }

    /// The words above each column; the price says its currency.
    fn heads(&self, table: &PriceTable) -> Vec<String> {
        let code = self.document.front.currency.code;
        let own = table.columns.iter().zip(&table.heads);
        let words = own.map(|(column, head)| match column {
            Some(Column::Price) => format!("price, {code}"),
            Some(column) => column.words().to_owned(),
            None => head.clone(),
        });
        words.collect()
    }

    fn open_cell(&mut self, column: Option<Column>, head: Option<&String>) {
        let tag = if column == Some(Column::Item) { Tag::Th } else { Tag::Td };
        let start = self.out.open(tag);
        let start = if tag == Tag::Th { start.attr(Name::Scope, "row") } else { start };
        let start = if column.is_some_and(is_number) { start.class("n") } else { start };
        // What stands above it is told beside it where the row is a block of its own.
        drop(start.attr(Name::DataHead, head.map_or("", String::as_str)));
    }

    fn price_cell(&mut self, table: &PriceTable, row: usize, (column, at): (Column, usize), head: Option<&String>) {
        let Some(cell) = table.rows.get(row).and_then(|row| row.cells.get(at)) else { return };
        self.open_cell(Some(column), head);
        blank(&mut self.out, row, column, cell.text.trim(), &item(table, row));
        self.wrong_cell(cell);
        self.out.close(if column == Column::Item { Tag::Th } else { Tag::Td });
    }

    /// What is wrong with a cell, beside it.
    fn wrong_cell(&mut self, cell: &Cell) {
        let place = self.document.place(cell.range.start);
        for problem in self.evaluation.problems.iter().filter(|one| (one.line, one.column) == place) {
            self.out.open(Tag::Span).class("problem beside").holds(|out| {
                out.ticked(&super::capital(&problem.what)).text(". ");
                out.open(Tag::Span).class("next").holds(|out| _ = out.ticked(&super::capital(&problem.next)).text("."));
            });
        }
    }

    fn end_row(&mut self, table: &PriceTable, row: usize) {
        self.out.open(Tag::Td).class("off").holds(|out| {
            let button = out.open(Tag::Button).attr(Name::Type, "button").class("do").attr(Name::DataRemove, row);
            button.attr(Name::AriaLabel, format_args!("remove {}", item(table, row))).says("remove");
        });
        self.out.close(Tag::Tr).text("\n");
    }

    /// An empty row, which becomes an item once it is named.
    fn next_row(&mut self, table: &PriceTable, heads: &[String]) {
        drop(self.out.open(Tag::Tr).class("next screen"));
        for (column, head) in table.columns.iter().zip(heads) {
            self.open_cell(*column, Some(head));
            if let Some(column) = column {
                blank(&mut self.out, table.rows.len(), *column, "", "next item");
            }
            self.out.close(if *column == Some(Column::Item) { Tag::Th } else { Tag::Td });
        }
        self.out.fixed("<td class=\"off\"></td>").close(Tag::Tr);
    }
}

fn is_number(column: Column) -> bool {
    !matches!(column, Column::Item | Column::Per)
}

/// What a row is about.
fn item(table: &PriceTable, row: usize) -> String {
    let at = table.columns.iter().position(|column| *column == Some(Column::Item));
    let cell: Option<&Cell> = at.and_then(|at| table.rows.get(row)?.cells.get(at));
    let words = cell.map_or("", |cell| cell.text.trim());
    if words.is_empty() { format!("row {}", row + 1) } else { words.to_owned() }
}

/// One cell as a field: what it holds, and whose it is.
fn blank(out: &mut Html, row: usize, column: Column, text: &str, item: &str) {
    let label = format_args!("{item}, {}", column.words());
    if column == Column::Per {
        let own = Per::of(text);
        out.open(Tag::Span).class("given choice").holds(|out| {
            let select = out.open(Tag::Select).attr(Name::DataRow, row).attr(Name::DataCell, column.words());
            select.attr(Name::AriaLabel, label).holds(|out| {
                if own.is_none() {
                    out.open(Tag::Option).attr(Name::Value, text).flag(Name::Selected, true).says(text);
                }
                for per in Per::ALL {
                    let option = out.open(Tag::Option).attr(Name::Value, per.words());
                    option.flag(Name::Selected, own == Some(per)).says(per.words());
                }
            });
        });
        return;
    }
    out.open(Tag::Span).class("given").holds(|out| {
        let input = out.open(Tag::Input).attr(Name::DataRow, row).attr(Name::DataCell, column.words());
        let input = input.attr(Name::Value, text).attr(Name::Size, text.chars().count().clamp(4, 40));
        let input = match column {
            Column::Item => input,
            Column::Days => input.attr(Name::Inputmode, "numeric"),
            _ => input.attr(Name::Inputmode, "decimal"),
        };
        let input = if item == "next item" && column == Column::Item {
            input.attr(Name::Placeholder, "next item")
        } else {
            input
        };
        drop(input.attr(Name::Autocomplete, "off").attr(Name::AriaLabel, label));
    });
}
