//! Honest plans: the shipped ones come nowhere near a limit, and give the same whoever works them out, and how often.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use engine::document::Document;
use engine::document::html::{View, article};
use engine::measure::Day;
use engine::script::{Compiled, Stop};
use engine::{Facts, evaluate};

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
            Arc::new(move |steps| {
                most.fetch_max(steps, Ordering::Relaxed);
                None
            })
        };
        let (document, compiled) = (Document::read(&text), Arc::new(Compiled::default()));
        memory::begin();
        let began = Instant::now();
        let plan = evaluate(&document, &facts, &compiled, Some(stop));
        let (took, bytes, steps) = (began.elapsed(), memory::most(), most.load(Ordering::Relaxed));
        println!("{name}: at most {steps} steps in a block, {} kB, {took:?} in all", bytes >> 10);
        assert!(plan.problems.is_empty(), "{name}: {:?}", plan.problems);
        // What a block may take: 100 000 steps, `engine::script::sandbox`.
        assert!(steps > 0 && steps * 20 < 100_000, "{name} takes {steps} steps");
        assert!(bytes * 20 < STOP_AT, "{name} takes {bytes} bytes");
        let longest = document.blocks.iter().map(|block| block.text.len()).max().unwrap_or(0);
        assert!(longest < 16 << 10, "{name}: {longest} bytes in a block");
        // Without optimisation time says nothing.
        assert!(
            cfg!(debug_assertions) || took < BLOCK / 20 || took < Duration::from_millis(6),
            "{name} takes {took:?}"
        );
    }
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
