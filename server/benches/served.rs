//! Pages under load over loopback, beside what plain axum gives for a page of the same size in the same run.
//!
//! The floor is the least such a page can be: one read from SQLite and one template, nothing else. `cargo bench --workspace
//! --bench served` prints requests a second, half of the answers and 99 of 100 for both, with their ratio; then a thousand
//! open pages that follow the notebook: what each costs in memory, and how long an edit takes to reach all of them. Server
//! and client share the machine. `MAKEREADY_SOAK=10` adds so many minutes of mixed load and prints memory as it goes.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a bench"
)]

use std::net::SocketAddr;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::http::{Request, header};
use axum::response::Html;
use axum::routing::get;
use engine::measure::Day;
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app, listen};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio_stream::StreamExt as _;
use tower::ServiceExt as _;

/// Connections that ask at once.
const CLIENTS: usize = 50;
/// How long each page is asked for.
const SPAN: Duration = Duration::from_secs(4);
/// Open pages that follow.
const PAGES: usize = 1_000;

/// Memory this process holds, in kilobytes.
fn held() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")?.trim().strip_suffix(" kB")?.parse().ok());
    line.unwrap_or_default()
}

/// The shipped notebook on a day of its own.
fn notebook(folder: &Path) -> Arc<Notebook> {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks");
    std::fs::create_dir_all(folder.join("shops")).unwrap();
    for part in ["", "shops"] {
        for entry in std::fs::read_dir(from.join(part)).unwrap().flatten().filter(|entry| entry.path().is_file()) {
            std::fs::copy(entry.path(), folder.join(part).join(entry.file_name())).unwrap();
        }
    }
    let clock = Clock::Fixed(Day::parse("2026-11-26").unwrap());
    Arc::new(Notebook::open(folder.to_path_buf(), Store::open(folder).unwrap(), clock).unwrap())
}

/// A page of so many bytes, from a row of SQLite and a template.
fn floor(bytes: usize) -> Router {
    let record = rusqlite::Connection::open_in_memory().unwrap();
    record.execute_batch("CREATE TABLE page (id INTEGER PRIMARY KEY, text TEXT NOT NULL)").unwrap();
    record.execute("INSERT INTO page (id, text) VALUES (1, ?1)", ["x".repeat(bytes)]).unwrap();
    let record = Arc::new(Mutex::new(record));
    let mut templates = minijinja::Environment::new();
    templates.add_template("page", "<!doctype html><title>{{ title }}</title><p>{{ text|safe }}</p>").unwrap();
    let templates = Arc::new(templates);
    Router::new().route(
        "/",
        get(move || {
            let (record, templates) = (record.clone(), templates.clone());
            async move {
                let text: String = {
                    let record = record.lock().unwrap();
                    let mut ask = record.prepare_cached("SELECT text FROM page WHERE id = 1").unwrap();
                    ask.query_row([], |row| row.get(0)).unwrap()
                };
                let page = templates.get_template("page").unwrap();
                Html(page.render(minijinja::context! { title => "page", text }).unwrap())
            }
        }),
    )
}

/// Sends all of it.
async fn say(stream: &TcpStream, mut bytes: &[u8]) {
    while !bytes.is_empty() {
        stream.writable().await.unwrap();
        match stream.try_write(bytes) {
            Ok(sent) => bytes = &bytes[sent..],
            Err(error) => assert_eq!(error.kind(), std::io::ErrorKind::WouldBlock, "{error}"),
        }
    }
}

/// Takes what has come.
async fn hear(stream: &TcpStream, room: &mut [u8]) -> usize {
    loop {
        stream.readable().await.unwrap();
        match stream.try_read(room) {
            Ok(read) => return read,
            Err(error) => assert_eq!(error.kind(), std::io::ErrorKind::WouldBlock, "{error}"),
        }
    }
}

/// Asks for a page on one kept connection until the time is over, and tells how long each answer took; gives how many bytes
/// the last one had.
async fn client(address: SocketAddr, path: String, until: Instant, mut each: impl FnMut(Duration)) -> usize {
    let stream = TcpStream::connect(address).await.unwrap();
    stream.set_nodelay(true).unwrap();
    let request = format!("GET {path} HTTP/1.1\r\nHost: localhost\r\nAccept: text/html\r\n\r\n");
    let mut long = 0;
    let mut heard = Vec::new();
    let mut piece = vec![0_u8; 64 << 10];
    while Instant::now() < until {
        let began = Instant::now();
        say(&stream, request.as_bytes()).await;
        heard.clear();
        let whole = loop {
            let read = hear(&stream, &mut piece).await;
            assert!(read > 0, "{path}: the connection was closed");
            heard.extend_from_slice(&piece[..read]);
            let Some(head) = heard.windows(4).position(|four| four == b"\r\n\r\n") else { continue };
            let said = String::from_utf8_lossy(&heard[..head]).to_ascii_lowercase();
            assert!(said.starts_with("http/1.1 200"), "{path}: {said}");
            let length = said.lines().find_map(|line| line.strip_prefix("content-length: ")?.parse::<usize>().ok());
            let whole = head + 4 + length.expect("a length");
            if heard.len() >= whole {
                break whole;
            }
        };
        each(began.elapsed());
        long = whole;
    }
    long
}

/// Requests a second and the slowest of a hundred, with so many clients.
async fn load(address: SocketAddr, path: &str) -> (f64, Duration, usize) {
    let until = Instant::now() + SPAN;
    let timed = |path: String| async move {
        let mut took = Vec::new();
        let long = client(address, path, until, |one| took.push(one)).await;
        (took, long)
    };
    let clients: Vec<_> = (0..CLIENTS).map(|_| tokio::spawn(timed(path.to_owned()))).collect();
    let (mut all, mut long) = (Vec::new(), 0);
    for one in clients {
        let (took, bytes) = one.await.unwrap();
        all.extend(took);
        long = bytes;
    }
    all.sort();
    let at = |share: usize| all[(all.len() * share / 100).min(all.len() - 1)];
    let rate = all.len() as f64 / SPAN.as_secs_f64();
    println!("{path:<32} {rate:>9.0} a second, half {:>6.2?}, 99 of 100 {:>6.2?}, {long} bytes", at(50), at(99));
    (rate, at(99), long)
}

/// Serves a table of addresses on a port of its own.
async fn served(router: Router, end: &watch::Sender<bool>) -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    tokio::spawn(listen::serve(listener, router, None, end.subscribe()));
    address
}

/// A thousand pages that follow: memory for each, and how long an edit takes to reach them.
async fn following(notebook: &Arc<Notebook>, router: &Router) {
    let before = held();
    let heard = Arc::new(Semaphore::new(0));
    let open = Arc::new(Semaphore::new(0));
    let mut tasks = Vec::new();
    for _ in 0..PAGES {
        let (router, heard, open) = (router.clone(), heard.clone(), open.clone());
        tasks.push(tokio::spawn(async move {
            let request = Request::get("/events").header(header::HOST, "localhost").body(Body::empty()).unwrap();
            let answer = router.oneshot(request).await.unwrap();
            assert!(answer.status().is_success(), "{}", answer.status());
            let mut stream = answer.into_body().into_data_stream();
            open.add_permits(1);
            while let Some(Ok(piece)) = stream.next().await {
                if String::from_utf8_lossy(&piece).contains("first-plan") {
                    heard.add_permits(1);
                }
            }
        }));
    }
    let _ = open.acquire_many(u32::try_from(PAGES).unwrap()).await.unwrap();
    tokio::time::sleep(Duration::from_millis(300)).await;
    println!("{PAGES} pages follow: {:.1} kB each, goal 12", (held() - before) / PAGES as f64);
    let name = Name::new("first-plan").unwrap();
    let mut took = Vec::new();
    for round in 0..20 {
        let kept = notebook.text(&name).unwrap();
        let text = format!("{}\nRound {round}.\n", kept.text);
        let one = notebook.clone();
        let (name, from) = (name.clone(), kept.hash.clone());
        tokio::task::spawn_blocking(move || one.save(&name, &text, &from).unwrap()).await.unwrap();
        let began = Instant::now();
        let all = heard.acquire_many(u32::try_from(PAGES).unwrap()).await.unwrap();
        took.push(began.elapsed());
        all.forget();
    }
    took.sort();
    println!("an edit reaches all of them: half {:.1?}, slowest {:.1?}, goal 50 ms", took[10], took[19]);
    tasks.iter().for_each(tokio::task::JoinHandle::abort);
}

/// Mixed load for some minutes: pages, values, saves, sheets of paper; memory is printed as it goes.
async fn soak(notebook: &Arc<Notebook>, address: SocketAddr, minutes: u64) {
    let until = Instant::now() + Duration::from_secs(minutes * 60);
    let paths = [
        "/",
        "/plan/causeway-first-light",
        "/plan/boathouse-window/values",
        "/year",
        "/plan/quarry-upper-bench/ticket/lab",
        "/reference",
    ];
    // Counted and not kept: what is measured is the memory of the server.
    let counted = |path: String| async move {
        let mut answered = 0_usize;
        client(address, path, until, |_| answered += 1).await;
        answered
    };
    let clients: Vec<_> = paths.iter().map(|path| tokio::spawn(counted((*path).to_owned()))).collect();
    let name = Name::new("first-plan").unwrap();
    let (mut round, mut told) = (0_u32, Instant::now());
    println!("{:.0} MB at the start", held() / 1024.0);
    while Instant::now() < until {
        let kept = notebook.text(&name).unwrap();
        let body = kept.text.split("\nRound ").next().unwrap_or_default().to_owned();
        let (one, name) = (notebook.clone(), name.clone());
        round += 1;
        tokio::task::spawn_blocking(move || one.save(&name, &format!("{body}\nRound {round}.\n"), &kept.hash).unwrap())
            .await
            .unwrap();
        tokio::time::sleep(Duration::from_millis(50)).await;
        if told.elapsed() > Duration::from_secs(30) {
            told = Instant::now();
            println!("{:.0} MB after {round} saves", held() / 1024.0);
        }
    }
    let mut answered = 0;
    for one in clients {
        answered += one.await.unwrap();
    }
    println!("{answered} pages and {round} saves in {minutes} min, none refused; {:.0} MB at the end", held() / 1024.0);
}

async fn measure() {
    let folder = tempfile::tempdir().unwrap();
    let notebook = notebook(folder.path());
    notebook.summaries.catch_up().unwrap();
    let (end, ending) = watch::channel(false);
    let mut state = App::new(notebook.clone(), Vec::new(), ending);
    state.following = Arc::new(Semaphore::new(PAGES + 10));
    let router = app(state);
    let address = served(router.clone(), &end).await;
    // First, while the process holds no more than it must.
    following(&notebook, &router).await;
    for plan in ["/plan/first-plan", "/plan/causeway-first-light"] {
        let (rate, p99, bytes) = load(address, plan).await;
        let plain = served(floor(bytes), &end).await;
        let (least, _, _) = load(plain, "/").await;
        println!("{plan}: {:.2} of plain axum, 99 of 100 in {p99:.2?} (goal 50 ms)", rate / least);
    }
    if let Some(minutes) = std::env::var("MAKEREADY_SOAK").ok().and_then(|minutes| minutes.parse().ok()) {
        soak(&notebook, address, minutes).await;
    }
    let _ = end.send(true);
}

fn main() {
    // Only when it is asked for by name.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    // As the program does.
    server::memory::give_back_soon();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(measure());
}
