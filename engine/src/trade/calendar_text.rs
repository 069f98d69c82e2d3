//! Calendar files: days of a plan written so that any calendar reads them.
//!
//! Source: RFC 5545 (line folding read in files that quote it, the rest from memory).

use crate::measure::Day;

/// Octets of a line without its break. Source: RFC 5545, 3.1.
const LINE: usize = 75;

/// Words as a calendar's TEXT value: backslash, semicolon, comma and line break escaped, colon and quotes not.
///
/// Source: RFC 5545, 3.3.11.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.replace("\r\n", "\n").chars() {
        match letter {
            '\\' => out.push_str("\\\\"),
            ';' => out.push_str("\\;"),
            ',' => out.push_str("\\,"),
            '\n' | '\r' => out.push_str("\\n"),
            other if other.is_control() && other != '\t' => {}
            other => out.push(other),
        }
    }
    out
}

/// A line with its break, folded so that no part is longer than 75 octets and no letter is split.
///
/// Source: RFC 5545, 3.1.
pub fn fold(line: &str) -> String {
    let mut out = String::with_capacity(line.len() + line.len() / LINE * 3 + 2);
    let mut octets = 0;
    for letter in line.chars() {
        if octets + letter.len_utf8() > LINE {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(letter);
        octets += letter.len_utf8();
    }
    out.push_str("\r\n");
    out
}

/// Days that belong together under one heading, first and last worked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AllDay {
    /// The same each time the plan is exported.
    pub uid: String,
    /// When it was exported, in universal time: `20260511T090000Z`.
    pub stamp: String,
    /// Counts up when the days change.
    pub sequence: u32,
    /// First day.
    pub first: Day,
    /// Last day, itself included.
    pub last: Day,
    /// What is done.
    pub summary: String,
}

/// A whole calendar file. Every line ends in CRLF; the end of an event is the day after its last.
///
/// Source: RFC 5545, 3.4, 3.6.1, 3.8.2.2 (the end is not inclusive).
pub fn calendar(product: &str, events: &[AllDay]) -> String {
    let mut out = String::new();
    let mut line = |text: String| out.push_str(&fold(&text));
    line("BEGIN:VCALENDAR".into());
    line("VERSION:2.0".into());
    line(format!("PRODID:{}", escape(product)));
    for event in events {
        line("BEGIN:VEVENT".into());
        line(format!("UID:{}", escape(&event.uid)));
        line(format!("DTSTAMP:{}", escape(&event.stamp)));
        line(format!("SEQUENCE:{}", event.sequence));
        line(format!("DTSTART;VALUE=DATE:{}", basic(event.first)));
        if let Some(after) = event.last.plus(1) {
            line(format!("DTEND;VALUE=DATE:{}", basic(after)));
        }
        line(format!("SUMMARY:{}", escape(&event.summary)));
        line("END:VEVENT".into());
    }
    line("END:VCALENDAR".into());
    out
}

fn basic(day: Day) -> String {
    let (year, month, day) = day.numbers();
    format!("{year:04}{month:02}{day:02}")
}
