//! The revisions of a plan or rate sheet: the table of them, any two side by side, and one brought back.

use std::borrow::Cow;
use std::time::Duration;

use axum::body::Bytes;
use axum::extract::{Query, State};
use axum::http::Uri;
use axum::response::{Html, Response};
use engine::document::Document;
use engine::measure::Day;
use engine::render::compare::{Kind, Moved};
use serde::Serialize;
use similar::{ChangeTag, TextDiff};

use super::extract::{About, Change, read};
use super::page;
use crate::error::Error;
use crate::names::Name;
use crate::state::App;
use crate::titles::title;

/// Revisions shown on one page.
const SHOWN: usize = 100;
/// How long two texts may be compared before the rest is shown as changed.
const PATIENCE: Duration = Duration::from_millis(200);
/// Rows of numbers shown at once; the rest is counted.
const NUMBERS: usize = 200;

/// Which page of the table.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct HistoryQuery {
    below: Option<u32>,
}

/// The table.
pub(crate) async fn get(
    State(app): State<App>,
    about: About,
    Query(from): Query<HistoryQuery>,
    uri: Uri,
) -> Result<Html<String>, Error> {
    let sheet = is_sheet(&uri);
    let (name, kept, revisions, title) = about
        .with(|notebook, name, _| {
            let kept = notebook.text(name).ok();
            let revisions = notebook.store().revisions(name)?;
            let Some(last) = revisions.first() else {
                return Err(Error::missing(
                    format!("`{}` has no revisions", name.as_str()),
                    "look at the wall for what there is",
                ));
            };
            let title = title_in(&notebook.store().revision_text(name, last.number)?, name);
            Ok((name.clone(), kept, revisions, title))
        })
        .await?;
    let (count, last) = (revisions.len(), revisions.first().map_or(0, |one| one.number));
    let first = revisions.last().map(|one| moment(&one.saved));
    let here = kept.as_ref().map(|kept| kept.hash.as_str());
    let below = from.below.unwrap_or(u32::MAX);
    let shown: Vec<_> = revisions.iter().filter(|one| one.number < below).take(SHOWN).collect();
    let more = shown
        .last()
        .map(|one| one.number)
        .filter(|number| *number > 1 && revisions.last().is_some_and(|one| one.number < *number));
    let standing = revisions.iter().find(|one| Some(one.hash.as_str()) == here).map(|one| one.number);
    let shown = shown.into_iter().map(|one| RevisionRow {
        number: one.number,
        when: moment(&one.saved),
        stamp: one.saved.clone(),
        source: if one.here { "here" } else { "outside" },
        moved: match one.moved.as_deref() {
            None => "not calculated yet".to_owned(),
            Some(_) if one.number == 1 => "begun".to_owned(),
            Some("") => "no values changed".to_owned(),
            Some(words) => words.to_owned(),
        },
        quiet: one.moved.as_ref().is_none_or(String::is_empty),
        text: lines_moved(one.lines_in, one.lines_out),
        standing: standing == Some(one.number),
    });
    let own = HistoryPage {
        base: base(sheet, &name),
        back: back(sheet),
        title,
        etag: here,
        count,
        last,
        first,
        more,
        revisions: shown.collect(),
    };
    page(&app, "history.html", &own)
}

#[derive(Serialize)]
struct HistoryPage<'a> {
    /// The address of the document, and what it is called.
    base: String,
    back: &'static str,
    title: String,
    etag: Option<&'a str>,
    count: usize,
    last: u32,
    /// When the first one was saved.
    first: Option<String>,
    /// The revision above those of the next page.
    more: Option<u32>,
    revisions: Vec<RevisionRow>,
}

#[derive(Serialize)]
struct RevisionRow {
    number: u32,
    when: String,
    /// The same for programs.
    stamp: String,
    source: &'static str,
    moved: String,
    /// Nothing moved.
    quiet: bool,
    text: String,
    /// It is the text as it stands.
    standing: bool,
}

/// Which two.
#[derive(Debug, serde::Deserialize)]
pub(crate) struct Two {
    from: u32,
    to: u32,
}

/// Two revisions side by side.
pub(crate) async fn two(
    State(app): State<App>,
    about: About,
    Query(Two { from, to }): Query<Two>,
    uri: Uri,
) -> Result<Html<String>, Error> {
    let sheet = is_sheet(&uri);
    let (name, (before, after), moved, days, etag) = about
        .with(move |notebook, name, _| {
            let texts = (notebook.store().revision_text(name, from)?, notebook.store().revision_text(name, to)?);
            let moved = notebook
                .history
                .recorded_results(name, from)
                .and_then(|one| Ok(one.moved(&notebook.history.recorded_results(name, to)?)));
            let mut days = notebook.store().revisions(name)?;
            days.retain(|one| one.number == from || one.number == to);
            let etag = notebook.text(name).ok().map(|kept| kept.hash.clone());
            Ok((name.clone(), texts, moved, days, etag))
        })
        .await?;
    let day =
        |number: u32| days.iter().find(|one| one.number == number).map(|one| moment(&one.saved)).unwrap_or_default();
    let (rows, added, removed) = side_by_side(&before, &after);
    let (moved, unknown) = match moved {
        Ok(moved) => (moved, None),
        Err(error) => (Vec::new(), Some(error.message().to_string().replace('`', ""))),
    };
    let own = ComparePage {
        base: base(sheet, &name),
        back: back(sheet),
        title: title_in(&after, &name),
        etag,
        from,
        to,
        from_day: day(from),
        to_day: day(to),
        moved: shown(&moved),
        count: moved.len(),
        more: moved.len().saturating_sub(NUMBERS),
        unknown,
        rows,
        lines: lines_moved(added, removed),
    };
    page(&app, "compare.html", &own)
}

#[derive(Serialize)]
struct ComparePage {
    /// The address of the document, and what it is called.
    base: String,
    back: &'static str,
    title: String,
    etag: Option<String>,
    from: u32,
    to: u32,
    from_day: String,
    to_day: String,
    moved: Vec<MovedRow>,
    /// How many numbers moved, and how many of them are not shown.
    count: usize,
    more: usize,
    /// Why nothing is known of the numbers.
    unknown: Option<String>,
    rows: Vec<TextRow>,
    lines: String,
}

#[derive(Serialize)]
struct MovedRow {
    name: String,
    from: Option<String>,
    to: Option<String>,
    by: Option<String>,
    broken: bool,
}

/// A row of two texts side by side.
#[derive(Default, Serialize)]
struct TextRow {
    /// Lines that are the same are left out here.
    gap: bool,
    same: bool,
    left: Option<TextLine>,
    right: Option<TextLine>,
}

#[derive(Clone, Serialize)]
struct TextLine {
    n: Option<usize>,
    parts: Vec<TextPart>,
}

#[derive(Clone, Serialize)]
struct TextPart {
    marked: bool,
    text: String,
}

/// Which one is brought back.
#[derive(Debug, serde::Deserialize)]
struct Back {
    revision: u32,
}

/// Brings a revision back as a new one.
pub(crate) async fn restore(change: Change, body: Bytes) -> Result<Response, Error> {
    let wanted = read::<Back>(&body)?;
    change.save(move |notebook, name, from| notebook.restore(name, wanted.revision, from)).await
}

fn is_sheet(uri: &Uri) -> bool {
    uri.path().starts_with("/rates/")
}

fn back(sheet: bool) -> &'static str {
    if sheet { "the rate sheet" } else { "the plan" }
}

fn base(sheet: bool, name: &Name) -> String {
    format!("/{}/{}", if sheet { "rates" } else { "plan" }, name.in_url())
}

/// The title a text has.
fn title_in(text: &str, name: &Name) -> String {
    title(&Document::read(text), name)
}

/// A moment as a person reads it: `25 Nov 2026, 22:40`.
pub(crate) fn moment(stamp: &str) -> String {
    let day = stamp.get(..10).and_then(Day::parse);
    let time = stamp.get(11..16).unwrap_or_default();
    day.map_or_else(|| stamp.to_owned(), |day| format!("{day}, {time} UTC"))
}

fn lines_moved(added: u32, removed: u32) -> String {
    let count = |count: u32| if count == 1 { "1 line".to_owned() } else { format!("{count} lines") };
    match (added, removed) {
        (0, 0) => "the text is the same".to_owned(),
        (added, 0) => format!("{} added", count(added)),
        (0, removed) => format!("{} removed", count(removed)),
        (added, removed) => format!("{} added, {} removed", count(added), count(removed)),
    }
}

/// Values that changed.
fn shown(moved: &[Moved]) -> Vec<MovedRow> {
    let shown = moved.iter().take(NUMBERS).map(|one| {
        let (from, to, by) = (one.from.clone(), one.to.clone(), one.by.clone());
        let name = match one.kind {
            Kind::Total => "Total".to_owned(),
            Kind::Problem => format!("Problem: {}", one.name),
            _ => one.name.clone(),
        };
        let broken =
            one.kind == Kind::Rule && to.as_deref() == Some("not kept") || (one.kind == Kind::Problem && to.is_some());
        MovedRow { name: name.replace('`', ""), from, to, by, broken }
    });
    shown.collect()
}

/// Two texts as rows of a table: the same lines once, changed ones beside each other. Also how many lines were added and removed.
fn side_by_side(before: &str, after: &str) -> (Vec<TextRow>, u32, u32) {
    let diff = TextDiff::configure().timeout(PATIENCE).diff_lines(before, after);
    let (mut rows, mut added, mut removed) = (Vec::new(), 0, 0);
    for (index, group) in diff.grouped_ops(3).iter().enumerate() {
        if index > 0 {
            rows.push(TextRow { gap: true, ..TextRow::default() });
        }
        for op in group {
            let (mut left, mut right) = (Vec::new(), Vec::new());
            for change in diff.iter_inline_changes(op) {
                let part = |(marked, text): (bool, Cow<'_, str>)| TextPart {
                    marked,
                    text: text.trim_end_matches(['\n', '\r']).to_owned(),
                };
                let parts: Vec<_> = change.iter_strings_lossy().map(part).collect();
                let line = |index: Option<usize>| TextLine { n: index.map(|index| index + 1), parts: parts.clone() };
                match change.tag() {
                    ChangeTag::Equal => {
                        let (left, right) = (Some(line(change.old_index())), Some(line(change.new_index())));
                        rows.push(TextRow { same: true, left, right, ..TextRow::default() });
                    }
                    ChangeTag::Delete => left.push(line(change.old_index())),
                    ChangeTag::Insert => right.push(line(change.new_index())),
                }
            }
            removed += u32::try_from(left.len()).unwrap_or(u32::MAX);
            added += u32::try_from(right.len()).unwrap_or(u32::MAX);
            let (mut left, mut right) = (left.into_iter(), right.into_iter());
            loop {
                match (left.next(), right.next()) {
                    (None, None) => break,
                    (left, right) => rows.push(TextRow { left, right, ..TextRow::default() }),
                }
            }
        }
    }
    (rows, added, removed)
}
