//! Works plans out on a few threads of their own, keeps what was worked out by content, and stops what never ends.

use std::collections::HashMap;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash as _, Hasher as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::Duration;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::evaluate::rates::{self, Priced};
use engine::render::html::{self, Article, View};
use engine::script::{Moment, Stop};
use engine::{Evaluation, Facts, Trouble, evaluate};

use crate::memory;
use crate::trouble::Refusal;
use crate::turns::{Turn, Turns};

/// Threads that calculate. More than a few plans that run away at once: what is saved or written meanwhile shares the
/// processor with them, and does not wait until their time is up. Each may hold its share of memory.
const THREADS: usize = 6;
/// Room for deep calculations; a script's own limits end it long before.
pub const STACK: usize = 16 << 20;
/// Plans that may wait to be worked out.
const WAITING: usize = 64;
/// Plans kept as worked out, and how many bytes they may take.
const KEPT: usize = 64;
const KEPT_BYTES: usize = 24 << 20;
/// What a plan worked out takes, with its page, for every byte of its text: measured 17 for the longest shipped.
const FOR_A_BYTE: usize = 20;
/// Longer texts are calculated one at a time, and made into sheets of paper one at a time: reading one takes up to some tens of megabytes and a moment in which nothing can
/// stop it. The longest shipped plan has a seventh of it.
pub(crate) const LONG: usize = 128 << 10;
/// How many times slower a build for tests is.
const SLOWER: u64 = if cfg!(debug_assertions) { 5 } else { 1 };
/// How long one block of workings may take, in time of its own thread.
const BLOCK: Duration = Duration::from_millis(120 * SLOWER);
/// How long a whole plan may take; what is left of it then gets a moment a block, and nothing when this much more is over.
const PLAN: Duration = Duration::from_millis(200 * SLOWER);
const REST: Duration = Duration::from_millis(100 * SLOWER);
/// How long a plan may take before it takes turns with others that go on for long. Plans of people take about a millisecond.
const PATIENCE: Duration = Duration::from_millis(5 * SLOWER);
/// That moment.
const A_MOMENT: Duration = Duration::from_millis(1);
/// How much memory a plan may grow by.
const MEMORY: isize = 24 << 20;

/// A document worked out.
#[derive(Debug)]
pub struct Worked {
    /// The document.
    pub document: Document,
    /// What it came to.
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

type Job = Box<dyn FnOnce(&Arc<Compiled>) + Send>;

/// The threads and what they keep.
#[derive(Clone)]
pub struct Evaluator {
    jobs: SyncSender<Job>,
    compiled: Arc<Compiled>,
    turns: Arc<Turns>,
    kept: Arc<Mutex<Kept>>,
    /// Held while a long text is calculated.
    long: Arc<Mutex<()>>,
}

impl std::fmt::Debug for Evaluator {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Evaluator")
    }
}

#[derive(Default)]
struct Kept {
    young: HashMap<u64, Arc<Worked>>,
    young_bytes: usize,
    old: HashMap<u64, Arc<Worked>>,
}

impl Evaluator {
    /// Starts the threads.
    ///
    /// # Errors
    /// When the system gives no threads.
    pub fn start() -> std::io::Result<Self> {
        let (jobs, waiting) = sync_channel::<Job>(WAITING);
        let waiting = Arc::new(Mutex::new(waiting));
        let compiled = Arc::new(Compiled::default());
        for number in 0..THREADS {
            let (waiting, compiled) = (waiting.clone(), compiled.clone());
            std::thread::Builder::new()
                .name(format!("workings-{number}"))
                .stack_size(STACK)
                .spawn(move || work(&waiting, &compiled))?;
        }
        Ok(Self { jobs, compiled, turns: Turns::of(micros(PATIENCE)), kept: Arc::default(), long: Arc::default() })
    }

    /// A document worked out, from what is kept or afresh. Blocks the thread it is called on.
    ///
    /// # Errors
    /// When too much waits already, or the calculation broke.
    pub fn work_out(&self, text: &str, facts: &Facts, view: &View) -> Result<Arc<Worked>, Refusal> {
        let key = key(text, facts, view);
        if let Some(worked) = self.kept().get(key) {
            return Ok(worked);
        }
        let worked = self.anew(text, facts, view)?;
        if !worked.is_cut_short {
            self.kept().put(key, worked.clone());
        }
        Ok(worked)
    }

    /// The same for one of many documents that nobody looks at: it takes no room from those that someone does.
    ///
    /// # Errors
    /// When too much waits already, or the calculation broke.
    pub fn glance(&self, text: &str, facts: &Facts, view: &View) -> Result<Arc<Worked>, Refusal> {
        let kept = self.kept().get(key(text, facts, view));
        kept.map_or_else(|| self.anew(text, facts, view), Ok)
    }

    /// The same on this thread, for what goes through a whole notebook: no thread waits for another. The thread needs
    /// [`STACK`], and whoever asks sees to it that there are few.
    ///
    /// # Errors
    /// When the calculation broke.
    pub fn here(&self, document: Document, facts: &Facts, view: View) -> Result<Worked, Refusal> {
        let _alone = self.alone(document.text.len());
        let turn = Arc::new(Turn::of(&self.turns));
        let act = AssertUnwindSafe(|| read_in_turn(document, facts, view, &self.compiled, Some(turn)));
        catch_unwind(act).map_err(|_| broke())
    }

    /// What a rate sheet asks at a few sizes.
    ///
    /// # Errors
    /// When too much waits already, or the calculation broke.
    pub fn prices(&self, text: &str, facts: &Facts) -> Result<Vec<Priced>, Refusal> {
        let _alone = self.alone(text.len());
        let (text, facts) = (text.to_owned(), facts.clone());
        self.run(move |compiled| rates::prices(&Document::read(&text), &facts, compiled, Some(limit(&Arc::default()))))
    }

    fn anew(&self, text: &str, facts: &Facts, view: &View) -> Result<Arc<Worked>, Refusal> {
        let _alone = self.alone(text.len());
        let (text, facts, view) = (text.to_owned(), facts.clone(), view.clone());
        let turns = self.turns.clone();
        let worked = self.run(move |compiled| {
            let turn = Arc::new(Turn::of(&turns));
            in_turn(&text, &facts, &view, compiled, Some(turn))
        });
        worked.map(Arc::new)
    }

    /// Waits until no other long text is calculated, on the thread that asks, so that the others stay free for short ones.
    fn alone(&self, bytes: usize) -> Option<std::sync::MutexGuard<'_, ()>> {
        (bytes > LONG).then(|| self.long.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Does something on one of the threads, and waits for it.
    fn run<T: Send + 'static>(&self, act: impl FnOnce(&Arc<Compiled>) -> T + Send + 'static) -> Result<T, Refusal> {
        let (answer, wait) = sync_channel(1);
        let job: Job = Box::new(move |compiled| {
            let _ = answer.send(catch_unwind(AssertUnwindSafe(|| act(compiled))));
        });
        self.jobs.try_send(job).map_err(|error| match error {
            TrySendError::Full(_) => {
                Refusal::Busy(Trouble::new("too many plans are being worked out at once", "try again in a moment"))
            }
            TrySendError::Disconnected(_) => {
                Refusal::unable("the calculation has stopped", "start the program again; nothing is lost")
            }
        })?;
        wait.recv().map_err(|_| broke())?.map_err(|_| broke())
    }

    fn kept(&self) -> std::sync::MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn broke() -> Refusal {
    Refusal::unable(
        "working this plan out broke off",
        "undo the last change and tell us what it was; the file is left as it is",
    )
}

fn work(waiting: &Mutex<Receiver<Job>>, compiled: &Arc<Compiled>) {
    loop {
        let job = waiting.lock().unwrap_or_else(PoisonError::into_inner).recv();
        match job {
            Ok(job) => job(compiled),
            Err(_) => return,
        }
    }
}

/// Works a document out on this thread, within the limits.
#[must_use]
pub fn calculate(text: &str, facts: &Facts, view: &View, compiled: &Arc<Compiled>) -> Worked {
    in_turn(text, facts, view, compiled, None)
}

fn in_turn(text: &str, facts: &Facts, view: &View, compiled: &Arc<Compiled>, turn: Option<Arc<Turn>>) -> Worked {
    read_in_turn(Document::read(text), facts, view.clone(), compiled, turn)
}

fn read_in_turn(
    document: Document,
    facts: &Facts,
    view: View,
    compiled: &Arc<Compiled>,
    turn: Option<Arc<Turn>>,
) -> Worked {
    let cut_short = Arc::new(AtomicBool::new(false));
    let evaluation = evaluate(&document, facts, compiled, Some(limit_in_turn(&cut_short, turn)));
    let block = html::title_block(&document, &evaluation);
    let is_cut_short = cut_short.load(Ordering::Relaxed);
    Worked { document, evaluation, view, article: OnceLock::new(), block, is_cut_short }
}

/// Stops a block that takes too long or too much memory, counted from now on this thread, and tells when it was the time.
#[must_use]
pub fn limit(cut_short: &Arc<AtomicBool>) -> Stop {
    limit_in_turn(cut_short, None)
}

fn limit_in_turn(cut_short: &Arc<AtomicBool>, turn: Option<Arc<Turn>>) -> Stop {
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
        if let Some(turn) = &turn {
            turn.has_gone_on(now);
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

impl Kept {
    fn get(&mut self, key: u64) -> Option<Arc<Worked>> {
        if let Some(found) = self.young.get(&key) {
            return Some(found.clone());
        }
        let found = self.old.remove(&key)?;
        self.put(key, found.clone());
        Some(found)
    }

    fn put(&mut self, key: u64, worked: Arc<Worked>) {
        let bytes = worked.document.text.len() * FOR_A_BYTE;
        if self.young.len() >= KEPT / 2 || self.young_bytes + bytes > KEPT_BYTES / 2 {
            self.old = std::mem::take(&mut self.young);
            self.young_bytes = 0;
        }
        self.young_bytes += bytes;
        self.young.insert(key, worked);
    }
}
