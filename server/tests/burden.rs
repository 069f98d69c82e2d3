//! Eight at once ask for the costliest thing there is of a text of a megabyte, by every way in, while others look at a plan: nobody
//! waits for them, and the program stays small.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::fmt::Write as _;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use program::{Line, Program, long_form, notebook};

const LENGTH: usize = 1_000_000;
const AT_ONCE: usize = 8;
/// What the program may hold at its highest.
const MOST_MIB: u64 = 256;

/// Lines made by number until there is a megabyte of them.
fn filled(head: &str, line: impl Fn(usize) -> String) -> String {
    let mut text = head.to_owned();
    for number in 0.. {
        let line = line(number);
        if text.len() + line.len() > LENGTH {
            break;
        }
        text.push_str(&line);
    }
    text
}

/// Texts of a megabyte, each heavy for another part of the program.
fn texts() -> Vec<(&'static str, String)> {
    let shops = "+++\ntitle = \"Heavy\"\n[shops]\nlab = \"North Lab\"\n+++\n\n# Heavy {for=lab}\n\n";
    let in_shop = |line: &dyn Fn(usize) -> String| filled(shops, line);
    let mut head = filled("+++\n", |n| format!("k{n} = 1\n"));
    head.truncate(LENGTH - 10);
    head.truncate(head.rfind('\n').unwrap() + 1);
    head.push_str("+++\n# x\n");
    let mut deep = String::from(shops);
    for depth in 0..600 {
        let _ = writeln!(deep, "{}- deep", "  ".repeat(depth));
    }
    vec![
        ("unknown keys of the head", head),
        ("asks", in_shop(&|n| format!("`? {n} * 2.inch`\n\n"))),
        ("tables", in_shop(&|n| if n % 3 == 0 { "\n|a|b|c|\n|-|-|-|\n".to_owned() } else { "|x|y|z|\n".to_owned() })),
        (
            "one table",
            format!("{shops}{}", filled("|a|b|c|\n|-|-|-|\n", |_| "|x|y|z|\n".into()).get(..LENGTH - 200).unwrap()),
        ),
        ("headings", in_shop(&|n| format!("## h{n}\n"))),
        ("links", in_shop(&|n| format!("[a](b{n}) "))),
        ("deep lists", deep),
        ("short blocks", in_shop(&|n| format!("```workings\nlet a{n} = {n};\n```\n"))),
        (
            "one long block",
            format!(
                "{shops}```workings\n{}```\n",
                filled("", |n| format!("let a{n} = {n};\n")).get(..LENGTH - 300).unwrap()
            ),
        ),
        ("runs without end", in_shop(&|_| "```workings\nlet n = 0; loop { n += 1 }\n```\n".to_owned())),
        ("grows without end", in_shop(&|_| "```workings\nlet a = [1]; loop { a += a }\n```\n".to_owned())),
        ("steps", in_shop(&|n| format!("```workings\nstep(\"s{n}\", 1.days);\n```\n"))),
        ("boxes", in_shop(&|n| format!("- [ ] b{n}\n"))),
        ("quotes in quotes", in_shop(&|_| "> > > > > > > > > > x\n\n".to_owned())),
        ("marks", in_shop(&|_| "*a **b `c [d ".to_owned())),
        ("words of one letter", in_shop(&|_| "x ".to_owned())),
    ]
}

fn peak_mib(program: &Program) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", program.child.id())).unwrap();
    let line = status.lines().find(|line| line.starts_with("VmHWM")).expect("the highest resident size");
    line.split_whitespace().nth(1).unwrap().parse::<u64>().unwrap() / 1024
}

/// Looks at a small plan until told to stop: how long each look took.
fn looks(program: &Program, ended: &AtomicBool) -> Vec<Duration> {
    let mut took = Vec::new();
    let mut line = Line::to(program.address).unwrap();
    while !ended.load(Ordering::Relaxed) {
        let began = Instant::now();
        let answer = line.ask("GET", "/plan/small", &[], b"").unwrap();
        took.push(began.elapsed());
        assert_eq!(answer.status, 200);
        std::thread::sleep(Duration::from_millis(4));
    }
    took.sort();
    took
}

/// `MAKEREADY_PROGRAM=target/release/makeready MAKEREADY_BURDEN=1 cargo test --workspace --test burden -- --nocapture` tries
/// every text by every way in with a release, and holds it to 50 ms for 99 of 100 other requests.
#[test]
fn eight_heavy_requests_at_once_keep_nobody_waiting_and_hold_little() {
    let is_long = long_form("MAKEREADY_BURDEN", 0) > 0;
    let all = texts();
    // The short form takes every fourth text, another one for each way in.
    let chosen = |way: usize| all.iter().skip(if is_long { 0 } else { way }).step_by(if is_long { 1 } else { 4 });
    let own = ("Sec-Fetch-Site", "same-origin");
    // A build for tests is slow and shares its computer with other tests; whoever waits for a heavy one waits for seconds.
    let limit = Duration::from_millis(if is_long { 50 } else { 500 });
    let mut slow = Vec::new();
    for (way, kind) in ["draft", "page", "paper", "ticket", "shop"].into_iter().enumerate() {
        for (name, text) in chosen(way) {
            let folder = notebook(&[("small", "# Small\n\n`? 2.inch`\n"), ("heavy", "# Heavy\n")]);
            let program = Program::start(folder.path(), &[]);
            let etag = program.plan("heavy").etag();
            let saved = if kind == "draft" { 200 } else { program.save("heavy", &etag, text).status };
            let link = || {
                let made = program.send("POST", "/plan/heavy/links", &[], br#"{"role":"lab"}"#).unwrap();
                let address = (made.status == 200).then(|| made.json()["address"].as_str().unwrap().to_owned());
                address.map_or("/t/none".to_owned(), |address| format!("/t/{}", address.rsplit('/').next().unwrap()))
            };
            let path = match kind {
                "draft" => "/plan/heavy/draft".to_owned(),
                "page" => "/plan/heavy".to_owned(),
                "paper" => "/plan/heavy/paper.pdf".to_owned(),
                "ticket" => "/plan/heavy/ticket/lab/paper.pdf".to_owned(),
                _ => format!("{}/paper.pdf", link()),
            };
            let ended = AtomicBool::new(false);
            let began = Instant::now();
            let (looked, answers) = std::thread::scope(|scope| {
                let looking = scope.spawn(|| looks(&program, &ended));
                std::thread::sleep(Duration::from_millis(100));
                let asking: Vec<_> = (0..AT_ONCE)
                    .map(|number| {
                        let (program, path) = (&program, &path);
                        scope.spawn(move || {
                            let mut line = Line::to(program.address).unwrap();
                            // Each asks for something of its own, so that nothing is answered from what was kept.
                            let answer = if kind == "draft" {
                                let mine = format!("{text}\n{number}\n");
                                line.ask("POST", path, &[own], mine.as_bytes())
                            } else {
                                let paper = ["letter", "a4"][number % 2];
                                line.ask("GET", &format!("{path}?paper={paper}"), &[], b"")
                            };
                            answer.map_or(0, |answer| answer.status)
                        })
                    })
                    .collect();
                let answers: Vec<_> = asking.into_iter().map(|one| one.join().unwrap()).collect();
                ended.store(true, Ordering::Relaxed);
                (looking.join().unwrap(), answers)
            });
            let (late, peak) = (looked[looked.len() * 99 / 100], peak_mib(&program));
            println!(
                "{kind:6} {name:24} saved {saved} answers {answers:?} in {:?}; 99 of 100 looks {late:?} of {}; {peak} MiB at the highest",
                began.elapsed(),
                looked.len()
            );
            assert!(answers.iter().all(|status| *status != 0), "{kind} {name}: the server went away");
            assert!(peak <= MOST_MIB, "{kind} {name}: {peak} MiB");
            if late > limit {
                slow.push(format!("{kind} {name}: {late:?}"));
            }
        }
    }
    assert!(slow.is_empty(), "99 of 100 looks took longer than {limit:?}:\n{}", slow.join("\n"));
}
