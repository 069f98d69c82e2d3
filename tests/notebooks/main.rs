//! The shipped notebooks, calculated: without a problem, and with the numbers they had.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    missing_docs,
    reason = "a test that meets something unexpected is to fail at once"
)]

use std::sync::Arc;

use engine::document::{Document, Kind};
use engine::evaluate::Compiled;
use engine::measure::Units;
use engine::{Evaluation, Facts, evaluate};
use makeready_tests::{facts, texts};

fn worked(name: &str, facts: &Facts) -> (Document, Evaluation) {
    let document = Document::read(&texts().unwrap()[name]);
    let evaluation = evaluate(&document, facts, &Arc::new(Compiled::default()), None);
    (document, evaluation)
}

/// A name's value as the page shows it; a part after a point.
fn shown(evaluation: &Evaluation, path: &str) -> String {
    let found = evaluation.value_of(path).unwrap_or_else(|| panic!("nothing is called `{path}`"));
    found.value.shown(evaluation.units).replace(['\u{a0}', '\u{202f}'], " ")
}

#[track_caller]
fn check(name: &str, rows: &[(&str, &str)]) {
    let (_, evaluation) = worked(name, &facts().unwrap());
    let all: Vec<_> = rows.iter().map(|(path, _)| (*path, shown(&evaluation, path))).collect();
    let differs: Vec<_> = all.iter().zip(rows).filter(|((_, now), (_, pinned))| now != pinned).collect();
    assert!(differs.is_empty(), "{name}: {differs:#?}");
}

#[test]
fn every_plan_and_rate_sheet_works_out_without_a_problem() {
    let facts = facts().unwrap();
    let all = texts().unwrap();
    assert_eq!(all.len(), 14, "{:?}", all.keys());
    for name in all.keys() {
        let (document, evaluation) = worked(name, &facts);
        assert!(evaluation.problems.is_empty(), "{name}: {:#?}", evaluation.problems);
        assert!(!document.asks.is_empty() && evaluation.answers.len() == document.asks.len(), "{name}");
        for (ask, answer) in document.asks.iter().zip(&evaluation.answers) {
            assert!(answer.result.is_ok(), "{name}: {}", ask.expression);
        }
    }
}

#[test]
fn every_rule_that_must_be_kept_is_kept() {
    let facts = facts().unwrap();
    let mut rules = 0;
    for name in texts().unwrap().keys() {
        let (_, evaluation) = worked(name, &facts);
        for rule in &evaluation.record.rules {
            rules += 1;
            assert!(rule.kept || !rule.must, "{name}: {}", rule.text);
        }
    }
    assert!(rules > 40, "{rules}");
}

#[test]
fn the_same_text_and_facts_give_the_same_a_hundred_times_and_on_many_threads() {
    let facts = facts().unwrap();
    let told = |facts: &Facts| -> Vec<String> {
        let names = texts().unwrap();
        names
            .keys()
            .map(|name| format!("{:?} {:?}", worked(name, facts).1.answers, worked(name, facts).1.record))
            .collect()
    };
    let first = told(&facts);
    let threads: Vec<_> = (0..4)
        .map(|_| {
            let (facts, first) = (facts.clone(), first.clone());
            std::thread::spawn(move || {
                for _ in 0..3 {
                    assert_eq!(told(&facts), first);
                }
            })
        })
        .collect();
    for thread in threads {
        thread.join().unwrap();
    }
}

#[test]
fn the_other_units_change_what_is_shown_and_nothing_else() {
    let facts = facts().unwrap();
    for (name, text) in texts().unwrap() {
        let own = Document::read(&text).front.units;
        let other =
            Facts { units: Some(if own == Units::Inch { Units::Metric } else { Units::Inch }), ..facts.clone() };
        let (a, b) = (worked(&name, &facts).1, worked(&name, &other).1);
        assert!(b.problems.is_empty(), "{name}: {:#?}", b.problems);
        assert_eq!(format!("{:?}", a.record.costs), format!("{:?}", b.record.costs), "{name}");
        assert_eq!(format!("{:?}", a.record.steps), format!("{:?}", b.record.steps), "{name}");
        for (path, found) in &a.names {
            assert_eq!(format!("{:?}", found.value), format!("{:?}", b.names[path].value), "{name}: {path}");
        }
    }
}

#[test]
fn a_day_later_nothing_of_a_plan_with_a_start_moves() {
    let facts = facts().unwrap();
    let later = Facts { today: facts.today.plus(40).unwrap(), ..facts.clone() };
    for (name, text) in texts().unwrap() {
        let front = Document::read(&text).front;
        if front.kind == Kind::Plan && front.start.is_some() {
            let (a, b) = (worked(&name, &facts).1, worked(&name, &later).1);
            assert_eq!(format!("{:?}", a.record.steps), format!("{:?}", b.record.steps), "{name}");
        }
    }
}

mod pinned;
