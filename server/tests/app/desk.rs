//! A notebook on a desk of its own: the shipped plans in a folder that goes away with the test, and the server round it.
#![allow(dead_code, reason = "each test file uses its own part")]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Method, Request, StatusCode, header};
use engine::measure::Day;
use serde_json::Value;
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

use crate::program::copied;

/// The day every test stands on.
pub const TODAY: &str = "2026-11-25";

pub struct Desk {
    pub folder: tempfile::TempDir,
    pub notebook: Arc<Notebook>,
    app: Router,
    _end: tokio::sync::watch::Sender<bool>,
}

/// What the server answered.
#[derive(Debug)]
pub struct Reply {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

impl Desk {
    /// The shipped notebook.
    pub fn shipped() -> Self {
        Self::on(copied())
    }

    /// A notebook of one plan `p` of this text.
    pub fn with(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("p.md"), text).unwrap();
        Self::on(folder)
    }

    /// A folder prepared by the test.
    pub fn on(folder: tempfile::TempDir) -> Self {
        Self::on_the(TODAY, folder)
    }

    fn on_the(day: &str, folder: tempfile::TempDir) -> Self {
        let store = Store::open(folder.path()).unwrap();
        let clock = Clock::Fixed(Day::parse(day).unwrap());
        let notebook = Arc::new(Notebook::open(folder.path().to_path_buf(), store, clock).unwrap());
        let (end, ending) = tokio::sync::watch::channel(false);
        let app = app(App::new(notebook.clone(), Vec::new(), ending));
        Self { folder, notebook, app, _end: end }
    }

    /// The same folder opened again, as after a restart.
    pub fn again(self) -> Self {
        let Self { folder, notebook, app, .. } = self;
        drop((notebook, app));
        Self::on(folder)
    }

    /// The same folder on another day.
    pub fn later(self, day: &str) -> Self {
        let Self { folder, notebook, app, .. } = self;
        drop((notebook, app));
        Self::on_the(day, folder)
    }

    pub async fn ask(&self, request: Request<Body>) -> Reply {
        let response = self.app.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let body = to_bytes(body, 64 << 20).await.unwrap().to_vec();
        Reply { status: parts.status, headers: parts.headers, body }
    }

    /// An answer that goes on, piece by piece.
    pub async fn stream(&self, request: Request<Body>) -> axum::body::BodyDataStream {
        self.app.clone().oneshot(request).await.unwrap().into_body().into_data_stream()
    }

    /// As a person opens a page.
    pub async fn get(&self, path: &str) -> Reply {
        let request = Request::get(path).header(header::HOST, "localhost").header(header::ACCEPT, "text/html");
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    /// As the notebook's own page writes.
    pub async fn send(&self, method: Method, path: &str, from: &str, body: impl Into<Body>) -> Reply {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, "localhost")
            .header("sec-fetch-site", "same-origin")
            .header(header::ACCEPT, "application/json");
        if !from.is_empty() {
            request = request.header(header::IF_MATCH, format!("\"{from}\""));
        }
        self.ask(request.body(body.into()).unwrap()).await
    }

    pub async fn post(&self, path: &str, from: &str, body: Value) -> Reply {
        self.send(Method::POST, path, from, body.to_string()).await
    }

    pub async fn put(&self, plan: &str, from: &str, text: &str) -> Reply {
        self.send(Method::PUT, &format!("/plan/{plan}/text"), from, text.to_owned()).await
    }

    /// The mark of a plan's text now.
    pub async fn mark(&self, plan: &str) -> String {
        let reply = self.get(&format!("/plan/{plan}/text")).await;
        reply.headers[header::ETAG].to_str().unwrap().trim_matches('"').to_owned()
    }

    /// The numbers a plan gives now.
    pub async fn values(&self, plan: &str) -> Value {
        self.get(&format!("/plan/{plan}/values")).await.json()
    }

    pub fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    /// A file of the notebook, as it lies on the disk.
    pub fn file(&self, file: &str) -> String {
        std::fs::read_to_string(self.path(file)).unwrap()
    }

    /// Writes a file the way another program would.
    pub fn outside(&self, file: &str, text: impl AsRef<[u8]>) {
        std::fs::write(self.path(file), text).unwrap();
    }

    /// The texts of every revision of a document, oldest first.
    pub fn history(&self, plan: &str) -> Vec<String> {
        let name = Name::new(plan).unwrap();
        let mut numbers: Vec<_> =
            self.notebook.store().revisions(&name).unwrap().iter().map(|one| one.number).collect();
        numbers.sort_unstable();
        numbers.into_iter().map(|number| self.notebook.store().revision_text(&name, number).unwrap()).collect()
    }

    /// Every file of the notebook but its record, with its bytes.
    pub fn files(&self) -> Vec<(PathBuf, Vec<u8>)> {
        let mut all = Vec::new();
        walk(self.folder.path(), &mut all);
        all.retain(|(path, _)| path.extension().is_some_and(|end| end == "md"));
        all.sort();
        all
    }
}

impl Reply {
    pub fn text(&self) -> &str {
        std::str::from_utf8(&self.body).unwrap()
    }

    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }

    /// The two halves of a refusal.
    pub fn told(&self) -> (String, String) {
        let json = self.json();
        (json["what"].as_str().unwrap().to_owned(), json["next"].as_str().unwrap().to_owned())
    }

    #[track_caller]
    pub fn is(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}", String::from_utf8_lossy(&self.body));
        self
    }
}

fn walk(folder: &Path, all: &mut Vec<(PathBuf, Vec<u8>)>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        if entry.file_type().unwrap().is_dir() {
            walk(&entry.path(), all);
        } else {
            all.push((entry.path(), std::fs::read(entry.path()).unwrap()));
        }
    }
}

/// HTML's own way of writing a sign, read back.
pub fn unescaped(html: &str) -> String {
    let mut out = html.to_owned();
    for (written, sign) in [
        ("&#39;", "'"),
        ("&#x27;", "'"),
        ("&#x2f;", "/"),
        ("&quot;", "\""),
        ("&nbsp;", " "),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&amp;", "&"),
    ] {
        out = out.replace(written, sign);
    }
    out
}

/// What a page says to a person who reads it: its text without marks, spaces as one.
pub fn words(html: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for c in html.chars() {
        match c {
            '<' => inside = true,
            '>' if inside => {
                inside = false;
                out.push(' ');
            }
            c if !inside => out.push(c),
            _ => {}
        }
    }
    unescaped(&out).split_whitespace().collect::<Vec<_>>().join(" ")
}
