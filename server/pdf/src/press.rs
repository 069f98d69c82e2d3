//! The press: one thread that lays sheets out, one after the other, so that no page waits for it and no sheet takes the program
//! down with it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};

use engine::Trouble;

use crate::closed::Case;
use crate::sheet::Sheet;

/// Sheets that may wait.
const WAITING: usize = 16;
/// Room for deeply nested lists.
const STACK: usize = 32 << 20;

/// Why there is no sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Refused {
    /// Too many wait already.
    Busy(Trouble),
    /// It could not be laid out.
    Unable(Trouble),
}

impl Refused {
    /// What is wrong and what to do next.
    #[must_use]
    pub fn trouble(&self) -> &Trouble {
        match self {
            Self::Busy(trouble) | Self::Unable(trouble) => trouble,
        }
    }
}

type Made = Result<Vec<u8>, Trouble>;

struct Job {
    sheet: Box<Sheet>,
    answer: SyncSender<Made>,
}

/// The press, from any thread.
#[derive(Clone, Debug)]
pub struct Press {
    jobs: SyncSender<Job>,
}

impl std::fmt::Debug for Job {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Job")
    }
}

impl Press {
    /// Starts the press.
    ///
    /// # Errors
    /// When the system gives no thread.
    pub fn start() -> std::io::Result<Self> {
        let (jobs, waiting) = sync_channel::<Job>(WAITING);
        std::thread::Builder::new().name("press".into()).stack_size(STACK).spawn(move || work(&waiting))?;
        Ok(Self { jobs })
    }

    /// The bytes of a sheet as PDF/A-2a and PDF/UA-1: the same for the same sheet. Blocks the thread it is called on.
    ///
    /// # Errors
    /// When too many sheets wait, or this one cannot be laid out.
    pub fn print(&self, sheet: Sheet) -> Result<Vec<u8>, Refused> {
        let (answer, wait) = sync_channel(1);
        let stopped =
            || Refused::Unable(Trouble::new("the press has stopped", "start the program again; nothing is lost"));
        self.jobs.try_send(Job { sheet: Box::new(sheet), answer }).map_err(|error| match error {
            TrySendError::Full(_) => {
                Refused::Busy(Trouble::new("too many sheets are being printed at once", "try again in a moment"))
            }
            TrySendError::Disconnected(_) => stopped(),
        })?;
        wait.recv().map_err(|_| stopped())?.map_err(Refused::Unable)
    }
}

fn work(waiting: &Receiver<Job>) {
    // Made at the first sheet, so that a program that prints none starts no slower.
    let mut case: Option<Case> = None;
    while let Ok(Job { sheet, answer }) = waiting.recv() {
        let made = catch_unwind(AssertUnwindSafe(|| {
            if case.is_none() {
                case = Some(Case::new()?);
            }
            let case = case.as_ref().ok_or_else(broke)?;
            case.pdf(&sheet)
        }));
        let made = made.unwrap_or_else(|_| {
            case = None;
            Err(broke())
        });
        let _ = answer.send(made);
    }
}

fn broke() -> Trouble {
    Trouble::new(
        "laying this sheet out broke off",
        "print it from the browser, and tell us which plan it was; the plan itself is safe",
    )
}
