//! A shop begun on the page, and its price list changed there: each cell, each row, a list from elsewhere.

use axum::body::Body;
use axum::http::{Method, Request, header};
use engine::measure::Units;
use engine::trade::usual_items::usual;
use serde_json::{Value, json};

use crate::desk::{Desk, Reply, unescaped};

const LIST: &str = "+++\ntitle = \"Tarn Lab\"\nkind = \"rate sheet\"\ntrade = \"lab\"\nquoted = \"2026-11-02\"\ncurrency = \"USD\"\n+++\n\n# Tarn Lab\n\n| item | price | per | working days | remark |\n|---|---:|---|---:|---|\n| Proof | 28 | piece | 2 | asked `? 1 + 1` times |\n| Gloss | lots | moon | | |\n\nBelow.\n";

fn desk() -> Desk {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("shops")).unwrap();
    std::fs::write(folder.path().join("shops/tarn-lab.md"), LIST).unwrap();
    Desk::on(folder)
}

/// A form as a browser sends it when no script runs.
async fn form(desk: &Desk, fields: &[(&str, &str)]) -> Reply {
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let request = Request::builder()
        .method(Method::POST)
        .uri("/rates/begin")
        .header(header::HOST, "localhost")
        .header("sec-fetch-site", "same-origin")
        .header(header::ACCEPT, "text/html")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    desk.ask(request.body(Body::from(body)).unwrap()).await
}

async fn mark(desk: &Desk) -> String {
    let reply = desk.get("/rates/shops%2Ftarn-lab/text").await;
    reply.headers[header::ETAG].to_str().unwrap().trim_matches('"').to_owned()
}

async fn change(desk: &Desk, act: Value) -> Reply {
    desk.post("/rates/shops%2Ftarn-lab/prices", &mark(desk).await, act).await
}

#[tokio::test]
async fn a_notebook_without_shops_leads_to_the_first_one() {
    let desk = Desk::on(tempfile::tempdir().unwrap());
    let list = desk.get("/rates").await.is(200);
    assert!(list.text().contains("No shop yet.") && list.text().contains("href=\"/rates/begin\""));
    assert!(!list.text().contains("+++"), "nobody is told to type a head");
    assert!(desk.get("/begin").await.is(200).text().contains("href=\"/rates/begin\""));
    let page = unescaped(desk.get("/rates/begin").await.is(200).text());
    assert!(page.contains("value=\"2026-11-25\""), "the day of the quote is today");
    for trade in ["scanner", "retoucher", "lab", "mounter", "framer", "installer", "carrier"] {
        assert!(page.contains(&format!("<option value=\"{trade}\">")), "{trade}");
    }
}

#[tokio::test]
async fn a_shop_is_begun_with_a_plain_form_and_opens_as_a_list_of_blanks() {
    let desk = Desk::on(tempfile::tempdir().unwrap());
    let fields = [
        ("trade", "framer"),
        ("name", "Quoin & \"Rabbet\""),
        ("currency", "EUR"),
        ("units", "metric"),
        ("quoted", "2026-11-20"),
        ("until", ""),
    ];
    let reply = form(&desk, &fields).await.is(303);
    assert_eq!(reply.headers[header::LOCATION], "/rates/shops%2Fquoin-rabbet");
    let text = desk.file("shops/quoin-rabbet.md");
    assert!(text.contains("title = 'Quoin & \"Rabbet\"'\nkind = \"rate sheet\"\ntrade = \"framer\""), "{text}");
    assert!(text.contains("| Float frame, ash | | running m | | | | |\n"), "{text}");
    let page = unescaped(desk.get("/rates/shops%2Fquoin-rabbet").await.is(200).text());
    assert!(page.contains("aria-label=\"Float frame, ash, price\"") && page.contains("price, EUR"), "{page}");
    assert!(page.contains("aria-label=\"next item, item\""));
    // The same name once more is a shop of its own, and the next form begins as the last shop was.
    let reply = form(&desk, &fields).await.is(303);
    assert_eq!(reply.headers[header::LOCATION], "/rates/shops%2Fquoin-rabbet-2");
    assert!(desk.get("/rates/begin").await.text().contains("<option value=\"EUR\" selected>"));
}

#[tokio::test]
async fn a_form_that_cannot_be_used_is_shown_again_with_what_was_entered() {
    let desk = Desk::on(tempfile::tempdir().unwrap());
    let good = [
        ("trade", "lab"),
        ("name", "Tarn <b>"),
        ("currency", "GBP"),
        ("units", "inch"),
        ("quoted", "2026-11-20"),
        ("until", "2027-01-31"),
    ];
    for (field, value, words) in [
        ("trade", "", "is not a trade"),
        ("trade", "<script>", "is not a trade"),
        ("name", "", "A shop needs a name"),
        ("name", "…", "no letter and no digit"),
        ("name", "a\nb", "of one line"),
        ("currency", "QQQ", "QQQ is not a currency"),
        ("quoted", "", "is not a day"),
        ("until", "2026-11-01", "before they were quoted"),
        ("until", "soon", "is not a day"),
    ] {
        let entered = good.map(|(name, old)| (name, if name == field { value } else { old }));
        let reply = form(&desk, &entered).await.is(422);
        let page = unescaped(reply.text());
        assert!(page.contains(words) && page.contains("role=\"alert\""), "{field} {value}: {page}");
        assert!(field == "name" || page.contains("value=\"Tarn <b>\""), "{page}");
        assert!(!reply.text().contains("<script>\"") && !reply.text().contains("value=\"Tarn <b>\""), "it is escaped");
    }
    assert_eq!(desk.files(), [], "nothing was begun");
}

#[tokio::test]
async fn a_cell_changed_on_the_page_rewrites_just_that_cell() {
    let desk = desk();
    let reply =
        change(&desk, json!({"act": "set", "row": 0, "column": "price", "value": "30.50"})).await.is(200).json();
    assert_eq!(desk.file("shops/tarn-lab.md"), LIST.replace("| 28 |", "| 30.50 |"));
    assert_eq!((&reply["revision"], reply.get("moves")), (&json!("2"), None), "no plan uses it");
    assert!(unescaped(reply["article"].as_str().unwrap()).contains("value=\"30.50\""));
    // The same once more makes no revision.
    let reply =
        change(&desk, json!({"act": "set", "row": 0, "column": "price", "value": "30.50"})).await.is(200).json();
    assert_eq!(reply["revision"], "2");
    assert_eq!(desk.history("shops/tarn-lab").len(), 2);
}

#[tokio::test]
async fn what_cannot_be_read_is_told_and_nothing_is_saved() {
    let desk = desk();
    for (act, what, status) in [
        (json!({"act": "set", "row": 0, "column": "price", "value": "much"}), "`much` is not an amount in USD", 422),
        (json!({"act": "set", "row": 0, "column": "per", "value": "moon"}), "`moon`", 422),
        (json!({"act": "set", "row": 0, "column": "item", "value": "Gloss"}), "already", 422),
        (json!({"act": "set", "row": 0, "column": "widest", "value": "5 in"}), "no longer in the price list", 422),
        (json!({"act": "set", "row": 0, "column": "colour", "value": "5"}), "no column `colour`", 404),
        (json!({"act": "set", "row": 9, "column": "price", "value": "5"}), "no longer in the price list", 422),
        (json!({"act": "add", "cells": [["price", "5"]]}), "an item needs a name", 422),
        (json!({"act": "add", "cells": [["item", "a|b"], ["price", "5"]]}), "without |", 422),
        (json!({"act": "remove", "row": 2}), "no longer in the price list", 422),
        (json!({"act": "day", "which": "quoted", "value": ""}), "without its day", 422),
        (json!({"act": "day", "which": "title", "value": "2026-01-01"}), "no `title`", 404),
        (json!({"act": "burn"}), "cannot be read", 422),
    ] {
        let reply = change(&desk, act.clone()).await.is(status);
        assert!(reply.told().0.contains(what), "{act}: {:?}", reply.told());
    }
    let act = json!({"act": "set", "row": 0, "column": "price", "value": "5"});
    desk.post("/rates/shops%2Ftarn-lab/prices", "", act.clone()).await.is(428);
    let stale = desk.post("/rates/shops%2Ftarn-lab/prices", "other", act).await.is(412).json();
    assert_eq!(stale["theirs"], LIST);
    assert_eq!(desk.file("shops/tarn-lab.md"), LIST);
    assert_eq!(desk.history("shops/tarn-lab").len(), 1);
}

#[tokio::test]
async fn rows_come_and_go_and_the_days_of_the_quote_are_filled_in() {
    let desk = desk();
    change(&desk, json!({"act": "add", "cells": [["price", "9"], ["item", "Tube"]]})).await.is(200);
    let longer = LIST.replace("| | |\n\n", "| | |\n| Tube | 9 | | | |\n\n");
    assert_eq!(desk.file("shops/tarn-lab.md"), longer);
    change(&desk, json!({"act": "remove", "row": 1})).await.is(200);
    let shorter = longer.replace("| Gloss | lots | moon | | |\n", "");
    assert_eq!(desk.file("shops/tarn-lab.md"), shorter);
    change(&desk, json!({"act": "day", "which": "quoted", "value": "2026-11-24"})).await.is(200);
    assert_eq!(desk.file("shops/tarn-lab.md"), shorter.replace("2026-11-02", "2026-11-24"));
}

#[tokio::test]
async fn a_cell_that_cannot_be_read_says_so_beside_it_and_a_remark_stays_prose() {
    let desk = desk();
    let page = unescaped(desk.get("/rates/shops%2Ftarn-lab").await.is(200).text());
    let after = |words: &str| page.split_once(words).unwrap_or_else(|| panic!("{words}: {page}")).1;
    assert!(after("aria-label=\"Gloss, price\"").split("</td>").next().unwrap().contains("is not an amount in USD"));
    assert!(after("aria-label=\"Gloss, per\"").split("</td>").next().unwrap().contains("problem beside"));
    assert!(page.contains("<option value=\"moon\" selected>"), "what is written stays to be seen");
    assert!(after("aria-label=\"Proof, working days\"").contains("asked <span class=\"found\">2</span> times"));
}

#[tokio::test]
async fn a_pasted_list_is_added_and_what_is_left_of_it_comes_back() {
    let desk = desk();
    let list = "Rag\t22,40\tm2\nFerry\tabout 90\nProof\t30\n";
    let reply = change(&desk, json!({"act": "paste", "text": list})).await.is(200).json();
    assert_eq!(reply["added"], 1);
    let unread = reply["unread"].as_array().unwrap();
    let told: Vec<_> = unread.iter().map(|one| (one["line"].as_u64(), one["text"].as_str().unwrap())).collect();
    assert_eq!(told, [(Some(2), "Ferry\tabout 90"), (Some(3), "Proof\t30")]);
    assert!(unread[0]["what"].as_str().unwrap().contains("`about 90` is not an amount"), "{reply}");
    assert_eq!(desk.file("shops/tarn-lab.md"), LIST.replace("| | |\n\n", "| | |\n| Rag | 22,40 | m² | | |\n\n"));
    let reply = change(&desk, json!({"act": "paste", "text": "nothing to read\n"})).await.is(200).json();
    assert_eq!((&reply["added"], &reply["revision"]), (&json!(0), &json!("2")), "nothing to add makes no revision");
}

#[tokio::test]
async fn plans_that_use_the_sheet_are_told_what_a_price_moved() {
    let desk = desk();
    desk.outside(
        "weir.md",
        "+++\ntitle = \"Weir\"\n[shops]\nlab = \"shops/tarn-lab\"\n+++\n\n# Weir\n\n```workings\ncost(\"Proof\", shop(\"lab\").quote(\"Proof\"));\n```\n",
    );
    let page = desk.get("/plan/weir").await.is(200);
    assert!(page.text().contains("$28.00"), "{}", page.text());
    assert!(desk.get("/rates/shops%2Ftarn-lab").await.text().contains("New prices belong to a new quote"));
    let reply =
        change(&desk, json!({"act": "set", "row": 0, "column": "price", "value": "30.50"})).await.is(200).json();
    let plan = &reply["moves"]["plans"][0];
    assert_eq!((&plan["title"], &reply["moves"]["moving"]), (&json!("Weir"), &json!(1)), "{}", reply["moves"]);
    let moved = plan["moved"].as_array().unwrap();
    assert!(moved.iter().any(|one| one["from"] == "$28.00" && one["to"] == "$30.50"), "{moved:?}");
    assert!(desk.get("/plan/weir").await.text().contains("$30.50"));
}

#[test]
fn what_a_stage_asks_for_stands_on_the_new_list_of_its_trade() {
    let stages = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../static/stages");
    let mut asked = 0;
    for file in std::fs::read_dir(stages).unwrap() {
        let text = std::fs::read_to_string(file.unwrap().path()).unwrap();
        // let paper = given("Printed as", "Chromogenic, gloss", shop("lab").items);
        for line in text.lines().filter(|line| line.contains("given(") && line.contains(".items)")) {
            let words: Vec<_> = line.split('"').collect();
            let items = usual(words[5], Units::Inch);
            assert!(items.iter().any(|(item, _)| *item == words[3]), "{line}: {items:?}");
            asked += 1;
        }
    }
    assert!(asked >= 7, "{asked}");
}
