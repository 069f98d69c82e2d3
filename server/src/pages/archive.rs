//! A plan with its pictures and rate sheets as one archive, out and in.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::name;
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
pub(crate) async fn get(
    State(app): State<App>,
    Path(plan): Path<String>,
    Query(along): Query<Along>,
) -> Result<Response, Refusal> {
    let name = name(&plan)?;
    let ledger = match along.ledger.as_deref() {
        Some("events") => Ledger::Events,
        Some("whole") => Ledger::Whole,
        _ => Ledger::None,
    };
    let stem: String = name
        .as_str()
        .rsplit('/')
        .next()
        .unwrap_or("plan")
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() || "-_.".contains(c) { c } else { '-' })
        .collect();
    let bytes = app.with(move |notebook| notebook.export(&name, ledger)).await?;
    let headers = [
        (header::CONTENT_TYPE, "application/zip".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{stem}.zip\"")),
    ];
    Ok((headers, bytes).into_response())
}

/// Takes an archive in.
pub(crate) async fn post(State(app): State<App>, body: Bytes) -> Result<Response, Refusal> {
    let brought = app.with(move |notebook| notebook.import(&body)).await?;
    let location = format!("/plan/{}", brought.plan.in_url());
    Ok(Json(json!({ "location": location, "written": brought.written, "left": brought.left })).into_response())
}
