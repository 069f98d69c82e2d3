//! Files and texts that are wrong: each says what is wrong and what to do, nothing is lost, and the notebook goes on.

use axum::http::Method;
use serde_json::{Value, json};
use tower::ServiceExt as _;

use crate::desk::{Desk, words};
use crate::program::copied;

/// The problems of a text, as `line:column: what; next`.
async fn problems(desk: &Desk, text: &str) -> Vec<String> {
    let reply = desk.send(Method::POST, "/plan/first-plan/draft", "", text.to_owned()).await.is(200).json();
    let all = reply["problems"].as_array().unwrap();
    let said = |one: &Value, part: &str| one[part].as_str().unwrap().to_owned();
    all.iter()
        .map(|one| format!("{}:{}: {}; {}", one["line"], one["column"], said(one, "what"), said(one, "next")))
        .collect()
}

#[tokio::test]
async fn a_head_that_cannot_be_read_is_told_with_its_place_and_the_text_stands() {
    let desk = Desk::shipped();
    for (text, expected) in [
        (
            "+++\ntitle = \"A\nedition = 3\n+++\n# A\n",
            "2:11: the head of this document cannot be read: the text of `title` has no closing quote; write `title = \"A\"`",
        ),
        (
            "+++\ntitle = \"A\"\nedition = 3\n",
            "1:1: the head of this document begins with `+++` and never ends; write a second line `+++` where the head ends and the text begins",
        ),
        (
            "+++\nedition = 3\ntitel = \"A\"\n+++\n",
            "3:1: the head has a name it does not know, `titel`; was `title` meant?",
        ),
        ("+++\nedition = -3\n+++\n", "2:11: `edition` is `-3`; write a whole number from 0 to 10000"),
        ("+++\nstart = \"soon\"\n+++\n", "2:9: `start` is `\"soon\"`, which is not a day; write it as 2027-01-25"),
        (
            "+++\nunits = \"yards\"\n+++\n",
            "2:9: `units` is `\"yards\"`; write `units = \"inch\"` or `units = \"metric\"`",
        ),
    ] {
        let all = problems(&desk, text).await;
        assert_eq!(all.first().map(String::as_str), Some(expected), "{text:?}: {all:?}");
    }
}

#[tokio::test]
async fn a_file_with_a_broken_head_is_shown_with_its_problem_and_kept() {
    let desk = Desk::with("+++\ntitle = \"A\nedition = 3\n+++\n\n# A\n\nThe text itself.\n");
    let before = desk.files();
    let page = words(desk.get("/plan/p").await.is(200).text());
    assert!(page.contains("Line 2, column 11: the head of this document cannot be read"), "{page}");
    assert!(page.contains("The text itself."), "{page}");
    let wall = words(desk.get("/").await.is(200).text());
    assert!(wall.contains("One number cannot be calculated") || wall.contains("problem"), "{wall}");
    let told = desk.post("/plan/p/copy", "", json!({"title": "Next"})).await.is(422).told();
    assert_eq!(told.0, "the head of this plan cannot be read");
    assert_eq!(desk.files(), before);
}

#[tokio::test]
async fn a_block_that_is_never_closed_is_told_and_nothing_after_it_is_lost() {
    let desk = Desk::shipped();
    let all = problems(&desk, "# A\n\n```workings\nlet wide = 60.inch;\n\nProse goes on here.\n").await;
    assert_eq!(
        all[0],
        "3:1: these workings begin with ``` and never end, so the rest of the text is taken as workings; write a line ``` where the workings end"
    );
}

#[tokio::test]
async fn a_file_that_is_no_text_is_told_with_its_line_and_left_as_it_is() {
    let desk = Desk::shipped();
    let bytes = b"# Good\n\nGood.\n\xff\xfe bad\n";
    desk.outside("bad.md", bytes);
    desk.notebook.look();
    let page = words(desk.get("/plan/bad").await.is(422).text());
    assert!(page.contains("Bad.md is not plain text: line 4 holds bytes that are not UTF-8."), "{page}");
    assert!(page.contains("Open it in an editor and save it as UTF-8; the file is left as it is."), "{page}");
    let wall = words(desk.get("/").await.is(200).text());
    assert!(wall.contains("bad.md is not plain text"), "{wall}");
    for (method, path) in
        [(Method::PUT, "text"), (Method::POST, "given"), (Method::POST, "tick"), (Method::POST, "copy")]
    {
        let body = json!({"given": 0, "value": "1", "line": 1, "done": true, "title": "N"}).to_string();
        let reply = desk.send(method, &format!("/plan/bad/{path}"), "0000", body).await;
        assert_eq!(reply.status, 422, "{path}: {}", reply.text());
    }
    assert_eq!(std::fs::read(desk.path("bad.md")).unwrap(), bytes);
    // Mended outside, it is a plan like any other.
    desk.outside("bad.md", "# Mended\n");
    desk.get("/plan/bad").await.is(200);
}

#[tokio::test]
async fn a_plan_that_turns_into_no_text_is_not_written_over() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    desk.outside("first-plan.md", b"\xff\xfe\xfd");
    desk.put("first-plan", &mark, "# Mine\n").await.is(422);
    assert_eq!(std::fs::read(desk.path("first-plan.md")).unwrap(), b"\xff\xfe\xfd");
}

#[tokio::test]
async fn an_empty_file_is_an_empty_plan() {
    let desk = Desk::with("");
    let page = desk.get("/plan/p").await.is(200);
    assert!(!page.text().contains("class=\"problem\""));
    let mark = desk.mark("p").await;
    desk.put("p", &mark, "# Begun\n").await.is(200);
    assert_eq!(desk.file("p.md"), "# Begun\n");
}

#[tokio::test]
async fn a_file_of_one_megabyte_is_read_and_one_byte_more_is_not() {
    let folder = copied();
    let line = "A line of a plan that somebody let grow.\n";
    let mut whole = line.repeat((1 << 20) / line.len() + 1);
    whole.truncate(1 << 20);
    std::fs::write(folder.path().join("whole.md"), &whole).unwrap();
    std::fs::write(folder.path().join("more.md"), format!("{whole}.")).unwrap();
    let desk = Desk::on(folder);
    let page = desk.get("/plan/whole").await.is(200);
    assert!(page.body.len() > 1 << 20);
    let page = words(desk.get("/plan/more").await.is(413).text());
    assert!(page.contains("More.md is 1024 kB long, and at most 1024 kB are read."), "{page}");
    assert!(page.contains("Cut it into two documents; the file is left as it is."), "{page}");
    let wall = words(desk.get("/").await.is(200).text());
    assert!(wall.contains("more.md is 1024 kB long"), "{wall}");
    desk.put("more", "0000", "# Mine\n").await.is(413);
    assert_eq!(std::fs::metadata(desk.path("more.md")).unwrap().len(), (1 << 20) + 1);
}

#[tokio::test]
async fn a_rate_sheet_that_is_not_there_is_told_with_the_nearest_one() {
    let desk = Desk::shipped();
    let plan = |sheet: &str| {
        format!("# A\n\n```workings\nimport \"{sheet}\" as lab;\nlet x = lab::tube;\n```\n\nStill here.\n")
    };
    let all = problems(&desk, &plan("shops/tidewater-lap")).await;
    assert_eq!(all[0], "4:8: there is no rate sheet `shops/tidewater-lap`; was `shops/tidewater-lab` meant?");
    let all = problems(&desk, &plan("shops/somewhere-else-entirely")).await;
    assert!(
        all[0].starts_with(
            "4:8: there is no rate sheet `shops/somewhere-else-entirely`; the notebook has shops/corner-joint, "
        ),
        "{all:?}"
    );
    let alone = Desk::with("# A\n");
    let reply = alone.send(Method::POST, "/plan/p/draft", "", plan("shops/any")).await.json();
    assert_eq!(reply["problems"][0]["next"], "the notebook has no rate sheets yet; write one in its folder `shops`");
    assert!(words(reply["article"].as_str().unwrap()).contains("Still here."));
    let all = problems(&desk, &plan("first-plan")).await;
    assert!(all[0].contains("there is no rate sheet `first-plan`"), "a plan is not a rate sheet: {all:?}");
    let all = problems(&desk, &plan("../../etc/passwd")).await;
    assert!(all[0].contains("there is no rate sheet `../../etc/passwd`"), "{all:?}");
}

#[tokio::test]
async fn rate_sheets_that_draw_on_each_other_in_a_ring_are_told() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("shops")).unwrap();
    let sheet = |other: &str| {
        format!(
            "+++\nkind = \"rate sheet\"\ntitle = \"S\"\n+++\n\n```workings\nimport \"shops/{other}\" as next;\nlet price = 1.usd;\n```\n"
        )
    };
    for (name, other) in [("a", "b"), ("b", "c"), ("c", "a"), ("self", "self")] {
        std::fs::write(folder.path().join(format!("shops/{name}.md")), sheet(other)).unwrap();
    }
    std::fs::write(
        folder.path().join("p.md"),
        "# P\n\n```workings\nimport \"shops/a\" as a;\nlet x = a::price;\n```\n\n```workings\nlet y = 1 + 1;\n```\n",
    )
    .unwrap();
    let desk = Desk::on(folder);
    let values = desk.values("p").await;
    let what = values["problems"][0]["what"].as_str().unwrap();
    assert!(
        what.contains("the rate sheets draw on each other in a ring: shops/a → shops/b → shops/c → shops/a"),
        "{what}"
    );
    assert_eq!(values["problems"][0]["next"], "take one of these imports out");
    assert_eq!(values["names"]["y"]["value"], json!(2), "what does not depend on it stands");
    for name in ["a", "b", "c", "self"] {
        desk.get(&format!("/rates/shops%2F{name}")).await.is(200);
    }
    desk.get("/").await.is(200);
}

#[tokio::test]
async fn a_rate_sheet_with_a_problem_is_told_on_the_plan_with_its_line() {
    let desk = Desk::shipped();
    let text = desk.file("shops/tidewater-lab.md").replace("let tube = 38.usd;", "let tube = 38.uds;");
    let line = text.lines().position(|line| line.contains("38.uds")).unwrap() + 1;
    desk.outside("shops/tidewater-lab.md", &text);
    desk.notebook.look();
    let values = desk.values("causeway-first-light").await;
    let told = format!("the rate sheet `shops/tidewater-lab` has a problem on line {line}, ");
    let all = values["problems"].as_array().unwrap();
    assert!(all.iter().any(|one| one["what"].as_str().unwrap().starts_with(&told)), "{all:#?}");
    desk.get("/plan/causeway-first-light").await.is(200);
}

#[tokio::test]
async fn workings_that_never_end_or_grow_are_stopped_and_the_rest_stands() {
    let desk = Desk::shipped();
    for bad in [
        "loop { }",
        "let x = 0; while true { x += 1; }",
        "fn f(n) { f(n + 1) } f(0);",
        "let s = \"x\"; loop { s += s; }",
        "let a = [1]; loop { a += a; }",
        "let m = #{}; let i = 0; loop { m[\"k\" + i] = \"0123456789\" ; i += 1; }",
        "sleep(3600);",
    ] {
        let text = format!("# A\n\n```workings\n{bad}\n```\n\n```workings\nlet y = 1 + 1;\n```\n\nIt is `? y`.\n");
        let began = std::time::Instant::now();
        let reply = desk.send(Method::POST, "/plan/first-plan/draft", "", text).await.is(200).json();
        // The issue's figure is 300 ms; a test machine that does other things meanwhile is given ten times that.
        assert!(began.elapsed().as_millis() < 3000, "{bad}: {:?}", began.elapsed());
        assert!(!reply["problems"].as_array().unwrap().is_empty(), "{bad}");
        assert_eq!(reply["problems"][0]["line"], 4, "{bad}");
        assert!(words(reply["article"].as_str().unwrap()).contains("It is 2"), "{bad}: {reply}");
    }
}

#[tokio::test]
async fn what_is_sent_to_an_address_in_no_known_letters_is_refused_in_words() {
    let desk = Desk::shipped();
    for path in ["/plan/%FF", "/plan/%ff/text", "/rates/%C3%28"] {
        let reply = desk.get(path).await;
        assert!(reply.status.is_client_error(), "{path}: {}", reply.status);
        assert!(!reply.text().contains("Invalid URL"), "{path}: {}", reply.text());
    }
}

#[tokio::test]
async fn a_busy_computer_takes_nothing_from_a_plan() {
    let desk = Desk::shipped();
    let text = desk.file("causeway-first-light.md");
    let busy = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(true));
    let threads: Vec<_> = (0..16)
        .map(|_| {
            let busy = busy.clone();
            std::thread::spawn(move || while busy.load(std::sync::atomic::Ordering::Relaxed) {})
        })
        .collect();
    let mut all = Vec::new();
    for round in 0..5 {
        // Another text each time, so that it is calculated afresh.
        let reply =
            desk.send(Method::POST, "/plan/causeway-first-light/draft", "", format!("{text}\nRound {round}.\n")).await;
        all.push(reply.is(200).json()["problems"].clone());
    }
    busy.store(false, std::sync::atomic::Ordering::Relaxed);
    threads.into_iter().for_each(|thread| thread.join().unwrap());
    assert_eq!(all, vec![json!([]); 5]);
}

#[tokio::test]
async fn a_template_that_is_broken_is_the_programs_own_fault_and_no_full_disk() {
    let folder = copied();
    let store = server::store::Store::open(folder.path()).unwrap();
    let clock = server::clock::Clock::Fixed(engine::measure::Day::parse(crate::desk::TODAY).unwrap());
    let notebook = server::notebook::Notebook::open(folder.path().to_path_buf(), store, clock).unwrap();
    let (_end, ending) = tokio::sync::watch::channel(false);
    let mut state = server::App::new(std::sync::Arc::new(notebook), Vec::new(), ending);
    let mut templates = minijinja::Environment::new();
    templates.add_template("reference.html", "{{ nothing.of.it() }}").unwrap();
    state.templates = std::sync::Arc::new(templates);
    let request = axum::http::Request::get("/reference").header("host", "localhost").header("accept", "text/html");
    let answer = server::app(state).oneshot(request.body(axum::body::Body::empty()).unwrap()).await.unwrap();
    assert_eq!(answer.status(), 500);
    let body = axum::body::to_bytes(answer.into_body(), 1 << 20).await.unwrap();
    let told: Value = serde_json::from_slice(&body).unwrap();
    assert_eq!(told["what"], "this page could not be made", "{told}");
}
