//! The notebooks that come with the program, calculated.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use engine::measure::Day;
use engine::{Evaluation, Facts};

use super::{plan, problems};

/// Every document of the shipped notebook by its path without the ending.
#[expect(clippy::disallowed_methods, reason = "a test reads the shipped notebooks; the engine itself reads nothing")]
pub(crate) fn documents() -> BTreeMap<String, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks");
    let mut all = BTreeMap::new();
    for (inside, prefix) in [(folder.clone(), ""), (folder.join("shops"), "shops/")] {
        for entry in std::fs::read_dir(inside).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|end| end == "md") {
                let name = path.file_stem().unwrap().to_string_lossy().into_owned();
                all.insert(format!("{prefix}{name}"), std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    assert!(all.len() > 10, "the notebooks are where they were");
    all
}

fn worked() -> BTreeMap<String, Evaluation> {
    let all = documents();
    let sheets: BTreeMap<_, _> =
        all.iter().filter(|(path, _)| path.starts_with("shops/")).map(|(a, b)| (a.clone(), b.clone())).collect();
    let facts = Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-11-02").unwrap()) };
    all.iter().map(|(path, text)| (path.clone(), plan(text, &facts))).collect()
}

#[test]
fn every_shipped_document_is_without_problems() {
    for (path, plan) in worked() {
        assert_eq!(problems(&plan), Vec::<String>::new(), "{path}");
        assert!(plan.answers.iter().all(|answer| answer.result.is_ok()), "{path}");
    }
}

#[test]
fn every_shipped_plan_keeps_what_it_must() {
    for (path, plan) in worked() {
        let broken: Vec<_> =
            plan.record.rules.iter().filter(|rule| rule.must && !rule.kept).map(|rule| rule.text.clone()).collect();
        assert_eq!(broken, Vec::<String>::new(), "{path}");
    }
}
