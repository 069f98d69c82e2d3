//! The reference: every function, statement and unit a plan can use.

use axum::extract::State;
use axum::response::Html;
use serde::Serialize;

use super::page;
use crate::state::App;
use crate::trouble::Refusal;

/// The reference.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Refusal> {
    page(&app, "reference.html", &ReferencePage { article: crate::export::reference_html() })
}

#[derive(Serialize)]
struct ReferencePage {
    article: String,
}
