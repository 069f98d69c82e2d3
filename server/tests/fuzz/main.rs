//! Texts nobody would write, thrown at everything that reads: nothing breaks, nothing hangs, nothing grows out of hand.
//!
//! Each target is a test of its own with a seed, so that what it finds is found again. `MAKEREADY_FUZZ=100` runs each a
//! hundred times as long; `MAKEREADY_SEED=7` throws other dice.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::body::Body;
use axum::http::Request;
use engine::document::html::View;
use engine::document::{Document, change};
use engine::measure::Day;
use engine::script::Compiled;
use engine::{Facts, evaluate};
use program::{Dice, long_form, notebook};
use proptest::prelude::*;
use server::clock::Clock;
use server::evaluator::{calculate, limit};
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

/// What plans are made of, and what breaks readers. None of it is anyone's file.
const PIECES: &[&str] = &[
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

fn text(dice: &mut Dice, pieces: &[&str], most: u64) -> String {
    let count = 1 + dice.roll(most);
    let mut text = String::new();
    for _ in 0..count {
        let piece = pieces[dice.roll(pieces.len() as u64) as usize];
        let times = if dice.roll(12) == 0 { 1 + dice.roll(40) } else { 1 };
        for _ in 0..times {
            text.push_str(piece);
        }
    }
    text
}

fn dice(salt: u64) -> Dice {
    Dice(long_form("MAKEREADY_SEED", 20_261_125) as u64 ^ (salt << 32) | 1)
}

fn rounds(short: usize) -> usize {
    short * long_form("MAKEREADY_FUZZ", 1)
}

fn facts() -> Facts {
    Facts { sheets: Arc::new(BTreeMap::new()), ..Facts::on(Day::new(2026, 11, 25).unwrap()) }
}

/// On a thread like the server's own: a text so deep that its stack ends would end the program.
fn on_a_thread<T: Send + 'static>(act: impl FnOnce() -> T + Send + 'static) -> T {
    std::thread::Builder::new().stack_size(16 << 20).spawn(act).unwrap().join().expect("it does not break")
}

#[test]
fn plans_of_any_text_are_read_worked_out_and_shown() {
    on_a_thread(|| {
        let (mut dice, compiled) = (dice(1), Arc::new(Compiled::default()));
        let mut longest = Duration::ZERO;
        for round in 0..rounds(1500) {
            let text = text(&mut dice, PIECES, 60);
            let began = Instant::now();
            let worked = calculate(&text, &facts(), &View::default(), &compiled);
            longest = longest.max(began.elapsed());
            assert!(began.elapsed() < Duration::from_secs(2), "round {round} took {:?}: {text:?}", began.elapsed());
            assert_eq!(
                worked.document.text,
                text.strip_prefix('\u{feff}').unwrap_or(&text),
                "the text is kept as it is"
            );
            let again = calculate(&text, &facts(), &View::default(), &compiled);
            if worked.evaluation.problems.iter().all(|problem| !problem.what.contains("too long")) {
                assert_eq!(worked.article, again.article, "round {round}: not the same twice: {text:?}");
            }
        }
        println!("longest: {longest:?}");
    });
}

#[test]
fn bytes_of_any_kind_in_a_file_are_read_or_refused() {
    let folder = notebook(&[]);
    let mut dice = dice(2);
    let name = Name::new("any").unwrap();
    for _ in 0..rounds(300) {
        let length = dice.roll(200) as usize;
        let bytes: Vec<u8> = (0..length)
            .map(|_| if dice.roll(4) == 0 { dice.roll(256) as u8 } else { b' ' + dice.roll(95) as u8 })
            .collect();
        std::fs::write(folder.path().join("any.md"), &bytes).unwrap();
        match server::folder::read(folder.path(), &name) {
            Ok(kept) => assert_eq!(kept.text.as_bytes(), bytes),
            Err(refusal) => {
                assert!(std::str::from_utf8(&bytes).is_err() && refusal.trouble().what.contains("line"), "{refusal}")
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
        let mut dice = dice(3);
        for _ in 0..rounds(4000) {
            let text = format!("+++\n{}\n+++\n\n# Title\n", text(&mut dice, HEAD, 30));
            let document = Document::read(&text);
            assert_eq!(document.text, text);
            let _ = engine::document::copy::next_piece(&document, "a", "B", Day::new(2026, 11, 25).unwrap(), &[]);
        }
    });
}

#[test]
fn a_given_is_rewritten_and_nothing_else() {
    const ENTERED: &[&str] = &[
        "12", "3/4", " 15/16", "\"", "'", "mm", ".inch", "in", "ft", ";", ")", "\\", "\n", "é", "-", ".", ",", "0",
        "1e9", "//", "true", "usd", "${", "`", "```",
    ];
    on_a_thread(|| {
        let (mut dice, compiled) = (dice(4), Arc::new(Compiled::default()));
        let text_of = "+++\ntitle = \"A\"\n+++\n\n# A\n\n```workings\nlet wide = given(\"Width\", 60.inch); // a remark\nlet words = given(\"Words\", \"oak\");\nlet many = given(\"Many\", 12, [6, 12, 24]);\nlet price = given(\"Price\", 12.50.usd);\nlet yes = given(\"Yes\", true);\n```\n\nEnd.\n";
        let document = Document::read(text_of);
        let worked = calculate(text_of, &facts(), &View::default(), &compiled);
        let givens = &worked.evaluation.record.givens;
        assert_eq!(givens.len(), 5);
        let mut changed = 0;
        for _ in 0..rounds(2000) {
            let entered = text(&mut dice, ENTERED, 6);
            let which = dice.roll(5) as usize;
            let Ok(new) = change::set_given(&document, &givens[which], &entered) else { continue };
            changed += 1;
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
fn numbers_units_and_fractions_of_any_text_are_worked_out_or_explained() {
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
        let mut dice = dice(5);
        let mut right = 0;
        for _ in 0..rounds(6000) {
            let expression = text(&mut dice, NUMBERS, 10);
            match engine::evaluate::expression(&expression, Some(limit(&std::sync::Arc::default()))) {
                Ok(found) => {
                    right += 1;
                    let shown = found.value.shown(engine::measure::Units::Inch);
                    assert!(shown.len() < 100_000, "{expression:?}");
                    let money = matches!(found.value, engine::Value::Money(_));
                    assert!(
                        !money || !(shown.contains("inf") || shown.contains("NaN")),
                        "{expression:?} gives {shown}"
                    );
                }
                Err(trouble) => {
                    assert!(!trouble.what.is_empty() && !trouble.next.is_empty(), "{expression:?} is not explained")
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
        let (mut dice, compiled) = (dice(6), Arc::new(Compiled::default()));
        let mut longest = Duration::ZERO;
        for _ in 0..rounds(800) {
            let script = text(&mut dice, SCRIPT, 30);
            let plan = format!("# A\n\n```workings\n{script}\n```\n");
            let before = server::memory::live();
            let began = Instant::now();
            let worked = calculate(&plan, &facts(), &View::default(), &compiled);
            longest = longest.max(began.elapsed());
            assert!(began.elapsed() < Duration::from_secs(2), "{:?}: {script}", began.elapsed());
            drop(worked);
            assert!(server::memory::live() - before < 40 << 20, "memory is kept: {script}");
        }
        println!("longest: {longest:?}");
    });
}

/// The app without a network, for requests of any shape.
struct Asked {
    app: axum::Router,
    runtime: tokio::runtime::Runtime,
    _end: tokio::sync::watch::Sender<bool>,
    _folder: tempfile::TempDir,
}

impl Asked {
    fn new() -> Self {
        let folder = notebook(&[("one", "+++\ntitle = \"One\"\nedition = 5\n+++\n\n# One\n\n- [ ] a box\n")]);
        let store = Store::open(folder.path()).unwrap();
        let notebook =
            Notebook::open(folder.path().to_path_buf(), store, Clock::Fixed(Day::new(2026, 11, 25).unwrap())).unwrap();
        let (end, ending) = tokio::sync::watch::channel(false);
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
        Self { app: app(App::new(Arc::new(notebook), Vec::new(), ending)), runtime, _end: end, _folder: folder }
    }

    fn ask(&self, request: Request<Body>) -> u16 {
        self.runtime.block_on(self.app.clone().oneshot(request)).unwrap().status().as_u16()
    }

    fn write(&self, path: &str, body: String) -> u16 {
        let request = Request::post(path)
            .header("host", "localhost")
            .header("sec-fetch-site", "same-origin")
            .body(Body::from(body));
        request.map_or(400, |request| self.ask(request))
    }
}

#[test]
fn hosts_and_origins_of_any_text_are_answered_only_when_they_are_ours() {
    const HOST: &[&str] = &[
        "localhost",
        "127.0.0.1",
        "[::1]",
        "evil.example",
        ":",
        "6170",
        ".",
        "@",
        "/",
        "http://",
        "https://",
        "null",
        " ",
        ",",
        "LOCALHOST",
        "%00",
        "[",
        "]",
        "é",
        "-",
    ];
    let asked = Asked::new();
    let mut dice = dice(7);
    let ours = |host: &str| {
        let name = host
            .rsplit_once(':')
            .filter(|(name, port)| !name.is_empty() && port.bytes().all(|b| b.is_ascii_digit()))
            .map_or(host, |(name, _)| name);
        ["localhost", "127.0.0.1", "[::1]"].iter().any(|own| own.eq_ignore_ascii_case(name))
    };
    let mut answered = 0;
    for _ in 0..rounds(3000) {
        let (host, origin) = (text(&mut dice, HOST, 3), text(&mut dice, HOST, 4));
        let write = dice.roll(2) == 0;
        let builder = if write { Request::post("/plan/one/draft") } else { Request::get("/plan/one/text") };
        let Ok(request) = builder.header("host", &host).header("origin", &origin).body(Body::from("# A\n")) else {
            continue;
        };
        let status = asked.ask(request);
        let own = [format!("http://{host}"), format!("https://{host}")];
        let right = ours(&host) && (!write || own.iter().any(|own| own.eq_ignore_ascii_case(&origin)));
        assert_eq!(status == 200, right, "host {host:?}, origin {origin:?}, a write: {write}: {status}");
        assert!(status < 500);
        answered += usize::from(status == 200);
    }
    assert!(answered > 50, "only {answered} were ours");
}

#[test]
fn names_and_secrets_of_any_text_are_found_or_not_there() {
    const PATH: &[&str] = &[
        "a",
        "one",
        "%2F",
        "%00",
        "%2e%2e",
        "..",
        ".",
        "%",
        "%4",
        "%ff",
        "%c3%a9",
        "+",
        "~",
        "%20",
        "'",
        "(",
        ";",
        "%3C",
        "=",
        "&",
        "-",
        "_",
        "A",
        "%E2%80%AE",
        "%25",
        ":",
    ];
    let asked = Asked::new();
    let mut dice = dice(8);
    for _ in 0..rounds(2500) {
        let (name, which) = (text(&mut dice, PATH, 8), dice.roll(6));
        let path = match which {
            0 => format!("/t/{name}"),
            1 => format!("/plan/{name}"),
            2 => format!("/plan/one/ticket/{name}"),
            3 => format!("/rates/{name}/text"),
            4 => format!("/a/{name}/{name}"),
            _ => format!("/plan/one?units={name}&paper={name}"),
        };
        let Ok(request) = Request::get(&path)
            .header("host", "localhost")
            .header("cookie", format!("makeready={name}; x={name}"))
            .header("if-match", &name)
            .body(Body::empty())
        else {
            continue;
        };
        let status = asked.ask(request);
        assert!(matches!(status, 200 | 303 | 400 | 404 | 422), "{path}: {status}");
        assert!(which != 0 || matches!(status, 400 | 404), "{path} opened a ticket");
    }
}

#[test]
fn ledger_lines_givens_and_boxes_of_any_data_are_taken_or_explained() {
    const DATA: &[&str] = &[
        "{",
        "}",
        "\"number\":",
        "\"when\":",
        "\"what\":",
        "\"words\":",
        "\"given\":",
        "\"value\":",
        "\"line\":",
        "\"done\":",
        "\"title\":",
        "\"from\":",
        "\"role\":",
        "\"days\":",
        "1",
        "5",
        "6",
        "0",
        "-1",
        "1e9",
        "4294967296",
        "1.5",
        "\"1\"",
        "\"sold\"",
        "\"2026-11-25\"",
        "\"2026-02-30\"",
        "true",
        "null",
        "[",
        "]",
        ",",
        "\"\\u0000\"",
        "\"\\ud800\"",
        "\"é\"",
        "\"a\\nb\"",
        " ",
    ];
    let asked = Asked::new();
    let mut dice = dice(9);
    for _ in 0..rounds(2500) {
        let body = if dice.roll(2) == 0 {
            text(&mut dice, DATA, 14)
        } else {
            let value = |dice: &mut Dice| DATA[14 + dice.roll(14) as usize];
            format!(
                "{{\"number\":{},\"when\":{},\"what\":{},\"given\":{},\"value\":{},\"line\":{},\"done\":{},\"role\":{},\"days\":{}}}",
                value(&mut dice),
                value(&mut dice),
                value(&mut dice),
                value(&mut dice),
                value(&mut dice),
                value(&mut dice),
                value(&mut dice),
                value(&mut dice),
                value(&mut dice)
            )
        };
        for path in ["/plan/one/ledger", "/plan/one/links", "/plan/one/given", "/plan/one/tick"] {
            let status = asked.write(path, body.clone());
            assert!(matches!(status, 200 | 404 | 409 | 422 | 428), "{path} {body}: {status}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_name_is_one_file_inside_the_notebook(text in any::<String>()) {
        let root = std::path::Path::new("/notebook");
        if let Ok(name) = Name::new(&text) {
            let file = name.file(root);
            prop_assert!(file.starts_with(root) && file.components().all(|part| !matches!(part, std::path::Component::ParentDir | std::path::Component::CurDir)));
            prop_assert!(file.to_string_lossy().ends_with(".md"));
            // The same name again, however it is written.
            prop_assert_eq!(Name::new(name.as_str()).ok(), Some(name.clone()));
            prop_assert_eq!(Name::of_file(root, &file), Some(name.clone()));
            prop_assert!(name.in_url().bytes().all(|byte| byte.is_ascii_alphanumeric() || b"-_.%".contains(&byte)));
        }
    }

    #[test]
    fn a_title_becomes_a_name_or_is_refused(title in "\\PC{0,60}|[a-zA-Z ./\\\\\u{300}-\u{310}\u{5d0}-\u{5ea}\u{900}-\u{97f}]{0,200}") {
        match Name::from_title(&title) {
            Ok(name) => {
                prop_assert!(!name.as_str().contains('/'));
                prop_assert_eq!(Name::new(name.as_str()).ok(), Some(name.clone()));
                prop_assert_eq!(name.folded(), name.as_str().to_uppercase().to_lowercase());
            }
            Err(trouble) => prop_assert!(!trouble.next.is_empty()),
        }
    }

    #[test]
    fn what_is_escaped_is_read_back_as_it_was(text in any::<String>()) {
        let plain: String = text.chars().filter(|c| !c.is_control()).collect();
        let html = scraper::Html::parse_fragment(&format!("<p title=\"{0}\">{0}</p>", engine::document::html::escape(&plain)));
        let paragraph = scraper::Selector::parse("p").unwrap();
        let found = html.select(&paragraph).next().unwrap();
        prop_assert_eq!(found.text().collect::<String>(), plain.clone());
        prop_assert_eq!(found.value().attr("title"), Some(plain.as_str()));
    }

    #[test]
    fn a_calculation_gives_the_same_whoever_asks(a in 1_i64..500, b in 1_i64..500, c in 1_u32..16) {
        let plan = format!("# A\n\n```workings\nlet wide = {a}.inch + {c}/16.inch;\nlet high = {b}.mm;\nlet price = {b}.usd * {c};\n```\n\n`? wide` `? high` `? price` `? wide * high`\n");
        let compiled = Arc::new(Compiled::default());
        let first = calculate(&plan, &facts(), &View::default(), &compiled).article;
        let again = evaluate(&Document::read(&plan), &facts(), &Arc::new(Compiled::default()), None);
        prop_assert_eq!(first, engine::document::html::article(&Document::read(&plan), &again, &View::default()));
    }
}

// ------------------------------------------------------------------------------------ time that grows out of hand

/// The time this thread itself calculated: what else the computer does is left out.
fn calculated() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), time.tv_nsec.unsigned_abs() as u32)
}

/// The shortest of a few tries.
fn least(tries: usize, text: &str, compiled: &Arc<Compiled>) -> Duration {
    (0..tries)
        .map(|_| {
            let began = calculated();
            std::hint::black_box(calculate(text, &facts(), &View::default(), compiled));
            calculated() - began
        })
        .min()
        .unwrap()
}

/// Growth of the time when a pattern is four times as long, and that time.
fn growth(pattern: &str, bytes: usize, compiled: &Arc<Compiled>) -> (f64, Duration) {
    let times = (bytes / pattern.len()).max(1);
    let (short, long) = (pattern.repeat(times), pattern.repeat(times * 4));
    let (a, b) = (least(2, &short, compiled), least(1, &long, compiled));
    if b < WORTH_IT || b.as_secs_f64() / a.as_secs_f64() <= 8.0 {
        return (b.as_secs_f64() / a.as_secs_f64(), b);
    }
    let (a, b) = (least(6, &short, compiled), least(4, &long, compiled));
    (b.as_secs_f64() / a.as_secs_f64(), b)
}

/// Shorter times say nothing.
const WORTH_IT: Duration = Duration::from_millis(3);

#[test]
fn no_pattern_takes_more_than_eight_times_as_long_when_it_is_four_times_as_long() {
    on_a_thread(|| {
        let compiled = Arc::new(Compiled::default());
        let known = [
            "---\n:",
            "[",
            "[[",
            "![",
            "](",
            "[a](",
            "<",
            "<a",
            "<!--",
            "<![CDATA[",
            "`",
            "`a``",
            "*a_",
            "**a*",
            "_a_*",
            "~~a~",
            "> ",
            "> - ",
            "- ",
            "1. ",
            "\\",
            "&",
            "&a",
            "|",
            "|a|\n|-|\n",
            "[^",
            "[^a]: ",
            "[a]: b\n",
            "[a]: <",
            "# ",
            "#",
            "\n",
            " \n",
            "\t",
            "```\n",
            "```workings\n1\n```\n",
            "`? 1`",
            "`? 1` ",
            "- [ ] a\n",
            "## a {for=b}\n",
            "{",
            "a{for=",
            "+++\n",
            "+++\na = 1\n+++\n",
            "<b>",
            "</",
            "https://a ",
            "a@b ",
            "\u{feff}",
            "\r",
            "e\u{301}",
            "*a **a ",
            "[a][",
            "[a] ",
            "- a\n  - ",
            ">\n",
            "let a = 1;\n",
        ];
        let mut dice = dice(10);
        let mut patterns: Vec<String> = known.iter().map(|one| (*one).to_owned()).collect();
        for _ in 0..rounds(120) {
            patterns.push(text(&mut dice, PIECES, 3));
        }
        let mut worst = (0.0, String::new());
        let mut found = Vec::new();
        for pattern in patterns.iter().filter(|pattern| pattern.len() < 200) {
            let (growth, took) = growth(pattern, 4 << 10, &compiled);
            if growth > worst.0 && took > WORTH_IT {
                worst = (growth, pattern.clone());
            }
            if growth > 8.0 && took > WORTH_IT {
                found.push(format!("{pattern:?}: {growth:.1} times as long, {took:?}"));
            }
        }
        println!("{} patterns; the worst grows {:.1} times: {:?}", patterns.len(), worst.0, worst.1);
        assert!(found.is_empty(), "{}", found.join("\n"));
    });
}

#[test]
fn the_longest_plan_of_the_worst_kind_is_worked_out_in_bounded_time() {
    on_a_thread(|| {
        let compiled = Arc::new(Compiled::default());
        let mut slow = Vec::new();
        for pattern in [
            "a ",
            "> ",
            "- ",
            "[",
            "`? 1` ",
            "`? 1`\n\n",
            "```workings\n1\n```\n",
            "```workings\nlet a = 1;\n```\n",
            "- [ ] a\n",
            "# a\n",
            "|a|b|\n",
            "*a* ",
            "![a](b) ",
            "# a {for=lab}\n",
            "```workings\nlet n = 0; while true { n += 1 }\n```\n",
            "\n",
            "\u{1F5BC} ",
        ] {
            let text = pattern.repeat(server::folder::LONGEST as usize / pattern.len());
            let began = calculated();
            let worked = calculate(&text, &facts(), &View::default(), &compiled);
            let took = calculated() - began;
            println!("1 MB of {pattern:?}: {took:?}, a page of {} kB", worked.article.len() >> 10);
            assert!(worked.article.len() < 8 << 20, "{pattern:?}");
            if took > Duration::from_secs(if cfg!(debug_assertions) { 8 } else { 1 }) {
                slow.push(format!("{pattern:?}: {took:?}"));
            }
        }
        assert!(slow.is_empty(), "{}", slow.join("\n"));
    });
}
