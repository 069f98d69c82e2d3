//! Works a plan out: text and facts in, values and problems out. The same text and facts always give the same.

use std::cmp::Ordering;
use std::collections::hash_map::Entry as Place;
use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::sync::{Arc, Mutex, PoisonError};

use foldhash::fast::RandomState;
use rhai::{AST, Caches, Dynamic, Engine, EvalAltResult, Module, Scope, Shared};

use crate::document::reading::LONGEST_BLOCK;
use crate::document::ticket::reach;
use crate::document::{Ask, Block, Document, Problem};
use crate::measure::{Calendar, Day, Units};
use crate::replay::{AskKept, Before, BlockKept, Drawn, Gave, Ground, Setting};
use crate::script::actuals::Known as Happened;
use crate::script::compiled::CompiledBlock;
use crate::script::convert::Notes;
use crate::script::explain::{self, Explained, Known};
use crate::script::record::{Record, Run};
use crate::script::sheets::Sheets;
use crate::script::trace::{Calls, Trace};
use crate::script::{Compiled, Stop, sandbox};
use crate::trade::edition::{Edition, Entry};
use crate::{Found, Thing, Trouble, Value};

/// Blocks of workings and asks of one plan that are worked out; the longest shipped plan has a tenth of either.
const MOST_BLOCKS: usize = 500;
const MOST_ASKS: usize = 3_000;

/// Everything a plan depends on that is not in its text.
#[derive(Clone, Debug)]
pub struct Facts {
    /// The day it is worked out on.
    pub today: Day,
    /// The texts of the notebook's rate sheets, by the path a plan imports them by.
    pub sheets: Arc<BTreeMap<String, String>>,
    /// What happened to the prints of the edition.
    pub ledger: Vec<Entry>,
    /// Units to show instead of the plan's own.
    pub units: Option<Units>,
}

impl Facts {
    /// The facts of a notebook without rate sheets and of an edition none of which is printed.
    pub fn on(today: Day) -> Self {
        Self { today, sheets: Arc::default(), ledger: Vec::new(), units: None }
    }
}

/// Something of each name.
pub type Names<T> = HashMap<Arc<str>, T, RandomState>;

/// A name and its value.
#[derive(Clone, Debug)]
pub struct Named {
    /// The name.
    pub name: Arc<str>,
    /// Its value, with its working.
    pub found: Found,
}

/// What a block of workings came to.
#[derive(Clone)]
pub struct Outcome {
    /// The names it gave, with values.
    pub gives: Vec<Named>,
    /// What was wrong with it.
    pub problems: Vec<Problem>,
    /// Itself, when it was read at all.
    compiled: Option<Arc<CompiledBlock>>,
}

impl Outcome {
    /// The names it used and did not give itself.
    pub fn reads(&self) -> &[String] {
        self.compiled.as_ref().map_or(&[], |block| &block.text.uses().reads)
    }

    /// Rate sheets it drew on: path and name here.
    pub fn imports(&self) -> &[(String, String)] {
        self.compiled.as_ref().map_or(&[], |block| &block.text.uses().imports)
    }

    /// Of a block that was not worked out.
    fn nothing(problems: Vec<Problem>) -> Self {
        Self { gives: Vec::new(), problems, compiled: None }
    }
}

impl std::fmt::Debug for Outcome {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Outcome")
            .field("reads", &self.reads())
            .field("gives", &self.gives)
            .field("imports", &self.imports())
            .field("problems", &self.problems)
            .finish()
    }
}

/// What an ask came to.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The value, or what is wrong.
    pub result: Result<Found, Problem>,
    /// The expression with its names, when it is more than a name.
    pub trace: Option<Arc<Trace>>,
}

/// The quote of a shop whose rate sheet a plan draws on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quote {
    /// The rate sheet.
    pub sheet: String,
    /// What the shop is called.
    pub shop: String,
    /// What it does for this plan, when the head says so.
    pub role: Option<String>,
    /// The day it was quoted.
    pub quoted: Option<Day>,
    /// The last day its prices hold.
    pub until: Option<Day>,
    /// The plan holds to it, whatever the shop asks since.
    pub held: bool,
    /// What is the matter with it, in words.
    pub matter: Option<String>,
}

/// A plan worked out.
#[derive(Debug)]
pub struct Evaluation {
    /// The units it is shown in.
    pub units: Units,
    /// One for each block.
    pub blocks: Vec<Outcome>,
    /// One for each ask.
    pub answers: Vec<Answer>,
    /// What was stated.
    pub record: Record,
    /// The edition as of the ledger; none when the head gives no number of prints.
    pub edition: Option<Edition>,
    /// The quotes of the rate sheets it draws on.
    pub quotes: Vec<Quote>,
    /// Everything wrong, in the order of the text.
    pub problems: Vec<Problem>,
    /// Every name with its last value.
    pub names: Names<Found>,
    /// Where each name comes from.
    sources: Names<Source>,
}

/// Where a name comes from.
#[derive(Debug)]
struct Source {
    /// The line it is set on.
    line: usize,
    /// The working-out its value comes from; nought before there is one.
    made: u64,
    /// Its right-hand side, as one of a block's names.
    right: Option<(Arc<Calls>, usize)>,
}

/// Works a document out.
///
/// `compiled` keeps workings read before; it changes how fast this is, never what it gives. `stop` may end workings that
/// go on too long.
pub fn evaluate(document: &Document, facts: &Facts, compiled: &Arc<Compiled>, stop: Option<Stop>) -> Evaluation {
    let first = Worker::new(document, facts, compiled, stop.clone(), Happened::default()).work();
    if first.record.actuals.is_empty() {
        return first;
    }
    // What really happened is known from the first line on, wherever it is stated.
    let steps = first.record.steps.iter().map(|step| (step.what.clone(), step.start, step.end)).collect();
    let known = Happened { actuals: first.record.actuals, steps };
    Worker::new(document, facts, compiled, stop, known).work()
}

struct Worker<'a> {
    document: &'a Document,
    compiled: &'a Compiled,
    run: Arc<Run>,
    sheets: Arc<Sheets>,
    engine: Engine,
    scope: Scope<'static>,
    functions: Option<AST>,
    waiting: Vec<(String, usize)>,
    /// Names the functions so far use.
    in_functions: HashSet<String>,
    /// Functions of the language and of the trade already looked up.
    looked_up: Caches,
    /// Whether names are told to functions.
    told: bool,
    /// Whether functions, of the plan or of its rate sheets, are let see names.
    seeing: bool,
    setting: Arc<Setting>,
    drawn: Drawn,
    /// The working-out of the last block that stated steps.
    stepped: u64,
    out: Evaluation,
}

impl<'a> Worker<'a> {
    fn new(
        document: &'a Document,
        facts: &Facts,
        compiled: &'a Arc<Compiled>,
        stop: Option<Stop>,
        happened: Happened,
    ) -> Self {
        let front = &document.front;
        let units = facts.units.unwrap_or(front.units);
        let run = Arc::new(Run {
            units,
            currency: front.currency,
            calendar: Calendar::new(front.holidays.iter().copied()),
            start: front.start.unwrap_or(facts.today),
            today: facts.today,
            notes: Notes::default(),
            taken: AtomicU64::new(0),
            last: AtomicU64::new(0),
            known: happened,
            looked: AtomicBool::new(false),
            state: Mutex::default(),
        });
        let setting = Arc::new(Setting {
            units,
            currency: run.currency,
            calendar: run.calendar.clone(),
            start: run.start,
            today: run.today,
            sheets: facts.sheets.clone(),
        });
        let sheets = Arc::new(Sheets {
            texts: facts.sheets.clone(),
            compiled: compiled.clone(),
            run: run.clone(),
            open: Mutex::default(),
            read: Mutex::default(),
        });
        let mut engine = sandbox::engine(run.clone(), stop);
        engine.set_module_resolver(Shelf(sheets.clone()));
        let mut problems = document.problems.clone();
        let edition = (front.edition > 0).then(|| Edition::new(front.edition, front.proofs, &facts.ledger));
        let edition = edition.and_then(|edition| {
            edition.map_err(|trouble| problems.push(document.problem_at(0, trouble.what, trouble.next))).ok()
        });
        let out = Evaluation {
            units,
            blocks: Vec::with_capacity(document.blocks.len()),
            answers: Vec::with_capacity(document.asks.len()),
            record: Record::default(),
            edition: edition.clone(),
            quotes: Vec::new(),
            problems,
            names: HashMap::default(),
            sources: HashMap::default(),
        };
        let mut worker = Self {
            document,
            compiled,
            run,
            sheets,
            engine,
            scope: Scope::new(),
            functions: None,
            waiting: Vec::new(),
            in_functions: HashSet::new(),
            looked_up: Caches::new(),
            told: false,
            seeing: false,
            setting,
            drawn: Drawn::default(),
            stepped: 0,
            out,
        };
        if let Some(edition) = edition {
            let found = Found::stated(Thing::new(edition));
            worker.settle("edition".into(), Dynamic::from(found.clone()), found);
        }
        worker
    }

    fn work(mut self) -> Evaluation {
        for (index, block) in self.document.blocks.iter().enumerate() {
            let outcome = match index.cmp(&MOST_BLOCKS) {
                Ordering::Less => self.block(index, block),
                Ordering::Equal => Outcome::nothing(vec![self.too_many(block.range.start)]),
                Ordering::Greater => Outcome::nothing(Vec::new()),
            };
            self.out.problems.extend(outcome.problems.iter().cloned());
            self.out.blocks.push(outcome);
        }
        self.run.state.lock().unwrap_or_else(PoisonError::into_inner).block = None;
        // Said once, at the first that is too many.
        let over = self.document.asks.get(MOST_ASKS).map(|ask| self.too_many(ask.at));
        for (index, ask) in self.document.asks.iter().enumerate() {
            let answer = match &over {
                Some(over) if index >= MOST_ASKS => Answer { result: Err(over.clone()), trace: None },
                _ => self.ask(ask),
            };
            if index <= MOST_ASKS
                && let Err(problem) = &answer.result
            {
                self.out.problems.push(problem.clone());
            }
            self.out.answers.push(answer);
        }
        self.out.record = std::mem::take(&mut self.run.state.lock().unwrap_or_else(PoisonError::into_inner).record);
        self.out.record.reckon_spare_days(&self.run.calendar);
        for (line, trouble) in self.out.record.actuals.astray(&self.out.record) {
            let at = self.document.lines.start(line);
            self.out.problems.push(self.document.problem_at(at, trouble.what, trouble.next));
        }
        self.out.quotes = self.quotes();
        if self.document.front.hung.is_none() {
            let limits = reach::rules(self.document, &self.out);
            self.out.record.rules.extend(limits);
        }
        self.out.problems.sort_by_key(|problem| (problem.line, problem.column));
        self.out
    }

    fn too_many(&self, at: usize) -> Problem {
        self.document.problem_at(
            at,
            format!("at most {MOST_BLOCKS} blocks of workings and {MOST_ASKS} asks of one plan are worked out"),
            "cut it into two plans",
        )
    }

    fn block(&mut self, index: usize, block: &Block) -> Outcome {
        if block.text.len() > LONGEST_BLOCK {
            let problem = self.document.problem_at(
                block.range.start,
                format!("these workings are {} kB long, and at most 16 kB are worked out", block.text.len() / 1024),
                "split them into several blocks",
            );
            return Outcome::nothing(vec![problem]);
        }
        let compiled = self.compiled.block(&self.engine, &block.text);
        let shop = block.section.and_then(|at| self.document.sections.get(at)).and_then(|section| section.shop.clone());
        let line = self.document.lines.line(block.place(1, 1));
        let problems = self.set_twice(block, &compiled.calls);
        let text = &compiled.text;
        let may_keep = problems.is_empty() && text.is_met_again() && text.ast.is_ok() && !text.has_functions();
        let may_keep = may_keep && !text.uses().draws_on_any;
        let ground = if may_keep { self.ground(&text.uses().all, shop.clone()) } else { None };
        if let Some(kept) = text.kept.get()
            && ground.as_ref().is_some_and(|ground| self.holds(&kept, ground, block))
        {
            if text.uses().draws {
                self.let_functions_see();
            }
            if self.sheets.read_again(&self.engine, &text.uses().imports) {
                return self.replay(&kept, index, block, line, &compiled);
            }
        }
        let (before, hung) = {
            let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
            state.block = Some(index);
            state.shop = shop;
            state.calls = compiled.calls.clone();
            state.offsets = block.pieces().to_vec();
            state.line = line;
            (Before::of(&state.record, &self.run.notes), state.record.hung.take())
        };
        // Those it says it draws on; it may be led to others.
        let mut drawn: Vec<_> =
            if ground.is_some() { text.uses().imports.iter().map(|(path, _)| path).collect() } else { Vec::new() };
        drawn.retain(|path| !self.sheets.has_read(path));
        drawn.sort();
        drawn.dedup();
        let sheets = self.sheets.count() + drawn.len();
        let gives = Vec::with_capacity(compiled.calls.lets.len());
        let mut outcome = Outcome { gives, problems, compiled: Some(compiled.clone()) };
        self.run.begin();
        self.run.looked.store(false, Relaxed);
        let (names, noted) = (self.scope.len(), self.run.notes.count());
        let failed = match &text.ast {
            Err((kind, place)) => Some(explain::unread(kind, *place)),
            Ok(ast) => {
                if text.has_functions() || !text.has_nothing_to_import() {
                    self.in_functions.extend(text.uses().in_functions.iter().cloned());
                    self.let_functions_see();
                }
                self.tell_functions(ast);
                let result = self.run(ast, &compiled);
                if text.has_functions() {
                    let own = ast.clone_functions_only();
                    self.functions = Some(self.functions.as_ref().map_or(own.clone(), |all| all.merge(&own)));
                }
                if result.as_ref().is_err_and(|error| explain::is_stopped(error)) {
                    self.forget(names, &compiled.calls, noted);
                }
                let known = || self.known();
                result.err().map(|error| explain::failed(&error, &Known { names: &known(), waiting: &self.waiting }))
            }
        };
        let made = self.compiled.make();
        let gives = self.keep(names, (made, ground.is_some()), block, &compiled.calls, &mut outcome);
        self.draw_on(&compiled);
        if let Some(failed) = failed {
            let problem = self.problem(block.place(failed.line, failed.column), failed);
            for one in &compiled.calls.lets {
                if !self.out.names.contains_key(&one.name) {
                    self.waiting.push((one.name.to_string(), problem.line));
                }
            }
            outcome.problems.push(problem);
        }
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        if before.has_new_steps(&state.record) {
            self.stepped = made;
        }
        if let Some(ground) = ground {
            let alone = outcome.problems.is_empty() && !self.run.looked.load(Relaxed) && self.sheets.count() == sheets;
            let stated = before.since(&state.record, &self.run.notes).filter(|_| alone);
            let steps = self.run.last.load(Relaxed);
            compiled
                .text
                .kept
                .set(stated.and_then(|stated| BlockKept::of(ground, made, gives, stated, (block, line), steps)));
        }
        state.record.hung = state.record.hung.or(hung);
        drop(state);
        outcome
    }

    /// What a block or an ask that uses these names stands on; nothing when it must be worked out whatever was before.
    fn ground(&self, uses: &[String], shop: Option<String>) -> Option<Ground> {
        // Functions see names their callers do not show, what happened changes everything, and the ledger is not the plan's.
        if self.told || self.functions.is_some() || !self.run.known.actuals.is_empty() {
            return None;
        }
        let made = |name: &String| match name.as_str() {
            "edition" => None,
            // Rate sheets are the same where all that was drawn on is.
            name if name.contains("::") => Some(0),
            name => Some(self.out.sources.get(name).map_or(0, |source| source.made)),
        };
        let names = uses.iter().map(made).collect::<Option<Vec<_>>>()?;
        let (setting, drawn) = (self.setting.clone(), self.drawn.clone());
        Some(Ground { setting, drawn, shop, names, known: self.scope.len(), steps: self.stepped })
    }

    fn holds(&self, kept: &BlockKept, ground: &Ground, block: &Block) -> bool {
        let state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        kept.holds(ground, block, &state.record, &self.run.notes)
    }

    /// A block that comes to what it came to before.
    fn replay(
        &mut self,
        kept: &BlockKept,
        index: usize,
        block: &Block,
        line: usize,
        compiled: &Arc<CompiledBlock>,
    ) -> Outcome {
        // Those below are compared by what was seen to be the same already.
        self.setting = kept.ground.setting.clone();
        self.drawn = kept.ground.drawn.clone();
        if !kept.stated.steps.is_empty() {
            self.stepped = kept.made;
        }
        let noted = self.run.notes.taken();
        let mut gives = Vec::with_capacity(kept.gives.len());
        for Gave { name, value, found } in &kept.gives {
            let value = self.run.notes.again(value, found);
            let place = compiled.calls.find(name);
            self.source(name, place, kept.made, block, &compiled.calls);
            self.settle(name.clone(), value, found.clone());
            gives.push(Named { name: name.clone(), found: found.clone() });
        }
        self.run.notes.skip_to(noted + kept.stated.notes);
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        kept.state(&mut state.record, index, block, line);
        drop(state);
        self.draw_on(compiled);
        Outcome { gives, problems: Vec::new(), compiled: Some(compiled.clone()) }
    }

    /// Runs a block. Where its functions use names it gives itself, it is run up to each of them in turn, so that a
    /// function sees every name above its call.
    fn run(&mut self, ast: &AST, compiled: &CompiledBlock) -> Result<(), Box<EvalAltResult>> {
        let merged;
        let whole = match &self.functions {
            Some(functions) => {
                merged = functions.merge(ast);
                &merged
            }
            None if !ast.has_functions() => return self.statements(ast).map(|_| ()),
            None => ast,
        };
        if self.in_functions.is_empty() || !compiled.calls.lets.iter().any(|one| self.in_functions.contains(&*one.name))
        {
            return self.engine.run_ast_with_scope(&mut self.scope, whole);
        }
        let before = self.scope.len();
        for part in CompiledBlock::parts(ast, whole, |name| self.in_functions.contains(name)) {
            self.engine.run_ast_with_scope(&mut self.scope, &part)?;
            self.run.go_on();
            let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
            let count = self.scope.len().saturating_sub(before);
            for (name, _, value) in self.scope.iter_raw().take(count) {
                if self.in_functions.contains(name) {
                    state.names.insert(name.to_owned(), value.clone());
                }
            }
        }
        Ok(())
    }

    /// Runs workings where no functions of a plan can be called: what a function's name means was found by the block above.
    fn statements(&mut self, ast: &AST) -> Result<Dynamic, Box<EvalAltResult>> {
        let mut global = self.engine.new_global_runtime_state();
        global.source = ast.source().map(Into::into);
        #[expect(deprecated, reason = "the only way to keep what was looked up from one block to the next")]
        self.engine.eval_statements_raw(&mut global, &mut self.looked_up, &mut self.scope, ast.statements())
    }

    /// A block that had to be stopped gives nothing: what it piled up would stop the blocks below it too.
    fn forget(&mut self, before: usize, calls: &Calls, noted: usize) {
        self.scope.rewind(before);
        self.run.notes.forget(noted);
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        for one in &calls.lets {
            if !self.out.names.contains_key(&one.name) {
                state.names.remove(&*one.name);
            }
        }
    }

    /// Names that already have a value from an earlier line.
    fn set_twice(&mut self, block: &Block, calls: &Calls) -> Vec<Problem> {
        let mut problems = Vec::new();
        for one in &calls.lets {
            let offset = block.offset(one.at);
            let line = self.document.lines.line(offset);
            let first = match self.out.sources.entry(one.name.clone()) {
                _ if &*one.name == "edition" => "the head".to_owned(),
                Place::Occupied(source) => format!("line {}", source.get().line),
                Place::Vacant(place) => {
                    place.insert(Source { line, made: 0, right: None });
                    continue;
                }
            };
            problems.push(self.document.problem_at(
                offset,
                format!("`{}` already has a value, from {first}", one.name),
                "give this one another name, so that every number has one source",
            ));
        }
        problems
    }

    /// What a block gave becomes constant, so that no later block changes it behind the reader's back. Gives it once more
    /// when it is to be replayed.
    fn keep(
        &mut self,
        before: usize,
        (made, again): (u64, bool),
        block: &Block,
        calls: &Arc<Calls>,
        outcome: &mut Outcome,
    ) -> Vec<Gave> {
        let count = self.scope.len().saturating_sub(before);
        let fresh = self.scope.iter_raw().take(count).map(|(name, _, value)| {
            let place = calls.find(name);
            let shared = place.and_then(|place| calls.lets.get(place)).map(|one| one.name.clone());
            (shared.unwrap_or_else(|| name.into()), place, value.flatten_clone())
        });
        let fresh: Vec<_> = fresh.collect();
        self.scope.rewind(before);
        let mut gives = Vec::with_capacity(if again { count } else { 0 });
        for (name, place, value) in fresh.into_iter().rev() {
            let (value, found) = self.run.notes.named(value);
            if let Err(trouble) = countable(&found.value) {
                let at = place.and_then(|place| calls.lets.get(place)).map_or(0, |one| one.at);
                outcome.problems.push(self.document.problem_at(
                    block.offset(at),
                    format!("`{name}`: {}", trouble.what),
                    trouble.next,
                ));
                self.waiting.push((name.to_string(), self.document.lines.line(block.offset(at))));
                continue;
            }
            self.source(&name, place, made, block, calls);
            if again {
                gives.push(Gave { name: name.clone(), value: value.clone(), found: found.clone() });
            }
            self.settle(name.clone(), value, found.clone());
            outcome.gives.push(Named { name, found });
        }
        gives
    }

    /// Where a name a block gave comes from.
    fn source(&mut self, name: &Arc<str>, place: Option<usize>, made: u64, block: &Block, calls: &Arc<Calls>) {
        let at = place.and_then(|place| calls.lets.get(place)).map_or(0, |one| one.at);
        let line = || self.document.lines.line(block.offset(at));
        let source = self.out.sources.entry(name.clone()).or_insert_with(|| Source { line: line(), made, right: None });
        source.made = made;
        // A name set twice keeps a right-hand side that shows something.
        if let Some(place) = place.filter(|place| calls.has_right(*place))
            && (source.right.is_none() || calls.right(place).is_some())
        {
            source.right = Some((calls.clone(), place));
        }
    }

    fn settle(&mut self, name: Arc<str>, value: Dynamic, found: Found) {
        if self.told {
            self.run.state.lock().unwrap_or_else(PoisonError::into_inner).names.insert(name.to_string(), value.clone());
        }
        self.scope.push_constant_dynamic(&*name, value);
        self.out.names.insert(name, found);
    }

    /// From the first function on, the names are told to functions, which see no others. Most plans have none.
    fn tell_functions(&mut self, ast: &AST) {
        if self.told || !ast.has_functions() {
            return;
        }
        self.told = true;
        self.let_functions_see();
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        for (name, _, value) in self.scope.iter_raw() {
            state.names.insert(name.to_owned(), value.clone());
        }
    }

    fn let_functions_see(&mut self) {
        if !std::mem::replace(&mut self.seeing, true) {
            sandbox::let_functions_see(&mut self.engine, self.run.clone());
        }
    }

    /// Rate sheets stay at hand for the blocks and asks below.
    fn draw_on(&mut self, block: &CompiledBlock) {
        if block.text.has_nothing_to_import() {
            return;
        }
        for (path, name) in &block.text.uses().imports {
            let module: Option<Shared<Module>> =
                self.sheets.read.lock().unwrap_or_else(PoisonError::into_inner).get(path).cloned();
            let Some(module) = module else { continue };
            Arc::make_mut(&mut self.drawn).push((path.clone(), name.clone()));
            self.looked_up = Caches::new();
            for (part, value) in module.iter_var() {
                self.out.names.insert(format!("{name}::{part}").into(), self.run.notes.found(value));
            }
            self.engine.register_static_module(name.as_str(), module);
        }
    }

    fn ask(&mut self, ask: &Ask) -> Answer {
        if let Some(found) = self.out.names.get(&*ask.expression) {
            let result = countable(&found.value)
                .map(|()| found.clone())
                .map_err(|trouble| self.problem(ask.at, Explained::first(trouble)));
            return Answer { result, trace: None };
        }
        let compiled = self.compiled.ask(&self.engine, &ask.expression);
        let (text, trace) = (&compiled.text, compiled.trace.clone());
        let may_keep = text.is_met_again() && text.ast.is_ok() && !text.has_functions();
        let ground = if may_keep { self.ground(&text.uses().all, None) } else { None };
        if let (Some(kept), Some(ground)) = (text.kept.get(), &ground)
            && kept.ground.holds_on(ground)
            && self.run.notes.have_room_for(kept.notes + 1)
        {
            self.run.notes.skip_to(self.run.notes.taken() + kept.notes);
            return Answer { result: Ok(kept.found.clone()), trace };
        }
        let (noted, sheets) = (self.run.notes.taken(), self.sheets.count());
        let failed = match &text.ast {
            Err((kind, place)) => Err(explain::unread(kind, *place)),
            Ok(own) => {
                self.tell_functions(own);
                self.run.begin();
                self.run.looked.store(false, Relaxed);
                let before = self.scope.len();
                let result = match &self.functions {
                    Some(functions) => self.engine.eval_ast_with_scope(&mut self.scope, &functions.merge(own)),
                    None if own.has_functions() => self.engine.eval_ast_with_scope(&mut self.scope, own),
                    None => self.statements(own),
                };
                self.scope.rewind(before);
                result.map_err(|error| explain::failed(&error, &Known { names: &self.known(), waiting: &self.waiting }))
            }
        };
        let found = failed.and_then(|value| {
            let found = self.run.notes.found(&value);
            countable(&found.value).map_err(Explained::first)?;
            Ok(found)
        });
        let result = found.map_err(|failed| {
            let within = ask.expression.char_indices().nth(failed.column.saturating_sub(1)).map_or(0, |(at, _)| at);
            self.problem(ask.at + if failed.line <= 1 { within } else { 0 }, failed)
        });
        if let Some(ground) = ground {
            let alone = !self.run.looked.load(Relaxed) && self.sheets.count() == sheets;
            let notes = self.run.notes.taken() - noted;
            let kept = result.as_ref().ok().filter(|_| alone && self.run.notes.have_room_for(1));
            text.kept.set(kept.map(|found| AskKept { ground, found: found.clone(), notes }));
        }
        Answer { result, trace }
    }

    /// The quotes drawn on, with what is the matter with each: run out, running out before the order, or held to a day that
    /// no kept quote has.
    fn quotes(&mut self) -> Vec<Quote> {
        let front = &self.document.front;
        let (today, steps) = (self.run.today, &self.out.record.steps);
        let read = self.sheets.read.lock().unwrap_or_else(PoisonError::into_inner);
        let mut quotes = Vec::new();
        for (sheet, text) in read.keys().filter_map(|sheet| Some((sheet, self.sheets.texts.get(sheet)?))) {
            let compiled = self.compiled.sheet(text);
            let head = &compiled.document.front;
            let role = front.shops.iter().find(|(_, one)| one == sheet).map(|(role, _)| role.clone());
            let wanted = role.as_ref().and_then(|role| front.quotes.iter().find(|(one, _)| one == role));
            let shop = head.title.clone().unwrap_or_else(|| sheet.clone());
            let order =
                steps.iter().filter(|step| step.done.is_none() && step.who == role).map(|step| step.start).min();
            let matter = match (wanted, head.until) {
                (Some((_, day)), _) if head.quoted != Some(*day) => {
                    Some(format!("this plan holds to a quote of {shop} of {day}, and no such quote is kept"))
                }
                (_, Some(_)) if front.hung.is_some() => None,
                (_, Some(until)) if until < today => {
                    Some(format!("the quote of {shop} ran out on {until}: ask for a new one"))
                }
                (_, Some(until)) => order
                    .filter(|order| *order > until)
                    .map(|order| format!("the quote of {shop} runs out on {until}, before {order}, when it is needed")),
                _ => None,
            };
            let (quoted, until, held) = (head.quoted, head.until, wanted.is_some());
            quotes.push(Quote { sheet: sheet.clone(), shop, role, quoted, until, held, matter });
        }
        quotes
    }

    fn known(&self) -> Vec<String> {
        self.scope.iter_raw().map(|(name, ..)| name.to_owned()).collect()
    }

    fn problem(&self, at: usize, failed: Explained) -> Problem {
        self.document.problem_at(at, failed.trouble.what, failed.trouble.next)
    }
}

/// The rate sheets as the engine wants them: shared.
struct Shelf(Arc<Sheets>);

impl rhai::ModuleResolver for Shelf {
    fn resolve(
        &self,
        engine: &Engine,
        source: Option<&str>,
        path: &str,
        place: rhai::Position,
    ) -> Result<Shared<Module>, Box<EvalAltResult>> {
        self.0.resolve(engine, source, path, place)
    }
}

impl Evaluation {
    /// What is written beside a name or an ask: its own working, else its right-hand side with values.
    pub fn working(&self, expression: &str, found: &Found, trace: Option<&Trace>) -> Option<String> {
        let mut out = String::new();
        self.write_working(expression, found, trace, &mut |words| out.push_str(words));
        (!out.is_empty()).then_some(out)
    }

    /// The same, to where it is written; nothing when there is none.
    pub(crate) fn write_working(
        &self,
        expression: &str,
        found: &Found,
        trace: Option<&Trace>,
        out: &mut dyn FnMut(&str),
    ) {
        let own = found.working.as_ref();
        if let Some(working) = own.filter(|working| working.is_told()) {
            return out(&working.shown(self.units));
        }
        let right = || self.sources.get(expression)?.right.as_ref().and_then(|(calls, place)| calls.right(*place));
        let trace = trace.or_else(|| right().map(Arc::as_ref));
        match (trace.and_then(|trace| self.shown(trace)), own) {
            (Some(shown), _) => out(&shown),
            (None, Some(working)) => out(&working.shown(self.units)),
            (None, None) => {}
        }
    }

    /// A trace with the values of its names; nothing when one of them has none that can be written in a line.
    pub fn shown(&self, trace: &Trace) -> Option<String> {
        trace.shown(|path, out| {
            let part;
            let value = match self.names.get(path) {
                Some(found) => &found.value,
                None => {
                    part = self.value_of(path)?.value;
                    &part
                }
            };
            (!matches!(value, Value::Thing(_))).then(|| value.push(out, self.units))
        })
    }

    /// The value of a name, a part of a thing or a part of a list: `frame.weight`, `lab::least_ppi`, `door[0]`.
    pub fn value_of(&self, path: &str) -> Option<Found> {
        if let Some(found) = self.names.get(path) {
            return Some(found.clone());
        }
        let end = path.find(['.', '[']).unwrap_or(path.len());
        let (name, mut rest) = path.split_at_checked(end)?;
        let mut found = self.names.get(name)?.clone();
        while !rest.is_empty() {
            if let Some(inside) = rest.strip_prefix('[') {
                let (index, after) = inside.split_once(']')?;
                let Value::List(all) = &found.value else { return None };
                found = Found::stated(all.get(index.trim().parse::<usize>().ok()?)?.clone());
                rest = after;
            } else {
                let inside = rest.strip_prefix('.')?;
                let (part, after) = inside.split_at_checked(inside.find(['.', '[']).unwrap_or(inside.len()))?;
                found = sandbox::part(&found, part).ok()?;
                rest = after;
            }
        }
        Some(found)
    }

    /// The sum of the costs, of one shop or of all.
    pub fn cost(&self, shop: Option<&str>) -> Option<crate::measure::Money> {
        let mut lines = self.record.costs.iter().filter(|line| shop.is_none() || line.shop.as_deref() == shop);
        let first = lines.next()?.amount;
        lines.try_fold(first, |sum, line| sum.plus(line.amount))
    }

    /// Whether every `must` is kept.
    pub fn keeps_rules(&self) -> bool {
        self.record.rules.iter().all(|rule| rule.kept || !rule.must)
    }
}

/// A value, when it is no number that cannot be counted with, as the root of one below nought.
fn countable(value: &Value) -> Result<(), Trouble> {
    match value {
        Value::Quantity(quantity) if !quantity.value.is_finite() => Err(Trouble::new(
            "this gives no number one can count with",
            "look for a number with noughts too many, a root or a logarithm of one below nought, or a division by nought",
        )),
        _ => Ok(()),
    }
}

/// Values as the words of a machine-readable listing.
impl Value {
    /// A number as JSON number, everything else as text.
    pub fn json(&self, units: Units) -> serde_json::Value {
        match (self, self.number_and_unit(units)) {
            (Self::Truth(truth), _) => serde_json::Value::Bool(*truth),
            (Self::Whole(whole), _) => (*whole).into(),
            (Self::Money(money), _) => money.rounded().amount.to_string().into(),
            (Self::Day(day), _) => day.iso().into(),
            (_, Some((number, _))) => {
                serde_json::Number::from_f64(number).map_or(serde_json::Value::Null, serde_json::Value::Number)
            }
            (other, None) => other.shown(units).into(),
        }
    }
}

/// Works out one expression by itself, as an ask of an empty plan would be.
///
/// # Errors
/// When it cannot be read or worked out.
///
/// ```
/// let found = engine::evaluate::expression("24.inch / 2", None).unwrap();
/// assert_eq!(found.value.shown(engine::measure::Units::Inch), "12\u{a0}in");
/// ```
pub fn expression(expression: &str, stop: Option<Stop>) -> Result<Found, Problem> {
    let mut document = Document::read("");
    document.asks.push(Ask { expression: expression.trim().to_owned(), at: 0, range: 0..0, section: None });
    let nothing = || Problem {
        line: 1,
        column: 1,
        what: "nothing was asked".to_owned(),
        next: "write an expression, like `24.inch / 2`".to_owned(),
    };
    let today = Day::parse("2000-01-01").ok_or_else(nothing)?;
    let evaluation = evaluate(&document, &Facts::on(today), &Arc::default(), stop);
    evaluation.answers.into_iter().next().ok_or_else(nothing)?.result
}
