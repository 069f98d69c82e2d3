//! The shops of the head by their price lists: prices for a size, what is too large, and what nobody was asked for yet.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::document::change::set_given;
use engine::document::{Document, prices};
use engine::evaluate::{Evaluation, Facts, evaluate};
use engine::measure::{Day, Units};
use engine::render::plain::{self, Block};

const LAB: &str = r#"+++
title = "Gull Lab"
kind = "rate sheet"
trade = "lab"
quoted = "2026-11-02"
until = "2027-06-30"
+++
# Gull Lab

| Item | Price | per | least charge | widest | longest | working days | remarks |
|---|---:|---|---:|---:|---:|---:|---|
| Chromogenic, gloss | 18.50 | ft² | 40 | 50 in | 120 in | 5 | ask for `RA4` |
| Pigment on rag | $210.00 | m² |  |  |  |  | |
| Small proof | 28 | piece | | | | 2 | |
| Tray frame | 13.50 | running ft | | | 132 in | | |
| Rabbeted frame | 3.10 | united in | | | | | |
| Retouching | 65 | hour | | | | | |
| Silver print | | ft² | | | | | |
"#;

fn plan(workings: &str) -> (Document, Evaluation) {
    plan_on(LAB, &format!("[shops]\nlab = \"shops/gull-lab\"\n+++\n# P\n\n{workings}"))
}

fn plan_on(lab: &str, rest: &str) -> (Document, Evaluation) {
    let document = Document::read(&format!("+++\ntitle = \"P\"\n{rest}"));
    let sheets = BTreeMap::from([("shops/gull-lab".to_owned(), lab.to_owned())]);
    let facts = Facts { sheets: Arc::new(sheets), ..Facts::on(Day::parse("2026-11-28").unwrap()) };
    let evaluation = evaluate(&document, &facts, &Arc::default(), None);
    (document, evaluation)
}

/// What an ask shows, and its working.
fn asked(expression: &str) -> (String, String) {
    let (_, evaluation) = plan(&format!("`? {expression}`\n"));
    let answer = &evaluation.answers[0];
    let found = answer.result.as_ref().unwrap_or_else(|problem| panic!("{expression}: {problem}"));
    let working = evaluation.working(expression, found, answer.trace.as_deref()).unwrap_or_default();
    (found.value.shown(Units::Inch), working)
}

fn refused(expression: &str) -> String {
    let (_, evaluation) = plan(&format!("`? {expression}`\n"));
    evaluation.answers[0].result.as_ref().unwrap_err().to_string()
}

#[test]
fn a_price_goes_by_the_size_the_count_or_the_time_it_is_counted_by() {
    // Identities; a square foot is 0.092 903 04 m² (NIST Special Publication 811, appendix B.8, from memory).
    for (expression, price) in [
        ("shop(\"lab\").quote(\"Chromogenic, gloss\", [60.inch, 24.inch])", "$185.00"),
        // 1 ft² costs less than the least charge.
        ("shop(\"lab\").quote(\"chromogenic, gloss\", [12.inch, 12.inch])", "$40.00"),
        ("shop(\"lab\").quote(\"Pigment on rag\", [1.m, 2.m])", "$420.00"),
        ("shop(\"lab\").quote(\"Pigment on rag\", [12.inch, 100 * 12.inch])", "$1,950.96"),
        ("shop(\"lab\").quote(\"Small proof\")", "$28.00"),
        ("shop(\"lab\").quote(\"Small proof\", 3)", "$84.00"),
        ("shop(\"lab\").quote(\"Small proof\", [60.inch, 24.inch])", "$28.00"),
        ("shop(\"lab\").quote(\"Tray frame\", [60.inch, 24.inch])", "$189.00"),
        ("shop(\"lab\").quote(\"Rabbeted frame\", [60.inch, 24.inch])", "$260.40"),
        ("shop(\"lab\").quote(\"Retouching\", 1.5.hours)", "$97.50"),
        ("shop(\"lab\").quote(\"Silver print\", [60.inch, 24.inch])", "price to come"),
        ("shop(\"lab\").quote(\"Silver print\", [60.inch, 24.inch]) * 2 + 10.usd", "price to come"),
        ("shop(\"framer\").quote(\"Ash\", [60.inch, 24.inch])", "price to come"),
        ("shop(\"lab\").lead_time(\"Small proof\", 9.days)", "2\u{a0}working days"),
        ("shop(\"lab\").lead_time(\"Pigment on rag\", 9.days)", "9\u{a0}working days"),
        ("shop(\"framer\").lead_time(\"Ash\", 5.days)", "5\u{a0}working days"),
        ("shop(\"lab\").name", "Gull Lab"),
        ("shop(\"lab\").items.len()", "7"),
    ] {
        assert_eq!(asked(expression).0, price, "{expression}");
    }
    let working = |expression| asked(expression).1;
    assert_eq!(working("shop(\"lab\").quote(\"Chromogenic, gloss\", [60.inch, 24.inch])"), "$18.50 × 10 ft²");
    assert_eq!(
        working("shop(\"lab\").quote(\"Chromogenic, gloss\", [12.inch, 12.inch])"),
        "the least charge, more than $18.50"
    );
}

#[test]
fn what_a_shop_does_not_make_or_does_not_price_so_is_told_with_what_it_has() {
    let told = refused("shop(\"lab\").quote(\"Gloss\", [60.inch, 24.inch])");
    assert!(told.contains("Gull Lab has no `Gloss` on its price list"), "{told}");
    assert!(told.contains("was `Chromogenic, gloss` meant? It has Chromogenic, gloss; Pigment on rag;"), "{told}");
    let told = refused("shop(\"lab\").quote(\"Chromogenic, gloss\")");
    assert!(told.contains("priced by the size, and no size was given; give width and height"), "{told}");
    let told = refused("shop(\"lab\").quote(\"Retouching\", [60.inch, 24.inch])");
    assert!(told.contains("priced by the hour, and no time was given"), "{told}");
    let told = refused("shop(\"labb\")");
    assert!(told.contains("was `lab` meant?"), "{told}");
}

#[test]
fn a_size_beyond_the_shop_is_a_broken_rule_and_its_price_still_stands() {
    let text = "```workings\nlet size = [130.inch, 51.inch];\nlet print = cost(\"Print\", shop(\"lab\").quote(\"Chromogenic, gloss\", size), \"lab\");\n```\n";
    let (_, evaluation) = plan(text);
    assert_eq!(evaluation.problems, []);
    let rules: Vec<_> = evaluation.record.rules.iter().map(|rule| (rule.text.as_str(), rule.must, rule.kept)).collect();
    let told = "Gull Lab, Chromogenic, gloss: 51\u{a0}in wide, and at most 50\u{a0}in; 130\u{a0}in long, and at most 120\u{a0}in";
    assert_eq!(rules, [(told, true, false)]);
    assert!(evaluation.record.total(None).is_some_and(|total| total == "$851.77"), "{:?}", evaluation.record.costs);
    let (_, kept) = plan(&text.replace("130", "120").replace("51", "50"));
    let rules: Vec<_> = kept.record.rules.iter().map(|rule| (rule.text.as_str(), rule.kept)).collect();
    assert_eq!(rules, [("Gull Lab, Chromogenic, gloss: at most 50\u{a0}in × 120\u{a0}in", true)]);
    assert!(kept.quotes.iter().any(|quote| quote.shop == "Gull Lab" && quote.role.as_deref() == Some("lab")));
}

#[test]
fn a_sum_that_misses_a_price_says_so_wherever_it_stands() {
    let text = "`? total()`\n\n## Work {for=lab}\n\n```workings\nlet size = [60.inch, 24.inch];\ncost(\"Print\", shop(\"lab\").quote(\"Chromogenic, gloss\", size));\ncost(\"Silver print\", shop(\"lab\").quote(\"Silver print\", size));\n```\n\n`? costs()`\n";
    let (document, evaluation) = plan(text);
    assert_eq!(evaluation.problems, []);
    let total = "$185.00 and Silver print, price to come";
    assert_eq!(evaluation.answers[0].result.as_ref().unwrap().value.shown(Units::Inch), total);
    let blocks = plain::whole(&document, &evaluation, &[]).blocks;
    let Some(Block::Costs { rows, total: shown }) = blocks.iter().find(|one| matches!(one, Block::Costs { .. })) else {
        panic!("{blocks:?}")
    };
    let rows: Vec<_> = rows.iter().map(|row| (row.what.as_str(), row.amount.as_str())).collect();
    assert_eq!(rows, [("Print", "$185.00"), ("Silver print", "price to come")]);
    assert_eq!(shown, total);
    // What is counted from it is to come as well.
    for counted in ["total() * 2", "total() + 10.usd", "price(total(), 1500.usd, 0.5)", "1500.usd - total()"] {
        let (_, evaluation) = plan(&format!("{text}\n`? {counted}`\n"));
        let found = evaluation.answers.last().unwrap().result.as_ref().unwrap();
        assert_eq!(found.value.shown(Units::Inch), "price to come", "{counted}");
    }
    // An invoice closes it.
    let (_, invoiced) =
        plan(&format!("{text}\n```workings\ninvoiced(\"Silver print\", 300.usd, \"2026-11-20\");\n```\n"));
    assert_eq!(invoiced.problems, []);
    assert_eq!(invoiced.record.total(None).as_deref(), Some("$485.00"));
}

#[test]
fn a_sum_that_misses_a_line_of_broken_workings_says_so() {
    let text = "```workings\ncost(\"Print\", 100.usd);\n```\n\n```workings\nlet x = nothing_here;\ncost(\"Frame\", 200.usd);\ncost(\"Crate\", 50.usd);\n```\n\n`? total()`\n";
    let (_, evaluation) = plan(text);
    assert_eq!(evaluation.record.total(None).as_deref(), Some("$100.00 and 2 lines not known yet"));
    let whole = text.replace("nothing_here", "1");
    assert_eq!(plan(&whole).1.record.total(None).as_deref(), Some("$350.00"));
}

#[test]
fn a_cell_that_cannot_be_read_is_told_with_its_place() {
    let sheet = LAB.replace("| 18.50 |", "| 1.850 |").replace("| hour |", "| howl |").replace("| 132 in |", "| far |");
    let document = Document::read(&sheet.replace("| 2 | |", "| two | |"));
    let evaluation = evaluate(&document, &Facts::on(Day::parse("2026-11-28").unwrap()), &Arc::default(), None);
    let told: Vec<_> = evaluation.problems.iter().map(|one| (one.line, one.what.as_str())).collect();
    let wanted = [
        (12, "`1.850` is not an amount in USD"),
        (14, "`two` is not a number of working days"),
        (15, "`far` is not a length"),
        (17, "`howl` is nothing a price is counted by"),
    ];
    assert_eq!(told, wanted);
    assert_eq!(evaluation.problems[0].column, 24);
}

#[test]
fn each_cell_knows_its_bytes() {
    let document = Document::read(LAB);
    let table = prices::table(&document).unwrap();
    assert_eq!(table.rows.len(), 7);
    for row in &table.rows {
        for cell in row.cells.iter().filter(|cell| !cell.text.contains("RA4")) {
            assert_eq!(document.text.get(cell.range.clone()), Some(cell.text.as_str()));
        }
    }
    assert!(document.text[..table.end].ends_with("| Silver print | | ft² | | | | | |\n"));
    assert!(prices::table(&Document::read("| item | cost |\n|---|---|\n| a | 1 |\n")).is_none());
}

#[test]
fn what_a_shop_has_are_the_choices_of_a_given() {
    let text = "```workings\nlet paper = given(\"Paper\", \"Small proof\", shop(\"lab\").items);\n```\n";
    let (document, evaluation) = plan(text);
    assert_eq!(evaluation.problems, []);
    let given = &evaluation.record.givens[0];
    assert_eq!(given.choices.len(), 7);
    let changed = set_given(&document, given, "Pigment on rag").unwrap();
    assert_eq!(changed, document.text.replace("\"Paper\", \"Small proof\"", "\"Paper\", \"Pigment on rag\""));
    // Another shop that has no such thing leaves the blank, and says what it has.
    let (document, other) = plan(
        &text
            .replace("Small proof", "Bromoil")
            .replace("items);", "items);\ncost(\"Print\", shop(\"lab\").quote(paper));"),
    );
    assert!(
        other.problems[0].to_string().contains("Gull Lab has no `Bromoil` on its price list"),
        "{:?}",
        other.problems
    );
    assert_eq!(other.record.givens.len(), 1);
    assert!(set_given(&document, &other.record.givens[0], "0").unwrap().contains("\"Paper\", \"Chromogenic, gloss\""));
    assert_eq!(other.record.total(None).as_deref(), Some("Print, not known yet"));
}
