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
    store.set_passphrase(&Kept::of(PASSPHRASE).unwrap(), "2026-11-01T12:00:00Z").unwrap();
    folder
}

#[tokio::test]
async fn a_session_ends_after_a_week_without_a_visit() {
    let folder = folder();
    let first = on(folder.path(), "2026-11-01");
    let (one, _) = log_in(&first).await;
    let (two, _) = log_in(&first).await;
    drop(first);
    // Six days are not week; each visit begins the week again.
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

/// What the record keeps of the passphrase.
fn kept(folder: &Path) -> String {
    let record = rusqlite::Connection::open(folder.join(server::store::FILE)).unwrap();
    record.query_row("SELECT hash FROM passphrase_hash", [], |row| row.get(0)).unwrap()
}

#[tokio::test]
async fn a_passphrase_set_by_an_earlier_version_lets_in() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("p.md"), "# P\n").unwrap();
    // A record of the twelfth shape, with a salt of letters and a hash in hexadecimal digits.
    let steps = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/store");
    let mut steps: Vec<_> = std::fs::read_dir(steps).unwrap().map(|entry| entry.unwrap().path()).collect();
    let number = |path: &Path| path.file_name()?.to_str()?.split_once('_')?.0.parse::<u32>().ok();
    steps.retain(|path| number(path).is_some_and(|number| number <= 12));
    steps.sort_by_key(|path| number(path));
    let (salt, mut hash) = ("Qk3_x8pLw0aZr5tYv2uNf7sDhJ4gMbCe1oIiXyWzT9-", [0_u8; 32]);
    let params = argon2::Params::new(65_536, 3, 1, Some(32)).unwrap();
    argon2::Argon2::from(params).hash_password_into(PASSPHRASE.as_bytes(), salt.as_bytes(), &mut hash).unwrap();
    {
        let record = rusqlite::Connection::open(folder.path().join(server::store::FILE)).unwrap();
        for step in &steps {
            record.execute_batch(&std::fs::read_to_string(step).unwrap()).unwrap();
        }
        record.pragma_update(None, "application_id", 0x4D6B_5264).unwrap();
        record.pragma_update(None, "user_version", 12).unwrap();
        let hash: String = hash.iter().map(|byte| format!("{byte:02x}")).collect();
        let set = "INSERT INTO passphrase (salt, hash, chosen) VALUES (?1, ?2, '2026-10-01T12:00:00Z')";
        record.execute(set, [salt, &hash]).unwrap();
    }
    let (cookie, _) = log_in(&on(folder.path(), "2026-11-01")).await;
    assert_eq!(let_in(folder.path(), &cookie, &["2026-11-02"]).await, [true]);
    assert!(kept(folder.path()).starts_with("$argon2id$v=19$m=65536,t=3,p=1$"), "{}", kept(folder.path()));
}

#[tokio::test]
async fn a_passphrase_kept_at_a_lower_cost_is_kept_at_todays_after_the_next_log_in() {
    let folder = folder();
    let first = log_in(&on(folder.path(), "2026-11-01")).await.0;
    let (salt, mut hash) = (b"sixteen bytes of", [0_u8; 32]);
    let params = argon2::Params::new(1024, 1, 1, Some(32)).unwrap();
    argon2::Argon2::from(params).hash_password_into(PASSPHRASE.as_bytes(), salt, &mut hash).unwrap();
    let plain = |bytes: &[u8]| data_encoding::BASE64_NOPAD.encode(bytes);
    let cheap = format!("$argon2id$v=19$m=1024,t=1,p=1${}${}", plain(salt), plain(&hash));
    {
        let record = rusqlite::Connection::open(folder.path().join(server::store::FILE)).unwrap();
        record.execute("UPDATE passphrase_hash SET hash = ?1", [&cheap]).unwrap();
    }
    let second = log_in(&on(folder.path(), "2026-11-02")).await.0;
    let today = kept(folder.path());
    assert!(today != cheap && today.starts_with("$argon2id$v=19$m=65536,t=3,p=1$"), "{today}");
    // Nobody who was in is asked again.
    for cookie in [first, second] {
        assert_eq!(let_in(folder.path(), &cookie, &["2026-11-03"]).await, [true]);
    }
    log_in(&on(folder.path(), "2026-11-03")).await;
    assert_eq!(kept(folder.path()), today, "kept at today's cost it is left as it is");
}
