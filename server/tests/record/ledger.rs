//! What happened to each print of an edition.

use super::*;

#[tokio::test]
async fn a_print_has_a_story_and_a_place() {
    let studio = Studio::new();
    for line in [
        json!({"number": 1, "what": "printed", "when": "2026-11-02", "words": "Tarn Lab"}),
        json!({"number": 1, "what": "signed", "when": "2026-11-03", "words": "me"}),
        json!({"number": "1", "what": "numbered", "when": "2026-11-03"}),
        json!({"number": 1, "what": "consigned", "when": "2026-11-10", "words": "Lantern Street", "place": "Lantern Street"}),
        json!({"number": "next", "what": "sold", "when": "2026-11-20", "words": "R. Vell", "amount": "4200", "place": "Vell"}),
        json!({"number": "AP 1", "what": "printed", "when": "2026-11-02"}),
    ] {
        let (status, answer) = studio.post("/plan/long-weir/ledger", line).await;
        assert_eq!(status, StatusCode::OK, "{answer}");
    }
    let page = studio.get("/plan/long-weir/ledger").await;
    for part in ["sold to R. Vell for $4,200.00", "consigned to Lantern Street", ">Vell<", "1, and 1 AP", "4 of 5"] {
        assert!(page.contains(part), "{part} is not in {page}");
    }
    // The next number was sold from the wall of a gallery or not: the buyer is on no page for others.
    let ticket = studio.get("/plan/long-weir/ticket/lab").await;
    assert!(!ticket.contains("Vell"));
}

#[tokio::test]
async fn a_line_is_refused_before_the_last_one_and_before_its_day() {
    let studio = Studio::new();
    let line = |what: &str, when: &str| json!({"number": 1, "what": what, "when": when});
    assert_eq!(studio.post("/plan/long-weir/ledger", line("printed", "2026-11-10")).await.0, StatusCode::OK);
    assert_eq!(
        studio.post("/plan/long-weir/ledger", line("sold", "2026-11-09")).await.0,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(
        studio.post("/plan/long-weir/ledger", line("sold", "2026-11-26")).await.0,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(studio.post("/plan/long-weir/ledger", line("printed", "2026-11-11")).await.0, StatusCode::CONFLICT);
    let (status, answer) = studio.post("/plan/long-weir/ledger", line("polished", "2026-11-11")).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer["next"].as_str().unwrap().contains("replaced"));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn of_sixty_four_buyers_for_five_prints_five_get_one() {
    let studio = Studio::new();
    let mut buyers = tokio::task::JoinSet::new();
    for buyer in 0..64 {
        let app = studio.app.clone();
        buyers.spawn(async move {
            let (mut won, mut refused, mut other) = (0, 0, 0);
            for try_ in 0..20 {
                // Some ask for the next number, some for one of their own choice.
                let number = if (buyer + try_) % 2 == 0 { json!("next") } else { json!((buyer + try_) % 5 + 1) };
                let line = json!({"number": number, "what": "sold", "when": "2026-11-25", "words": format!("buyer {buyer}"), "amount": "1"});
                match ask(&app, "POST", "/plan/long-weir/ledger", None, Some(line.to_string().into_bytes())).await.0 {
                    StatusCode::OK => won += 1,
                    StatusCode::CONFLICT => refused += 1,
                    _ => other += 1,
                }
            }
            (won, refused, other)
        });
    }
    let (mut won, mut refused, mut other) = (0, 0, 0);
    while let Some(one) = buyers.join_next().await {
        let one = one.unwrap();
        (won, refused, other) = (won + one.0, refused + one.1, other + one.2);
    }
    // A sale that is in the ledger but whose answer could not be calculated at once is told as busy, never as refused.
    let name = server::names::Name::new("long-weir").unwrap();
    let lines = studio.notebook.store().ledger(&name).unwrap();
    let mut numbers: Vec<_> = lines.iter().map(|line| line.number).collect();
    numbers.sort_unstable();
    assert_eq!((numbers, won + refused + other), (vec![1, 2, 3, 4, 5], 64 * 20));
    assert_eq!((won, other), (5, 0), "{refused} refused");
    assert_eq!(studio.notebook.store().follow_chain().unwrap(), Ok(5));
}

#[tokio::test]
async fn no_line_is_ever_changed_deleted_or_replaced_even_by_another_connection() {
    let studio = Studio::new();
    for number in 1..=3 {
        studio.post("/plan/long-weir/ledger", json!({"number": number, "what": "sold", "when": "2026-11-25"})).await;
    }
    studio.notebook.history.catch_up().unwrap();
    let record = rusqlite::Connection::open(studio.folder.path().join("makeready.db")).unwrap();
    let columns = "plan, kind, number, nth, what, happened, words, amount, place, entered, before, mark";
    for attack in [
        "UPDATE ledger SET words = 'x'".to_owned(),
        "UPDATE OR REPLACE ledger SET number = 2 WHERE number = 1".to_owned(),
        "DELETE FROM ledger".to_owned(),
        "DELETE FROM ledger WHERE id = 3".to_owned(),
        format!("INSERT OR REPLACE INTO ledger SELECT id, {columns} FROM ledger WHERE id = 1"),
        format!("REPLACE INTO ledger SELECT id, {columns} FROM ledger WHERE id = 2"),
        format!("INSERT OR REPLACE INTO ledger ({columns}) SELECT {columns} FROM ledger WHERE id = 3"),
        "INSERT INTO ledger (plan, kind, number, nth, what, happened, words, amount, place, entered, before, mark) VALUES ('long-weir', 'print', 1, 1, 'sold', '2026-11-25', '', '', '', '', '', 'm')".to_owned(),
        "INSERT INTO ledger (plan, kind, number, nth, what, happened, words, amount, place, entered, before, mark) VALUES ('long-weir', 'print', 4, 1, 'sold', '2026-11-25', '', '', '', '', 'not the last', 'm')".to_owned(),
        "INSERT INTO ledger (plan, kind, number, nth, what, happened, words, amount, place, entered, before, mark) SELECT 'long-weir', 'print', 4, 1, 'stolen', '2026-11-25', '', '', '', '', mark, 'm' FROM ledger WHERE id = 3".to_owned(),
        "UPDATE revision SET text = ''".to_owned(),
        "DELETE FROM revision".to_owned(),
        "UPDATE results SET moved = ''".to_owned(),
        "DELETE FROM facts".to_owned(),
    ] {
        assert!(record.execute(&attack, []).is_err(), "{attack} went through");
    }
    assert_eq!(studio.notebook.store().follow_chain().unwrap(), Ok(3));
    // A tool that drops the triggers can change a line, but the chain shows it.
    record.execute_batch("DROP TRIGGER ledger_keeps_its_lines; UPDATE ledger SET amount = '1' WHERE id = 2").unwrap();
    assert_eq!(studio.notebook.store().follow_chain().unwrap(), Err(2));
}

#[tokio::test]
async fn lines_of_an_older_record_are_carried_over_into_the_chain() {
    let folder = tempfile::tempdir().unwrap();
    let record = rusqlite::Connection::open(folder.path().join("makeready.db")).unwrap();
    record.execute_batch(include_str!("../../src/store/1_revisions_and_ledger.sql")).unwrap();
    record.execute_batch("PRAGMA application_id = 1298879076; PRAGMA user_version = 1; INSERT INTO ledger (plan, number, what, happened, words, amount, entered) VALUES ('long-weir', 2, 'reserved', '2026-03-01', 'A', '', 'then'), ('long-weir', 2, 'sold', '2026-04-01', 'A', '900', 'then')").unwrap();
    drop(record);
    std::fs::write(folder.path().join("long-weir.md"), PLAN).unwrap();
    let (notebook, _) = open(folder.path(), "2026-11-25");
    let lines = notebook.store().ledger(&server::names::Name::new("long-weir").unwrap()).unwrap();
    let told: Vec<_> =
        lines.iter().map(|line| (line.print.as_str(), line.what.as_str(), line.words.as_str())).collect();
    assert_eq!(told, [("2", "reserved", "A"), ("2", "sold", "A")]);
    assert_eq!(notebook.store().follow_chain().unwrap(), Ok(2));
}

#[tokio::test]
async fn a_plan_sees_the_ledger_as_of_its_day() {
    let studio = Studio::new();
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20"})).await;
    let studio = studio.on("2026-11-10");
    let sheet: Value = serde_json::from_str(&studio.get("/plan/long-weir/sheet").await).unwrap();
    assert!(sheet["block"].to_string().contains("5 of 5"), "{}", sheet["block"]);
}

#[tokio::test]
async fn an_amount_is_money_and_anything_else_is_refused() {
    let studio = Studio::new();
    for amount in ["lots", "-500", "1e9999", "4.200,50", "NaN", "500 XYZ"] {
        let line = json!({"number": 1, "what": "sold", "when": "2026-11-20", "words": "R. Vell", "amount": amount});
        let (status, answer) = studio.post("/plan/long-weir/ledger", line).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{amount}: {answer}");
        assert_eq!(answer["what"], format!("`{amount}` is not an amount of money"));
        assert!(answer["next"].as_str().unwrap().contains("USD"), "{answer}");
    }
    for (number, amount, kept) in [(1, "4,200", "4200.00 USD"), (2, "€3,100.50", "3100.50 EUR"), (3, "", "")] {
        let line =
            json!({"number": number, "what": "sold", "when": "2026-11-20", "words": "R. Vell", "amount": amount});
        assert_eq!(studio.post("/plan/long-weir/ledger", line).await.0, StatusCode::OK, "{amount}");
        let lines = studio.notebook.store().ledger(&server::names::Name::new("long-weir").unwrap()).unwrap();
        assert_eq!(lines.last().unwrap().amount, kept);
    }
    let page = studio.get("/plan/long-weir/ledger").await;
    assert!(page.contains("for $4,200.00") && page.contains("for €3,100.50"), "{page}");
}

#[tokio::test]
async fn a_number_that_is_reserved_goes_to_no_other_without_a_word() {
    let studio = Studio::new();
    let line = |number: u32, what: &str, words: &str| json!({"number": number, "what": what, "when": "2026-11-20", "words": words});
    for (number, reserved) in [(1, "J. Ames, until the new year"), (2, "J. Ames"), (3, ""), (4, "Ann")] {
        assert_eq!(studio.post("/plan/long-weir/ledger", line(number, "reserved", reserved)).await.0, StatusCode::OK);
    }
    for (number, what, words) in
        [(1, "sold", "R. Vell"), (2, "given away", "R. Vell"), (2, "sold", ""), (4, "sold", "Anna")]
    {
        let (status, answer) = studio.post("/plan/long-weir/ledger", line(number, what, words)).await;
        assert_eq!(status, StatusCode::CONFLICT, "{number} {words}: {answer}");
        assert!(answer["what"].as_str().unwrap().contains("is reserved for"), "{answer}");
        assert!(answer["next"].as_str().unwrap().contains("void the reservation"), "{answer}");
    }
    for (number, words) in [(1, "j.  ames"), (2, "J. Ames, through a gallery"), (3, "R. Vell")] {
        assert_eq!(
            studio.post("/plan/long-weir/ledger", line(number, "sold", words)).await.0,
            StatusCode::OK,
            "{words}"
        );
    }
    assert_eq!(studio.post("/plan/long-weir/ledger", line(4, "voided", "she wrote")).await.0, StatusCode::OK);
    assert_eq!(studio.post("/plan/long-weir/ledger", line(4, "sold", "R. Vell")).await.0, StatusCode::OK);
}
