//! Mistakes made on purpose, each with the exact answer: what was meant, and the corrected line where it can be known.

use engine::document::Document;
use engine::render::compare::{Kind, Results};

use super::{facts, plainly, plan};

const LAB: (&str, &str) = (
    "shops/weir-lab",
    "+++\nkind = \"rate sheet\"\ntitle = \"Weir Lab\"\n+++\n\n```workings\nlet least_ppi = 180.ppi;\nfn priced(wide) {\n    if wide > 50.inch { throw \"at most 50 in wide\"; }\n    wide / 1.inch * 2.usd\n}\n```\n",
);

/// Everything told of a text: problems, then doubts.
fn told(text: &str) -> Vec<String> {
    let plan = plan(text, &facts(&[LAB]));
    plan.problems.iter().chain(&plan.doubts).map(|one| plainly(&one.to_string())).collect()
}

/// What is told of one block of workings whose first line is line 1 here.
fn of_workings(block: &str) -> Vec<String> {
    let text = format!("```workings\n{block}\n```\n");
    let less = |told: String| {
        let (line, rest) = told.split_once(':').unwrap();
        format!("{}:{rest}", line.parse::<usize>().unwrap() - 1)
    };
    told(&text).into_iter().map(less).collect()
}

/// Each mistake with the first thing told of it.
fn each(all: &[(&str, &str)], told: impl Fn(&str) -> Vec<String>) {
    let mut wrong = Vec::new();
    for (written, wanted) in all {
        let got = told(written);
        let first = got.first().cloned().unwrap_or_default();
        if first != *wanted {
            wrong.push(format!("{written}\n  wanted {wanted}\n  got    {first}\n"));
        }
        for library in ["rhai", "Rhai", "TOML", "toml", "token", "expected", "Expecting", "syntax"] {
            if first.contains(library) {
                wrong.push(format!("{written}\n  holds words of a library: {first}\n"));
            }
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), all.len(), wrong.join("\n"));
}

#[test]
fn a_mistake_in_workings_is_answered_with_the_line_that_was_meant() {
    each(
        &[
            (
                "let a = $250;",
                "1:9: an amount of money is written `250.usd`, and here stands `$250`; write `let a = 250.usd;`",
            ),
            (
                "let a = $1,250.50;",
                "1:9: an amount of money is written `1250.50.usd`, and here stands `$1,250.50`; write `let a = 1250.50.usd;`",
            ),
            (
                "let a = 250€;",
                "1:9: an amount of money is written `250.eur`, and here stands `250€`; write `let a = 250.eur;`",
            ),
            (
                "let a = 50%;",
                "1:9: a share in percent is written `50.percent`, and here stands `50%`; write `let a = 50.percent;`",
            ),
            (
                "let a = price(500.usd, 500.usd, 50%);",
                "1:33: a share in percent is written `50.percent`, and here stands `50%`; write `let a = price(500.usd, 500.usd, 50.percent);`",
            ),
            (
                "let a = 60\";",
                "1:9: a length in inches is written `60.inch`, and here stands `60\"`; write `let a = 60.inch;`",
            ),
            (
                "let a = given(\"Width\", 60\");",
                "1:24: a length in inches is written `60.inch`, and here stands `60\"`; write `let a = given(\"Width\", 60.inch);`",
            ),
            (
                "let a = 5'11\";",
                "1:9: a length in feet and inches is written `(5.ft + 11.inch)`, and here stands `5'11\"`; write `let a = (5.ft + 11.inch);`",
            ),
            ("let a = 5';", "1:9: a length in feet is written `5.ft`, and here stands `5'`; write `let a = 5.ft;`"),
            (
                "let a = 63,5.inch;",
                "1:9: a number is written `63.5.inch`, and here stands `63,5.inch`; write `let a = 63.5.inch;`",
            ),
            (
                "let a = given(\"Width\", 63,5.inch);",
                "1:24: a number is written `63.5.inch`, and here stands `63,5.inch`; write `let a = given(\"Width\", 63.5.inch);`",
            ),
            (
                "let a = 23 15/16.inch;",
                "1:9: a number with a fraction is written `(23 + 15/16).inch`, and here stands `23 15/16.inch`; write `let a = (23 + 15/16).inch;`",
            ),
            (
                "let a = 60 1/2;",
                "1:9: a number with a fraction is written `(60 + 1/2)`, and here stands `60 1/2`; write `let a = (60 + 1/2);`",
            ),
            (
                "let a = 1,250.usd;",
                "1:9: a number is written `1250.usd`, and here stands `1,250.usd`; write `let a = 1250.usd;`",
            ),
            (
                "cost(\"Frame\", 1,250.usd);",
                "1:15: a number is written `1250.usd`, and here stands `1,250.usd`; write `cost(\"Frame\", 1250.usd);`",
            ),
            (
                "let f = film(\"4x5\");\nlet a = enlarge(f, -60.inch);",
                "2:9: `enlarge` needs a length above zero as its width, and here stands `−60 in`; take the minus sign away",
            ),
            (
                "let a = 24.in;",
                "1:9: a number with its unit is written `24.inch`, and here stands `24.in`; write `let a = 24.inch;`",
            ),
            (
                "let a = 24.inches;",
                "1:9: a number with its unit is written `24.inch`, and here stands `24.inches`; write `let a = 24.inch;`",
            ),
            (
                "let a = 5.feet;",
                "1:9: a number with its unit is written `5.ft`, and here stands `5.feet`; write `let a = 5.ft;`",
            ),
            (
                "let a = 300.dpi;",
                "1:9: a number with its unit is written `300.ppi`, and here stands `300.dpi`; write `let a = 300.ppi;`",
            ),
            (
                "let a = 5.dollars;",
                "1:9: an amount of money is written `5.usd`, and here stands `5.dollars`; write `let a = 5.usd;`",
            ),
            ("wide = 60.inch;", "1:1: `wide` is given its first value here without `let`; write `let wide = 60.inch;`"),
            (
                "let a = 1;\nwide = 60.inch;",
                "2:1: `wide` is given its first value here without `let`; write `let wide = 60.inch;`",
            ),
            (
                "let wide = 60 in;",
                "1:12: a number with its unit is written `60.inch`, and here stands `60 in`; write `let wide = 60.inch;`",
            ),
            (
                "let wide = 60 inches;",
                "1:12: a number with its unit is written `60.inch`, and here stands `60 inches`; write `let wide = 60.inch;`",
            ),
            (
                "let wide = 60in;",
                "1:12: a number with its unit is written `60.inch`, and here stands `60in`; write `let wide = 60.inch;`",
            ),
            (
                "let a = 35mm;",
                "1:9: a number with its unit is written `35.mm`, and here stands `35mm`; write `let a = 35.mm;`",
            ),
            (
                "import shops/weir-lab as lab;",
                "1:1: the path of a rate sheet stands in quotes; write `import \"shops/weir-lab\" as lab;`",
            ),
            (
                "import \"shops/weir-lab\";\nlet a = lab::least_ppi;",
                "2:9: there is no rate sheet called `lab` here; name one above: `import \"shops/…\" as lab;`, with its path in the quotes",
            ),
            (
                "let a = 3;\nmust(a = 3, \"Three\");",
                "2:8: `=` gives a name its value; two values are compared by `==`; write `must(a == 3, \"Three\");`",
            ),
            (
                "let a = 3;\nif a = 3 { a = 4; }",
                "2:6: `=` gives a name its value; two values are compared by `==`; write `if a == 3 { a = 4; }`",
            ),
            (
                "let f = film(\"4x5\");\nlet a = enlarge(60.inch, f);",
                "2:9: `enlarge` is given a length before a film, and takes them the other way round; write `enlarge(f, 60.inch)`",
            ),
            (
                "let a = with_border(2.inch, [60.inch, 48.inch]);",
                "1:9: `with_border` is given a length before a list, and takes them the other way round; write `with_border([60.inch, 48.inch], 2.inch)`",
            ),
            (
                "import \"shops/weir-lab\" as lab;\nlet a = lab::leest_ppi;",
                "2:9: the rate sheet `lab` has no `leest_ppi`; was `lab::least_ppi` meant?",
            ),
            (
                "import \"shops/weir-lab\" as lab;\nlet a = lab::price(2);",
                "2:14: the rate sheet `lab` has no `price`; was `lab::priced(wide)` meant?",
            ),
            (
                "import \"shops/weir-lab\" as lab;\nlet a = lab::frame;",
                "2:9: the rate sheet `lab` has no `frame`; it has `lab::least_ppi`, `lab::priced(wide)`",
            ),
            (
                "import \"shops/weir-lab\" as lab;\nlet a = lab::priced(60.inch);",
                "2:14: `shops/weir-lab` refuses this: at most 50 in wide; give `priced` something the shop makes, or ask another shop",
            ),
            (
                "let a = lab::priced(60.inch);",
                "1:9: there is no rate sheet called `lab` here; name one above: `import \"shops/…\" as lab;`, with its path in the quotes",
            ),
            (
                "let a = 3.inch\nlet b = 4.inch;",
                "1:15: a `;` is missing at the end of this statement; write `let a = 3.inch;`",
            ),
            (
                "let a = 3.inch;\n\nlet b = 4.inch\n\n// a remark\nlet c = 5.inch;",
                "3:15: a `;` is missing at the end of this statement; write `let b = 4.inch;`",
            ),
            (
                "cost(\"Scan\", 80.usd)\ncost(\"Print\", 90.usd);",
                "1:21: a `;` is missing at the end of this statement; write `cost(\"Scan\", 80.usd);`",
            ),
            (
                "let a = 3.inch let b = 4.inch;",
                "1:15: between `inch` and `let` something is missing: a `;`, or a mark like `*` or `+`; end each statement with `;` and join a unit to its number with a point: `63.inch`",
            ),
            (
                "let a = 3 inch;",
                "1:9: a number with its unit is written `3.inch`, and here stands `3 inch`; write `let a = 3.inch;`",
            ),
            ("let a = ;", "1:9: a value is missing before `;`; write a number with its unit, a name, or a calculation"),
            ("let a = (3 + 4;", "1:15: a closing `)` is missing here; write `let a = (3 + 4);`"),
            (
                "let a = \"Weir;",
                "1:9: a piece of text begins here and never ends; close it with a quote on the same line",
            ),
            (
                "let a = “Weir”;",
                "1:9: a text is written `\"Weir\"`, and here stands `“Weir”`; write `let a = \"Weir\";`",
            ),
            (
                "let a = frame(60.inch);",
                "1:9: there is no function called `frame`; was `float_frame` or `rabbet_frame` meant?",
            ),
            (
                "let a = 3; let b = a.width;",
                "1:22: there is no unit or part called `width`; write one of the units of the reference, like `63.inch`, `18.lb`, `4000.ppi`",
            ),
            (
                "let a = 48\" + 2'6\" + 3 1/2\";",
                "1:9: a length in inches is written `48.inch`, and here stands `48\"`; write `let a = 48.inch + (2.ft + 6.inch) + (3 + 1/2).inch;`",
            ),
            (
                "let a = given(\"Price\", $1,250);",
                "1:24: an amount of money is written `1250.usd`, and here stands `$1,250`; write `let a = given(\"Price\", 1250.usd);`",
            ),
            (
                "let a = 5′ 11″;",
                "1:9: a length in feet and inches is written `(5.ft + 11.inch)`, and here stands `5′ 11″`; write `let a = (5.ft + 11.inch);`",
            ),
            (
                "let a = 1.250,50.eur;",
                "1:9: a number is written `1250.50.eur`, and here stands `1.250,50.eur`; write `let a = 1250.50.eur;`",
            ),
            (
                "let a = 23-15/16 in;",
                "1:9: a number with a fraction is written `(23 + 15/16).inch`, and here stands `23-15/16 in`; write `let a = (23 + 15/16).inch;`",
            ),
            (
                "let a = 60inch * 2;",
                "1:9: a number with its unit is written `60.inch`, and here stands `60inch`; write `let a = 60.inch * 2;`",
            ),
            ("let print = 3.inch\n", ""),
            (
                "let a = shop(\"lba\");",
                "1:9: no shop of this plan is its `lba`, and no trade is called so; was `lab` meant?",
            ),
            (
                "let a = mat(3.inch, [20.inch, 30.inch]);",
                "1:9: `mat` is given a length before a list, and takes them the other way round; write `mat([20.inch, 30.inch], 3.inch)`",
            ),
            ("let a = 6'", "1:9: a length in feet is written `6.ft`, and here stands `6'`; write `let a = 6.ft`"),
            (
                "let a = hang_row(2.inch, [20.inch, 30.inch], 3);",
                "1:9: `hang_row` needs a width and a height as its size, and `2 in` is a length; write it like `[63.inch, 24.inch]`",
            ),
        ],
        of_workings,
    );
}

#[test]
fn a_mistake_in_the_text_around_is_answered_with_what_was_meant() {
    each(
        &[
            (
                "---\ntitle: Weir\n---\n# Weir\n",
                "1:1: the head of this document stands between lines `---`, and is taken for text; write `+++` in the place of each `---`, and its lines like `title = \"Weir\"`",
            ),
            (
                "# Weir\n\n```working\nlet a = 1;\n```\n",
                "3:1: this block is marked `working`, and is shown as it is and not calculated; mark it `workings` behind its three backticks",
            ),
            (
                "# Weir\n\n```Workings\nlet a = 1;\n```\n",
                "3:1: this block is marked `Workings`, and is shown as it is and not calculated; mark it `workings` behind its three backticks",
            ),
            (
                "# Weir\n\n```wrokings\nlet a = 1;\n```\n",
                "3:1: this block is marked `wrokings`, and is shown as it is and not calculated; mark it `workings` behind its three backticks",
            ),
            (
                "+++\ntitle = Weir\n+++\n# Weir\n",
                "2:9: the head of this document cannot be read: `title` is text and stands without quotes; write `title = \"Weir\"`",
            ),
            (
                "+++\ntitle = \"Weir\n+++\n# Weir\n",
                "2:14: the head of this document cannot be read: the text of `title` has no closing quote; write `title = \"Weir\"`",
            ),
            (
                "+++\ntitle: \"Weir\"\n+++\n# Weir\n",
                "2:8: the head of this document cannot be read: `title` is followed by a colon; write `title = \"Weir\"`",
            ),
            (
                "+++\ntitle = \"Weir\"\ntitle = \"Weir\"\n+++\n# Weir\n",
                "3:1: the head of this document cannot be read: `title` stands twice; take one of the two out",
            ),
            (
                "+++\nstart = 25 January 2027\n+++\n# Weir\n",
                "2:9: the head of this document cannot be read: `start` is `25 January 2027`, which is not a day; write it as 2027-01-25",
            ),
            (
                "+++\nstart = 1/25/2027\n+++\n# Weir\n",
                "2:9: the head of this document cannot be read: `start` is `1/25/2027`, which is not a day; write it as 2027-01-25",
            ),
            (
                "+++\n[shops\nlab = \"shops/weir-lab\"\n+++\n# Weir\n",
                "2:7: the head of this document cannot be read: `[shops` is the beginning of a table, and has no closing bracket; write `[shops]`",
            ),
            (
                "+++\ntitle\n+++\n# Weir\n",
                "2:6: the head of this document cannot be read: `title` is a name without a value; write each line as `name = value`",
            ),
            (
                "+++\nedition = 10,\n+++\n# Weir\n",
                "2:13: the head of this document cannot be read: `10,` is more than a value; write `edition = 10`",
            ),
            (
                "+++\n[shops]\nlab = \"Weir Lab\"\nlab = \"shops/weir-lab\"\n+++\n# Weir\n",
                "4:1: the head of this document cannot be read: `lab` stands twice; take one of the two out",
            ),
            (
                "# Weir\n\nIt is `? 3 + wied` wide.\n",
                "3:14: nothing here is called `wied`; give it a value above: `let wied = …;`",
            ),
            (
                "# Weir\n\nIt is `? 3 + ` wide.\n",
                "3:10: these workings end in the middle of something; close the last bracket or quote",
            ),
            (
                "# Weir\n\nIt is `? 60\"` wide.\n",
                "3:10: a length in inches is written `60.inch`, and here stands `60\"`; write `60.inch`",
            ),
            (
                "# Weir\n\nIt is `? 2 + 50%` wide.\n",
                "3:14: a share in percent is written `50.percent`, and here stands `50%`; write `2 + 50.percent`",
            ),
        ],
        told,
    );
}

#[test]
fn a_problem_told_in_other_words_by_a_later_version_is_no_other_result() {
    let text = "# Weir\n\n```workings\nlet a = 3;\nlet b = $250;\n```\n";
    let now = Results::of(&Document::read(text), &plan(text, &facts(&[])));
    let mut then = now.clone();
    let problem = then.rows.iter_mut().find(|row| row.kind == Kind::Problem).expect("a problem");
    problem.name = "`$` is a word the language keeps for itself".to_owned();
    assert_eq!(then.moved(&now).len(), 2, "on a page, between two texts, it is another problem");
    assert_eq!(then.moved_by_the_program(&now), Vec::new());
    then.rows.retain(|row| row.kind != Kind::Problem);
    assert_eq!(then.moved_by_the_program(&now).len(), 1, "a problem there was not is told");
}
