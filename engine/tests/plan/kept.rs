//! What is kept from one evaluation to the next changes how fast it is, never what it gives.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::{Day, Units};
use engine::render::html::{View, article};
use engine::{Evaluation, Facts, evaluate};

use super::notebooks::documents;
use super::reading::Chance;

/// Everything an evaluation gave, as text, and its page.
fn all_of(document: &Document, plan: &Evaluation, view: &View) -> String {
    let names: BTreeMap<_, _> = plan.names.iter().map(|(name, found)| (name, format!("{found:?}"))).collect();
    let workings: BTreeMap<_, _> =
        plan.names.iter().map(|(name, found)| (name, plan.working(name, found, None))).collect();
    let page = article(document, plan, view);
    format!(
        "{names:?}\n{workings:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{page:?}",
        plan.blocks, plan.answers, plan.record, plan.problems, plan.quotes
    )
}

/// One small change to a text, as a person or a slip makes it.
fn edited(text: &str, chance: &mut Chance) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    if lines.is_empty() {
        lines.push(String::new());
    }
    let at = chance.below(lines.len());
    match chance.below(8) {
        0 => {
            lines.remove(at);
        }
        1 => {
            let copy = lines[at].clone();
            lines.insert(at, copy);
        }
        2 => {
            let other = chance.below(lines.len());
            lines.swap(at, other);
        }
        3 => lines[at] = lines[at].replacen(|c: char| c.is_ascii_digit(), &chance.below(10).to_string(), 1),
        4 => {
            let cut = lines[at].char_indices().nth(chance.below(40)).map_or(0, |(at, _)| at);
            lines[at].truncate(cut);
        }
        5 => lines[at] = lines[at].replace("inch", ["mm", "lb", "ft", "inhc"][chance.below(4)]),
        6 => lines.insert(
            at,
            [
                "let extra = 2.inch;",
                "must(false, \"never\");",
                "fn own(a) { a * wide }",
                "let mine = own(2);",
                "cost(\"more\", 1.005.usd);",
                "```",
                "```workings",
                "`? total()`",
                "while true {}",
                "import \"shops/tidewater-lab\" as other;",
                "let i = 3.inch;",
                "for i in 0..2 { must(i < 5, \"small\"); }",
                "let before = i * 2; for i in 0..3 { should(i >= 0, \"counted\"); }",
                "let listed = [wide, 2 * wide, #{a: wide / 3}]; let first = listed[0] + 1.inch;",
                "let late = if is_late { 2 } else { today() };",
                "hangs([60.inch, 20.inch]);",
                "let so_far = total();",
                "step(\"Extra\", 2.days);",
                "finished(\"Extra\", \"2026-11-02\");",
                "let again = given(\"Again\", 3, [1, 2, 3]);",
                "let more = step(\"More\", 1.day, after(\"Extra\")); let then = more.end;",
                "let held = if total() > 9.usd { total() } else { 0.usd };",
                "if false { import \"shops/quay-works\" as quay; }",
                "let path = \"shops/\"; import path + \"tidewater-lab\" as lab2; let ppi2 = lab2::least_ppi;",
                "import \"shops/corner-joint\" as corner2; let days2 = corner2::float_time;",
            ][chance.below(25)]
            .to_owned(),
        ),
        _ => lines[at].push_str([";", "}", "(", " + 1", "`", "\"", " // x"][chance.below(7)]),
    }
    lines.join("\n")
}

/// Changes to each plan; the long form takes its number from the environment.
#[expect(clippy::disallowed_methods, reason = "how long a test runs is not a matter of the engine")]
fn changes() -> usize {
    std::env::var("MAKEREADY_EDITS").ok().and_then(|number| number.parse().ok()).unwrap_or(60)
}

#[test]
fn an_edited_plan_gives_the_same_as_one_never_seen_before() {
    let kept = Arc::new(Compiled::default());
    let all = documents();
    let plans: Vec<_> = all.iter().filter(|(path, _)| !path.starts_with("shops/")).collect();
    let shelf: BTreeMap<String, String> =
        all.iter().filter(|(path, _)| path.starts_with("shops/")).map(|(a, b)| (a.clone(), b.clone())).collect();
    let mut sheets = shelf.clone();
    let (mut compared, mut with_problems) = (0, 0);
    for (seed, (path, text)) in plans.into_iter().enumerate() {
        let mut chance = Chance::new(seed as u64 + 1);
        let (whole, mut text) = (text, text.clone());
        let mut facts = Facts::on(Day::parse("2026-11-02").unwrap());
        for step in 0..changes() {
            // A plan changed too often comes to nothing, and nothing is left to be kept.
            if step % 12 == 0 {
                text.clone_from(whole);
                sheets = shelf.clone();
            }
            if chance.below(6) == 0 {
                let which = chance.below(sheets.len());
                let sheet = sheets.values_mut().nth(which).unwrap();
                *sheet = edited(sheet, &mut chance);
            }
            match chance.below(12) {
                0 => facts.today = facts.today.plus(1).unwrap(),
                1 => facts.units = [None, Some(Units::Metric), Some(Units::Inch)][chance.below(3)],
                _ => {}
            }
            if chance.below(3) == 0 || facts.sheets.is_empty() {
                facts.sheets = Arc::new(sheets.clone());
            }
            let document = Document::read(&text);
            let called = ["Quay", "Bench"].get(chance.below(9)).map(|name| ("lab".to_owned(), (*name).to_owned()));
            let view = View { shops: called.into_iter().collect() };
            let again = all_of(&document, &evaluate(&document, &facts, &kept, None), &view);
            let fresh = evaluate(&document, &facts, &Arc::new(Compiled::default()), None);
            compared += 1;
            with_problems += usize::from(!fresh.problems.is_empty());
            let fresh = all_of(&document, &fresh, &view);
            let same = again.chars().zip(fresh.chars()).take_while(|(a, b)| a == b).count();
            let from = |all: &str| all.chars().skip(same.saturating_sub(300)).take(600).collect::<String>();
            assert!(
                again == fresh,
                "{path}, change {step}, kept:\n{}\nfresh:\n{}\nof:\n{text}",
                from(&again),
                from(&fresh)
            );
            text = edited(&text, &mut chance);
        }
    }
    println!("{compared} changed plans, {with_problems} of them with problems");
    // The changes are ones that matter: some break the plan and some do not.
    assert!(with_problems > compared / 10 && with_problems < compared, "{with_problems} of {compared}");
}
