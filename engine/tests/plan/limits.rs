//! What a shop cannot make is said without being asked, with the shop, the limit and the excess.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::document::Document;
use engine::measure::Day;
use engine::render::html::{View, article};
use engine::{Evaluation, Facts, evaluate};

const SHEET: &str =
    "+++\ntitle = \"Weir Works\"\nkind = \"rate sheet\"\nquoted = \"2026-10-01\"\n+++\n\n```workings\nLIMITS\n```\n";
const PLAN: &str = "+++\ntitle = \"Sluice\"\nedition = 3\n[shops]\nROLE = \"shops/weir\"\n+++\n\n# Sluice\n\n```workings\nimport \"shops/weir\" as weir;\nlet read = scan(film(\"6x17\"), 4000.ppi);\nlet piece = enlarge(read, 90.inch);\nhangs([92.inch, 32.inch]);\n```\n";

fn worked(role: &str, limits: &str) -> (Document, Evaluation) {
    let sheets: BTreeMap<_, _> = [("shops/weir".to_owned(), SHEET.replace("LIMITS", limits))].into();
    let facts = Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-11-02").unwrap()) };
    let document = Document::read(&PLAN.replace("ROLE", role));
    let evaluation = evaluate(&document, &facts, &Arc::default(), None);
    assert!(evaluation.problems.is_empty(), "{:?}", evaluation.problems);
    (document, evaluation)
}

fn broken(role: &str, limits: &str) -> Vec<String> {
    let (_, evaluation) = worked(role, limits);
    let broken = evaluation.record.rules.iter().filter(|rule| !rule.kept);
    broken.map(|rule| rule.text.replace(['\u{a0}', '\u{202f}'], " ")).collect()
}

#[test]
fn a_limit_a_shop_states_is_held_against_what_it_has_in_its_hands() {
    // 168 × 56 mm of film enlarged to 90 in is 90 × 30 in (common practice, no source: 6x17 is three to one).
    let lab = "let limits = [[\"roll\", 29.inch], [\"print\", 88.inch, \"long\"], [\"table\", 96.inch, 48.inch]];";
    assert_eq!(
        broken("lab", lab),
        [
            "Weir Works, roll: 1 in (25.4 mm) over 29 in (736.6 mm)",
            "Weir Works, print: 2 in (50.8 mm) over 88 in (2235.2 mm)"
        ]
    );
    assert_eq!(broken("lab", "let limits = [[\"roll\", 30.inch]];"), Vec::<String>::new());
    // The framer has the piece outside.
    let framer = "let limits = [[\"stick\", 90.inch, \"long\"]];";
    assert_eq!(broken("framer", framer), ["Weir Works, stick: 2 in (50.8 mm) over 90 in (2286 mm)"]);
    // The scanner has the film, 168 mm long.
    assert_eq!(broken("scanner", "let limits = [[\"drum\", 100.mm, \"long\"]];").len(), 1);
    // One that does several things states limits for each.
    let both = "let limits = [[\"roll\", 1.inch]]; let lab_limits = [[\"roll\", 60.inch]];";
    assert_eq!(broken("lab", both), Vec::<String>::new());
    assert_eq!(broken("mounter", both).len(), 1);
}

#[test]
fn a_shop_without_limits_is_asked_nothing_and_one_with_wrong_limits_is_told() {
    assert!(worked("lab", "let price = 2.usd;").1.record.rules.is_empty());
    let wrong = broken("lab", "let limits = [[\"roll\", 2.lb]];");
    assert!(wrong.len() == 1 && wrong[0].starts_with("Weir Works, `limits`: "), "{wrong:?}");
}

#[test]
fn the_page_says_it_above_everything_else() {
    let (document, evaluation) = worked("lab", "let limits = [[\"roll\", 29.inch]];");
    let page = article(&document, &evaluation, &View::default()).html.replace('\u{a0}', " ");
    assert!(page.starts_with("<div class=\"part\"><div class=\"problems\"><p class=\"state broken\">Beyond what the shop can make: Weir Works, roll: 1 in (25.4 mm) over 29 in (736.6 mm)."), "{page}");
    assert!(!evaluation.keeps_rules());
    // The rule points to the line of the head that names the shop.
    assert_eq!(evaluation.record.rules[0].line, 5);
}
