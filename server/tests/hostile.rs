//! What other sites, hostile texts and runaway calculations try, through the server as it runs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

#[path = "program/active.rs"]
mod active;
mod program;
mod vectors;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use active::active;
use engine::Facts;
use engine::measure::Day;
use engine::render::html::View;
use program::{Line, Program, filled, long_form, notebook, table};
use server::evaluator::Evaluator;
use server::store::FILE;

const PLAN: &str = "+++\ntitle = \"Quiet\"\nedition = 4\n+++\n\n# Quiet\n\n```workings\nlet wide = given(\"Width\", 60.inch);\n```\n\n- [ ] a box\n\nIt is `? wide` wide.\n";

// ------------------------------------------------------------------------------------------------------ other sites

/// Who asks, what the browser says about it, and what is right. A dash leaves a header out.
const ASKED: &[(&str, &str, &str, &str, &str, u16)] = &[
    // method, host, sec-fetch-site, sec-fetch-mode, origin, status
    ("GET", "own", "-", "-", "-", 200),
    ("GET", "own", "none", "navigate", "-", 200),
    ("GET", "own", "same-origin", "cors", "-", 200),
    ("GET", "own", "cross-site", "navigate", "-", 200),
    ("GET", "own", "cross-site", "no-cors", "-", 403),
    ("GET", "own", "cross-site", "cors", "https://evil.example", 403),
    ("GET", "own", "same-site", "cors", "http://localhost:9999", 403),
    ("GET", "own", "same-site", "no-cors", "-", 403),
    ("GET", "localhost", "-", "-", "-", 200),
    ("GET", "LOCALHOST:6170", "-", "-", "-", 200),
    ("GET", "[::1]", "-", "-", "-", 200),
    ("GET", "[::1]:6170", "-", "-", "-", 200),
    ("GET", "127.0.0.1", "-", "-", "-", 200),
    ("GET", "evil.example", "-", "-", "-", 421),
    ("GET", "evil.example:6170", "-", "-", "-", 421),
    ("GET", "localhost.evil.example", "-", "-", "-", 421),
    ("GET", "evil-localhost", "-", "-", "-", 421),
    ("GET", "localhost.", "-", "-", "-", 421),
    ("GET", "127.0.0.1.nip.example", "-", "-", "-", 421),
    ("GET", "127.1", "-", "-", "-", 421),
    ("GET", "2130706433", "-", "-", "-", 421),
    ("GET", "0x7f.1", "-", "-", "-", 421),
    ("GET", "0.0.0.0", "-", "-", "-", 421),
    ("GET", "[::]", "-", "-", "-", 421),
    ("GET", "[::ffff:127.0.0.1]", "-", "-", "-", 421),
    ("GET", "192.168.1.5", "-", "-", "-", 421),
    ("GET", "user@localhost", "-", "-", "-", 421),
    ("GET", "localhost:80:80", "-", "-", "-", 421),
    ("GET", "localhost, evil.example", "-", "-", "-", 421),
    ("PUT", "own", "same-origin", "cors", "own", 428),
    ("PUT", "own", "same-origin", "-", "-", 428),
    ("PUT", "own", "-", "-", "own", 428),
    ("PUT", "own", "-", "-", "-", 403),
    ("PUT", "own", "none", "navigate", "own", 403),
    ("PUT", "own", "same-site", "cors", "own", 403),
    ("PUT", "own", "same-site", "cors", "http://localhost:9999", 403),
    ("PUT", "own", "cross-site", "cors", "https://evil.example", 403),
    ("PUT", "own", "cross-site", "cors", "own", 403),
    ("PUT", "own", "-", "-", "null", 403),
    ("PUT", "own", "-", "-", "https://evil.example", 403),
    ("PUT", "own", "-", "-", "http://localhost:9999", 403),
    ("PUT", "own", "-", "-", "http://localhost", 403),
    ("PUT", "own", "-", "-", "file://", 403),
    ("PUT", "own", "-", "-", "http://own.evil.example", 403),
    ("PUT", "own", "SAME-ORIGIN", "-", "own", 403),
    ("PUT", "own", "same-origin, cross-site", "-", "own", 403),
    ("PUT", "own", "", "-", "own", 403),
    ("PUT", "evil.example", "same-origin", "cors", "http://evil.example", 421),
    ("POST", "own", "cross-site", "navigate", "https://evil.example", 403),
    ("POST", "own", "-", "navigate", "null", 403),
];

#[test]
fn only_this_computers_own_pages_may_write_and_only_its_names_are_answered() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let own = program.address.to_string();
    let mut wrong = Vec::new();
    for (method, host, site, mode, origin, right) in ASKED {
        let host = if *host == "own" { own.as_str() } else { host };
        let own_origin = format!("http://{own}");
        let origin = if *origin == "own" { own_origin.as_str() } else { origin };
        let mut headers = vec![("Host", host)];
        headers.extend(
            [("Sec-Fetch-Site", *site), ("Sec-Fetch-Mode", *mode), ("Origin", origin)]
                .into_iter()
                .filter(|(_, value)| *value != "-"),
        );
        let (path, body): (_, &[u8]) = match *method {
            "PUT" => ("/plan/quiet/text", b"# Overwritten\n"),
            "POST" => ("/begin", b"{\"title\":\"Begun elsewhere\"}"),
            _ => ("/plan/quiet", b""),
        };
        let status = program.ask(method, path, &headers, body).unwrap().status;
        if status != *right {
            wrong.push(format!("{method} {headers:?}: {status}, not {right}"));
        }
    }
    assert!(wrong.is_empty(), "of {}:\n{}", ASKED.len(), wrong.join("\n"));
    assert_eq!(std::fs::read_to_string(folder.path().join("quiet.md")).unwrap(), PLAN);
    assert!(!folder.path().join("begun-elsewhere.md").exists());
}

#[test]
fn nothing_is_written_by_looking() {
    let folder = notebook(&[("quiet", PLAN), ("shops/lab", "+++\nkind = \"rates\"\n+++\n\n# Lab\n")]);
    let program = Program::start(folder.path(), &[]);
    program.get("/");
    let listing = || {
        let mut all: Vec<_> = walk(folder.path())
            .into_iter()
            // What the plans come to is written into the record, behind the pages.
            .filter(|path| ![FILE, server::store::INDEX, ".makeready-record.txt"].iter().any(|own| path.contains(own)))
            .map(|path| (std::fs::read(&path).unwrap(), path))
            .collect();
        all.sort();
        let store = server::store::Store::open(folder.path()).unwrap();
        let name = server::names::Name::new("quiet").unwrap();
        (
            all,
            store.revisions(&name).unwrap().len(),
            store.ledger(&name).unwrap().len(),
            store.links(&name).unwrap().len(),
        )
    };
    let before = listing();
    let reading = table().into_iter().filter(|(method, _)| *method == "GET").map(|(_, pattern)| {
        filled(pattern, |part| match part {
            "name" if pattern.starts_with("/rates") => "shops%2Flab".to_owned(),
            "name" => "quiet".to_owned(),
            "role" => "lab".to_owned(),
            "table" => "costs.csv".to_owned(),
            _ => "1".to_owned(),
        })
    });
    // What writes when it is posted, and what a form would send.
    let writing = [
        "/begin?title=New",
        "/plan/quiet/draft",
        "/plan/quiet/given?given=0&value=1",
        "/plan/quiet/tick?line=1&done=true",
        "/plan/quiet/ledger?number=1&when=2026-11-25",
        "/plan/quiet/copy?title=x",
        "/plan/quiet/links?role=lab",
        "/plan/quiet/links/1/revoke",
        "/plan/quiet/calendar",
        "/logout",
        "/plan/new",
        "/plan/new/text",
    ];
    for path in reading.chain(writing.map(str::to_owned)) {
        let status = Line::to(program.address).unwrap().ask("GET", &path, &[], b"").unwrap().status;
        assert!(status < 500, "GET {path}: {status}");
        if path != "/events" {
            let head = format!("HEAD {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
            let mut stream = TcpStream::connect(program.address).unwrap();
            stream.write_all(head.as_bytes()).unwrap();
            let mut said = String::new();
            stream.read_to_string(&mut said).unwrap();
            let alone = said.ends_with("\r\n\r\n") && said.starts_with(&format!("HTTP/1.1 {status} "));
            assert!(alone, "HEAD {path} after {status}: {said}");
        }
    }
    assert_eq!(listing(), before);
}

fn walk(folder: &std::path::Path) -> Vec<String> {
    std::fs::read_dir(folder)
        .unwrap()
        .flat_map(|entry| {
            let path = entry.unwrap().path();
            if path.is_dir() { walk(&path) } else { vec![path.to_string_lossy().into_owned()] }
        })
        .collect()
}

#[test]
fn no_name_leads_out_of_the_notebook() {
    let folder = notebook(&[("notebook/quiet", PLAN), ("outside", "# Outside\n")]);
    let program = Program::start(&folder.path().join("notebook"), &[]);
    for name in [
        "..%2Foutside",
        "%2e%2e%2foutside",
        "..%5Coutside",
        "quiet%2F..%2F..%2Foutside",
        "%2Fetc%2Fpasswd",
        ".%2F..%2Foutside",
        "..%252Foutside",
        "%c0%ae%c0%ae%c0%afoutside",
        "quiet%00",
        "....%2F%2Foutside",
        "~root",
        "%7E%2Foutside",
        "C:%5Coutside",
        "con",
        "quiet.md",
        ".git",
        "makeready.db",
        "\u{202e}teiuq",
        "quiet%20",
        "quiet.",
        "a".repeat(300).as_str(),
        "a%2Fb%2Fc%2Fd",
    ] {
        for end in ["", "/text", "/sheet", "/values", "/links"] {
            let answer = program.get(&format!("/plan/{name}{end}"));
            assert!(matches!(answer.status, 400 | 404), "{name}{end}: {}", answer.status);
            assert!(!answer.text().contains("Outside"), "{name}{end}");
        }
        let put = program.send("PUT", &format!("/plan/{name}/text"), &[("If-Match", "\"x\"")], b"# Out\n").unwrap();
        assert!(matches!(put.status, 400 | 404), "{name}: {}", put.status);
    }
    let begun = program.send("POST", "/begin", &[], br#"{"title":"../../outside"}"#).unwrap();
    assert_eq!(begun.json()["location"], "/plan/outside");
    assert_eq!(std::fs::read_to_string(folder.path().join("outside.md")).unwrap(), "# Outside\n");
}

// ------------------------------------------------------------------------------------------------- runaway plans

/// A block after the other, each of which never ends.
const MANY: &str = "let n = 0; while true { n += 1; }\n```\n\n```workings\nlet n = 0; while true { n += 1; }\n```\n\n```workings\nlet n = 0; while true { n += 1; }\n```\n\n```workings\nlet n = 0; while true { n += 1; }";

const RUNAWAY: &[&str] = &[
    // These two go on until their time is up, the others until they have taken too many steps or too much memory.
    "let a = []; for i in 0..900 { a.push(i); } loop { a.sort(); }",
    MANY,
    "let n = 0; while true { n += 1; }",
    "let a = []; loop { a.push([1, 2, 3, a]); }",
    "let s = \"x\"; loop { s += s; }",
    "fn f(n) { f(n + 1) + f(n + 2) } f(0)",
    "let m = #{}; let n = 0; loop { m[`key ${n}`] = [n, n, n, n]; n += 1; }",
];

/// What is asked for while others run away.
const ELSEWHERE: &[&str] = &["a page", "a text", "the wall", "the rates", "a save", "a draft"];

/// Asks for one of them and says how long it took.
fn elsewhere(line: &mut Line, number: usize, mark: &mut String) -> (&'static str, Duration) {
    let which = ELSEWHERE[number % ELSEWHERE.len()];
    let own = ("Sec-Fetch-Site", "same-origin");
    let text = PLAN.replace("60.inch", &format!("{}.inch", 10 + number % 90))
        + format!("\nChanged {number} times.\n").as_str();
    let quoted = format!("\"{mark}\"");
    let began = Instant::now();
    let answer = match which {
        "a page" => line.ask("GET", "/plan/quiet", &[], b""),
        "a text" => line.ask("GET", "/plan/quiet/text", &[], b""),
        "the wall" => line.ask("GET", "/", &[], b""),
        "the rates" => line.ask("GET", "/rates", &[], b""),
        "a save" => line.ask("PUT", "/plan/quiet/text", &[own, ("If-Match", &quoted)], text.as_bytes()),
        _ => line.ask("POST", "/plan/quiet/draft", &[own], text.as_bytes()),
    };
    let (answer, took) = (answer.unwrap(), began.elapsed());
    assert_eq!(answer.status, 200, "{which}: {}", answer.text());
    if which == "a save" {
        *mark = answer.etag();
    }
    if which == "a draft" {
        assert_eq!(answer.json()["problems"].as_array().map(Vec::len), Some(0), "an honest plan is calculated");
    }
    (which, took)
}

/// `MAKEREADY_PROGRAM=target/release/makeready MAKEREADY_RUNAWAY=6000 cargo test --workspace --test hostile -- --nocapture
/// run_away` measures a release.
#[test]
fn while_four_plans_run_away_everyone_else_is_served() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    assert_eq!(program.get("/plan/quiet").status, 200);
    let asked = long_form("MAKEREADY_RUNAWAY", 480);
    let mut alone = Vec::new();
    let (mut line, mut mark) = (Line::to(program.address).unwrap(), program.plan("quiet").etag());
    for number in 0..asked / 4 {
        alone.push(elsewhere(&mut line, number, &mut mark));
        std::thread::sleep(Duration::from_millis(5));
    }
    let address = program.address;
    let stop = std::sync::atomic::AtomicBool::new(false);
    let (mut took, mut drafts) = (Vec::new(), Vec::new());
    std::thread::scope(|scope| {
        let runaway: Vec<_> = (0..4)
            .map(|number| {
                let stop = &stop;
                scope.spawn(move || {
                    let (mut line, mut took, mut round) = (Line::to(address).unwrap(), Vec::new(), 0);
                    while !stop.load(std::sync::atomic::Ordering::Relaxed) {
                        round += 1;
                        let script = RUNAWAY[(number + round) % RUNAWAY.len()];
                        let text = format!("# Runaway {number} {round}\n\n```workings\n{script}\n```\n");
                        let began = Instant::now();
                        let answer = line
                            .ask("POST", "/plan/quiet/draft", &[("Sec-Fetch-Site", "same-origin")], text.as_bytes())
                            .unwrap();
                        assert_eq!(answer.status, 200, "{}", answer.text());
                        let problems = answer.json()["problems"].as_array().unwrap().len();
                        assert!(problems > 0, "it was not stopped: {script}");
                        took.push(began.elapsed());
                    }
                    took
                })
            })
            .collect();
        let (mut line, mut mark) = (Line::to(address).unwrap(), program.plan("quiet").etag());
        std::thread::sleep(Duration::from_millis(300));
        for number in 0..asked {
            took.push(elsewhere(&mut line, number, &mut mark));
            std::thread::sleep(Duration::from_millis(5));
        }
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
        for one in runaway {
            drafts.extend(one.join().unwrap());
        }
    });
    drafts.sort();
    let of = |all: &[Duration], percent: usize| all[(all.len() * percent / 100).min(all.len() - 1)];
    let mut slow = Vec::new();
    // A build for tests is slow and shares its computer with other tests: there only what needs no working out is timed.
    let measured = std::env::var_os("MAKEREADY_PROGRAM").is_some();
    let limit = Duration::from_millis(if measured { 50 } else { 150 });
    for which in ELSEWHERE {
        let of_this = |all: &[(&str, Duration)]| {
            let mut of_this: Vec<_> = all.iter().filter(|(one, _)| one == which).map(|(_, took)| *took).collect();
            of_this.sort();
            of_this
        };
        let (alone, took) = (of_this(&alone), of_this(&took));
        println!(
            "{which}: alone {:?} in the middle, {:?} of 99 in 100; beside them {} times, {:?} in the middle, {:?} of 99 in 100, {:?} at most",
            of(&alone, 50),
            of(&alone, 99),
            took.len(),
            of(&took, 50),
            of(&took, 99),
            took[took.len() - 1]
        );
        if of(&took, 99) > limit && (measured || matches!(*which, "a text" | "the rates")) {
            slow.push(*which);
        }
    }
    println!(
        "{} runaway plans, {:?} in the middle, {:?} at most",
        drafts.len(),
        of(&drafts, 50),
        drafts.last().unwrap()
    );
    assert!(slow.is_empty(), "others waited more than {limit:?} for {slow:?}");
    let memory = resident(&program);
    println!("memory in use afterwards: {} MB", memory >> 20);
    assert!(memory < 200 << 20);
}

/// Eight texts of a megabyte, each of which costs much in a way of its own.
fn eight() -> [(&'static str, String); 8] {
    let many = |part: &dyn Fn(usize) -> String| -> String {
        let mut text = String::from("# T\n\n");
        let mut parts = (0..).map(part);
        while text.len() < 1_000_000 {
            text.extend(parts.next());
        }
        text
    };
    let keys: String = (0..52_000).map(|n| format!("unknown{n} = {n}\n")).collect();
    let slow = "fn slow() { let n = 0; for i in 0..1500 { n += i; } n }";
    let lets = |block: usize| (0..480).map(|n| format!("let a{block}x{n} = {n}.inch * 2;\n")).collect::<String>();
    let digits = "9".repeat(15_000);
    [
        ("unknown head keys", format!("+++\n{keys}+++\n# T\n")),
        ("deep lists", many(&|_| format!("{}a\n", "- ".repeat(400)))),
        (
            "asks",
            many(&|n| match n {
                0 => format!("```workings\n{slow}\n```\n\n"),
                n => format!("`? nothing{n} + {n}` `? slow() + {n}`\n\n"),
            }),
        ),
        ("tables", many(&|_| "| a | b | c |\n|---|---|---|\n| 1 | 2 | 3 |\n\n".to_owned())),
        ("long workings", many(&|n| format!("```workings\n{}```\n\n", lets(n)))),
        ("huge literals", many(&|n| format!("```workings\nlet a{n} = \"{digits}\";\nlet b{n} = {digits};\n```\n\n"))),
        ("headings", many(&|_| "## h {for=lab}\n\n".to_owned())),
        ("links", many(&|_| "[a](https://a.example \"t\") ![b [c](d)](e.jpg) ".to_owned())),
    ]
}

/// `MAKEREADY_PROGRAM=target/release/makeready MAKEREADY_EIGHT=2000 cargo test --workspace --test hostile -- --nocapture eight`
/// measures a release.
#[test]
fn eight_costly_texts_at_once_keep_nobody_waiting_and_stay_within_their_memory() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    assert_eq!(program.get("/plan/quiet").status, 200);
    let (address, asked) = (program.address, long_form("MAKEREADY_EIGHT", 240));
    let stop = std::sync::atomic::AtomicBool::new(false);
    let mut took = Vec::new();
    std::thread::scope(|scope| {
        for (what, text) in eight() {
            let stop = &stop;
            scope.spawn(move || {
                let mut line = Line::to(address).unwrap();
                for round in 0.. {
                    // Never the same text twice, and each of them told what is wrong with it.
                    let text = format!("{}\n{round}\n", &text[..text.floor_char_boundary(1_040_000)]);
                    let own = ("Sec-Fetch-Site", "same-origin");
                    let answer = line.ask("POST", "/plan/quiet/draft", &[own], text.as_bytes()).unwrap();
                    assert_eq!(answer.status, 200, "{what}: {}", answer.text());
                    let problems = answer.json()["problems"].as_array().unwrap().len();
                    assert!(problems > 0 && problems <= 3_100, "{what}: {problems}");
                    if stop.load(std::sync::atomic::Ordering::Relaxed) {
                        break;
                    }
                }
            });
        }
        let (mut line, mut mark) = (Line::to(address).unwrap(), program.plan("quiet").etag());
        std::thread::sleep(Duration::from_millis(300));
        for number in 0..asked {
            took.push(elsewhere(&mut line, number, &mut mark));
            std::thread::sleep(Duration::from_millis(5));
        }
        stop.store(true, std::sync::atomic::Ordering::Relaxed);
    });
    // A build for tests is slow and shares its computer with other tests: there only what needs no working out is timed.
    let measured = std::env::var_os("MAKEREADY_PROGRAM").is_some();
    let limit = Duration::from_millis(if measured { 50 } else { 150 });
    let mut slow = Vec::new();
    for which in ELSEWHERE {
        let mut of_this: Vec<_> = took.iter().filter(|(one, _)| one == which).map(|(_, took)| *took).collect();
        of_this.sort();
        let of = |percent: usize| of_this[(of_this.len() * percent / 100).min(of_this.len() - 1)];
        println!("{which}: {} times, {:?} in the middle, {:?} of 99 in 100", of_this.len(), of(50), of(99));
        if of(99) > limit && (measured || matches!(*which, "a text" | "the rates")) {
            slow.push(*which);
        }
    }
    let most = resident_as(&program, "VmHWM");
    println!("at most {} MB in use", most >> 20);
    assert!(slow.is_empty(), "others waited more than {limit:?} for {slow:?}");
    assert!(most < 256 << 20, "{} MB", most >> 20);
}

#[test]
fn what_is_written_while_four_plans_run_away_does_not_wait_until_they_end() {
    let evaluator = Evaluator::default();
    let ended = std::sync::Mutex::new(Vec::new());
    let work_out = |text: &str| {
        let facts = Facts::on(Day::new(2026, 11, 25).unwrap());
        let worked = evaluator.work_out(text, &facts, &View::default()).unwrap();
        let stopped = !worked.evaluation.problems.is_empty();
        ended.lock().unwrap().push(if stopped { "stopped" } else { "calculated" });
    };
    std::thread::scope(|scope| {
        for number in 0..4 {
            let work_out = &work_out;
            scope.spawn(move || work_out(&format!("# Runaway {number}\n\n```workings\n{}\n```\n", RUNAWAY[0])));
        }
        std::thread::sleep(Duration::from_millis(if cfg!(debug_assertions) { 200 } else { 40 }));
        work_out(PLAN);
    });
    assert_eq!(*ended.lock().unwrap(), ["calculated", "stopped", "stopped", "stopped", "stopped"]);
}

fn resident(program: &Program) -> u64 {
    resident_as(program, "VmRSS")
}

fn resident_as(program: &Program, what: &str) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", program.child.id())).unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with(what)).unwrap_or("none: 0 kB");
    line.split_whitespace().nth(1).and_then(|number| number.parse::<u64>().ok()).unwrap_or(0) << 10
}

#[test]
fn a_question_too_many_is_turned_away_and_not_kept_waiting() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let address = program.address;
    let statuses: Vec<u16> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..160)
            .map(|number| {
                scope.spawn(move || {
                    let text =
                        format!("# Runaway {number}\n\n```workings\nlet n = {number}; while true {{ n += 1; }}\n```\n");
                    Line::to(address)
                        .unwrap()
                        .ask("POST", "/plan/quiet/draft", &[("Sec-Fetch-Site", "same-origin")], text.as_bytes())
                        .unwrap()
                })
            })
            .collect();
        all.into_iter()
            .map(|one| {
                let answer = one.join().unwrap();
                if answer.status == 503 {
                    assert!(answer.header("retry-after").is_some() && answer.text().contains("try again"));
                }
                answer.status
            })
            .collect()
    });
    let turned = statuses.iter().filter(|status| **status == 503).count();
    println!("of 160 runaway plans at once {turned} were turned away");
    assert!(statuses.iter().all(|status| matches!(status, 200 | 503)) && turned > 0, "{statuses:?}");
    assert_eq!(program.get("/plan/quiet").status, 200);
}

// ------------------------------------------------------------------------------------------------- hostile texts

#[test]
fn no_text_becomes_a_script_a_handler_or_a_way_out() {
    let sheet = |vector: &str| {
        let plain: String = vector.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
        let toml = plain.replace('\\', "\\\\").replace('"', "\\\"");
        format!(
            "+++\ntitle = \"{toml}\"\nkind = \"rates\"\ntrade = \"{toml}\"\nquoted = \"{toml}\"\n+++\n\n# {plain}\n\n{vector}\n"
        )
    };
    let folder = notebook(&[("one", "# One\n"), ("shops/lab", "+++\nkind = \"rates\"\n+++\n\n# Lab\n")]);
    let program = Program::start(folder.path(), &[]);
    let mut line = Line::to(program.address).unwrap();
    let own = ("Sec-Fetch-Site", "same-origin");
    let vectors = vectors::all();
    let (mut wrong, mut looked) = (Vec::new(), 0);
    let mut look = |vector: &str, place: &str, html: &str, is_page: bool| {
        looked += 1;
        for fault in active(html, is_page) {
            wrong.push(format!("{place}: {fault} from {vector:?}"));
        }
    };
    for (number, vector) in vectors.iter().enumerate() {
        let text = vectors::plan_with(vector);
        let draft = line.ask("POST", "/plan/one/draft", &[own], text.as_bytes()).unwrap();
        assert_eq!(draft.status, 200, "{vector:?}: {}", draft.text());
        let draft = draft.json();
        look(vector, "a draft", draft["article"].as_str().unwrap(), false);
        // Every tenth is saved and looked at on every page there is; all of them on the plan's own.
        let etag = line.ask("GET", "/plan/one/text", &[], b"").unwrap().etag();
        let saved =
            line.ask("PUT", "/plan/one/text", &[own, ("If-Match", &format!("\"{etag}\""))], text.as_bytes()).unwrap();
        assert_eq!(saved.status, 200, "{vector:?}: {}", saved.text());
        let mut pages = vec!["/plan/one".to_owned()];
        if number % 10 == 0 {
            let etag = line.ask("GET", "/rates/shops%2Flab/text", &[], b"").unwrap().etag();
            let saved = line
                .ask(
                    "PUT",
                    "/rates/shops%2Flab/text",
                    &[own, ("If-Match", &format!("\"{etag}\""))],
                    sheet(vector).as_bytes(),
                )
                .unwrap();
            assert_eq!(saved.status, 200, "{vector:?}: {}", saved.text());
            let words: String = vector.chars().filter(|c| !c.is_control()).take(190).collect();
            let body = serde_json::json!({"number": 1, "what": "reserved", "when": "2026-11-25", "words": words, "place": words});
            line.ask("POST", "/plan/one/ledger", &[own], body.to_string().as_bytes()).unwrap();
            let void = serde_json::json!({"number": 1, "what": "voided", "when": "2026-11-25", "words": words});
            line.ask("POST", "/plan/one/ledger", &[own], void.to_string().as_bytes()).unwrap();
            let made = line.ask("POST", "/plan/one/links", &[own], br#"{"role":"lab"}"#).unwrap();
            let link = made.json()["address"]
                .as_str()
                .unwrap_or_default()
                .split("/t/")
                .nth(1)
                .map(|token| format!("/t/{token}"));
            pages.extend(
                [
                    "/",
                    "/plan/one?units=metric",
                    "/plan/one/ticket/lab",
                    "/plan/one/ticket/lab?paper=a4",
                    "/plan/one/links",
                    "/rates",
                    "/rates/shops%2Flab",
                    "/begin",
                ]
                .map(str::to_owned),
            );
            pages.extend(link);
        }
        for path in pages {
            let page = line.ask("GET", &path, &[("Accept", "text/html")], b"").unwrap();
            assert!(page.status < 500, "{path} {}", page.status);
            look(vector, &path, &page.text(), true);
            let policy = page.header("content-security-policy").unwrap_or_default();
            assert!(
                policy.contains("default-src 'none'")
                    && policy.contains("require-trusted-types-for 'script'")
                    && !policy.contains("unsafe"),
                "{path}: {policy}"
            );
            assert_eq!(page.header("x-content-type-options"), Some("nosniff"));
        }
    }
    println!("{} vectors, {looked} pages and parts looked at", vectors.len());
    assert!(vectors.len() >= 200);
    assert!(wrong.is_empty(), "{} faults:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn the_page_reader_of_these_tests_finds_what_is_active() {
    // A check that finds nothing anywhere would pass everything.
    for bad in [
        "<script>1</script>",
        "<p onclick=x>",
        "<a href=javascript:x>",
        "<a href='java&#10;script:x'>",
        "<img src=//evil.example>",
        "<iframe>",
        "<p style=x>",
        "<svg><script></script></svg>",
        "<form action=//x>",
        "<a target=_blank>",
        "<img src=data:x>",
        "<math>",
        "<svg><animate>",
        "<meta http-equiv=refresh>",
    ] {
        assert!(!active(bad, false).is_empty(), "{bad}");
    }
    for good in [
        "<p>a <a href=\"https://a.example\">b</a></p>",
        "<img src=\"a.jpg\" alt=\"\">",
        "<svg viewBox=\"0 0 1 1\"><path d=\"M0 0\"/></svg>",
    ] {
        assert_eq!(active(good, false), Vec::<String>::new(), "{good}");
    }
}

#[test]
fn a_hostile_file_name_is_shown_as_text_or_not_at_all() {
    let folder = notebook(&[("one", "# One\n")]);
    for name in [
        "<img src=x onerror=alert(1)>",
        "\" onclick=\"x",
        "' onclick='x",
        "a&amp;b",
        "a'b",
        "javascript:alert(1)",
        "{{7*7}}",
        "a\nb",
        "a\u{202e}b",
        "%3Cscript%3E",
        "(x)",
        "a,b+c&d",
    ] {
        let _ = std::fs::write(folder.path().join(format!("{name}.md")), "No title here.\n");
    }
    let program = Program::start(folder.path(), &[]);
    let wall = program.get("/").text();
    assert_eq!(active(&wall, true), Vec::<String>::new());
    assert!(wall.contains("a,b+c&amp;d") && !wall.contains("onerror") && !wall.contains(">49<"), "{wall}");
    let page = program.get("/plan/a'b");
    assert_eq!(page.status, 200);
    assert_eq!(active(&page.text(), true), Vec::<String>::new());
}

#[test]
fn a_refusal_shows_what_was_sent_as_text() {
    let folder = notebook(&[("one", "# One\n")]);
    let program = Program::start(folder.path(), &[]);
    for path in [
        "/plan/%3Cscript%3Ealert(1)%3C%2Fscript%3E",
        "/plan/one/ticket/%3Cimg%20src=x%20onerror=alert(1)%3E",
        "/%3Cscript%3E",
        "/rates/%22onload=%22x",
        "/plan/one?units=%3Cscript%3E",
        "/t/%3Cscript%3E",
    ] {
        let page = program.ask("GET", path, &[("Accept", "text/html")], b"").unwrap();
        assert_eq!(active(&page.text(), true), Vec::<String>::new(), "{path}");
        let data = program.get(path);
        assert!(
            data.header("content-type").is_none_or(|kind| !kind.contains("html"))
                || active(&data.text(), true).is_empty(),
            "{path}"
        );
    }
}
