//! Rate sheets: the list of them, and one.

use axum::extract::State;
use axum::response::Html;
use engine::document::{Document, Kind, change, front, prices};
use engine::evaluate::rates;
use engine::measure::Day;
use serde::Serialize;

use super::answer::fields;
use super::extract::About;
use super::{Field, Linked, page};
use crate::error::Error;
use crate::evaluator::Worked;
use crate::notebook::Current;
use crate::state::App;
use crate::titles::{sentence, title};

/// The list.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Error> {
    let all = app.notebook.documents.all(Kind::RateSheet);
    let sheets = all.into_iter().map(|(name, entry)| {
        let kept = app.notebook.rates.text(&name);
        let front = kept.map(|kept| Document::read(front::head_of(&kept.text)).front).unwrap_or_default();
        RateSheetRow {
            slug: name.in_url(),
            name: entry.title,
            kind: front.trade.unwrap_or_default(),
            dated: front.quoted.map(|day| day.to_string()),
        }
    });
    page(&app, "rates.html", &RatesPage { sheets: sheets.collect() })
}

#[derive(Serialize)]
struct RatesPage {
    sheets: Vec<RateSheetRow>,
}

#[derive(Serialize)]
struct RateSheetRow {
    slug: String,
    name: String,
    kind: String,
    dated: Option<String>,
}

/// Plans that draw on a rate sheet that are named on its page.
const DRAWN_ON: usize = 60;

/// One rate sheet.
pub(crate) async fn sheet(State(app): State<App>, about: About) -> Result<Html<String>, Error> {
    about
        .with(move |notebook, name, units| {
            let Current { kept, worked, revision } = notebook.current(name, units)?;
            let used_by = notebook.drawing_on(name);
            let priced = notebook.prices_by_size(name, &kept.text)?;
            let front = &worked.document.front;
            let priced =
                priced.into_iter().map(|one| PricedRow { name: rates::plain_name(&one.name), prices: one.prices });
            let own = RateSheetPage {
                slug: name.in_url(),
                title: title(&worked.document, name),
                sentence: sentence(&worked.document),
                etag: &kept.hash,
                revision: revision.to_string(),
                saved: format!("saved, revision {revision}"),
                block: fields(&worked, revision),
                article: &worked.article().html,
                is_list: prices::table(&worked.document).is_some(),
                groups: groups(&worked),
                open: rates::open(&worked.document, &worked.evaluation, notebook.today()),
                sizes: rates::sizes(worked.evaluation.units),
                priced: priced.collect(),
                dated: front.quoted.map(|day| day.to_string()),
                quoted: front.quoted.map(Day::iso),
                until: front.until.map(Day::iso),
                used: used_by.len(),
                used_by: used_by.into_iter().take(DRAWN_ON).map(|(name, title)| Linked::to(&name, title)).collect(),
            };
            page(&app, "sheet.html", &own)
        })
        .await
}

#[derive(Serialize)]
struct RateSheetPage<'a> {
    slug: String,
    title: String,
    sentence: String,
    etag: &'a str,
    revision: String,
    saved: String,
    /// The title block.
    block: Vec<Field>,
    article: &'a str,
    /// Its prices stand in a table.
    is_list: bool,
    groups: Vec<Group>,
    /// What is wrong with the quote.
    open: Vec<String>,
    /// The heads of the columns of prices.
    sizes: Vec<String>,
    priced: Vec<PricedRow>,
    /// The day of the quote as a person reads it.
    dated: Option<String>,
    quoted: Option<String>,
    until: Option<String>,
    /// How many plans use it; some of them are named.
    used: usize,
    used_by: Vec<Linked>,
}

#[derive(Serialize)]
struct PricedRow {
    name: String,
    /// One for each size.
    prices: Vec<Option<String>>,
}

/// Lines of a rate sheet that are about one thing.
#[derive(Serialize)]
struct Group {
    words: &'static str,
    lines: Vec<RateRow>,
}

#[derive(Serialize)]
struct RateRow {
    name: String,
    words: String,
    remark: Option<String>,
    shown: String,
    /// The literals that can be filled in.
    parts: Vec<RatePart>,
    /// There is one, and it is the whole value.
    single: bool,
}

/// One literal as a field: what stands before it, its digits, what stands behind it.
#[derive(Serialize)]
struct RatePart {
    before: &'static str,
    value: String,
    after: &'static str,
}

/// The lines of a rate sheet by what they are about, each with the literals that can be filled in.
fn groups(worked: &Worked) -> Vec<Group> {
    let lines = rates::lines(&worked.document, &worked.evaluation);
    let text = &worked.document.text;
    let row = |line: &rates::Line| {
        let written: Vec<_> = line.parts.iter().map(|range| text.get(range.clone()).unwrap_or_default()).collect();
        let is_literal = |written: &str| !matches!(change::literal(written), change::Literal::Calculation);
        RateRow {
            name: line.name.clone(),
            words: rates::plain_name(&line.name),
            remark: line.remark.clone(),
            shown: line.shown.clone(),
            single: matches!(&written[..], [only] if is_literal(only)),
            parts: written.into_iter().map(part).collect(),
        }
    };
    let groups = rates::Group::ALL.into_iter().map(|group| Group {
        words: group.words(),
        lines: lines.iter().filter(|line| line.group == group).map(row).collect(),
    });
    groups.filter(|group| !group.lines.is_empty()).collect()
}

fn part(written: &str) -> RatePart {
    let (before, value, after) = match change::literal(written) {
        change::Literal::Number { number, unit } => ("", number, unit.map_or("", |unit| unit.shown)),
        change::Literal::Money { number, currency } => (currency.sign, number, ""),
        change::Literal::Text(text) => ("", text, ""),
        change::Literal::Truth(truth) => ("", if truth { "yes" } else { "no" }.to_owned(), ""),
        change::Literal::Calculation => ("", written.to_owned(), ""),
    };
    RatePart { before, value, after }
}
