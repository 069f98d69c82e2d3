//! What a new text of a rate sheet would move, told before it is saved; filling a line in; holding to a quote.

use axum::Json;
use axum::body::Bytes;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use engine::measure::Day;
use engine::render::compare::{Kind, Moved};
use serde_json::{Value, json};

use super::extract::{About, mark, read, sent};
use crate::days;
use crate::error::Error;
use crate::notebook::Moves;

/// Numbers told of each plan.
const TOLD: usize = 12;

/// What a draft would move.
pub(crate) async fn post(about: About, body: Bytes) -> Result<Response, Error> {
    let text = sent(body)?;
    about.with(move |notebook, name, _| Ok(Json(told(&notebook.moves(name, &text)?)).into_response())).await
}

/// A line as filled in on the page.
#[derive(Debug, serde::Deserialize)]
struct Filled {
    line: String,
    part: usize,
    value: String,
    /// The draft it is filled into; without it the text that stands.
    #[serde(default)]
    text: Option<String>,
}

/// Fills a line in and tells what that would move; nothing is saved.
pub(crate) async fn line(about: About, body: Bytes) -> Result<Response, Error> {
    let filled = read::<Filled>(&body)?;
    about
        .with(move |notebook, name, _| {
            let text = match filled.text {
                Some(text) => text,
                None => notebook.text(name)?.text.clone(),
            };
            let text = notebook.fill_in(name, &text, &filled.line, filled.part, &filled.value)?;
            let mut answer = told(&notebook.moves(name, &text)?);
            if let Some(fields) = answer.as_object_mut() {
                fields.insert("text".into(), text.into());
            }
            Ok(Json(answer).into_response())
        })
        .await
}

/// A quote to hold to, or to let go.
#[derive(Debug, serde::Deserialize)]
struct Hold {
    role: String,
    #[serde(default)]
    day: Option<String>,
}

/// Holds a plan to a quote.
pub(crate) async fn hold(about: About, headers: HeaderMap, body: Bytes) -> Result<Response, Error> {
    let wanted = read::<Hold>(&body)?;
    let day = wanted.day.filter(|day| !day.is_empty()).map(|day| days::entered(&day)).transpose()?;
    // From the rate sheet's page the plan's mark is not at hand: what it holds to is added to whatever it says now.
    let from = mark(&headers);
    about
        .change(move |notebook, name| {
            let from = match from {
                Some(from) => from,
                None => notebook.text(name)?.hash.clone(),
            };
            notebook.hold(name, &from, &wanted.role, day)
        })
        .await
}

pub(super) fn told(moves: &Moves) -> Value {
    let plans: Vec<_> = moves
        .plans
        .iter()
        .map(|plan| {
            let main: Vec<_> = plan
                .moved
                .iter()
                .filter(|one| !matches!(one.kind, Kind::Part | Kind::Ask | Kind::Rule | Kind::Problem))
                .collect();
            json!({
                "slug": plan.name.in_url(),
                "title": plan.title,
                "role": plan.role,
                "held": plan.held.map(|day| day.to_string()),
                "hung": plan.hung.map(|day| day.to_string()),
                "moved": main.iter().take(TOLD).map(|one| row(one)).collect::<Vec<_>>(),
                "more": main.len().saturating_sub(TOLD),
                "broken": plan.broken.iter().map(|words| words.replace('`', "")).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "lines": moves.lines.iter().filter(|one| matches!(one.kind, Kind::Name)).map(row).collect::<Vec<_>>(),
        "plans": plans,
        "moving": moves.plans.iter().filter(|plan| !plan.moved.is_empty()).count(),
        "problems": moves.problems,
        "quoted": moves.quoted.0.map(Day::iso),
        "old": moves.quoted.0.map(|day| day.to_string()),
        "dated": moves.quoted.0 != moves.quoted.1,
        "until": moves.quoted.1.map(Day::iso),
    })
}

fn row(one: &Moved) -> Value {
    let name = match one.kind {
        Kind::Total => "Total".to_owned(),
        Kind::Name => engine::evaluate::rates::plain_name(&one.name),
        _ => one.name.clone(),
    };
    json!({"name": name, "from": one.from, "to": one.to, "by": one.by})
}
