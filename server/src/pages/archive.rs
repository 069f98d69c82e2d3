//! A plan with its pictures and rate sheets as one archive, out and in.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::about::About;
use super::tables::sent;
use crate::app::App;
use crate::notebook::Ledger;
use crate::trouble::Refusal;

/// What goes along.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct Along {
    /// `events`, or `whole` for names and amounts too.
    ledger: Option<String>,
}

/// The archive of a plan.
pub(crate) async fn get(about: About, Query(along): Query<Along>) -> Result<Response, Refusal> {
    let ledger = match along.ledger.as_deref() {
        Some("events") => Ledger::Events,
        Some("whole") => Ledger::Whole,
        _ => Ledger::None,
    };
    let file = about.name.as_str().rsplit('/').next().unwrap_or("plan").to_owned();
    let bytes = about.with(move |notebook, name, _| notebook.export(name, ledger)).await?;
    Ok(sent(bytes, "application/zip", &file, "zip", true))
}

/// Takes an archive in.
pub(crate) async fn post(State(app): State<App>, body: Bytes) -> Result<Response, Refusal> {
    let brought = app.with(move |notebook| notebook.import(&body)).await?;
    let location = format!("/plan/{}", brought.plan.in_url());
    Ok(Json(json!({ "location": location, "written": brought.written, "left": brought.left })).into_response())
}
