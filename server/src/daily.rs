//! A copy of the record each day, in a hidden folder beside it: for the day the record itself is damaged. A disk that is lost
//! takes these copies with it; that is what a backup is for.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, SystemTime};

use engine::measure::Day;

use crate::error::Error;
use crate::notebook::Notebook;
use crate::store::kept_copies::{FOLDER, all};
use crate::store::{FILE, copies, is_there, saves};

/// How many are kept.
const KEPT: usize = 3;
/// How long after the start the first is made, so that nobody waits for it.
const AT_FIRST: Duration = Duration::from_secs(60);
/// How often the day is looked at.
const ROUND: Duration = Duration::from_secs(3600);

/// Makes the day's copy for as long as the program runs.
pub async fn follow(notebook: Arc<Notebook>) {
    let mut wait = AT_FIRST;
    loop {
        tokio::time::sleep(wait).await;
        wait = ROUND;
        let notebook = notebook.clone();
        let made = tokio::task::spawn_blocking(move || match notebook.halted() {
            // What is damaged is not copied over what is sound.
            Some(_) => Ok(None),
            None => make(notebook.root(), notebook.today()),
        });
        if let Ok(Err(error)) = made.await {
            tracing::warn!(error.what = %error.message().what, "the day's copy of the record was not made");
        }
    }
}

/// Makes the copy of a day, unless there is one or nothing changed since the last; looks it through, and takes the oldest
/// away. Gives the new copy.
///
/// # Errors
/// When the record is damaged or the disk refuses; the older copies then stay.
pub fn make(notebook: &Path, today: Day) -> Result<Option<PathBuf>, Error> {
    let record = notebook.join(FILE);
    let place = notebook.join(FOLDER);
    let name = format!("makeready-{}.db", today.iso());
    let all = all(&place);
    let is_new = |last: &PathBuf| changed(&record) > changed(last);
    if !is_there(notebook) || place.join(&name).exists() || all.last().is_some_and(|last| !is_new(last)) {
        return Ok(None);
    }
    let copy = copies::keep_one(notebook, &place, &name)?;
    for old in all.iter().rev().skip(KEPT - 1) {
        fs::remove_file(old)?;
    }
    // To the copy before, so that one damaged copy leaves no gap.
    if let Some(before) = all.last().and_then(|before| copies::witness(before).ok()) {
        saves::shorten(notebook, before.revision.0)?;
    }
    Ok(Some(copy))
}

/// When a record was last written to: what is new stands in its journal first.
fn changed(record: &Path) -> Option<SystemTime> {
    let mut journal = record.as_os_str().to_owned();
    journal.push("-wal");
    let when = |path: &Path| fs::metadata(path).and_then(|about| about.modified()).ok();
    when(record).max(when(Path::new(&journal)))
}
