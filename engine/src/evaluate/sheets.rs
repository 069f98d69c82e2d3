//! Rate sheets: what `import "shops/…" as lab;` brings into a plan.

use std::collections::{BTreeMap, HashMap};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{AST, Engine, EvalAltResult, Module, ModuleResolver, Position, Scope, Shared};

use super::compiled::Compiled;
use super::runner::Runner;
use crate::Message;
use crate::document::Kind;
use crate::script::explain::{self, Explained, Known};
use crate::script::run::{Run, raise};
use crate::syntax::calls::Calls;
use crate::syntax::nearest::nearest;
use crate::syntax::tokens::functions;

/// Finds rate sheets among the facts and evaluates them as they are asked for. All clones are one.
#[derive(Clone)]
pub(crate) struct Sheets {
    pub(crate) texts: Arc<BTreeMap<String, String>>,
    pub(crate) compiled: Arc<Compiled>,
    pub(crate) run: Arc<Run>,
    /// The sheets being read now, outermost first.
    pub(crate) open: Arc<Mutex<Vec<String>>>,
    /// The sheets read so far.
    pub(crate) read: Arc<Mutex<BTreeMap<String, Shared<Module>>>>,
}

impl ModuleResolver for Sheets {
    fn resolve(
        &self,
        engine: &Engine,
        _: Option<&str>,
        path: &str,
        place: Position,
    ) -> Result<Shared<Module>, Box<EvalAltResult>> {
        let lock = |open: &Mutex<Vec<String>>| open.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some(module) = self.read.lock().unwrap_or_else(PoisonError::into_inner).get(path) {
            return Ok(module.clone());
        }
        let open = lock(&self.open);
        if open.iter().any(|one| one == path) {
            let ring = open.iter().map(String::as_str).chain([path]).collect::<Vec<_>>().join(" → ");
            return Err(at(
                place,
                Message::new(
                    format!("the rate sheets draw on each other in a ring: {ring}"),
                    "take one of these imports out",
                ),
            ));
        }
        if open.len() >= 8 {
            return Err(at(
                place,
                Message::new("rate sheets draw on one another more than 8 deep", "draw on them from the plan itself"),
            ));
        }
        let Some(text) = self.texts.get(path) else {
            let next = nearest(path, self.texts.keys().map(String::as_str)).map_or_else(
                || {
                    if self.texts.is_empty() {
                        "the notebook has no rate sheets yet; write one in its folder `shops`".to_owned()
                    } else {
                        format!("the notebook has {}", self.texts.keys().cloned().collect::<Vec<_>>().join(", "))
                    }
                },
                |near| format!("was `{near}` meant?"),
            );
            return Err(at(place, Message::new(format!("there is no rate sheet `{path}`"), next)));
        };
        self.open.lock().unwrap_or_else(PoisonError::into_inner).push(path.to_owned());
        let paused = self.run.state.lock().unwrap_or_else(PoisonError::into_inner).block.take();
        let taken = self.run.taken.load(Relaxed);
        let result = self.work_out(engine, path, text);
        self.run.taken.store(taken, Relaxed);
        self.run.state.lock().unwrap_or_else(PoisonError::into_inner).block = paused;
        self.open.lock().unwrap_or_else(PoisonError::into_inner).pop();
        let module = Shared::new(result.map_err(|message| at(place, message))?);
        self.read.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_owned(), module.clone());
        Ok(module)
    }
}

impl Sheets {
    /// What the rate sheet drawn on by that name gives and defines, as it is used: `least_ppi`, `priced(wide)`.
    pub(super) fn has<'a>(&self, name: &str, mut imports: impl Iterator<Item = &'a (String, String)>) -> Vec<String> {
        let path = imports.find(|(_, one)| one == name).map(|(path, _)| path);
        let Some(text) = path.and_then(|path| self.texts.get(path)) else { return Vec::new() };
        let mut all = Vec::new();
        for block in &self.compiled.sheet(text).blocks {
            all.extend(Calls::of(&block.text).lets.iter().map(|one| one.name.to_string()));
            all.extend(functions(&block.text).into_iter().map(str::to_owned));
        }
        all
    }

    fn work_out(&self, engine: &Engine, path: &str, text: &str) -> Result<Module, Message> {
        let sheet = self.compiled.sheet(text);
        if sheet.front.kind != Kind::RateSheet {
            return Err(Message::new(
                format!("`{path}` is not a rate sheet"),
                "write `kind = \"rate sheet\"` in its head, or draw on another document",
            ));
        }
        let mut runner = Runner::new(self.run.clone(), Some(path));
        for block in &sheet.blocks {
            let within = |explained: Explained| {
                let (line, column) = sheet.place(block.place(explained.line, explained.column));
                let what = explained.message.what;
                Message::new(
                    format!("the rate sheet `{path}` has a problem on line {line}, column {column}: {what}"),
                    explained.message.next,
                )
            };
            let compiled = block.fits().and_then(|()| self.compiled.block(engine, &block.text));
            let compiled = compiled.map_err(|message| within(Explained::first(message)))?;
            let ast = compiled.text.ast().map_err(within)?;
            self.run.begin()?;
            runner.block(engine, &compiled, ast).map_err(|error| {
                let imports = &compiled.text.uses().imports;
                within(runner.explained(&error, &block.text, &|name| self.has(name, imports.iter())))
            })?;
        }
        let names: Vec<_> = runner.scope.iter_raw().collect();
        let gives = names.iter().rev().map(|(name, _, value)| (*name, self.run.notes.named((*value).clone()).0));
        module(engine, &runner.functions, gives)
    }
}

/// A rate sheet as the engine wants it.
fn module<'a>(
    engine: &Engine,
    functions: &AST,
    gives: impl Iterator<Item = (&'a str, rhai::Dynamic)>,
) -> Result<Module, Message> {
    let mut module = Module::eval_ast_as_new(Scope::new(), functions, engine).map_err(|error| {
        let known = Known { names: &[], waiting: &HashMap::new(), text: "", sheet: &|_| Vec::new() };
        explain::failed(&error, &known).message
    })?;
    for (name, value) in gives {
        module.set_var(name, value);
    }
    module.build_index();
    Ok(module)
}

fn at(place: Position, message: Message) -> Box<EvalAltResult> {
    let mut error = raise(message);
    error.set_position(place);
    error
}
