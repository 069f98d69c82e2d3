//! The revisions of a plan or rate sheet: the table of them, any two side by side, and one brought back.

use std::time::Duration;

use axum::body::Bytes;
use axum::extract::{Query, State};
use axum::http::Uri;
use axum::response::{Html, Response};
use engine::measure::Day;
use engine::render::compare::{Kind, Moved};
use minijinja::{Value, context};
use similar::{ChangeTag, TextDiff};

use super::about::{About, Change};
use super::page;
use super::plan::read;
use crate::app::App;
use crate::names::Name;
use crate::trouble::Refusal;

/// Revisions shown on one page.
const SHOWN: usize = 100;
/// How long two texts may be compared before the rest is shown as changed.
const PATIENCE: Duration = Duration::from_millis(200);
/// Rows of numbers shown at once; the rest is counted.
const NUMBERS: usize = 200;

/// Which page of the table.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct From {
    below: Option<u32>,
}

/// The table.
pub(crate) async fn get(
    State(app): State<App>,
    about: About,
    Query(from): Query<From>,
    uri: Uri,
) -> Result<Html<String>, Refusal> {
    let sheet = is_sheet(&uri);
    let (name, kept, revisions, title) = about
        .with(|notebook, name, _| {
            let kept = notebook.text(name).ok();
            let revisions = notebook.revisions(name)?;
            let Some(last) = revisions.first() else {
                return Err(Refusal::missing(
                    format!("`{}` has no revisions", name.as_str()),
                    "look at the wall for what there is",
                ));
            };
            let title = title(&notebook.revision_text(name, last.number)?, name);
            Ok((name.clone(), kept, revisions, title))
        })
        .await?;
    let (count, last) = (revisions.len(), revisions.first().map_or(0, |one| one.number));
    let first = revisions.last().map(|one| moment(&one.saved));
    let here = kept.as_ref().map(|kept| kept.etag.as_str());
    let below = from.below.unwrap_or(u32::MAX);
    let shown: Vec<_> = revisions.iter().filter(|one| one.number < below).take(SHOWN).collect();
    let more = shown
        .last()
        .map(|one| one.number)
        .filter(|number| *number > 1 && revisions.last().is_some_and(|one| one.number < *number));
    let standing = revisions.iter().find(|one| Some(one.etag.as_str()) == here).map(|one| one.number);
    page(
        &app,
        "history.html",
        context! {
            base => base(sheet, &name), back => if sheet { "the rate sheet" } else { "the plan" }, slug => name.in_url(), title => title,
            etag => here, count => count, last => last, first => first, more => more,
            revisions => shown.iter().map(|one| context! {
                number => one.number, when => moment(&one.saved), stamp => one.saved.clone(),
                source => if one.here { "here" } else { "outside" },
                moved => one.moved.clone().map_or_else(|| "not worked out yet".to_owned(), |words| if one.number == 1 { "begun".to_owned() } else if words.is_empty() { "no number moved".to_owned() } else { words }),
                quiet => one.moved.as_ref().is_none_or(String::is_empty),
                text => lines_moved(one.lines_in, one.lines_out),
                standing => standing == Some(one.number),
            }).collect::<Vec<_>>(),
        },
    )
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
) -> Result<Html<String>, Refusal> {
    let sheet = is_sheet(&uri);
    let (name, (before, after), moved, days, etag) = about
        .with(move |notebook, name, _| {
            let texts = (notebook.revision_text(name, from)?, notebook.revision_text(name, to)?);
            let moved = notebook.came_to(name, from).and_then(|one| Ok(one.moved(&notebook.came_to(name, to)?)));
            let mut days = notebook.revisions(name)?;
            days.retain(|one| one.number == from || one.number == to);
            let etag = notebook.text(name).ok().map(|kept| kept.etag.clone());
            Ok((name.clone(), texts, moved, days, etag))
        })
        .await?;
    let day =
        |number: u32| days.iter().find(|one| one.number == number).map(|one| moment(&one.saved)).unwrap_or_default();
    let (rows, came, went) = side_by_side(&before, &after);
    let (moved, not) = match moved {
        Ok(moved) => (moved, None),
        Err(refusal) => (Vec::new(), Some(refusal.trouble().to_string().replace('`', ""))),
    };
    page(
        &app,
        "compare.html",
        context! {
            base => base(sheet, &name), back => if sheet { "the rate sheet" } else { "the plan" }, slug => name.in_url(),
            title => title(&after, &name), etag => etag,
            from => from, to => to, from_day => day(from), to_day => day(to),
            moved => shown(&moved), count => moved.len(), more => moved.len().saturating_sub(NUMBERS), unknown => not,
            rows => rows, lines => lines_moved(came, went),
        },
    )
}

/// Which one is brought back.
#[derive(Debug, serde::Deserialize)]
struct Back {
    revision: u32,
}

/// Brings a revision back as a new one.
pub(crate) async fn restore(change: Change, body: Bytes) -> Result<Response, Refusal> {
    let wanted = read::<Back>(&body)?;
    change.save(move |notebook, name, from| notebook.restore(name, wanted.revision, from)).await
}

fn is_sheet(uri: &Uri) -> bool {
    uri.path().starts_with("/rates/")
}

fn base(sheet: bool, name: &Name) -> String {
    format!("/{}/{}", if sheet { "rates" } else { "plan" }, name.in_url())
}

fn title(text: &str, name: &Name) -> String {
    let title = crate::notebook::title_of(text);
    if title.is_empty() { name.as_str().to_owned() } else { title }
}

/// A moment as a person reads it: `25 Nov 2026, 22:40`.
pub(crate) fn moment(stamp: &str) -> String {
    let day = stamp.get(..10).and_then(Day::parse);
    let time = stamp.get(11..16).unwrap_or_default();
    day.map_or_else(|| stamp.to_owned(), |day| format!("{day}, {time} UTC"))
}

fn lines_moved(came: u32, went: u32) -> String {
    let count = |count: u32| if count == 1 { "one line".to_owned() } else { format!("{count} lines") };
    match (came, went) {
        (0, 0) => "the text is the same".to_owned(),
        (came, 0) => format!("{} came", count(came)),
        (0, went) => format!("{} went", count(went)),
        (came, went) => format!("{} came, {} went", count(came), count(went)),
    }
}

/// Numbers that moved, as a template shows them.
pub(crate) fn shown(moved: &[Moved]) -> Vec<Value> {
    moved
        .iter()
        .take(NUMBERS)
        .map(|one| {
            let (from, to) = (one.from.clone(), one.to.clone());
            let name = match one.kind {
                Kind::Total => "Whole cost".to_owned(),
                Kind::Problem => format!("Problem: {}", one.name),
                _ => one.name.clone(),
            };
            let broken = one.kind == Kind::Rule && to.as_deref() == Some("not kept")
                || (one.kind == Kind::Problem && to.is_some());
            context! { name => name.replace('`', ""), from => from, to => to, by => one.by.clone(), broken => broken }
        })
        .collect()
}

/// Two texts as rows of a table: the same lines once, changed ones beside each other. Also how many lines came and went.
fn side_by_side(before: &str, after: &str) -> (Vec<Value>, u32, u32) {
    let diff = TextDiff::configure().timeout(PATIENCE).diff_lines(before, after);
    let (mut rows, mut came, mut went) = (Vec::new(), 0, 0);
    for (index, group) in diff.grouped_ops(3).iter().enumerate() {
        if index > 0 {
            rows.push(context! { gap => true });
        }
        for op in group {
            let (mut left, mut right) = (Vec::new(), Vec::new());
            for change in diff.iter_inline_changes(op) {
                let parts: Vec<_> = change
                    .iter_strings_lossy()
                    .map(|(marked, text)| context! { marked => marked, text => text.trim_end_matches(['\n', '\r']).to_owned() })
                    .collect();
                let number = |index: Option<usize>| index.map(|index| index + 1);
                match change.tag() {
                    ChangeTag::Equal => rows.push(context! { same => true, left => context! { n => number(change.old_index()), parts => parts.clone() }, right => context! { n => number(change.new_index()), parts => parts } }),
                    ChangeTag::Delete => left.push(context! { n => number(change.old_index()), parts => parts }),
                    ChangeTag::Insert => right.push(context! { n => number(change.new_index()), parts => parts }),
                }
            }
            went += u32::try_from(left.len()).unwrap_or(u32::MAX);
            came += u32::try_from(right.len()).unwrap_or(u32::MAX);
            let (mut left, mut right) = (left.into_iter(), right.into_iter());
            loop {
                match (left.next(), right.next()) {
                    (None, None) => break,
                    (left, right) => rows.push(context! { same => false, left => left, right => right }),
                }
            }
        }
    }
    (rows, came, went)
}
