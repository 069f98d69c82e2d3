//! Follows changes other programs make to the notebook's folder.

use std::sync::Arc;
use std::time::Duration;

use notify::{RecursiveMode, Watcher as _};
use tokio::sync::mpsc;

use crate::notebook::Notebook;

/// Quiet that is waited for after a change: editors write in several steps.
const QUIET: Duration = Duration::from_millis(120);
/// The folder is looked through this often, whatever was heard: some disks tell of nothing.
const ROUND: Duration = Duration::from_secs(30);

/// Follows the folder for as long as the program runs. What is heard is only a hint to look.
pub async fn follow(notebook: Arc<Notebook>) {
    let (heard, mut hints) = mpsc::channel::<()>(1);
    let root = notebook.root.clone();
    let watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        let ours = event.as_ref().is_ok_and(|event| {
            event.paths.iter().any(|path| path.extension().is_some_and(|end| end == "md"))
                || event.need_rescan()
                || event.paths.is_empty()
        });
        if ours || event.is_err() {
            let _ = heard.try_send(());
        }
    });
    let mut watcher = match watcher {
        Ok(watcher) => Some(watcher),
        Err(error) => {
            tracing::warn!(error = %error, "changes in the folder are not heard at once; it is looked through every 30 s");
            None
        }
    };
    if let Some(watcher) = &mut watcher
        && let Err(error) = watcher.watch(&root, RecursiveMode::Recursive)
    {
        tracing::warn!(error = %error, "changes in the folder are not heard at once; it is looked through every 30 s");
    }
    loop {
        tokio::select! {
            hint = hints.recv() => {
                if hint.is_none() { tokio::time::sleep(ROUND).await; }
                tokio::time::sleep(QUIET).await;
                while hints.try_recv().is_ok() {}
            }
            () = tokio::time::sleep(ROUND) => {}
        }
        let notebook = notebook.clone();
        let _ = tokio::task::spawn_blocking(move || notebook.look()).await;
    }
}
