//! Mistakes made on purpose, each with the exact answer: what was meant, and the corrected line where it can be known.

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
            ("let a = $250;", ""),
            ("let a = $1,250.50;", ""),
            ("let a = 250€;", ""),
            ("let a = 50%;", ""),
            ("let a = price(500.usd, 500.usd, 50%);", ""),
            ("let a = 60\";", ""),
            ("let a = given(\"Width\", 60\");", ""),
            ("let a = 5'11\";", ""),
            ("let a = 5';", ""),
            ("let a = 63,5.inch;", ""),
            ("let a = given(\"Width\", 63,5.inch);", ""),
            ("let a = 23 15/16.inch;", ""),
            ("let a = 60 1/2;", ""),
            ("let a = 1,250.usd;", ""),
            ("cost(\"Frame\", 1,250.usd);", ""),
            ("let f = film(\"4x5\");\nlet a = enlarge(f, -60.inch);", ""),
            ("let a = 24.in;", ""),
            ("let a = 24.inches;", ""),
            ("let a = 5.feet;", ""),
            ("let a = 300.dpi;", ""),
            ("let a = 5.dollars;", ""),
            ("wide = 60.inch;", ""),
            ("let a = 1;\nwide = 60.inch;", ""),
            ("let wide = 60 in;", ""),
            ("let wide = 60 inches;", ""),
            ("let wide = 60in;", ""),
            ("let a = 35mm;", ""),
            ("import shops/weir-lab as lab;", ""),
            ("import \"shops/weir-lab\";\nlet a = lab::least_ppi;", ""),
            ("let a = 3;\nmust(a = 3, \"Three\");", ""),
            ("let a = 3;\nif a = 3 { a = 4; }", ""),
            ("let f = film(\"4x5\");\nlet a = enlarge(60.inch, f);", ""),
            ("let a = with_border(2.inch, [60.inch, 48.inch]);", ""),
            ("import \"shops/weir-lab\" as lab;\nlet a = lab::leest_ppi;", ""),
            ("import \"shops/weir-lab\" as lab;\nlet a = lab::price(2);", ""),
            ("import \"shops/weir-lab\" as lab;\nlet a = lab::frame;", ""),
            ("import \"shops/weir-lab\" as lab;\nlet a = lab::priced(60.inch);", ""),
            ("let a = lab::priced(60.inch);", ""),
            ("let a = 3.inch\nlet b = 4.inch;", ""),
            ("let a = 3.inch;\n\nlet b = 4.inch\n\n// a remark\nlet c = 5.inch;", ""),
            ("cost(\"Scan\", 80.usd)\ncost(\"Print\", 90.usd);", ""),
            ("let a = 3.inch let b = 4.inch;", ""),
            ("let a = 3 inch;", ""),
            ("let a = ;", ""),
            ("let a = (3 + 4;", ""),
            ("let a = \"Weir;", ""),
            ("let a = “Weir”;", ""),
            ("let a = frame(60.inch);", ""),
            ("let a = 3; let b = a.width;", ""),
        ],
        of_workings,
    );
}

#[test]
fn a_mistake_in_the_text_around_is_answered_with_what_was_meant() {
    each(
        &[
            ("---\ntitle: Weir\n---\n# Weir\n", ""),
            ("# Weir\n\n```working\nlet a = 1;\n```\n", ""),
            ("# Weir\n\n```Workings\nlet a = 1;\n```\n", ""),
            ("# Weir\n\n```wrokings\nlet a = 1;\n```\n", ""),
            ("+++\ntitle = Weir\n+++\n# Weir\n", ""),
            ("+++\ntitle = \"Weir\n+++\n# Weir\n", ""),
            ("+++\ntitle: \"Weir\"\n+++\n# Weir\n", ""),
            ("+++\ntitle = \"Weir\"\ntitle = \"Weir\"\n+++\n# Weir\n", ""),
            ("+++\nstart = 25 January 2027\n+++\n# Weir\n", ""),
            ("+++\nstart = 1/25/2027\n+++\n# Weir\n", ""),
            ("+++\n[shops\nlab = \"shops/weir-lab\"\n+++\n# Weir\n", ""),
            ("+++\ntitle\n+++\n# Weir\n", ""),
            ("+++\nedition = 10,\n+++\n# Weir\n", ""),
            ("+++\n[shops]\nlab = \"Weir Lab\"\nlab = \"shops/weir-lab\"\n+++\n# Weir\n", ""),
            ("# Weir\n\nIt is `? 3 + wied` wide.\n", ""),
            ("# Weir\n\nIt is `? 3 + ` wide.\n", ""),
            ("# Weir\n\nIt is `? 60\"` wide.\n", ""),
            ("# Weir\n\nIt is `? 2 + 50%` wide.\n", ""),
        ],
        told,
    );
}
