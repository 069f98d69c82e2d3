//! What shops asked, what was really paid, and what either moves.

use super::*;

#[tokio::test]
async fn what_happened_is_written_into_the_text_and_re_dates_the_rest() {
    let studio = Studio::new();
    let answer = studio
        .change(
            "long-weir",
            "/plan/long-weir/happened",
            json!({"kind": "finished", "what": "Proof", "day": "2026-11-06"}),
        )
        .await;
    assert!(answer["problems"].as_array().unwrap().is_empty(), "{answer}");
    studio
        .change(
            "long-weir",
            "/plan/long-weir/happened",
            json!({"kind": "invoiced", "what": "Print", "amount": "$215.40", "day": "2026-11-20"}),
        )
        .await;
    let answer = studio
        .change(
            "long-weir",
            "/plan/long-weir/happened",
            json!({"kind": "snag", "what": "Scratched in the tube", "amount": "40", "step": "Print"}),
        )
        .await;
    assert!(studio.text("long-weir.md").ends_with("## As it went {private}\n\n```workings\nfinished(\"Proof\", \"2026-11-06\");\ninvoiced(\"Print\", 215.4.usd, \"2026-11-20\");\nsnag(\"Scratched in the tube\", 40.usd, \"Print\");\n```\n"));
    let article = answer["article"].as_str().unwrap();
    for part in ["$255.40", "$201.60", "Print, again", "planned", "Scratched in the tube"] {
        assert!(article.contains(part), "{part} is not in {article}");
    }
    let ticket = studio.get("/plan/long-weir/ticket/lab").await;
    assert!(!ticket.contains("As it went") && !ticket.contains("data-step"));
    let etag = studio.etag("long-weir").await;
    let bad = json!({"kind": "invoiced", "what": "Print", "amount": "lots", "day": "2026-11-20"}).to_string();
    assert_eq!(
        studio.ask("POST", "/plan/long-weir/happened", Some(&etag), Some(bad)).await.0,
        StatusCode::UNPROCESSABLE_ENTITY
    );
}

#[tokio::test]
async fn a_new_rate_sheet_tells_what_it_would_move_before_it_is_saved() {
    let studio = Studio::new();
    let draft = SHEET.replace("16.80", "18.20").replace("2026-10-01", "2026-11-20");
    let (status, moves) = studio.ask("POST", &format!("{SHEETS}/moves"), None, Some(draft.clone())).await;
    assert_eq!(status, StatusCode::OK);
    let moves: Value = serde_json::from_str(&moves).unwrap();
    // 12 square feet at 18.20 are 218.40, 16.80 more (identity); the plan says it costs no more than 210.
    assert_eq!(
        moves["plans"][0]["moved"][0],
        json!({"name": "Total", "from": "$201.60", "to": "$218.40", "by": "+$16.80"})
    );
    assert_eq!(moves["plans"][0]["broken"], json!(["It costs no more than 210 dollars"]));
    assert_eq!((moves["moving"].as_u64(), studio.text("shops/tarn-lab.md")), (Some(1), SHEET.to_owned()));
    let (_, filled) =
        studio.post(&format!("{SHEETS}/line"), json!({"line": "foot", "part": 0, "value": "18.20"})).await;
    assert_eq!(filled["text"].as_str(), Some(SHEET.replace("16.80", "18.20").as_str()));
    assert_eq!(filled["dated"], json!(false));
}

#[tokio::test]
async fn a_plan_holds_to_a_quote_until_it_is_let_go() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/hold", json!({"role": "lab", "day": "2026-10-01"})).await;
    assert!(studio.text("long-weir.md").contains("[quotes]\nlab = 2026-10-01\n"));
    let draft = SHEET.replace("16.80", "18.20").replace("2026-10-01", "2026-11-20");
    let (_, moves) = studio.ask("POST", &format!("{SHEETS}/moves"), None, Some(draft.clone())).await;
    let moves: Value = serde_json::from_str(&moves).unwrap();
    assert_eq!((moves["moving"].as_u64(), moves["plans"][0]["held"].as_str()), (Some(0), Some("1 October 2026")));
    studio.save(SHEETS, "shops/tarn-lab", &draft).await;
    let cost = |values: &str| serde_json::from_str::<Value>(values).unwrap()["costs"][0]["amount"].clone();
    assert_eq!(cost(&studio.get("/plan/long-weir/values").await), json!("201.6"));
    studio.change("long-weir", "/plan/long-weir/hold", json!({"role": "lab", "day": null})).await;
    assert_eq!(cost(&studio.get("/plan/long-weir/values").await), json!("218.4"));
    let (status, _) = studio.post("/plan/long-weir/hold", json!({"role": "lab", "day": "2020-01-01"})).await;
    assert_eq!(status, StatusCode::NOT_FOUND);
    let told = studio.notebook.history.check().unwrap();
    assert!(told.differ.is_empty(), "{told:?}");
}

#[tokio::test]
async fn a_piece_that_hangs_keeps_the_prices_of_the_day_it_was_hung() {
    let studio = Studio::new();
    studio.save("/plan/long-weir", "long-weir", &PLAN.replacen("edition", "hung = 2026-11-24\nedition", 1)).await;
    let studio = studio.on("2027-02-01");
    let dearer = SHEET.replace("16.80", "18.20").replace("2026-10-01", "2027-01-20");
    let (_, moves) = studio.ask("POST", &format!("{SHEETS}/moves"), None, Some(dearer.clone())).await;
    let moves: Value = serde_json::from_str(&moves).unwrap();
    assert_eq!((&moves["moving"], &moves["plans"][0]["hung"]), (&json!(0), &json!("24 November 2026")));
    studio.save(SHEETS, "shops/tarn-lab", &dearer).await;
    // 12 square feet at 16.80 are 201.60, at 18.20 they are 218.40 (identity).
    let page = studio.get("/plan/long-weir").await;
    assert!(page.contains("$201.60") && !page.contains("$218.40"), "{page}");
    assert!(page.contains("Installed on 24 November 2026; keeps"), "{page}");
    assert!(studio.get("/year").await.contains("$201.60"));
    // What is made from it is priced as of today, and so is the piece when it is taken down again.
    let (_, made) = studio.post("/plan/long-weir/copy", json!({"title": "Short Weir"})).await;
    assert!(studio.get(made["location"].as_str().unwrap()).await.contains("$218.40"));
    studio.save("/plan/long-weir", "long-weir", PLAN).await;
    assert!(studio.get("/plan/long-weir").await.contains("$218.40"));
    studio.notebook.history.catch_up().unwrap();
    assert!(studio.notebook.history.check().unwrap().holds());
}

#[tokio::test]
async fn a_quote_that_ran_out_is_flagged_in_every_plan_that_uses_it() {
    let studio = Studio::new().on("2027-01-05");
    let page = studio.get("/plan/long-weir").await;
    assert!(page.contains("The quote of Tarn Lab ran out on 31 December 2026"), "{page}");
    assert!(studio.get("/").await.contains("The quote of Tarn Lab ran out"));
}

#[tokio::test]
async fn a_rate_sheet_is_a_table_that_can_be_filled_in() {
    let studio = Studio::new();
    let page = studio.get(SHEETS).await;
    for part in
        ["a square foot", "data-line=\"foot\"", "value=\"16.80\"", "chromogenic", "$201.60", "data-line=\"print_days\""]
    {
        assert!(page.contains(part), "{part} is not in {page}");
    }
}
