//! Workings and asks once read, kept by their text, so that a change in one block reads just that block again.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{AST, ASTNode, Engine, Expr, ParseErrorType, Position, Stmt};

use super::trace::{Calls, Trace};

/// A block of workings, read.
pub(crate) struct CompiledBlock {
    pub(crate) ast: Result<AST, (ParseErrorType, Position)>,
    /// Its statements and the right-hand sides of its names.
    pub(crate) calls: Arc<Calls>,
    /// The names it uses, as far as its text tells.
    pub(crate) reads: Vec<String>,
    /// The rate sheets it draws on: path and name here.
    pub(crate) imports: Vec<(String, String)>,
    /// Whether it defines functions.
    pub(crate) functions: bool,
}

/// An ask, read.
pub(crate) struct CompiledAsk {
    pub(crate) ast: Result<AST, (ParseErrorType, Position)>,
    /// The expression with its names, for the margin.
    pub(crate) trace: Option<Trace>,
    /// The names it uses.
    pub(crate) reads: Vec<String>,
}

/// Everything read lately. Shared by all evaluations of a notebook; holds text and syntax only, never values.
#[derive(Default)]
pub struct Compiled {
    blocks: Mutex<Kept<CompiledBlock>>,
    asks: Mutex<Kept<CompiledAsk>>,
}

impl std::fmt::Debug for Compiled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Compiled")
    }
}

/// The longest lived half of what was used lately.
struct Kept<T> {
    young: HashMap<String, Arc<T>>,
    old: HashMap<String, Arc<T>>,
}

impl<T> Default for Kept<T> {
    fn default() -> Self {
        Self { young: HashMap::new(), old: HashMap::new() }
    }
}

/// Texts kept before the older half is let go.
const KEPT: usize = 4_000;

impl<T> Kept<T> {
    fn get(&mut self, text: &str) -> Option<Arc<T>> {
        if let Some(found) = self.young.get(text) {
            return Some(found.clone());
        }
        let (text, found) = self.old.remove_entry(text)?;
        self.put(text, found.clone());
        Some(found)
    }

    fn put(&mut self, text: String, found: Arc<T>) {
        if self.young.len() >= KEPT / 2 {
            self.old = std::mem::take(&mut self.young);
        }
        self.young.insert(text, found);
    }
}

impl Compiled {
    pub(crate) fn block(&self, engine: &Engine, text: &str) -> Arc<CompiledBlock> {
        kept(&self.blocks, text, || {
            let ast = engine.compile(text).map_err(|error| (*error.0, error.1));
            let (mut reads, mut imports) = (Vec::new(), Vec::new());
            if let Ok(ast) = &ast {
                walk(ast, &mut reads, &mut imports);
            }
            let functions = ast.as_ref().is_ok_and(AST::has_functions);
            CompiledBlock { ast, calls: Arc::new(Calls::of(text)), reads, imports, functions }
        })
    }

    pub(crate) fn ask(&self, engine: &Engine, text: &str) -> Arc<CompiledAsk> {
        kept(&self.asks, text, || {
            let ast = engine.compile_expression(text).map_err(|error| (*error.0, error.1));
            let mut reads = Vec::new();
            if let Ok(ast) = &ast {
                walk(ast, &mut reads, &mut Vec::new());
            }
            CompiledAsk { ast, trace: Trace::of(text), reads }
        })
    }
}

fn kept<T>(all: &Mutex<Kept<T>>, text: &str, make: impl FnOnce() -> T) -> Arc<T> {
    let lock = || all.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(found) = lock().get(text) {
        return found;
    }
    let made = Arc::new(make());
    lock().put(text.to_owned(), made.clone());
    made
}

/// Names used and rate sheets drawn on. Locals of loops and functions count too: too many names rather than too few.
fn walk(ast: &AST, reads: &mut Vec<String>, imports: &mut Vec<(String, String)>) {
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        match path.last() {
            Some(ASTNode::Expr(Expr::Variable(variable, ..))) => {
                let name = variable.1.as_str();
                if !reads.iter().any(|one| one == name) {
                    reads.push(name.to_owned());
                }
            }
            Some(ASTNode::Stmt(Stmt::Import(import, _))) => {
                if let Expr::StringConstant(path, _) = &import.0 {
                    imports.push((path.to_string(), import.1.name.to_string()));
                }
            }
            _ => {}
        }
        true
    });
}
