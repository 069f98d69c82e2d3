//! Tells open pages what changed, as it changes.

use std::convert::Infallible;
use std::time::Duration;

use axum::extract::{Extension, State};
use axum::response::sse::{Event, KeepAlive};
use axum::response::{IntoResponse as _, Response, Sse};
use engine::Message;
use serde_json::json;
use tokio::sync::broadcast::error::RecvError;
use tokio_stream::wrappers::ReceiverStream;

use crate::error::Error;
use crate::guard::CameIn;
use crate::state::App;

/// How often it is looked whether a browser still may follow, besides whenever one is let out here: a passphrase set on the
/// command line lets all of them out.
const AGAIN: Duration = Duration::from_secs(5);

/// A stream of changes. A page that missed some is told to look again. It ends when its browser is let out.
pub(crate) async fn get(State(app): State<App>, came_in: Option<Extension<CameIn>>) -> Response {
    let Ok(place) = app.following.clone().try_acquire_owned() else {
        return Error::Busy(Message::new("too many pages follow this notebook", "close some of them")).into_response();
    };
    let mut changes = app.notebook.documents.changes();
    let (mut ending, mut let_out) = (app.ending.clone(), app.let_out.subscribe());
    let (out, stream) = tokio::sync::mpsc::channel::<Result<Event, Infallible>>(16);
    tokio::spawn(async move {
        let _place = place;
        let mut again = tokio::time::interval(AGAIN);
        loop {
            let event = tokio::select! {
                biased;
                () = look_again(&mut let_out, &mut again), if came_in.is_some() => {
                    if is_let_in(&app, came_in.as_ref()).await {
                        continue;
                    }
                    return;
                }
                change = changes.recv() => match change {
                    Ok(change) => Event::default().event("changed").data(json!({"slug": change.name.in_url(), "etag": change.hash}).to_string()),
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

/// Waits until it is to be looked whether a browser is still let in.
async fn look_again(let_out: &mut tokio::sync::watch::Receiver<()>, again: &mut tokio::time::Interval) {
    tokio::select! {
        _ = let_out.changed() => {}
        _ = again.tick() => {}
    }
}

/// Whether the browser that follows is still let in; whoever needed nothing to come in stays.
async fn is_let_in(app: &App, came_in: Option<&Extension<CameIn>>) -> bool {
    let Some(Extension(CameIn(token))) = came_in.cloned() else { return true };
    app.with(move |notebook| notebook.is_let_in(&token)).await.unwrap_or(false)
}
