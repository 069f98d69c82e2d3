//! Reading never fails, whatever the text is.

use engine::document::{Document, html};

use super::{facts, plan};

/// Numbers that look like chance and are the same every time.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A number from nought up to, and without, `end`.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        usize::try_from((self.next() >> 16) % (end as u64)).unwrap()
    }
}

/// Reads a text, works it out and writes its page. Gives whether anything was read in it.
fn whole_way(text: &str) -> bool {
    let document = Document::read(text);
    let worked = plan(text, &facts(&[]));
    let page = html::article(&document, &worked, &html::View::default()).html;
    assert!(!page.contains("<script"), "{text:?}");
    for problem in &worked.problems {
        assert!(problem.line >= 1 && problem.column >= 1, "{problem:?}");
    }
    for (number, given) in worked.record.givens.iter().enumerate() {
        // A change either works or says why not.
        let _ = engine::document::change::set_given(&document, given, &number.to_string());
    }
    !document.blocks.is_empty() || !document.asks.is_empty()
}

#[test]
fn any_bytes_are_read_without_a_panic() {
    let mut chance = Chance::new(7);
    for _ in 0..400 {
        let count = chance.below(600);
        let bytes: Vec<u8> = (0..count).map(|_| u8::try_from(chance.below(256)).unwrap()).collect();
        whole_way(&String::from_utf8_lossy(&bytes));
    }
}

#[test]
fn any_mix_of_marks_is_read_without_a_panic() {
    const MARKS: &[&str] = &[
        "# ",
        "## ",
        "\n",
        "\n\n",
        "```workings\n",
        "```\n",
        "~~~workings\n",
        "~~~\n",
        "`? ",
        "`",
        "? ",
        "wide",
        "+++\n",
        "title = \"a\"\n",
        "edition = 3\n",
        "units = \"metric\"\n",
        "[shops]\n",
        "lab = \"shops/lab\"\n",
        "- [ ] ",
        "- [x] ",
        "| a | b |\n|---|---|\n",
        "|",
        "> ",
        "    ",
        "\t",
        "1. ",
        "[^a]",
        "[^a]: ",
        "{for=lab}",
        "{private}",
        "{.x #y a=b}",
        "<script>alert(1)</script>",
        "<b>",
        "&amp;",
        "![a](b.jpg)",
        "![a](http://example.org/a.jpg)",
        "[a](javascript:x)",
        "let wide = 2.inch;\n",
        "let a = given(\"A\", 63.inch, [63.inch, 72.inch]);\n",
        "must(a > 1.inch, \"x\");\n",
        "cost(\"a\", 1.usd);\n",
        "step(\"a\", 1.days);\n",
        "hangs([1.inch, 2.inch]);\n",
        "fn f(x) { x }\n",
        "costs()",
        "steps()",
        "on_the_wall()",
        "(",
        ")",
        "{",
        "}",
        "\"",
        "\\",
        "é",
        "\u{1F9E8}",
        "\u{202e}",
        "\u{0}",
        "\r\n",
        "\r",
        "---\n",
        "***",
        "~~",
        "$x$",
        "\u{feff}",
        "total()",
        " = ",
        ";",
    ];
    let mut chance = Chance::new(11);
    let mut read = 0;
    for _ in 0..700 {
        let count = 1 + chance.below(60);
        let text: String = (0..count).map(|_| MARKS[chance.below(MARKS.len())]).collect();
        read += usize::from(whole_way(&text));
    }
    // The mixes are ones that matter.
    assert!(read > 100, "{read}");
}

#[test]
fn a_shipped_plan_cut_anywhere_is_read_without_a_panic() {
    let mut chance = Chance::new(13);
    for text in super::notebooks::documents().values() {
        for _ in 0..6 {
            let (from, to) = (chance.below(text.len()), chance.below(text.len()));
            let part: String = text.chars().skip(from.min(to)).take(from.abs_diff(to)).collect();
            whole_way(&part);
        }
    }
}
