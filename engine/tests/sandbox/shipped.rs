//! Honest plans: the shipped ones come nowhere near a limit, and give the same whoever calculates them, and how often.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::Day;
use engine::render::html::{View, article};
use engine::script::{Moment, Stop};
use engine::{Facts, Value, evaluate};

use super::{BLOCK, STOP_AT, memory};

/// The plans, and the rate sheets they draw on.
#[expect(clippy::disallowed_methods, reason = "a test reads the shipped notebooks; the engine itself reads nothing")]
fn shipped() -> (BTreeMap<String, String>, Facts) {
    let read = |folder: &str, before: &str| -> BTreeMap<String, String> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks").join(folder);
        let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        files
            .filter(|path| path.extension().is_some_and(|end| end == "md"))
            .map(|path| {
                let name = path.file_stem().unwrap().to_string_lossy().into_owned();
                (format!("{before}{name}"), std::fs::read_to_string(&path).unwrap())
            })
            .collect()
    };
    let (plans, sheets) = (read("", ""), read("shops", "shops/"));
    assert!(plans.len() > 4 && sheets.len() > 4, "the notebooks are where they were");
    (plans, Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-11-02").unwrap()) })
}

#[test]
fn the_shipped_plans_take_less_than_a_twentieth_of_what_they_may() {
    let (plans, facts) = shipped();
    for (name, text) in plans {
        let most = Arc::new(AtomicU64::new(0));
        let stop: Stop = {
            let most = most.clone();
            Arc::new(move |moment| {
                if let Moment::Step(steps) = moment {
                    most.fetch_max(steps, Ordering::Relaxed);
                }
                None
            })
        };
        let document = Document::read(&text);
        memory::begin();
        let plan = evaluate(&document, &facts, &Arc::default(), Some(stop));
        let (bytes, steps) = (memory::most(), most.load(Ordering::Relaxed));
        // The shortest of a few: the computer does other things too.
        let took = (0..8).map(|_| {
            let began = Instant::now();
            std::hint::black_box(evaluate(&document, &facts, &Arc::default(), None));
            began.elapsed()
        });
        let took = took.min().unwrap();
        println!("{name}: at most {steps} steps in a block, {} kB, {took:?} in all", bytes >> 10);
        assert!(plan.problems.is_empty(), "{name}: {:?}", plan.problems);
        // What a block may take: 100 000 steps, `engine::script::sandbox`.
        assert!(steps > 0 && steps * 20 < 100_000, "{name} takes {steps} steps");
        assert!(bytes * 20 < STOP_AT, "{name} takes {bytes} bytes");
        // Without optimisation time says nothing.
        assert!(cfg!(debug_assertions) || took < BLOCK / 20, "{name} takes {took:?}");
    }
}

/// What a plan is counted by, how much of it there is, and how much there may be (`engine::script`, `engine::evaluate`). How
/// deep workings nest and the like are counted as they run: `engine::evaluate::worker` has a test of its own.
fn counted(document: &Document, plan: &engine::Evaluation) -> [(&'static str, usize, usize); 16] {
    let record = &plan.record;
    let most = |all: &mut dyn Iterator<Item = usize>| all.max().unwrap_or(0);
    let values = || plan.names.values().map(|found| &found.value);
    let texts = values().filter_map(|value| if let Value::Text(text) = value { Some(text.len()) } else { None });
    let lists = values().filter_map(|value| if let Value::List(all) = value { Some(all.len()) } else { None });
    [
        ("bytes", document.text.len(), 1 << 20),
        ("bytes of the head", document.body, 64 << 10),
        ("pieces", document.pieces(), 100_000),
        ("blocks", document.blocks.len(), 500),
        ("bytes of a block", most(&mut document.blocks.iter().map(|block| block.text.len())), 32 << 10),
        ("words of a block", most(&mut document.blocks.iter().map(|block| words(&block.text))), 1_000),
        ("asks", document.asks.len(), 3_000),
        ("bytes of an ask", most(&mut document.asks.iter().map(|ask| ask.expression.len())), 4 << 10),
        ("names", plan.names.len(), 5_000),
        ("names of a block", most(&mut plan.blocks.iter().map(|block| block.gives.len())), 500),
        ("letters of a text", most(&mut texts.into_iter()), 4 << 10),
        ("values of a list", most(&mut lists.into_iter()), 1_000),
        ("givens", record.givens.len(), 1_000),
        ("rules", record.rules.len(), 1_000),
        ("costs", record.costs.len(), 1_000),
        ("steps", record.steps.len(), 1_000),
    ]
}

/// The different words of workings: what stands in quotes or in a remark is none.
fn words(text: &str) -> usize {
    let lines = text.lines().map(|line| line.split("//").next().unwrap_or_default());
    let outside = lines.flat_map(|line| line.split('"').step_by(2));
    let words = outside.flat_map(|part| part.split(|c: char| !c.is_ascii_alphanumeric() && c != '_'));
    words.filter(|word| word.starts_with(|c: char| c.is_ascii_alphabetic())).collect::<BTreeSet<_>>().len()
}

#[test]
fn of_whatever_is_counted_the_shipped_plans_have_less_than_a_twentieth() {
    let (plans, facts) = shipped();
    let mut over = Vec::new();
    for (name, text) in plans {
        let document = Document::read(&text);
        let plan = evaluate(&document, &facts, &Arc::default(), None);
        for (what, count, most) in counted(&document, &plan) {
            println!("{name}: {count} {what} of {most}");
            if count * 20 >= most {
                over.push(format!("{name}: {count} {what} of {most}"));
            }
        }
    }
    assert!(over.is_empty(), "{over:#?}");
}

#[test]
fn a_plan_gives_the_same_a_thousand_times_on_eight_threads() {
    let (plans, facts) = shipped();
    let said = |text: &str, compiled: &Arc<Compiled>| {
        let document = Document::read(text);
        let plan = evaluate(&document, &facts, compiled, None);
        let page = article(&document, &plan, &View::default()).html;
        let mut names: Vec<_> = plan.names.iter().map(|(name, found)| format!("{name} {:?}", found.value)).collect();
        names.sort();
        (page, names)
    };
    let first: Vec<_> = plans.values().map(|text| (text, said(text, &Arc::default()))).collect();
    // One store of compiled and worked-out blocks for all, as the server has it.
    let compiled = Arc::new(Compiled::default());
    let count = AtomicU64::new(0);
    std::thread::scope(|scope| {
        for thread in 0..8 {
            let (first, compiled, said, count) = (&first, &compiled, &said, &count);
            let work = move || {
                for turn in 0..125 {
                    let (text, right) = &first[(thread + turn) % first.len()];
                    assert!(&said(text, compiled) == right, "thread {thread}, turn {turn}: {}", &text[..60]);
                    count.fetch_add(1, Ordering::Relaxed);
                }
            };
            std::thread::Builder::new().stack_size(64 << 20).spawn_scoped(scope, work).unwrap();
        }
    });
    assert_eq!(count.into_inner(), 1000);
}
