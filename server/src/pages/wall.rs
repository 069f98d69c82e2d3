//! The first page: every artwork of the notebook, hung to one scale along a wall.

use axum::extract::{Query, State};
use axum::response::Html;
use engine::Value;
use engine::document::Kind;
use engine::measure::Day;
use serde::Serialize;

use super::{Field, page};
use crate::days;
use crate::error::Error;
use crate::names::{Name, in_url};
use crate::notebook::Listed;
use crate::state::App;
use crate::store::BackedUp;
use crate::titles::capital;

/// A backup older than so many days is told on the first page.
const SAFE_DAYS: i64 = 7;

/// Artworks hung at once; the others hang further along.
const ALONG: usize = 120;

/// Plans without a file that are told at once.
const ORPHANS: usize = 20;

/// What the wall is asked for.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct WallQuery {
    /// Words to be found in a plan or in what it comes to.
    find: Option<String>,
    /// How many artworks are passed by first.
    from: Option<usize>,
}

/// The wall.
pub(crate) async fn get(State(app): State<App>, Query(wanted): Query<WallQuery>) -> Result<Html<String>, Error> {
    let today = app.notebook.today();
    let words = wanted.find.unwrap_or_default();
    let asked = words.clone();
    let (hung, backed_up, found, (orphans, renamed)) = app
        .with(move |notebook| {
            let hung = notebook.summaries.all()?;
            let record = (notebook.history.orphans()?, notebook.history.renamed()?);
            Ok((hung, notebook.store().backed_up()?, notebook.summaries.find(&asked)?, record))
        })
        .await?;
    let counted =
        |count: usize, one: &str, more: &str| if count == 1 { format!("one {one}") } else { format!("{count} {more}") };
    let worked: Vec<_> = hung.iter().filter_map(|plan| plan.summary.as_ref().ok()).collect();
    let (mut left, mut of) = (0, 0);
    for edition in worked.iter().filter_map(|summary| summary.edition.as_ref()) {
        left += edition.remaining;
        of += edition.size;
    }
    let broken = worked.iter().filter(|summary| summary.broken.is_some()).count();
    let due = worked.iter().filter(|summary| summary.finished.is_none()).flat_map(|summary| &summary.steps);
    let next = due.filter(|step| step.done.is_none()).map(|step| step.end).filter(|end| *end >= today).min();
    let sheets = app.notebook.documents.all(Kind::RateSheet);
    let figures = [
        ("artworks", hung.len().to_string()),
        ("prints left", format!("{left} of {of}")),
        ("rules broken", if broken == 0 { "none".into() } else { counted(broken, "plan", "plans") }),
        ("next", next.map_or_else(|| "nothing due".into(), |day| day.brief())),
        ("rate sheets", sheets.len().to_string()),
        ("today", today.to_string()),
    ];
    let shown_of: Vec<(usize, &Listed)> = hung
        .iter()
        .enumerate()
        .filter(|(_, plan)| found.as_ref().is_none_or(|found| found.contains(plan.name.as_str())))
        .collect();
    let from = wanted.from.unwrap_or(0).min(shown_of.len().saturating_sub(1)) / ALONG * ALONG;
    let to = (from + ALONG).min(shown_of.len());
    let shown = shown_of.iter().skip(from).take(ALONG).map(|(number, plan)| shown(*number, plan, today));
    let waiting = orphans.iter().take(ORPHANS).map(|one| OrphanRow {
        plan: &one.plan,
        title: &one.title,
        file: &one.file,
        left: one.left(),
        likely: one.likely.as_ref().map(Name::as_str),
    });
    let renamed = renamed.into_iter().map(|one| RenamedRow {
        slug: in_url(&one.to),
        from: one.from,
        to: one.to,
        day: days::shown(&one.since),
    });
    let root = app.notebook.root();
    let own = WallPage {
        notebook: NotebookHead {
            title: app.notebook.studio(),
            sentence: format!("Notebook of {}", counted(hung.len(), "artwork", "artworks")),
        },
        figures: figures.map(|(label, value)| Field { label: label.to_owned(), value }).into(),
        plans: shown.collect(),
        is_empty: hung.is_empty(),
        words_in_url: in_url(&words),
        words,
        found: found.is_some().then_some(shown_of.len()),
        all: shown_of.len(),
        first: from + 1,
        last: to,
        before: (from > 0).then(|| from - ALONG),
        after: (to < shown_of.len()).then_some(to),
        stale: hung.iter().filter(|plan| plan.stale).count(),
        unsafe_words: unsafe_words(&backed_up, today),
        orphans: waiting.collect(),
        more_orphans: orphans.len().saturating_sub(ORPHANS),
        renamed: renamed.collect(),
        notebook_folder: root.canonicalize().unwrap_or_else(|_| root.to_path_buf()).display().to_string(),
        sheets: sheets.len(),
    };
    page(&app, "wall.html", &own)
}

#[derive(Serialize)]
struct WallPage<'a> {
    notebook: NotebookHead,
    figures: Vec<Field>,
    plans: Vec<WallItem>,
    is_empty: bool,
    /// What is looked for.
    words: String,
    words_in_url: String,
    /// How many were found, when something is looked for.
    found: Option<usize>,
    /// How many hang along the whole wall, and which of them here.
    all: usize,
    first: usize,
    last: usize,
    before: Option<usize>,
    after: Option<usize>,
    /// How many are being calculated again.
    stale: usize,
    unsafe_words: Option<String>,
    orphans: Vec<OrphanRow<'a>>,
    more_orphans: usize,
    renamed: Vec<RenamedRow>,
    notebook_folder: String,
    /// How many rate sheets there are.
    sheets: usize,
}

#[derive(Serialize)]
struct NotebookHead {
    title: String,
    sentence: String,
}

/// An artwork on the wall.
#[derive(Default, Serialize)]
struct WallItem {
    slug: String,
    title: String,
    width_cm: Option<f64>,
    height_cm: Option<f64>,
    size: Option<String>,
    left: String,
    next: String,
    state: &'static str,
    state_words: String,
    finished: bool,
    /// Which drawing hangs there.
    pattern: usize,
}

/// A plan without a file.
#[derive(Serialize)]
struct OrphanRow<'a> {
    plan: &'a str,
    title: &'a str,
    file: &'a str,
    left: String,
    likely: Option<&'a str>,
}

#[derive(Serialize)]
struct RenamedRow {
    slug: String,
    from: String,
    to: String,
    day: String,
}

/// What is told when work would be lost with this disk: nothing when all of it is in a backup not older than a week.
fn unsafe_words(backed_up: &BackedUp, today: Day) -> Option<String> {
    if !backed_up.changed {
        return None;
    }
    let Some(last) = backed_up.last.as_deref().and_then(|last| Day::parse(last.get(..10)?)) else {
        return Some("This notebook was never backed up.".to_owned());
    };
    let age = last.until(today);
    (age > SAFE_DAYS).then(|| format!("The last backup was made on {last}, {age} days ago, and work was saved since."))
}

fn shown(number: usize, listed: &Listed, today: Day) -> WallItem {
    let unread = |words: &String| WallItem {
        slug: listed.name.in_url(),
        title: listed.title.clone(),
        state: "problem",
        state_words: words.replace('`', ""),
        pattern: number % 6,
        ..WallItem::default()
    };
    let plan = match &listed.summary {
        Ok(plan) => plan,
        Err(words) => return unread(words),
    };
    let left = plan.edition.as_ref().map(|edition| {
        let proofs = if edition.proofs > 0 { format!(", {} AP", edition.proofs) } else { String::new() };
        format!("{} of {} left{proofs}", edition.remaining, edition.size)
    });
    let due = plan.steps.iter().filter(|step| step.done.is_none() && step.end >= today);
    let next = due.min_by_key(|step| step.end).filter(|_| plan.finished.is_none());
    let (state, state_words) = if listed.stale {
        ("none", "being calculated".to_owned())
    } else if plan.problems > 0 {
        let words = match plan.problems {
            1 => "One number cannot be calculated".to_owned(),
            count => format!("{count} numbers cannot be calculated"),
        };
        ("problem", words)
    } else if let Some(rule) = &plan.broken {
        ("broken", format!("A rule is broken: {rule}"))
    } else if let Some(rule) = &plan.slack {
        ("slack", format!("Not kept: {rule}"))
    } else if let Some(matter) = plan.quote.as_ref().filter(|_| plan.finished.is_none()) {
        ("slack", capital(matter))
    } else if plan.rules == 0 {
        ("none", String::new())
    } else {
        ("kept", "All rules kept".to_owned())
    };
    WallItem {
        slug: listed.name.in_url(),
        title: plan.title.clone(),
        width_cm: plan.hung.map(|(width, _)| width.to_cm()),
        height_cm: plan.hung.map(|(_, height)| height.to_cm()),
        size: plan.hung.map(|(width, height)| Value::List(vec![width.into(), height.into()]).shown(plan.units)),
        left: left.unwrap_or_default(),
        next: next.map(|step| format!("{}, {}", step.what, step.end.brief())).unwrap_or_default(),
        state,
        state_words,
        finished: plan.finished.is_some(),
        pattern: number % 6,
    }
}
