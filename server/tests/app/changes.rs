//! Changes on the page: a draft shows numbers, a given is one literal, a tick one mark.

use axum::http::{Method, header};
use serde_json::json;

use crate::desk::{Desk, words};

/// The only stretch in which two texts differ.
fn difference<'a>(old: &'a str, new: &'a str) -> (&'a str, &'a str) {
    let front = old.bytes().zip(new.bytes()).take_while(|(a, b)| a == b).count();
    let back = old[front..].bytes().rev().zip(new[front..].bytes().rev()).take_while(|(a, b)| a == b).count();
    (&old[front..old.len() - back], &new[front..new.len() - back])
}

/// Which given of a plan has this label.
async fn given(desk: &Desk, plan: &str, label: &str) -> u64 {
    let values = desk.values(plan).await;
    let all = values["givens"].as_array().unwrap();
    all.iter().find(|one| one["label"] == label).unwrap()["given"].as_u64().unwrap()
}

#[tokio::test]
async fn a_draft_shows_its_numbers_and_saves_nothing() {
    let desk = Desk::shipped();
    let (files, history) = (desk.files(), desk.history("first-plan"));
    // 60 in of 6x12 is 28.47 in high; half as wide is half as high.
    let draft = desk.file("first-plan.md").replace("60.inch", "30.inch");
    let reply = desk.send(Method::POST, "/plan/first-plan/draft", "", draft).await.is(200).json();
    assert!(words(reply["article"].as_str().unwrap()).contains("30 × 14.24 in"), "{reply}");
    assert_eq!(reply["problems"], json!([]));
    assert!(reply.get("etag").is_none() && reply.get("saved").is_none(), "a draft is not a revision");
    assert_eq!((desk.files(), desk.history("first-plan")), (files, history));
}

#[tokio::test]
async fn a_draft_tells_its_problems_with_line_and_column() {
    let desk = Desk::shipped();
    let draft = "# T\n\n```workings\nlet wide = 60.inch;\nlet gapsize = wide / 2;\nlet size = gapsise * 2;\n```\n";
    let reply = desk.send(Method::POST, "/plan/first-plan/draft", "", draft).await.is(200).json();
    assert_eq!(
        reply["problems"],
        json!([{"line": 6, "column": 12, "what": "nothing here is called `gapsise`", "next": "was `gapsize` meant?"}])
    );
}

#[tokio::test]
async fn a_number_given_on_the_page_rewrites_just_that_literal() {
    let desk = Desk::shipped();
    let old = desk.file("causeway-first-light.md");
    let mark = desk.mark("causeway-first-light").await;
    let wide = given(&desk, "causeway-first-light", "Print width").await;
    let reply =
        desk.post("/plan/causeway-first-light/given", &mark, json!({"given": wide, "value": "84"})).await.is(200);
    let new = desk.file("causeway-first-light.md");
    // `90` became `84`: two digits, and not a byte more.
    assert_eq!(difference(&old, &new), ("90", "84"));
    assert!(new.contains("let wide = given(\"Print width\", 84.inch);"));
    // 84 in at 56 × 168 mm is 28 in high. Source: the film's own shape, 1 to 3.
    assert!(words(reply.json()["article"].as_str().unwrap()).contains("84 × 28 in"));
    assert_eq!(reply.json()["revision"], "2");
    assert_eq!(reply.headers[header::ETAG].to_str().unwrap().trim_matches('"'), reply.json()["etag"]);
    assert_eq!(desk.history("causeway-first-light"), [old, new]);
}

#[tokio::test]
async fn a_number_may_come_with_a_unit_of_its_own_or_as_a_fraction() {
    let desk = Desk::shipped();
    let wide = given(&desk, "first-plan", "Print width").await;
    // Without a unit it keeps the one it has.
    for (entered, written) in [
        ("72", "72.inch"),
        (" 72.5 ", "72.5.inch"),
        ("6 ft", "6.ft"),
        ("5 1/2", "(5 + 1/2).ft"),
        ("1800 mm", "1800.mm"),
        ("3/4 in", "(3/4).inch"),
        ("60 in", "60.inch"),
    ] {
        let mark = desk.mark("first-plan").await;
        desk.post("/plan/first-plan/given", &mark, json!({"given": wide, "value": entered})).await.is(200);
        let text = desk.file("first-plan.md");
        assert!(text.contains(&format!("given(\"Print width\", {written})")), "{entered}: {text}");
        assert_eq!(desk.values("first-plan").await["problems"], json!([]), "{entered}");
    }
}

#[tokio::test]
async fn a_choice_rewrites_the_value_and_leaves_the_choices() {
    let desk = Desk::shipped();
    let route = given(&desk, "quarry-upper-bench", "Route").await;
    let old = desk.file("quarry-upper-bench.md");
    let mark = desk.mark("quarry-upper-bench").await;
    desk.post("/plan/quarry-upper-bench/given", &mark, json!({"given": route, "value": "drum scan"})).await.is(200);
    let new = desk.file("quarry-upper-bench.md");
    // They end in the same letters.
    assert_eq!(difference(&old, &new), ("flatbed re", "drum "));
    assert!(new.contains("given(\"Route\", \"drum scan\", [\"drum scan\", \"flatbed rescan\"])"));
    let resolution = given(&desk, "quarry-upper-bench", "Flatbed resolution").await;
    let mark = desk.mark("quarry-upper-bench").await;
    desk.post("/plan/quarry-upper-bench/given", &mark, json!({"given": resolution, "value": "2400\u{a0}ppi"}))
        .await
        .is(200);
    assert!(
        desk.file("quarry-upper-bench.md").contains("given(\"Flatbed resolution\", 2400.ppi, [2400.ppi, 3200.ppi])")
    );
}

#[tokio::test]
async fn what_cannot_be_a_value_is_refused_and_the_file_stays() {
    let desk = Desk::shipped();
    let wide = given(&desk, "first-plan", "Print width").await;
    let resolution = given(&desk, "first-plan", "Scan resolution").await;
    let files = desk.files();
    let mark = desk.mark("first-plan").await;
    for (which, entered, what, next) in [
        (wide, "60 lb", "`lb` is not a unit of `Print width`", ""),
        (wide, "60); cost(\"x\", 1.usd", "", ""),
        (wide, "", "", ""),
        (
            resolution,
            "9999 ppi",
            "`9999 ppi` is not a choice of `Scan resolution`",
            "choose one of 3200\u{a0}ppi, 4000\u{a0}ppi",
        ),
        (99, "60", "this given is no longer in the plan", "look at the page again"),
    ] {
        let reply = desk.post("/plan/first-plan/given", &mark, json!({"given": which, "value": entered})).await;
        assert!(reply.status.is_client_error(), "{entered}: {}", reply.text());
        let told = reply.told();
        assert!(what.is_empty() || told.0 == what, "{entered}: {told:?}");
        assert!(next.is_empty() || told.1 == next, "{entered}: {told:?}");
    }
    assert_eq!(desk.files(), files);
}

#[tokio::test]
async fn a_tick_rewrites_just_that_mark() {
    let desk = Desk::shipped();
    let old = desk.file("causeway-first-light.md");
    let line = old.lines().position(|line| line.starts_with("- [ ] Dust and hairs")).unwrap() + 1;
    for (done, mark_of) in [(true, "[x]"), (false, "[ ]")] {
        let before = desk.file("causeway-first-light.md");
        let mark = desk.mark("causeway-first-light").await;
        desk.post("/plan/causeway-first-light/tick", &mark, json!({"line": line, "done": done})).await.is(200);
        let new = desk.file("causeway-first-light.md");
        assert_eq!(
            new.lines().nth(line - 1).unwrap(),
            format!("- {mark_of} Dust and hairs cleaned by hand, sky first")
        );
        assert_eq!(difference(&before, &new), if done { (" ", "x") } else { ("x", " ") });
    }
    assert_eq!(desk.file("causeway-first-light.md"), old);
}

#[tokio::test]
async fn a_line_without_a_box_cannot_be_ticked() {
    let desk = Desk::shipped();
    let files = desk.files();
    let mark = desk.mark("causeway-first-light").await;
    for line in [0, 1, 5, 100_000] {
        let told = desk
            .post("/plan/causeway-first-light/tick", &mark, json!({"line": line, "done": true}))
            .await
            .is(422)
            .told();
        assert_eq!(told.0, format!("line {line} has no box to tick"));
        assert_eq!(told.1, "the text may have changed: look at the page again");
    }
    assert_eq!(desk.files(), files);
}

#[tokio::test]
async fn what_a_program_sends_wrongly_is_told_in_words() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    for (path, body) in
        [("given", "{"), ("given", "{\"given\":\"x\"}"), ("tick", "[]"), ("ledger", ""), ("copy", "title=x")]
    {
        let reply = desk.send(Method::POST, &format!("/plan/first-plan/{path}"), &mark, body).await.is(422);
        let (what, next) = reply.told();
        assert!(what.starts_with("what was sent "), "{path}: {what}");
        assert!(!next.is_empty(), "{path}");
    }
    for path in ["given", "tick"] {
        let reply = desk
            .send(Method::POST, &format!("/plan/first-plan/{path}"), "", json!({"given": 1, "value": "1"}).to_string())
            .await;
        assert_eq!(reply.is(428).told().0, "this write does not say which text it was made from");
    }
}
