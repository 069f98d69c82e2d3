//! Every page of a notebook of 1,000 plans and 20,000 revisions, asked many times over: how long the answers take.
//!
//! The notebook is made by the program's own means, one save after the other over twenty months, with sales, certificates
//! and rate sheets that are quoted again; it is kept in the folder `MAKEREADY_LARGE` when that is set and found there the next
//! time. `MAKEREADY_PLANS` and `MAKEREADY_ROUNDS` make it smaller. `cargo bench --workspace --bench large` prints, for each
//! page, half of the answers, nineteen of twenty and the slowest, and fails when one takes longer than a tenth of a second.
//! A page answers from the state before it: what is asked is every layer of the server but the network.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a bench"
)]

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::http::{Request, header};
use engine::document::Document;
use engine::evaluate;
use engine::measure::Day;
use engine::trade::edition::{Event, Print};
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::{NewLine, Store, Which};
use server::{App, app};
use tower::ServiceExt as _;

/// What no answer may take longer than.
const MOST: Duration = Duration::from_millis(100);
/// The address that is asked for, turn by turn.
type Address = Box<dyn Fn(usize) -> String>;

/// How often each page is asked for.
const ASKED: usize = 100;
/// The day the notebook is begun.
const FIRST: &str = "2025-01-06";
/// Days from one round of saves to the next.
const ROUND: i64 = 31;
/// What a certificate says that stands nowhere else in a plan.
const FACTS: &str = "\n[certificate]\nartist = \"A. Verrill\"\nyear = 2025\nunnumbered = \"none\"\nother_editions = \"none\"\nprocess = \"chromogenic print\"\nreproduction = \"no\"\nsignature = \"in ink, lower right\"\nlifetime = \"yes\"\nmaster = \"kept\"\nseller = \"the artist\"\n";

fn number(name: &str, usual: usize) -> usize {
    std::env::var(name).ok().and_then(|number| number.parse().ok()).unwrap_or(usual)
}

fn day(round: usize) -> Day {
    Day::parse(FIRST).unwrap().plus(ROUND * round as i64).unwrap()
}

fn open(folder: &Path, on: Day) -> Arc<Notebook> {
    Arc::new(Notebook::open(folder.to_path_buf(), Store::open(folder).unwrap(), Clock::Fixed(on)).unwrap())
}

fn named(plan: usize) -> Name {
    Name::new(&format!("study-{plan:04}")).unwrap()
}

/// The plans everything is copied from, and their rate sheets.
fn shipped(folder: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks");
    std::fs::create_dir_all(folder.join("shops")).unwrap();
    for part in ["", "shops"] {
        for entry in std::fs::read_dir(from.join(part)).unwrap().flatten().filter(|entry| entry.path().is_file()) {
            std::fs::copy(entry.path(), folder.join(part).join(entry.file_name())).unwrap();
        }
    }
}

/// The text of a plan one round later: a line of notes and a number that moves.
fn later(text: &str, round: usize) -> String {
    let body = text.split("\n## Round ").next().unwrap_or(text);
    format!(
        "{body}\n## Round {round}\n\nLooked at again, and the test strip came out {round} points too dense.\n\n```workings\nlet strips = {round} * 2;\n```\n\nSo far `? strips` strips.\n"
    )
}

fn make(folder: &Path, plans: usize, rounds: usize) {
    shipped(folder);
    let began = Instant::now();
    for round in 0..rounds {
        let notebook = open(folder, day(round));
        notebook.history.catch_up().unwrap();
        if round % 5 == 4 {
            for (name, _) in notebook.documents.all(engine::document::Kind::RateSheet) {
                let kept = notebook.text(&name).unwrap();
                let text =
                    kept.text.replacen("quoted = \"", &format!("quoted = \"{}\" # before: ", day(round).iso()), 1);
                notebook.save(&name, &text.replace(".usd;", "0.usd;"), &kept.hash).unwrap();
            }
        }
        let originals = ["causeway-first-light", "boathouse-window", "grain-elevator-noon", "quarry-upper-bench"];
        for plan in 0..plans {
            if round == 0 {
                let from = Name::new(originals[plan % originals.len()]).unwrap();
                let name = notebook.copy(&from, &format!("Study {plan:04}"), &[]).unwrap();
                assert_eq!(name, named(plan));
                continue;
            }
            let kept = notebook.text(&named(plan)).unwrap();
            let text = if round == 1 && !kept.text.contains("[certificate]") {
                kept.text.replacen("\n[shops]", &format!("{FACTS}\n[shops]"), 1)
            } else {
                kept.text.clone()
            };
            notebook.save(&named(plan), &later(&text, round), &kept.hash).unwrap();
            if round % 6 == 2 {
                let line = |what, words: &str| NewLine {
                    which: Which::Print(Print::Number(u32::try_from(round / 6 + 1).unwrap())),
                    what,
                    when: day(round),
                    words: words.to_owned(),
                    amount: String::new(),
                    place: String::new(),
                };
                for (what, words) in [
                    (Event::Printed, "Tidewater"),
                    (Event::Signed, "me"),
                    (Event::Numbered, "me"),
                    (Event::Sold, "A. Reader"),
                ] {
                    // A plan without an edition has no ledger.
                    let _ = notebook.add_line(&named(plan), line(what, words));
                }
            }
        }
        notebook.settle();
        println!("made: round {} of {rounds}, {:.0?}", round + 1, began.elapsed());
    }
}

/// Memory this process holds, in megabytes.
fn held() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line =
        status.lines().find_map(|line| line.strip_prefix("VmRSS:")?.trim().strip_suffix(" kB")?.parse::<f64>().ok());
    line.unwrap_or_default() / 1024.0
}

async fn ask(app: &Router, path: &str) -> (Duration, String) {
    let began = Instant::now();
    let request = Request::get(path).header(header::HOST, "localhost").header(header::ACCEPT, "text/html");
    let answer = app.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
    let status = answer.status();
    let body = axum::body::to_bytes(answer.into_body(), 64 << 20).await.unwrap();
    let took = began.elapsed();
    let body = String::from_utf8_lossy(&body).into_owned();
    assert!(status.is_success(), "{path}: {status} {body}");
    (took, body)
}

/// Asks for a page again and again and prints how long that takes; gives the slowest.
async fn time(app: &Router, what: &str, times: usize, path: impl Fn(usize) -> String) -> Duration {
    let (mut all, mut bytes) = (Vec::new(), 0);
    for turn in 0..times {
        let (took, body) = ask(app, &path(turn)).await;
        all.push(took);
        bytes = bytes.max(body.len());
    }
    all.sort();
    let at = |share: usize| all[(all.len() * share / 100).min(all.len() - 1)].as_secs_f64() * 1e3;
    println!("{what:<44} {:>8.1} {:>8.1} {:>8.1} ms {:>9} kB", at(50), at(95), at(100), bytes / 1024);
    all[all.len() - 1]
}

/// Waits until every plan is known as it stands, and prints how long that takes. It looks no oftener than an open page would
/// be told, for looking takes a part of the processor.
async fn quiet(notebook: &Arc<Notebook>, what: &str) {
    let began = Instant::now();
    while notebook.summaries.all().unwrap().iter().any(|plan| plan.stale) {
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    println!("{what} in {:.2?}", began.elapsed());
}

/// What the same plans take on one thread that does nothing but work them out, and how near to all processors doing so it came.
fn against_one_thread(notebook: &Notebook, sheet: &Name, took: Duration) {
    let quoted = format!("\"{}\"", sheet.as_str());
    let texts = notebook.documents.all(engine::document::Kind::Plan).into_iter().filter_map(|(name, _)| {
        let kept = notebook.text(&name).ok().filter(|kept| kept.text.contains(&quoted))?;
        let facts = notebook.calculator.facts(&name, &Document::read(&kept.text).front, None).ok()?;
        Some((kept.text.clone(), facts))
    });
    let plans: Vec<_> = texts.collect();
    let compiled = Arc::default();
    let began = Instant::now();
    for (text, facts) in &plans {
        let document = Document::read(text);
        std::hint::black_box(evaluate(&document, facts, &compiled, None));
    }
    let floor = began.elapsed();
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    println!(
        "{} plans that draw on it: {took:.2?}; on one thread and nothing else {floor:.2?}; ratio to {cores} of those {:.2}",
        plans.len(),
        floor.as_secs_f64() / (cores as f64 * took.as_secs_f64())
    );
}

/// What the processor does while nothing happens, over two of the rounds in which the folder is looked through.
async fn idle() {
    let used = || Duration::try_from(rustix::time::clock_gettime(rustix::time::ClockId::ProcessCPUTime)).unwrap();
    tokio::time::sleep(Duration::from_secs(5)).await;
    let (began, before) = (Instant::now(), used());
    tokio::time::sleep(Duration::from_secs(60)).await;
    let share = (used() - before).as_secs_f64() / began.elapsed().as_secs_f64();
    println!("while nothing happens {:.2} % of one processor", share * 100.0);
}

fn routed(notebook: &Arc<Notebook>) -> Router {
    app(App::new(notebook.clone(), Vec::new(), tokio::sync::watch::channel(false).1))
}

async fn measure(folder: &Path, plans: usize, rounds: usize) -> bool {
    // Any plan, another each time: 7919 is a prime, so all come up.
    let any = move |turn: usize| (turn * 7919 + 13) % plans;
    let today = day(rounds);
    let began = Instant::now();
    let notebook = open(folder, today);
    println!("opened in {:.2?}, {:.0} MB", began.elapsed(), held());
    let app = routed(&notebook);
    let mut slowest: Vec<(String, Duration)> = Vec::new();
    println!("{:<44} {:>8} {:>8} {:>8}", "page", "half", "95 %", "slowest");
    let mut note = |what: &str, took: Duration| slowest.push((what.to_owned(), took));

    for (what, path) in [("first page, just opened", "/"), ("year, just opened", "/year")] {
        note(what, time(&app, what, 1, |_| path.into()).await);
    }
    let follower = tokio::spawn(server::watch::follow(notebook.clone()));
    quiet(&notebook, "every plan calculated again").await;
    follower.abort();
    notebook.settle();
    println!("{:.0} MB", held());
    drop((notebook, app));

    // Opened once more on the same day: all is known.
    let began = Instant::now();
    let notebook = open(folder, today);
    let app = routed(&notebook);
    let (took, first) = ask(&app, "/").await;
    println!(
        "opened again with its first page in {:.2?}, of which the page {took:.1?}; {} to be calculated",
        began.elapsed(),
        notebook.summaries.all().unwrap().iter().filter(|plan| plan.stale).count()
    );
    assert!(first.contains("artworks"));
    let follower = tokio::spawn(server::watch::follow(notebook.clone()));

    let plan = move |turn: usize| format!("/plan/{}", named(any(turn)).in_url());
    let rounds_of = rounds;
    let code = {
        let issued = (0..plans).find_map(|one| notebook.issue(&named(one), Print::Number(1)).ok());
        issued.expect("a certificate").code
    };
    let pages: Vec<(&str, Address)> = vec![
        ("first page, wall and table", Box::new(|_| "/".into())),
        ("wall further along", Box::new(move |turn| format!("/?from={}", any(turn)))),
        ("wall, a word looked for in all of them", Box::new(|_| "/?find=strip".into())),
        ("wall, a title and a number looked for", Box::new(move |turn| format!("/?find=study+{:04}+in", any(turn)))),
        ("plan", Box::new(plan)),
        ("plan, the same again", Box::new(move |_| plan(0))),
        ("history", Box::new(move |turn| format!("{}/history", plan(turn)))),
        (
            "compare, first and last revision",
            Box::new(move |turn| format!("{}/compare?from=1&to={rounds_of}", plan(turn))),
        ),
        ("ledger", Box::new(move |turn| format!("{}/ledger", plan(turn)))),
        ("certificate, as it would be", Box::new(move |turn| format!("{}/certificate/1", plan(turn)))),
        ("certificate, by its code", Box::new(move |_| format!("/certificate/{code}"))),
        ("links", Box::new(move |turn| format!("{}/links", plan(turn)))),
        ("ticket", Box::new(move |turn| format!("{}/ticket/lab", plan(turn)))),
        ("values", Box::new(move |turn| format!("{}/values", plan(turn)))),
        ("calendar", Box::new(move |turn| format!("{}/calendar.ics", plan(turn)))),
        ("table of costs", Box::new(move |turn| format!("{}/tables/costs.csv", plan(turn)))),
        ("archive", Box::new(move |turn| format!("{}/archive", plan(turn)))),
        ("year", Box::new(|_| "/year".into())),
        ("rate sheets", Box::new(|_| "/rates".into())),
        ("one rate sheet", Box::new(|_| "/rates/shops%2Ftidewater-lab".into())),
        ("history of a rate sheet", Box::new(|_| "/rates/shops%2Ftidewater-lab/history".into())),
        ("begin", Box::new(|_| "/begin".into())),
        ("reference", Box::new(|_| "/reference".into())),
    ];
    for (what, path) in &pages {
        note(what, time(&app, what, ASKED, path).await);
    }
    println!("{:.0} MB", held());

    // Another program changes a thousand files at once.
    let some = plans.min(1_000);
    let number = |plan| notebook.store().revisions(&named(plan)).unwrap()[0].number;
    let before: Vec<_> = (0..some).map(number).collect();
    let began = Instant::now();
    for plan in 0..some {
        let file = named(plan).file(folder);
        let text = std::fs::read_to_string(&file).unwrap();
        std::fs::write(&file, format!("{text}\nChanged outside.\n")).unwrap();
    }
    let wrote = began.elapsed();
    while !before.iter().enumerate().all(|(plan, before)| number(plan) > *before) {
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    println!("{some} files changed outside in {wrote:.2?}, all in the record {:.2?} after the first", began.elapsed());
    quiet(&notebook, "and calculated").await;

    // The results of the changed files are in the record, too, before the next is timed.
    let began = Instant::now();
    while (0..some).any(|plan| notebook.store().revisions(&named(plan)).unwrap()[0].moved.is_none()) {
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    println!("the results of each are in the record {:.2?} later", began.elapsed());

    // A rate sheet is quoted again: everything that draws on it moves.
    let lab = Name::new("shops/tidewater-lab").unwrap();
    let kept = notebook.text(&lab).unwrap();
    let began = Instant::now();
    notebook.save(&lab, &format!("{}\nQuoted again by telephone.\n", kept.text), &kept.hash).unwrap();
    println!("a rate sheet saved in {:.2?}", began.elapsed());
    for (what, path) in [("first page after a rate sheet changed", "/"), ("year after a rate sheet changed", "/year")] {
        note(what, time(&app, what, 10, |_| path.into()).await);
    }
    note("plan, while all are calculated", time(&app, "plan, while all are calculated", 20, plan).await);
    quiet(&notebook, "all that draws on it calculated again").await;

    // And once more while nobody asks for anything.
    let kept = notebook.text(&lab).unwrap();
    let began = Instant::now();
    notebook.save(&lab, &format!("{}\nAnd again.\n", kept.text), &kept.hash).unwrap();
    let stale = notebook.summaries.all().unwrap().iter().filter(|plan| plan.stale).count();
    println!("{stale} of {plans} plans to be calculated again");
    quiet(&notebook, "the same while nobody asks for a page").await;
    let took = began.elapsed();
    idle().await;
    follower.abort();
    against_one_thread(&notebook, &lab, took);
    let kept = notebook.text(&lab).unwrap();
    let began = Instant::now();
    let moves = notebook.moves(&lab, &kept.text.replace(".usd;", "1.usd;")).unwrap();
    println!("what a draft of a rate sheet moves in {} plans: {:.2?}", moves.plans.len(), began.elapsed());

    let over: Vec<_> = slowest.iter().filter(|(_, took)| *took > MOST).collect();
    for (what, took) in &over {
        println!("over {MOST:?}: {what}, {took:.1?}");
    }
    over.is_empty()
}

fn main() {
    // Only when it is asked for by name: it takes minutes.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    // As the program does.
    server::memory::give_back_soon();
    let (plans, rounds) = (number("MAKEREADY_PLANS", 1_000), number("MAKEREADY_ROUNDS", 20));
    let kept = std::env::var_os("MAKEREADY_LARGE").map(PathBuf::from);
    let own = tempfile::tempdir().unwrap();
    let folder = kept.unwrap_or_else(|| own.path().join("large"));
    if !folder.exists() {
        make(&folder, plans, rounds);
    }
    println!("{plans} plans, {} revisions", plans * rounds);
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    if !runtime.block_on(measure(&folder, plans, rounds)) {
        std::process::exit(1);
    }
}
