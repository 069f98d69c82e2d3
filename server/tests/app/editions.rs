//! The ledger of an edition: a print is sold once.

use serde_json::json;

use crate::desk::{Desk, words};

#[tokio::test]
async fn a_sale_is_written_down_and_the_next_number_follows() {
    let desk = Desk::shipped();
    let sale = json!({"number": 1, "what": "sold", "when": "2026-11-25", "words": "A. Reader", "amount": "5400"});
    let reply = desk.post("/plan/causeway-first-light/ledger", "", sale).await.is(200).json();
    assert!(words(reply["article"].as_str().unwrap()).contains("The next print is 2/10"), "{reply}");
    let page = words(desk.get("/plan/causeway-first-light").await.text());
    assert!(page.contains("2026-11-25 sold, A. Reader"), "{page}");
    assert!(page.contains("10 prints and 2 artist’s proofs; 9 left."), "{page}");
    let desk = desk.again();
    let page = words(desk.get("/plan/causeway-first-light").await.text());
    assert!(page.contains("2026-11-25 sold, A. Reader"), "it is still there after a restart");
}

#[tokio::test]
async fn a_number_that_is_taken_or_not_of_the_edition_is_refused() {
    let desk = Desk::shipped();
    let sale = |number: serde_json::Value| json!({"number": number, "when": "2026-11-25", "words": "A. Reader"});
    desk.post("/plan/causeway-first-light/ledger", "", sale(json!(3))).await.is(200);
    let told = desk.post("/plan/causeway-first-light/ledger", "", sale(json!(3))).await.is(409).told();
    assert_eq!(told.0, "number 3 is already sold");
    for number in [json!(11), json!(0)] {
        let reply = desk.post("/plan/causeway-first-light/ledger", "", sale(number.clone())).await;
        assert_eq!(reply.status, 409, "{number}: {}", reply.text());
    }
    for number in [json!("three"), json!(-1), json!(1.5), json!(null), json!("4294967296")] {
        let reply = desk.post("/plan/causeway-first-light/ledger", "", sale(number.clone())).await.is(422);
        assert!(reply.told().0.ends_with(" is not a number of a print"), "{number}: {}", reply.text());
    }
    let page = words(desk.get("/plan/causeway-first-light").await.text());
    assert!(page.contains("9 left."), "only the one sale counts: {page}");
}

#[tokio::test]
async fn of_many_sales_of_one_number_exactly_one_wins() {
    let desk = std::sync::Arc::new(Desk::shipped());
    let all = (0..40).map(|buyer| {
        let desk = desk.clone();
        tokio::spawn(async move {
            let sale = json!({"number": buyer % 4 + 1, "when": "2026-11-25", "words": format!("Buyer {buyer}")});
            (buyer % 4, desk.post("/plan/first-plan/ledger", "", sale).await.status.as_u16())
        })
    });
    let mut won = [0; 4];
    for one in all.collect::<Vec<_>>() {
        match one.await.unwrap() {
            (number, 200) => won[number] += 1,
            (_, status) => assert_eq!(status, 409),
        }
    }
    assert_eq!(won, [1, 1, 1, 1]);
}

#[tokio::test]
async fn a_line_that_is_none_is_refused_with_words() {
    let desk = Desk::shipped();
    for (body, what) in [
        (json!({"number": 1, "when": "soon"}), "`soon` is not a day"),
        (json!({"number": 1, "when": "2026-02-30"}), "`2026-02-30` is not a day"),
        (json!({"number": 1, "when": "2026-11-25", "what": "stolen"}), "`stolen` is nothing that happens to a print"),
        (
            json!({"number": 1, "when": "2026-11-25", "words": "a\nb"}),
            "the name is longer than 200 letters or has a line break",
        ),
        (
            json!({"number": 1, "when": "2026-11-25", "amount": "9".repeat(201)}),
            "the amount is longer than 200 letters or has a line break",
        ),
    ] {
        assert_eq!(desk.post("/plan/first-plan/ledger", "", body).await.is(422).told().0, what);
    }
    let plan = Desk::with("# No edition\n");
    let told = plan.post("/plan/p/ledger", "", json!({"number": 1, "when": "2026-11-25"})).await.is(422).told();
    assert_eq!(
        told,
        ("this plan has no edition".into(), "write `edition = 12` in its head, with the number of prints".into())
    );
}

#[tokio::test]
async fn a_mistake_is_put_right_by_a_further_line() {
    let desk = Desk::shipped();
    for (number, what, status) in [(1, "sold", 200), (1, "voided", 200), (1, "sold", 200), (1, "sold", 409)] {
        let body = json!({"number": number, "what": what, "when": "2026-11-25"});
        desk.post("/plan/first-plan/ledger", "", body).await.is(status);
    }
}
