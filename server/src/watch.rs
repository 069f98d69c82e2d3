//! Follows changes other programs make to the notebook's folder.

use std::sync::Arc;
use std::time::{Duration, Instant};

use notify::event::{AccessKind, AccessMode};
use notify::{EventKind, RecursiveMode, Watcher as _};
use tokio::sync::mpsc;

use crate::error::Error;
use crate::notebook::Notebook;

/// Quiet that is waited for after a change: editors write in several steps.
const QUIET: Duration = Duration::from_millis(100);
/// The longest wait for quiet, when changes never stop.
const PATIENCE: Duration = Duration::from_millis(500);
/// When to look again at what was only just being written.
const AGAIN: Duration = Duration::from_millis(300);
/// The folder is looked through this often, whatever was heard: some disks tell of nothing.
const ROUND: Duration = Duration::from_secs(30);

/// Follows the folder for as long as the program runs, and works out what changes while nobody waits for it.
pub async fn follow(notebook: Arc<Notebook>) {
    tokio::join!(listen(notebook.clone()), keep_up(notebook));
}

/// Works out what the first page and the year tell of each plan, and what was taken into the record without that: what was found
/// at the first look, then whenever rate sheets changed, many files did, or a day began.
async fn keep_up(notebook: Arc<Notebook>) {
    loop {
        let one = notebook.clone();
        let done = tokio::task::spawn_blocking(move || {
            one.summaries.catch_up()?;
            one.history.catch_up_in_between()?;
            Ok::<(), Error>(())
        });
        if let Ok(Err(error)) = done.await {
            tracing::warn!(error.what = %error.message().what, "what was found in the folder was not calculated");
        }
        tokio::select! {
            () = notebook.backlog.wait() => {}
            () = tokio::time::sleep(ROUND) => {}
        }
    }
}

/// What is heard is only a hint to look, so nothing is missed when hints are lost: a full round looks at everything.
async fn listen(notebook: Arc<Notebook>) {
    let (heard, mut hints) = mpsc::channel::<()>(1);
    let root = notebook.root().to_path_buf();
    let watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        if event.as_ref().map_or(true, is_hint) {
            let _ = heard.try_send(());
        }
    });
    let deaf = |error: &notify::Error| {
        tracing::warn!(error = %error, "changes in the folder are not heard at once; it is looked through every 30 s");
    };
    let mut watcher = watcher.inspect_err(deaf).ok();
    let mut hears = watcher
        .as_mut()
        .is_some_and(|watcher| watcher.watch(&root, RecursiveMode::Recursive).inspect_err(deaf).is_ok());
    let mut wait = ROUND;
    loop {
        tokio::select! {
            hint = hints.recv(), if hears => match hint {
                Some(()) => quiet(&mut hints).await,
                None => hears = false,
            },
            () = tokio::time::sleep(wait) => {}
        }
        let notebook = notebook.clone();
        let again = tokio::task::spawn_blocking(move || notebook.look()).await.unwrap_or(false);
        wait = if again { AGAIN } else { ROUND };
    }
}

/// Whether an event may mean that a document changed.
fn is_hint(event: &notify::Event) -> bool {
    let is_reading = match event.kind {
        EventKind::Access(AccessKind::Close(AccessMode::Write)) => false,
        EventKind::Access(_) => true,
        _ => false,
    };
    let is_document =
        event.paths.is_empty() || event.paths.iter().any(|path| path.extension().is_none_or(|end| end == "md"));
    event.need_rescan() || (!is_reading && is_document)
}

/// Waits until nothing was heard for a moment.
async fn quiet(hints: &mut mpsc::Receiver<()>) {
    let began = Instant::now();
    while began.elapsed() < PATIENCE {
        if tokio::time::timeout(QUIET, hints.recv()).await.is_err() {
            return;
        }
    }
}
