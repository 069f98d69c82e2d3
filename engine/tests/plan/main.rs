//! What a plan gives, shown on plans: each test is a few lines of workings and the values they must give.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests may")]

mod arguments;
mod conditions;
mod doubts;
mod entered;
mod former;
mod functions;
mod kept;
mod limits;
mod long;
mod marks;
mod markup;
mod mistakes;
mod money;
mod notebooks;
mod numbers;
mod plain_words;
mod price_edit;
mod reading;
mod shops;
mod shown;
mod sources;
mod spare;
mod stages;
mod workings;

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::Day;
use engine::{Evaluation, Facts, evaluate};

/// The facts of a day with these rate sheets.
fn facts(sheets: &[(&str, &str)]) -> Facts {
    let sheets: BTreeMap<String, String> =
        sheets.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())).collect();
    Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-05-11").unwrap()) }
}

/// A whole plan, calculated.
fn plan(text: &str, facts: &Facts) -> Evaluation {
    evaluate(&Document::read(text), facts, &Arc::new(Compiled::default()), None)
}

/// Blocks of workings, calculated one after another as a plan.
fn blocks(blocks: &[&str]) -> Evaluation {
    let text: String = blocks.iter().map(|block| format!("```workings\n{block}\n```\n\n")).collect();
    plan(&format!("# A plan\n\n{text}"), &facts(&[]))
}

/// One block, which must be without problems.
fn block(text: &str) -> Evaluation {
    let plan = blocks(&[text]);
    assert_eq!(problems(&plan), Vec::<String>::new(), "{text}");
    plan
}

fn problems(plan: &Evaluation) -> Vec<String> {
    plan.problems.iter().map(ToString::to_string).collect()
}

/// A name's value as it stands on a page; narrow and fixed spaces as plain ones.
fn shown(plan: &Evaluation, name: &str) -> String {
    let found = plan.names.get(name).unwrap_or_else(|| panic!("no `{name}`; {}", problems(plan).join("; ")));
    plainly(&found.value.shown(plan.units))
}

/// What is written beside a name.
fn working(plan: &Evaluation, name: &str) -> Option<String> {
    plan.working(name, &plan.names[name], None).map(|text| plainly(&text))
}

fn plainly(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}
