//! What a request is about and what it carries: which document, shown how, and, when it changes the text, which text that was
//! made from.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{FromRequestParts, Path, Query};
use axum::http::request::Parts;
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use engine::Message;
use engine::measure::Units;
use serde::de::DeserializeOwned;

use super::answer;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::{Notebook, Saved};
use crate::state::App;

/// What a page may be asked with.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct Asked {
    /// `inch` or `metric` instead of the plan's own.
    units: Option<String>,
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

/// The document a name in an address means.
pub(crate) fn name(text: &str) -> Result<Name, Error> {
    Name::new(text).map_err(Error::Missing)
}

/// A text a page sent.
pub(crate) fn sent(body: Bytes) -> Result<String, Error> {
    String::from_utf8(body.into())
        .map_err(|_| Error::unusable("this text is not UTF-8", "send it as UTF-8; nothing was changed"))
}

/// Data a page sent, and what is said when it cannot be read.
pub(crate) fn read_or<T: DeserializeOwned>(body: &[u8], what: &str, next: &str) -> Result<T, Error> {
    serde_json::from_slice(body).map_err(|_| Error::unusable(what, next))
}

/// Words of one short line a page sent, and what is said when they are not.
pub(crate) fn short(text: &str, what: &str, next: &str) -> Result<String, Error> {
    if text.chars().count() > 200 || text.chars().any(char::is_control) {
        return Err(Error::unusable(what, next));
    }
    Ok(text.trim().to_owned())
}

/// Days for which an address is to be good.
pub(crate) fn good_for(address: &str, days: i32, longest: i32) -> Result<i32, Error> {
    if (1..=longest).contains(&days) {
        return Ok(days);
    }
    let what = format!("{address} cannot be good for {days} days");
    Err(Error::unusable(what, format!("write a number of days from 1 to {longest}")))
}

/// Data a page sent.
pub(crate) fn read<T: DeserializeOwned>(body: &Bytes) -> Result<T, Error> {
    serde_json::from_slice(body)
        .map_err(|error| Error::unusable(format!("what was sent cannot be read: {error}"), "send it as the page does"))
}

/// A request about one document of the notebook.
#[derive(Debug)]
pub(crate) struct About {
    pub(crate) app: App,
    pub(crate) name: Name,
    pub(crate) asked: Asked,
}

impl About {
    /// Does something with the document, in the units asked for.
    pub(crate) async fn with<T: Send + 'static>(
        self,
        act: impl FnOnce(&Notebook, &Name, Option<Units>) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let (name, units) = (self.name, self.asked.units());
        self.app.with(move |notebook| act(notebook, &name, units)).await
    }

    /// Changes the document and answers with what the page shows of it now.
    pub(crate) async fn change(
        self,
        act: impl FnOnce(&Notebook, &Name) -> Result<Saved, Error> + Send + 'static,
    ) -> Result<Response, Error> {
        self.with(move |notebook, name, units| {
            let saved = act(notebook, name)?;
            let kept = notebook.text(name)?;
            let worked = notebook.calculator.calculate(name, &kept.text, units)?;
            let shown = answer::whole(notebook, &worked, name, Some((saved.revision, &saved.hash)));
            Ok(([(header::ETAG, format!("\"{}\"", saved.hash))], Json(shown)).into_response())
        })
        .await
    }
}

impl FromRequestParts<App> for About {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Response> {
        let Path(wanted) = Path::<String>::from_request_parts(parts, app).await.map_err(IntoResponse::into_response)?;
        let Query(asked) = Query::<Asked>::from_request_parts(parts, app).await.map_err(IntoResponse::into_response)?;
        let name = name(&wanted).map_err(IntoResponse::into_response)?;
        Ok(Self { app: app.clone(), name, asked })
    }
}

/// A request that changes a document's text. While the text is still the one it was made from, the change is saved; when
/// that moved on meanwhile, the answer holds both texts and nothing is changed.
#[derive(Debug)]
pub(crate) struct Change {
    about: About,
    from: String,
}

impl Change {
    /// Saves what comes of the text the change was made from.
    pub(crate) async fn save(
        self,
        act: impl FnOnce(&Notebook, &Name, &str) -> Result<Saved, Error> + Send + 'static,
    ) -> Result<Response, Error> {
        let from = self.from;
        self.about.change(move |notebook, name| act(notebook, name, &from)).await
    }

    /// Does something with the document, told in which units it is shown and which text the change was made from.
    pub(crate) async fn with<T: Send + 'static>(
        self,
        act: impl FnOnce(&Notebook, &Name, Option<Units>, &str) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let from = self.from;
        self.about.with(move |notebook, name, units| act(notebook, name, units, &from)).await
    }
}

impl FromRequestParts<App> for Change {
    type Rejection = Response;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Response> {
        let about = About::from_request_parts(parts, app).await?;
        let from = mark(&parts.headers).ok_or_else(|| {
            Error::Unmarked(Message::new(
                "this write does not say which text it was made from",
                "send the mark of the text in the header `If-Match`",
            ))
        });
        Ok(Self { about, from: from.map_err(IntoResponse::into_response)? })
    }
}

/// The mark of the text a write was made from, when it says so.
pub(crate) fn mark(headers: &HeaderMap) -> Option<String> {
    let mark = headers.get(header::IF_MATCH).and_then(|mark| mark.to_str().ok());
    mark.map(|mark| mark.trim().trim_start_matches("W/").trim_matches('"').to_owned()).filter(|mark| !mark.is_empty())
}
