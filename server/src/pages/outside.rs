//! What those read who were given an address and no passphrase: shops and calendar programs.

use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse as _, Response};

use super::{NoticePage, outside_of, page_for};
use crate::state::App;

/// An address of this server, as it is reached from outside.
pub(crate) fn under(app: &App, headers: &HeaderMap, path: &str) -> String {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let scheme = if app.reach.secure { "https" } else { "http" };
    let base = match app.reach.outside.as_deref() {
        Some(outside) => outside.trim_end_matches('/').to_owned(),
        None => format!("{scheme}://{host}"),
    };
    format!("{base}{path}")
}

/// An answer that no search engine lists.
pub(crate) fn unlisted(mut response: Response) -> Response {
    let (name, words) = (HeaderName::from_static("x-robots-tag"), HeaderValue::from_static("noindex, nofollow"));
    response.headers_mut().insert(name, words);
    response
}

/// The one answer to an address that never was, has ended or was revoked.
pub(crate) fn nothing(app: &App) -> Response {
    let own = NoticePage {
        what: "There is nothing to read at this address.".into(),
        next: "It may have ended. Ask whoever gave it to you for a new one.".into(),
    };
    match page_for(app, &outside_of(app), "notice.html", &own) {
        Ok(html) => (StatusCode::NOT_FOUND, html).into_response(),
        Err(error) => error.into_response(),
    }
}
