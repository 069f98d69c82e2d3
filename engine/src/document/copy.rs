//! The start of the next piece: a past plan with its givens kept and its history left behind.

use pulldown_cmark::Event;
use toml_edit::{DocumentMut, value};

use super::reading::Document;
use super::{front, happened};
use crate::Message;
use crate::measure::Day;
use crate::syntax::calls::Calls;

/// A plan made from another: its own title, ticked boxes cleared, a fresh start, and a line saying where it came from.
/// Givens, shops and text are kept but for the sections left out by their titles; what really happened, quotes held and
/// dates before which nothing could begin stay behind.
///
/// # Errors
/// When the head of the plan cannot be read, or the title is empty or holds a line break.
pub fn next_piece(
    document: &Document,
    from: &str,
    title: &str,
    today: Day,
    without: &[String],
) -> Result<String, Message> {
    let title = title.trim();
    if title.is_empty() || title.chars().any(char::is_control) || title.chars().count() > 120 {
        return Err(Message::new(
            "a plan needs a title of one line, at most 120 letters",
            "give the new piece its title",
        ));
    }
    let old_title = document.title();
    let split = front::split(&document.text);
    let head = split.head.clone().and_then(|range| document.text.get(range)).unwrap_or_default();
    let mut toml: DocumentMut = head.parse().map_err(|_| {
        Message::new(
            "the head of this plan cannot be read",
            "put the head right first: its problem is told at the top of the page",
        )
    })?;
    toml.insert("title", value(title));
    toml.insert("from", value(from));
    let (year, month, day) = today.numbers();
    let start = format!("{year:04}-{month:02}-{day:02}");
    if let Ok(start) = start.parse::<toml_edit::Datetime>() {
        toml.insert("start", value(start));
    }
    toml.remove("hung");
    toml.remove("quotes");
    let body = body(document, split.body, &old_title, title, without);
    Ok(format!("+++\n{}+++\n{body}", with_line_end(&toml.to_string())))
}

fn with_line_end(text: &str) -> String {
    if text.is_empty() || text.ends_with('\n') { text.to_owned() } else { format!("{text}\n") }
}

/// The body with boxes cleared, the heading renamed, and the line of origin below it.
fn body(document: &Document, from: usize, old: &str, new: &str, without: &[String]) -> String {
    let mut changes: Vec<(std::ops::Range<usize>, String)> = Vec::new();
    let left_out = document.sections.iter().filter(|one| one.level > 1 && without.contains(&one.title));
    changes.extend(left_out.map(|section| (section.range.clone(), String::new())));
    changes.extend(happened::places(document).into_iter().map(|range| (range, String::new())));
    changes.extend(not_before(document));
    for (event, range) in &document.events {
        if let Event::TaskListMarker(true) = event {
            changes.push((range.clone(), "[ ]".to_owned()));
        }
    }
    let title = document.sections.iter().find(|one| one.level == 1);
    if let Some(section) = title {
        let line = document.text.get(section.range.clone()).and_then(|text| text.lines().next()).unwrap_or_default();
        let origin = format!(
            "\n\nMade from *{}*; look through the givens before anything is ordered.",
            old.replace(['*', '_', '`', '['], "")
        );
        let renamed =
            if section.title == old && line.contains(old) { line.replacen(old, new, 1) } else { format!("# {new}") };
        changes.push((section.range.start..section.range.start + line.len(), format!("{renamed}{origin}")));
    }
    // The widest first of those that begin together: what lies inside a part left out goes with it.
    changes.sort_by_key(|(range, _)| (range.start, std::cmp::Reverse(range.end)));
    let mut out = String::with_capacity(document.text.len() + 200);
    let mut at = from;
    for (range, text) in changes {
        if range.start < at {
            continue;
        }
        out.push_str(document.text.get(at..range.start).unwrap_or_default());
        out.push_str(&text);
        at = range.end;
    }
    out.push_str(document.text.get(at..).unwrap_or_default());
    out
}

/// The dates in steps before which they could not begin: those of the piece that was.
fn not_before(document: &Document) -> Vec<(std::ops::Range<usize>, String)> {
    let mut dates = Vec::new();
    for block in &document.blocks {
        let calls = Calls::of(&block.text);
        for call in calls.all().iter().filter(|call| call.function == "step") {
            for (before, argument) in call.arguments.iter().zip(call.arguments.iter().skip(1)) {
                if calls.text(argument).is_some_and(|text| text.starts_with("date(\"")) {
                    let range = block.offset(before.end.saturating_sub(1)) + 1
                        ..block.offset(argument.end.saturating_sub(1)) + 1;
                    dates.push((range, String::new()));
                }
            }
        }
    }
    dates
}
