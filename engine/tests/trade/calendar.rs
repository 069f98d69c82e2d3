//! Weeks, working days, public holidays and calendar files.

use engine::measure::{Calendar, Day};
use engine::trade::calendar_text::{AllDay, calendar, escape, fold};
use engine::trade::holidays::federal;

// Source: 5 U.S.C. 6103(a), (b)(1) (read), Executive Order 11582 (from memory); equal to a public library of holidays. The
// day it falls on, and the day it is kept.
const HOLIDAYS: &[(i16, [(&str, &str); 11])] = &[
    // W10.
    (
        2026,
        [
            ("2026-01-01", "2026-01-01"),
            ("2026-01-19", "2026-01-19"),
            ("2026-02-16", "2026-02-16"),
            ("2026-05-25", "2026-05-25"),
            ("2026-06-19", "2026-06-19"),
            ("2026-07-04", "2026-07-03"),
            ("2026-09-07", "2026-09-07"),
            ("2026-10-12", "2026-10-12"),
            ("2026-11-11", "2026-11-11"),
            ("2026-11-26", "2026-11-26"),
            ("2026-12-25", "2026-12-25"),
        ],
    ),
    // W11.
    (
        2027,
        [
            ("2027-01-01", "2027-01-01"),
            ("2027-01-18", "2027-01-18"),
            ("2027-02-15", "2027-02-15"),
            ("2027-05-31", "2027-05-31"),
            ("2027-06-19", "2027-06-18"),
            ("2027-07-04", "2027-07-05"),
            ("2027-09-06", "2027-09-06"),
            ("2027-10-11", "2027-10-11"),
            ("2027-11-11", "2027-11-11"),
            ("2027-11-25", "2027-11-25"),
            ("2027-12-25", "2027-12-24"),
        ],
    ),
    // W12.
    (
        2028,
        [
            ("2028-01-01", "2027-12-31"),
            ("2028-01-17", "2028-01-17"),
            ("2028-02-21", "2028-02-21"),
            ("2028-05-29", "2028-05-29"),
            ("2028-06-19", "2028-06-19"),
            ("2028-07-04", "2028-07-04"),
            ("2028-09-04", "2028-09-04"),
            ("2028-10-09", "2028-10-09"),
            ("2028-11-11", "2028-11-10"),
            ("2028-11-23", "2028-11-23"),
            ("2028-12-25", "2028-12-25"),
        ],
    ),
];

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

/// The federal holidays of 2026 to 2028 as they are kept.
fn office() -> Calendar {
    Calendar::new((2026..=2028).flat_map(|year| federal(year).unwrap()).map(|holiday| holiday.observed))
}

#[test]
fn a_federal_holiday_is_kept_on_a_working_day() {
    for (year, rows) in HOLIDAYS {
        let got: Vec<_> = federal(*year).unwrap().iter().map(|one| (one.date.iso(), one.observed.iso())).collect();
        let want: Vec<_> = rows.iter().map(|(date, kept)| ((*date).to_owned(), (*kept).to_owned())).collect();
        assert_eq!(got, want, "{year}");
    }
    for year in 2021..=2100 {
        assert!(federal(year).unwrap().iter().all(|one| !one.observed.is_weekend()), "{year}");
    }
    assert!(federal(2020).is_err() && federal(9999).is_err());
}

#[test]
fn a_week_belongs_to_the_year_of_its_thursday() {
    // W01 to W09. Source: ISO 8601-1 (from memory); computed with a calendar library.
    let rows = [
        ("2026-01-01", "2026-W01-4"),
        ("2026-12-31", "2026-W53-4"),
        ("2027-01-01", "2026-W53-5"),
        ("2028-01-01", "2027-W52-6"),
        ("2028-12-31", "2028-W52-7"),
        ("2009-12-31", "2009-W53-4"),
    ];
    for (date, week) in rows {
        assert_eq!(day(date).week(), week, "{date}");
    }
}

#[test]
fn working_days_skip_weekends_and_holidays() {
    // W13 to W20. Computed with a numerical library's business-day function, federal holidays as kept.
    let rows = [
        ("W13", "2026-06-29", 5, "2026-07-07"),
        ("W14", "2026-06-29", 4, "2026-07-06"),
        ("W15", "2026-05-22", 1, "2026-05-26"),
        ("W16", "2026-11-25", 2, "2026-11-30"),
        ("W17", "2026-05-16", 0, "2026-05-18"),
        ("W18", "2027-12-30", 1, "2028-01-03"),
        ("W19", "2026-06-18", 10, "2026-07-06"),
        ("W20", "2028-11-09", 1, "2028-11-13"),
    ];
    for (row, start, days, end) in rows {
        assert_eq!(office().plus(day(start), days), Some(day(end)), "{row}");
    }
}

#[test]
fn june_2026_has_21_working_days() {
    // W21. Computed with a numerical library: Juneteenth is a Friday.
    assert_eq!(office().between(day("2026-06-01"), day("2026-07-01")), 21);
    assert_eq!(Calendar::default().between(day("2026-06-01"), day("2026-07-01")), 22);
}

#[test]
fn calendar_text_escapes_what_the_format_means_otherwise() {
    // W22. Source: RFC 5545, 3.3.11 (from memory); computed with a calendar library.
    assert_eq!(
        escape("Proof 6x18, \"north wall\"; path C:\\jobs\nCall lab: 9am"),
        r#"Proof 6x18\, "north wall"\; path C:\\jobs\nCall lab: 9am"#
    );
    assert_eq!(escape("one\r\ntwo\u{0}"), "one\\ntwo");
}

#[test]
fn a_calendar_line_folds_at_75_octets() {
    // W23. Source: RFC 5545, 3.1 (read in files that quote it).
    let folded = fold(&format!("DESCRIPTION:{}", "a".repeat(80)));
    let lengths: Vec<_> = folded.trim_end_matches("\r\n").split("\r\n").map(str::len).collect();
    assert_eq!(lengths, [75, 18]);
    // A letter of several octets is never cut, and unfolding gives the line back.
    let line = format!("SUMMARY:{}", "é€𝄞".repeat(60));
    let folded = fold(&line);
    assert!(folded.split("\r\n").all(|part| part.len() <= 75));
    assert_eq!(folded.replace("\r\n ", "").trim_end_matches("\r\n"), line);
    assert_eq!(fold(""), "\r\n");
}

#[test]
fn an_all_day_task_ends_the_day_after_its_last() {
    // W25. Source: RFC 5545, 3.6.1, 3.8.2.2: the end is not inclusive (from memory).
    let task = AllDay {
        uid: "frame-1@plan".into(),
        stamp: "20260511T090000Z".into(),
        sequence: 2,
        first: day("2026-06-08"),
        last: day("2026-06-12"),
        summary: "Framing; one week".into(),
    };
    let file = calendar("-//Makeready//EN", &[task]);
    let lines: Vec<_> = file.split("\r\n").collect();
    let want = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//Makeready//EN",
        "BEGIN:VEVENT",
        "UID:frame-1@plan",
        "DTSTAMP:20260511T090000Z",
        "SEQUENCE:2",
        "DTSTART;VALUE=DATE:20260608",
        "DTEND;VALUE=DATE:20260613",
        "SUMMARY:Framing\\; one week",
        "END:VEVENT",
        "END:VCALENDAR",
        "",
    ];
    assert_eq!(lines, want);
}
