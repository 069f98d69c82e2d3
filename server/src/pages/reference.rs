//! The reference: every function, statement and unit a plan can use.

use axum::extract::State;
use axum::response::Html;
use serde::Serialize;

use super::page;
use crate::error::Error;
use crate::state::App;

/// The reference.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Error> {
    page(&app, "reference.html", &ReferencePage { article: crate::export::reference_html() })
}

#[derive(Serialize)]
struct ReferencePage {
    article: String,
}
