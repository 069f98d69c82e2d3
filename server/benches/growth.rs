//! How the cost grows: with the size of a plan, with the number of plans, with the number of revisions.
//!
//! `cargo bench --workspace --bench growth` prints the points and the slope of the straight line through their logarithms by
//! least squares (1 is cost in proportion, 0 none at all; more than 1.1 fails) and draws them to the file `MAKEREADY_GROWTH`
//! names.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    clippy::cast_precision_loss,
    reason = "a bench"
)]

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, header};
use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::Day;
use engine::render::html::{View, article};
use engine::{Facts, evaluate};
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

/// The steepest a line may be.
const STEEPEST: f64 = 1.1;

/// One line of the picture: what was done, to so many of what, and the milliseconds it took.
struct Line {
    what: &'static str,
    of: &'static str,
    points: Vec<(f64, f64)>,
}

impl Line {
    /// The slope of the straight line through the logarithms, by least squares.
    fn slope(&self) -> f64 {
        let logs: Vec<(f64, f64)> = self.points.iter().map(|(x, y)| (x.ln(), y.ln())).collect();
        let count = logs.len() as f64;
        let (mx, my) = (logs.iter().map(|p| p.0).sum::<f64>() / count, logs.iter().map(|p| p.1).sum::<f64>() / count);
        let over: f64 = logs.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum();
        over / logs.iter().map(|p| (p.0 - mx).powi(2)).sum::<f64>()
    }

    fn print(&self) {
        let shown: Vec<_> = self.points.iter().map(|(x, ms)| format!("{x} {ms:.2} ms")).collect();
        println!("{} ({}): {}; slope {:.2}", self.what, self.of, shown.join(", "), self.slope());
    }
}

/// Half of so many turns take less, in milliseconds.
fn median(turns: usize, mut act: impl FnMut(usize)) -> f64 {
    let mut all: Vec<f64> = (0..turns)
        .map(|turn| {
            let start = Instant::now();
            act(turn);
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

fn plan(blocks: usize) -> String {
    let mut text = String::from("+++\ntitle = \"Weir, Low Water\"\nedition = 12\n+++\n\n# Weir, Low Water\n");
    for block in 0..blocks {
        let _ = write!(
            text,
            "\n## Part {block}\n\nThe negative is read twice and the better of the two is kept.\n\n```workings\nlet wide{block} = {}.inch;\nmust(7200.px / wide{block} >= 10.ppi, \"Part {block} stays sharp\");\n```\n\nIt is `? wide{block} * 24 / 72` high at `? 7200.px / wide{block}`.\n",
            24 + block
        );
    }
    text
}

fn calculated(text: &str, compiled: &Arc<Compiled>) -> usize {
    let document = Document::read(text);
    let evaluation = evaluate(&document, &Facts::on(Day::parse("2026-11-26").unwrap()), compiled, None);
    assert!(evaluation.problems.is_empty(), "{:?}", evaluation.problems.first());
    article(&document, &evaluation, &View::default()).html.len()
}

/// A plan of 12 to 192 blocks, calculated whole and with one block changed.
fn by_size() -> [Line; 2] {
    let (mut fresh, mut changed) = (Vec::new(), Vec::new());
    for blocks in [12, 24, 48, 96, 192] {
        let text = plan(blocks);
        let turns = 1000 / blocks + 9;
        let took = median(turns, |_| {
            black_box(calculated(&text, &Arc::default()));
        });
        fresh.push((blocks as f64, took));
        let kept = Arc::new(Compiled::default());
        calculated(&text, &kept);
        calculated(&text, &kept);
        let took = median(turns, |turn| {
            black_box(calculated(&text.replace("Part 9 stays sharp", &format!("Part 9, {turn}")), &kept));
        });
        changed.push((blocks as f64, took));
    }
    [
        Line { what: "a plan calculated whole", of: "blocks", points: fresh },
        Line { what: "a plan with one block changed", of: "blocks", points: changed },
    ]
}

fn open(folder: &Path) -> (Arc<Notebook>, Router) {
    let clock = Clock::Fixed(Day::parse("2026-11-26").unwrap());
    let notebook = Arc::new(Notebook::open(folder.to_path_buf(), Store::open(folder).unwrap(), clock).unwrap());
    let router = app(App::new(notebook.clone(), Vec::new(), tokio::sync::watch::channel(false).1));
    (notebook, router)
}

fn ask(runtime: &tokio::runtime::Runtime, router: &Router, path: &str) {
    runtime.block_on(async {
        let request = Request::get(path).header(header::HOST, "localhost").header(header::ACCEPT, "text/html");
        let answer = router.clone().oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        assert!(answer.status().is_success(), "{path}: {}", answer.status());
        black_box(axum::body::to_bytes(answer.into_body(), 64 << 20).await.unwrap());
    });
}

/// Notebooks of 250 to 4,000 plans: opened again with the first page, the first page, a search, the year, a save.
fn by_plans(runtime: &tokio::runtime::Runtime) -> Vec<Line> {
    let mut lines: Vec<Line> = ["opened with its first page", "first page", "search", "the year", "a save"]
        .into_iter()
        .map(|what| Line { what, of: "plans", points: Vec::new() })
        .collect();
    let text = plan(6).replace("edition = 12", "edition = 12\n");
    for plans in [250, 500, 1000, 2000, 4000] {
        let folder = tempfile::tempdir().unwrap();
        for plan in 0..plans {
            let own = text.replace("Weir, Low Water", &format!("Weir {plan}"))
                + "\n```workings\ncost(\"Print\", 412.usd);\nstep(\"Print\", 5.days);\n```\n";
            std::fs::write(folder.path().join(format!("weir-{plan:05}.md")), own).unwrap();
        }
        let (notebook, _) = open(folder.path());
        notebook.summaries.catch_up().unwrap();
        notebook.settle();
        drop(notebook);
        let count = plans as f64;
        let opened = median(5, |_| {
            let (_, router) = open(folder.path());
            ask(runtime, &router, "/");
        });
        lines[0].points.push((count, opened));
        let (notebook, router) = open(folder.path());
        for (line, path) in [(1, "/"), (2, "/?find=weir+7"), (3, "/year")] {
            let took = median(15, |_| ask(runtime, &router, path));
            lines[line].points.push((count, took));
        }
        let name = Name::new("weir-00007").unwrap();
        let took = median(15, |turn| {
            let kept = notebook.text(&name).unwrap();
            notebook.save(&name, &format!("{}\n\nTurn {turn}.\n", kept.text), &kept.hash).unwrap();
        });
        lines[4].points.push((count, took));
    }
    lines
}

/// One plan of 50 to 3,200 revisions: its page and a save.
fn by_revisions(runtime: &tokio::runtime::Runtime) -> [Line; 2] {
    let (mut page, mut save) = (Vec::new(), Vec::new());
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("weir.md"), plan(6)).unwrap();
    let (notebook, router) = open(folder.path());
    let name = Name::new("weir").unwrap();
    let text = plan(6);
    let mut made = 0;
    let mut turn = || {
        made += 1;
        let kept = notebook.text(&name).unwrap();
        notebook.save(&name, &format!("{text}\nTurn {made}.\n"), &kept.hash).unwrap();
    };
    let mut before = 0;
    for revisions in [50, 200, 800, 3200] {
        (before..revisions).for_each(|_| turn());
        before = revisions + 15;
        save.push((revisions as f64, median(15, |_| turn())));
        page.push((revisions as f64, median(15, |_| ask(runtime, &router, "/plan/weir"))));
    }
    [
        Line { what: "a plan’s page", of: "revisions", points: page },
        Line { what: "a save of it", of: "revisions", points: save },
    ]
}

/// All lines over one another, both scales in powers of ten.
fn drawn(lines: &[Line]) -> String {
    const WIDE: f64 = 700.0;
    const HIGH: f64 = 420.0;
    const LEFT: f64 = 60.0;
    const FOOT: f64 = 46.0;
    let x = |value: f64| LEFT + (value.log10() - 1.0) / 3.0 * (WIDE - LEFT - 250.0);
    let y = |ms: f64| HIGH - FOOT - (ms.log10() + 2.0) / 5.0 * (HIGH - FOOT - 20.0);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDE} {HIGH}\" width=\"{WIDE}\" height=\"{HIGH}\" font-family=\"serif\" font-size=\"12\"><title>How the cost grows</title><rect width=\"{WIDE}\" height=\"{HIGH}\" fill=\"#fff\"/>"
    );
    for power in 1..=4 {
        let at = x(10_f64.powi(power));
        let _ = write!(
            out,
            "<path d=\"M{at:.1} 20V{:.1}\" stroke=\"#ccc\"/><text x=\"{at:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
            HIGH - FOOT,
            HIGH - FOOT + 16.0,
            10_i32.pow(power.unsigned_abs())
        );
    }
    for power in -2..=3 {
        let at = y(10_f64.powi(power));
        let _ = write!(
            out,
            "<path d=\"M{LEFT} {at:.1}H{:.1}\" stroke=\"#ccc\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{} ms</text>",
            x(1e4),
            LEFT - 6.0,
            at + 4.0,
            10_f64.powi(power)
        );
    }
    let _ = write!(
        out,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">blocks, plans or revisions</text>",
        x(316.0),
        HIGH - 8.0
    );
    let mut labels: Vec<(f64, &Line)> =
        lines.iter().map(|line| (y(line.points[line.points.len() - 1].1), line)).collect();
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lowest = 10.0;
    for (number, (end, line)) in labels.into_iter().enumerate() {
        let dash = ["", "6 2", "2 2", "8 2 2 2"][number % 4];
        let places: Vec<_> = line.points.iter().map(|(of, ms)| format!("{:.1} {:.1}", x(*of), y(*ms))).collect();
        let at = end.max(lowest + 14.0);
        lowest = at;
        let last = line.points[line.points.len() - 1];
        let _ = write!(
            out,
            "<path d=\"M{}\" fill=\"none\" stroke=\"#1b2024\" stroke-width=\"1.4\" stroke-dasharray=\"{dash}\"/><path d=\"M{:.1} {:.1}L{:.1} {:.1}\" stroke=\"#999\" stroke-width=\".6\"/><text x=\"{:.1}\" y=\"{:.1}\">{} ({}), {:.2}</text>",
            places.join("L"),
            x(last.0) + 2.0,
            y(last.1),
            x(1e4) + 2.0,
            at,
            x(1e4) + 5.0,
            at + 4.0,
            line.what,
            line.of,
            line.slope()
        );
    }
    out.push_str("</svg>\n");
    out
}

fn main() -> std::process::ExitCode {
    // Only when it is asked for by name.
    if !std::env::args().any(|argument| argument == "--bench") {
        return std::process::ExitCode::SUCCESS;
    }
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    let mut lines: Vec<Line> = by_size().into();
    lines.extend(by_plans(&runtime));
    lines.extend(by_revisions(&runtime));
    lines.iter().for_each(Line::print);
    if let Some(file) = std::env::var_os("MAKEREADY_GROWTH") {
        std::fs::write(file, drawn(&lines)).unwrap();
    }
    let steep: Vec<_> = lines.iter().filter(|line| line.slope() > STEEPEST).map(|line| line.what).collect();
    if !steep.is_empty() {
        println!("steeper than {STEEPEST}: {}", steep.join(", "));
        return std::process::ExitCode::FAILURE;
    }
    std::process::ExitCode::SUCCESS
}
