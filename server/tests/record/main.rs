//! What the notebook remembers, asked over its own addresses.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests may")]

mod archives;
mod copies;
mod ledger;
mod pieces;
#[path = "../program/mod.rs"]
mod program;
mod rates;
mod renames;
mod revisions;

use std::path::Path;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use engine::measure::Day;
use program::long_form;
use serde_json::{Value, json};
use server::clock::Clock;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

const SHEET: &str = "+++\ntitle = \"Tarn Lab\"\nkind = \"rate sheet\"\ntrade = \"lab\"\nquoted = \"2026-10-01\"\nuntil = \"2026-12-31\"\n+++\n\n# Tarn Lab\n\n```workings\nlet foot = 16.80.usd;    // a square foot\nlet least = 65.usd;\nlet widest = 49.inch;\nlet print_days = 5.days;\nlet least_ppi = 200.ppi;\nfn chromogenic(size) { size[0] * size[1] / 1.ft2 * foot }\n```\n";
const PLAN: &str = "+++\ntitle = \"Long Weir\"\nedition = 5\nproofs = 1\nstart = 2026-11-02\n[shops]\nlab = \"shops/tarn-lab\"\n+++\n\n# Long Weir\n\n```workings\nimport \"shops/tarn-lab\" as lab;\nlet wide = given(\"Print width\", 72.inch);\nlet high = 24.inch;\ncost(\"Print\", lab::chromogenic([wide, high]), \"lab\");\nstep(\"Proof\", 3.days, \"lab\");\nstep(\"Print\", lab::print_days, after(\"Proof\"), \"lab\");\nshould(total() <= 210.usd, \"It costs no more than 210 dollars\");\nhangs([wide, high]);\n```\n\nIn all `? total()`.\n\n`? steps()`\n\n`? costs()`\n";

struct Studio {
    folder: tempfile::TempDir,
    notebook: Arc<Notebook>,
    app: Router,
}

fn day(text: &str) -> Day {
    Day::parse(text).unwrap()
}

fn open(folder: &Path, today: &str) -> (Arc<Notebook>, Router) {
    let store = Store::open(folder).unwrap();
    let notebook = Arc::new(Notebook::open(folder.to_path_buf(), store, Clock::Fixed(day(today))).unwrap());
    let ending = tokio::sync::watch::channel(false).1;
    (notebook.clone(), app(App::new(notebook, Vec::new(), ending)))
}

impl Studio {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("shops")).unwrap();
        std::fs::write(folder.path().join("shops/tarn-lab.md"), SHEET).unwrap();
        std::fs::write(folder.path().join("long-weir.md"), PLAN).unwrap();
        let (notebook, app) = open(folder.path(), "2026-11-25");
        Self { folder, notebook, app }
    }

    /// The same notebook on another day.
    fn on(self, today: &str) -> Self {
        let Self { folder, notebook, app } = self;
        drop((notebook, app));
        let (notebook, app) = open(folder.path(), today);
        Self { folder, notebook, app }
    }

    async fn ask(&self, method: &str, path: &str, etag: Option<&str>, body: Option<String>) -> (StatusCode, String) {
        ask(&self.app, method, path, etag, body.map(String::into_bytes)).await
    }

    async fn get(&self, path: &str) -> String {
        let (status, body) = self.ask("GET", path, None, None).await;
        assert_eq!(status, StatusCode::OK, "{path}: {body}");
        body
    }

    async fn post(&self, path: &str, json: Value) -> (StatusCode, Value) {
        let (status, body) = self.ask("POST", path, None, Some(json.to_string())).await;
        (status, serde_json::from_str(&body).unwrap_or(Value::String(body)))
    }

    async fn etag(&self, plan: &str) -> String {
        let name = server::names::Name::new(plan).unwrap();
        self.notebook.text(&name).unwrap().hash.clone()
    }

    async fn change(&self, plan: &str, path: &str, json: Value) -> Value {
        let etag = self.etag(plan).await;
        let (status, body) = self.ask("POST", path, Some(&etag), Some(json.to_string())).await;
        assert_eq!(status, StatusCode::OK, "{path}: {body}");
        serde_json::from_str(&body).unwrap()
    }

    async fn save(&self, base: &str, plan: &str, text: &str) -> Value {
        let etag = self.etag(plan).await;
        let (status, body) = self.ask("PUT", &format!("{base}/text"), Some(&etag), Some(text.to_owned())).await;
        assert_eq!(status, StatusCode::OK, "{body}");
        serde_json::from_str(&body).unwrap()
    }

    fn text(&self, file: &str) -> String {
        std::fs::read_to_string(self.folder.path().join(file)).unwrap()
    }
}

async fn ask(
    app: &Router,
    method: &str,
    path: &str,
    etag: Option<&str>,
    body: Option<Vec<u8>>,
) -> (StatusCode, String) {
    let mut request = Request::builder().method(method).uri(path).header(header::HOST, "localhost");
    if method != "GET" {
        request = request.header("sec-fetch-site", "same-origin");
    }
    if let Some(etag) = etag {
        request = request.header(header::IF_MATCH, format!("\"{etag}\""));
    }
    let response = app.clone().oneshot(request.body(Body::from(body.unwrap_or_default())).unwrap()).await.unwrap();
    let status = response.status();
    let bytes = axum::body::to_bytes(response.into_body(), 64 << 20).await.unwrap();
    (status, String::from_utf8_lossy(&bytes).into_owned())
}

const SHEETS: &str = "/rates/shops%2Ftarn-lab";
