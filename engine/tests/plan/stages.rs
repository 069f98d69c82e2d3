//! New plans put together from stages: without a shop nothing is wrong and every price is to come.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use engine::document::stages::{Head, Stage, compose};
use engine::document::{Document, Kind};
use engine::evaluate::{Facts, evaluate};
use engine::measure::{Currency, Day, Units};

const PANORAMA: &[&str] = &["scan", "files", "print", "mount", "float-frame", "carry", "hang", "sell"];
const MATTED: &[&str] = &["scan", "files", "print", "mat-frame", "carry", "hang", "sell"];
const UNFRAMED: &[&str] = &["scan", "files", "print", "sell"];
const BOARD: &[&str] = &["scan", "print", "mount", "carry"];

#[expect(clippy::disallowed_methods, reason = "a test reads the shipped stages; the engine itself reads nothing")]
fn stage(name: &str) -> Stage {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../static/stages").join(format!("{name}.md"));
    Stage::read(name, &std::fs::read_to_string(path).unwrap()).unwrap()
}

fn head(units: Units, currency: &str) -> Head {
    Head {
        title: "Weir, \"Second\" *Frost*".to_owned(),
        edition: 5,
        proofs: 2,
        units,
        currency: Currency::of(currency).unwrap(),
        start: Day::parse("2026-11-30").unwrap(),
        holidays: Vec::new(),
        shops: Vec::new(),
    }
}

fn composed(head: &Head, names: &[&str]) -> String {
    let stages: Vec<_> = names.iter().map(|name| stage(name)).collect();
    compose(head, &stages.iter().collect::<Vec<_>>()).unwrap()
}

#[test]
fn a_plan_of_stages_without_a_shop_has_no_problem_and_every_price_is_to_come() {
    for names in [PANORAMA, MATTED, UNFRAMED, BOARD, &["scan"]] {
        for (units, currency) in [(Units::Inch, "USD"), (Units::Metric, "EUR")] {
            let head = head(units, currency);
            let document = Document::read(&composed(&head, names));
            assert_eq!(document.title(), head.title);
            assert_eq!(document.front.kind, Kind::Plan);
            let facts = Facts::on(head.start);
            let evaluation = evaluate(&document, &facts, &Arc::default(), None);
            assert_eq!(evaluation.problems, [], "{names:?} {currency}\n{}", document.text);
            assert_eq!(evaluation.doubts, [], "{names:?} {currency}");
            assert!(evaluation.keeps_rules(), "{names:?}: {:?}", evaluation.record.rules);
            assert!(evaluation.record.costs.is_empty() && !evaluation.record.open.is_empty(), "{names:?}");
            // Every literal stands in the units of the plan: nothing a person fills in is in the others.
            let other = if units == Units::Inch { ".mm," } else { ".inch" };
            let given = document.text.lines().filter(|line| line.contains("given("));
            assert_eq!(given.filter(|line| line.contains(other)).collect::<Vec<_>>(), Vec::<&str>::new());
            // Steps follow one another: each but the first waits.
            let steps = &evaluation.record.steps;
            assert!(steps.iter().skip(1).all(|step| !step.after.is_empty()), "{names:?}: {steps:?}");
            for mark in ["{previous}", "{outside}", "{weight}", "{depth}"] {
                assert!(!document.text.contains(mark), "{mark} in {names:?}");
            }
            let blanks = evaluation.record.givens.iter().filter(|given| given.place.is_none()).count();
            assert_eq!(blanks, 0, "every given can be filled in");
        }
    }
}

#[test]
fn a_panorama_of_six_feet_comes_out_of_the_stages() {
    // 6x17 on film to 72 in wide, 24 in high, on rigid foam board of 3/4 in (common practice, no source).
    let document = Document::read(&composed(&head(Units::Inch, "USD"), PANORAMA));
    let evaluation = evaluate(&document, &Facts::on(Day::parse("2026-11-30").unwrap()), &Arc::default(), None);
    let shown =
        |path: &str| evaluation.value_of(path).unwrap().value.shown(Units::Inch).replace(['\u{a0}', '\u{202f}'], " ");
    assert_eq!(shown("piece.size"), "72 × 24 in");
    // Board 24 in high and 1/4 in of gap, 3/4 in of moulding on both sides: 74 × 26 in (identity).
    assert_eq!(shown("frame.outside"), "74 × 26 in");
    assert_eq!(shown("resized.pixels"), "21 600 × 7200 px");
}

#[test]
fn a_stage_that_lacks_the_one_it_builds_on_is_refused_with_what_is_missing() {
    let stages = [stage("scan"), stage("print"), stage("hang")];
    let refused = compose(&head(Units::Inch, "USD"), &stages.iter().collect::<Vec<_>>()).unwrap_err().to_string();
    assert!(refused.contains("`Hanging` builds on another part of the work: float frame or mat frame"), "{refused}");
    for title in ["", "  ", "two\nlines", &"x".repeat(121)] {
        let head = Head { title: title.to_owned(), ..head(Units::Inch, "USD") };
        assert!(compose(&head, &[]).is_err(), "{title:?}");
    }
}

#[test]
fn a_shop_bound_in_the_head_gives_its_prices_and_another_changes_every_number() {
    let sheet = |name: &str, each: &str| {
        format!(
            "+++\ntitle = \"{name}\"\nkind = \"rate sheet\"\n+++\n# {name}\n\n| item | price | per | working days |\n|---|---|---|---|\n| Chromogenic, gloss | {each} | ft² | 3 |\n| Small proof | 20 | piece | 2 |\n"
        )
    };
    let sheets: BTreeMap<_, _> =
        [("shops/a".to_owned(), sheet("A Lab", "10")), ("shops/b".to_owned(), sheet("B Lab", "20"))].into();
    let facts = Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-11-30").unwrap()) };
    let total = |shop: &str| {
        let head = Head { shops: vec![("lab".to_owned(), shop.to_owned())], ..head(Units::Inch, "USD") };
        let document = Document::read(&composed(&head, &["scan", "print"]));
        let evaluation = evaluate(&document, &facts, &Arc::default(), None);
        assert_eq!(evaluation.problems, []);
        evaluation.record.total(Some("lab")).unwrap()
    };
    // 72.5 × 24.5 in are 12.335 ft² (identity), and 20 for the proof.
    assert_eq!(total("shops/a"), "$143.35");
    assert_eq!(total("shops/b"), "$266.70");
}

#[test]
fn another_shop_in_the_head_rewrites_that_line_and_no_other() {
    use engine::document::head_edit::set_shop;
    let text = "+++\ntitle = \"P\" # mine\n\n[shops]\nlab  = \"shops/a\"   # asked in May\nframer = \"shops/c\"\n\n[quotes]\nlab = 2026-05-01\n+++\n# P\n";
    let set = |text: &str, role: &str, sheet: &str| set_shop(&Document::read(text), role, sheet).unwrap();
    assert_eq!(
        set(text, "lab", "shops/b"),
        text.replace("\"shops/a\"", "\"shops/b\"").replace("lab = 2026-05-01\n", "")
    );
    assert_eq!(set(text, "framer", ""), text.replace("\"shops/c\"", "\"\""));
    let added = set(text, "carrier", "shops/d");
    assert!(added.contains("framer = \"shops/c\"\ncarrier = \"shops/d\"\n"), "{added}");
    assert_eq!(set("# P\n", "lab", "shops/b"), "+++\n[shops]\nlab = \"shops/b\"\n+++\n\n# P\n");
    for (role, sheet) in [("", "a"), ("a b", "a"), ("lab\"", "a"), ("lab", "a\nb")] {
        assert!(set_shop(&Document::read(text), role, sheet).is_err(), "{role:?} {sheet:?}");
    }
}

#[test]
fn no_step_is_planned_on_a_day_off_of_the_head() {
    let holidays: Vec<_> = ["2026-12-25", "2027-01-01"].iter().map(|day| Day::parse(day).unwrap()).collect();
    let head = Head { holidays: holidays.clone(), ..head(Units::Inch, "USD") };
    let document = Document::read(&composed(&head, PANORAMA));
    assert_eq!(document.front.holidays, holidays);
    let evaluation = evaluate(&document, &Facts::on(head.start), &Arc::default(), None);
    let steps = &evaluation.record.steps;
    assert!(steps.iter().all(|step| !holidays.contains(&step.start) && !holidays.contains(&step.end)), "{steps:?}");
    let last = |evaluation: &engine::Evaluation| evaluation.record.steps.iter().map(|step| step.end).max().unwrap();
    let without = Document::read(&composed(&Head { holidays: Vec::new(), ..head.clone() }, PANORAMA));
    let without = evaluate(&without, &Facts::on(head.start), &Arc::default(), None);
    // Two days off, both Fridays inside the work, put its end off by two working days.
    assert_eq!(last(&without).until(last(&evaluation)), 2);
}
