//! The next piece made from a plan, and a plan begun empty.

use axum::body::Body;
use axum::http::{Method, Request, header};
use serde_json::json;

use crate::desk::{Desk, words};

#[tokio::test]
async fn the_next_piece_keeps_the_givens_and_leaves_the_history_behind() {
    let desk = Desk::shipped();
    desk.post("/plan/grain-elevator-noon/ledger", "", json!({"number": 1, "when": "2026-07-01", "words": "A. Reader"}))
        .await
        .is(200);
    let reply = desk.post("/plan/grain-elevator-noon/copy", "", json!({"title": "Silo, Evening"})).await.is(200).json();
    assert_eq!(reply["location"], "/plan/silo-evening");
    let (old, new) = (desk.file("grain-elevator-noon.md"), desk.file("silo-evening.md"));

    // Its head: a title of its own, where it came from, a fresh start, not hung; edition and shops as they were.
    assert!(new.contains("title = \"Silo, Evening\"\n"));
    assert!(new.contains("from = \"grain-elevator-noon\"\n"));
    assert!(new.contains("start = 2026-11-25\n") && !new.contains("start = 2026-04-27"));
    assert!(!new.contains("hung = "));
    assert!(new.contains("edition = 12\n") && new.contains("lab = \"shops/tidewater-lab\"\n"));

    // Its boxes are cleared, all of them.
    assert!(old.matches("- [x]").count() > 10 && !new.contains("- [x]"));
    assert_eq!(new.matches("- [ ]").count(), old.matches("- [x]").count() + old.matches("- [ ]").count());

    // Its givens are kept, letter by letter.
    let givens =
        |text: &str| text.lines().filter(|line| line.contains("given(")).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(givens(&new), givens(&old));

    // It says on its page what it was made from, and its ledger is empty.
    let page = words(desk.get("/plan/silo-evening").await.is(200).text());
    assert!(
        page.contains("Made from Grain Elevator, Noon ; look through the givens before anything is ordered."),
        "{page}"
    );
    assert!(page.contains("12 prints and 1 artist’s proof; 12 left."), "{page}");
    let past = words(desk.get("/plan/grain-elevator-noon").await.is(200).text());
    assert!(past.contains("11 left") && past.contains("A. Reader"), "the old ledger stays where it was");

    // Its steps begin afresh: nothing is due before today.
    let steps = desk.values("silo-evening").await["steps"].as_array().unwrap().clone();
    assert!(!steps.is_empty() && steps.iter().all(|step| step["start"].as_str().unwrap() >= "2026-11-25"), "{steps:?}");
    assert_eq!(desk.values("silo-evening").await["problems"], json!([]));
    assert_eq!(desk.file("grain-elevator-noon.md"), old, "the plan it was made from is untouched");
}

#[tokio::test]
async fn every_shipped_plan_makes_a_next_piece_without_a_problem() {
    let desk = Desk::shipped();
    for plan in ["boathouse-window", "causeway-first-light", "first-plan", "grain-elevator-noon", "quarry-upper-bench"]
    {
        let reply = desk
            .post(&format!("/plan/{plan}/copy"), "", json!({"title": format!("After {plan}")}))
            .await
            .is(200)
            .json();
        let location = reply["location"].as_str().unwrap();
        let values = desk.get(&format!("{location}/values")).await.is(200).json();
        assert_eq!(values["problems"], json!([]), "{plan}");
    }
}

#[tokio::test]
async fn a_title_used_before_gets_a_number_and_overwrites_nothing() {
    let desk = Desk::shipped();
    let first = desk.file("first-plan.md");
    let mut places = Vec::new();
    for _ in 0..3 {
        let reply = desk.post("/plan/first-plan/copy", "", json!({"title": "First plan"})).await.is(200).json();
        places.push(reply["location"].as_str().unwrap().to_owned());
    }
    assert_eq!(places, ["/plan/first-plan-2", "/plan/first-plan-3", "/plan/first-plan-4"]);
    assert_eq!(desk.file("first-plan.md"), first);
}

#[tokio::test]
async fn a_name_that_once_had_a_ledger_is_not_used_again() {
    let desk = Desk::shipped();
    desk.post("/plan/first-plan/ledger", "", json!({"number": 1, "when": "2026-11-25"})).await.is(200);
    std::fs::remove_file(desk.path("first-plan.md")).unwrap();
    let reply = desk.post("/begin", "", json!({"title": "First plan"})).await.is(200).json();
    assert_eq!(reply["location"], "/plan/first-plan-2", "no new plan finds an old ledger under its name");
}

#[tokio::test]
async fn many_begun_at_once_under_one_title_are_all_kept() {
    let desk = std::sync::Arc::new(Desk::shipped());
    let all = (0..8).map(|_| {
        let desk = desk.clone();
        tokio::spawn(async move {
            let reply = desk.post("/begin", "", json!({"title": "Fog"})).await.is(200).json();
            reply["location"].as_str().unwrap().to_owned()
        })
    });
    let mut places = std::collections::BTreeSet::new();
    for one in all.collect::<Vec<_>>() {
        places.insert(one.await.unwrap());
    }
    assert_eq!(places.len(), 8, "{places:?}");
}

#[tokio::test]
async fn an_empty_plan_is_begun_with_its_title() {
    let desk = Desk::shipped();
    for (title, slug) in [
        ("Salt Works, Low Tide", "salt-works-low-tide"),
        ("  Über den Fluß  ", "über-den-fluß"),
        ("He said \"no\" \\ 1", "he-said-no-1"),
        ("干潟", "干潟"),
        ("con", "plan-con"),
    ] {
        let reply = desk.post("/begin", "", json!({"title": title})).await.is(200).json();
        let text = desk.file(&format!("{slug}.md"));
        assert_eq!(engine::document::Document::read(&text).title(), title.trim(), "{text}");
        let page = desk.get(reply["location"].as_str().unwrap()).await.is(200);
        assert!(words(page.text()).contains(title.trim()), "{title}");
        assert!(!page.text().contains("class=\"problem\""), "{title}");
    }
}

#[tokio::test]
async fn a_form_works_without_scripts() {
    let desk = Desk::shipped();
    let request = Request::post("/begin")
        .header(header::HOST, "localhost")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    let reply = desk.ask(request.body(Body::from("title=Fog%2C+early&from=first-plan")).unwrap()).await.is(303);
    assert_eq!(reply.headers[header::LOCATION], "/plan/fog-early");
    assert!(desk.file("fog-early.md").contains("from = \"first-plan\""));
}

#[tokio::test]
async fn a_title_that_is_none_is_refused_with_words() {
    let desk = Desk::shipped();
    let files = desk.files();
    for title in ["", "   ", "…", "two\nlines", &"long ".repeat(40)] {
        for path in ["/begin", "/plan/first-plan/copy"] {
            let reply = desk.post(path, "", json!({"title": title})).await.is(422);
            let (what, next) = reply.told();
            assert!(
                what == "a plan needs a title of one line, at most 120 letters"
                    || what == "the title holds no letter and no digit",
                "{title:?}: {what}"
            );
            assert!(next.starts_with("give the "), "{next}");
        }
    }
    let told = desk.post("/plan/none/copy", "", json!({"title": "Next"})).await.is(404).told();
    assert_eq!(told.0, "there is no `none.md` in this notebook");
    let told = desk.send(Method::POST, "/begin", "", "not data").await.is(422).told();
    assert_eq!(told, ("what was sent has no title".into(), "write the title of the artwork".into()));
    assert_eq!(desk.files(), files);
}
