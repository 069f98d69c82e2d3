//! Reading never fails, whatever the text is.

use engine::document::Document;
use engine::render::{html, plain};

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

    /// A number from zero up to, and without, `end`.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        usize::try_from((self.next() >> 16) % (end as u64)).unwrap()
    }
}

/// Reads a text, calculates it and writes its page. Gives whether anything was read in it.
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

#[test]
fn a_head_longer_than_is_read_and_one_full_of_unknown_names_are_told_once_and_soon() {
    let keys = |count: usize| -> String { (0..count).map(|n| format!("kye{n} = 1\n")).collect() };
    let began = std::time::Instant::now();
    let long = Document::read(&format!("+++\n{}+++\n# A\n", keys(75_000)));
    assert_eq!(long.problems.len(), 1);
    assert_eq!(
        long.problems[0].to_string(),
        "2:1: the head of this document is 941 kB long, and at most 64 kB are read; take long texts out of the head and write them below its second line `+++`"
    );
    let full = Document::read(&format!("+++\n{}+++\n# A\n", keys(5_000)));
    assert_eq!(full.problems.len(), 100);
    // 5.6 to 9 seconds before, in a release; here without optimisation.
    assert!(began.elapsed() < std::time::Duration::from_secs(2), "{:?}", began.elapsed());
}

#[test]
fn a_head_with_too_many_shops_is_told_and_sections_for_others_are_told_so_often() {
    let shops: String = (0..3_000).map(|n| format!("s{n} = \"x\"\n")).collect();
    let sections = "# A {for=nobody}\n".repeat(20_000);
    let document = Document::read(&format!("+++\n[shops]\n{shops}+++\n{sections}"));
    assert_eq!(document.front.shops.len(), 100);
    assert!(document.problems.len() <= 101, "{}", document.problems.len());
    assert!(document.problems[0].to_string().contains("`shops` holds 3000 names, and at most 100 are read"));
}

#[test]
fn a_text_that_comes_apart_into_too_many_pieces_is_told_and_kept() {
    for part in ["*a* ", "- a\n", "| a | a |\n|---|---|\n| a | a |\n\n", "[a](b) "] {
        let text = format!("# A\n\n{}", part.repeat(900_000 / part.len()));
        let document = Document::read(&text);
        assert_eq!(document.text, text);
        let told: Vec<_> = document.problems.iter().map(ToString::to_string).collect();
        assert!(told.len() == 1 && told[0].contains("comes apart into more than 100000 pieces"), "{told:?}");
    }
}

#[test]
fn a_text_nested_without_end_is_read_and_shown_on_a_small_stack() {
    let deep =
        |open: &str, close: &str, count| format!("# A\n\n{}`? 1 + 1`{}\n", open.repeat(count), close.repeat(count));
    let line = |words: &str| format!("{}{words}\n", "> ".repeat(500));
    let quotes = [line("a").repeat(1_000), line("`? 1 + 1`")].concat();
    let texts = [
        deep("> ", "", 30_000),
        deep("- ", "", 10_000),
        deep("*a ", "*", 5_000),
        deep("![a ", "](a.jpg)", 5_000),
        deep("> - *a ", "*", 5_000),
        quotes,
    ];
    for text in texts {
        let shown = text.chars().take(20).collect::<String>();
        let small = std::thread::Builder::new().stack_size(512 << 10);
        let read = move || {
            let (document, worked) = (Document::read(&text), plan(&text, &facts(&[])));
            let page = html::article(&document, &worked, &html::View::default()).html;
            let paper = plain::whole(&document, &worked, &[]).blocks;
            (page, format!("{paper:?}"))
        };
        let (page, paper) = small.spawn(read).unwrap().join().unwrap();
        assert!(page.contains("\">2</span>") || page.contains("a 2\""), "{shown}");
        assert!(paper.contains("shown: \"2\"") || paper.contains("a 2\""), "{shown}");
        for tag in ["<blockquote>", "<ul>", "<em>", "<img"] {
            assert!(page.matches(tag).count() <= 32, "{tag} of {shown}");
        }
    }
}

#[test]
fn items_deeper_than_paper_nests_them_are_no_single_word_there() {
    let text = (0..9).map(|depth| format!("{}- item{depth}\n", "  ".repeat(depth))).collect::<String>();
    let paper = plain::whole(&Document::read(&text), &plan(&text, &facts(&[])), &[]).blocks;
    let mut lines = Vec::new();
    paper.iter().for_each(|block| block.lines(&mut lines));
    assert_eq!(lines, (0..9).map(|depth| format!("item{depth}")).collect::<Vec<_>>());
}
