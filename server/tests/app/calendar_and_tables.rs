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
    assert_eq!(rows.len() - 1, events.len());
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
    assert_eq!(rows[0][0], "number");
    assert_eq!(get(&desk, "/plan/cells/tables/everything.csv").await.0, StatusCode::NOT_FOUND);
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
