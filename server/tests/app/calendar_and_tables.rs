//! The calendar and the tables of a plan, read back by other programs' readers, and the record of what was handed over.

use axum::http::{StatusCode, header};
use serde_json::json;

use crate::desk::Desk;

/// What a page answers: its status, what kind it is, and its bytes.
async fn get(desk: &Desk, path: &str) -> (StatusCode, String, Vec<u8>) {
    let reply = desk.get(path).await;
    let kind = reply.headers.get(header::CONTENT_TYPE).map(|kind| kind.to_str().unwrap().to_owned());
    (reply.status, kind.unwrap_or_default(), reply.body)
}

#[tokio::test]
async fn every_step_is_a_whole_day_event_another_reader_understands() {
    let desk = Desk::shipped();
    let (status, kind, body) = get(&desk, "/plan/causeway-first-light/calendar.ics").await;
    assert_eq!((status, kind.as_str()), (StatusCode::OK, "text/calendar; charset=utf-8"));
    // RFC 5545, 3.1: lines end with CR LF and are at most 75 octets long.
    let text = String::from_utf8(body.clone()).unwrap();
    assert!(text.split_inclusive('\n').all(|line| line.ends_with("\r\n") && line.len() <= 77), "{text}");
    let calendars: Vec<_> = ical::IcalParser::new(body.as_slice()).collect::<Result<_, _>>().unwrap();
    assert_eq!(calendars.len(), 1);
    let value = |event: &ical::parser::ical::component::IcalEvent, name: &str| {
        event
            .properties
            .iter()
            .find(|one| one.name == name)
            .and_then(|one| one.value.clone())
            .unwrap_or_else(|| panic!("no {name}"))
    };
    let events = &calendars[0].events;
    let frame = events.iter().find(|event| value(event, "SUMMARY").starts_with("Frame")).unwrap();
    let (start, end) = (value(frame, "DTSTART"), value(frame, "DTEND"));
    assert_eq!((start.len(), end.len()), (8, 8), "whole days have no hours");
    assert!(value(frame, "SUMMARY").contains("Corner Joint Frames"));
    // The title's comma is escaped on the line, as RFC 5545, 3.3.11 asks.
    assert!(text.replace("\r\n ", "").contains("Causeway\\, First Light"));
    let mut marks: Vec<_> = events.iter().map(|event| value(event, "UID")).collect();
    marks.sort();
    marks.dedup();
    assert_eq!(marks.len(), events.len(), "each event has a mark of its own");
    // The last day is the one on the page; the calendar's end is the day after it.
    let (_, _, page) = get(&desk, "/plan/causeway-first-light/tables/schedule.csv").await;
    let rows = read_table(&page);
    let row = rows.iter().find(|row| row[0] == "Frame").unwrap();
    assert_eq!(row[2].replace('-', ""), start);
    let last = engine::measure::Day::parse(&row[3]).unwrap();
    assert_eq!(last.plus(1).unwrap().iso().replace('-', ""), end);
    let ends = events.iter().filter(|event| value(event, "SUMMARY").starts_with("The quote of ")).count();
    assert!(ends > 0, "the days on which quotes end are there too");
    assert_eq!(rows.len() - 1, events.len() - ends);
    let again = get(&desk, "/plan/causeway-first-light/calendar.ics").await;
    assert_eq!(again.2, body, "the same plan gives the same calendar");
}

/// Read by another crate than the one that writes.
fn read_table(bytes: &[u8]) -> Vec<Vec<String>> {
    let mut reader = simd_csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
    let mut record = simd_csv::ByteRecord::new();
    let mut rows = Vec::new();
    while reader.read_byte_record(&mut record).unwrap() {
        rows.push(record.iter().map(|cell| String::from_utf8(cell.to_vec()).unwrap()).collect());
    }
    rows
}

#[tokio::test]
async fn tables_are_read_back_cell_by_cell_and_are_never_taken_for_calculations() {
    let desk = Desk::shipped();
    let text = "+++\ntitle = \"Cells\"\nedition = 3\n+++\n\n```workings\ncost(\"=1+1 | a, \\\"quoted\\\" thing\", 12.50.usd);\ncost(\"-2 off\", 3.usd, \"@shop\");\nstep(\"+step\", 2.days);\nlet sticks = cut_list(3660.mm, [1880.mm, 660.mm], 3.mm);\n```\n";
    desk.outside("cells.md", text);
    let (status, kind, body) = get(&desk, "/plan/cells/tables/costs.csv").await;
    assert_eq!(status, StatusCode::OK, "{}", String::from_utf8_lossy(&body));
    assert!(kind.starts_with("text/csv"));
    let plain = String::from_utf8(body.clone()).unwrap();
    assert!(plain.ends_with("\r\n") && plain.matches('\n').count() == plain.matches("\r\n").count());
    let rows = read_table(&body);
    assert_eq!(rows[0], ["what", "to", "amount", "currency"]);
    assert_eq!(rows[1], ["'=1+1 | a, \"quoted\" thing", "", "12.50", "USD"]);
    assert_eq!(rows[2], ["'-2 off", "'@shop", "3.00", "USD"]);
    let rows = read_table(&get(&desk, "/plan/cells/tables/schedule.csv").await.2);
    assert_eq!(rows[1][0], "'+step");
    let rows = read_table(&get(&desk, "/plan/cells/tables/cuts.csv").await.2);
    assert_eq!(rows[1], ["sticks", "1", "1", "1880.00", "74.0157"]);
    let rows = read_table(&get(&desk, "/plan/cells/tables/ledger.csv").await.2);
    assert_eq!(rows, [["line", "print", "what", "day", "who or why", "amount", "currency", "place"]]);
    assert_eq!(get(&desk, "/plan/cells/tables/everything.csv").await.0, StatusCode::NOT_FOUND);
}

/// A proof is not numbered, an amount is a number beside its currency, and each line of the ledger says where the print is.
#[tokio::test]
async fn the_table_of_the_ledger_tells_proofs_from_numbers_and_amounts_from_currencies() {
    let desk = Desk::with("+++\ntitle = \"Cells\"\nedition = 3\nproofs = 1\n+++\n");
    for line in [
        json!({"number": "AP 1", "what": "printed", "when": "2026-11-20"}),
        json!({"number": 1, "what": "printed", "when": "2026-11-21", "place": "flat file, drawer 2"}),
        json!({"number": 1, "what": "sold", "when": "2026-11-22", "words": "R. Vell", "amount": "1200 eur", "place": "with its owner"}),
    ] {
        desk.post("/plan/p/ledger", "", line).await.is(200);
    }
    let rows = by_python("table", &get(&desk, "/plan/p/tables/ledger.csv").await.2);
    assert_eq!(
        rows,
        json!([
            ["line", "print", "what", "day", "who or why", "amount", "currency", "place"],
            ["1", "AP 1", "printed", "2026-11-20", "", "", "", ""],
            ["2", "1", "printed", "2026-11-21", "", "", "", "flat file, drawer 2"],
            ["3", "1", "sold", "2026-11-22", "R. Vell", "1200.00", "EUR", "with its owner"],
        ])
    );
}

/// What RFC 5545 asks of an event that other programs follow: a name that stays (3.8.4.7), a number that grows with every
/// change (3.8.7.4), when it was changed last (3.8.7.3), and that it takes nobody's time (3.8.2.7).
#[tokio::test]
async fn an_event_keeps_its_name_when_a_step_is_put_before_it_and_says_when_it_changed() {
    let plan = |before: &str| {
        format!(
            "+++\ntitle = \"Salt, A\"\nstart = 2026-11-02\n+++\n\n```workings\n{before}step(\"Print, large\", 2.days);\nstep(\"Frame\", 2.days);\nstep(\"Frame\", 1.days);\n```\n"
        )
    };
    let desk = Desk::with(&plan(""));
    let read = async |desk: &Desk| {
        let body = get(desk, "/plan/p/calendar.ics").await.2;
        (by_python("calendar", &body), String::from_utf8(body).unwrap().replace("\r\n ", ""))
    };
    let (first, text) = read(&desk).await;
    let revision = desk.get("/plan/p/values").await.json()["revision"].as_u64().unwrap();
    for event in first["events"].as_array().unwrap() {
        assert_eq!((&event["sequence"], &event["transparent"]), (&json!(revision), &json!("TRANSPARENT")), "{event}");
        for stamp in ["stamped", "changed"] {
            let moment = event[stamp].as_str().unwrap_or_else(|| panic!("no {stamp}: {event}"));
            assert!(moment.starts_with("2026-11-25T") && moment.ends_with("+00:00"), "{stamp}: {event}");
        }
    }
    // Every text with a comma has it escaped, on its line of the file: NAME, SUMMARY and DESCRIPTION are texts (3.3.11).
    for line in text.lines().filter(|line| line.contains("Salt") || line.contains("Print")) {
        assert!(line.matches(',').count() == line.matches("\\,").count(), "{line}");
    }
    assert_eq!(first["name"], "Salt, A");
    let uid = |read: &serde_json::Value, nth: usize, words: &str| {
        let mut all =
            read["events"].as_array().unwrap().iter().filter(|one| one["summary"].as_str().unwrap().starts_with(words));
        all.nth(nth).unwrap_or_else(|| panic!("no {words}: {read}"))["uid"].clone()
    };
    let from = desk.mark("p").await;
    desk.put("p", &from, &plan("step(\"Scan\", 1.days);\n")).await.is(200);
    let (second, _) = read(&desk).await;
    for (nth, words) in [(0, "Print, large"), (0, "Frame"), (1, "Frame")] {
        assert_eq!(uid(&first, nth, words), uid(&second, nth, words), "{words}");
    }
    assert_ne!(uid(&second, 0, "Frame"), uid(&second, 1, "Frame"));
    assert_ne!(uid(&second, 0, "Scan"), uid(&first, 0, "Print"));
    assert!(second["events"][0]["sequence"].as_u64() > Some(revision), "{second}");
}

#[tokio::test]
async fn a_ticket_handed_over_is_kept_and_what_changes_after_is_told_line_by_line() {
    let desk = Desk::shipped();
    let path = "/plan/causeway-first-light/ticket/framer";
    let (status, _, before) = get(&desk, path).await;
    assert_eq!(status, StatusCode::OK, "{}", String::from_utf8_lossy(&before));
    assert!(!String::from_utf8(before).unwrap().contains("issue 1"));
    desk.post(&format!("{path}/issue"), "", json!({"words": "by mail"})).await.is(200);
    let scanner = "/plan/causeway-first-light/ticket/scanner";
    desk.post(&format!("{scanner}/issue"), "", json!({})).await.is(200);
    let page = String::from_utf8(get(&desk, path).await.2).unwrap();
    assert!(page.contains("issue 1, revision 1") && page.contains("by mail"));
    assert!(page.contains("Nothing Corner Joint Frames reads has changed since."));
    // Another gap, as anyone may write it into the file.
    let text = desk.file("causeway-first-light.md");
    let changed = text.replace("given(\"Gap\", 0.375.inch, [", "given(\"Gap\", 0.25.inch, [");
    assert_ne!(text, changed);
    desk.outside("causeway-first-light.md", changed);
    let page = String::from_utf8(get(&desk, path).await.2).unwrap();
    assert!(page.contains("lines have changed that Corner Joint Frames reads"), "{page}");
    assert!(page.contains("class=\"revised\""), "a bar stands beside what changed");
    let gap = page.find("<ins>gap: ").map(|at| &page[at..at + 80]).unwrap_or_else(|| panic!("{page}"));
    assert!(
        gap.contains("1&#x2f;4") && page[page.find("<ins>gap: ").unwrap()..].contains("<del>gap: 3&#x2f;8"),
        "{gap}"
    );
    // A shop that reads nothing of it is told so.
    let page = String::from_utf8(get(&desk, scanner).await.2).unwrap();
    assert!(page.contains("Nothing Heron Scan Room reads has changed since."), "{page}");
}

#[tokio::test]
async fn a_trade_the_plan_does_not_name_gets_a_ticket_that_says_what_is_missing() {
    let desk = Desk::shipped();
    let (status, _, page) = get(&desk, "/plan/first-plan/ticket/framer").await;
    let page = String::from_utf8(page).unwrap();
    assert_eq!(status, StatusCode::OK, "{page}");
    for words in [
        "no section of the plan is for this shop",
        "no day is set by which it is needed",
        "nobody is named whom the shop may ask",
    ] {
        assert!(page.contains(words), "`{words}` is not in {page}");
    }
    assert_eq!(get(&desk, "/plan/first-plan/ticket/florist").await.0, StatusCode::NOT_FOUND);
}

/// What Python's own readers understand: `icalendar` for RFC 5545, `csv` in its strict form for RFC 4180.
fn by_python(kind: &str, bytes: &[u8]) -> serde_json::Value {
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    let mut python = Command::new("/usr/bin/python3")
        .args([concat!(env!("CARGO_MANIFEST_DIR"), "/tests/app/read.py"), kind])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    python.stdin.take().unwrap().write_all(bytes).unwrap();
    let said = python.wait_with_output().unwrap();
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    serde_json::from_slice(&said.stdout).unwrap()
}

#[tokio::test]
async fn python_reads_every_calendar_and_every_table_of_the_shipped_plans() {
    let desk = Desk::shipped();
    let mut events_seen = 0;
    for (plan, _) in desk.notebook.documents.all(engine::document::Kind::Plan) {
        let plan = plan.in_url();
        let schedule = by_python("table", &get(&desk, &format!("/plan/{plan}/tables/schedule.csv")).await.2);
        let calendar = by_python("calendar", &get(&desk, &format!("/plan/{plan}/calendar.ics")).await.2);
        assert_eq!(calendar["version"], "2.0");
        assert_eq!(calendar["errors"].as_array().unwrap().len(), 0, "{plan}: {calendar}");
        let events = calendar["events"].as_array().unwrap();
        for row in schedule.as_array().unwrap().iter().skip(1) {
            let what = row[0].as_str().unwrap();
            let day_after = engine::measure::Day::parse(row[3].as_str().unwrap()).unwrap().plus(1).unwrap().iso();
            let is = |event: &&serde_json::Value| {
                event["summary"].as_str().unwrap().starts_with(what)
                    && event["start"] == row[2]
                    && event["end"] == day_after.as_str()
            };
            assert!(events.iter().any(|event| is(&event)), "{plan}: {row} is not among {events:?}");
            events_seen += 1;
        }
        let costs = by_python("table", &get(&desk, &format!("/plan/{plan}/tables/costs.csv")).await.2);
        let values = desk.values(&plan).await;
        assert_eq!(costs.as_array().unwrap().len() - 1, values["costs"].as_array().unwrap().len(), "{plan}");
    }
    assert!(events_seen > 30, "{events_seen}");
    let text = "+++\ntitle = \"A, b; \\\\ \\\"c\\\" – 漢字\"\n+++\n\n```workings\nstep(\"=1+1, \\\"a\\\"; b \u{1f600}\", 2.days);\n```\n";
    desk.outside("odd.md", text);
    let odd = by_python("calendar", &get(&desk, "/plan/odd/calendar.ics").await.2);
    assert!(odd["events"][0]["summary"].as_str().unwrap().starts_with("=1+1, \"a\"; b"), "{odd}");
    let rows = by_python("table", &get(&desk, "/plan/odd/tables/schedule.csv").await.2);
    assert!(rows[1][0].as_str().unwrap().starts_with("'=1+1, \"a\"; b"), "{rows}");
}

#[tokio::test]
async fn a_calendar_program_reads_a_private_address_until_it_is_revoked() {
    let desk = Desk::shipped();
    let plan = "/plan/causeway-first-light";
    let made = desk.post(&format!("{plan}/calendar"), "", json!({})).await.is(200).json();
    let address = made["address"].as_str().unwrap();
    let path = address.split_once("localhost").unwrap().1.to_owned();
    let secret = path.trim_start_matches("/c/").trim_end_matches("/steps.ics");
    assert_eq!(secret.len(), 43, "256 bits in 43 signs");
    // As a calendar program asks: no browser's headers at all.
    let ask = || async {
        let request = axum::http::Request::get(path.as_str()).header(header::HOST, "localhost");
        desk.ask(request.body(axum::body::Body::empty()).unwrap()).await
    };
    let read = ask().await.is(200);
    assert_eq!(read.headers["x-robots-tag"], "noindex, nofollow");
    assert_eq!(read.body, desk.get(&format!("{plan}/calendar.ics")).await.body, "it is the plan's own calendar");
    // It moves with the plan.
    let from = desk.mark("causeway-first-light").await;
    let text = desk
        .file("causeway-first-light.md")
        .replace("2.weeks", "3.weeks")
        .replace("step(\"Frame\"", "step(\"Framing\"");
    desk.put("causeway-first-light", &from, &text).await.is(200);
    let moved = by_python("calendar", &ask().await.is(200).body);
    assert!(moved["events"].to_string().contains("Framing"), "{moved}");
    // The secret is nowhere: neither on the page nor in the record.
    let page = desk.get(&format!("{plan}/links")).await.is(200);
    assert!(!page.text().contains(secret) && page.text().contains("last read on"));
    let mut kept = Vec::new();
    for file in ["makeready.db", "makeready.db-wal"] {
        kept.extend(std::fs::read(desk.path(file)).unwrap_or_default());
    }
    assert!(!kept.windows(secret.len()).any(|window| window == secret.as_bytes()), "the secret is in the record");
    // Ended, it answers as one that never was.
    let id = page.text().split("data-revoke-calendar=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    desk.post(&format!("/plan/first-plan/calendar/{id}/revoke"), "", json!({})).await.is(404);
    ask().await.is(200);
    desk.post(&format!("{plan}/calendar/{id}/revoke"), "", json!({})).await.is(200);
    let ended = ask().await.is(404);
    let never = desk.get(&path.replace(secret, &"A".repeat(43))).await.is(404);
    assert_eq!(ended.body, never.body);
    desk.post("/plan/nothing-here/calendar", "", json!({})).await.is(404);
}

#[tokio::test]
async fn an_address_of_a_calendar_ends_and_its_owner_sees_when_and_renews_it() {
    let plan = "/plan/causeway-first-light";
    let desk = Desk::shipped();
    let make = async |desk: &Desk, body| {
        let made = desk.post(&format!("{plan}/calendar"), "", body).await.is(200).json();
        made["address"].as_str().unwrap().split_once("localhost").unwrap().1.to_owned()
    };
    let (year, week) = (make(&desk, json!({})).await, make(&desk, json!({"days": 7})).await);
    for days in [json!(0), json!(-1), json!(5000), json!("x")] {
        let (what, next) = desk.post(&format!("{plan}/calendar"), "", json!({"days": days})).await.is(422).told();
        assert!(what.contains("days") && next.contains("from 1 to 1098"), "{what}; {next}");
    }
    let page = desk.get(&format!("{plan}/links")).await.is(200);
    assert!(
        page.text().contains("ends on 2027-11-25") && page.text().contains("ends on 2026-12-02"),
        "{}",
        page.text()
    );
    desk.get(&year).await.is(200);
    desk.get(&week).await.is(200);
    // A week later one has ended, and answers as one that never was.
    let desk = desk.later("2026-12-02");
    desk.get(&year).await.is(200);
    let ended = desk.get(&week).await.is(404);
    assert_eq!(ended.body, desk.get(&format!("/c/{}/steps.ics", "A".repeat(43))).await.body);
    let page = desk.get(&format!("{plan}/links")).await.is(200);
    assert!(page.text().contains("ended on 2026-12-02"), "{}", page.text());
    // Renewed, the same address goes on: the newest stands first.
    let id = page.text().split("data-renew-calendar=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    desk.post(&format!("/plan/first-plan/calendar/{id}/renew"), "", json!({})).await.is(404);
    desk.get(&week).await.is(404);
    desk.post(&format!("{plan}/calendar/{id}/renew"), "", json!({})).await.is(200);
    desk.get(&week).await.is(200);
    let desk = desk.later("2027-11-25");
    desk.get(&year).await.is(404);
    desk.get(&week).await.is(200);
    let desk = desk.later("2027-12-02");
    desk.get(&week).await.is(404);
    // A revoked one is not renewed.
    desk.post(&format!("{plan}/calendar/{id}/revoke"), "", json!({})).await.is(200);
    desk.post(&format!("{plan}/calendar/{id}/renew"), "", json!({})).await.is(404);
    desk.get(&week).await.is(404);
}
