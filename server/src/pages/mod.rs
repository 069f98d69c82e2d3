//! One file a page, each with a function for every way it is asked for; [`extract`] reads what a request asks, [`form`] what a
//! form sends, [`answer`] is what open pages are told, [`file`] what a browser keeps, [`outside`] what strangers get.

pub(crate) mod actuals;
pub(crate) mod answer;
pub(crate) mod archive;
pub(crate) mod begin;
pub(crate) mod calendar;
pub(crate) mod certificate;
pub(crate) mod events;
pub(crate) mod extract;
pub(crate) mod file;
pub(crate) mod form;
pub(crate) mod history;
pub(crate) mod join;
pub(crate) mod ledger;
pub(crate) mod links;
pub(crate) mod login;
pub(crate) mod moves;
pub(crate) mod new_shop;
pub(crate) mod outside;
pub(crate) mod plan;
pub(crate) mod prices;
pub(crate) mod rates;
pub(crate) mod reference;
pub(crate) mod tables;
pub(crate) mod ticket;
pub(crate) mod wall;
pub(crate) mod year;

use axum::Json;
use axum::extract::{Request, State};
use axum::http::{StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Response};
use engine::Message;
use serde::Serialize;
use serde_json::json;

use crate::error::Error;
use crate::names::Name;
use crate::state::App;
use crate::templates::{Around, render};
use crate::titles::capital;

/// What every page shows.
pub(crate) fn around(app: &App) -> Around {
    let (notebook, reach) = (&app.notebook, &app.reach);
    let halted = notebook.halted().map(|message| format!("{} {}", sentence(&message.what), sentence(&message.next)));
    Around {
        studio: notebook.studio(),
        day: notebook.today().iso(),
        halted,
        overheard: reach.lan && !reach.secure,
        guarded: reach.guarded,
        ..Around::default()
    }
}

/// The same for someone who has not given the passphrase.
pub(crate) fn outside_of(app: &App) -> Around {
    Around { outside: true, ..around(app) }
}

/// A page from its template.
pub(crate) fn page(app: &App, template: &str, own: &impl Serialize) -> Result<Html<String>, Error> {
    page_for(app, &around(app), template, own)
}

/// The same for someone else than the owner.
pub(crate) fn page_for(
    app: &App,
    around: &Around,
    template: &str,
    own: &impl Serialize,
) -> Result<Html<String>, Error> {
    render(&app.templates, around, template, own).map(Html)
}

/// A page that says one thing.
#[derive(Serialize)]
pub(crate) struct NoticePage {
    pub(crate) what: String,
    pub(crate) next: String,
}

/// A label and what it says.
#[derive(Serialize)]
pub(crate) struct Field {
    pub(crate) label: String,
    pub(crate) value: String,
}

/// A document to be led to.
#[derive(Serialize)]
pub(crate) struct Linked {
    pub(crate) slug: String,
    pub(crate) title: String,
}

impl Linked {
    pub(crate) fn to(name: &Name, title: impl Into<String>) -> Self {
        Self { slug: name.in_url(), title: title.into() }
    }
}

/// A shop of a plan.
#[derive(Serialize)]
pub(crate) struct Shop {
    pub(crate) role: String,
    pub(crate) name: String,
}

impl Shop {
    pub(crate) fn all(shops: &[(String, String)]) -> Vec<Self> {
        shops.iter().map(|(role, name)| Self { role: role.clone(), name: name.clone() }).collect()
    }
}

/// A refusal becomes a page for people; it stays data for pages that ask in the background.
pub(crate) async fn for_people(State(app): State<App>, request: Request, next: Next) -> Response {
    let accepts = request.headers().get(header::ACCEPT).and_then(|kinds| kinds.to_str().ok());
    let wants_page = accepts.is_some_and(|kinds| kinds.contains("text/html"));
    let mut response = explained(next.run(request).await);
    let Some(message) = response.extensions_mut().remove::<Message>().filter(|_| wants_page) else { return response };
    let own = NoticePage { what: sentence(&message.what), next: sentence(&message.next) };
    let Ok(notice) = page(&app, "notice.html", &own) else { return response };
    let (mut parts, _) = response.into_parts();
    let notice = notice.into_response();
    parts.headers.remove(header::CONTENT_LENGTH);
    parts.headers.extend(notice.headers().clone());
    Response::from_parts(parts, notice.into_body())
}

/// The web library's own refusals, which speak of its inside, in words of ours.
fn explained(response: Response) -> Response {
    let kind = response.headers().get(header::CONTENT_TYPE).map(|kind| kind.as_bytes());
    let ours = response.extensions().get::<Message>().is_some();
    if !response.status().is_client_error() || ours || kind.is_some_and(|kind| !kind.starts_with(b"text/plain")) {
        return response;
    }
    let message = match response.status() {
        StatusCode::METHOD_NOT_ALLOWED => {
            Message::new("this address does not answer to that method", "use the notebook's own pages")
        }
        _ => Message::new(
            "a part of this address is not what stands there on the notebook's pages",
            "go back and follow the link again",
        ),
    };
    let (mut parts, _) = response.into_parts();
    let words = Json(json!({"what": message.what, "next": message.next})).into_response();
    parts.extensions.insert(message);
    parts.headers.remove(header::CONTENT_LENGTH);
    parts.headers.extend(words.headers().clone());
    Response::from_parts(parts, words.into_body())
}

/// A part of a message as a sentence of its own.
fn sentence(text: &str) -> String {
    format!("{}.", capital(&text.trim_end_matches('.').replace('`', "")))
}

/// Nothing lies at this address.
pub(crate) async fn missing() -> Error {
    Error::missing("there is no such page", "go back to the wall")
}
