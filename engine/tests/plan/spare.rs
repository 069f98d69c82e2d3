//! How long a step may be put off before the plan ends later.

use engine::document::Document;
use engine::measure::Day;
use engine::render::html::{View, article};
use engine::{Evaluation, Facts, evaluate};

fn worked(steps: &str) -> (Document, Evaluation) {
    let text = format!("+++\nstart = 2026-11-02\n+++\n\n# One\n\n```workings\n{steps}\n```\n\n`? steps()`\n");
    let document = Document::read(&text);
    let evaluation = evaluate(&document, &Facts::on(Day::parse("2026-11-02").unwrap()), &Default::default(), None);
    assert!(evaluation.problems.is_empty(), "{:?}", evaluation.problems);
    (document, evaluation)
}

fn spare(steps: &str) -> Vec<Option<u32>> {
    worked(steps).1.record.steps.iter().map(|step| step.spare).collect()
}

/// A monday morning: the negative is scanned for five days and the frame made in two, then both are needed for a day.
const BOTH: &str =
    "step(\"Scan\", 5.days);\nstep(\"Frame\", 2.days);\nstep(\"Join\", 1.day, after(\"Scan\", \"Frame\"));";

#[test]
fn what_lies_idle_before_the_step_that_waits_is_to_spare() {
    // Total float by hand (identity: latest finish less earliest finish): five days less two.
    assert_eq!(spare(BOTH), [Some(0), Some(3), Some(0)]);
    // In a chain there is none, over a weekend too.
    assert_eq!(
        spare("step(\"A\", 3.days);\nstep(\"B\", 4.days, after(\"A\"));\nstep(\"C\", 2.days, after(\"B\"));"),
        [Some(0), Some(0), Some(0)]
    );
    // What nothing waits for may end with the last: 10 days less 4.
    assert_eq!(spare("step(\"Long\", 10.days);\nstep(\"Short\", 4.days);"), [Some(0), Some(6)]);
    // It is handed on to the steps before.
    assert_eq!(
        spare(
            "step(\"Long\", 10.days);\nstep(\"First\", 2.days);\nstep(\"Then\", 3.days, after(\"First\"));\nstep(\"End\", 1.day, after(\"Long\", \"Then\"));"
        ),
        [Some(0), Some(5), Some(5), Some(0)]
    );
    // A moment before the end, and a day that is set leaves days before it.
    assert_eq!(
        spare("step(\"Ask\", 0.days);\nstep(\"Hang\", 1.day, after(\"Ask\"), date(\"2026-11-05\"));"),
        [Some(3), Some(0)]
    );
}

#[test]
fn a_step_that_is_done_has_nothing_to_spare_or_to_lose() {
    let done = format!("{BOTH}\nfinished(\"Frame\", \"2026-11-02\");");
    assert_eq!(spare(&done), [Some(0), None, Some(0)]);
}

#[test]
fn the_page_says_it_only_where_some_step_has_days_to_spare() {
    let page = |steps: &str| {
        let (document, evaluation) = worked(steps);
        article(&document, &evaluation, &View::default()).html
    };
    let both = page(BOTH);
    assert_eq!((both.matches("3 days to spare").count(), both.matches("no day to spare").count()), (1, 2), "{both}");
    assert!(!page("step(\"A\", 3.days);\nstep(\"B\", 4.days, after(\"A\"));").contains("to spare"));
}

#[test]
fn putting_a_step_off_by_its_spare_days_moves_no_end_and_by_one_more_does() {
    let end = |steps: &str| worked(steps).1.record.steps.iter().map(|step| step.end).max().unwrap();
    let later = |days: u32| {
        BOTH.replace(
            "step(\"Frame\", 2.days)",
            &format!("step(\"Frame\", 2.days, add_working_days(date(\"2026-11-02\"), {days}.days))"),
        )
    };
    for days in 0..=3 {
        assert_eq!(end(&later(days)), end(BOTH), "{days}");
    }
    assert!(end(&later(4)) > end(BOTH));
}
