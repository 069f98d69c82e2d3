//! Saving a whole text: the file, its revision, and what happens when two write at once.

use axum::http::{Method, header};
use serde_json::json;

use crate::desk::Desk;

#[tokio::test]
async fn a_save_writes_the_file_and_a_revision() {
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    let new = format!("{old}\nOne more line.\n");
    let mark = desk.mark("first-plan").await;
    let reply = desk.put("first-plan", &mark, &new).await.is(200);
    assert_eq!(desk.file("first-plan.md"), new);
    assert_eq!(desk.history("first-plan"), [old, new]);
    let json = reply.json();
    assert_eq!((&json["revision"], &json["saved"]), (&json!("2"), &json!("saved, revision 2")));
    assert_eq!(json["etag"], desk.mark("first-plan").await);
}

#[tokio::test]
async fn a_save_survives_a_restart() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    desk.put("first-plan", &mark, "# One\n").await.is(200);
    let desk = desk.again();
    let text = desk.get("/plan/first-plan/text").await.is(200);
    assert_eq!(text.text(), "# One\n");
    assert_eq!(desk.history("first-plan").len(), 2, "opening again adds no revision");
    let mark = text.headers[header::ETAG].to_str().unwrap().trim_matches('"').to_owned();
    assert_eq!(desk.put("first-plan", &mark, "# Two\n").await.is(200).json()["revision"], "3");
}

#[tokio::test]
async fn a_save_keeps_every_byte() {
    let desk = Desk::shipped();
    for text in [
        "",
        "\n",
        "no line end",
        "\u{feff}# With a mark in front\n",
        "a\r\nb\r\nc",
        "mixed\r\nends\nhere\r",
        "tab\tand\u{a0}space \u{1f5bc} e\u{301} \u{e9}\n",
        "nul \0 inside\n",
    ] {
        let mark = desk.mark("first-plan").await;
        desk.put("first-plan", &mark, text).await.is(200);
        assert_eq!(desk.file("first-plan.md"), text);
        assert_eq!(desk.history("first-plan").last().unwrap(), text);
    }
}

#[tokio::test]
async fn a_byte_order_mark_stays_in_front_of_what_the_program_changes() {
    let desk = Desk::with(
        "\u{feff}+++\ntitle = \"P\"\n+++\n# P\n\n```workings\nlet wide = given(\"Wide\", 60.inch);\nstep(\"Proof\", 1.day);\n```\n\n- [ ] a box\n",
    );
    let given = json!({"given": 0, "value": "58"});
    desk.post("/plan/p/given", &desk.mark("p").await, given).await.is(200);
    desk.post("/plan/p/tick", &desk.mark("p").await, json!({"line": 11, "done": true})).await.is(200);
    let finished = json!({"kind": "finished", "what": "Proof", "day": "2026-11-24"});
    desk.post("/plan/p/happened", &desk.mark("p").await, finished).await.is(200);
    let text = desk.file("p.md");
    assert!(text.starts_with("\u{feff}+++") && text.matches('\u{feff}').count() == 1, "{text:?}");
    assert!(text.contains("58.inch") && text.contains("- [x] a box") && text.contains("finished("), "{text}");
    // What a page writes on is the text with its mark.
    assert_eq!(desk.get("/plan/p/text").await.is(200).text(), text);
}

#[tokio::test]
async fn what_a_plan_does_not_have_and_less_than_none_are_refused() {
    let plan = "# P\n\n```workings\nlet wide = given(\"Wide\", 60.inch);\nlet off = given(\"Off\", 5.usd);\nstep(\"Proof\", 1.day);\ncost(\"Print\", 20.usd);\n```\n";
    let desk = Desk::with(plan);
    let mark = desk.mark("p").await;
    for (path, body, what, next) in [
        (
            "happened",
            json!({"kind": "finished", "what": "Poof", "day": "2026-11-24"}),
            "no step of this plan is called `Poof`",
            "was `Proof` meant?",
        ),
        (
            "happened",
            json!({"kind": "invoiced", "what": "Frame", "amount": "3", "day": "2026-11-24"}),
            "no cost of this plan is called `Frame`",
            "write it as the cost is called",
        ),
        (
            "happened",
            json!({"kind": "quoted", "what": "Prints", "amount": "3", "day": "2026-11-24"}),
            "no cost of this plan is called `Prints`",
            "was `Print` meant?",
        ),
        (
            "happened",
            json!({"kind": "snag", "what": "Torn", "step": "Scan"}),
            "no step of this plan is called `Scan`",
            "write it as the step is called",
        ),
        (
            "given",
            json!({"given": 0, "value": "-5"}),
            "`Wide` cannot be -5: there is no less than none of it",
            "write a number from zero up",
        ),
    ] {
        let told = desk.post(&format!("/plan/p/{path}"), &mark, body).await.is(422).told();
        assert_eq!((told.0.as_str(), told.1.as_str()), (what, next));
    }
    assert_eq!(desk.file("p.md"), plan);
    // Money may be taken off.
    desk.post("/plan/p/given", &mark, json!({"given": 1, "value": "-5"})).await.is(200);
}

#[tokio::test]
async fn a_stale_save_is_refused_with_both_texts_and_loses_neither() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    let (theirs, mine) = ("# Theirs\n", "# Mine\n");
    let first = desk.put("first-plan", &mark, theirs).await.is(200).json();
    let refused = desk.put("first-plan", &mark, mine).await.is(412).json();
    assert_eq!(refused["what"], "this document was changed meanwhile, here in another window or outside");
    assert_eq!(refused["next"], "look at both texts and choose; neither is lost");
    assert_eq!(refused["theirs"], theirs);
    assert_eq!(refused["etag"], first["etag"]);
    assert_eq!(desk.file("first-plan.md"), theirs);
    // Chosen with the mark of the other text, mine becomes the next revision and theirs stays among them.
    desk.put("first-plan", refused["etag"].as_str().unwrap(), mine).await.is(200);
    assert_eq!(desk.file("first-plan.md"), mine);
    assert_eq!(desk.history("first-plan")[1..], [theirs.to_owned(), mine.to_owned()]);
}

#[tokio::test]
async fn a_given_and_a_tick_made_from_an_old_text_are_refused_too() {
    let desk = Desk::shipped();
    let mark = desk.mark("causeway-first-light").await;
    let newer = desk.file("causeway-first-light.md").replace("A tidal road", "The tidal road");
    desk.put("causeway-first-light", &mark, &newer).await.is(200);
    for (path, body) in [("given", json!({"given": 1, "value": "80"})), ("tick", json!({"line": 89, "done": true}))] {
        let refused = desk.post(&format!("/plan/causeway-first-light/{path}"), &mark, body).await.is(412).json();
        assert_eq!(refused["theirs"], newer.as_str());
    }
    assert_eq!(desk.file("causeway-first-light.md"), newer);
}

#[tokio::test]
async fn a_save_that_does_not_say_what_it_was_made_from_is_refused() {
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    let told = desk.put("first-plan", "", "# Blind\n").await.is(428).told();
    assert_eq!(told.0, "this write does not say which text it was made from");
    assert_eq!(told.1, "send the mark of the text in the header `If-Match`");
    desk.put("first-plan", "*", "# Blind\n").await.is(412);
    assert_eq!(desk.file("first-plan.md"), old);
}

#[tokio::test]
async fn of_many_saves_at_once_one_wins_and_every_winner_is_kept() {
    let desk = std::sync::Arc::new(Desk::shipped());
    let mut kept = Vec::new();
    for round in 0..6 {
        let mark = desk.mark("first-plan").await;
        let all = (0..8).map(|writer| {
            let (desk, mark) = (desk.clone(), mark.clone());
            tokio::spawn(async move {
                let text = format!("# Round {round}, writer {writer}\n");
                (desk.put("first-plan", &mark, &text).await.status.as_u16(), text)
            })
        });
        let mut won = Vec::new();
        for one in all.collect::<Vec<_>>() {
            match one.await.unwrap() {
                (200, text) => won.push(text),
                (status, _) => assert_eq!(status, 412),
            }
        }
        assert_eq!(won.len(), 1, "round {round}");
        kept.append(&mut won);
    }
    let history = desk.history("first-plan");
    assert_eq!(history[1..], kept);
    assert_eq!(desk.file("first-plan.md"), *kept.last().unwrap());
}

#[tokio::test]
async fn a_text_that_is_too_long_or_no_text_is_refused_and_the_file_stays() {
    let desk = Desk::shipped();
    let old = desk.file("first-plan.md");
    let mark = desk.mark("first-plan").await;
    let told = desk.put("first-plan", &mark, &"x".repeat((1 << 20) + 1)).await.is(413).told();
    assert_eq!(
        told,
        ("this text is 1024 kB long, and at most 1024 kB are kept".into(), "cut it into two documents".into())
    );
    // Longer than any request may be.
    let reply = desk.put("first-plan", &mark, &"x".repeat(3 << 20)).await.is(413);
    assert!(reply.text().contains("cut it into two documents"), "{}", reply.text());
    let reply = desk.send(Method::PUT, "/plan/first-plan/text", &mark, vec![b'#', 0xff, 0xfe]).await.is(422);
    assert_eq!(reply.told(), ("this text is not UTF-8".into(), "send it as UTF-8; nothing was changed".into()));
    assert_eq!(desk.file("first-plan.md"), old);
    assert_eq!(desk.history("first-plan").len(), 1);
}

#[tokio::test]
async fn a_text_of_one_megabyte_is_saved() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    let line = "A line of a very long plan.\n";
    let text = line.repeat((1 << 20) / line.len());
    desk.put("first-plan", &mark, &text).await.is(200);
    assert_eq!(desk.file("first-plan.md"), text);
    desk.get("/plan/first-plan").await.is(200);
}

#[cfg(unix)]
#[tokio::test]
async fn a_file_keeps_the_rights_its_owner_gave_it() {
    use std::os::unix::fs::PermissionsExt as _;
    let desk = Desk::shipped();
    std::fs::set_permissions(desk.path("first-plan.md"), std::fs::Permissions::from_mode(0o640)).unwrap();
    let mark = desk.mark("first-plan").await;
    desk.put("first-plan", &mark, "# Quiet\n").await.is(200);
    let mode = std::fs::metadata(desk.path("first-plan.md")).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
}

#[tokio::test]
async fn a_rate_sheet_is_saved_and_the_plans_that_draw_on_it_follow() {
    let desk = Desk::shipped();
    let before = desk.values("causeway-first-light").await;
    let text = desk.file("shops/tidewater-lab.md");
    let reply = desk.get("/rates/shops%2Ftidewater-lab/text").await;
    let mark = reply.headers[header::ETAG].to_str().unwrap().trim_matches('"').to_owned();
    let dearer = text.replace("let tube = 38.usd;", "let tube = 48.usd;");
    assert_ne!(dearer, text);
    desk.send(Method::PUT, "/rates/shops%2Ftidewater-lab/text", &mark, dearer).await.is(200);
    let after = desk.values("causeway-first-light").await;
    let tube = |values: &serde_json::Value| {
        let costs = values["costs"].as_array().unwrap();
        costs.iter().find(|one| one["what"] == "Tube to the mounter").unwrap()["amount"].clone()
    };
    assert_eq!((tube(&before), tube(&after)), (json!("38"), json!("48")));
}
