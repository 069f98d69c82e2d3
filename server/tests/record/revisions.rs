//! Every save is a revision with its results.

use super::*;

#[tokio::test]
async fn every_save_is_kept_with_what_moved() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    studio.notebook.history.catch_up().unwrap();
    let page = studio.get("/plan/long-weir/history").await;
    // 72 × 24 in are 12 square feet, 201.60; 60 × 24 in are 10, 168.00 (identity).
    assert!(page.contains("Total $201.60 → $168.00"), "{page}");
    assert!(page.contains("from outside") && page.contains("here") && page.contains("1 line added, 1 line removed"));
    let two = studio.get("/plan/long-weir/compare?from=1&to=2").await;
    for part in ["$201.60", "$168.00", "<del>72.inch", "<ins>60.inch", "\u{2212}$33.60"] {
        assert!(two.contains(part), "{part} is not in {two}");
    }
}

#[tokio::test]
async fn a_change_made_outside_is_a_revision_with_results() {
    let studio = Studio::new();
    std::fs::write(studio.folder.path().join("long-weir.md"), PLAN.replace("72.inch", "64.5.inch")).unwrap();
    studio.notebook.look();
    let name = server::names::Name::new("long-weir").unwrap();
    let all = studio.notebook.store().revisions(&name).unwrap();
    assert_eq!((all.len(), all[0].here, all[0].numbers > 0), (2, false, true));
}

#[tokio::test]
async fn what_earlier_changes_came_to_makes_room_for_what_pages_wait_for() {
    let studio = Studio::new();
    let waiting = studio.on("2026-11-26");
    // As opened both files wait; then a rate sheet is saved, and pages wait for what draws on it.
    waiting.save(SHEETS, "shops/tarn-lab", &SHEET.replace("16.80", "18.20")).await;
    let name = server::names::Name::new("long-weir").unwrap();
    let moved = |studio: &Studio| studio.notebook.store().revisions(&name).unwrap()[0].moved.is_some();
    assert_eq!((waiting.notebook.history.catch_up_in_between().unwrap(), moved(&waiting)), (0, false));
    // Once somebody has begun with that, the rest goes on where it stopped.
    waiting.notebook.summaries.catch_up().unwrap();
    assert_eq!((waiting.notebook.history.catch_up_in_between().unwrap() > 0, moved(&waiting)), (true, true));
    assert_eq!(waiting.notebook.history.catch_up().unwrap(), 0);
}

#[tokio::test]
async fn a_revision_is_brought_back_as_a_new_one() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    let back = studio.change("long-weir", "/plan/long-weir/restore", json!({"revision": 1})).await;
    assert_eq!((back["revision"].as_str(), studio.text("long-weir.md")), (Some("3"), PLAN.to_owned()));
    let (status, _) =
        studio.ask("POST", "/plan/long-weir/restore", Some("stale"), Some("{\"revision\":2}".into())).await;
    assert_eq!(status, StatusCode::PRECONDITION_FAILED);
}

#[tokio::test]
async fn every_revision_gives_the_same_again_whatever_happened_since() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    studio
        .post(
            "/plan/long-weir/ledger",
            json!({"number": 1, "what": "sold", "when": "2026-11-25", "words": "A", "amount": "900"}),
        )
        .await;
    studio.save(SHEETS, "shops/tarn-lab", &SHEET.replace("16.80", "18.20").replace("2026-10-01", "2026-11-20")).await;
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "66"})).await;
    let studio = studio.on("2027-03-01");
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "48"})).await;
    studio.notebook.history.catch_up().unwrap();
    let told = studio.notebook.history.check().unwrap();
    assert_eq!((told.revisions, told.same), (6, 6), "{told:?}");
}

#[tokio::test]
async fn a_calculation_that_changed_its_answer_is_named() {
    let studio = Studio::new();
    studio.notebook.history.catch_up().unwrap();
    // A program that worked the print out otherwise: what it kept is changed under our hands.
    let record = rusqlite::Connection::open(studio.folder.path().join("makeready.db")).unwrap();
    record.execute_batch("DROP TRIGGER results_stay_as_found").unwrap();
    let packed: Vec<u8> = record
        .query_row(
            "SELECT packed FROM results JOIN revision ON revision.id = revision WHERE plan = 'long-weir'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    let mut text = String::new();
    std::io::Read::read_to_string(&mut flate2::read::DeflateDecoder::new(packed.as_slice()), &mut text).unwrap();
    let text = text.replace("201.6 USD", "201.59 USD");
    let mut packed = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::fast());
    std::io::Write::write_all(&mut packed, text.as_bytes()).unwrap();
    record.execute("UPDATE results SET packed = ?1, program = '0.0.9' WHERE revision = (SELECT id FROM revision WHERE plan = 'long-weir')", [packed.finish().unwrap()]).unwrap();
    let told = studio.notebook.history.check().unwrap();
    assert_eq!((told.revisions, told.same, told.differ.len()), (2, 1, 1));
    let differs = &told.differ[0];
    let names: Vec<_> = differs.moved.iter().map(|one| one.name.as_str()).collect();
    assert_eq!((differs.program.as_str(), names), ("0.0.9", vec!["Total", "Print"]));
}

#[tokio::test]
async fn a_revision_that_was_wrong_when_it_was_saved_gives_the_same() {
    let studio = Studio::new();
    studio
        .save("/plan/long-weir", "long-weir", &PLAN.replace("let high = 24.inch;", "let high = 24.inch + 3.lb;"))
        .await;
    studio.notebook.history.catch_up().unwrap();
    let told = studio.notebook.history.check().unwrap();
    assert_eq!((told.revisions, told.same, told.holds()), (3, 3, true), "{told:?}");
}
