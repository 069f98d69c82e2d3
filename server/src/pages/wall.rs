//! The first page: every artwork of the notebook, hung to one scale along a wall.

use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use engine::Value;
use engine::document::Kind;
use minijinja::context;

use super::{page, plan, studio, told};
use crate::app::App;
use crate::evaluator::Worked;
use crate::names::Name;
use crate::notebook::{Entry, Notebook};

/// The wall.
pub(crate) async fn get(State(app): State<App>, headers: HeaderMap) -> Response {
    let today = app.notebook.today();
    let hung = app
        .with(|notebook| {
            let all = notebook.all(Kind::Plan);
            Ok(all
                .into_iter()
                .map(|(name, entry)| {
                    let worked = worked(notebook, &name, &entry);
                    (name, entry, worked)
                })
                .collect::<Vec<_>>())
        })
        .await;
    let result = hung.and_then(|hung| {
        let counted = |count: usize, one: &str, more: &str| if count == 1 { format!("one {one}") } else { format!("{count} {more}") };
        let worked: Vec<_> = hung.iter().filter_map(|(.., worked)| worked.as_ref().ok()).collect();
        let (mut left, mut of) = (0, 0);
        for edition in worked.iter().filter_map(|worked| worked.evaluation.edition.as_ref()) {
            left += edition.remaining();
            of += edition.size();
        }
        let broken = worked.iter().filter(|worked| !worked.evaluation.keeps_rules()).count();
        let next = worked.iter().filter(|worked| worked.document.front.hung.is_none()).flat_map(|worked| &worked.evaluation.record.steps).map(|step| step.end).filter(|end| *end >= today).min();
        let sheets = app.notebook.all(Kind::RateSheet);
        let figures = [
            ("artworks", hung.len().to_string()),
            ("prints left", format!("{left} of {of}")),
            ("rules broken", if broken == 0 { "none".into() } else { counted(broken, "plan", "plans") }),
            ("next", next.map_or_else(|| "nothing due".into(), |day| day.brief())),
            ("rate sheets", sheets.len().to_string()),
            ("today", today.to_string()),
        ];
        page(&app, "wall.html", context! {
            notebook => context! { title => studio(&app), sentence => format!("Notebook of {}", counted(hung.len(), "artwork", "artworks")) },
            figures => figures.into_iter().map(|(label, value)| context! { label, value }).collect::<Vec<_>>(),
            plans => hung.iter().enumerate().map(|(number, (name, entry, worked))| shown(number, name, entry, worked, today)).collect::<Vec<_>>(),
            sheets => sheets.iter().map(|(name, entry)| context! { slug => name.in_url(), name => entry.title.clone() }).collect::<Vec<_>>(),
        })
    });
    result.map_or_else(|refusal| told(&app, &headers, refusal), IntoResponse::into_response)
}

fn worked(notebook: &Notebook, name: &Name, entry: &Entry) -> Result<std::sync::Arc<Worked>, String> {
    match &entry.text {
        Ok(kept) => notebook.work_out(name, &kept.text, None).map_err(|refusal| refusal.trouble().to_string()),
        Err(refusal) => Err(refusal.trouble().to_string()),
    }
}

fn shown(
    number: usize,
    name: &Name,
    entry: &Entry,
    worked: &Result<std::sync::Arc<Worked>, String>,
    today: engine::measure::Day,
) -> minijinja::Value {
    let worked = match worked {
        Ok(worked) => worked,
        Err(words) => {
            return context! { slug => name.in_url(), title => entry.title.clone(), state => "problem", state_words => words.replace('`', ""), pattern => number % 6, left => "", next => "" };
        }
    };
    let (evaluation, front) = (&worked.evaluation, &worked.document.front);
    let hung = evaluation.record.hung;
    let left = evaluation.edition.as_ref().map(|edition| {
        let proofs = if front.proofs > 0 { format!(", {} AP", front.proofs) } else { String::new() };
        format!("{} of {} left{proofs}", edition.remaining(), edition.size())
    });
    let next = evaluation
        .record
        .steps
        .iter()
        .filter(|step| step.end >= today)
        .min_by_key(|step| step.end)
        .filter(|_| front.hung.is_none());
    let rules = &evaluation.record.rules;
    let (state, words) = if !evaluation.problems.is_empty() {
        let count = evaluation.problems.len();
        (
            "problem",
            if count == 1 {
                "One number cannot be worked out".to_owned()
            } else {
                format!("{count} numbers cannot be worked out")
            },
        )
    } else if let Some(rule) = rules.iter().find(|rule| rule.must && !rule.kept) {
        ("broken", format!("A rule is broken: {}", rule.text))
    } else if let Some(rule) = rules.iter().find(|rule| !rule.kept) {
        ("slack", format!("Not kept: {}", rule.text))
    } else if rules.is_empty() {
        ("none", String::new())
    } else {
        ("kept", "All rules kept".to_owned())
    };
    context! {
        slug => name.in_url(),
        title => plan::title(&worked.document, name),
        width_cm => hung.map(|hung| hung.width.to_cm()),
        height_cm => hung.map(|hung| hung.height.to_cm()),
        size => hung.map(|hung| Value::List(vec![hung.width.into(), hung.height.into()]).shown(evaluation.units)),
        left => left.unwrap_or_default(),
        next => next.map(|step| format!("{}, {}", step.what, step.end.brief())).unwrap_or_default(),
        state => state,
        state_words => words,
        finished => front.hung.is_some(),
        pattern => number % 6,
    }
}
