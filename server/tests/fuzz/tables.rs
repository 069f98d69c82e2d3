//! Tables with cells of any text, read back by another crate than the one that writes them.

use axum::http::StatusCode;
use serde_json::json;

use crate::asked::Asked;
use crate::tries::{Tries, text};

const CELLS: &[&str] = &[
    "a",
    "b c",
    "12",
    "0.5",
    "1e9",
    "-",
    "+",
    "=",
    "@",
    "=1+1",
    "-2",
    "+inf",
    "-nan",
    "infinity",
    "-0x1",
    "＝",
    "－",
    "＠",
    ",",
    ";",
    "\"",
    "\"\"",
    "'",
    "`",
    "|",
    "\t",
    "\\",
    "{",
    "${",
    "é",
    "e\u{301}",
    "\u{202e}",
    "\u{feff}",
    "\u{2028}",
    "🖼",
    " ",
    "  ",
    "=cmd|' /C calc'!A0",
];

/// Rows as another reader understands them.
fn read(table: &[u8]) -> Vec<Vec<String>> {
    let mut reader = simd_csv::ReaderBuilder::new().has_headers(false).from_reader(table);
    let (mut record, mut rows) = (simd_csv::ByteRecord::new(), Vec::new());
    while reader.read_byte_record(&mut record).unwrap() {
        rows.push(record.iter().map(|cell| String::from_utf8(cell.to_vec()).unwrap()).collect());
    }
    rows
}

/// A cell is the text that was put into it, but that one that would be a calculation stands behind an apostrophe.
#[track_caller]
fn is_right(cell: &str, text: &str) {
    assert!(cell == text || cell.strip_prefix('\'') == Some(text), "{text:?} became {cell:?}");
    let begins = |signs: &[char]| cell.starts_with(signs);
    let digits = cell.trim_start_matches(['+', '-']);
    let number = digits.starts_with(|first: char| first.is_ascii_digit() || first == '.')
        && digits.chars().all(|letter| letter.is_ascii_digit() || ".eE+-".contains(letter))
        && digits.parse::<f64>().is_ok();
    let calculates = begins(&['=', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']) || (begins(&['+', '-']) && !number);
    assert!(!calculates, "{cell:?} is taken for a calculation");
    assert!(
        cell == text || text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']),
        "{cell:?}"
    );
}

#[test]
fn cells_of_any_text_are_read_back_as_they_were_and_never_calculate() {
    let mut asked = Asked::new();
    let (mut sold, mut checked) = (Vec::new(), 0);
    let mut tries = Tries::of("tables", 11, CELLS, 80);
    while let Some(cell) = tries.next(|dice| text(dice, CELLS, 5)) {
        let cell: String = cell.chars().filter(|letter| *letter == '\t' || !letter.is_control()).take(150).collect();
        // As a text of the script language: what would end it or begin a value in it stands behind a backslash.
        let literal = cell.replace('\\', "\\\\").replace('"', "\\\"").replace('\t', "\\t");
        let plan = format!(
            "+++\ntitle = \"Cells\"\nedition = 3\n+++\n\n```workings\ncost(\"{literal}\", 12.50.usd);\nstep(\"{literal}\", 2.days);\n```\n"
        );
        std::fs::write(asked.folder.path().join("cells.md"), &plan).unwrap();
        let compiled = std::sync::Arc::default();
        let worked = server::evaluator::calculate(&plan, &crate::facts(), &Default::default(), &compiled);
        tries.showed(&cell, worked.evaluation.problems.iter().map(|problem| problem.what.clone()));
        for (table, column) in [("costs", 0), ("schedule", 0)] {
            let (status, body) = asked.get(&format!("/plan/cells/tables/{table}.csv"));
            assert_eq!(status, StatusCode::OK, "{cell:?}");
            let rows = read(&body);
            assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{cell:?}");
            let record = &worked.evaluation.record;
            let texts: Vec<_> = match table {
                "costs" => record.costs.iter().map(|line| &line.what).collect(),
                _ => record.steps.iter().map(|step| &step.what).collect(),
            };
            assert_eq!(rows.len(), 1 + texts.len(), "{cell:?}");
            for (row, text) in rows[1..].iter().zip(texts) {
                is_right(&row[column], text);
                checked += 1;
            }
            tries.showed(&cell, rows[1..].iter().map(|row| format!("{table} {}", kind(&row[column]))));
        }
        // In the ledger, and in the one that goes along with an archive.
        let number = sold.len() + 1;
        let line = json!({ "number": number, "when": "2026-11-25", "words": cell, "amount": "900", "place": cell });
        let (status, _) = asked.write("/plan/one/ledger", line.to_string());
        if status == 200 {
            sold.push(cell.trim().to_owned());
        }
        if sold.len() == 5 {
            let rows = read(&asked.get("/plan/one/tables/ledger.csv").1);
            assert_eq!(rows.len(), 6);
            for (row, text) in rows[1..].iter().zip(&sold) {
                [4, 7].into_iter().for_each(|cell| is_right(&row[cell], text));
                assert_eq!(row[5..7], ["900.00", "USD"]);
            }
            let archive = asked.get("/plan/one/archive?ledger=whole").1;
            let mut zip = zip::ZipArchive::new(std::io::Cursor::new(archive)).unwrap();
            let mut table = Vec::new();
            std::io::Read::read_to_end(&mut zip.by_name("ledger.csv").unwrap(), &mut table).unwrap();
            let rows = read(&table);
            assert_eq!(rows.len(), 6);
            for (row, text) in rows[1..].iter().zip(&sold) {
                [4, 6].into_iter().for_each(|cell| is_right(&row[cell], text));
                checked += 2;
            }
            sold.clear();
            asked = Asked::new();
        }
    }
    println!("{checked} cells were read back");
    assert!(checked > 200, "only {checked} cells");
}

/// What a reader of tables makes a difference of.
fn kind(cell: &str) -> String {
    cell.chars().filter(|letter| ",;\"'=+-@\t ".contains(*letter)).take(2).collect()
}
