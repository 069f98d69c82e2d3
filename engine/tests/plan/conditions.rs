//! A yes or no that comes with a working or a caution is still a yes or no.

use super::{block, blocks, plainly, problems, shown};

const DOOR: &str = "let door = passes_door([96.inch, 120.inch], 2.inch, [32.inch, 80.inch]);\nlet wide = passes_door([60.inch, 48.inch], 2.inch, [32.inch, 80.inch]);";

#[test]
fn a_truth_with_a_caution_can_be_ruled_on() {
    let plan = block(&format!(
        "{DOOR}\nmust(wide.passes, \"It goes through\");\nshould(door.passes, \"This one too\");\nmust(!door.passes, \"It does not\");"
    ));
    let kept: Vec<_> = plan.record.rules.iter().map(|rule| rule.kept).collect();
    assert_eq!(kept, [true, false, true]);
}

#[test]
fn a_truth_with_a_caution_is_never_silently_false() {
    let plan = block(&format!(
        "{DOOR}
let a = wide.passes == true;
let b = wide.passes != false;
let c = true == wide.passes;
let d = if wide.passes {{ 1 }} else {{ 2 }};
let e = wide.passes && true;
let f = door.passes || wide.passes;
let g = wide.passes == !door.passes;
let h = switch wide.passes {{ true => 1, _ => 2 }};"
    ));
    for name in ["a", "b", "c", "e", "f", "g"] {
        assert_eq!(shown(&plan, name), "yes", "{name}");
    }
    assert_eq!((shown(&plan, "d"), shown(&plan, "h")), ("1".to_owned(), "1".to_owned()));
}

#[test]
fn the_caution_of_a_truth_stays_beside_it() {
    let text = format!("# A plan\n\n```workings\n{DOOR}\nlet ok = wide.passes;\n```\n\n`? wide.passes` and `? ok`\n");
    let plan = super::plan(&text, &super::facts(&[]));
    for answer in &plan.answers {
        assert!(answer.result.as_ref().unwrap().caution.is_some());
    }
}

#[test]
fn plain_numbers_with_a_working_count_as_plain_numbers() {
    let plan = block(
        "let f = film(\"6x12\");
let a = f.ratio > 2;
let b = 2 < f.ratio;
let c = f.ratio * 2 == 118 * 2 / 56;
let d = on_roll([24.inch, 72.inch], roll(50.inch), 3);
let e = d.rows + 1 == 3 && d.rows == 2 && 2 == d.rows;
let g = d.rows % 2 == 0;
let n = 0;
for i in 0..d.rows { n += 1; }
let h = n == 2;
let l = f.size[0] == 118.mm && f.size == [118.mm, 56.mm] && f.size.len() == 2;
let m = 0.1 + 0.2 == 0.3 && 0.1 + 0.2 <= 0.3;",
    );
    for name in ["a", "b", "c", "e", "g", "h", "l", "m"] {
        assert_eq!(shown(&plan, name), "yes", "{name}");
    }
}

#[test]
fn values_of_two_kinds_are_refused_and_not_called_unlike() {
    for (expression, said) in [
        ("63.inch == 63", "cannot be compared"),
        ("63.inch == \"63\"", "cannot be compared"),
        ("true == 63.inch", "cannot be compared"),
        ("true == 1", "cannot be compared"),
        ("\"12\" != 12", "cannot be compared"),
        ("\"a\" < 5", "cannot be compared"),
        ("[1.inch] == [1.lb]", "cannot be compared"),
        ("film(\"6x12\") == film(\"6x12\")", "cannot be compared as a whole"),
    ] {
        let plan = blocks(&[&format!("let a = {expression};")]);
        assert!(problems(&plan).join(" ").contains(said), "{expression}: {:?}", problems(&plan));
    }
}

#[test]
fn what_does_not_go_together_is_named_by_its_kind() {
    for (expression, said) in [
        ("\"a\" - 1", "a piece of text and a plain number cannot be taken"),
        ("\"a\" * 2", "a piece of text and a plain number cannot be multiplied"),
        ("true + 1", "a yes or no and a plain number cannot be added"),
        ("[1] - 1", "a list and a plain number cannot be taken"),
        ("63.inch + true", "a yes or no cannot be added to a length"),
        ("!5", "a plain number cannot be turned into its opposite"),
    ] {
        let plan = blocks(&[&format!("let a = {expression};")]);
        assert!(problems(&plan).join(" ").contains(said), "{expression}: {:?}", problems(&plan));
    }
}

#[test]
fn a_condition_that_is_none_is_told_what_is_missing() {
    let plan = blocks(&["must(3.inch, \"Wide enough\");"]);
    let said = plainly(&problems(&plan).join(" "));
    assert!(said.contains("`must` needs a condition, and `3 in` is a length; compare two values"), "{said}");
}

#[test]
fn a_condition_without_names_still_shows_its_numbers() {
    let plan = block("must(weight(sheet(\"float glass\", 3.mm), [24.inch, 72.inch]) <= 10.kg, \"Light enough\");");
    let because = plan.record.rules[0].because.as_ref().and_then(|trace| plan.shown(trace));
    // Source: 7.5 kg/m² × 24 × 72 in (EN 572-1's 2500 kg/m³; identity).
    assert_eq!(because.as_deref().map(plainly).as_deref(), Some("18.4 lb ≤ 22 lb"));
}
