//! What workings cannot do, whatever is written in them.
//!
//! Every row is a block of a plan. It must end in time and within memory, leave a plain message on its block or nothing,
//! and the block after it must still give its value.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests may")]

mod memory;
mod scripts;
mod shipped;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::{Day, Units};
use engine::script::{Moment, Stop};
use engine::{Facts, evaluate};

use self::scripts::{Ends, Script};

/// How long a block and a plan may take: those of the notebook server.
const BLOCK: Duration = Duration::from_millis(120);
const PLAN: Duration = Duration::from_millis(200);
const REST: Duration = if cfg!(debug_assertions) { TIME } else { Duration::from_millis(100) };
/// When the calculation is stopped for memory: that of the notebook server.
const STOP_AT: usize = 24 << 20;
/// What an evaluation may take at most, with what comes between two looks of the stop.
const MOST: usize = 64 << 20;
/// How long a whole evaluation may take. Without optimisation all is many times slower.
const TIME: Duration = if cfg!(debug_assertions) { Duration::from_millis(2500) } else { Duration::from_millis(300) };

/// Ends a block that takes too long or too much memory, as the server does.
fn stop() -> Stop {
    stop_within(BLOCK, PLAN)
}

fn stop_within(block_limit: Duration, plan: Duration) -> Stop {
    let (began, first) = (Instant::now(), memory::live());
    let block = std::sync::Mutex::new(Duration::ZERO);
    Arc::new(move |moment| {
        if matches!(moment, Moment::Step(steps) if !steps.is_multiple_of(32)) {
            return None;
        }
        let now = began.elapsed();
        if moment == Moment::Begins {
            *block.lock().unwrap() = now;
            return (now > plan + REST).then_some("this plan takes too long, and nothing below is calculated");
        }
        if memory::live().saturating_sub(first) > STOP_AT {
            return Some("these workings take more than 24 MB of memory");
        }
        let spent = now.saturating_sub(*block.lock().unwrap());
        (spent > block_limit || (now > plan && (moment == Moment::Reads || spent > Duration::from_millis(2))))
            .then_some("these workings take too long")
    })
}

/// The outcome of one row.
struct Outcome {
    problems: Vec<String>,
    after: Option<String>,
    took: Duration,
    most: usize,
}

fn run(script: &str, sheets: &[(&str, &str)]) -> Outcome {
    run_within(script, sheets, BLOCK, PLAN)
}

fn run_within(script: &str, sheets: &[(&str, &str)], block: Duration, plan: Duration) -> Outcome {
    let text = format!("# A plan\n\n```workings\n{script}\n```\n\n```workings\nlet after = 7.inch;\n```\n");
    calculate(text, sheets, block, plan)
}

fn calculate(text: String, sheets: &[(&str, &str)], block: Duration, plan: Duration) -> Outcome {
    calculate_until(text, sheets, move || stop_within(block, plan))
}

/// Calculates a plan until what is made at its start says to stop.
fn calculate_until(text: String, sheets: &[(&str, &str)], stop: impl FnOnce() -> Stop + Send + 'static) -> Outcome {
    let sheets: BTreeMap<String, String> =
        sheets.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())).collect();
    let work = move || {
        let facts = Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-05-11").unwrap()) };
        memory::begin();
        let began = Instant::now();
        let document = Document::read(&text);
        let plan = evaluate(&document, &facts, &Arc::new(Compiled::default()), Some(stop()));
        let after = plan.names.get("after").map(|found| found.value.shown(Units::Inch).replace('\u{a0}', " "));
        let problems = plan.problems.iter().map(ToString::to_string).collect();
        drop(plan);
        let took = began.elapsed();
        Outcome { problems, after, took, most: memory::most() }
    };
    // What a thread has that nobody gave more; the server's have eight times as much.
    std::thread::Builder::new().stack_size(2 << 20).spawn(work).unwrap().join().expect("no panic")
}

/// Words of the language behind the workings that no one should have to read.
const FOREIGN: &[&str] = &[
    "rhai",
    "i64",
    "f64",
    "dynamic",
    "fnptr",
    "&str",
    "immutablestring",
    "string",
    "variant",
    "evalaltresult",
    "closure",
    "overflow",
    "token",
    "operations",
    "syntax",
    "function not found",
    "script",
    "identifier",
    "engine",
    "array",
    " map",
    "blob",
    "runtime",
    "variable",
    "parameter",
    "unexpected",
    "data type",
    "invalid",
    "module",
    "property",
    "pointer",
    "callback",
    "charset",
    "lexer",
    "parse",
];

fn check(script: &Script) -> Result<(Duration, usize), String> {
    told(script, run(&script.text, scripts::SHEETS), script.ends)
}

/// Whether it ended as it should, and if so in which time and memory.
fn told(script: &Script, outcome: Outcome, ends: Ends) -> Result<(Duration, usize), String> {
    let said = outcome.problems.join("\n");
    let fail = |why: String| Err(format!("{}: {why}\n{said}", script.name));
    if outcome.after.as_deref() != Some("7 in") {
        return fail(format!("the block after it gives {:?}", outcome.after));
    }
    if outcome.took > TIME {
        return fail(format!("took {:?}", outcome.took));
    }
    if outcome.most > MOST {
        return fail(format!("took {} MB", outcome.most >> 20));
    }
    match ends {
        Ends::Refused if outcome.problems.is_empty() => return fail("has no problem".to_owned()),
        Ends::Harmless if !outcome.problems.is_empty() => return fail("has a problem".to_owned()),
        Ends::Refused | Ends::Harmless => {}
    }
    // What stands between back-ticks is the author's own.
    let ours: String = said.split('`').step_by(2).collect::<String>().to_lowercase();
    if let Some(word) = FOREIGN.iter().find(|word| ours.contains(**word)) {
        return fail(format!("says `{word}`"));
    }
    if outcome.problems.iter().any(|one| one.chars().count() > 600) {
        return fail("says too much".to_owned());
    }
    Ok((outcome.took, outcome.most))
}

#[test]
fn there_are_more_than_150_hostile_scripts() {
    let all = scripts::all();
    assert!(all.len() >= 150, "{}", all.len());
    let names: std::collections::BTreeSet<_> = all.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names.len(), all.len(), "each has a name of its own");
}

#[test]
fn no_script_takes_the_plan_down() {
    let (mut slowest, mut largest) = ((Duration::ZERO, String::new()), (0, String::new()));
    let mut failed = Vec::new();
    for script in scripts::all() {
        match check(&script) {
            Ok((took, most)) => {
                slowest = slowest.max((took, script.name.clone()));
                largest = largest.max((most, script.name));
            }
            Err(why) => failed.push(why),
        }
    }
    println!("slowest {slowest:?}, most memory {} kB: {}", largest.0 >> 10, largest.1);
    assert!(failed.is_empty(), "{} failed:\n\n{}", failed.len(), failed.join("\n\n"));
}

#[test]
fn no_script_in_a_rate_sheet_takes_the_plan_down() {
    let mut failed = Vec::new();
    for script in scripts::all() {
        let sheet = format!("+++\nkind = \"rate sheet\"\n+++\n\n```workings\n{}\n```\n", script.text);
        let mut sheets = scripts::SHEETS.to_vec();
        sheets.push(("shops/hostile", &sheet));
        // A rate sheet may not state what a plan may, nor may it leave a name to be found further down.
        let outcome = run("import \"shops/hostile\" as hostile;", &sheets);
        let ends = if outcome.problems.is_empty() { Ends::Harmless } else { Ends::Refused };
        failed.extend(told(&script, outcome, ends).err());
    }
    assert!(failed.is_empty(), "{} failed:\n\n{}", failed.len(), failed.join("\n\n"));
}

#[test]
fn no_long_ask_takes_the_plan_down() {
    let listed = |count: usize, by: &str| (0..count).map(|n| format!("n{n}")).collect::<Vec<_>>().join(by);
    let asks = [
        (Ends::Refused, format!("|{}| 1", listed(110_000, ","))),
        (Ends::Harmless, format!("|{}| 1", listed(700, ","))),
        (Ends::Refused, format!("max({})", listed(110_000, ","))),
        (Ends::Refused, format!("max({})", listed(700, ","))),
        (Ends::Refused, listed(90_000, " + ")),
        (Ends::Refused, format!("{}1{}", "(".repeat(400_000), ")".repeat(400_000))),
        (Ends::Refused, format!("{}1{}", "[".repeat(1_900), "]".repeat(1_900))),
        (Ends::Refused, format!("#{{{}: 1}}", listed(90_000, ": 1, "))),
        (Ends::Refused, "9".repeat(1_000_000)),
        (Ends::Refused, "a".repeat(1_000_000)),
        (Ends::Refused, "\"".repeat(999_999)),
    ];
    for (ends, ask) in asks {
        let script = Script { name: ask[..20].to_owned(), text: ask, ends };
        let text = format!("```workings\nlet after = 7.inch;\n```\n\nIt is `? {}` or so.\n", script.text);
        let outcome = calculate(text, &[], BLOCK, PLAN);
        told(&script, outcome, script.ends).unwrap_or_else(|why| panic!("{}: {why}", script.name));
    }
}

#[test]
fn no_plan_as_long_as_it_may_be_takes_longer_than_one_script() {
    // So many different names of three letters, over and over.
    let names = |bytes: usize, different: usize| -> String {
        (0..bytes / 4).map(|n| format!("{};", scripts::letters(n % different))).collect()
    };
    let functions = |of: usize| -> String { (0..190).map(|n| format!("fn f{of}_{n}(a,b){{a+b}}")).collect() };
    let lets = |of: usize| -> String { (0..490).map(|n| format!("let {}{of}=1;", scripts::letters(n))).collect() };
    let fenced = |script: String| format!("```workings\n{script}\n```\n\n");
    let asked = |script: String| format!("It is `? |a| {{ {script} }}` or so.\n\n");
    let part: [(&str, &dyn Fn(usize) -> String); 7] = [
        ("blocks of 2 kB", &|n| fenced(format!("{} let z{n} = 1;", names(2_000, 500)))),
        ("blocks of 4 kB", &|n| fenced(format!("{} let z{n} = 1;", names(4_000, 1_000)))),
        ("blocks of 32 kB", &|n| fenced(format!("{} let z{n} = 1;", names(32_700, 990)))),
        ("asks of 4 kB", &|n| asked(format!("{} {n}", names(4_000, 990)))),
        ("asks of 300 bytes", &|n| asked(format!("{} {n}", names(300, 75)))),
        ("functions", &|n| fenced(functions(n))),
        ("names and a function", &|n| fenced(format!("fn g{n}() {{ 1 }} {}", lets(n)))),
    ];
    for (what, part) in part {
        let mut text = String::new();
        let mut parts = (0..).map(part);
        while text.len() < 1_000_000 {
            text.extend(parts.next());
        }
        let outcome = calculate(text, &[], BLOCK, PLAN);
        println!("{what}: {:?}, {} MB, {} problems", outcome.took, outcome.most >> 20, outcome.problems.len());
        assert!(
            !outcome.problems.is_empty() && outcome.took < TIME && outcome.most < MOST,
            "{what}: {:?}",
            outcome.took
        );
    }
}

#[test]
fn thousands_of_asks_have_the_time_of_one_plan_together() {
    let asks: String = (0..3_000).map(|n| format!("`? {n} * 2.inch`\n\n")).collect();
    let text = format!("# A plan\n\n```workings\nlet after = 7.inch;\n```\n\n{asks}");
    // A clock that goes on by one with every block and ask, so that no computer is too fast or too slow for it.
    let outcome = calculate_until(text, &[], || {
        let begun = std::sync::atomic::AtomicUsize::new(0);
        Arc::new(move |moment| {
            let is_late = moment == Moment::Begins && begun.fetch_add(1, std::sync::atomic::Ordering::Relaxed) > 500;
            is_late.then_some("this plan takes too long, and nothing below is calculated")
        })
    });
    let said = outcome.problems.join("\n");
    assert_eq!(
        said.matches("this plan takes too long, and nothing below is calculated; cut the plan into two").count(),
        1,
        "{said}"
    );
    assert_eq!(outcome.problems.len(), 1, "{said}");
    assert_eq!(outcome.after.as_deref(), Some("7 in"));
}

#[test]
fn the_steps_of_a_comparison_are_counted_without_a_clock() {
    let hour = Duration::from_secs(3600);
    let script =
        "let x = []; for i in 0..900 { x.push(900 - i); } x.sort(|a, b| { for i in 0..900 { let y = i; } a - b });";
    let outcome = run_within(script, &[], hour, hour);
    assert!(outcome.problems.join(" ").contains("more than a million steps"), "{:?}", outcome.problems);
    assert_eq!(outcome.after.as_deref(), Some("7 in"));
    // What people sort takes a small part of it.
    let script = "let x = []; for i in 0..1000 { x.push(1000 - i); } x.sort(|a, b| a - b);";
    assert_eq!(run_within(script, &[], hour, hour).problems, Vec::<String>::new());
}

#[test]
fn steps_that_end_in_the_year_9999_are_dated_as_soon_as_others() {
    let steps: String = (0..990).map(|n| format!("step(\"{n}\", 1.day);\n")).collect();
    let script = format!("{steps}step(\"last\", 1.day, date(\"9999-06-01\"));");
    let hour = Duration::from_secs(3600);
    let outcome = run_within(&script, &[], hour, hour);
    assert!(outcome.took < TIME, "{:?}", outcome.took);
    assert_eq!(outcome.problems, Vec::<String>::new());
}

#[test]
fn memory_is_counted() {
    memory::begin();
    drop(vec![1_u8; 70 << 20]);
    assert!(memory::most() >= 70 << 20 && memory::most() > MOST);
    assert!(memory::live() < 1 << 20);
}

#[test]
fn a_plan_that_piles_up_memory_is_stopped() {
    // Mouldings with long names, in lists within the limits, under one name after another.
    let fill = "let base = [];\nbase.pad(900, 1);\nlet name = s.upper() + s.lower();";
    let lists: String =
        (0..30).map(|n| format!("let l{n} = base.map(|x| moulding(name, 1.inch, 1.inch));\n")).collect();
    let hour = Duration::from_secs(3600);
    let script = format!("let s = \"a\"; for i in 0..10 {{ s += s; }}\n{fill}\n{lists}");
    let outcome = run_within(&script, &[], hour, hour);
    let said = outcome.problems.join(" ");
    assert!(outcome.most > STOP_AT && outcome.most < MOST, "{} MB; {said}", outcome.most >> 20);
    assert!(said.contains("24 MB of memory"), "{said}");
    assert_eq!(outcome.after.as_deref(), Some("7 in"));
}

#[test]
fn a_block_calculated_in_parts_has_the_steps_of_one() {
    // Each name is one a function uses, so each begins a part; all of them together may not take more than one may.
    let names: String = (0..60).map(|n| format!("let a{n} = slow();\n")).collect();
    let used: String = (0..60).map(|n| format!("a{n}, ")).collect();
    let script =
        format!("fn slow() {{ let n = 0; for i in 0..2000 {{ n += i; }} n }}\nfn all() {{ [{used} 0] }}\n{names}");
    let hour = Duration::from_secs(3600);
    let outcome = run_within(&script, &[], hour, hour);
    assert!(outcome.problems.join(" ").contains("more than 100 000 steps"), "{:?}", outcome.problems);
    assert_eq!(outcome.after.as_deref(), Some("7 in"));
}

#[test]
fn an_ask_is_bound_as_workings_are() {
    for expression in ["let n = 0; while true { n += 1 }", "[1, 2].map(|x| { while true {} })", "given(\"a\", 1)"] {
        let text = format!("`? {expression}` and `? 1 + 1`\n");
        let facts = Facts::on(Day::parse("2026-05-11").unwrap());
        let plan = evaluate(&Document::read(&text), &facts, &Arc::new(Compiled::default()), Some(stop()));
        assert!(plan.answers[0].result.is_err(), "{expression}");
        assert_eq!(plan.answers[1].result.as_ref().unwrap().value.shown(Units::Inch), "2", "{expression}");
    }
}

#[test]
fn a_calculation_without_a_stop_still_ends() {
    // The engine's own limits hold without a clock.
    for script in ["while true {}", "let n = 0; loop { n += 1; }", "fn f(n) { f(n + 1) } f(0);"] {
        let text = format!("```workings\n{script}\n```\n");
        let facts = Facts::on(Day::parse("2026-05-11").unwrap());
        let plan = evaluate(&Document::read(&text), &facts, &Arc::new(Compiled::default()), None);
        assert_eq!(plan.problems.len(), 1, "{script}");
    }
}
