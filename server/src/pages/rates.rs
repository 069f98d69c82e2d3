//! Rate sheets: the list of them, and one.

use axum::extract::{Path, Query, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use engine::document::{Document, Kind};
use minijinja::context;

use super::plan::{about, fields, title};
use super::{Asked, name, page, told};
use crate::app::App;

/// The list.
pub(crate) async fn get(State(app): State<App>, headers: HeaderMap) -> Response {
    let sheets: Vec<_> = app
        .notebook
        .all(Kind::RateSheet)
        .into_iter()
        .map(|(name, entry)| {
            let front = entry.text.as_ref().ok().map(|kept| Document::read(engine::document::front::head_of(&kept.text)).front).unwrap_or_default();
            context! { slug => name.in_url(), name => entry.title, kind => front.trade.unwrap_or_default(), dated => front.quoted.map(|day| day.to_string()) }
        })
        .collect();
    page(&app, "rates.html", context! { sheets })
        .map_or_else(|refusal| told(&app, &headers, refusal), IntoResponse::into_response)
}

/// One rate sheet.
pub(crate) async fn sheet(
    State(app): State<App>,
    Path(sheet): Path<String>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Response {
    let made = match name(&sheet) {
        Ok(name) => {
            app.with(move |notebook| {
                let kept = notebook.text(&name)?;
                let worked = notebook.work_out(&name, &kept.text, asked.units())?;
                let revision = notebook.revision(&name, &kept.etag)?;
                let uses = |text: &str| text.contains(&format!("\"{}\"", name.as_str()));
                let used_by: Vec<_> = notebook
                    .all(Kind::Plan)
                    .into_iter()
                    .filter(|(_, entry)| entry.text.as_ref().is_ok_and(|kept| uses(&kept.text)))
                    .collect();
                Ok((name, kept, worked, revision, used_by))
            })
            .await
        }
        Err(refusal) => Err(refusal),
    };
    let result = made.and_then(|(name, kept, worked, revision, used_by)| {
        page(&app, "sheet.html", context! {
            slug => name.in_url(),
            title => title(&worked.document, &name),
            sentence => about(&worked.document),
            etag => kept.etag.clone(),
            revision => revision.to_string(),
            saved => format!("saved, revision {revision}"),
            block => fields(&worked, revision).into_iter().map(|(label, value)| context! { label, value }).collect::<Vec<_>>(),
            article => worked.article.clone(),
            dated => worked.document.front.quoted.map(|day| day.to_string()),
            used_by => used_by.iter().map(|(name, entry)| context! { slug => name.in_url(), title => entry.title.clone() }).collect::<Vec<_>>(),
        })
    });
    result.map_or_else(|refusal| told(&app, &headers, refusal), IntoResponse::into_response)
}
