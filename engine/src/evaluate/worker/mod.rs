//! One working-out: blocks from top to bottom, then the asks.

mod names;

use std::cmp::Ordering;
use std::collections::HashMap;
use std::sync::atomic::AtomicU64;
use std::sync::{Arc, Mutex, PoisonError};

use foldhash::fast::RandomState;
use rhai::{AST, Caches, Dynamic, Engine, EvalAltResult};

use super::{Answer, Evaluation, Facts, Outcome};
use crate::document::{Ask, Block, Document, Kind, Problem, prices};
use crate::evaluate::Compiled;
use crate::evaluate::compiled::CompiledBlock;
use crate::evaluate::limits;
use crate::evaluate::runner::Runner;
use crate::evaluate::sheets::Sheets;
use crate::measure::Calendar;
use crate::record::actuals::FirstPass;
use crate::record::{MOST, OpenCost, Record};
use crate::script::convert::Notes;
use crate::script::explain::{self, Explained};
use crate::script::run::{Run, State, Words};
use crate::script::{Stop, sandbox};
use crate::syntax::calls::Calls;
use crate::syntax::trace::Trace;
use crate::trade::edition::Edition;
use crate::trade::price_list::Shop;
use crate::{Found, Message, Thing, Value};

/// Blocks of workings and asks of one plan that are calculated; the longest shipped plan has a tenth of either.
const MOST_BLOCKS: usize = 500;
const MOST_ASKS: usize = 3_000;

/// Names one plan may give.
const MOST_NAMES: usize = 5_000;

/// A plan being calculated.
pub(super) struct Worker<'a> {
    pub(super) document: &'a Document,
    pub(super) compiled: &'a Compiled,
    pub(super) run: Arc<Run>,
    pub(super) sheets: Sheets,
    engine: Engine,
    /// The names given so far with their values.
    values: HashMap<Arc<str>, Dynamic, RandomState>,
    /// Sees of the names so far just those a block or ask uses, so that looking one up costs no more in a long plan than in a
    /// short one.
    runner: Runner,
    /// Whether functions were met, from which on names are passed to them.
    has_functions: bool,
    /// Whether functions, of the plan or of its rate sheets, are let see names.
    functions_see: bool,
    /// Why nothing more of the plan is calculated, once that is so.
    over: Option<Problem>,
    /// Names that were set twice so far.
    twice: usize,
    pub(super) out: Evaluation,
}

impl<'a> Worker<'a> {
    pub(super) fn new(
        document: &'a Document,
        facts: &Facts,
        compiled: &'a Arc<Compiled>,
        stop: Option<Stop>,
        first: FirstPass,
    ) -> Self {
        let front = &document.front;
        let units = facts.units.unwrap_or(front.units);
        let run = Arc::new(Run {
            stop,
            units,
            currency: front.currency,
            shops: shops(document, facts, compiled),
            calendar: Calendar::new(front.holidays.iter().copied()),
            start: front.start.unwrap_or(facts.today),
            today: facts.today,
            notes: Notes::default(),
            taken: AtomicU64::new(0),
            last: AtomicU64::new(0),
            all: AtomicU64::new(0),
            called: AtomicU64::new(0),
            known: first,
            words: Words::default(),
            state: Mutex::default(),
        });
        let sheets = Sheets {
            texts: facts.sheets.clone(),
            compiled: compiled.clone(),
            run: run.clone(),
            open: Arc::default(),
            read: Arc::default(),
        };
        let mut engine = sandbox::engine(run.clone());
        engine.set_module_resolver(sheets.clone());
        let mut problems = document.problems.clone();
        if front.kind == Kind::RateSheet {
            problems.extend(prices::table(document).into_iter().flat_map(|table| prices::lines(document, &table).1));
        }
        let edition = (front.edition > 0).then(|| Edition::new(front.edition, front.proofs, &facts.ledger));
        let edition = edition.and_then(|edition| {
            edition
                .map(|edition| edition.with(front.besides))
                .map_err(|message| problems.push(document.problem_at(0, message.what, message.next)))
                .ok()
        });
        // As many as most plans give.
        let names = document.blocks.len() * 5;
        let out = Evaluation {
            units,
            today: facts.today,
            blocks: Vec::with_capacity(document.blocks.len()),
            answers: Vec::with_capacity(document.asks.len()),
            record: Record::default(),
            edition: edition.clone(),
            quotes: Vec::new(),
            problems,
            doubts: Vec::new(),
            names: HashMap::with_capacity_and_hasher(names, RandomState::default()),
            sources: HashMap::with_capacity_and_hasher(names, RandomState::default()),
        };
        let mut worker = Self {
            document,
            compiled,
            runner: Runner::new(run.clone(), None),
            run,
            sheets,
            engine,
            values: HashMap::with_capacity_and_hasher(names, RandomState::default()),
            has_functions: false,
            functions_see: false,
            over: None,
            twice: 0,
            out,
        };
        if let Some(edition) = edition {
            let found = Found::stated(Thing::new(edition));
            worker.settle("edition".into(), Dynamic::from(found.clone()), found);
        }
        worker
    }

    pub(super) fn work(mut self) -> Evaluation {
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
        for (index, ask) in self.document.asks.iter().enumerate() {
            // Said once, at the first that is too many.
            let is_told = self.over.is_some();
            if index == MOST_ASKS && !is_told {
                self.over = Some(self.too_many(ask.at));
            }
            let answer = match &self.over {
                Some(over) if index >= MOST_ASKS => Answer { result: Err(over.clone()), trace: None },
                _ => self.ask(ask),
            };
            if !is_told && let Err(problem) = &answer.result {
                self.out.problems.push(problem.clone());
            }
            self.out.answers.push(answer);
        }
        self.out.record = std::mem::take(&mut self.run.state.lock().unwrap_or_else(PoisonError::into_inner).record);
        self.out.record.reckon_spare_days(&self.run.calendar);
        for (line, message) in self.out.record.actuals.astray(&self.out.record) {
            let problem = self.problem(self.document.lines.start(line), message);
            self.out.problems.push(problem);
        }
        self.out.quotes = self.quotes();
        self.out.doubts = self.doubts();
        if self.document.front.hung.is_none() {
            let limits = limits::rules(self.document, &self.out);
            self.out.record.rules.extend(limits);
        }
        self.out.problems.sort_by_key(|problem| (problem.line, problem.column));
        self.out
    }

    fn too_many(&self, at: usize) -> Problem {
        self.document.problem_at(
            at,
            format!("at most {MOST_BLOCKS} blocks of workings and {MOST_ASKS} asks of one plan are calculated"),
            "cut it into two plans",
        )
    }

    /// Begins a block or an ask. Where the plan has had its time, that is the last thing said of it.
    fn begin(&mut self, at: usize) -> Result<(), Problem> {
        if let Some(over) = &self.over {
            return Err(over.clone());
        }
        self.run.begin().map_err(|message| {
            let over = self.problem(at, message);
            self.over = Some(over.clone());
            over
        })
    }

    fn block(&mut self, index: usize, block: &Block) -> Outcome {
        let is_told = self.over.is_some();
        if let Err(over) = self.begin(block.range.start) {
            return Outcome::nothing(if is_told { Vec::new() } else { vec![over] });
        }
        let compiled = match block.fits().and_then(|()| self.compiled.block(&self.engine, &block.text)) {
            Ok(compiled) => compiled,
            Err(message) => return Outcome::nothing(vec![self.problem(block.range.start, message)]),
        };
        let shop = block.section.and_then(|at| self.document.sections.get(at)).and_then(|section| section.shop.clone());
        let line = self.document.lines.line(block.place(1, 1));
        let problems = self.set_twice(block, &compiled.calls);
        let text = &compiled.text;
        {
            let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
            state.block = Some(index);
            state.shop = shop;
            state.calls = compiled.calls.clone();
            state.offsets = block.pieces().to_vec();
            state.line = line;
        }
        let gives = Vec::with_capacity(compiled.calls.lets.len());
        let mut outcome = Outcome { gives, problems, compiled: Some(compiled.clone()) };
        let names = self.let_see(&text.uses().all);
        let noted = self.run.notes.count();
        let failed = match text.ast() {
            Err(unread) => Some(unread),
            Ok(ast) => {
                if text.has_functions() || !text.has_nothing_to_import() {
                    self.let_functions_see();
                }
                self.tell_functions(ast);
                let result = self.runner.block(&self.engine, &compiled, ast);
                if result.as_ref().is_err_and(|error| explain::is_stopped(error)) {
                    self.forget(names, &compiled.calls, noted);
                }
                result.err().map(|error| self.explained(&error, &block.text, Some(&compiled)))
            }
        };
        self.keep(names, block, &compiled.calls, &mut outcome);
        self.draw_on(&compiled);
        if let Some(failed) = failed {
            let problem = self.problem(block.place(failed.line, failed.column), failed.message);
            for one in &compiled.calls.lets {
                if !self.out.names.contains_key(&one.name) {
                    self.wait_for(&one.name, problem.line);
                }
            }
            outcome.problems.push(problem);
            self.open_costs(block, &compiled.calls);
        }
        outcome
    }

    /// Lines of cost that a broken block should have given: a sum without them is not the whole.
    fn open_costs(&mut self, block: &Block, calls: &Calls) {
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        let State { record, shop, .. } = &mut *state;
        for call in calls.all().iter().filter(|call| call.function == "cost") {
            let text =
                call.arguments.first().and_then(|range| block.text.get(range.clone())).unwrap_or_default().trim();
            let what = text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text).to_owned();
            let is_there =
                record.costs.iter().any(|line| line.what == what) || record.open.iter().any(|one| one.what == what);
            if !is_there && record.open.len() < MOST {
                let line = self.document.lines.line(block.place(call.place.0, call.place.1));
                record.open.push(OpenCost { what, shop: shop.clone(), line, broken: true });
            }
        }
    }

    /// From the first function on, the names are told to functions, which see no others. Most plans have none.
    fn tell_functions(&mut self, ast: &AST) {
        if self.has_functions || !ast.has_functions() {
            return;
        }
        self.has_functions = true;
        self.let_functions_see();
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        state.names.extend(self.values.iter().map(|(name, value)| (name.to_string(), value.clone())));
    }

    fn let_functions_see(&mut self) {
        if !std::mem::replace(&mut self.functions_see, true) {
            sandbox::let_functions_see(&mut self.engine, self.run.clone());
        }
    }

    /// Why a block or an ask failed. A block draws on its own rate sheets besides those above.
    fn explained(&self, error: &EvalAltResult, text: &str, own: Option<&CompiledBlock>) -> Explained {
        let own = own.into_iter().flat_map(|block| &block.text.uses().imports);
        let above = self.out.blocks.iter().flat_map(Outcome::imports);
        let all: Vec<_> = own.chain(above).collect();
        self.runner.explained(error, text, &|name| self.sheets.has(name, all.iter().copied()))
    }

    /// Rate sheets stay at hand for the blocks and asks below.
    fn draw_on(&mut self, block: &CompiledBlock) {
        if block.text.has_nothing_to_import() {
            return;
        }
        for (path, name) in &block.text.uses().imports {
            let module = self.sheets.read.lock().unwrap_or_else(PoisonError::into_inner).get(path).cloned();
            let Some(module) = module else { continue };
            self.runner.caches = Caches::new();
            for (part, value) in module.iter_var() {
                self.out.names.insert(format!("{name}::{part}").into(), self.run.notes.found(value));
            }
            self.engine.register_static_module(name.as_str(), module);
        }
    }

    fn ask(&mut self, ask: &Ask) -> Answer {
        let mut trace = None;
        let result = self.answer(ask, &mut trace);
        Answer { result, trace }
    }

    fn answer(&mut self, ask: &Ask, trace: &mut Option<Arc<Trace>>) -> Result<Found, Problem> {
        if let Some(found) = self.out.names.get(&*ask.expression) {
            let found = countable(&found.value).map(|()| found.clone());
            return found.map_err(|message| self.problem(ask.at, message));
        }
        self.begin(ask.at)?;
        let compiled = ask.fits().and_then(|()| self.compiled.ask(&self.engine, &ask.expression));
        let compiled = compiled.map_err(|message| self.problem(ask.at, message))?;
        trace.clone_from(&compiled.trace);
        let value = compiled.text.ast().and_then(|own| {
            self.tell_functions(own);
            self.let_see(&compiled.text.uses().all);
            self.runner.ask(&self.engine, own).map_err(|error| self.explained(&error, &ask.expression, None))
        });
        let found = value.and_then(|value| {
            let found = self.run.notes.found(&value);
            countable(&found.value).map_err(Explained::first)?;
            Ok(found)
        });
        found.map_err(|failed| {
            let within = ask.expression.char_indices().nth(failed.column.saturating_sub(1)).map_or(0, |(at, _)| at);
            self.problem(ask.at + if failed.line <= 1 { within } else { 0 }, failed.message)
        })
    }

    fn problem(&self, at: usize, message: Message) -> Problem {
        self.document.problem_at(at, message.what, message.next)
    }
}

/// The shops of the head with their price lists. One without a rate sheet is known by its name alone.
fn shops(document: &Document, facts: &Facts, compiled: &Compiled) -> Vec<Arc<Shop>> {
    let shop = |(role, sheet): &(String, String)| {
        let read = facts.sheets.get(sheet).map(|text| compiled.sheet(text));
        let title = read.as_ref().and_then(|read| read.front.title.clone());
        let name = title.or_else(|| (!sheet.is_empty()).then(|| sheet.clone()));
        let table = read.as_ref().and_then(|read| prices::table(read).map(|table| prices::lines(read, &table).0));
        Arc::new(Shop { role: role.clone(), name, lines: table.unwrap_or_default() })
    };
    document.front.shops.iter().map(shop).collect()
}

/// A value, when it is not a number that cannot be counted with, as the root of one below zero.
fn countable(value: &Value) -> Result<(), Message> {
    match value {
        Value::Quantity(quantity) if !quantity.value.is_finite() => Err(Message::new(
            "this gives no number one can count with",
            "look for a number with zeros too many, a root or a logarithm of one below zero, or a division by zero",
        )),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::path::Path;

    use super::*;
    use crate::measure::Day;

    /// The shipped documents of a folder, by the path a plan knows them by.
    #[expect(
        clippy::disallowed_methods,
        reason = "a test reads the shipped notebooks; the engine itself reads nothing"
    )]
    fn shipped(folder: &str) -> BTreeMap<String, String> {
        let all = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks").join(folder));
        let all = all.expect("a folder").map(|entry| entry.expect("an entry").path());
        let plans = all.filter(|path| path.extension().is_some_and(|end| end == "md"));
        let named = |path: std::path::PathBuf| {
            let stem = path.file_stem().expect("a name").to_string_lossy().into_owned();
            let name = if folder.is_empty() { stem } else { format!("{folder}/{stem}") };
            (name, std::fs::read_to_string(&path).expect("a text"))
        };
        plans.map(named).collect()
    }

    #[test]
    fn with_a_twentieth_of_every_limit_of_the_language_the_shipped_plans_come_to_the_same() {
        let (plans, sheets) = (shipped(""), shipped("shops"));
        assert!(plans.len() > 4 && sheets.len() > 4, "the notebooks are where they were");
        let today = Day::parse("2026-11-02").expect("a day");
        let facts = Facts { sheets: Arc::new(sheets.clone()), ..Facts::on(today) };
        for (name, text) in plans.iter().chain(&sheets) {
            let document = Document::read(text);
            let worked = |part| {
                let compiled = Arc::default();
                let mut worker = Worker::new(&document, &facts, &compiled, None, FirstPass::default());
                sandbox::limit(&mut worker.engine, part);
                let out = worker.work();
                let mut names: Vec<_> =
                    out.names.iter().map(|(name, found)| format!("{name} {:?}", found.value)).collect();
                names.sort();
                (out.problems, names)
            };
            let (problems, names) = worked(20);
            assert_eq!(problems, Vec::new(), "{name}");
            assert_eq!(names, worked(1).1, "{name}");
            // Were no limit set, this would show it.
            assert_ne!(worked(100).0, Vec::new(), "{name}");
        }
    }
}
