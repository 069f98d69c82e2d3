//! Requests of any shape: hosts, origins, names, secrets, ledger lines.

use std::sync::Arc;

use axum::body::Body;
use axum::http::Request;
use engine::measure::Day;
use engine::trade::edition::{Edition, Entry, Event};
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::Store;
use server::{App, app};
use tower::ServiceExt as _;

use crate::program::{Dice, notebook};
use crate::tries::{Tries, text};

/// The app without a network, for requests of any shape.
pub(crate) struct Asked {
    app: axum::Router,
    runtime: tokio::runtime::Runtime,
    _end: tokio::sync::watch::Sender<bool>,
    pub(crate) folder: tempfile::TempDir,
}

impl Asked {
    pub(crate) fn new() -> Self {
        let folder = notebook(&[
            ("one", "+++\ntitle = \"One\"\nedition = 5\n+++\n\n# One\n\n- [ ] a box\n"),
            ("two", "+++\ntitle = \"Two\"\n[shops]\nlab = \"A Lab\"\n+++\n\n# Two\n"),
        ]);
        let store = Store::open(folder.path()).unwrap();
        let notebook =
            Notebook::open(folder.path().to_path_buf(), store, Clock::Fixed(Day::new(2026, 11, 25).unwrap())).unwrap();
        let (end, ending) = tokio::sync::watch::channel(false);
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
        Self { app: app(App::new(Arc::new(notebook), Vec::new(), ending)), runtime, _end: end, folder }
    }

    pub(crate) fn ask(&self, request: Request<Body>) -> (u16, Vec<u8>) {
        self.runtime.block_on(async {
            let answer = self.app.clone().oneshot(request).await.unwrap();
            let status = answer.status().as_u16();
            (status, axum::body::to_bytes(answer.into_body(), usize::MAX).await.unwrap().to_vec())
        })
    }

    pub(crate) fn get(&self, path: &str) -> (u16, Vec<u8>) {
        self.ask(Request::get(path).header("host", "localhost").body(Body::empty()).unwrap())
    }

    pub(crate) fn write(&self, path: &str, body: String) -> (u16, Vec<u8>) {
        self.send(path, body.into_bytes())
    }

    pub(crate) fn send(&self, path: &str, body: Vec<u8>) -> (u16, Vec<u8>) {
        let request = Request::post(path)
            .header("host", "localhost")
            .header("sec-fetch-site", "same-origin")
            .body(Body::from(body));
        request.map_or((400, Vec::new()), |request| self.ask(request))
    }
}

/// What an answer says, its data's quotation marks apart.
fn said(answer: &[u8]) -> String {
    String::from_utf8_lossy(answer).replace('"', " ")
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
    let mut tries = Tries::of("hosts", 7, HOST, 3000);
    let ours = |host: &str| {
        let name = host
            .rsplit_once(':')
            .filter(|(name, port)| !name.is_empty() && port.bytes().all(|b| b.is_ascii_digit()))
            .map_or(host, |(name, _)| name);
        ["localhost", "127.0.0.1", "[::1]"].iter().any(|own| own.eq_ignore_ascii_case(name))
    };
    let mut answered = 0;
    let make = |dice: &mut Dice| {
        let write = ["GET", "POST"][dice.roll(2) as usize];
        format!("{write}\n{}\n{}", text(dice, HOST, 3), text(dice, HOST, 4))
    };
    while let Some(text) = tries.next(make) {
        let mut parts = text.splitn(3, '\n');
        let (write, host, origin) =
            (parts.next() == Some("POST"), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
        let builder = if write { Request::post("/plan/one/draft") } else { Request::get("/plan/one/text") };
        let Ok(request) = builder.header("host", host).header("origin", origin).body(Body::from("# A\n")) else {
            continue;
        };
        let (status, words) = asked.ask(request);
        tries.showed(&text, [format!("{write} {status} {}", said(&words))]);
        let own = [format!("http://{host}"), format!("https://{host}")];
        let right = ours(host) && (!write || own.iter().any(|own| own.eq_ignore_ascii_case(origin)));
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
    // A secret there is, so that one that is not looked at would open it.
    for path in ["/plan/two/links", "/plan/two/calendar"] {
        assert_eq!(asked.write(path, "{\"role\":\"lab\",\"days\":30}".to_owned()).0, 200, "{path}");
    }
    let mut tries = Tries::of("paths", 8, PATH, 2500);
    while let Some(text) = tries.next(|dice| format!("{}{}", dice.roll(6), text(dice, PATH, 8))) {
        let mut name = text.chars();
        let which = name.next().map_or(0, |letter| letter as u32 % 6);
        let name = name.as_str();
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
            .header("if-match", name)
            .body(Body::empty())
        else {
            continue;
        };
        let (status, words) = asked.ask(request);
        tries.showed(&text, [format!("{which} {status} {}", said(&words))]);
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
    let mut tries = Tries::of("ledger", 9, DATA, 2500);
    let make = |dice: &mut Dice| {
        if dice.roll(2) == 0 {
            return text(dice, DATA, 14);
        }
        let keys = ["number", "when", "what", "given", "value", "line", "done", "role", "days"];
        // Half of the values fit, so that a line with one that does not is refused for that one.
        let fits = ["\"next\"", "\"2026-11-25\"", "\"sold\"", "0", "\"1\"", "8", "true", "\"lab\"", "3"];
        let pairs: Vec<_> = keys
            .iter()
            .zip(fits)
            .map(|(key, fits)| (key, if dice.roll(2) == 0 { fits } else { DATA[14 + dice.roll(14) as usize] }))
            .map(|(key, value)| format!("\"{key}\":{value}"))
            .collect();
        format!("{{{}}}", pairs.join(","))
    };
    while let Some(body) = tries.next(make) {
        for path in ["/plan/one/ledger", "/plan/one/links", "/plan/one/given", "/plan/one/tick"] {
            let (status, words) = asked.write(path, body.clone());
            assert!(matches!(status, 200 | 404 | 409 | 422 | 428), "{path} {body}: {status}");
            if status != 200 {
                tries.showed(&body, [format!("{path} {status} {}", said(&words))]);
            }
        }
    }
    // What was taken is a ledger: five prints, each with a story that can be, on days that were.
    let today = Day::new(2026, 11, 25).unwrap();
    let store = Store::open(asked.folder.path()).unwrap();
    let lines = store.ledger(&Name::new("one").unwrap()).unwrap();
    let entries: Vec<_> =
        lines.iter().map(|line| Entry { print: line.of(), what: Event::of(&line.what).unwrap() }).collect();
    assert!(!lines.is_empty(), "no line was taken, which says nothing");
    Edition::new(5, 0, &entries).unwrap();
    for line in &lines {
        assert!(Day::parse(&line.when).is_some_and(|day| day <= today), "{line:?}");
    }
    assert_eq!(store.follow_chain().unwrap(), Ok(lines.len()));
}
