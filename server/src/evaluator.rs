//! Calculates plans, a few at once, keeps the results by content, and stops what never ends.
//!
//! Everything here runs on the thread that calls, which may wait: requests come from blocking tasks.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::evaluate::rates::{self, Priced};
use engine::render::html::{self, Article, View};
use engine::script::{Moment, Stop};
use engine::{Evaluation, Facts, Message, evaluate};
use parking_lot::Mutex;

use crate::error::Error;
use crate::memory;
use crate::semaphore::{Permit, Semaphore};
use engine::recent::Recent;

/// Stack of every thread that calculates. The deepest workings take nearly 2 MB.
pub const STACK: usize = 4 << 20;
/// Calculations at once, each of which may take its share of memory, and how many may wait. More than a few plans that run
/// away at once: what is saved or written meanwhile does not wait until their time is up.
static AT_ONCE: Semaphore = Semaphore::of(6, 64);
/// The one calculation at once that may go on for long, so that others find a processor free.
static LONG_ONES: Semaphore = Semaphore::of(1, usize::MAX);
/// How many bytes calculated plans may take in each of two generations.
const KEPT: usize = 12 << 20;
/// What a calculated plan takes, with its page: some of it always, and for every byte of its text; measured 17 for the longest
/// shipped.
const FOR_EACH: usize = 32 << 10;
const FOR_A_BYTE: usize = 20;
/// Longer texts are long from the start, when they are calculated and when they are made into sheets of paper: reading one takes
/// up to some tens of megabytes and a moment in which nothing can stop it. The longest shipped plan has a seventh of it.
pub(crate) const LONG: usize = 128 << 10;
/// How many times slower a build for tests is.
const SLOWER: u64 = if cfg!(debug_assertions) { 5 } else { 1 };
/// How long one block of workings may take, in time of its own thread.
const BLOCK: Duration = Duration::from_millis(120 * SLOWER);
/// How long a whole plan may take; what is left of it then gets a moment a block, and nothing when this much more is over.
const PLAN: Duration = Duration::from_millis(200 * SLOWER);
const REST: Duration = Duration::from_millis(100 * SLOWER);
/// How long a plan may take before it waits for others that go on for long. Plans of people take about a millisecond.
const PATIENCE: Duration = Duration::from_millis(5 * SLOWER);
/// That moment.
const A_MOMENT: Duration = Duration::from_millis(1);
/// How much memory a plan may grow by.
const MEMORY: isize = 24 << 20;

/// A document calculated.
#[derive(Debug)]
pub struct Worked {
    /// The document.
    pub document: Document,
    /// Its results.
    pub evaluation: Evaluation,
    /// What it is shown with.
    pub view: View,
    /// Its page's article, once a page asks for it.
    article: OnceLock<Article>,
    /// Its title block.
    pub block: Vec<(&'static str, String)>,
    /// Some of it was stopped because of the time it took. Another time it may not be, so this is not kept.
    pub is_cut_short: bool,
}

impl Worked {
    /// Its page's article.
    pub fn article(&self) -> &Article {
        self.article.get_or_init(|| html::article(&self.document, &self.evaluation, &self.view))
    }
}

/// What is kept of earlier calculations.
#[derive(Debug)]
pub struct Evaluator {
    compiled: Arc<Compiled>,
    kept: Mutex<Recent<u64, Arc<Worked>>>,
}

impl Default for Evaluator {
    fn default() -> Self {
        Self { compiled: Arc::default(), kept: Mutex::new(Recent::of(KEPT)) }
    }
}

/// The permit of a long calculation, once it is one.
type Turn = OnceLock<Option<Permit>>;

fn take_turn(turn: &Turn) {
    turn.get_or_init(|| LONG_ONES.acquire(Duration::MAX));
}

impl Evaluator {
    /// A document calculated, from what is kept or afresh.
    ///
    /// # Errors
    /// When too much waits already, or the calculation broke.
    pub fn work_out(&self, text: &str, facts: &Facts, view: &View) -> Result<Arc<Worked>, Error> {
        let key = key(text, facts, view);
        if let Some(worked) = self.kept.lock().get(&key) {
            return Ok(worked);
        }
        let worked = self.afresh(text, facts, view)?;
        if !worked.is_cut_short {
            self.kept.lock().put(key, worked.clone(), FOR_EACH + text.len() * FOR_A_BYTE);
        }
        Ok(worked)
    }

    /// The same for one of many documents that nobody looks at: it takes no room from those that someone does.
    ///
    /// # Errors
    /// When too much waits already, or the calculation broke.
    pub fn glance(&self, text: &str, facts: &Facts, view: &View) -> Result<Arc<Worked>, Error> {
        let kept = self.kept.lock().get(&key(text, facts, view));
        kept.map_or_else(|| self.afresh(text, facts, view), Ok)
    }

    /// The same for what goes through a whole notebook and takes no permit from others: whoever asks sees to it that there are few.
    ///
    /// # Errors
    /// When the calculation broke.
    pub fn here(&self, document: Document, facts: &Facts, view: View) -> Result<Worked, Error> {
        let turn = Turn::new();
        if document.text.len() > LONG {
            take_turn(&turn);
        }
        unbroken(|| evaluated(document, facts, view, &self.compiled, Some(turn)))
    }

    /// What a rate sheet asks at a few sizes.
    ///
    /// # Errors
    /// When too much waits already, or the calculation broke.
    pub fn prices(&self, text: &str, facts: &Facts) -> Result<Vec<Priced>, Error> {
        let prices =
            |turn| rates::prices(&Document::read(text), facts, &self.compiled, Some(stop(&Arc::default(), Some(turn))));
        within_bounds(text, prices)
    }

    fn afresh(&self, text: &str, facts: &Facts, view: &View) -> Result<Arc<Worked>, Error> {
        let worked = |turn| evaluated(Document::read(text), facts, view.clone(), &self.compiled, Some(turn));
        within_bounds(text, worked).map(Arc::new)
    }
}

/// Calculates something of a text, once there is a permit for it.
fn within_bounds<T>(text: &str, act: impl FnOnce(Turn) -> T) -> Result<T, Error> {
    let turn = Turn::new();
    // Whoever has the turn of the long ones waits for no other permit, or those with one might wait for the turn for ever.
    let _permit = if text.len() > LONG {
        take_turn(&turn);
        None
    } else {
        let busy = || Message::new("too many plans are being calculated at once", "try again in a moment");
        Some(AT_ONCE.acquire(Duration::MAX).ok_or_else(|| Error::Busy(busy()))?)
    };
    unbroken(|| act(turn))
}

/// What an act gives, unless it panicked.
fn unbroken<T>(act: impl FnOnce() -> T) -> Result<T, Error> {
    catch_unwind(AssertUnwindSafe(act)).map_err(|_| {
        Error::internal(
            "this plan could not be calculated",
            "undo the last change and tell us what it was; the file is left as it is",
        )
    })
}

/// Calculates a document within the limits, waiting for nobody.
#[must_use]
pub fn calculate(text: &str, facts: &Facts, view: &View, compiled: &Arc<Compiled>) -> Worked {
    evaluated(Document::read(text), facts, view.clone(), compiled, None)
}

fn evaluated(document: Document, facts: &Facts, view: View, compiled: &Arc<Compiled>, turn: Option<Turn>) -> Worked {
    let cut_short = Arc::new(AtomicBool::new(false));
    let evaluation = evaluate(&document, facts, compiled, Some(stop(&cut_short, turn)));
    let block = html::title_block(&document, &evaluation);
    let is_cut_short = cut_short.load(Ordering::Relaxed);
    Worked { document, evaluation, view, article: OnceLock::new(), block, is_cut_short }
}

/// Stops a block that takes too long or too much memory, counted from now on this thread, and tells when it was the time.
#[must_use]
pub fn limit(cut_short: &Arc<AtomicBool>) -> Stop {
    stop(cut_short, None)
}

fn stop(cut_short: &Arc<AtomicBool>, turn: Option<Turn>) -> Stop {
    let cut_short = cut_short.clone();
    let began = worked_here();
    let at_first = memory::live();
    let block = AtomicU64::new(0);
    Arc::new(move |moment| {
        // Looking at the clock costs more than a few steps.
        let every = |count| matches!(moment, Moment::Step(steps) if !steps.is_multiple_of(count));
        if every(32) {
            return None;
        }
        if moment != Moment::Begins && memory::live() - at_first > MEMORY {
            return Some("these workings take more than 24 MB of memory");
        }
        if every(256) {
            return None;
        }
        let now = micros(worked_here().saturating_sub(began));
        if let Some(turn) = turn.as_ref().filter(|_| now > micros(PATIENCE)) {
            take_turn(turn);
        }
        if moment == Moment::Begins {
            block.store(now, Ordering::Relaxed);
        }
        let spent = now.saturating_sub(block.load(Ordering::Relaxed));
        let (is_over, why) = match moment {
            Moment::Begins => (now > micros(PLAN + REST), "this plan takes too long, and nothing below is calculated"),
            Moment::Reads => (now > micros(PLAN), "these workings take too long"),
            Moment::Step(_) | Moment::Long => (
                spent > micros(BLOCK) || (now > micros(PLAN) && spent > micros(A_MOMENT)),
                "these workings take too long",
            ),
        };
        cut_short.fetch_or(is_over, Ordering::Relaxed);
        is_over.then_some(why)
    })
}

/// How long this thread has calculated. What else the computer does meanwhile takes nothing from a plan, so that the same
/// plan gives the same on a busy computer as on an idle one.
fn worked_here() -> Duration {
    #[cfg(unix)]
    {
        let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
        Duration::new(u64::try_from(time.tv_sec).unwrap_or_default(), u32::try_from(time.tv_nsec).unwrap_or_default())
    }
    #[cfg(not(unix))]
    {
        static FIRST: std::sync::OnceLock<std::time::Instant> = std::sync::OnceLock::new();
        FIRST.get_or_init(std::time::Instant::now).elapsed()
    }
}

fn micros(time: Duration) -> u64 {
    u64::try_from(time.as_micros()).unwrap_or(u64::MAX)
}

fn key(text: &str, facts: &Facts, view: &View) -> u64 {
    let mut hasher = DefaultHasher::new();
    text.hash(&mut hasher);
    facts.today.hash(&mut hasher);
    facts.units.hash(&mut hasher);
    facts.sheets.hash(&mut hasher);
    format!("{:?}", facts.ledger).hash(&mut hasher);
    view.shops.hash(&mut hasher);
    hasher.finish()
}
