//! What workings came to, kept together with everything they were worked out from.
//!
//! When one block of a plan changes, the others need not be run again unless they draw on it. What a block or an ask came
//! to is kept beside its compiled text with its [`Ground`]: the setting of the plan, the rate sheets at hand, and which
//! working-out every name it uses came from. Where the ground is the same, so is what stands on it, and it is replayed.
//! Workings that look at what was stated elsewhere, that define functions, that fail, or that run long are never kept.

use std::collections::BTreeMap;
use std::sync::Arc;

use rhai::{AST, Dynamic};

use crate::Found;
use crate::document::Block;
use crate::measure::{Calendar, Currency, Day, Units};
use crate::script::convert::{Notes, is_replayable};
use crate::script::record::{CostLine, Given, GivenPlace, Hung, Record, Rule, Step};

/// Steps a block may have taken to be kept: one that took more may have come near a limit, and is held to it again.
const MOST_STEPS: u64 = 5_000;

/// Names a block may give to be kept.
const MOST_NAMES: usize = 40;

/// What a whole plan is worked out on, besides its text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Setting {
    pub(crate) units: Units,
    pub(crate) currency: Currency,
    pub(crate) calendar: Calendar,
    pub(crate) start: Day,
    pub(crate) today: Day,
    pub(crate) sheets: Arc<BTreeMap<String, String>>,
}

/// The path and the name here of every rate sheet drawn on so far.
pub(crate) type Drawn = Arc<Vec<(String, String)>>;

/// What workings stand on.
#[derive(Clone, Debug)]
pub(crate) struct Ground {
    pub(crate) setting: Arc<Setting>,
    pub(crate) drawn: Drawn,
    /// The shop of their section, which their costs go to.
    pub(crate) shop: Option<String>,
    /// For every name they use, the working-out it came from; nought for a name that is not known above.
    pub(crate) names: Vec<u64>,
    /// The working-out of the last block above that stated steps: it stands on the one before it, and so on to the first.
    pub(crate) steps: u64,
}

impl Ground {
    /// Whether what was worked out on this ground holds on another.
    pub(crate) fn holds_on(&self, other: &Self) -> bool {
        self.names == other.names
            && self.shop == other.shop
            && (Arc::ptr_eq(&self.setting, &other.setting) || self.setting == other.setting)
            && (Arc::ptr_eq(&self.drawn, &other.drawn) || self.drawn == other.drawn)
    }
}

/// A name a block gave: its value for the script and for the page.
#[derive(Clone, Debug)]
pub(crate) struct Gave {
    pub(crate) name: Arc<str>,
    pub(crate) value: Dynamic,
    pub(crate) found: Found,
}

/// What a block of workings came to.
#[derive(Debug)]
pub(crate) struct BlockKept {
    pub(crate) ground: Ground,
    /// The working-out, by which those that draw on it know it again.
    pub(crate) made: u64,
    /// The names it gave, in order.
    pub(crate) gives: Vec<Gave>,
    pub(crate) stated: Stated,
    /// Where its pieces stood in the text, and on which line it began.
    pieces: Vec<(usize, usize)>,
    line: usize,
}

/// What a block stated.
#[derive(Debug)]
pub(crate) struct Stated {
    givens: Vec<Given>,
    rules: Vec<Rule>,
    costs: Vec<CostLine>,
    pub(crate) steps: Vec<Step>,
    hung: Option<Hung>,
    /// Notes it took; most of them are of values without a name, and gone.
    pub(crate) notes: usize,
}

/// How much was stated and noted before a block.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Before {
    givens: usize,
    rules: usize,
    costs: usize,
    steps: usize,
    happened: usize,
    notes: usize,
}

impl Before {
    pub(crate) fn of(record: &Record, notes: &Notes) -> Self {
        Self {
            givens: record.givens.len(),
            rules: record.rules.len(),
            costs: record.costs.len(),
            steps: record.steps.len(),
            happened: record.actuals.count(),
            notes: notes.taken(),
        }
    }

    /// Whether steps were stated since.
    pub(crate) fn has_new_steps(self, record: &Record) -> bool {
        record.steps.len() > self.steps
    }

    /// What was stated since. Nothing when that may not be kept: what really happened changes the whole plan.
    pub(crate) fn since(self, record: &Record, notes: &Notes) -> Option<Stated> {
        if record.actuals.count() > self.happened || !notes.have_room_for(1) {
            return None;
        }
        Some(Stated {
            givens: record.givens.get(self.givens..)?.to_vec(),
            rules: record.rules.get(self.rules..)?.to_vec(),
            costs: record.costs.get(self.costs..)?.to_vec(),
            steps: record.steps.get(self.steps..)?.to_vec(),
            hung: record.hung,
            notes: notes.taken() - self.notes,
        })
    }
}

impl BlockKept {
    /// Keeps what a block came to, when it took so many steps.
    pub(crate) fn of(
        ground: Ground,
        made: u64,
        gives: Vec<Gave>,
        stated: Stated,
        (block, line): (&Block, usize),
        steps: u64,
    ) -> Option<Self> {
        let small = steps <= MOST_STEPS && gives.len() <= MOST_NAMES;
        (small && gives.iter().all(|one| is_replayable(&one.value))).then(|| Self {
            ground,
            made,
            gives,
            stated,
            pieces: block.pieces().to_vec(),
            line,
        })
    }

    /// Whether it holds for a block of the same text that stands on some ground, after what was stated before.
    pub(crate) fn holds(&self, ground: &Ground, block: &Block, record: &Record, notes: &Notes) -> bool {
        let (moved, pieces, stated) = (self.moved(block), block.pieces(), &self.stated);
        self.ground.holds_on(ground)
            // A step is dated by the steps it waits for.
            && (stated.steps.is_empty() || self.ground.steps == ground.steps)
            && self.pieces.len() == pieces.len()
            && self.pieces.iter().zip(pieces).all(|(was, is)| was.0 == is.0 && moved.of(was.1) == is.1)
            && record.has_room_for(stated.givens.len(), stated.rules.len(), stated.costs.len(), stated.steps.len())
            && notes.have_room_for(stated.notes + 1)
    }

    /// States again what the block stated, where it stands now.
    pub(crate) fn state(&self, record: &mut Record, index: usize, block: &Block, line: usize) {
        let moved = self.moved(block);
        let place = |place: &GivenPlace| GivenPlace {
            name: place.name.clone(),
            value: moved.range(&place.value),
            choices: place.choices.iter().map(|one| moved.range(one)).collect(),
        };
        for given in &self.stated.givens {
            record.givens.push(Given { block: index, place: given.place.as_ref().map(place), ..given.clone() });
        }
        let lines = Moved { from: self.line, to: line };
        for rule in &self.stated.rules {
            record.rules.push(Rule { block: index, line: lines.of(rule.line), ..rule.clone() });
        }
        for cost in &self.stated.costs {
            record.costs.push(CostLine { block: index, line: lines.of(cost.line), ..cost.clone() });
        }
        for step in &self.stated.steps {
            record.steps.push(Step { block: index, line: lines.of(step.line), ..step.clone() });
        }
        record.hung = self.stated.hung.or(record.hung);
    }

    fn moved(&self, block: &Block) -> Moved {
        let first = |pieces: &[(usize, usize)]| pieces.first().map_or(0, |(_, at)| *at);
        Moved { from: first(&self.pieces), to: first(block.pieces()) }
    }
}

/// From one place in the text to another.
#[derive(Clone, Copy)]
struct Moved {
    from: usize,
    to: usize,
}

impl Moved {
    fn of(self, at: usize) -> usize {
        (at + self.to).saturating_sub(self.from)
    }

    fn range(self, range: &std::ops::Range<usize>) -> std::ops::Range<usize> {
        self.of(range.start)..self.of(range.end)
    }
}

/// What a rate sheet stands on, besides its text: it states nothing, so neither the plan's start nor its currency matter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct SheetGround {
    pub(crate) path: String,
    pub(crate) units: Units,
    pub(crate) calendar: Calendar,
    pub(crate) today: Day,
}

/// What a rate sheet that draws on no other came to.
#[derive(Debug)]
pub(crate) struct SheetKept {
    pub(crate) ground: SheetGround,
    /// Its names, in order.
    pub(crate) gives: Vec<Gave>,
    /// The same as its functions see them.
    pub(crate) told: Vec<Gave>,
    pub(crate) functions: AST,
    /// Notes it took.
    pub(crate) notes: usize,
}

impl SheetKept {
    /// Keeps what a sheet came to, when it took so many steps.
    pub(crate) fn of(
        ground: SheetGround,
        [gives, told]: [Vec<Gave>; 2],
        functions: AST,
        notes: usize,
        steps: u64,
    ) -> Option<Self> {
        let small = steps <= MOST_STEPS && gives.iter().chain(&told).all(|one| is_replayable(&one.value));
        small.then_some(Self { ground, gives, told, functions, notes })
    }
}

/// What an ask came to.
#[derive(Debug)]
pub(crate) struct AskKept {
    pub(crate) ground: Ground,
    pub(crate) found: Found,
    /// Notes it took.
    pub(crate) notes: usize,
}
