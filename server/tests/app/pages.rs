//! Every address of the notebook, and what stands on its pages.

use axum::body::Body;
use axum::http::{Method, Request, StatusCode, header};
use serde_json::json;

use crate::desk::{Desk, unescaped, words};

const PLANS: [(&str, &str, &str); 8] = [
    ("boathouse-window", "Boathouse Window", "27 7/8 × 28 3/8 in"),
    ("causeway-first-light", "Causeway, First Light", "92 1/4 × 32 1/4 in"),
    ("ferry-ramp-thaw", "Ferry Ramp, Thaw", "30 × 21 in"),
    ("first-plan", "Jetty, Winter", "60 × 28.47 in"),
    ("grain-elevator-noon", "Grain Elevator, Noon", "74 × 26 in"),
    ("long-wall-flood-tide", "Long Wall, Flood Tide", "4000 × 1333.3 mm"),
    ("mill-race-three-windows", "Mill Race, Three Windows", "98 1/8 × 31 7/8 in"),
    ("quarry-upper-bench", "Quarry, Upper Bench", "1652 × 852 mm"),
];

/// The addresses as the server's own table writes them.
fn table() -> Vec<(String, bool)> {
    include_str!("../../src/app.rs")
        .lines()
        .filter_map(|line| {
            let (path, rest) = line.trim().strip_prefix(".route(\"")?.split_once("\", ")?;
            Some((path.to_owned(), rest.contains("get(")))
        })
        .collect()
}

/// A line of the shipped plan that has a box.
fn boxed() -> usize {
    let text = std::fs::read_to_string(crate::program::shipped().join("causeway-first-light.md")).unwrap();
    text.lines().position(|line| line.starts_with("- [")).unwrap() + 1
}

#[tokio::test]
async fn every_address_answers() {
    let desk = Desk::shipped();
    let mark = desk.mark("first-plan").await;
    let sheet = desk.get("/rates/shops%2Ftidewater-lab/text").await;
    let sheet_mark = sheet.headers[header::ETAG].to_str().unwrap().trim_matches('"').to_owned();
    let asset = asset(desk.get("/").await.text());
    let plan_text = desk.file("first-plan.md");
    let sheet_text = desk.file("shops/tidewater-lab.md");
    let asked: Vec<(&str, Method, String, &str, String)> = vec![
        ("/", Method::GET, "/".into(), "text/html", String::new()),
        ("/begin", Method::GET, "/begin".into(), "text/html", String::new()),
        ("/begin", Method::POST, "/begin".into(), "application/json", json!({"title": "New"}).to_string()),
        ("/plan/{name}", Method::GET, "/plan/first-plan".into(), "text/html", String::new()),
        ("/plan/{name}/sheet", Method::GET, "/plan/first-plan/sheet".into(), "application/json", String::new()),
        ("/plan/{name}/text", Method::GET, "/plan/first-plan/text".into(), "text/markdown", String::new()),
        ("/plan/{name}/text", Method::PUT, "/plan/first-plan/text".into(), "application/json", plan_text),
        ("/plan/{name}/draft", Method::POST, "/plan/first-plan/draft".into(), "application/json", "# New".into()),
        (
            "/plan/{name}/given",
            Method::POST,
            "/plan/first-plan/given".into(),
            "application/json",
            json!({"given": 1, "value": "60"}).to_string(),
        ),
        (
            "/plan/{name}/tick",
            Method::POST,
            "/plan/causeway-first-light/tick".into(),
            "application/json",
            json!({"line": boxed(), "done": true}).to_string(),
        ),
        (
            "/plan/{name}/ledger",
            Method::POST,
            "/plan/first-plan/ledger".into(),
            "application/json",
            json!({"number": 1, "when": "2026-11-25", "words": "A. Reader"}).to_string(),
        ),
        (
            "/plan/{name}/copy",
            Method::POST,
            "/plan/first-plan/copy".into(),
            "application/json",
            json!({"title": "Next"}).to_string(),
        ),
        ("/plan/{name}/values", Method::GET, "/plan/first-plan/values".into(), "application/json", String::new()),
        (
            "/plan/{name}/ticket/{role}",
            Method::GET,
            "/plan/causeway-first-light/ticket/lab".into(),
            "text/html",
            String::new(),
        ),
        (
            "/plan/{name}/ticket/{role}/paper.css",
            Method::GET,
            "/plan/causeway-first-light/ticket/lab/paper.css".into(),
            "text/css",
            String::new(),
        ),
        (
            "/plan/{name}/ticket/{role}/paper.pdf",
            Method::GET,
            "/plan/causeway-first-light/ticket/lab/paper.pdf".into(),
            "application/pdf",
            String::new(),
        ),
        (
            "/plan/{name}/paper.pdf",
            Method::GET,
            "/plan/causeway-first-light/paper.pdf".into(),
            "application/pdf",
            String::new(),
        ),
        (
            "/plan/{name}/calendar.ics",
            Method::GET,
            "/plan/causeway-first-light/calendar.ics".into(),
            "text/calendar",
            String::new(),
        ),
        (
            "/plan/{name}/calendar",
            Method::POST,
            "/plan/causeway-first-light/calendar".into(),
            "application/json",
            String::new(),
        ),
        (
            "/begin/draft",
            Method::POST,
            "/begin/draft".into(),
            "application/json",
            json!({"beginning": "unframed-edition"}).to_string(),
        ),
        (
            "/plan/{name}/shop",
            Method::POST,
            "/plan/causeway-first-light/shop".into(),
            "application/json",
            json!({"role": "installer", "sheet": ""}).to_string(),
        ),
        ("/rates", Method::GET, "/rates".into(), "text/html", String::new()),
        ("/rates/begin", Method::GET, "/rates/begin".into(), "text/html", String::new()),
        ("/rates/{name}", Method::GET, "/rates/shops%2Ftidewater-lab".into(), "text/html", String::new()),
        (
            "/rates/{name}/sheet",
            Method::GET,
            "/rates/shops%2Ftidewater-lab/sheet".into(),
            "application/json",
            String::new(),
        ),
        ("/rates/{name}/text", Method::GET, "/rates/shops%2Ftidewater-lab/text".into(), "text/markdown", String::new()),
        ("/rates/{name}/text", Method::PUT, "/rates/shops%2Ftidewater-lab/text".into(), "application/json", sheet_text),
        (
            "/rates/{name}/draft",
            Method::POST,
            "/rates/shops%2Ftidewater-lab/draft".into(),
            "application/json",
            "# New".into(),
        ),
        (
            "/rates/{name}/moves",
            Method::POST,
            "/rates/shops%2Ftidewater-lab/moves".into(),
            "application/json",
            "# New".into(),
        ),
        (
            "/rates/{name}/given",
            Method::POST,
            "/rates/shops%2Ftidewater-lab/given".into(),
            "application/json",
            json!({"given": 0, "value": "1"}).to_string(),
        ),
        (
            "/rates/{name}/tick",
            Method::POST,
            "/rates/shops%2Ftidewater-lab/tick".into(),
            "application/json",
            json!({"line": 1, "done": true}).to_string(),
        ),
        ("/reference", Method::GET, "/reference".into(), "text/html", String::new()),
        ("/a/{mark}/{*file}", Method::GET, asset, "text/css", String::new()),
    ];
    for (pattern, method, path, kind, body) in &asked {
        let from = if path.starts_with("/rates/") {
            sheet_mark.clone()
        } else if path.contains("causeway") {
            desk.mark("causeway-first-light").await
        } else {
            mark.clone()
        };
        let reply = desk.send(method.clone(), path, &from, body.clone()).await;
        // A rate sheet has neither givens nor boxes: it says so, and that is an answer.
        let bare = pattern.starts_with("/rates/{name}/given") || pattern.starts_with("/rates/{name}/tick");
        let expected = |status: StatusCode| if bare { status.is_client_error() } else { status.is_success() };
        assert!(expected(reply.status), "{method} {path}: {} {}", reply.status, String::from_utf8_lossy(&reply.body));
        let found = reply.headers[header::CONTENT_TYPE].to_str().unwrap();
        assert!(found.starts_with(kind), "{method} {path} is {found}");
    }
    let mut left: Vec<_> = table();
    assert!(left.len() > 20, "the table of addresses was found: {left:?}");
    left.retain(|(path, _)| !asked.iter().any(|(pattern, ..)| pattern == path) && path != "/events");
    // The rest are walked in tests of their own; asked with nothing, each says so and breaks nothing.
    assert!(left.len() < 32, "asked for nowhere: {left:?}");
    for (pattern, is_read) in left {
        let name = if pattern.starts_with("/rates") { "shops%2Ftidewater-lab" } else { "causeway-first-light" };
        let path = pattern.replace("{name}", name).replace("{role}", "lab").replace("{table}", "costs.csv");
        let path = path
            .replace("{print}", "1")
            .replace("{id}", "1")
            .replace("{number}", "1")
            .replace("{code}", "none")
            .replace("{token}", "none");
        let method = if is_read { Method::GET } else { Method::POST };
        let reply = desk.send(method, &path, &mark, "").await;
        assert!(!reply.status.is_server_error(), "{path}: {}", reply.status);
        assert_ne!(reply.status, StatusCode::METHOD_NOT_ALLOWED, "{path}");
        assert!(!reply.body.is_empty() || reply.status.is_redirection(), "{path}: {}", reply.status);
    }
}

/// The address of the style sheet on a page.
fn asset(page: &str) -> String {
    let (_, rest) = page.split_once("<link rel=\"stylesheet\" href=\"").unwrap();
    unescaped(rest.split_once('"').unwrap().0)
}

#[tokio::test]
async fn changes_are_told_as_they_happen() {
    use tokio_stream::StreamExt as _;
    let desk = Desk::shipped();
    let request = Request::get("/events").header(header::HOST, "localhost").body(Body::empty()).unwrap();
    let mut stream = desk.stream(request).await;
    let mark = desk.mark("first-plan").await;
    let saved = desk.put("first-plan", &mark, "# Shorter").await.is(200).json();
    let told = tokio::time::timeout(std::time::Duration::from_secs(10), stream.next()).await.unwrap().unwrap().unwrap();
    let told = String::from_utf8(told.to_vec()).unwrap();
    assert!(told.starts_with("event: changed\n"), "{told}");
    assert!(told.contains("\"slug\":\"first-plan\""), "{told}");
    assert!(told.contains(saved["etag"].as_str().unwrap()), "{told}");
}

#[tokio::test]
async fn the_wall_hangs_every_plan_with_its_size() {
    let desk = Desk::shipped();
    let page = desk.get("/").await.is(200);
    let said = words(page.text());
    for (slug, title, size) in PLANS {
        assert!(said.contains(title) && said.contains(size), "{title}, {size}: {said}");
        assert!(page.text().contains(&format!("href=\"/plan/{slug}\"")), "{slug} is linked");
    }
    assert!(said.contains("1.7 m"), "a person stands beside them");
    assert!(said.contains("Rate sheets of") || said.contains("rate sheets, 6"), "{said}");
}

#[tokio::test]
async fn every_plan_and_rate_sheet_has_its_page_without_a_problem() {
    let desk = Desk::shipped();
    for (slug, title, _) in PLANS {
        let page = desk.get(&format!("/plan/{slug}")).await.is(200);
        assert!(words(page.text()).contains(title), "{slug}");
        assert!(!page.text().contains("class=\"problem\"") && !page.text().contains("class=\"unknown\""), "{slug}");
        assert_eq!(desk.values(slug).await["problems"], json!([]), "{slug}");
    }
    let list = desk.get("/rates").await.is(200);
    for sheet in ["corner-joint", "heron-scan-room", "linden-scans", "plane-and-press", "quay-works", "tidewater-lab"] {
        let path = format!("/rates/shops%2F{sheet}");
        assert!(list.text().contains(&format!("href=\"{path}\"")), "{sheet} is listed");
        let page = desk.get(&path).await.is(200);
        assert!(!page.text().contains("class=\"problem\"") && !page.text().contains("class=\"unknown\""), "{sheet}");
    }
}

#[tokio::test]
async fn a_rate_sheet_names_the_plans_that_draw_on_it() {
    let desk = Desk::shipped();
    let page = desk.get("/rates/shops%2Flinden-scans").await.is(200);
    let said = words(page.text());
    assert!(said.contains("Quarry, Upper Bench"), "{said}");
    assert!(!said.contains("Causeway"), "{said}");
}

#[tokio::test]
async fn a_plan_is_shown_in_inches_and_in_millimetres() {
    let desk = Desk::shipped();
    // One inch is 25.4 mm exactly. Source: International Yard and Pound Agreement, 1959 (from memory): 90 in = 2286 mm.
    let inch = words(desk.get("/plan/causeway-first-light?units=inch").await.is(200).text());
    let metric = words(desk.get("/plan/causeway-first-light?units=metric").await.is(200).text());
    assert!(inch.contains("90 × 30 in"), "{inch}");
    assert!(metric.contains("2286 × 762 mm"), "{metric}");
    assert!(!metric.contains("90 × 30 in"));
    // Each offers the other, and its own is the plan's when nothing is asked for.
    assert!(inch.contains("show in metric"), "{inch}");
    assert!(metric.contains("show in inches"), "{metric}");
    assert_eq!(inch, words(desk.get("/plan/causeway-first-light").await.text()));
    let quarry = words(desk.get("/plan/quarry-upper-bench").await.is(200).text());
    assert!(quarry.contains("1600 × 800 mm"), "{quarry}");
    let as_inch = words(desk.get("/plan/quarry-upper-bench?units=inch").await.is(200).text());
    assert!(as_inch.contains("62.99 × 31.5 in"), "{as_inch}");
    // The text keeps its units: only what is shown changes.
    assert!(desk.file("quarry-upper-bench.md").contains("given(\"Print width\", 1600.mm)"));
}

#[tokio::test]
async fn the_reference_has_every_statement_and_unit() {
    let desk = Desk::shipped();
    let said = words(desk.get("/reference").await.is(200).text());
    for one in [
        "given(",
        "must(",
        "should(",
        "cost(",
        "step(",
        "enlarge(",
        "float_frame(",
        "hang_two_hooks(",
        "1.inch",
        "1.mm",
    ] {
        assert!(said.contains(one), "{one}");
    }
}

#[tokio::test]
async fn a_page_that_is_not_there_says_so_in_words_and_in_data() {
    let desk = Desk::shipped();
    let page = desk.get("/nowhere").await.is(404);
    assert!(words(page.text()).contains("There is no such page. Go back to the wall."), "{}", words(page.text()));
    let data = desk.send(Method::GET, "/nowhere", "", "").await.is(404);
    assert_eq!(data.told(), ("there is no such page".into(), "go back to the wall".into()));
    let plan = desk.get("/plan/salt-works").await.is(404);
    assert!(words(plan.text()).contains("There is no salt-works.md in this notebook."), "{}", words(plan.text()));
}

#[tokio::test]
async fn a_file_of_the_program_is_kept_for_ever_and_only_under_its_mark() {
    let desk = Desk::shipped();
    let path = asset(desk.get("/").await.text());
    let style = desk.get(&path).await.is(200);
    assert_eq!(style.headers[header::CACHE_CONTROL], "public, max-age=31536000, immutable");
    let mark = path.split('/').nth(2).unwrap();
    for gone in [
        "/a/0000000000000000/sheet.css".to_owned(),
        format!("/a/{mark}/templates/base.html"),
        format!("/a/{mark}/../Cargo.toml"),
        format!("/a/{mark}/..%2f..%2fCargo.toml"),
        format!("/a/{mark}//etc/passwd"),
    ] {
        desk.get(&gone).await.is(404);
    }
}

#[tokio::test]
async fn looking_writes_nothing() {
    let desk = Desk::shipped();
    let files = desk.files();
    let revisions = |desk: &Desk| PLANS.map(|(slug, ..)| desk.history(slug).len());
    let before = revisions(&desk);
    let mut paths: Vec<String> =
        ["/", "/begin", "/rates", "/reference", "/nowhere", "/rates/shops%2Ftidewater-lab"].map(str::to_owned).to_vec();
    for (slug, ..) in PLANS {
        for part in [
            "",
            "?units=metric",
            "/sheet",
            "/text",
            "/values",
            "/ticket/lab",
            "/ticket/framer?paper=a4",
            "/ticket/lab/paper.css",
        ] {
            paths.push(format!("/plan/{slug}{part}"));
        }
    }
    for path in &paths {
        for method in [Method::GET, Method::HEAD] {
            let request = Request::builder().method(method).uri(path).header(header::HOST, "localhost");
            let reply = desk.ask(request.body(Body::empty()).unwrap()).await;
            assert!(!reply.status.is_server_error(), "{path}: {}", reply.status);
        }
    }
    // What only writes cannot be reached by looking.
    for path in ["/plan/first-plan/draft", "/plan/first-plan/given", "/plan/first-plan/tick", "/plan/first-plan/copy"] {
        desk.get(path).await.is(405);
    }
    assert_eq!(desk.files(), files);
    assert_eq!(revisions(&desk), before);
}

/// A build for tests takes a name that no page gives for a fault, so each template is asked for once; `assets.rs` has a test that
/// it does.
#[tokio::test]
async fn every_template_is_given_every_name_it_uses() {
    let desk = Desk::shipped();
    let plan = "/plan/causeway-first-light";
    let line = json!({"number": 1, "what": "printed", "when": "2026-11-25", "words": "a lab"});
    desk.post(&format!("{plan}/ledger"), "", line).await.is(200);
    desk.post(&format!("{plan}/ticket/lab/issue"), "", json!({"words": "by mail"})).await.is(200);
    let link = desk.post(&format!("{plan}/links"), "", json!({"role": "lab"})).await.is(200).json();
    let link = link["address"].as_str().unwrap().rsplit_once('/').unwrap().1.to_owned();
    desk.outside("causeway-first-light.md", desk.file("causeway-first-light.md").replace("\n# ", "\nChanged.\n\n# "));
    let pages = [
        ("begin.html", "/begin".to_owned(), 200),
        ("certificate.html", format!("{plan}/certificate/1"), 200),
        ("compare.html", format!("{plan}/compare?from=1&to=2"), 200),
        ("history.html", format!("{plan}/history"), 200),
        ("ledger.html", format!("{plan}/ledger"), 200),
        ("link.html", format!("/t/{link}"), 200),
        ("links.html", format!("{plan}/links"), 200),
        ("login.html", "/login".to_owned(), 200),
        ("new-shop.html", "/rates/begin".to_owned(), 200),
        ("notice.html", "/nothing".to_owned(), 404),
        ("plan.html", plan.to_owned(), 200),
        ("rates.html", "/rates".to_owned(), 200),
        ("reference.html", "/reference".to_owned(), 200),
        ("sheet.html", "/rates/shops%2Ftidewater-lab".to_owned(), 200),
        ("ticket.html", format!("{plan}/ticket/lab"), 200),
        ("wall.html", "/".to_owned(), 200),
        ("year.html", "/year".to_owned(), 200),
    ];
    for (template, path, status) in &pages {
        let mut request = Request::get(path).header(header::HOST, "localhost").header(header::ACCEPT, "text/html");
        if *template == "login.html" {
            // As through a proxy that nobody told of: then the passphrase is asked for.
            request = request.header("x-forwarded-for", "192.0.2.1");
        }
        let reply = desk.ask(request.body(Body::empty()).unwrap()).await.is(*status);
        assert!(reply.text().contains("</html>"), "{template} gives a whole page");
    }
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../static/templates");
    let mut all: Vec<_> = std::fs::read_dir(folder).unwrap().map(|file| file.unwrap().file_name()).collect();
    all.retain(|file| !["art.html", "base.html", "parts.html"].iter().any(|part| file == part));
    all.sort();
    assert_eq!(all, pages.each_ref().map(|(template, ..)| *template), "a page for each template");
}

#[tokio::test]
async fn the_reference_shows_no_former_name() {
    let desk = Desk::shipped();
    let page = desk.get("/reference").await.is(200).text().to_owned();
    assert!(page.contains("<tr id=\"f-add_working_days\">") && page.contains("<code>start_by("));
    for (was, _) in engine::syntax::former::FUNCTIONS {
        for shown in [format!("id=\"f-{was}\""), format!("<code>{was}("), format!("<code>{was}</code>")] {
            assert!(!page.contains(&shown), "{shown}");
        }
    }
}
