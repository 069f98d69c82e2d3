//! Plans, heads, entries, expressions and scripts of any text, and files of any bytes.

use std::sync::Arc;
use std::time::Duration;

use engine::document::{Document, change};
use engine::evaluate::Compiled;
use engine::measure::Day;
use engine::render::html::View;
use server::evaluator::{calculate, limit};
use server::names::Name;

use crate::active::active;
use crate::marks::MARKS;
use crate::program::{Dice, notebook};
use crate::tries::{Tries, elements, text};
use crate::{calculated, facts, on_a_thread};

/// What plans are made of, and what breaks readers. None of it is anyone's file.
pub(crate) const PIECES: &[&str] = &[
    "+++\n",
    "+++",
    "title = \"a\"\n",
    "edition = 12\n",
    "[shops]\n",
    "lab = \"x\"\n",
    "kind = \"rates\"\n",
    "units = \"metric\"\n",
    "# ",
    "## ",
    "{for=lab}",
    "{private}",
    "\n",
    "\n\n",
    "```workings\n",
    "```\n",
    "~~~\n",
    "`? ",
    "`",
    "``",
    "let a = ",
    "given(\"x\", ",
    "12.inch",
    "3/4",
    "23 15/16",
    "63.mm",
    "1250.usd",
    "must(",
    "cost(\"a\", ",
    "step(\"b\", 3.days)",
    ")",
    ";",
    "import \"x\" as y;\n",
    "|",
    "|---|",
    "- ",
    "- [ ] ",
    "- [x] ",
    "1. ",
    "> ",
    "*",
    "**",
    "_",
    "~~",
    "[",
    "]",
    "(",
    "[a](b)",
    "![",
    "<",
    ">",
    "<b>",
    "&amp;",
    "&#x41;",
    "&",
    "\\",
    "\"",
    "'",
    "\t",
    "    ",
    "\u{feff}",
    "\r\n",
    "\0",
    "é",
    "e\u{301}",
    "𝔘",
    "\u{202e}",
    "\u{200b}",
    "-",
    "---",
    "===",
    "[^1]",
    "[^1]: ",
    "1e400",
    "9999999999999999999",
    "-0",
    "0x",
    "1.2.3",
    "//",
    "/*",
    "*/",
    "#{",
    "}",
    "${",
    "if ",
    "loop {",
    "fn f(x) { f(x) }",
    "a.b.c",
    "[[[[",
    "((((",
    "a a a a",
];

#[test]
fn plans_of_any_text_are_read_calculated_and_shown() {
    on_a_thread(|| {
        let (mut tries, compiled) = (Tries::of("plans", 1, PIECES, 1500), Arc::new(Compiled::default()));
        let mut longest = Duration::ZERO;
        while let Some(text) = tries.next(|dice| text(dice, PIECES, 60)) {
            let began = calculated();
            let worked = calculate(&text, &facts(), &View::default(), &compiled);
            let took = calculated() - began;
            longest = longest.max(took);
            assert!(took < Duration::from_secs(2), "it took {took:?}: {text:?}");
            assert_eq!(
                worked.document.text,
                text.strip_prefix('\u{feff}').unwrap_or(&text),
                "the text is kept as it is"
            );
            let again = calculate(&text, &facts(), &View::default(), &compiled);
            if worked.evaluation.problems.iter().all(|problem| !problem.what.contains("too long")) {
                assert_eq!(worked.article(), again.article(), "not the same twice: {text:?}");
            }
            let problems = worked.evaluation.problems.iter().map(|problem| problem.what.clone());
            tries.showed(&text, problems.chain(elements(&worked.article().html)));
        }
        println!("longest: {longest:?}");
    });
}

#[test]
fn pages_of_any_text_hold_nothing_that_acts() {
    on_a_thread(|| {
        let (mut tries, compiled) = (Tries::of("html", 14, MARKS, 1500), Arc::new(Compiled::default()));
        while let Some(text) = tries.next(|dice| text(dice, MARKS, 50)) {
            let worked = calculate(&text, &facts(), &View::default(), &compiled);
            let html = &worked.article().html;
            assert_eq!(active(html, false), Vec::<String>::new(), "{text:?}");
            tries.showed(&text, elements(html));
        }
    });
}

#[test]
fn bytes_of_any_kind_in_a_file_are_read_or_refused() {
    // Each letter is one byte, so that these stand for bytes that are not text too.
    const BYTES: &[&str] = &[
        "a",
        " ",
        "\n",
        "\r\n",
        "\0",
        "#",
        "+++",
        "\u{7f}",
        "\u{80}",
        "\u{bf}",
        "\u{c0}\u{80}",
        "\u{c3}\u{a9}",
        "\u{c3}",
        "\u{e2}\u{82}\u{ac}",
        "\u{ed}\u{a0}\u{80}",
        "\u{ef}\u{bb}\u{bf}",
        "\u{f0}\u{9f}\u{96}\u{bc}",
        "\u{f0}\u{9f}",
        "\u{f4}\u{90}\u{80}\u{80}",
        "\u{ff}",
        "\u{fe}",
    ];
    let folder = notebook(&[]);
    let mut tries = Tries::of("bytes", 2, BYTES, 300);
    let name = Name::new("any").unwrap();
    while let Some(text) = tries.next(|dice| text(dice, BYTES, 60)) {
        let bytes: Vec<u8> = text.chars().map(|letter| letter as u32 as u8).collect();
        std::fs::write(folder.path().join("any.md"), &bytes).unwrap();
        match server::folder::read(folder.path(), &name) {
            Ok(kept) => {
                assert_eq!(kept.text.as_bytes(), bytes);
                tries.showed(&text, [format!("read {}", kept.text.starts_with('\u{feff}'))]);
            }
            Err(refusal) => {
                let what = refusal.message().what.clone();
                assert!(std::str::from_utf8(&bytes).is_err() && what.contains("line"), "{refusal}");
                tries.showed(&text, [what]);
            }
        }
    }
}

#[test]
fn heads_of_any_text_are_read() {
    const HEAD: &[&str] = &[
        "title",
        "kind",
        "edition",
        "proofs",
        "units",
        "currency",
        "shops",
        "hung",
        "quoted",
        "from",
        "holidays",
        " = ",
        "\"",
        "'",
        "\"\"\"",
        "'''",
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        ",",
        ".",
        "\n",
        "#",
        "12",
        "-1",
        "1e9",
        "10001",
        "inf",
        "nan",
        "2026-11-25",
        "2026-13-45",
        "true",
        "\\u0041",
        "\\",
        "é",
        "\0",
        "=",
        "a.b",
        "\"a\".b",
        "+++",
    ];
    on_a_thread(|| {
        let mut tries = Tries::of("heads", 3, HEAD, 4000);
        // Half of them are lines as a head has them, with a name it knows and a value that may not fit.
        let line =
            |dice: &mut Dice| format!("{} = {}\n", HEAD[dice.roll(11) as usize], HEAD[26 + dice.roll(9) as usize]);
        let make = |dice: &mut Dice| match dice.roll(2) {
            0 => text(dice, HEAD, 30),
            _ => (0..=dice.roll(3)).map(|_| line(dice)).collect(),
        };
        let mut editions = 0;
        while let Some(head) = tries.next(make) {
            let text = format!("+++\n{head}\n+++\n\n# Title\n");
            let document = Document::read(&text);
            assert_eq!(document.text, text);
            let front = &document.front;
            assert!(front.edition.max(front.proofs) <= 10_000, "{head:?}");
            editions += usize::from(front.edition > 0);
            let _ = engine::document::copy::next_piece(&document, "a", "B", Day::new(2026, 11, 25).unwrap(), &[]);
            tries.showed(&head, document.problems.iter().map(|problem| problem.what.clone()));
        }
        assert!(editions > 10, "{editions} heads name an edition, which says nothing");
    });
}

#[test]
fn a_given_is_rewritten_and_nothing_else() {
    const ENTERED: &[&str] = &[
        "12", "3/4", " 15/16", "\"", "'", "mm", ".inch", "in", "ft", ";", ")", "\\", "\n", "é", "-", ".", ",", "0",
        "1e9", "//", "true", "usd", "${", "`", "```",
    ];
    on_a_thread(|| {
        let (mut tries, compiled) = (Tries::of("entries", 4, ENTERED, 2000), Arc::new(Compiled::default()));
        let text_of = "+++\ntitle = \"A\"\n+++\n\n# A\n\n```workings\nlet wide = given(\"Width\", 60.inch); // a remark\nlet words = given(\"Words\", \"oak\");\nlet many = given(\"Many\", 12, [6, 12, 24]);\nlet price = given(\"Price\", 12.50.usd);\nlet yes = given(\"Yes\", true);\n```\n\nEnd.\n";
        let document = Document::read(text_of);
        let worked = calculate(text_of, &facts(), &View::default(), &compiled);
        let givens = &worked.evaluation.record.givens;
        assert_eq!(givens.len(), 5);
        let mut changed = 0;
        while let Some(text) = tries.next(|dice| format!("{}{}", dice.roll(5), text(dice, ENTERED, 6))) {
            let mut entered = text.chars();
            let which = entered.next().map_or(0, |letter| letter as usize % 5);
            let entered = entered.as_str();
            let new = match change::set_given(&document, &givens[which], entered) {
                Ok(new) => new,
                Err(message) => {
                    tries.showed(&text, [message.what]);
                    continue;
                }
            };
            changed += 1;
            tries.showed(&text, [format!("given {}", ["a", "b", "c", "d", "e"][which])]);
            let after = calculate(&new, &facts(), &View::default(), &compiled);
            assert!(after.evaluation.problems.is_empty(), "{entered:?} made {new:?}: {:?}", after.evaluation.problems);
            assert_eq!(after.evaluation.record.givens.len(), 5, "{entered:?}");
            // Only one line differs, and only within it.
            let apart = text_of.lines().zip(new.lines()).filter(|(a, b)| a != b).count();
            assert!(apart <= 1 && text_of.lines().count() == new.lines().count(), "{entered:?} changed {apart} lines");
        }
        assert!(changed > 100, "only {changed} were taken");
    });
}

#[test]
fn numbers_units_and_fractions_of_any_text_are_calculated_or_explained() {
    const NUMBERS: &[&str] = &[
        "1",
        "0",
        "12",
        "3/4",
        "23 15/16",
        ".5",
        "1.",
        "1e9",
        "9999999999999999999999",
        "1e27.usd",
        "*1e9",
        "-",
        "+",
        "*",
        "/",
        "%",
        "(",
        ")",
        ".inch",
        ".mm",
        ".ft",
        ".usd",
        ".days",
        ".ppi",
        ".lb",
        " ",
        ",",
        "max(",
        "min(",
        "round(",
        "enlarge(",
        "film(\"6x12\")",
        "[",
        "]",
        "\"a\"",
        "==",
        "<",
        "&&",
        "!",
        "a",
        "1.0/0.0",
        ".inch.inch",
        "é",
    ];
    on_a_thread(|| {
        let mut tries = Tries::of("expressions", 5, NUMBERS, 6000);
        let mut right = 0;
        while let Some(expression) = tries.next(|dice| text(dice, NUMBERS, 10)) {
            match engine::evaluate::expression(&expression, Some(limit(&std::sync::Arc::default()))) {
                Ok(found) => {
                    right += 1;
                    tries.showed(&expression, [format!("{:?}", std::mem::discriminant(&found.value))]);
                    let shown = found.value.shown(engine::measure::Units::Inch);
                    assert!(shown.len() < 100_000, "{expression:?}");
                    let money = matches!(found.value, engine::Value::Money(_));
                    assert!(
                        !money || !(shown.contains("inf") || shown.contains("NaN")),
                        "{expression:?} gives {shown}"
                    );
                }
                Err(message) => {
                    assert!(!message.what.is_empty() && !message.next.is_empty(), "{expression:?} is not explained");
                    tries.showed(&expression, [message.what]);
                }
            }
        }
        println!("{right} had a value");
        assert!(right > 50);
    });
}

#[test]
fn scripts_of_any_text_end_within_their_limits() {
    const SCRIPT: &[&str] = &[
        "let a = ",
        "a",
        "b",
        "1",
        "\"x\"",
        "[a, a]",
        "a.push(a)",
        "a + a",
        "while true { ",
        "loop { ",
        "for i in 0..1000000 { ",
        "}",
        "if a > 1 { ",
        "else {",
        "fn f(x) { ",
        "f(f(1))",
        "f",
        "(",
        ")",
        ";\n",
        "|x| x",
        "a[0]",
        "a[0] = a",
        "#{a: a}",
        "a.b = a",
        "`${a}`",
        "switch a { 1 => 2 }",
        "try { ",
        "catch { ",
        "throw a",
        "return",
        "break",
        "continue",
        "import \"a\" as b",
        "export a",
        "this",
        "is_shared",
        "a?.b",
        "a ?? b",
        "1..9",
        "!a",
        "a != b",
        "12.inch",
        "eval(\"1\")",
        "Fn(\"f\")",
        "a.len()",
        "a.map(|x| x * 2)",
        "\"x\".repeat(9999)",
        "sleep(9)",
        "timestamp()",
        "//",
        "\n",
    ];
    on_a_thread(|| {
        let (mut tries, compiled) = (Tries::of("scripts", 6, SCRIPT, 800), Arc::new(Compiled::default()));
        let mut longest = Duration::ZERO;
        while let Some(script) = tries.next(|dice| text(dice, SCRIPT, 30)) {
            let plan = format!("# A\n\n```workings\n{script}\n```\n");
            let before = server::memory::live();
            let began = calculated();
            let worked = calculate(&plan, &facts(), &View::default(), &compiled);
            let took = calculated() - began;
            longest = longest.max(took);
            assert!(took < Duration::from_secs(2), "{took:?}: {script}");
            tries.showed(&script, worked.evaluation.problems.iter().map(|problem| problem.what.clone()));
            drop(worked);
            assert!(server::memory::live() - before < 40 << 20, "memory is kept: {script}");
        }
        println!("longest: {longest:?}");
    });
}
