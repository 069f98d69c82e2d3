//! One file a page, each with a function for every way it is asked for.

pub(crate) mod archive;
pub(crate) mod begin;
pub(crate) mod calendar;
pub(crate) mod certificate;
pub(crate) mod events;
pub(crate) mod happened;
pub(crate) mod history;
pub(crate) mod ledger;
pub(crate) mod links;
pub(crate) mod login;
pub(crate) mod moves;
pub(crate) mod plan;
pub(crate) mod rates;
pub(crate) mod reference;
pub(crate) mod tables;
pub(crate) mod ticket;
pub(crate) mod wall;
pub(crate) mod year;

use axum::extract::State;
use axum::http::HeaderMap;
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use engine::measure::Units;
use engine::{Trouble, document::Kind};
use minijinja::{Value, context};

use crate::app::App;
use crate::names::Name;
use crate::trouble::Refusal;

/// What a page may be asked with.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct Asked {
    /// `inch` or `metric` instead of the plan's own.
    pub(crate) units: Option<String>,
    /// `letter` or `a4`.
    pub(crate) paper: Option<String>,
}

impl Asked {
    pub(crate) fn units(&self) -> Option<Units> {
        match self.units.as_deref() {
            Some("inch") => Some(Units::Inch),
            Some("metric") => Some(Units::Metric),
            _ => None,
        }
    }
}

/// A page from its template.
pub(crate) fn page(app: &App, template: &str, context: Value) -> Result<Html<String>, Refusal> {
    let halted =
        app.notebook.halted().map(|trouble| format!("{} {}", sentence(&trouble.what), sentence(&trouble.next)));
    let overheard = app.reach.lan && !app.reach.secure;
    let shared = context! { studio => studio(app), today => app.notebook.today().to_string(), day => app.notebook.today().iso(), halted, overheard, lan => app.reach.lan };
    let made =
        app.templates.get_template(template).and_then(|template| template.render(context! { ..context, ..shared }));
    made.map(Html).map_err(|error| {
        tracing::error!(template, error = %error, "a page could not be made");
        Refusal::unable("this page could not be made", "tell us which page it was; the plan itself is safe")
    })
}

/// What the notebook is called: its folder.
pub(crate) fn studio(app: &App) -> String {
    let name = app
        .notebook
        .root
        .canonicalize()
        .ok()
        .and_then(|root| root.file_name().map(|name| name.to_string_lossy().into_owned()));
    name.unwrap_or_else(|| "Notebook".into())
}

/// A refusal as a page for people, as data for pages that ask in the background.
pub(crate) fn told(app: &App, headers: &HeaderMap, refusal: Refusal) -> Response {
    let wants_page = headers
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.contains("text/html"));
    if !wants_page {
        return refusal.into_response();
    }
    let (status, trouble) = (refusal.status(), refusal.trouble().clone());
    match page(app, "notice.html", context! { what => sentence(&trouble.what), next => sentence(&trouble.next) }) {
        Ok(html) => (status, html).into_response(),
        Err(refusal) => refusal.into_response(),
    }
}

/// A part of a message as a sentence of its own.
fn sentence(text: &str) -> String {
    let mut letters = text.trim_end_matches('.').replace('`', "").chars().collect::<Vec<_>>().into_iter();
    let first: String = letters.next().map(|first| first.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}.", letters.collect::<String>())
}

/// Nothing lies at this address.
pub(crate) async fn missing(State(app): State<App>, headers: HeaderMap) -> Response {
    told(&app, &headers, Refusal::missing("there is no such page", "go back to the wall"))
}

/// The document a name in an address means.
pub(crate) fn name(text: &str) -> Result<Name, Refusal> {
    Name::new(text).map_err(Refusal::Missing)
}

/// The mark a write was made from.
pub(crate) fn if_match(headers: &HeaderMap) -> Result<String, Refusal> {
    let mark = headers.get(header::IF_MATCH).and_then(|mark| mark.to_str().ok());
    let mark = mark
        .map(|mark| mark.trim().trim_start_matches("W/").trim_matches('"').to_owned())
        .filter(|mark| !mark.is_empty());
    mark.ok_or_else(|| {
        Refusal::Unmarked(Trouble::new(
            "this write does not say which text it was made from",
            "send the mark of the text in the header `If-Match`",
        ))
    })
}

/// Names and titles of the documents of one kind, for lists.
pub(crate) fn listed(app: &App, kind: Kind) -> Vec<Value> {
    app.notebook
        .all(kind)
        .into_iter()
        .map(|(name, entry)| context! { slug => name.in_url(), title => entry.title })
        .collect()
}
