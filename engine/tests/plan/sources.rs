//! From a number on the page to the source of its rule: the name of the function in the workings leads to the reference.

use engine::document::Document;
use engine::measure::Day;
use engine::render::html::{View, article};
use engine::{Facts, evaluate};

fn page(workings: &str) -> String {
    let document = Document::read(&format!("# One\n\n```workings\n{workings}\n```\n"));
    let facts = Facts::on(Day::parse("2026-11-02").unwrap());
    article(&document, &evaluate(&document, &facts, &Default::default(), None), &View::default()).html
}

#[test]
fn a_function_in_the_workings_leads_to_what_the_reference_says_of_it() {
    let page =
        page("let scan = scan(film(\"6x17\"), 4000.ppi); // film(\nmust(scan.optical > 1.ppi, \"no scan( here\");");
    for name in ["scan", "film", "must"] {
        assert_eq!(page.matches(&format!("<a href=\"/reference#f-{name}\">{name}</a>")).count(), 1, "{name}: {page}");
    }
    // Text and functions of the plan's own are left as they are.
    assert!(page.contains("&quot;no scan( here&quot;"), "{page}");
    assert!(page.contains("// film("), "{page}");
}

#[test]
fn what_is_not_ours_leads_nowhere() {
    let page = page(
        "fn scanned(a) { a }\nlet x = scanned(2);\nlet y = lab::film(1);\nlet z = \"\\\"film(\";\nlet w = <b>film</b>(1);",
    );
    assert!(!page.contains("/reference"), "{page}");
    assert!(page.contains("&lt;b&gt;film&lt;/b&gt;("), "{page}");
}
