//! A record that is damaged lets nobody in over the network, takes nothing in, and says what to do.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::path::Path;

use program::{Program, notebook, run, set_passphrase};
use server::store::FILE;

const PLAN: &str = "+++\ntitle = \"Quiet\"\nedition = 5\n+++\n\n# Quiet\n\nAs it was.\n";

/// A notebook with a passphrase, whose record is damaged from a page on.
fn damaged(from: usize) -> tempfile::TempDir {
    let folder = notebook(&[("quiet", PLAN)]);
    set_passphrase(folder.path(), "four quiet words by the weir").ends_with(0);
    let mut program = Program::start(folder.path(), &[]);
    assert_eq!(program.get("/plan/quiet").status, 200);
    program.end();
    let record = folder.path().join(FILE);
    let mut bytes = std::fs::read(&record).unwrap();
    for byte in &mut bytes[from..] {
        *byte = byte.wrapping_mul(7).wrapping_add(13);
    }
    std::fs::write(&record, bytes).unwrap();
    folder
}

fn ends_with_two(root: &Path) {
    let said = run(&["serve", ".", "--lan", "--port", "0"], root).ends_with(2);
    assert!(said.err.contains("record is damaged") && said.err.contains("bring back a copy"), "{}", said.err);
    assert!(!said.out.contains("Open "), "{}", said.out);
}

#[test]
fn a_record_that_cannot_be_read_lets_nobody_in() {
    // The second page on, and all of it.
    for from in [8192, 0] {
        let folder = damaged(from);
        ends_with_two(folder.path());
        assert_eq!(std::fs::read_to_string(folder.path().join("quiet.md")).unwrap(), PLAN);
    }
}

#[test]
fn a_damaged_record_takes_nothing_in_and_says_what_to_do() {
    let folder = damaged(8192);
    let before = std::fs::read(folder.path().join(FILE)).unwrap();
    let program = Program::start(folder.path(), &[]);
    let from = program.plan("quiet").etag();
    let saved = program.save("quiet", &from, "# Quiet\n\nOtherwise.\n");
    assert_eq!(saved.status, 507, "{}", saved.text());
    let sale = br#"{"number":1,"when":"2026-11-25","words":"a buyer"}"#;
    let sold = program.ask("POST", "/plan/quiet/ledger", &[("Sec-Fetch-Site", "same-origin")], sale).unwrap();
    assert!(sold.status >= 500, "{} {}", sold.status, sold.text());
    let page = program.ask("GET", "/", &[("Accept", "text/html")], b"").unwrap();
    let words = page.text();
    assert!(page.header("content-type").is_some_and(|kind| kind.starts_with("text/html")), "{words}");
    assert!(words.contains("damaged") && words.contains("bring back a copy"), "{words}");
    // The text is still given out, and neither file was touched.
    assert_eq!(program.plan("quiet").text(), PLAN);
    drop(program);
    assert_eq!(std::fs::read_to_string(folder.path().join("quiet.md")).unwrap(), PLAN);
    let after = std::fs::read(folder.path().join(FILE)).unwrap();
    let changed: Vec<_> =
        after.iter().zip(&before).enumerate().filter(|(_, (a, b))| a != b).map(|(at, _)| at).collect();
    assert!(changed.is_empty() && after.len() == before.len(), "{} to {}: {changed:?}", before.len(), after.len());
}
