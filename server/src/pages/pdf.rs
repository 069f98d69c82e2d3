//! Sheets of paper: the ticket of one shop, the whole plan, and what a shop was handed before.

use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};

use super::ticket::Paper;
use super::{Asked, name, studio, told};
use crate::app::App;
use crate::handover::Handed;
use crate::sheets;
use crate::trouble::Refusal;

/// The ticket of one shop.
pub(crate) async fn ticket(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Response {
    let (paper, units) = (Paper::of(asked.paper.as_deref()), asked.units());
    let studio = studio(&app);
    let made = match name(&plan) {
        Ok(name) => {
            app.with(move |notebook| {
                let handed = Handed::of(notebook, &name, &role, &studio, units)?;
                Ok((sheets::ticket(&handed, paper)?, format!("{} {role} r{}", name.as_str(), handed.revision)))
            })
            .await
        }
        Err(refusal) => Err(refusal),
    };
    answer(&app, &headers, made)
}

/// The whole plan.
pub(crate) async fn plan(
    State(app): State<App>,
    Path(plan): Path<String>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Response {
    let (paper, units) = (Paper::of(asked.paper.as_deref()), asked.units());
    let studio = studio(&app);
    let made = match name(&plan) {
        Ok(name) => {
            app.with(move |notebook| {
                Ok((sheets::plan(notebook, &name, paper, &studio, units)?, name.as_str().to_owned()))
            })
            .await
        }
        Err(refusal) => Err(refusal),
    };
    answer(&app, &headers, made)
}

/// What a shop was handed, byte for byte.
pub(crate) async fn issued(
    State(app): State<App>,
    Path((plan, role, number)): Path<(String, String, u32)>,
    headers: HeaderMap,
) -> Response {
    let made = match name(&plan) {
        Ok(name) => {
            app.with(move |notebook| {
                let sheet = notebook.store().issued_sheet(&name, &role, number)?;
                Ok((sheet, format!("{} {role} issue {number}", name.as_str())))
            })
            .await
        }
        Err(refusal) => Err(refusal),
    };
    answer(&app, &headers, made)
}

fn answer(app: &App, headers: &HeaderMap, made: Result<(Vec<u8>, String), Refusal>) -> Response {
    match made {
        Ok((bytes, file)) => sent(bytes, "application/pdf", &file, "pdf", false),
        Err(refusal) => told(app, headers, refusal),
    }
}

/// A file with a name a browser may keep it under: plain letters only, the rest as dashes.
pub(super) fn sent(bytes: Vec<u8>, kind: &str, file: &str, end: &str, keep: bool) -> Response {
    let plain: String =
        file.chars().map(|c| if c.is_ascii_alphanumeric() || "-_. ".contains(c) { c } else { '-' }).collect();
    let how = if keep { "attachment" } else { "inline" };
    let shown = format!("{how}; filename=\"{plain}.{end}\"");
    ([(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, shown)], bytes).into_response()
}
