//! Plans longer than anyone writes: what they give is right to the last name, and what is too much is said once and plainly.

use std::fmt::Write as _;
use std::sync::Arc;

use engine::document::Document;
use engine::measure::Day;
use engine::{Evaluation, Facts, Value, evaluate};

fn worked(text: &str) -> Evaluation {
    evaluate(&Document::read(text), &Facts::on(Day::parse("2026-11-02").unwrap()), &Arc::default(), None)
}

/// So many blocks, each giving so many names, the first of them one more than the last of the block above.
fn plan(blocks: usize, names: usize) -> String {
    let mut text = String::from("# Long\n");
    for number in 0..blocks {
        text.push_str("\n```workings\n");
        for name in 0..names {
            let before = match (number, name) {
                (0, 0) => "0".to_owned(),
                (_, 0) => format!("n{}_{}", number - 1, names - 1),
                _ => format!("n{number}_{}", name - 1),
            };
            let _ = writeln!(text, "let n{number}_{name} = {before} + 1;");
        }
        text.push_str("```\n");
    }
    let _ = write!(text, "\n`? n{}_{}` and `? n0_0 + n{}_{}`\n", blocks - 1, names - 1, blocks - 1, names - 1);
    text
}

fn answers(plan: &Evaluation) -> Vec<Value> {
    plan.answers.iter().map(|one| one.result.clone().unwrap().value).collect()
}

#[test]
fn a_plan_of_thousands_of_names_is_calculated_to_the_last() {
    // Counting by ones comes to as many as there are (identity).
    let plan = worked(&plan(300, 15));
    assert!(plan.problems.is_empty(), "{:?}", &plan.problems[..1]);
    assert!(matches!(answers(&plan)[..], [Value::Whole(4500), Value::Whole(4501)]), "{:?}", answers(&plan));
}

#[test]
fn names_of_one_block_and_of_one_plan_have_a_limit_that_is_told() {
    let told = |plan: &Evaluation| plan.problems.iter().map(|one| (one.what.clone(), one.next.clone())).next();
    let block = worked(&plan(2, 550));
    let (what, _) = told(&block).unwrap();
    assert_eq!(what, "these workings use more than 500 names at once");
    let whole = worked(&plan(20, 300));
    let (what, next) = told(&whole).unwrap();
    // Once in each of the four blocks that find no room, and at the two asks that wait for them.
    assert_eq!(whole.problems.len(), 4 + 2);
    assert_eq!(
        (what.as_str(), next.as_str()),
        ("`n16_200`: at most 5000 names of one plan are given a value", "cut it into two plans")
    );
}
