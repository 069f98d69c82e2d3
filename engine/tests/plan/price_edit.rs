//! Changes to a price list: one cell, one row, a new sheet, a list from elsewhere; and that nothing else of the text moves.

use engine::document::price_edit::{NewSheet, append, new_sheet, pasted, remove, set};
use engine::document::prices::{self, Column};
use engine::document::{Document, Kind};
use engine::measure::{Currency, Day, Units};
use engine::trade::roles::ROLES;
use proptest::prelude::*;

const SHEET: &str = "+++\nkind = \"rate sheet\"\ncurrency = \"USD\"\n+++\n\n# Tarn Lab\n\nBefore | it.\n\n| note | Item | price | per | least charge | widest | working days |\n|---|:---|---:|---|---|--|-|\n| a `b` | Gloss | 18.50 | ft² | 40 | 50 in | 5 |\n|| Small proof|28||||2|\n| | Rag | | m2 |\n\nAfter it.\n\n| item | price |\n|---|---|\n| Another | 1 |\n";

fn sheet(text: &str) -> Document {
    Document::read(text)
}

/// The texts of the list's rows.
fn rows(text: &str) -> Vec<Vec<String>> {
    let table = prices::table(&sheet(text)).expect("there is a price list");
    table.rows.iter().map(|row| row.cells.iter().map(|cell| cell.text.trim().to_owned()).collect()).collect()
}

#[test]
fn a_cell_is_rewritten_and_every_other_byte_stays() {
    for (row, column, entered, old, new) in [
        (0, Column::Price, "19", "| 18.50 |", "| 19 |"),
        (0, Column::Price, "", "| 18.50 |", "|  |"),
        (0, Column::Per, "square metre", "| ft² |", "| m² |"),
        (0, Column::Item, " Gloss, wet ", "| Gloss |", "| Gloss, wet |"),
        (1, Column::Price, "$30", "|28|", "| $30 |"),
        (1, Column::Widest, "49 1/2 in", "|28||||2|", "|28||| 49 1/2 in |2|"),
        (1, Column::Item, "Proof", "| Small proof|", "| Proof |"),
        (2, Column::Price, "22,40", "| Rag | | m2 |", "| Rag | 22,40 | m2 |"),
    ] {
        assert_eq!(SHEET.matches(old).count(), 1, "{old}");
        assert_eq!(set(&sheet(SHEET), row, column, entered).unwrap(), SHEET.replace(old, new), "{entered}");
    }
}

#[test]
fn a_cell_the_row_leaves_out_can_be_filled_in() {
    let text = set(&sheet(SHEET), 2, Column::Days, "7").unwrap();
    assert_eq!(rows(&text)[2], ["", "Rag", "", "m2", "", "", "7"]);
    let back = |text: &str| text.lines().filter(|line| !line.contains("Rag")).collect::<Vec<_>>().join("\n");
    assert_eq!(back(&text), back(SHEET));
    for (old, new) in [
        ("|item|price|per|\n|-|-|-|\n|x|", "|item|price|per|\n|-|-|-|\n|x| | m² |"),
        ("item|price|per\n-|-|-\nx|2\n", "item|price|per\n-|-|-\nx|2 | m²\n"),
    ] {
        assert_eq!(set(&sheet(old), 0, Column::Per, "m2").unwrap(), new);
    }
}

#[test]
fn the_same_value_changes_nothing() {
    assert_eq!(set(&sheet(SHEET), 0, Column::Price, " 18.50 ").unwrap(), SHEET);
}

#[test]
fn what_the_column_cannot_hold_is_refused_with_how_to_write_it() {
    for (column, entered, what, next) in [
        (Column::Price, "lots", "`lots` is not an amount in USD", "18.50"),
        (Column::Price, "-5", "`-5` is not an amount in USD", "18.50"),
        (Column::Per, "moon", "`moon`", "ft²"),
        (Column::Widest, "50 lb", "`50 lb` is not a length", "50 in"),
        (Column::Widest, "wide", "`wide` is not a length", "50 in"),
        (Column::Days, "2.5", "`2.5` is not a number of working days", "whole number"),
        (Column::Item, "", "needs a name", "remove the row"),
        (Column::Item, "small PROOF", "`small PROOF` stands on this price list already", "another name"),
        (Column::Item, "a | b", "without |", "comma"),
        (Column::Item, "`? price`", "without |, ` or \\", "comma"),
        (Column::Item, "a\\", "without |, ` or \\", "comma"),
        (Column::Item, "a\nb", "one line", "comma"),
        (Column::Item, "a\u{0}b", "one line", "comma"),
        (Column::Item, "*wet*", "read as something else", "plain letters"),
        (Column::Item, "[x](https://a.example)", "read as something else", "plain letters"),
        (Column::Item, "a &amp; b", "read as something else", "plain letters"),
        (Column::Longest, "120 in", "no longer in the price list", "look at the page"),
    ] {
        let message = set(&sheet(SHEET), 0, column, entered).expect_err(entered);
        assert!(message.what.contains(what) && message.next.contains(next), "{entered}: {message}");
    }
    assert!(set(&sheet(SHEET), 3, Column::Price, "1").is_err());
    assert!(set(&sheet("# No list\n"), 0, Column::Price, "1").is_err());
}

#[test]
fn a_row_is_added_after_the_last_of_the_first_list() {
    let row =
        vec![(Column::Item, "Tube".to_owned()), (Column::Price, "9".to_owned()), (Column::Per, "each".to_owned())];
    let text = append(&sheet(SHEET), std::slice::from_ref(&row)).unwrap();
    assert_eq!(text, SHEET.replace("| | Rag | | m2 |\n", "| | Rag | | m2 |\n| | Tube | 9 | piece | | | |\n"));
    assert!(append(&sheet(&text), std::slice::from_ref(&row)).is_err(), "it is there already");
    let both = append(&sheet(SHEET), &[row.clone(), row]).unwrap_err();
    assert!(both.what.contains("`Tube`"), "{both}");
    assert!(append(&sheet(SHEET), &[vec![(Column::Price, "9".to_owned())]]).is_err(), "it has no name");
    // At the end of a text, in a quotation, with the line breaks of another system.
    for (old, new) in [
        ("|item|price|\n|-|-|", "|item|price|\n|-|-|\n| A | 1 |"),
        ("> |item|price|\n> |-|-|\n> |x|2|\n", "> |item|price|\n> |-|-|\n> |x|2|\n> | A | 1 |\n"),
        (
            "|item|price|\r\n|-|-|\r\n|x|2|\r\n\r\nEnd.\r\n",
            "|item|price|\r\n|-|-|\r\n|x|2|\r\n| A | 1 |\r\n\r\nEnd.\r\n",
        ),
    ] {
        let row = vec![(Column::Item, "A".to_owned()), (Column::Price, "1".to_owned())];
        assert_eq!(append(&sheet(old), &[row]).unwrap(), new);
    }
}

#[test]
fn a_row_is_taken_out_with_its_line() {
    for (row, line) in [
        (0, "| a `b` | Gloss | 18.50 | ft² | 40 | 50 in | 5 |\n"),
        (1, "|| Small proof|28||||2|\n"),
        (2, "| | Rag | | m2 |\n"),
    ] {
        assert_eq!(remove(&sheet(SHEET), row).unwrap(), SHEET.replace(line, ""));
    }
    assert!(remove(&sheet(SHEET), 3).is_err());
    assert_eq!(remove(&sheet("|item|price|\n|-|-|\n|x|2|"), 0).unwrap(), "|item|price|\n|-|-|");
    assert_eq!(remove(&sheet("|item|price|\r\n|-|-|\r\n|x|2|\r\n|y|3|"), 1).unwrap(), "|item|price|\r\n|-|-|\r\n|x|2|");
}

fn new<'a>(trade: &'a str, name: &'a str) -> NewSheet<'a> {
    let (quoted, until) = (Day::parse("2026-11-25").unwrap(), Day::parse("2027-04-30"));
    NewSheet { trade, name, quoted, until, currency: Currency::of("EUR").unwrap(), units: Units::Metric }
}

#[test]
fn a_new_sheet_reads_back_as_what_was_entered() {
    for name in [
        "Tarn Lab",
        "Ä \"quoted\" lab",
        "Lab 'n' more",
        "a # b {for=lab}",
        "*x* & <b>y</b> | \\",
        "+++",
        "[x](y)",
        "`? 1`",
    ] {
        for role in ROLES {
            let text = new_sheet(&new(role.name, name)).unwrap();
            let document = sheet(&text);
            assert_eq!(document.problems, [], "{text}");
            let front = &document.front;
            assert_eq!((front.kind, front.title.as_deref()), (Kind::RateSheet, Some(name)), "{text}");
            assert_eq!(front.trade.as_deref(), Some(role.name));
            assert_eq!((front.quoted, front.until), (Day::parse("2026-11-25"), Day::parse("2027-04-30")));
            assert_eq!((front.currency.code, front.units), ("EUR", Units::Metric));
            assert_eq!((document.sections.len(), document.sections[0].title.as_str()), (1, name), "{text}");
            assert_eq!(document.asks.len(), 0);
            let table = prices::table(&document).unwrap();
            assert_eq!(table.columns, Column::ALL.map(Some));
            let (lines, problems) = prices::lines(&document, &table);
            assert_eq!(problems, []);
            assert!(lines.len() >= 2 && lines.iter().all(|line| line.price.is_none()), "{text}");
        }
    }
}

#[test]
fn a_new_sheet_without_a_name_a_trade_or_a_day_to_hold_is_refused() {
    for (new, what) in [
        (new("lab", "  "), "needs a name"),
        (new("lab", "two\nlines"), "one line"),
        (new("baker", "Loaf"), "`baker` is not a trade"),
        (NewSheet { until: Day::parse("2026-11-24"), ..new("lab", "Tarn") }, "before they were quoted"),
    ] {
        let message = new_sheet(&new).unwrap_err();
        assert!(message.what.contains(what), "{message}");
    }
    let text = new_sheet(&NewSheet { until: None, ..new("lab", "Tarn") }).unwrap();
    assert!(!text.contains("until"), "{text}");
}

fn cells(rows: &[&[&str]]) -> Vec<Vec<String>> {
    rows.iter().map(|row| row.iter().map(|cell| (*cell).to_owned()).collect()).collect()
}

#[test]
fn a_pasted_list_becomes_rows_and_what_cannot_be_read_is_told() {
    let document = sheet(&new_sheet(&new("carrier", "Tarn")).unwrap());
    let list = cells(&[
        &["Long van", "1.250,00 €", "each"],
        &["", "", ""],
        &["Ferry", "about 90"],
        &["Van, local", "80"],
        &["Toll"],
        &["Gloss", "wet", "18"],
        &["Long van", "3"],
        &["a", "1", "m2", "", "", "", "5", "extra"],
        &["Glass van", "99,50", "piece", "", "2000", "3 m", "2"],
    ]);
    let found = pasted(&document, &list).unwrap();
    let told: Vec<_> = found.unread.iter().map(|(row, why)| (*row, why.what.as_str())).collect();
    assert_eq!(
        told,
        [
            (2, "`about 90` is not an amount in EUR"),
            (3, "`Van, local` stands on this price list already"),
            (4, "this line has no price"),
            (5, "`wet` is not an amount in EUR"),
            (6, "`Long van` stands on this price list already"),
            (7, "`extra` stands behind the last column"),
        ]
    );
    let text = append(&document, &found.rows).unwrap();
    let added: Vec<_> = text.lines().skip_while(|line| !line.starts_with("| Insurance")).skip(1).collect();
    assert_eq!(
        added,
        ["| Long van | 1.250,00 € | piece | | | | |", "| Glass van | 99,50 | piece | | 2000 | 3 m | 2 |"]
    );
}

#[test]
fn a_pasted_list_may_name_its_columns() {
    let document = sheet(SHEET);
    let found = pasted(&document, &cells(&[&["Price", "whose", "ITEM"], &["9", "ours", "Tube"]])).unwrap();
    assert_eq!(found.rows, [[(Column::Price, "9".to_owned()), (Column::Item, "Tube".to_owned())]]);
    let found = pasted(&document, &cells(&[&["item", "price", "longest"], &["Tube", "9", "60 in"]])).unwrap();
    assert!(found.rows.is_empty() && found.unread[0].1.what.contains("no column `longest`"), "{found:?}");
}

proptest! {
    /// Whatever is entered anywhere, either it stands in that cell and nowhere else, or nothing is written.
    #[test]
    fn a_cell_holds_what_was_entered_or_it_is_refused(
        row in 0_usize..4, column in 0_usize..7, entered in "[-a-z0-9|`*_<>&\\[\\]\\\\ .,$€²\u{a0}\"'#~!(){}:/\n]{0,12}",
    ) {
        let (document, column) = (sheet(SHEET), Column::ALL[column]);
        if let Ok(text) = set(&document, row, column, &entered) {
            let at = prices::table(&document).unwrap().columns.iter().position(|one| *one == Some(column)).unwrap();
            let mut wanted = rows(SHEET);
            let read = rows(&text);
            if column != Column::Per {
                wanted[row][at] = entered.trim().to_owned();
            } else {
                wanted[row][at].clone_from(&read[row][at]);
            }
            prop_assert_eq!(read, wanted);
            prop_assert!(text.ends_with(&SHEET[SHEET.find("\n\nAfter it.").unwrap()..]));
            prop_assert!(text.starts_with(&SHEET[..SHEET.find("| a `b`").unwrap()]));
        }
    }
}
