//! Rate sheets: what `import "shops/…" as lab;` brings into a plan.

use std::collections::{BTreeMap, HashMap};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{AST, Engine, EvalAltResult, Module, ModuleResolver, Position, Scope, Shared};

use super::compiled::{Compiled, CompiledBlock};
use crate::Message;
use crate::document::Kind;
use crate::script::explain::{self, Explained, Known};
use crate::script::run::{Run, raise};
use crate::script::sandbox::SEPARATOR;
use crate::syntax::nearest::nearest;

/// Finds rate sheets among the facts and evaluates them as they are asked for.
pub(crate) struct Sheets {
    pub(crate) texts: Arc<BTreeMap<String, String>>,
    pub(crate) compiled: Arc<Compiled>,
    pub(crate) run: Arc<Run>,
    /// The sheets being read now, outermost first.
    pub(crate) open: Mutex<Vec<String>>,
    /// The sheets read so far.
    pub(crate) read: Mutex<BTreeMap<String, Shared<Module>>>,
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
    fn work_out(&self, engine: &Engine, path: &str, text: &str) -> Result<Module, Message> {
        let sheet = self.compiled.sheet(text);
        if sheet.front.kind != Kind::RateSheet {
            return Err(Message::new(
                format!("`{path}` is not a rate sheet"),
                "write `kind = \"rate sheet\"` in its head, or draw on another document",
            ));
        }
        let mut scope = Scope::new();
        let mut functions = AST::empty();
        let mut in_functions: Vec<String> = Vec::new();
        functions.set_source(path);
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
            let outcome = match &compiled.text.ast {
                Ok(ast) => {
                    functions = functions.merge(&ast.clone_functions_only());
                    functions.set_source(path);
                    let whole = functions.merge(ast);
                    let called: Vec<_> =
                        compiled.text.uses().in_functions.iter().chain(&in_functions).cloned().collect();
                    in_functions = called;
                    let parts = CompiledBlock::parts(ast, &whole, |name| in_functions.iter().any(|one| one == name));
                    let mut result = Ok(());
                    self.run.begin()?;
                    for part in parts {
                        result = engine.run_ast_with_scope(&mut scope, &part);
                        self.run.go_on();
                        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
                        for (name, _, value) in scope.iter_raw() {
                            state.names.insert(format!("{path}{SEPARATOR}{name}"), value.clone());
                        }
                        if result.is_err() {
                            break;
                        }
                    }
                    result.map_err(|error| {
                        let names: Vec<_> = scope.iter_raw().map(|(name, ..)| name).collect();
                        explain::failed(&error, &Known { names: &names, waiting: &HashMap::new() })
                    })
                }
                Err((kind, place)) => Err(explain::unread(kind, *place)),
            };
            outcome.map_err(within)?;
        }
        let names: Vec<_> = scope.iter_raw().collect();
        let gives = names.iter().rev().map(|(name, _, value)| (*name, self.run.notes.named((*value).clone()).0));
        module(engine, &functions, gives)
    }
}

/// A rate sheet as the engine wants it.
fn module<'a>(
    engine: &Engine,
    functions: &AST,
    gives: impl Iterator<Item = (&'a str, rhai::Dynamic)>,
) -> Result<Module, Message> {
    let mut module = Module::eval_ast_as_new(Scope::new(), functions, engine)
        .map_err(|error| explain::failed(&error, &Known { names: &[], waiting: &HashMap::new() }).message)?;
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
