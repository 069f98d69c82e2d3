//! The reference: every function, statement and unit a plan can use.

use axum::extract::State;
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use minijinja::context;

use super::{page, told};
use crate::app::App;

/// The reference.
pub(crate) async fn get(State(app): State<App>, headers: HeaderMap) -> Response {
    let article = crate::listing::reference_html();
    page(&app, "reference.html", context! { article })
        .map_or_else(|refusal| told(&app, &headers, refusal), IntoResponse::into_response)
}
