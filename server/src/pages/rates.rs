//! Rate sheets: the list of them, and one.

use axum::extract::State;
use axum::response::Html;
use engine::document::{Document, Kind, change};
use engine::evaluate::rates;
use engine::measure::Day;
use minijinja::{Value, context};

use super::about::About;
use super::page;
use super::plan::{fields, sentence, title};
use crate::app::App;
use crate::evaluator::Worked;
use crate::trouble::Refusal;

/// The list.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Refusal> {
    let sheets: Vec<_> = app
        .notebook
        .all(Kind::RateSheet)
        .into_iter()
        .map(|(name, entry)| {
            let front = entry.sheet.as_ref().map(|kept| Document::read(engine::document::front::head_of(&kept.text)).front).unwrap_or_default();
            context! { slug => name.in_url(), name => entry.title, kind => front.trade.unwrap_or_default(), dated => front.quoted.map(|day| day.to_string()) }
        })
        .collect();
    page(&app, "rates.html", context! { sheets })
}

/// Plans that draw on a rate sheet that are named on its page.
const DRAWN_ON: usize = 60;

/// One rate sheet.
pub(crate) async fn sheet(State(app): State<App>, about: About) -> Result<Html<String>, Refusal> {
    let (name, kept, worked, revision, used_by, priced) = about
        .with(|notebook, name, units| {
            let kept = notebook.text(name)?;
            let worked = notebook.work_out(name, &kept.text, units)?;
            let revision = notebook.revision(name, &kept.etag)?;
            let used_by = notebook.drawing_on(name);
            let priced = notebook.prices_by_size(name, &kept.text)?;
            Ok((name.clone(), kept, worked, revision, used_by, priced))
        })
        .await?;
    page(
        &app,
        "sheet.html",
        context! {
            slug => name.in_url(),
            title => title(&worked.document, &name),
            sentence => sentence(&worked.document),
            etag => kept.etag.clone(),
            revision => revision.to_string(),
            saved => format!("saved, revision {revision}"),
            block => fields(&worked, revision).into_iter().map(|(label, value)| context! { label, value }).collect::<Vec<_>>(),
            article => worked.article().html.clone(),
            groups => groups(&worked),
            open => rates::open(&worked.document, &worked.evaluation, app.notebook.today()),
            sizes => rates::sizes(worked.evaluation.units),
            priced => priced.iter().map(|one| context! { name => rates::plain_name(&one.name), prices => one.prices.clone() }).collect::<Vec<_>>(),
            dated => worked.document.front.quoted.map(|day| day.to_string()),
            quoted => worked.document.front.quoted.map(Day::iso), until => worked.document.front.until.map(Day::iso),
            used => used_by.len(),
            used_by => used_by.iter().take(DRAWN_ON).map(|(name, title)| context! { slug => name.in_url(), title }).collect::<Vec<_>>(),
        },
    )
}

/// The lines of a rate sheet by what they are about, each with the literals that can be filled in.
fn groups(worked: &Worked) -> Vec<Value> {
    let lines = rates::lines(&worked.document, &worked.evaluation);
    let text = &worked.document.text;
    let groups = rates::Group::ALL.into_iter().map(|group| {
        let own: Vec<_> = lines
            .iter()
            .filter(|line| line.group == group)
            .map(|line| {
                let parts: Vec<_> = line.parts.iter().map(|range| part(text.get(range.clone()).unwrap_or_default())).collect();
                let single = line.parts.len() == 1 && !matches!(change::literal(text.get(line.parts.first().cloned().unwrap_or_default()).unwrap_or_default()), change::Literal::Calculation);
                context! { name => line.name.clone(), words => rates::plain_name(&line.name), remark => line.remark.clone(), shown => line.shown.clone(), parts, single }
            })
            .collect();
        (group, own)
    });
    groups.filter(|(_, own)| !own.is_empty()).map(|(group, lines)| context! { words => group.words(), lines }).collect()
}

/// One literal as a field: what stands before it, its digits, what stands behind it.
fn part(written: &str) -> Value {
    match change::literal(written) {
        change::Literal::Number { number, unit } => {
            context! { before => "", value => number, after => unit.map_or("", |unit| unit.shown) }
        }
        change::Literal::Money { number, currency } => {
            context! { before => currency.sign, value => number, after => "" }
        }
        change::Literal::Text(text) => context! { before => "", value => text, after => "" },
        change::Literal::Truth(truth) => {
            context! { before => "", value => if truth { "yes" } else { "no" }, after => "" }
        }
        change::Literal::Calculation => context! { before => "", value => written, after => "" },
    }
}
