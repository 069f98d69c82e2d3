//! How long a browser that logged in stays logged in, day by day.

use std::path::Path;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, header};
use engine::measure::Day;
use server::clock::Clock;
use server::notebook::Notebook;
use server::passphrase::Kept;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

const PASSPHRASE: &str = "heron under wet plaster";

/// The notebook as it is served on a day.
fn on(folder: &Path, day: &str) -> Router {
    let store = Store::open(folder).unwrap();
    let clock = Clock::Fixed(Day::parse(day).unwrap());
    let notebook = Notebook::open(folder.to_path_buf(), store, clock).unwrap();
    let (_, ending) = tokio::sync::watch::channel(false);
    let mut state = App::new(Arc::new(notebook), Vec::new(), ending);
    state.reach.guarded = true;
    app(state)
}

async fn log_in(app: &Router) -> (String, String) {
    let body = format!("passphrase={}", PASSPHRASE.replace(' ', "+"));
    let request = Request::post("/login").header(header::HOST, "localhost").header("sec-fetch-site", "same-origin");
    let answer = app.clone().oneshot(request.body(Body::from(body)).unwrap()).await.unwrap();
    let cookie = answer.headers()[header::SET_COOKIE].to_str().unwrap().to_owned();
    (cookie.split(';').next().unwrap().to_owned(), cookie)
}

/// Which of the days on which a browser comes it is let in on.
async fn let_in(folder: &Path, cookie: &str, days: &[&str]) -> Vec<bool> {
    let mut all = Vec::new();
    for day in days {
        let request = Request::get("/reference").header(header::HOST, "localhost").header(header::COOKIE, cookie);
        let answer = on(folder, day).oneshot(request.body(Body::empty()).unwrap()).await.unwrap();
        all.push(answer.status() == 200);
    }
    all
}

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("p.md"), "# P\n").unwrap();
    let store = Store::open(folder.path()).unwrap();
    store.set_passphrase(Kept::of(PASSPHRASE).unwrap(), "2026-11-01T12:00:00Z").unwrap();
    folder
}

#[tokio::test]
async fn a_session_ends_after_a_week_without_a_visit() {
    let folder = folder();
    let first = on(folder.path(), "2026-11-01");
    let (one, _) = log_in(&first).await;
    let (two, _) = log_in(&first).await;
    drop(first);
    // Six days are no week; each visit begins the week anew.
    assert_eq!(let_in(folder.path(), &one, &["2026-11-07", "2026-11-13"]).await, [true, true]);
    assert_eq!(let_in(folder.path(), &one, &["2026-11-20", "2026-11-20"]).await, [false, false]);
    assert_eq!(let_in(folder.path(), &two, &["2026-11-08"]).await, [false], "seven days are a week");
}

#[tokio::test]
async fn a_session_ends_after_thirty_days_however_often_it_is_used() {
    let folder = folder();
    let first = on(folder.path(), "2026-11-01");
    let (cookie, set) = log_in(&first).await;
    drop(first);
    assert!(set.contains("; Max-Age=2592000;"), "the browser forgets it after thirty days: {set}");
    let days = ["2026-11-06", "2026-11-12", "2026-11-18", "2026-11-24", "2026-11-30", "2026-12-01", "2026-12-02"];
    assert_eq!(let_in(folder.path(), &cookie, &days).await, [true, true, true, true, true, false, false]);
}
