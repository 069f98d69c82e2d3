//! A plan of 40 blocks and 80 asks, evaluated and rendered from nothing beside the least its Markdown and its scripts take, and
//! the time from a key press to the page in plans of several sizes.
//!
//! The least is measured in the same run on the same text: the Markdown read and made into HTML, every block and ask compiled,
//! and everything evaluated, by the same libraries with the plainest numbers that know their unit, and functions that do
//! nothing. `cargo bench -p engine --bench evaluation` prints it all, and the same plan as a script of Python.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    clippy::indexing_slicing,
    clippy::disallowed_methods,
    reason = "a bench"
)]

use std::fmt::Write as _;
use std::hint::black_box;
use std::sync::Arc;
use std::time::{Duration, Instant};

use criterion::Criterion;
use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::Day;
use engine::render::html::{View, article};
use engine::{Facts, evaluate};
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage, BasicStringPackage,
    LogicPackage, Package as _,
};
use rhai::{AST, Engine, EvalAltResult, FLOAT, ImmutableString, Module, OptimizationLevel, Scope, Shared};

/// As in the program.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

const BLOCKS: usize = 40;
const PROSE: &str = "The negative is read twice and the better of the two is kept; the lab holds the file until the proof \
                     is back, and nothing large is made before that. The shop is told in writing.";

/// A plan with so many blocks, two asks after each.
fn plan(blocks: usize) -> String {
    let mut text = String::from("+++\ntitle = \"Weir, Low Water\"\nedition = 12\n+++\n\n# Weir, Low Water\n");
    for block in 0..blocks {
        let _ = write!(
            text,
            "\n## Part {block}\n\n{PROSE}\n\n```workings\nlet wide{block} = given(\"Width {block}\", {width}.inch);\n\
             let tall{block} = wide{block} * 24 / 72;\nlet ppi{block} = 7200.px / wide{block};\n\
             let edge{block} = 2 * (wide{block} + tall{block}) + 8 * 0.75.inch;\n\
             must(ppi{block} >= 40.ppi, \"Part {block} stays sharp\");\n```\n\n\
             It is `? tall{block}` high at `? ppi{block}`.\n",
            width = 24 + block
        );
    }
    text
}

/// A number with its unit: the powers of inches and of pixels.
#[derive(Clone, Copy, Debug)]
struct Measured(FLOAT, [i8; 2]);

impl Measured {
    fn same(self, other: Self) -> Result<Self, Box<EvalAltResult>> {
        if self.1 == other.1 { Ok(other) } else { Err("two kinds of numbers".into()) }
    }
}

/// The script engine as it comes, with functions that do nothing.
fn bare() -> Engine {
    let mut functions = Module::new();
    for (unit, powers) in [("inch", [1, 0]), ("px", [0, 1]), ("ppi", [-1, 1])] {
        functions.set_getter_fn(unit, move |value: &mut i64| Ok(Measured(*value as FLOAT, powers)));
        functions.set_getter_fn(unit, move |value: &mut FLOAT| Ok(Measured(*value, powers)));
    }
    functions.set_native_fn("+", |a: Measured, b: Measured| Ok(Measured(a.0 + a.same(b)?.0, a.1)));
    functions.set_native_fn("*", |a: Measured, b: i64| Ok(Measured(a.0 * b as FLOAT, a.1)));
    functions.set_native_fn("*", |a: i64, b: Measured| Ok(Measured(a as FLOAT * b.0, b.1)));
    functions.set_native_fn("/", |a: Measured, b: i64| Ok(Measured(a.0 / b as FLOAT, a.1)));
    functions
        .set_native_fn("/", |a: Measured, b: Measured| Ok(Measured(a.0 / b.0, [a.1[0] - b.1[0], a.1[1] - b.1[1]])));
    functions.set_native_fn(">=", |a: Measured, b: Measured| Ok(a.0 >= a.same(b)?.0));
    functions.set_native_fn("given", |_: ImmutableString, value: Measured| Ok(value));
    functions.set_native_fn("must", |_: bool, _: ImmutableString| Ok(()));
    let mut engine = Engine::new_raw();
    for package in [
        ArithmeticPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicMathPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
        BasicIteratorPackage::new().as_shared_module(),
        BasicArrayPackage::new().as_shared_module(),
        BasicMapPackage::new().as_shared_module(),
        Shared::new(functions),
    ] {
        engine.register_global_module(package);
    }
    engine.set_optimization_level(OptimizationLevel::None);
    engine.set_max_operations(1_000_000);
    engine
}

/// Blocks and asks of a plan, found once.
fn parts(text: &str) -> (Vec<String>, Vec<String>) {
    let mut blocks: Vec<String> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        match (line, inside) {
            ("```workings", _) => {
                inside = true;
                blocks.push(String::new());
            }
            ("```", true) => inside = false,
            (line, true) => blocks.last_mut().unwrap().extend([line, "\n"]),
            _ => {}
        }
    }
    let asks = text.split('`').filter(|part| part.starts_with("? ")).map(|part| part[2..].to_owned()).collect();
    (blocks, asks)
}

fn markdown(text: &str) -> String {
    let mut out = String::with_capacity(text.len() * 3 / 2);
    let options = pulldown_cmark::Options::ENABLE_TABLES | pulldown_cmark::Options::ENABLE_TASKLISTS;
    pulldown_cmark::html::push_html(&mut out, pulldown_cmark::Parser::new_ext(text, options));
    out
}

/// The floor's compiled parts.
struct Floor {
    engine: Engine,
    blocks: Vec<AST>,
    asks: Vec<AST>,
}

impl Floor {
    fn compile(engine: Engine, blocks: &[String], asks: &[String]) -> Self {
        let scope = Scope::new();
        let blocks = blocks.iter().map(|text| engine.compile_with_scope(&scope, text).unwrap()).collect();
        let asks = asks.iter().map(|text| engine.compile_expression_with_scope(&scope, text).unwrap()).collect();
        Self { engine, blocks, asks }
    }

    fn run(&self) -> f64 {
        let mut scope = Scope::new();
        for block in &self.blocks {
            self.engine.run_ast_with_scope(&mut scope, block).unwrap();
        }
        self.asks.iter().map(|ask| self.engine.eval_ast_with_scope::<Measured>(&mut scope, ask).unwrap().0).sum()
    }
}

fn facts() -> Facts {
    Facts::on(Day::parse("2026-11-25").unwrap())
}

fn ours(text: &str, compiled: &Arc<Compiled>) -> usize {
    let document = Document::read(text);
    let evaluation = evaluate(&document, &facts(), compiled, None);
    assert!(evaluation.problems.is_empty(), "{:?}", evaluation.problems.first());
    article(&document, &evaluation, &View::default()).html.len()
}

/// The medians of ours and the floor, taken in turns so that both meet the same machine.
fn in_turns(mut ours: impl FnMut(usize), mut floor: impl FnMut(usize)) -> (Duration, Duration) {
    let (mut our_times, mut floor_times) = (Vec::new(), Vec::new());
    for turn in 0..400 {
        let start = Instant::now();
        ours(turn);
        our_times.push(start.elapsed());
        let start = Instant::now();
        floor(turn);
        floor_times.push(start.elapsed());
    }
    our_times.sort();
    floor_times.sort();
    (our_times[our_times.len() / 2], floor_times[floor_times.len() / 2])
}

fn said(what: &str, (ours, floor): (Duration, Duration)) {
    println!("{what}: {ours:.1?}, floor {floor:.1?}, ratio {:.2}", ours.as_secs_f64() / floor.as_secs_f64());
}

/// Half of so many turns take less.
fn median(turns: usize, mut act: impl FnMut()) -> f64 {
    let mut all: Vec<f64> = (0..turns)
        .map(|_| {
            let start = Instant::now();
            act();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// The same plan as a person would script it, where Python has what that takes.
fn against_python() {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/plan.py");
    let said = std::process::Command::new("/usr/bin/python3").arg(script).arg(BLOCKS.to_string()).output();
    let said = said.ok().filter(|said| said.status.success());
    let Some(theirs) = said.and_then(|said| String::from_utf8(said.stdout).ok()?.trim().parse::<f64>().ok()) else {
        println!("Python was not asked: it needs markdown-it-py and pint (python3-markdown-it, python3-pint)");
        return;
    };
    let text = plan(BLOCKS);
    let own = median(100, || {
        black_box(ours(&text, &Arc::default()));
    });
    println!(
        "the same by markdown-it-py, pint and Python: {theirs:.1} ms, ours {own:.2} ms, {:.0} times",
        theirs / own
    );
}

/// A key press: the whole plan read, evaluated and written as HTML, all but the changed block compiled before. A person notices
/// a frame of 16.7 ms.
fn key_presses() {
    for blocks in [33, 165, 490] {
        let text = plan(blocks);
        let kept = Arc::new(Compiled::default());
        ours(&text, &kept);
        let last = format!("Part {} stays sharp", blocks - 1);
        let mut turn = 0_u32;
        let in_block = median(100, || {
            turn += 1;
            black_box(ours(&text.replace(&last, &format!("Part, {turn}")), &kept));
        });
        let in_prose = median(100, || {
            turn += 1;
            black_box(ours(&text.replacen("The negative", &format!("The {turn} negative"), 1), &kept));
        });
        let kb = text.len() / 1000;
        println!(
            "a key press in a plan of {kb} kB, {blocks} blocks: {in_block:.2} ms in a block, {in_prose:.2} ms in prose"
        );
    }
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../notebooks");
    let text = std::fs::read_to_string(format!("{folder}/causeway-first-light.md")).unwrap();
    let sheets = std::fs::read_dir(format!("{folder}/shops")).unwrap().map(|file| {
        let path = file.unwrap().path();
        (format!("shops/{}", path.file_stem().unwrap().to_str().unwrap()), std::fs::read_to_string(&path).unwrap())
    });
    let facts = Facts { sheets: Arc::new(sheets.collect()), ..facts() };
    let kept = Arc::new(Compiled::default());
    let mut turn = 0_u32;
    let pressed = median(400, || {
        turn += 1;
        let document = Document::read(&format!("{text}\n\nSeen {turn} times.\n"));
        let evaluation = evaluate(&document, &facts, &kept, None);
        assert!(evaluation.problems.is_empty(), "{:?}", evaluation.problems.first());
        black_box(article(&document, &evaluation, &View::default()).html.len());
    });
    let again = median(400, || {
        black_box(evaluate(&Document::read(&text), &facts, &kept, None));
    });
    println!(
        "a key press in the longest shipped plan, with its rate sheets: {pressed:.2} ms; read and evaluated alone: {again:.2} ms"
    );
}

fn main() {
    let text = plan(BLOCKS);
    let (blocks, asks) = parts(&text);
    println!("a plan of {} blocks, {} asks, {} bytes", blocks.len(), asks.len(), text.len());
    let kept = Arc::new(Compiled::default());
    ours(&text, &kept);

    let mut criterion = Criterion::default().configure_from_args();
    criterion.bench_function("whole plan, nothing kept", |b| b.iter(|| ours(black_box(&text), &Arc::default())));
    criterion.bench_function("floor of that: Markdown, compile, evaluate", |b| {
        b.iter(|| (markdown(black_box(&text)), Floor::compile(bare(), &blocks, &asks).run()))
    });
    criterion.bench_function("whole plan, everything kept", |b| b.iter(|| ours(black_box(&text), &kept)));
    criterion.final_summary();

    said(
        "whole plan, nothing kept",
        in_turns(
            |_| {
                black_box(ours(&text, &Arc::default()));
            },
            |_| {
                black_box((markdown(&text), Floor::compile(bare(), &blocks, &asks).run()));
            },
        ),
    );
    key_presses();
    against_python();
}
