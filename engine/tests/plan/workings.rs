//! What is written beside a number.

use super::{block, facts, plainly, plan, shown, working};

#[test]
fn a_part_of_a_list_is_shown_by_its_value() {
    let plan = block("let door = [35.inch, 79.inch];\nlet spare = door[0] - 2.inch;");
    assert_eq!(working(&plan, "spare").as_deref(), Some("35 in − 2 in"));
}

#[test]
fn what_a_function_gave_is_shown_by_its_value() {
    let plan = block("cost(\"a\", 400.usd);\ncost(\"b\", 100.usd);\nlet once = 150.usd;\nlet each = total() - once;");
    assert_eq!(working(&plan, "each").as_deref(), Some("$500.00 − $150.00"));
    let plan = block("let ends = weight(sheet(\"float glass\", 3.mm), [24.inch, 72.inch]) / 2;");
    assert_eq!(working(&plan, "ends").as_deref(), Some("18.4 lb ÷ 2"));
}

#[test]
fn a_thing_has_no_call_for_a_working() {
    let plan = block("let load = 30.lb;\nlet one = lift(load / 2, 15.inch, 27.inch, 17.inch);");
    assert_eq!(working(&plan, "one"), None);
}

#[test]
fn a_price_of_a_rate_sheet_shows_how_it_was_found() {
    let sheet = "+++\nkind = \"rate sheet\"\n+++\n\n```workings\nlet least = 25.usd;\nlet foot = 14.usd;\nfn price(size) { max(size[0] * size[1] / 1.ft2 * foot, least) }\nfn plain(size) { size[0] * size[1] / 1.ft2 * foot }\n```\n";
    let text = "```workings\nimport \"shops/lab\" as lab;\nlet a = lab::plain([36.inch, 24.inch]);\nlet b = cost(\"Print\", lab::plain([36.inch, 24.inch]));\n```\n\n`? lab::plain([36.inch, 24.inch])`\n";
    let plan = plan(text, &facts(&[("shops/lab", sheet)]));
    assert_eq!(shown(&plan, "a"), "$84.00");
    assert_eq!(working(&plan, "a").as_deref(), Some("36 in × 24 in ÷ 1 ft² × $14.00"));
    let answer = &plan.answers[0];
    let said = plan.working("", answer.result.as_ref().unwrap(), answer.trace.as_deref());
    assert_eq!(said.as_deref().map(plainly).as_deref(), Some("36 in × 24 in ÷ 1 ft² × $14.00"));
}

#[test]
fn a_step_that_binds_less_stands_in_brackets() {
    let plan = block(
        "fn a() { (2.inch + 3.inch) * 4 }\nfn b() { 9.inch - (2.inch - 1.inch) }\nlet one = a();\nlet two = b();",
    );
    assert_eq!(working(&plan, "one").as_deref(), Some("(2 in + 3 in) × 4"));
    assert_eq!(working(&plan, "two").as_deref(), Some("9 in − (2 in − 1 in)"));
}

#[test]
fn a_name_is_shown_by_its_value_and_not_by_its_own_working() {
    let plan = super::blocks(&["let a = 2.inch + 3.inch;", "fn f() { a * 2 }\nlet b = f();\nlet c = a * 4;"]);
    assert_eq!(working(&plan, "b").as_deref(), Some("5 in × 2"));
    assert_eq!(working(&plan, "c").as_deref(), Some("5 in × 4"));
}

#[test]
fn a_value_that_was_changed_does_not_keep_an_old_working() {
    let plan = block(
        "let f = film(\"6x12\");\nlet n = f.ratio;\nn += 1;\nlet m = 2.inch + 1.inch;\nm += 4.inch;\nlet list = f.size;\nlist.push(3.mm);",
    );
    assert_eq!(shown(&plan, "n"), "3.107");
    assert_eq!(working(&plan, "n"), None);
    assert_eq!(working(&plan, "m").as_deref(), Some("2 in + 1 in + 4 in"));
    assert_eq!(working(&plan, "list"), None);
}

#[test]
fn degrees_stand_close_to_their_number() {
    let plan = block("let d = 20.deg;\nlet a = d + 0.deg;\nlet b = d + 1500.usd / 1.usd * 1.deg;");
    assert_eq!(working(&plan, "a").as_deref(), Some("20° + 0°"));
    assert_eq!(working(&plan, "b").as_deref(), Some("20° + $1,500.00 ÷ $1.00 × 1°"));
}

#[test]
fn an_enlargement_shows_what_it_was_divided_from() {
    let text = "+++\nunits = \"metric\"\n+++\n\n```workings\nlet piece = enlarge(film(\"6x17\"), 2700.mm);\nlet times = piece.enlargement;\n```\n";
    let plan = plan(text, &facts(&[]));
    assert_eq!(shown(&plan, "times"), "16.07");
    assert_eq!(working(&plan, "times").as_deref(), Some("2700 mm ÷ 168 mm"));
}

#[test]
fn a_weight_made_of_weights_keeps_their_caution() {
    let plan = block(
        "let glass = weight(sheet(\"float glass\", 3.mm), [24.inch, 72.inch]);\nlet all = glass + 2.lb;\nlet half = all / 2;\nlet share = glass / all;",
    );
    for (name, caution) in [("glass", true), ("all", true), ("half", true), ("share", false)] {
        assert_eq!(plan.names[name].caution.is_some(), caution, "{name}");
    }
}

#[test]
fn a_fraction_in_the_text_is_written_as_one() {
    let plan = block(
        "let gap = 0.375.inch;\nlet over = gap - 0.25.inch;\nlet ok = !(gap < over);\nmust(!ok == false, \"x\");",
    );
    assert_eq!(working(&plan, "over").as_deref(), Some("3/8 in − 1/4 in"));
}

#[test]
fn a_condition_turned_round_says_nothing_twice() {
    let plan = block("let s = scan(film(\"6x12\"), 4000.ppi);\nmust(!s.interpolated, \"No pixels made up\");");
    assert_eq!(plan.record.rules[0].because, None);
}
