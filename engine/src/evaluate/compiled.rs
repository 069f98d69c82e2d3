//! Workings and asks once read, kept by their text, so that a change in one block reads just that block again.

use std::convert::Infallible;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use rhai::{AST, ASTNode, Engine, Expr, ImmutableString, ParseErrorType, Position, Stmt};

use crate::Message;
use crate::document::Document;
use crate::recent::Recent;
use crate::script::explain::{self, Explained};
use crate::script::sandbox;
use crate::syntax::calls::Calls;
use crate::syntax::trace::Trace;

/// Workings or an ask, read.
pub(crate) struct CompiledText {
    ast: Result<AST, Explained>,
    /// What they use, looked for when it is first asked for.
    uses: OnceLock<Uses>,
}

impl CompiledText {
    fn new(ast: Result<AST, rhai::ParseError>, text: &str) -> Self {
        let unread = |kind: &ParseErrorType, place| explain::unread(kind, place, text);
        let mut ast = ast.map_err(|error| unread(&error.0, error.1));
        let uses = OnceLock::new();
        // What must be known before they are run; other texts can hold none of it.
        let looks = |ast: &AST| {
            ast.has_functions()
                || text.contains("import")
                || text.bytes().filter(|byte| *byte == b',').count() >= VALUES
        };
        if let Ok(read) = &ast
            && looks(read)
        {
            match Uses::of(read) {
                Ok(found) => _ = uses.set(found),
                Err((name, at)) => ast = Err(unread(&ParseErrorType::MalformedCapture(name), at)),
            }
        }
        Self { ast, uses }
    }

    /// What is run; or why they cannot be read.
    pub(crate) fn ast(&self) -> Result<&AST, Explained> {
        self.ast.as_ref().map_err(Clone::clone)
    }

    /// What they use.
    pub(crate) fn uses(&self) -> &Uses {
        self.uses.get_or_init(|| self.ast.as_ref().ok().and_then(|ast| Uses::of(ast).ok()).unwrap_or_default())
    }

    /// Whether they are seen to draw on no rate sheet, without a closer look.
    pub(crate) fn has_nothing_to_import(&self) -> bool {
        self.uses.get().is_none_or(|uses| !uses.draws)
    }

    /// Whether they define functions.
    pub(crate) fn has_functions(&self) -> bool {
        self.ast.as_ref().is_ok_and(AST::has_functions)
    }
}

/// A block of workings, read.
pub(crate) struct CompiledBlock {
    pub(crate) text: CompiledText,
    /// Its statements and the right-hand sides of its names.
    pub(crate) calls: Arc<Calls>,
}

/// An ask, read.
pub(crate) struct CompiledAsk {
    pub(crate) text: CompiledText,
    /// The expression with its names, for the margin.
    pub(crate) trace: Option<Arc<Trace>>,
}

/// Everything read lately. Shared by all evaluations of a notebook.
pub struct Compiled {
    blocks: Mutex<Kept<CompiledBlock>>,
    asks: Mutex<Kept<CompiledAsk>>,
    /// Rate sheets, which every plan of a notebook draws on.
    sheets: Mutex<Kept<Document>>,
}

impl std::fmt::Debug for Compiled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Compiled")
    }
}

/// By text, with a room of one for each.
type Kept<T> = Recent<String, Arc<T>>;

/// Blocks, asks and rate sheets kept in each of two generations: both together are more than the longest plan has.
const BLOCKS: usize = 750;
const ASKS: usize = 2_000;
const SHEETS: usize = 50;

impl Default for Compiled {
    fn default() -> Self {
        Self {
            blocks: Mutex::new(Recent::of(BLOCKS)),
            asks: Mutex::new(Recent::of(ASKS)),
            sheets: Mutex::new(Recent::of(SHEETS)),
        }
    }
}

impl CompiledBlock {
    /// The block in parts, each of which can be calculated before the next: cut after each name that `seen` says a
    /// function uses, so that the function knows it by then. `functions` are all that can be called.
    pub(crate) fn parts(ast: &AST, functions: &AST, seen: impl Fn(&str) -> bool) -> Vec<AST> {
        let mut parts = vec![Vec::new()];
        let mut imports = Vec::new();
        for statement in ast.statements() {
            if let Some(part) = parts.last_mut() {
                part.push(statement.clone());
            }
            match statement {
                // Each part is run by itself and draws on its rate sheets itself.
                Stmt::Import(..) => imports.push(statement.clone()),
                Stmt::Var(x, ..) if seen(&x.0.name) => parts.push(imports.clone()),
                _ => {}
            }
        }
        let part = |statements| {
            let mut part = AST::new(statements, functions.shared_lib().clone());
            if let Some(source) = functions.source() {
                part.set_source(source);
            }
            part
        };
        parts.into_iter().map(part).collect()
    }
}

impl Compiled {
    /// A block of workings, read.
    ///
    /// # Errors
    /// When it is long, was not read before, and the plan has no time or memory left.
    pub(crate) fn block(&self, engine: &Engine, text: &str) -> Result<Arc<CompiledBlock>, Message> {
        kept(&self.blocks, text, || {
            let ast = sandbox::read(engine, text, || engine.compile(text))?;
            let (text, calls) = (CompiledText::new(ast, text), Arc::new(Calls::of(text)));
            Ok(CompiledBlock { text, calls })
        })
    }

    /// A rate sheet, read.
    pub(crate) fn sheet(&self, text: &str) -> Arc<Document> {
        let Ok(sheet) = kept(&self.sheets, text, || Ok::<_, Infallible>(Document::read(text)));
        sheet
    }

    /// An ask, read.
    ///
    /// # Errors
    /// When it is long, was not read before, and the plan has no time or memory left.
    pub(crate) fn ask(&self, engine: &Engine, text: &str) -> Result<Arc<CompiledAsk>, Message> {
        kept(&self.asks, text, || {
            let ast = sandbox::read(engine, text, || engine.compile_expression(text))?;
            Ok(CompiledAsk { text: CompiledText::new(ast, text), trace: Trace::of(text).map(Arc::new) })
        })
    }
}

fn kept<T, E>(all: &Mutex<Kept<T>>, text: &str, make: impl FnOnce() -> Result<T, E>) -> Result<Arc<T>, E> {
    let lock = || all.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(found) = lock().get(text) {
        return Ok(found);
    }
    let made = Arc::new(make()?);
    lock().put(text.to_owned(), made.clone(), 1);
    Ok(made)
}

/// Values one call may give: looking up a function takes twice as long for each of them, before anything is counted.
const VALUES: usize = 12;

/// What a text uses and gives.
#[derive(Default)]
pub(crate) struct Uses {
    /// Names it uses and does not give itself: neither parameters of its functions nor names of its loops.
    pub(crate) reads: Vec<String>,
    /// Names its functions use that are not names of their own.
    pub(crate) in_functions: Vec<String>,
    /// Rate sheets: path and name here.
    pub(crate) imports: Vec<(String, String)>,
    /// Every name it uses outside functions, its own too.
    pub(crate) all: Vec<ImmutableString>,
    /// It may draw on rate sheets.
    pub(crate) draws: bool,
}

impl Uses {
    /// What they are; or the first call that gives too many values.
    fn of(ast: &AST) -> Result<Self, (String, Position)> {
        let mut out = Self::default();
        let top: Vec<&str> = ast
            .statements()
            .iter()
            .filter_map(|statement| if let Stmt::Var(x, ..) = statement { Some(x.0.name.as_str()) } else { None })
            .collect();
        let mut main = NamesUsed::default();
        for statement in ast.statements() {
            statement.walk(&mut Vec::new(), &mut |path| main.see(path));
        }
        if let Some(call) = main.long {
            return Err(call);
        }
        out.imports = std::mem::take(&mut main.imports);
        add(&mut out.reads, main.used.iter().filter(|name| !main.given.contains(name)));
        out.all = main.used;
        out.draws = main.draws;
        for function in ast.iter_functions() {
            let mut alone = ast.clone_functions_only();
            alone.retain_functions(|_, _, name, count| name == function.name && count == function.params.len());
            let mut names = NamesUsed::default();
            alone.walk(&mut |path| names.see(path));
            if let Some(call) = names.long {
                return Err(call);
            }
            let own =
                |name: &ImmutableString| names.given.contains(name) || function.params.iter().any(|one| *one == name);
            let others: Vec<_> = names.used.iter().filter(|name| !own(name)).cloned().collect();
            add(&mut out.in_functions, others.iter());
            add(&mut out.reads, others.iter().filter(|name| !top.contains(&name.as_str())));
            out.imports.extend(names.imports);
        }
        Ok(out)
    }
}

fn add<'a>(all: &mut Vec<String>, names: impl Iterator<Item = &'a ImmutableString>) {
    for name in names {
        if !all.iter().any(|one| *one == **name) {
            all.push(name.to_string());
        }
    }
}

/// Names met on a walk through statements.
#[derive(Default)]
struct NamesUsed {
    used: Vec<ImmutableString>,
    given: Vec<ImmutableString>,
    imports: Vec<(String, String)>,
    draws: bool,
    /// A call that gives too many values.
    long: Option<(String, Position)>,
}

impl NamesUsed {
    fn see(&mut self, path: &[ASTNode<'_>]) -> bool {
        match path.last() {
            Some(
                ASTNode::Expr(Expr::FnCall(call, at) | Expr::MethodCall(call, at))
                | ASTNode::Stmt(Stmt::FnCall(call, at)),
            ) if call.args.len() > VALUES => self.long = Some((call.name.to_string(), *at)),
            Some(ASTNode::Expr(Expr::Variable(variable, ..)))
                if variable.2.is_empty() && self.used.contains(&variable.1) => {}
            Some(ASTNode::Expr(Expr::Variable(variable, ..))) if variable.2.is_empty() => {
                self.used.push(variable.1.clone());
            }
            Some(ASTNode::Expr(Expr::Variable(variable, ..))) => {
                // A name of a rate sheet is known by both: `lab::least_ppi`.
                let name = format!("{}::{}", variable.2, variable.1).into();
                if !self.used.contains(&name) {
                    self.used.push(name);
                }
            }
            Some(ASTNode::Stmt(Stmt::Var(x, ..))) => self.given.push(x.0.name.clone()),
            Some(ASTNode::Stmt(Stmt::For(x, ..))) => {
                self.given.push(x.0.name.clone());
                self.given.extend(x.1.iter().map(|counter| counter.name.clone()));
            }
            Some(ASTNode::Stmt(Stmt::TryCatch(x, ..))) => {
                if let Expr::Variable(caught, ..) = &x.expr {
                    self.given.push(caught.1.clone());
                }
            }
            Some(ASTNode::Stmt(Stmt::Import(import, _))) => {
                self.draws = true;
                if let Expr::StringConstant(path, _) = &import.0 {
                    self.imports.push((path.to_string(), import.1.name.to_string()));
                }
            }
            _ => {}
        }
        self.long.is_none()
    }
}
