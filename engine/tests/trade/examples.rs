//! The example beside each function works as it stands, in a plan.

use std::sync::Arc;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::Day;
use engine::script::bindings;
use engine::{Evaluation, Facts, Value, evaluate};

fn calculated(workings: &str) -> Evaluation {
    let document = Document::read(&format!("# A plan\n\n```workings\n{workings}\n```\n"));
    evaluate(&document, &Facts::on(Day::parse("2026-05-11").unwrap()), &Arc::new(Compiled::default()), None)
}

#[test]
fn every_example_works_in_a_plan() {
    for function in bindings::all() {
        let plan = calculated(&format!("let found = {};", function.example));
        let problems: Vec<_> = plan.problems.iter().map(ToString::to_string).collect();
        assert!(problems.is_empty(), "{}: {}", function.example, problems.join("; "));
        let found = plan.names.get("found").unwrap_or_else(|| panic!("{} gives nothing", function.example));
        assert!(!matches!(found.value, Value::Nothing), "{}", function.example);
    }
}

#[test]
fn a_wrong_argument_is_a_problem_of_the_plan() {
    let plan = calculated("let found = film(\"6x16\");");
    let said: String = plan.problems.iter().map(ToString::to_string).collect();
    assert!(said.contains("no film format is called `6x16`"), "{said}");
}
