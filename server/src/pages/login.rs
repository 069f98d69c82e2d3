//! Coming in over the network with the passphrase, and going out again.

use std::net::IpAddr;

use axum::body::Bytes;
use axum::extract::{Extension, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use serde::Serialize;

use super::form::field;
use super::{outside_of, page_for};
use crate::error::Error;
use crate::guard::{COOKIE, asks_passphrase, token};
use crate::listen::Ends;
use crate::passphrase;
use crate::state::App;

/// How long it may come back without the passphrase, in days; a week without a visit ends it too.
const DAYS: i32 = 30;

/// The form; for someone who is in already, the way out.
pub(crate) async fn get(State(app): State<App>, headers: HeaderMap) -> Response {
    if !asks_passphrase(&app, &headers) {
        return Redirect::to("/").into_response();
    }
    let known = match token(&headers) {
        Some(token) => app.with(move |notebook| notebook.is_let_in(&token)).await.unwrap_or(false),
        None => false,
    };
    shown(&app, known, StatusCode::OK, "").await
}

async fn shown(app: &App, known: bool, status: StatusCode, alert: &str) -> Response {
    let set = app.with(|notebook| notebook.store().passphrase()).await.is_ok_and(|kept| kept.is_some());
    match page_for(app, &outside_of(app), "login.html", &LoginPage { known, set, alert }) {
        Ok(html) => {
            let mut response = (status, html).into_response();
            // A form's own sender is named only to this server; without it the browser would hide that the form is ours.
            response.headers_mut().insert(header::REFERRER_POLICY, HeaderValue::from_static("same-origin"));
            response
        }
        Err(error) => error.into_response(),
    }
}

#[derive(Serialize)]
struct LoginPage<'a> {
    /// This browser was let in.
    known: bool,
    /// The notebook has a passphrase.
    set: bool,
    alert: &'a str,
}

/// The passphrase as entered.
pub(crate) async fn post(
    State(app): State<App>,
    ends: Option<Extension<Ends>>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    let from = app.reach.visitor(ends.map(|ends| ends.0), &headers);
    match come_in(&app, from, &body).await {
        Ok(Some(token)) => {
            let cookie = cookie(is_secure(&app, &headers), &token, i64::from(DAYS) * 86_400);
            ([(header::SET_COOKIE, cookie)], Redirect::to("/")).into_response()
        }
        Ok(None) => shown(&app, false, StatusCode::FORBIDDEN, "This is not the passphrase of this notebook.").await,
        Err(error) => {
            let mut response = shown(&app, false, error.status(), &error.message().to_string()).await;
            if matches!(error, Error::Often(_)) {
                response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("60"));
            }
            response
        }
    }
}

async fn come_in(app: &App, from: IpAddr, body: &[u8]) -> Result<Option<String>, Error> {
    let entered = field(body, "passphrase").unwrap_or_default();
    let known = app.with(move |notebook| notebook.store().came_in_from(from)).await?;
    let turn = app.guesses.turn(from, known).await;
    let _turn = turn.inspect_err(|_| tracing::warn!(guess.from = %from, "the passphrase is tried too often"))?;
    app.with(move |notebook| {
        let Some(kept) = notebook.store().passphrase()? else { return Ok(None) };
        if !kept.is(&entered)? {
            tracing::warn!(guess.from = %from, "a wrong passphrase was given");
            return Ok(None);
        }
        // A record that cannot be written just now keeps nobody out.
        if let Some(renewed) = kept.renewed(&entered)? {
            let _ = notebook.store().renew_passphrase(&kept, &renewed);
        }
        let token = passphrase::random()?;
        notebook.store().let_in(&token, from, &notebook.moment(), &notebook.moment_in(DAYS))?;
        tracing::info!(guess.from = %from, "a browser was let in");
        Ok(Some(token))
    })
    .await
}

/// Lets this browser out, or every browser.
pub(crate) async fn leave(State(app): State<App>, headers: HeaderMap, body: Bytes) -> Response {
    let everywhere = field(&body, "everywhere").is_some();
    let token = token(&headers);
    let done = app
        .with(move |notebook| match (everywhere, token) {
            (true, _) => notebook.store().let_out(None),
            (false, Some(token)) => notebook.store().let_out(Some(&token)),
            (false, None) => Ok(()),
        })
        .await;
    app.let_out.send_replace(());
    match done {
        Ok(()) => {
            ([(header::SET_COOKIE, cookie(is_secure(&app, &headers), "", 0))], Redirect::to("/login")).into_response()
        }
        Err(error) => error.into_response(),
    }
}

/// Whether the page was opened over TLS, here or at a proxy: a form says in `Origin` where it stands.
fn is_secure(app: &App, headers: &HeaderMap) -> bool {
    app.reach.secure || headers.get(header::ORIGIN).is_some_and(|origin| origin.as_bytes().starts_with(b"https://"))
}

fn cookie(secure: bool, token: &str, seconds: i64) -> String {
    let secure = if secure { "; Secure" } else { "" };
    format!("{COOKIE}={token}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{secure}")
}
