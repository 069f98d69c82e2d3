//! One evaluation as its statements see it: its setting, what it stated so far, and when it has to stop.

use std::collections::HashSet;
use std::sync::atomic::Ordering::Relaxed;
use std::sync::atomic::{AtomicU64, AtomicUsize};
use std::sync::{Arc, Mutex, PoisonError};

use foldhash::fast::RandomState;
use rhai::{Dynamic, EvalAltResult, NativeCallContext, Position};

use crate::measure::{Calendar, Currency, Day, Units};
use crate::record::actuals::Known;
use crate::record::{Record, Step};
use crate::trade::price_list::Shop;
use crate::{Found, Message, Value};

/// When a calculation is asked whether it may go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// A block or an ask begins.
    Begins,
    /// A long text is about to be read, which cannot be stopped.
    Reads,
    /// So many steps of the block or ask are done, those of functions that lists call included.
    Step(u64),
    /// One step that takes long is about to be done.
    Long,
}

/// What stops a calculation that goes on too long or takes too much memory: it says why to stop. Where it stops one that
/// begins, the whole plan has had its time, and nothing more of it is done. The engine has no clock of its own.
pub type Stop = Arc<dyn Fn(Moment) -> Option<&'static str> + Send + Sync>;

/// A result of a script function.
pub(crate) type Outcome = Result<Dynamic, Box<EvalAltResult>>;

/// Raises a message where the script stands.
pub(crate) fn raise(message: Message) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(Dynamic::from(message), Position::NONE).into()
}

/// The evaluation a call belongs to.
pub(crate) fn run_of(context: &NativeCallContext<'_>) -> Option<Arc<Run>> {
    context.tag().and_then(|tag| tag.read_lock::<Arc<Run>>().map(|run| run.clone()))
}

/// One evaluation, as its statements see it.
pub(crate) struct Run {
    /// What stops it.
    pub(crate) stop: Option<Stop>,
    pub(crate) units: Units,
    pub(crate) currency: Currency,
    /// The shops of the head.
    pub(crate) shops: Vec<Arc<Shop>>,
    pub(crate) calendar: Calendar,
    pub(crate) start: Day,
    pub(crate) today: Day,
    pub(crate) notes: super::convert::Notes,
    /// Steps taken by the parts of this block that are done, when it is calculated in parts.
    pub(crate) taken: AtomicU64,
    /// Steps taken so far.
    pub(crate) last: AtomicU64,
    /// The same with the steps of functions that lists call.
    pub(crate) all: AtomicU64,
    /// Functions of the trade called so far.
    pub(crate) called: AtomicU64,
    /// What really happened, once that was read.
    pub(crate) known: Known,
    /// The different words of the text being read, when they are counted.
    pub(crate) words: Words,
    pub(crate) state: Mutex<State>,
}

/// The different words of a text, counted while it is read.
#[derive(Default)]
pub(crate) struct Words {
    /// How many there may be; zero while they are not counted.
    most: AtomicUsize,
    met: Mutex<HashSet<String, RandomState>>,
}

impl Words {
    pub(crate) fn begin(&self, most: usize) {
        self.most.store(most, Relaxed);
    }

    pub(crate) fn end(&self) {
        self.most.store(0, Relaxed);
        *self.met.lock().unwrap_or_else(PoisonError::into_inner) = HashSet::default();
    }

    /// Whether a word met now is one of those met before, or one more may be.
    pub(crate) fn has_room_for(&self, word: &str) -> bool {
        let most = self.most.load(Relaxed);
        if most == 0 {
            return true;
        }
        let mut met = self.met.lock().unwrap_or_else(PoisonError::into_inner);
        met.contains(word) || (met.len() < most && met.insert(word.to_owned()))
    }
}

/// What changes while a plan is calculated.
#[derive(Default)]
pub(crate) struct State {
    pub(crate) record: Record,
    /// The block being calculated; none while asks are.
    pub(crate) block: Option<usize>,
    pub(crate) shop: Option<String>,
    /// The givens and conditions found in the block's text.
    pub(crate) calls: Arc<crate::syntax::calls::Calls>,
    /// The document offset of an offset in the block.
    pub(crate) offsets: Vec<(usize, usize)>,
    /// Names finished blocks gave, for functions, which see no others.
    pub(crate) names: std::collections::HashMap<String, rhai::Dynamic>,
    /// The document line a block's line 1 stands on.
    pub(crate) line: usize,
}

impl Run {
    /// Does something to the record of the block being calculated; refuses while asks are answered.
    pub(crate) fn state<T>(
        &self,
        statement: &str,
        act: impl FnOnce(&mut State, usize) -> Result<T, Message>,
    ) -> Result<T, Message> {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        match state.block {
            Some(block) => act(&mut state, block),
            None => Err(Message::new(
                format!("`{statement}` states something, and this place only asks"),
                format!("move `{statement}` into a block of workings and ask here for what it gives"),
            )),
        }
    }

    /// Why to stop.
    pub(crate) fn is_stopped(&self, moment: Moment) -> Option<Message> {
        let why = self.stop.as_ref()?(moment)?;
        let next = match moment {
            Moment::Begins | Moment::Reads => "cut the plan into two",
            Moment::Step(_) | Moment::Long => "look for a loop that never ends, or a list that keeps growing",
        };
        Some(Message::new(why, next))
    }

    /// A function of the trade is called, which may take as long as hundreds of steps. Why to stop, asked for one call in four,
    /// and for every one that looks for the best of many ways.
    pub(crate) fn calls(&self, function: &str) -> Option<Message> {
        let called = self.called.load(Relaxed) + 1;
        self.called.store(called, Relaxed);
        if called.is_multiple_of(4) || matches!(function, "nest" | "cut_list") {
            self.is_stopped(Moment::Long)
        } else {
            None
        }
    }

    /// A part of a block is done, and the next goes on counting where it ended.
    pub(crate) fn go_on(&self) {
        self.taken.store(self.last.load(Relaxed), Relaxed);
    }

    /// Counts from zero: a block or an ask begins.
    ///
    /// # Errors
    /// When the plan has had its time.
    pub(crate) fn begin(&self) -> Result<(), Message> {
        for count in [&self.taken, &self.last, &self.all, &self.called] {
            count.store(0, Relaxed);
        }
        self.is_stopped(Moment::Begins).map_or(Ok(()), Err)
    }

    /// Reads what belongs to this evaluation.
    pub(crate) fn read<T>(&self, look: impl FnOnce(&State) -> T) -> T {
        look(&self.state.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// A step as a value a plan can ask.
#[derive(Debug)]
pub(crate) struct StepValue(pub(crate) Step);

impl crate::Trade for StepValue {
    fn kind(&self) -> &'static str {
        "a step"
    }
    fn summary(&self) -> Vec<Value> {
        if self.0.start == self.0.end {
            vec![Value::Text(format!("{}, {}", self.0.what, self.0.end.brief()))]
        } else {
            vec![Value::Text(format!("{}, {} to {}", self.0.what, self.0.start.brief(), self.0.end.brief()))]
        }
    }
    fn parts(&self) -> &'static [(&'static str, &'static str)] {
        &[
            ("start", "The first day of it."),
            ("end", "The last day of it."),
            ("days", "How many working days it takes."),
            ("what", "What is done."),
        ]
    }
    fn part(&self, name: &str) -> Option<Found> {
        Some(match name {
            "start" => Found::stated(self.0.start),
            "end" => Found::by(
                self.0.end,
                "{}, the first on {}",
                [crate::measure::Days::days(f64::from(self.0.days)).into(), self.0.start.into()],
            ),
            "days" => Found::stated(crate::measure::Days::days(f64::from(self.0.days))),
            "what" => Found::stated(self.0.what.as_str()),
            _ => return None,
        })
    }
    fn as_any(&self) -> &dyn std::any::Any {
        self
    }
}

/// The steps another one waits for.
#[derive(Debug)]
pub(crate) struct After(pub(crate) Vec<String>);

impl crate::Trade for After {
    fn kind(&self) -> &'static str {
        "a wait for other steps"
    }
    fn summary(&self) -> Vec<Value> {
        vec![Value::Text(format!("after {}", self.0.join(", ")))]
    }
    fn parts(&self) -> &'static [(&'static str, &'static str)] {
        &[]
    }
    fn part(&self, _: &str) -> Option<Found> {
        None
    }
    fn as_any(&self) -> &dyn std::any::Any {
        self
    }
}
