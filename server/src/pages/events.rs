//! Tells open pages what changed, as it changes.

use std::convert::Infallible;
use std::time::Duration;

use axum::extract::State;
use axum::response::sse::{Event, KeepAlive};
use axum::response::{IntoResponse as _, Response, Sse};
use engine::Trouble;
use serde_json::json;
use tokio::sync::broadcast::error::RecvError;
use tokio_stream::wrappers::ReceiverStream;

use crate::app::App;
use crate::trouble::Refusal;

/// A stream of changes. A page that missed some is told to look again.
pub(crate) async fn get(State(app): State<App>) -> Response {
    let Ok(place) = app.following.clone().try_acquire_owned() else {
        return Refusal::Busy(Trouble::new("too many pages follow this notebook", "close some of them"))
            .into_response();
    };
    let mut changes = app.notebook.changes();
    let mut ending = app.ending.clone();
    let (out, stream) = tokio::sync::mpsc::channel::<Result<Event, Infallible>>(16);
    tokio::spawn(async move {
        let _place = place;
        loop {
            let event = tokio::select! {
                change = changes.recv() => match change {
                    Ok(change) => Event::default().event("changed").data(json!({"slug": change.name.in_url(), "etag": change.etag}).to_string()),
                    Err(RecvError::Lagged(_)) => Event::default().event("changed").data(json!({"slug": "", "etag": ""}).to_string()),
                    Err(RecvError::Closed) => return,
                },
                _ = ending.changed() => return,
                () = out.closed() => return,
            };
            if out.send(Ok(event)).await.is_err() {
                return;
            }
        }
    });
    Sse::new(ReceiverStream::new(stream)).keep_alive(KeepAlive::new().interval(Duration::from_secs(15))).into_response()
}
