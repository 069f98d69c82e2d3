//! Functions a plan defines, and what they see.

use super::{blocks, facts, plan, problems, shown};

#[test]
fn a_function_sees_the_names_above_its_call() {
    let plan = blocks(&["let rate = 14.usd;
fn price(area) { area / 1.ft2 * rate }
let extra = 2.usd;
fn dear(area) { price(area) + extra }
let a = price(10.ft2);
let b = dear(10.ft2);"]);
    assert_eq!(problems(&plan), Vec::<String>::new());
    assert_eq!((shown(&plan, "a"), shown(&plan, "b")), ("$140.00".to_owned(), "$142.00".to_owned()));
}

#[test]
fn a_function_of_an_earlier_block_sees_names_above_its_call() {
    let plan = blocks(&["fn twice() { wide * 2 }", "let wide = 30.inch;\nlet a = twice();", "let b = twice();"]);
    assert_eq!(problems(&plan), Vec::<String>::new());
    assert_eq!((shown(&plan, "a"), shown(&plan, "b")), ("60 in".to_owned(), "60 in".to_owned()));
}

#[test]
fn a_name_below_the_call_is_not_seen() {
    let plan = blocks(&["fn twice() { wide * 2 }\nlet a = twice();\nlet wide = 30.inch;"]);
    assert!(problems(&plan).join(" ").contains("nothing here is called `wide`"), "{:?}", problems(&plan));
}

#[test]
fn a_parameter_goes_before_a_name_above() {
    let plan = blocks(&[
        "let wide = 30.inch;\nfn twice(wide) { wide * 2 }\nlet a = twice(1.inch);\nlet b = [1, 2].map(|wide| wide * 2);",
    ]);
    assert_eq!(problems(&plan), Vec::<String>::new());
    assert_eq!(shown(&plan, "a"), "2 in");
    assert_eq!(shown(&plan, "b"), "2, 4");
}

#[test]
fn a_function_of_a_rate_sheet_sees_the_names_above_it() {
    let sheet = "+++\nkind = \"rate sheet\"\n+++\n\n```workings\nlet rate = 14.usd;\nfn price(area) { area / 1.ft2 * rate }\nlet usual = price(2.ft2);\n```\n";
    let text = "```workings\nimport \"shops/lab\" as lab;\nlet rate = 1.usd;\nlet a = lab::price(10.ft2);\nlet b = lab::usual;\n```\n";
    let plan = plan(text, &facts(&[("shops/lab", sheet)]));
    assert_eq!(problems(&plan), Vec::<String>::new());
    assert_eq!((shown(&plan, "a"), shown(&plan, "b")), ("$140.00".to_owned(), "$28.00".to_owned()));
}

#[test]
fn an_import_is_known_below_a_name_functions_use() {
    let sheet = "+++\nkind = \"rate sheet\"\n+++\n\n```workings\nlet each = 3.usd;\nfn of(n) { n * each }\n```\n";
    let text = "```workings\nimport \"shops/lab\" as lab;\nlet rate = 2.usd;\nfn mine() { rate }\nlet a = mine() + lab::each + lab::of(2);\n```\n";
    let plan = plan(text, &facts(&[("shops/lab", sheet)]));
    assert_eq!(problems(&plan), Vec::<String>::new());
    assert_eq!(shown(&plan, "a"), "$11.00");
}

#[test]
fn what_a_block_reads_leaves_out_names_of_its_own() {
    let plan = blocks(&[
        "let wide = 30.inch;\nlet rate = 2.usd;",
        "fn price(size, count) { let area = size * size; for i in 0..count { area += size * wide; } area / 1.ft2 * rate }
let mine = price(wide, 2);
let all = 0;
for n in 0..3 { all += n; }
let list = [1, 2].map(|one| one + all);
let again = mine + rate;",
    ]);
    assert_eq!(problems(&plan), Vec::<String>::new());
    let mut reads = plan.blocks[1].reads().to_vec();
    reads.sort();
    assert_eq!(reads, ["rate", "wide"]);
}
