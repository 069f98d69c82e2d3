//! A file as an answer.

use axum::body::Body;
use axum::http::header;
use axum::response::{IntoResponse as _, Response};

/// A file that a browser keeps under a name: plain letters only, the rest as dashes.
pub(crate) fn attached(bytes: impl Into<Body>, kind: &str, file: &str, end: &str) -> Response {
    let plain: String =
        file.chars().map(|c| if c.is_ascii_alphanumeric() || "-_. ".contains(c) { c } else { '-' }).collect();
    let shown = format!("attachment; filename=\"{plain}.{end}\"");
    ([(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, shown)], bytes.into()).into_response()
}

/// A sheet of paper.
pub(crate) fn pdf(bytes: Vec<u8>, file: &str) -> Response {
    attached(bytes, "application/pdf", file, "pdf")
}
