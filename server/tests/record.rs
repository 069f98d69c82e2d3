//! What the notebook remembers, asked over its own addresses.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests may")]

mod program;

use std::path::Path;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use engine::measure::Day;
use program::long_form;
use serde_json::{Value, json};
use server::clock::Clock;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

const SHEET: &str = "+++\ntitle = \"Tarn Lab\"\nkind = \"rate sheet\"\ntrade = \"lab\"\nquoted = \"2026-10-01\"\nuntil = \"2026-12-31\"\n+++\n\n# Tarn Lab\n\n```workings\nlet foot = 16.80.usd;    // a square foot\nlet least = 65.usd;\nlet widest = 49.inch;\nlet print_days = 5.days;\nlet least_ppi = 200.ppi;\nfn chromogenic(size) { size[0] * size[1] / 1.ft2 * foot }\n```\n";
const PLAN: &str = "+++\ntitle = \"Long Weir\"\nedition = 5\nproofs = 1\nstart = 2026-11-02\n[shops]\nlab = \"shops/tarn-lab\"\n+++\n\n# Long Weir\n\n```workings\nimport \"shops/tarn-lab\" as lab;\nlet wide = given(\"Print width\", 72.inch);\nlet high = 24.inch;\ncost(\"Print\", lab::chromogenic([wide, high]), \"lab\");\nstep(\"Proof\", 3.days, \"lab\");\nstep(\"Print\", lab::print_days, after(\"Proof\"), \"lab\");\nshould(total() <= 210.usd, \"It costs no more than 210 dollars\");\nhangs([wide, high]);\n```\n\nIn all `? total()`.\n\n`? steps()`\n\n`? costs()`\n";

struct Studio {
    folder: tempfile::TempDir,
    notebook: Arc<Notebook>,
    app: Router,
}

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

fn open(folder: &Path, today: &str) -> (Arc<Notebook>, Router) {
    let store = Store::open(folder).unwrap();
    let notebook = Arc::new(Notebook::open(folder.to_path_buf(), store, Clock::Fixed(day(today))).unwrap());
    let ending = tokio::sync::watch::channel(false).1;
    (notebook.clone(), app(App::new(notebook, Vec::new(), ending)))
}

impl Studio {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("shops")).unwrap();
        std::fs::write(folder.path().join("shops/tarn-lab.md"), SHEET).unwrap();
        std::fs::write(folder.path().join("long-weir.md"), PLAN).unwrap();
        let (notebook, app) = open(folder.path(), "2026-11-25");
        Self { folder, notebook, app }
    }

    /// The same notebook on another day.
    fn on(self, today: &str) -> Self {
        let Self { folder, notebook, app } = self;
        drop((notebook, app));
        let (notebook, app) = open(folder.path(), today);
        Self { folder, notebook, app }
    }

    async fn ask(&self, method: &str, path: &str, etag: Option<&str>, body: Option<String>) -> (StatusCode, String) {
        ask(&self.app, method, path, etag, body.map(String::into_bytes)).await
    }

    async fn get(&self, path: &str) -> String {
        let (status, body) = self.ask("GET", path, None, None).await;
        assert_eq!(status, StatusCode::OK, "{path}: {body}");
        body
    }

    async fn post(&self, path: &str, json: Value) -> (StatusCode, Value) {
        let (status, body) = self.ask("POST", path, None, Some(json.to_string())).await;
        (status, serde_json::from_str(&body).unwrap_or(Value::String(body)))
    }

    async fn etag(&self, plan: &str) -> String {
        let name = server::names::Name::new(plan).unwrap();
        self.notebook.text(&name).unwrap().etag.clone()
    }

    async fn change(&self, plan: &str, path: &str, json: Value) -> Value {
        let etag = self.etag(plan).await;
        let (status, body) = self.ask("POST", path, Some(&etag), Some(json.to_string())).await;
        assert_eq!(status, StatusCode::OK, "{path}: {body}");
        serde_json::from_str(&body).unwrap()
    }

    async fn save(&self, base: &str, plan: &str, text: &str) -> Value {
        let etag = self.etag(plan).await;
        let (status, body) = self.ask("PUT", &format!("{base}/text"), Some(&etag), Some(text.to_owned())).await;
        assert_eq!(status, StatusCode::OK, "{body}");
        serde_json::from_str(&body).unwrap()
    }

    fn text(&self, file: &str) -> String {
        std::fs::read_to_string(self.folder.path().join(file)).unwrap()
    }
}

async fn ask(
    app: &Router,
    method: &str,
    path: &str,
    etag: Option<&str>,
    body: Option<Vec<u8>>,
) -> (StatusCode, String) {
    let mut request = Request::builder().method(method).uri(path).header(header::HOST, "localhost");
    if method != "GET" {
        request = request.header("sec-fetch-site", "same-origin");
    }
    if let Some(etag) = etag {
        request = request.header(header::IF_MATCH, format!("\"{etag}\""));
    }
    let response = app.clone().oneshot(request.body(Body::from(body.unwrap_or_default())).unwrap()).await.unwrap();
    let status = response.status();
    let bytes = axum::body::to_bytes(response.into_body(), 64 << 20).await.unwrap();
    (status, String::from_utf8_lossy(&bytes).into_owned())
}

const SHEETS: &str = "/rates/shops%2Ftarn-lab";

// ------------------------------------------------------------------------------------------------------- revisions

#[tokio::test]
async fn every_save_is_kept_with_what_moved() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    studio.notebook.work_out_what_waits().unwrap();
    let page = studio.get("/plan/long-weir/history").await;
    // 72 × 24 in are 12 square feet, 201.60; 60 × 24 in are 10, 168.00 (identity).
    assert!(page.contains("Whole cost") || page.contains("in all $201.60 → $168.00"), "{page}");
    assert!(page.contains("from outside") && page.contains("here") && page.contains("one line came, one line went"));
    let two = studio.get("/plan/long-weir/compare?from=1&to=2").await;
    for part in ["$201.60", "$168.00", "<del>72.inch", "<ins>60.inch", "\u{2212}$33.60"] {
        assert!(two.contains(part), "{part} is not in {two}");
    }
}

#[tokio::test]
async fn a_change_made_outside_is_a_revision_and_is_worked_out() {
    let studio = Studio::new();
    std::fs::write(studio.folder.path().join("long-weir.md"), PLAN.replace("72.inch", "64.5.inch")).unwrap();
    studio.notebook.look();
    let name = server::names::Name::new("long-weir").unwrap();
    let all = studio.notebook.revisions(&name).unwrap();
    assert_eq!((all.len(), all[0].here, all[0].numbers > 0), (2, false, true));
}

#[tokio::test]
async fn what_earlier_changes_came_to_makes_room_for_what_pages_wait_for() {
    let studio = Studio::new();
    let waiting = studio.on("2026-11-26");
    // As opened both files wait; then a rate sheet is saved, and pages wait for what draws on it.
    waiting.save(SHEETS, "shops/tarn-lab", &SHEET.replace("16.80", "18.20")).await;
    let name = server::names::Name::new("long-weir").unwrap();
    let moved = |studio: &Studio| studio.notebook.revisions(&name).unwrap()[0].moved.is_some();
    assert_eq!((waiting.notebook.work_out_what_waits_in_between().unwrap(), moved(&waiting)), (0, false));
    // Once somebody has begun with that, the rest goes on where it stopped.
    waiting.notebook.catch_up().unwrap();
    assert_eq!((waiting.notebook.work_out_what_waits_in_between().unwrap() > 0, moved(&waiting)), (true, true));
    assert_eq!(waiting.notebook.work_out_what_waits().unwrap(), 0);
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
    studio.notebook.work_out_what_waits().unwrap();
    let told = studio.notebook.check_history().unwrap();
    assert_eq!((told.revisions, told.same), (6, 6), "{told:?}");
}

#[tokio::test]
async fn a_calculation_that_changed_its_answer_is_named() {
    let studio = Studio::new();
    studio.notebook.work_out_what_waits().unwrap();
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
    let told = studio.notebook.check_history().unwrap();
    assert_eq!((told.revisions, told.same, told.differ.len()), (2, 1, 1));
    let differs = &told.differ[0];
    let names: Vec<_> = differs.moved.iter().map(|one| one.name.as_str()).collect();
    assert_eq!((differs.program.as_str(), names), ("0.0.9", vec!["in all", "Print"]));
}

#[tokio::test]
async fn a_revision_that_was_wrong_when_it_was_saved_gives_the_same() {
    let studio = Studio::new();
    studio
        .save("/plan/long-weir", "long-weir", &PLAN.replace("let high = 24.inch;", "let high = 24.inch + 3.lb;"))
        .await;
    studio.notebook.work_out_what_waits().unwrap();
    let told = studio.notebook.check_history().unwrap();
    assert_eq!((told.revisions, told.same, told.holds()), (3, 3, true), "{told:?}");
}

// ---------------------------------------------------------------------------------------------------------- ledger

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
    for part in ["sold to R. Vell for 4200", "consigned to Lantern Street", ">Vell<", "1, and 1 AP", "4 of 5"] {
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
    // A sale that is in the ledger but whose answer could not be worked out at once is told as busy, never as refused.
    let name = server::names::Name::new("long-weir").unwrap();
    let lines = studio.notebook.ledger(&name).unwrap();
    let mut numbers: Vec<_> = lines.iter().map(|line| line.number).collect();
    numbers.sort_unstable();
    assert_eq!((numbers, won + refused + other), (vec![1, 2, 3, 4, 5], 64 * 20));
    assert_eq!((won, other), (5, 0), "{refused} refused");
    assert_eq!(studio.notebook.follow_chain().unwrap(), Ok(5));
}

#[tokio::test]
async fn no_line_is_ever_changed_deleted_or_replaced_even_by_another_connection() {
    let studio = Studio::new();
    for number in 1..=3 {
        studio.post("/plan/long-weir/ledger", json!({"number": number, "what": "sold", "when": "2026-11-25"})).await;
    }
    studio.notebook.work_out_what_waits().unwrap();
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
    assert_eq!(studio.notebook.follow_chain().unwrap(), Ok(3));
    // A tool that drops the triggers can change a line, but the chain shows it.
    record.execute_batch("DROP TRIGGER ledger_keeps_its_lines; UPDATE ledger SET amount = '1' WHERE id = 2").unwrap();
    assert_eq!(studio.notebook.follow_chain().unwrap(), Err(2));
}

#[tokio::test]
async fn lines_of_an_older_record_are_carried_over_into_the_chain() {
    let folder = tempfile::tempdir().unwrap();
    let record = rusqlite::Connection::open(folder.path().join("makeready.db")).unwrap();
    record.execute_batch(include_str!("../src/store/1_revisions_and_ledger.sql")).unwrap();
    record.execute_batch("PRAGMA application_id = 1298879076; PRAGMA user_version = 1; INSERT INTO ledger (plan, number, what, happened, words, amount, entered) VALUES ('long-weir', 2, 'reserved', '2026-03-01', 'A', '', 'then'), ('long-weir', 2, 'sold', '2026-04-01', 'A', '900', 'then')").unwrap();
    drop(record);
    std::fs::write(folder.path().join("long-weir.md"), PLAN).unwrap();
    let (notebook, _) = open(folder.path(), "2026-11-25");
    let lines = notebook.ledger(&server::names::Name::new("long-weir").unwrap()).unwrap();
    let told: Vec<_> =
        lines.iter().map(|line| (line.print.as_str(), line.what.as_str(), line.words.as_str())).collect();
    assert_eq!(told, [("2", "reserved", "A"), ("2", "sold", "A")]);
    assert_eq!(notebook.follow_chain().unwrap(), Ok(2));
}

#[tokio::test]
async fn a_plan_sees_the_ledger_as_of_its_day() {
    let studio = Studio::new();
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20"})).await;
    let studio = studio.on("2026-11-10");
    let sheet: Value = serde_json::from_str(&studio.get("/plan/long-weir/sheet").await).unwrap();
    assert!(sheet["block"].to_string().contains("5 of 5"), "{}", sheet["block"]);
}

// --------------------------------------------------------------------------------------------------------- actuals

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

// ----------------------------------------------------------------------------------------------------- rate sheets

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
        json!({"name": "Whole cost", "from": "$201.60", "to": "$218.40", "by": "+$16.80"})
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
    let told = studio.notebook.check_history().unwrap();
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
    assert!(page.contains("hangs since 24 November 2026"), "{page}");
    assert!(studio.get("/year").await.contains("$201.60"));
    // What is made from it is priced as of today, and so is the piece when it is taken down again.
    let (_, made) = studio.post("/plan/long-weir/copy", json!({"title": "Short Weir"})).await;
    assert!(studio.get(made["location"].as_str().unwrap()).await.contains("$218.40"));
    studio.save("/plan/long-weir", "long-weir", PLAN).await;
    assert!(studio.get("/plan/long-weir").await.contains("$218.40"));
    studio.notebook.work_out_what_waits().unwrap();
    assert!(studio.notebook.check_history().unwrap().holds());
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

// ------------------------------------------------------------------------------------------------------- templates

#[tokio::test]
async fn a_duplicate_leaves_history_behind_and_keeps_a_line_to_its_origin() {
    let studio = Studio::new();
    studio
        .post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20", "words": "R. Vell"}))
        .await;
    studio
        .change(
            "long-weir",
            "/plan/long-weir/happened",
            json!({"kind": "invoiced", "what": "Print", "amount": "215", "day": "2026-11-20"}),
        )
        .await;
    studio.change("long-weir", "/plan/long-weir/hold", json!({"role": "lab", "day": "2026-10-01"})).await;
    for (title, location) in [("Short Weir", "/plan/short-weir"), ("Short Weir", "/plan/short-weir-2")] {
        let (status, made) = studio.post("/plan/long-weir/copy", json!({"title": title})).await;
        assert_eq!((status, made["location"].as_str()), (StatusCode::OK, Some(location)));
    }
    for file in ["short-weir.md", "short-weir-2.md"] {
        let text = studio.text(file);
        for gone in ["invoiced", "2026-11-20", "quotes", "Vell", "215"] {
            assert!(!text.contains(gone), "{gone} came along: {text}");
        }
        assert!(text.contains("from = \"long-weir\"") && text.contains("Print width"));
    }
    assert!(studio.get("/plan/short-weir").await.contains("href=\"/plan/long-weir\""));
    let origin = studio.get("/plan/long-weir").await;
    assert!(origin.contains("/plan/short-weir-2\"") && origin.contains("/plan/short-weir\""));
    assert!(studio.notebook.ledger(&server::names::Name::new("short-weir").unwrap()).unwrap().is_empty());
}

#[tokio::test]
async fn every_built_in_beginning_works_out_with_the_shipped_rate_sheets() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("shops")).unwrap();
    for sheet in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/../notebooks/shops")).unwrap() {
        let sheet = sheet.unwrap().path();
        std::fs::copy(&sheet, folder.path().join("shops").join(sheet.file_name().unwrap())).unwrap();
    }
    let (notebook, app) = open(folder.path(), "2026-11-25");
    let studio = Studio { folder, notebook, app };
    let page = studio.get("/begin").await;
    for (beginning, title) in
        [("panoramic-float-frame", "First One"), ("matted-and-glazed", "Second One"), ("unframed-edition", "Third One")]
    {
        assert!(page.contains(beginning), "{beginning} is not offered");
        let (status, made) = studio.post("/begin", json!({"title": title, "beginning": beginning})).await;
        assert_eq!(status, StatusCode::OK, "{made}");
        let values = studio.get(&format!("{}/values", made["location"].as_str().unwrap())).await;
        let values: Value = serde_json::from_str(&values).unwrap();
        assert_eq!(values["problems"], json!([]), "{beginning}");
        assert!(
            values["rules"].as_array().unwrap().iter().all(|rule| rule["kept"] == true),
            "{beginning}: {}",
            values["rules"]
        );
        assert!(!values["costs"].as_array().unwrap().is_empty() && !values["steps"].as_array().unwrap().is_empty());
    }
}

// ----------------------------------------------------------------------------------------------------- certificate

const FACTS: &str = "[certificate]\nartist = \"A. Verrill\"\nyear = 2026\nunnumbered = \"none\"\nother_editions = \"none\"\nprocess = \"chromogenic print on polyester base, luster laminate, on foam board\"\nreproduction = \"no\"\nsignature = \"by the artist, in pencil, on the label\"\nlifetime = \"yes\"\nmaster = \"the negative is kept and not printed again in this size\"\nseller = \"the artist\"\n";

#[tokio::test]
async fn a_certificate_says_what_is_known_lists_what_is_missing_and_is_found_by_its_code() {
    let studio = Studio::new();
    let draft = studio.get("/plan/long-weir/certificate/2").await;
    assert!(
        draft.contains("What is missing") && draft.contains("year of this print") && draft.contains("no legal advice")
    );
    let (status, refused) = studio.post("/plan/long-weir/certificate/2", json!({})).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{refused}");
    studio.save("/plan/long-weir", "long-weir", &PLAN.replacen("[shops]", &format!("{FACTS}[shops]"), 1)).await;
    for what in ["printed", "signed", "numbered", "sold"] {
        studio
            .post(
                "/plan/long-weir/ledger",
                json!({"number": 2, "what": what, "when": "2026-11-20", "words": "R. Vell"}),
            )
            .await;
    }
    let (status, issued) = studio.post("/plan/long-weir/certificate/2", json!({})).await;
    assert_eq!(status, StatusCode::OK, "{issued}");
    let code = issued["code"].as_str().unwrap();
    assert_eq!(
        (code.len(), studio.post("/plan/long-weir/certificate/2", json!({})).await.1["code"].as_str()),
        (14, Some(code))
    );
    let page = studio.get(&format!("/certificate/{}", code.to_lowercase().replace('-', ""))).await;
    for part in [
        "A. Verrill",
        "2&#x2f;5",
        "5 numbered, one artist’s proof besides, 6 in all",
        "Tarn Lab",
        "72",
        code,
        "California Civil Code",
        "article 15",
    ] {
        assert!(page.contains(part), "{part} is not in {page}");
    }
    assert!(!page.contains("Vell"), "a buyer's name is on the certificate");
    studio.post("/plan/long-weir/ledger", json!({"number": 2, "what": "destroyed", "when": "2026-11-25"})).await;
    assert!(
        studio.get(&format!("/certificate/{code}")).await.contains("This print was destroyed on 25 November 2026.")
    );
    assert_eq!(studio.ask("GET", "/certificate/0000-0000-0000", None, None).await.0, StatusCode::NOT_FOUND);
}

// ------------------------------------------------------------------------------------------------------------ year

#[tokio::test]
async fn a_page_of_very_many_plans_waits_for_none_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    for number in 0..40 {
        std::fs::write(
            folder.path().join(format!("weir-{number}.md")),
            "+++\ntitle = \"Weir\"\n+++\n\n```workings\ncost(\"Print\", 20.usd);\nstep(\"Print\", 2.days);\n```\n",
        )
        .unwrap();
    }
    let (notebook, app) = open(folder.path(), "2026-11-25");
    let studio = Studio { folder, notebook, app };
    assert!(studio.get("/").await.contains("40 artworks are being worked out anew"));
    assert!(studio.get("/year").await.contains("40 plans are being worked out anew"));
    assert_eq!(studio.notebook.catch_up().unwrap(), 40);
    assert!(!studio.get("/").await.contains("being worked out"));
    // 40 prints of 20 dollars each (identity).
    let page = studio.get("/year").await;
    assert!(page.contains("$800.00") && !page.contains("being worked out"), "{page}");
    assert_eq!(studio.notebook.catch_up().unwrap(), 0);
    // One that changes is worked out while the page waits.
    studio.save("/plan/weir-7", "weir-7", "# Weir 7\n").await;
    assert!(studio.get("/year").await.contains("$780.00"));
}

#[tokio::test]
async fn the_year_shows_steps_by_week_money_by_month_and_editions_nearly_gone() {
    let studio = Studio::new();
    for number in 1..=4 {
        studio.post("/plan/long-weir/ledger", json!({"number": number, "what": "sold", "when": "2026-11-20"})).await;
    }
    let page = studio.get("/year").await;
    // 2 November 2026 is the Monday of ISO week 45; five days from the 5th end on the 11th (calendar).
    for part in [
        "week 45",
        "Mon 2 Nov to Wed 4 Nov",
        "Thu 5 Nov to Wed 11 Nov",
        "Nov 2026",
        "$201.60",
        "1 of 5 left",
        "this week",
    ] {
        assert!(page.contains(part), "{part} is not in {page}");
    }
}

// -------------------------------------------------------------------------------------------------------- out and in

#[tokio::test]
async fn a_plan_goes_out_with_its_pictures_and_comes_in_elsewhere() {
    let studio = Studio::new();
    std::fs::create_dir(studio.folder.path().join("pictures")).unwrap();
    std::fs::write(studio.folder.path().join("pictures/weir.jpg"), b"not really a picture").unwrap();
    studio.save("/plan/long-weir", "long-weir", &format!("{PLAN}\n![the weir](pictures/weir.jpg)\n")).await;
    studio
        .post(
            "/plan/long-weir/ledger",
            json!({"number": 1, "what": "sold", "when": "2026-11-20", "words": "=R. Vell", "amount": "4200"}),
        )
        .await;
    let name = server::names::Name::new("long-weir").unwrap();
    let archive = studio.notebook.export(&name, server::notebook::Ledger::None).unwrap();
    let other = tempfile::tempdir().unwrap();
    let (notebook, app) = open(other.path(), "2026-11-25");
    let (status, body) = ask(&app, "POST", "/import", None, Some(archive.clone())).await;
    assert_eq!(status, StatusCode::OK, "{body}");
    for file in ["long-weir.md", "shops/tarn-lab.md", "pictures/weir.jpg"] {
        assert_eq!(
            std::fs::read(other.path().join(file)).unwrap(),
            std::fs::read(studio.folder.path().join(file)).unwrap(),
            "{file}"
        );
    }
    let (_, again) = ask(&app, "POST", "/import", None, Some(archive.clone())).await;
    assert!(again.contains("long-weir-2"), "{again}");
    assert!(notebook.ledger(&name).unwrap().is_empty());
    let inside = |which| {
        let bytes = studio.notebook.export(&name, which).unwrap();
        let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        let mut text = String::new();
        if let Ok(mut file) = zip.by_name("ledger.csv") {
            std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        }
        text
    };
    assert_eq!(inside(server::notebook::Ledger::None), "");
    assert_eq!(inside(server::notebook::Ledger::Events), "line,print,what,date\r\n1,1,sold,2026-11-20\r\n");
    assert!(inside(server::notebook::Ledger::Whole).contains(",'=R. Vell,4200,"));
}

fn zipped(files: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        std::io::Write::write_all(&mut zip, bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[tokio::test]
async fn an_archive_that_would_reach_outside_burst_or_lie_is_refused_whole() {
    let studio = Studio::new();
    let before = || {
        let mut all: Vec<_> =
            std::fs::read_dir(studio.folder.path()).unwrap().map(|one| one.unwrap().file_name()).collect();
        all.sort();
        all
    };
    let standing = before();
    let list = |files: &str| {
        format!("{{\"form\":1,\"plan\":\"x\",\"title\":\"x\",\"revision\":1,\"made\":\"\",\"files\":{{{files}}}}}")
            .into_bytes()
    };
    let bomb = vec![0_u8; (64 << 20) + 1];
    for (what, archive, want) in [
        ("no archive", b"hello".to_vec(), StatusCode::UNPROCESSABLE_ENTITY),
        ("no list", zipped(&[("x.md", b"# x".to_vec())]), StatusCode::UNPROCESSABLE_ENTITY),
        (
            "outside",
            zipped(&[("makeready.json", list("")), ("../x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "absolute",
            zipped(&[("makeready.json", list("")), ("/tmp/x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "the record",
            zipped(&[("makeready.json", list("")), ("makeready.db", b"x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "not as listed",
            zipped(&[("makeready.json", list("\"x.md\":\"00\"")), ("x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        ("a bomb", zipped(&[("makeready.json", list("")), ("x.jpg", bomb)]), StatusCode::PAYLOAD_TOO_LARGE),
        (
            "many files",
            zipped(&NAMES.iter().map(|name| (*name, Vec::new())).collect::<Vec<_>>()),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
    ] {
        let (status, body) = ask(&studio.app, "POST", "/import", None, Some(archive)).await;
        assert_eq!(status, want, "{what}: {body}");
        assert_eq!(before(), standing, "{what}");
    }
}

static NAMES: std::sync::LazyLock<Vec<&'static str>> =
    std::sync::LazyLock::new(|| (0..201).map(|index| &*Box::leak(format!("p{index}.md").into_boxed_str())).collect());

#[tokio::test]
async fn a_backup_made_in_use_is_read_back_and_brings_everything_back() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20"})).await;
    let outside = tempfile::tempdir().unwrap();
    let (copy, back) = (outside.path().join("copy"), outside.path().join("back"));
    let made = server::backup::make(studio.folder.path(), &copy, "2026-11-25T12:00:00Z").unwrap();
    let counts = made.record.unwrap();
    assert_eq!((counts.revisions, counts.ledger), (3, 1));
    // Nothing is written over, and no backup lies in what it is of.
    assert!(server::backup::make(studio.folder.path(), &copy, "now").is_err());
    assert!(server::backup::make(studio.folder.path(), &studio.folder.path().join("copy"), "now").is_err());
    server::backup::restore(&copy, &back).unwrap();
    assert!(server::backup::restore(&copy, &back).is_err());
    for file in ["long-weir.md", "shops/tarn-lab.md"] {
        assert_eq!(std::fs::read_to_string(back.join(file)).unwrap(), studio.text(file));
    }
    let (notebook, _) = open(&back, "2026-11-25");
    let name = server::names::Name::new("long-weir").unwrap();
    assert_eq!(notebook.ledger(&name).unwrap(), studio.notebook.ledger(&name).unwrap());
    assert_eq!(notebook.revisions(&name).unwrap().len(), 2);
    assert_eq!(std::fs::read_dir(outside.path()).unwrap().count(), 2, "nothing half done is left");
}

#[tokio::test]
async fn the_first_page_says_when_work_is_in_no_backup() {
    let studio = Studio::new();
    let says = async |studio: &Studio| {
        let page = studio.get("/").await;
        let at = page.find("makeready backup").map(|at| page[..at].rfind("<span>").unwrap());
        at.map(|at| page[at + 6..].split("Everything").next().unwrap().trim().to_owned())
    };
    assert_eq!(says(&studio).await, None, "what lay there when the notebook was opened is no work yet");
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    assert_eq!(says(&studio).await.as_deref(), Some("This notebook was never backed up."));
    let outside = tempfile::tempdir().unwrap();
    let moment = "2026-11-25T12:00:00Z";
    let made = server::backup::make(studio.folder.path(), &outside.path().join("copy"), moment).unwrap();
    Store::open(studio.folder.path()).unwrap().note_backup(moment, "elsewhere", &made.record.unwrap()).unwrap();
    assert_eq!(says(&studio).await, None);
    let studio = studio.on("2026-12-20");
    assert_eq!(says(&studio).await, None, "an old backup that holds everything is good");
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-12-19"})).await;
    let told = "The last backup was made on 25 November 2026, 25 days ago, and work was saved since.";
    assert_eq!(says(&studio).await.as_deref(), Some(told));
}

#[tokio::test]
async fn the_record_is_copied_once_a_day_while_it_changes_and_three_copies_stay() {
    let studio = Studio::new();
    let copies = || {
        let mut all: Vec<_> = std::fs::read_dir(studio.folder.path().join(server::daily::FOLDER))
            .unwrap()
            .map(|one| one.unwrap().file_name().into_string().unwrap())
            .collect();
        all.sort();
        all
    };
    let root = studio.folder.path();
    assert!(server::daily::make(root, day("2026-11-25")).unwrap().is_some());
    assert!(server::daily::make(root, day("2026-11-25")).unwrap().is_none(), "once a day");
    assert!(server::daily::make(root, day("2026-11-26")).unwrap().is_none(), "nothing changed");
    for (number, on) in [(1, "2026-11-27"), (2, "2026-11-28"), (3, "2026-12-02")] {
        // Disks count time in steps.
        tokio::time::sleep(std::time::Duration::from_millis(30)).await;
        studio.post("/plan/long-weir/ledger", json!({"number": number, "what": "sold", "when": "2026-11-25"})).await;
        let copy = server::daily::make(root, day(on)).unwrap().unwrap();
        assert_eq!(server::store::copies::look_through(&copy).unwrap().ledger, number);
    }
    assert_eq!(copies(), ["makeready-2026-11-27.db", "makeready-2026-11-28.db", "makeready-2026-12-02.db"]);
    // A damaged record is not copied, and what is sound stays.
    studio.notebook.settle();
    let all = std::fs::read(root.join("makeready.db")).unwrap();
    drop(studio.notebook);
    drop(studio.app);
    let mut torn = all.clone();
    let middle = torn.len() / 2;
    torn[middle..].fill(7);
    std::fs::write(root.join("makeready.db"), torn).unwrap();
    let _ = std::fs::remove_file(root.join("makeready.db-wal"));
    assert!(server::daily::make(root, day("2026-12-03")).is_err());
    assert_eq!(copies().len(), 3);
}

#[tokio::test]
async fn any_single_byte_turned_in_a_backup_is_told() {
    let studio = Studio::new();
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20"})).await;
    let outside = tempfile::tempdir().unwrap();
    let copy = outside.path().join("copy");
    server::backup::make(studio.folder.path(), &copy, "2026-11-25T12:00:00Z").unwrap();
    server::backup::look_through(&copy).unwrap();
    let files = ["makeready.db", "long-weir.md", "shops/tarn-lab.md", "backup.json", "backup.sha256"];
    // A plain generator of numbers with a fixed beginning: the same places every time.
    let mut number = 20_261_125_u64;
    for turn in 0..long_form("MAKEREADY_BYTES", 200) {
        number = number.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let path = copy.join(files[turn % files.len()]);
        let mut bytes = std::fs::read(&path).unwrap();
        let at = usize::try_from(number >> 16).unwrap() % bytes.len();
        bytes[at] ^= 1 << (turn % 8);
        std::fs::write(&path, &bytes).unwrap();
        assert!(server::backup::look_through(&copy).is_err(), "byte {at} of {} went unseen", path.display());
        bytes[at] ^= 1 << (turn % 8);
        std::fs::write(&path, &bytes).unwrap();
    }
    server::backup::look_through(&copy).unwrap();
}
