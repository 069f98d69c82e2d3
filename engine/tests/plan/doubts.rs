//! What can be calculated and is most likely a slip is told where it stands, and changes no number.

use std::sync::Arc;

use engine::document::Document;
use engine::render::compare::Results;
use engine::render::html::{View, article};
use engine::{Evaluation, evaluate};

use super::facts;

const LAB: (&str, &str) =
    ("shops/weir-lab", "+++\nkind = \"rate sheet\"\n+++\n\n```workings\nlet proof = 20.usd;\n```\n");

fn worked(text: &str) -> Evaluation {
    evaluate(&Document::read(text), &facts(&[LAB]), &Arc::default(), None)
}

/// `line:column: what; next` of each.
fn doubts(text: &str) -> Vec<String> {
    let plan = worked(text);
    assert_eq!(plan.problems, Vec::new(), "{text}");
    plan.doubts.iter().map(|doubt| doubt.to_string().replace('\u{a0}', " ")).collect()
}

fn head(head: &str, body: &str) -> String {
    format!("+++\n{head}\n[shops]\nlab = \"shops/weir-lab\"\n+++\n# A\n\n{body}\n")
}

fn workings(block: &str) -> String {
    head("", &format!("```workings\n{block}\n```"))
}

#[test]
fn a_plan_without_a_slip_is_not_doubted() {
    let text = head(
        "holidays = [\"2026-12-25\", 2026-12-28]",
        "```workings\nlet wide = given(\"Width\", 60.inch);\nlet shift = given(\"Shift\", -0.5);\nlet off = given(\"Off\", -20.usd);\nlet turn = given(\"Turn\", -2.deg);\nlet none = given(\"Tests\", 0);\nstep(\"Proof\", 2.days, \"lab\");\nstep(\"Sign\", 1.day, \"me\");\nstep(\"Lift\", 1.day, \"two strong friends\");\ncost(\"Proof\", 20.usd, \"lab\");\n```\n\nIt is `? wide`, see `?find=wide` and `?`.",
    );
    assert_eq!(doubts(&text), Vec::<String>::new());
    // A plan that names no shop calls its people as it likes, and so does a shop that is given by its name alone.
    assert_eq!(doubts("# A\n\n```workings\nstep(\"Proof\", 2.days, \"lab\");\n```\n"), Vec::<String>::new());
    assert_eq!(doubts("+++\n[shops]\ncarrier = \"Two Hands Carriers\"\n+++\n# A\n"), Vec::<String>::new());
}

#[test]
fn a_given_below_zero_is_told_with_its_place() {
    for (value, shown) in [
        ("-5.inch", "-5 in"),
        ("-5", "-5"),
        ("-300.ppi", "-300 ppi"),
        ("-2.days", "-2 working days"),
        ("-3.lb", "-3 lb"),
        ("-9.px", "-9 px"),
    ] {
        let told = doubts(&workings(&format!("let a = given(\"This\", {value});")));
        assert_eq!(told.len(), 1, "{value}");
        let told = told[0].replace('\u{2212}', "-");
        assert!(
            told.starts_with(&format!(
                "9:23: `This` is {shown}, and there is no less than none of it; write a number from zero up"
            )),
            "{told}"
        );
    }
}

#[test]
fn a_holiday_that_is_no_list_is_told_and_takes_no_day_off() {
    let text = |holidays: &str| {
        head(&format!("start = 2026-12-24\n{holidays}"), "```workings\nstep(\"Proof\", 2.days, \"lab\");\n```")
    };
    assert_eq!(
        doubts(&text("holidays = \"2026-12-25\"")),
        [
            "3:1: `holidays` is `\"2026-12-25\"`, which is not a list, so no day is taken off; write days in square brackets, like `holidays = [\"2026-12-25\"]`"
        ]
    );
    assert_eq!(doubts(&text("holidays = 2026-12-25")).len(), 1);
    let ends = |text: &str| worked(text).record.steps[0].end.iso();
    assert_eq!(ends(&text("holidays = \"2026-12-25\"")), ends(&text("")), "a revision saved with it comes to the same");
    assert_ne!(ends(&text("holidays = [\"2026-12-25\"]")), ends(&text("")));
}

#[test]
fn a_shop_whose_rate_sheet_is_not_there_is_told() {
    let text = "+++\ntitle = \"A\"\n[shops]\nlab = \"shops/weir-lba\"\nframer = \"shops/nobody\"\n+++\n# A\n";
    let told = doubts(text);
    assert_eq!(
        told[0],
        "4:1: the lab is `shops/weir-lba`, and there is no such rate sheet; was `shops/weir-lab` meant?"
    );
    assert!(
        told[1].starts_with("5:1: the framer is `shops/nobody`, and there is no such rate sheet; write the path"),
        "{told:?}"
    );
}

#[test]
fn a_step_or_a_cost_of_a_shop_the_head_does_not_name_is_told() {
    let told =
        doubts(&workings("let a = 1;\nstep(\"Proof\", 2.days, \"labb\");\ncost(\"Frame\", 20.usd, \"framer\");"));
    assert_eq!(told[0], "10:1: `Proof` is for `labb`, and the head names no such shop; was `lab` meant?");
    assert!(
        told[1].starts_with("11:1: `Frame` is for `framer`, and the head names no such shop; name it in the head"),
        "{told:?}"
    );
}

#[test]
fn a_blank_missing_behind_a_question_mark_is_told() {
    let told =
        doubts(&head("", "```workings\nlet wide = 60.inch;\n```\n\nIt is `?wide` and `?wide * 2` wide, `?wied` not."));
    assert_eq!(
        told,
        [
            "12:7: `?wide` is shown as it is written, and nothing is asked; put a space behind the question mark: `? wide`",
            "12:19: `?wide * 2` is shown as it is written, and nothing is asked; put a space behind the question mark: `? wide * 2`"
        ]
    );
}

#[test]
fn a_doubt_stands_on_the_page_and_is_no_part_of_what_a_revision_came_to() {
    let text = workings("let a = given(\"This\", -5.inch);");
    let (document, plan) = (Document::read(&text), worked(&text));
    let page = article(&document, &plan, &View::default()).html;
    assert!(page.contains("there is no less than none of it"), "{page}");
    let rows = Results::of(&document, &plan).rows;
    assert!(rows.iter().all(|row| row.kind != engine::render::compare::Kind::Problem), "{rows:?}");
}

#[test]
fn a_statement_replayed_further_down_is_doubted_where_it_stands_now() {
    let text = workings("let a = 1;\nstep(\"Proof\", 2.days, \"labb\");");
    let compiled = Arc::default();
    let told = |text: &str| evaluate(&Document::read(text), &facts(&[LAB]), &compiled, None).doubts[0].line;
    let moved = text.replace("# A\n", "# A\n\nMore.\n");
    assert_eq!([told(&text), told(&text), told(&text), told(&moved)], [10, 10, 10, 12]);
}
