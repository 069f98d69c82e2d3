//! A plan with its pictures and rate sheets as one archive, out and in. Both pass through the disk and never stand in memory.

use std::fs::File;
use std::io::{self, Read as _, Seek as _, Write as _};
use std::time::Duration;

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::{Query, Request, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use engine::Message;
use serde_json::json;
use tokio::sync::mpsc;
use tokio::time::timeout;
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::ReceiverStream;

use super::extract::About;
use super::file::attached;
use crate::error::Error;
use crate::folder::nameless;
use crate::guard::{LARGEST_ARCHIVE, closed, too_large};
use crate::notebook::Ledger;
use crate::state::App;

/// How long one may take to arrive.
const ARRIVING: Duration = Duration::from_secs(120);
/// How long one that arrived waits for those before it.
const WAITING: Duration = Duration::from_secs(20);
/// How large the parts are in which one goes out.
const PART: usize = 64 << 10;

/// What goes along.
#[derive(Debug, Default, serde::Deserialize)]
pub(crate) struct Along {
    /// `events`, or `whole` for names and amounts too.
    ledger: Option<String>,
}

/// The archive of a plan.
pub(crate) async fn get(about: About, Query(along): Query<Along>) -> Result<Response, Error> {
    let ledger = match along.ledger.as_deref() {
        Some("events") => Ledger::Events,
        Some("whole") => Ledger::Whole,
        _ => Ledger::None,
    };
    let file = about.name.as_str().rsplit('/').next().unwrap_or("plan").to_owned();
    let archive = about
        .with(move |notebook, name, _| {
            let mut archive = notebook.export(name, ledger, nameless(notebook.root())?)?;
            archive.rewind()?;
            Ok(archive)
        })
        .await?;
    let length = archive.metadata()?.len();
    let mut response = attached(going_out(archive), "application/zip", &file, "zip");
    response.headers_mut().insert(header::CONTENT_LENGTH, length.into());
    Ok(response)
}

/// A file as it is read, a part at a time.
fn going_out(mut file: File) -> Body {
    let (out, parts) = mpsc::channel::<io::Result<Bytes>>(2);
    tokio::task::spawn_blocking(move || {
        loop {
            let mut part = Vec::with_capacity(PART);
            let read = (&mut file).take(PART as u64).read_to_end(&mut part).map(|_| Bytes::from(part));
            let (is_end, is_broken) = (read.as_ref().is_ok_and(Bytes::is_empty), read.is_err());
            if is_end || out.blocking_send(read).is_err() || is_broken {
                return;
            }
        }
    });
    Body::from_stream(ReceiverStream::new(parts))
}

/// Takes an archive in.
pub(crate) async fn post(State(app): State<App>, request: Request) -> Response {
    match taken_in(&app, request.into_body()).await {
        Ok(response) => response,
        // What did not arrive is not waited for.
        Err(error) => closed(error.into_response()),
    }
}

async fn taken_in(app: &App, body: Body) -> Result<Response, Error> {
    let busy = || Error::Busy(Message::new("other archives are being taken in", "try again in a moment"));
    let _arriving = app.arriving.try_acquire().map_err(|_| busy())?;
    let archive = arrived(app, body).await?;
    let _unpacking = timeout(WAITING, app.unpacking.acquire()).await.map_err(|_| busy())?;
    let brought = app.with(move |notebook| notebook.import(&archive)).await?;
    let location = format!("/plan/{}", brought.plan.in_url());
    Ok(Json(json!({ "location": location, "written": brought.written, "left": brought.left })).into_response())
}

/// An archive on the disk, as it came.
async fn arrived(app: &App, body: Body) -> Result<File, Error> {
    let (out, mut parts) = mpsc::channel::<Bytes>(4);
    let root = app.notebook.root().to_path_buf();
    let file = tokio::task::spawn_blocking(move || {
        let mut file = nameless(&root)?;
        while let Some(part) = parts.blocking_recv() {
            file.write_all(&part)?;
        }
        io::Result::Ok(file)
    });
    let mut stream = body.into_data_stream();
    let all = async {
        let mut length = 0;
        while let Some(part) = stream.next().await {
            let part = part
                .map_err(|_| Error::unusable("this archive ended too early", "send it again; nothing was changed"))?;
            length += part.len();
            if length > LARGEST_ARCHIVE {
                return Err(Error::TooLong(too_large()));
            }
            if out.send(part).await.is_err() {
                // The disk refused, and says so below.
                break;
            }
        }
        drop(out);
        Ok(())
    };
    timeout(ARRIVING, all).await.map_err(|_| {
        Error::Late(Message::new("this archive did not arrive in time", "send it again; nothing was changed"))
    })??;
    let file = file.await.map_err(|error| {
        Error::internal("this could not be finished", "try again; nothing was changed").because(error)
    })?;
    Ok(file?)
}
