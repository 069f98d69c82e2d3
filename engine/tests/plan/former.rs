//! Names that functions and parts had before: understood as ever, and shown nowhere.

use std::path::{Path, PathBuf};

use engine::script::bindings;
use engine::script::statements::STATEMENTS;
use engine::syntax::former;
use engine::{Evaluation, Value};

use super::{block, blocks, problems, shown, working};

/// A call that works, of a function or statement by the name it has.
fn example(now: &str) -> &'static str {
    match bindings::all().find(|one| one.name == now) {
        Some(function) => function.example,
        None if now == "add_working_days" => "add_working_days(date(\"2026-06-29\"), 5.days)",
        None => panic!("`{now}` is not called so: name it in syntax/former.rs as it is called, and a statement here"),
    }
}

/// Things of every kind that had parts of other names.
const THINGS: &[(&str, &str)] = &[
    ("a crate", "crate_for([72.inch, 24.inch], 2.inch, 3.inch)"),
    ("a cut list", "cut_list(120.inch, [74.inch, 26.inch], 0.125.inch)"),
    ("a float frame", "float_frame([72.inch, 24.inch], 0.25.inch, 0.5.inch, 0.5.inch, 0.25.inch)"),
    ("a lamp", "lamp(96.inch, 58.inch)"),
    ("a piece cut from a sheet", "cut_from([72.inch, 24.inch], [96.inch, 48.inch])"),
    ("a piece on two hooks", "hang_two_hooks(24.lb, 20.inch, 28.inch)"),
    ("a wall cleat", "cleat(24.lb, 1.inch, 6.inch)"),
];

/// A name's value to the last digit, and what is written beside it.
fn exactly(plan: &Evaluation, name: &str) -> (String, Option<String>) {
    (format!("{:?}", plan.names[name].value), working(plan, name))
}

#[test]
fn a_function_by_a_former_name_gives_the_same() {
    for (was, now) in former::FUNCTIONS {
        assert!(bindings::all().all(|one| one.name != *was), "`{was}` is a function of now");
        let call = example(now);
        let plan = block(&format!("let old = {};\nlet now = {call};", call.replacen(now, was, 1)));
        assert_eq!(exactly(&plan, "old"), exactly(&plan, "now"), "{was}");
    }
}

#[test]
fn a_part_by_a_former_name_or_spelling_gives_the_same() {
    for (kind, was, now) in former::PARTS {
        let (_, thing) = THINGS.iter().find(|(one, _)| one == kind).unwrap_or_else(|| panic!("name {kind} in THINGS"));
        let plan = block(&format!("let thing = {thing};\nlet old = thing.{was};\nlet now = thing.{now};"));
        let Value::Thing(found) = &plan.names["thing"].value else { panic!("{thing} has no parts") };
        assert_eq!(found.kind(), *kind);
        assert!(found.parts().iter().all(|(part, _)| part != was), "{kind} has a part `{was}`");
        assert_eq!(exactly(&plan, "old"), exactly(&plan, "now"), "{kind}, {was}");
    }
    let plan = block(
        "let a = hang_row([24.inch, 36.inch], 3, 2.inch).centers;\nlet b = sheet(\"Aluminum composite\", 3.mm).name;
let c = practice(\"hanging center\");\nlet d = least_car(\"off-center\").depth;\nlet e = molding(\"ash\", 1.inch, 2.inch).name;
let f = float_frame([72.inch, 24.inch], 0.25.inch, 0.5.inch, 0.5.inch).molding_length;",
    );
    assert_eq!(shown(&plan, "a"), "12, 38, 64 in");
    assert_eq!(shown(&plan, "b"), "aluminium composite");
    assert_eq!(shown(&plan, "c"), "57 × 60 in");
}

#[test]
fn what_a_plan_calls_so_itself_stays_its_own() {
    // A plan that was saved before a function had its name of now may have given that name to something else.
    for (_, now) in former::FUNCTIONS {
        let plan = block(&format!(
            "fn {now}(a, b) {{ a * 10 + b }}\nlet {now} = 4;\nlet own = {now}(1, 2);\nlet same = {now};"
        ));
        assert_eq!((shown(&plan, "own"), shown(&plan, "same")), ("12".to_owned(), "4".to_owned()), "{now}");
    }
}

#[test]
fn a_working_shows_the_name_that_was_written() {
    let plan = block("let wide = 30.inch;\nlet a = smaller(wide, 20.inch) + 1.inch;\nlet b = ceil(wide / 7.inch) * 2;");
    assert_eq!(working(&plan, "a").as_deref(), Some("smaller(30 in, 20 in) + 1 in"));
    assert_eq!(working(&plan, "b").as_deref(), Some("ceil(30 in ÷ 7 in) × 2"));
}

#[test]
fn a_misspelt_or_wrong_call_is_answered_with_the_name_of_now() {
    for (was, now) in former::FUNCTIONS {
        let said = problems(&blocks(&[&format!("let a = {was}_();")])).join(" ");
        assert!(!said.contains(&format!("`{was}`")), "{said}");
        let said = problems(&blocks(&[&format!("let a = {was}();")])).join(" ");
        assert!(said.contains(&format!("`{was}`")) && said.contains(&format!("`{now}(")), "{said}");
        let said = problems(&blocks(&[&format!("let a = {was};")])).join(" ");
        assert!(said.contains("is a function and stands here without its brackets"), "{said}");
    }
}

/// Every text below a path that people read or begin from.
#[expect(clippy::disallowed_methods, reason = "a test reads the shipped texts; the engine itself reads nothing")]
fn texts(path: &Path, all: &mut Vec<(PathBuf, String)>) {
    if path.is_dir() {
        std::fs::read_dir(path).unwrap().for_each(|entry| texts(&entry.unwrap().path(), all));
    } else if path.extension().is_some_and(|end| ["md", "html", "js"].iter().any(|one| end == *one)) {
        all.push((path.to_owned(), std::fs::read_to_string(path).unwrap()));
    }
}

#[test]
fn no_former_name_is_shown() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut all = Vec::new();
    for path in ["notebooks", "static", "README.md"] {
        texts(&root.join(path), &mut all);
    }
    assert!(all.len() > 40, "{} texts", all.len());
    let rows = bindings::all().map(|one| (one.name, format!("{} {} {}", one.takes, one.about, one.example)));
    let stated = STATEMENTS.iter().map(|(name, takes, about)| (*name, format!("{takes} {about}")));
    all.extend(rows.chain(stated).map(|(name, text)| (PathBuf::from(name), text)));
    let part = |letter: char| letter.is_alphanumeric() || matches!(letter, '_' | '.');
    for (path, text) in &all {
        for (was, now) in former::FUNCTIONS {
            // In a script a method of the language's own stands behind a point: `Math.ceil`.
            let called = text.match_indices(&format!("{was}(")).any(|(at, _)| !text[..at].ends_with(part));
            assert!(!called && !text.contains(&format!("`{was}`")), "{}: `{was}` is called `{now}`", path.display());
        }
    }
}
