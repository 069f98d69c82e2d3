//! What is to be calculated while nobody waits for it, and how whoever does it is woken.

use std::sync::atomic::{AtomicU8, Ordering};

use tokio::sync::Notify;

/// A kind of work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Work {
    /// Summaries of more plans than a page waits for.
    Summaries = 1,
    /// Results of revisions that were taken into the record without them.
    Revisions = 2,
}

/// The kinds of work there are to do.
#[derive(Debug, Default)]
pub struct Backlog {
    due: AtomicU8,
    wake: Notify,
}

impl Backlog {
    /// Adds work, and wakes whoever does it.
    pub(super) fn add(&self, work: Work) {
        self.leave(work);
        self.wake.notify_one();
    }

    /// Adds work for the next time something is done.
    pub(super) fn leave(&self, work: Work) {
        self.due.fetch_or(work as u8, Ordering::SeqCst);
    }

    /// Whether there is such work.
    pub(super) fn has(&self, work: Work) -> bool {
        self.due.load(Ordering::SeqCst) & work as u8 != 0
    }

    /// Takes the work on, if there is any.
    pub(super) fn take(&self, work: Work) -> bool {
        self.due.fetch_and(!(work as u8), Ordering::SeqCst) & work as u8 != 0
    }

    /// Waits until work is added.
    pub async fn wait(&self) {
        self.wake.notified().await;
    }
}
