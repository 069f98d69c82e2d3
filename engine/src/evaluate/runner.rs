//! Blocks of workings run one after the other: those of a plan, or those of a rate sheet it draws on.

use std::collections::{HashMap, HashSet};
use std::sync::{Arc, PoisonError};

use rhai::{AST, Caches, Dynamic, Engine, EvalAltResult, Scope};

use super::compiled::CompiledBlock;
use crate::script::explain::{self, Explained, Known};
use crate::script::run::Run;
use crate::script::sandbox::SEPARATOR;

/// How many names of those nearest above a misspelt one are looked through for it.
const NEAR: usize = 400;

/// What blocks gave to those after them.
pub(super) struct Runner {
    run: Arc<Run>,
    /// The path of the rate sheet they stand in, under which its functions find its names; nothing for a plan.
    sheet: Option<String>,
    /// What the next block or ask sees, and what the last one gave besides.
    pub(super) scope: Scope<'static>,
    /// The functions of the blocks so far.
    pub(super) functions: AST,
    /// Names they use.
    in_functions: HashSet<String>,
    /// Functions of the language and of the trade already looked up.
    pub(super) caches: Caches,
    /// The names of a plan so far, in order.
    pub(super) order: Vec<Arc<str>>,
    /// Those that could not be calculated, with the line of the message.
    pub(super) waiting: HashMap<String, usize>,
}

impl Runner {
    pub(super) fn new(run: Arc<Run>, sheet: Option<&str>) -> Self {
        let mut functions = AST::empty();
        if let Some(path) = sheet {
            functions.set_source(path);
        }
        Self {
            run,
            sheet: sheet.map(str::to_owned),
            scope: Scope::new(),
            functions,
            in_functions: HashSet::new(),
            caches: Caches::new(),
            order: Vec::new(),
            waiting: HashMap::new(),
        }
    }

    /// Runs a block. Where functions use names it gives itself, it is run up to each of them in turn, so that a function
    /// sees every name above its call. Its own functions are known from then on, even where it fails.
    pub(super) fn block(
        &mut self,
        engine: &Engine,
        block: &CompiledBlock,
        ast: &AST,
    ) -> Result<(), Box<EvalAltResult>> {
        if block.text.has_functions() {
            self.in_functions.extend(block.text.uses().in_functions.iter().cloned());
            self.functions = self.functions.merge(&ast.clone_functions_only());
            if let Some(path) = &self.sheet {
                self.functions.set_source(path);
            }
        }
        if self.knows_no_function() {
            return self.statements(engine, ast).map(drop);
        }
        let whole = self.functions.merge(ast);
        let is_seen = |name: &str| self.in_functions.contains(name);
        if self.sheet.is_none() && !block.calls.lets.iter().any(|one| is_seen(&one.name)) {
            return engine.run_ast_with_scope(&mut self.scope, &whole);
        }
        let before = self.scope.len();
        for part in CompiledBlock::parts(ast, &whole, is_seen) {
            engine.run_ast_with_scope(&mut self.scope, &part)?;
            self.run.go_on();
            self.let_functions_see(before);
        }
        Ok(())
    }

    /// The value of an ask.
    pub(super) fn ask(&mut self, engine: &Engine, ast: &AST) -> Result<Dynamic, Box<EvalAltResult>> {
        if self.knows_no_function() && !ast.has_functions() {
            return self.statements(engine, ast);
        }
        engine.eval_ast_with_scope(&mut self.scope, &self.functions.merge(ast))
    }

    fn knows_no_function(&self) -> bool {
        self.sheet.is_none() && !self.functions.has_functions()
    }

    /// Runs workings where no functions of a plan can be called: what a function's name means was found by the block above.
    fn statements(&mut self, engine: &Engine, ast: &AST) -> Result<Dynamic, Box<EvalAltResult>> {
        let mut global = engine.new_global_runtime_state();
        global.source = ast.source().map(Into::into);
        #[expect(deprecated, reason = "the only way to keep what was looked up from one block to the next")]
        engine.eval_statements_raw(&mut global, &mut self.caches, &mut self.scope, ast.statements())
    }

    /// Functions see no names but these: of a plan those they use that the block gave, of a rate sheet all it gave so far.
    fn let_functions_see(&self, before: usize) {
        let mut state = self.run.state.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(path) = &self.sheet {
            let all = self.scope.iter_raw();
            state.names.extend(all.map(|(name, _, value)| (format!("{path}{SEPARATOR}{name}"), value.clone())));
        } else {
            let given = self.scope.iter_raw().take(self.scope.len().saturating_sub(before));
            let seen = given.filter(|(name, ..)| self.in_functions.contains(*name));
            state.names.extend(seen.map(|(name, _, value)| (name.to_owned(), value.clone())));
        }
    }

    /// Why a block or an ask of this text failed; `sheet` knows what a rate sheet of some name has.
    pub(super) fn explained(
        &self,
        error: &EvalAltResult,
        text: &str,
        sheet: &dyn Fn(&str) -> Vec<String>,
    ) -> Explained {
        let own = self.scope.iter_raw().map(|(name, ..)| name);
        let names: Vec<_> = own.chain(self.order.iter().rev().take(NEAR).map(|name| &**name)).collect();
        explain::failed(error, &Known { names: &names, waiting: &self.waiting, text, sheet })
    }
}
