//! Beginning a plan, empty or from a past one.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use engine::document::{Document, Kind};
use serde::Serialize;
use serde_json::json;

use super::extract::name;
use super::form::field;
use super::{Linked, page};
use crate::assets;
use crate::error::Error;
use crate::state::App;

/// The form.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Error> {
    let plans = app.notebook.documents.all(Kind::Plan);
    let plans = plans.into_iter().map(|(name, entry)| Linked::to(&name, entry.title)).collect();
    let beginnings = assets::BEGINNINGS.iter().map(|name| {
        let front = Document::read(&assets::text(&format!("beginnings/{name}.md"))).front;
        BeginningRow { name, title: front.title, about: front.about }
    });
    page(&app, "begin.html", &BeginPage { plans, beginnings: beginnings.collect() })
}

#[derive(Serialize)]
struct BeginPage {
    plans: Vec<Linked>,
    beginnings: Vec<BeginningRow>,
}

#[derive(Serialize)]
struct BeginningRow {
    name: &'static str,
    title: Option<String>,
    about: Option<String>,
}

/// What the form sends.
#[derive(Debug, serde::Deserialize)]
pub(crate) struct BeginForm {
    title: String,
    #[serde(default)]
    from: Option<String>,
    /// Titles of the sections that stay behind.
    #[serde(default)]
    without: Vec<String>,
    /// One of the built-in beginnings.
    #[serde(default)]
    beginning: Option<String>,
}

/// Begins a plan.
pub(crate) async fn post(State(app): State<App>, headers: HeaderMap, body: Bytes) -> Result<Response, Error> {
    let plain = headers
        .get(header::CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok())
        .is_some_and(|kind| kind.starts_with("application/x-www-form-urlencoded"));
    let wanted: BeginForm = if plain { form(&body) } else { serde_json::from_slice(&body).map_err(|_| ()) }
        .map_err(|()| Error::unusable("what was sent has no title", "write the title of the artwork"))?;
    let from = wanted.from.filter(|from| !from.is_empty()).map(|from| name(&from)).transpose()?;
    let made = app
        .with(move |notebook| match (from, wanted.beginning.filter(|one| !one.is_empty())) {
            (Some(from), _) => notebook.copy(&from, &wanted.title, &wanted.without),
            (None, Some(beginning)) => notebook.begin_from(&assets::beginning(&beginning)?, &wanted.title),
            (None, None) => notebook.begin(&wanted.title, &empty(&wanted.title)?),
        })
        .await?;
    let location = format!("/plan/{}", made.in_url());
    if plain {
        return Ok(Redirect::to(&location).into_response());
    }
    Ok(Json(json!({ "location": location })).into_response())
}

/// Makes the next piece from a plan.
pub(crate) async fn next(State(app): State<App>, Path(plan): Path<String>, body: Bytes) -> Result<Response, Error> {
    let name = name(&plan)?;
    let wanted: BeginForm = serde_json::from_slice(&body)
        .map_err(|_| Error::unusable("what was sent has no title", "write the title of the next piece"))?;
    let made = app.with(move |notebook| notebook.copy(&name, &wanted.title, &wanted.without)).await?;
    Ok(Json(json!({ "location": format!("/plan/{}", made.in_url()) })).into_response())
}

/// An empty plan of a title.
fn empty(title: &str) -> Result<String, Error> {
    let title = title.trim();
    if title.is_empty() || title.chars().any(char::is_control) || title.chars().count() > 120 {
        return Err(Error::unusable(
            "a plan needs a title of one line, at most 120 letters",
            "give the piece its title",
        ));
    }
    let quoted = title.replace('\\', "\\\\").replace('"', "\\\"");
    Ok(format!(
        "+++\ntitle = \"{quoted}\"\nunits = \"inch\"\ncurrency = \"USD\"\n+++\n\n# {title}\n\n## The negative and the scan\n\n"
    ))
}

/// A form sent without scripts.
fn form(body: &[u8]) -> Result<BeginForm, ()> {
    let from = field(body, "from");
    // The list of the form holds plans, and beginnings with a mark before them.
    let beginning = from.as_deref().and_then(|from| from.strip_prefix("beginning:")).map(str::to_owned);
    let from = from.filter(|_| beginning.is_none());
    Ok(BeginForm { title: field(body, "title").ok_or(())?, from, without: Vec::new(), beginning })
}
