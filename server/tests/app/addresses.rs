//! Every address of the server's own table, asked over the network as the owner, as a stranger, from another site and with
//! hostile parts; and what must hold of every single answer.

use std::sync::LazyLock;

use serde_json::{Value, json};

use crate::program::{Answer, Line, Program, filled, notebook, set_passphrase, table};

const PASSPHRASE: &str = "heron under wet plaster";
const OUTSIDE: &str = "http://studio.example";
/// 7 * 191 is 1337, which stands nowhere else.
const TITLE: &str = "Salt {{ 7 * 191 }} {% include 'login.html' %} <b>Pans</b>";
const FACTS: &str = "artist = \"A. Verrill\"\nyear = 2026\nunnumbered = \"none\"\nother_editions = \"none\"\nprocess = \"chromogenic print\"\nreproduction = \"no\"\nsignature = \"by the artist, on the label\"\nlifetime = \"yes\"\nmaster = \"kept\"\nseller = \"the artist\"\n";
const SHEET: &str = "+++\ntitle = \"Tarn Lab\"\nkind = \"rate sheet\"\ntrade = \"lab\"\nquoted = \"2026-10-01\"\nuntil = \"2026-12-31\"\n+++\n\n# Tarn Lab\n\n- [ ] asked\n\n```workings\nlet foot = 16.80.usd;\nlet days = 5.days;\n```\n\n| item | price |\n|---|---:|\n| Proof | 28 |\n";

fn plan() -> String {
    format!(
        "+++\ntitle = \"{TITLE}\"\nabout = \"{{{{ 7 * 191 }}}}\"\nedition = 5\nstart = 2026-11-02\n[certificate]\n{FACTS}[shops]\nlab = \"shops/tarn-lab\"\n+++\n\n# Salt {{{{ 7 * 191 }}}}\n\n- [ ] a box\n\n## The print {{for=lab}}\n\nPrint it {{{{ 7 * 191 }}}}.\n\n```workings\nimport \"shops/tarn-lab\" as lab;\nlet wide = given(\"Print width\", 72.inch);\ncost(\"Print {{{{ 7 * 191 }}}}\", lab::foot, \"lab\");\nstep(\"Print\", lab::days, \"lab\");\nhangs([wide, 24.inch]);\n```\n"
    )
}

/// One answer, and what was asked.
struct Met {
    method: &'static str,
    pattern: &'static str,
    path: String,
    /// The owner's own request, not a hostile one.
    own: bool,
    answer: Answer,
}

impl Met {
    fn named(&self) -> String {
        format!("{} {} ({}, {})", self.method, self.path, self.pattern, self.answer.status)
    }

    fn is_public(&self) -> bool {
        self.pattern == "/login" || ["/t/", "/c/", "/a/"].iter().any(|public| self.pattern.starts_with(public))
    }
}

/// The owner, logged in, asking one address after the other.
struct Owner {
    program: Program,
    cookie: String,
    met: Vec<Met>,
}

impl Owner {
    fn ask(&mut self, method: &'static str, pattern: &'static str, path: &str, body: &[u8]) -> Value {
        let plan = if pattern.starts_with("/rates") { "/rates/shops%2Ftarn-lab" } else { "/plan/salt" };
        let mark = self.headed("GET", &format!("{plan}/text"), &[], b"").header("etag").unwrap_or("none").to_owned();
        let kind = if ["title=", "passphrase=", "what=", "name="].iter().any(|field| body.starts_with(field.as_bytes()))
        {
            "application/x-www-form-urlencoded"
        } else {
            "application/json"
        };
        let headers = [("If-Match", mark.as_str()), ("Accept", "text/html"), ("Content-Type", kind)];
        let answer = self.headed(method, path, &headers, body);
        let json = serde_json::from_slice(&answer.body).unwrap_or(Value::Null);
        self.met.push(Met { method, pattern, path: path.to_owned(), own: true, answer });
        json
    }

    fn headed(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut all = vec![("Cookie", self.cookie.as_str())];
        if !headers.iter().any(|(name, _)| *name == "Origin") {
            all.push(("Sec-Fetch-Site", "same-origin"));
        }
        all.extend_from_slice(headers);
        self.program.ask(method, path, &all, body).unwrap_or_else(|error| panic!("{method} {path}: {error}"))
    }

    /// As the owner does, every address once, with an answer that does what it is for.
    fn work(&mut self) {
        let read = |pattern: &'static str, path: &str, owner: &mut Self| owner.ask("GET", pattern, path, b"");
        let post = |pattern: &'static str, path: &str, body: Value, owner: &mut Self| {
            owner.ask("POST", pattern, path, body.to_string().as_bytes())
        };
        self.ask("POST", "/begin", "/begin", b"title=%2F%2Fevil.example%2F%3Fnext%3Dhttp%3A%2F%2Fevil.example");
        post("/begin", "/begin", json!({"title": "\\\\evil.example\\a"}), self);
        post("/plan/{name}/copy", "/plan/salt/copy", json!({"title": "https://evil.example/"}), self);
        self.ask("PUT", "/plan/{name}/text", "/plan/salt/text", plan().replace("72.inch", "60.inch").as_bytes());
        self.ask("POST", "/plan/{name}/draft", "/plan/salt/draft", plan().as_bytes());
        post("/plan/{name}/given", "/plan/salt/given", json!({"given": 0, "value": "61"}), self);
        post("/begin/draft", "/begin/draft", json!({"title": "{{ 7 * 191 }}", "stages": ["scan", "print"]}), self);
        let boxed = plan().lines().position(|line| line == "- [ ] a box").unwrap() + 1;
        post("/plan/{name}/tick", "/plan/salt/tick", json!({"line": boxed, "done": true}), self);
        post("/plan/{name}/shop", "/plan/salt/shop", json!({"role": "installer", "sheet": ""}), self);
        for what in ["printed", "signed", "numbered", "sold"] {
            let line = json!({"number": 2, "what": what, "when": "2026-11-20", "words": "{{ 7 * 191 }}"});
            post("/plan/{name}/ledger", "/plan/salt/ledger", line, self);
        }
        let issued = post("/plan/{name}/certificate/{print}", "/plan/salt/certificate/2", json!({}), self);
        let code = issued["code"].as_str().unwrap_or("none").to_owned();
        read("/certificate", &format!("/certificate?code={code}"), self);
        read("/certificate/{code}", &format!("/certificate/{code}"), self);
        read("/certificate/{code}/paper.pdf", &format!("/certificate/{code}/paper.pdf"), self);
        let finished = json!({"kind": "finished", "what": "Print", "day": "2026-11-06"});
        post("/plan/{name}/happened", "/plan/salt/happened", finished, self);
        post("/plan/{name}/hold", "/plan/salt/hold", json!({"role": "lab", "day": "2026-10-01"}), self);
        post("/plan/{name}/restore", "/plan/salt/restore", json!({"revision": 1}), self);
        post("/plan/{name}/ticket/{role}/issue", "/plan/salt/ticket/lab/issue", json!({"words": "by mail"}), self);
        let mut link = |pattern: &'static str, path: &str, body: Value| {
            let made = post(pattern, path, body, self);
            made["address"].as_str().unwrap_or_default().strip_prefix(OUTSIDE).unwrap_or("/t/none").to_owned()
        };
        let shop = link("/plan/{name}/links", "/plan/salt/links", json!({"role": "lab", "days": 3}));
        let calendar = link("/plan/{name}/calendar", "/plan/salt/calendar", json!({}));
        read("/t/{token}", &shop, self);
        read("/t/{token}/paper.css", &format!("{shop}/paper.css"), self);
        read("/t/{token}/paper.pdf", &format!("{shop}/paper.pdf"), self);
        read("/c/{token}/steps.ics", &calendar, self);
        self.ask("PUT", "/rates/{name}/text", "/rates/shops%2Ftarn-lab/text", SHEET.replace("16.80", "17").as_bytes());
        self.ask("POST", "/rates/{name}/draft", "/rates/shops%2Ftarn-lab/draft", SHEET.as_bytes());
        self.ask("POST", "/rates/{name}/moves", "/rates/shops%2Ftarn-lab/moves", SHEET.as_bytes());
        let line = json!({"line": "foot", "part": 0, "value": "18.20"});
        post("/rates/{name}/line", "/rates/shops%2Ftarn-lab/line", line, self);
        let cell = json!({"act": "set", "row": 0, "column": "price", "value": "31"});
        post("/rates/{name}/prices", "/rates/shops%2Ftarn-lab/prices", cell, self);
        let shop = b"name=%2F%2Fevil.example%2F&trade=lab&currency=USD&units=inch&quoted=2026-11-20&until=";
        self.ask("POST", "/rates/begin", "/rates/begin", shop);
        for (method, pattern) in table() {
            let met = self.met.iter().any(|met| met.method == method && met.pattern == pattern);
            if method == "GET" && !met && pattern != "/a/{mark}/{*file}" {
                let name = if pattern.starts_with("/rates") { "shops%2Ftarn-lab" } else { "salt" };
                let path = filled(pattern, |part| match part {
                    "name" => name.to_owned(),
                    "role" => "lab".to_owned(),
                    "table" => "costs.csv".to_owned(),
                    _ => "1".to_owned(),
                });
                read(pattern, &if pattern.ends_with("/compare") { format!("{path}?from=1&to=2") } else { path }, self);
            }
        }
        let archive = self.headed("GET", "/plan/salt/archive", &[], b"").body;
        self.ask("POST", "/import", "/import", &archive);
        let given = json!({"given": 0, "value": "6"});
        post("/rates/{name}/given", "/rates/shops%2Ftarn-lab/given", given, self);
        let tick = json!({"line": 11, "done": true});
        post("/rates/{name}/tick", "/rates/shops%2Ftarn-lab/tick", tick, self);
        post("/rates/{name}/restore", "/rates/shops%2Ftarn-lab/restore", json!({"revision": 1}), self);
        post("/plan/{name}/links/{id}/revoke", "/plan/salt/links/1/revoke", json!({}), self);
        post("/plan/{name}/calendar/{id}/renew", "/plan/salt/calendar/1/renew", json!({"days": 30}), self);
        post("/plan/{name}/calendar/{id}/revoke", "/plan/salt/calendar/1/revoke", json!({}), self);
        self.load_files();
    }

    /// What pages are made of: every file there is.
    /// A plan whose file was deleted, and what is said of it on the wall.
    fn join(&mut self, folder: &std::path::Path) {
        self.headed("POST", "/begin", &[("Content-Type", "application/x-www-form-urlencoded")], b"title=Gone");
        std::fs::remove_file(folder.join("gone.md")).unwrap();
        let began = std::time::Instant::now();
        while !self.headed("GET", "/", &[], b"").text().contains("gone.md") {
            assert!(began.elapsed().as_secs() < 20, "the wall tells of no plan without a file");
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
        self.ask("POST", "/join", "/join", b"what=put+away&record=gone");
    }

    fn load_files(&mut self) {
        let page = self.headed("GET", "/", &[], b"").text().replace("&#x2f;", "/");
        let mark = page.split("/a/").nth(1).unwrap().split('/').next().unwrap().to_owned();
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../static");
        for folder in ["", "fonts"] {
            for entry in std::fs::read_dir(root.join(folder)).unwrap().map(Result::unwrap) {
                let name = format!("{folder}/{}", entry.file_name().to_str().unwrap());
                if entry.file_type().unwrap().is_file() && !name.ends_with(".txt") {
                    let path = format!("/a/{mark}/{}", name.trim_start_matches('/'));
                    self.ask("GET", "/a/{mark}/{*file}", &path, b"");
                }
            }
        }
    }

    /// As others do: strangers, other sites, other names, hostile parts of addresses, bodies that hold nothing.
    fn suffer(&mut self) {
        let foreign = [("Origin", "http://evil.example"), ("Sec-Fetch-Site", "cross-site"), ("Sec-Fetch-Mode", "cors")];
        let passed_on =
            [("X-Forwarded-Host", "evil.example"), ("X-Forwarded-Proto", "https"), ("Referer", "http://evil.example/")];
        for (method, pattern) in table() {
            let with = |part: &'static str| filled(pattern, move |_| part.to_owned());
            for path in [
                with("salt"),
                with("none"),
                with("1"),
                with("%3Cscript%3E"),
                with("%2F%2Fevil.example"),
                with("%0d%0aLocation:%20http:%2F%2Fevil.example"),
                with("%27%20OR%201=1--"),
                with("%FF"),
                format!(
                    "{}?from=%FF&to=x&units=%3Cscript%3E&code=%2F%2Fevil.example&next=//evil.example",
                    with("salt")
                ),
            ] {
                let path_named = path.clone();
                let mut keep = |answer: Answer| {
                    self.met.push(Met { method, pattern, path: path_named.clone(), own: false, answer });
                };
                let ask = |headers: &[(&str, &str)]| {
                    self.program.ask(method, &path, headers, if method == "GET" { b"" } else { b"{" }).unwrap()
                };
                let own = [("Cookie", self.cookie.as_str()), ("Sec-Fetch-Site", "same-origin")];
                let mut answers = vec![
                    ask(&[("Accept", "text/html"), ("Sec-Fetch-Site", "same-origin")]),
                    ask(&[own[0], foreign[0], foreign[1], foreign[2]]),
                    ask(&[own[0], own[1], ("Host", "evil.example")]),
                ];
                // Whoever logs out here does not log the owner out.
                if pattern != "/logout" {
                    answers.push(ask(&[own[0], own[1], ("If-Match", "x"), passed_on[0], passed_on[1], passed_on[2]]));
                    answers.push(ask(&[own[0], own[1], ("Accept", "text/html"), ("If-Match", "x")]));
                }
                answers.into_iter().for_each(&mut keep);
                for other in ["POST", "PUT", "DELETE"].iter().filter(|other| **other != method) {
                    if !table().iter().any(|(known, one)| known == other && *one == pattern) {
                        keep(self.program.ask(other, &path, &own, b"").unwrap());
                    }
                }
            }
        }
        for path in [
            "/nowhere",
            "/.env",
            "/.git/config",
            "/debug",
            "/metrics",
            "/status",
            "/server-status",
            "/health",
            "/admin",
            "/openapi.json",
            "/makeready.db",
            "/salt.md",
            "/static/sheet.js",
            "/index.html",
        ] {
            let answer = self.headed("GET", path, &[("Accept", "text/html")], b"");
            assert_eq!(answer.status, 404, "{path}");
            self.met.push(Met { method: "GET", pattern: "none", path: path.to_owned(), own: false, answer });
        }
    }
}

/// Every answer, asked for once for all tests of this file.
static ALL: LazyLock<Vec<Met>> = LazyLock::new(|| {
    let folder = notebook(&[("salt", &plan()), ("shops/tarn-lab", SHEET)]);
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--outside", OUTSIDE]);
    let mut owner = Owner { program, cookie: String::new(), met: Vec::new() };
    let entered = format!("passphrase={}", PASSPHRASE.replace(' ', "+"));
    let form = [("Origin", OUTSIDE), ("Content-Type", "application/x-www-form-urlencoded")];
    let came = owner.headed("POST", "/login", &form, entered.as_bytes());
    owner.cookie = came.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    owner.met.push(Met { method: "POST", pattern: "/login", path: "/login".into(), own: true, answer: came });
    owner.work();
    owner.join(folder.path());
    owner.suffer();
    owner.ask("POST", "/logout", "/logout", b"x=y");
    owner.met
});

/// Says of all answers together which of them do not hold.
#[track_caller]
fn each(of: impl Fn(&&Met) -> bool, holds: impl Fn(&Met) -> Result<(), String>) -> usize {
    let all: Vec<_> = ALL.iter().filter(of).collect();
    let wrong: Vec<_> =
        all.iter().filter_map(|met| holds(met).err().map(|why| format!("{}: {why}", met.named()))).collect();
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), all.len(), wrong[..wrong.len().min(30)].join("\n"));
    assert!(!all.is_empty(), "nothing was looked at");
    all.len()
}

fn that(holds: bool, why: impl Into<String>) -> Result<(), String> {
    if holds { Ok(()) } else { Err(why.into()) }
}

#[test]
fn every_address_of_the_table_did_what_it_is_for() {
    let missing: Vec<_> = table()
        .into_iter()
        // A rate sheet states no givens, so there is none to change: it says so.
        .filter(|row| *row != ("POST", "/rates/{name}/given"))
        .filter(|(method, pattern)| {
            !ALL.iter().any(|met| {
                met.own && met.method == *method && met.pattern == *pattern && matches!(met.answer.status, 200 | 303)
            })
        })
        .map(|(method, pattern)| {
            let all = ALL.iter().filter(|met| met.own && met.method == method && met.pattern == pattern);
            format!("{method} {pattern}: {:?}", all.map(|met| (met.answer.status, met.answer.text())).next())
        })
        .collect();
    assert!(missing.is_empty(), "{}", missing.join("\n"));
    println!("{} answers", ALL.len());
}

/// Whether the bytes are of the kind, and text kinds say in which letters. Source: RFC 8259 gives JSON no such parameter and
/// RFC 3629's letters; an event stream is always in them (HTML standard, server-sent events).
fn is_of_its_kind(kind: &str, body: &[u8]) -> bool {
    let begins = |with: &[u8]| body.starts_with(with);
    let text = std::str::from_utf8(body);
    let (name, letters) = kind.split_once(';').map_or((kind, ""), |(name, rest)| (name, rest.trim()));
    let in_letters = text.is_ok() && letters.to_ascii_lowercase().starts_with("charset=utf-8");
    match name {
        "text/html" => in_letters && text.is_ok_and(|text| text.to_ascii_lowercase().starts_with("<!doctype html>")),
        "text/calendar" => in_letters && begins(b"BEGIN:VCALENDAR\r\n"),
        "image/svg+xml" => in_letters && begins(b"<svg"),
        "text/plain" | "text/css" | "text/javascript" | "text/markdown" | "text/csv" => in_letters && !begins(b"<"),
        "application/json" => serde_json::from_slice::<Value>(body).is_ok(),
        "application/pdf" => begins(b"%PDF-"),
        "application/zip" => begins(b"PK"),
        "font/otf" => begins(b"OTTO"),
        "text/event-stream" => text.is_ok(),
        _ => false,
    }
}

#[test]
fn every_answer_says_of_which_kind_it_is_and_is_of_that_kind() {
    each(
        |_| true,
        |met| {
            let body = &met.answer.body;
            match met.answer.header("content-type") {
                None => that(body.is_empty(), "says nothing about its kind"),
                // A redirect or an answer without a body is of no kind.
                Some(kind) => that(body.is_empty() || is_of_its_kind(kind, body), kind),
            }
        },
    );
    assert!(!is_of_its_kind("text/html", b"<!doctype html>") && !is_of_its_kind("application/json", b"<p>"));
    let kinds: std::collections::BTreeSet<_> =
        ALL.iter().filter_map(|met| met.answer.header("content-type")?.split(';').next()).collect();
    assert!(kinds.len() >= 12, "{kinds:?}");
}

#[test]
fn every_answer_carries_the_rules_for_browsers() {
    const POLICY: [&str; 11] = [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types makeready",
    ];
    each(
        |_| true,
        |met| {
            let says = |name: &str| met.answer.header(name).unwrap_or_default();
            let policy: Vec<_> = says("content-security-policy").split(';').map(str::trim).collect();
            that(policy == POLICY, format!("policy {policy:?}"))?;
            that(says("x-content-type-options") == "nosniff", "nosniff")?;
            // The page that asks for the passphrase names itself to this server only, so that its form is known.
            let referrer = if met.pattern == "/login" { "same-origin" } else { "" };
            that(["no-referrer", referrer].contains(&says("referrer-policy")), "referrer")?;
            that(says("cross-origin-opener-policy") == "same-origin", "opener")?;
            that(says("cross-origin-resource-policy") == "same-origin", "resource")?;
            let opened = met.answer.headers.iter().find(|(name, _)| name.starts_with("access-control-"));
            that(opened.is_none(), format!("{opened:?}"))
        },
    );
}

#[test]
fn no_answer_but_a_file_of_the_program_is_kept_by_a_browser() {
    let private = each(
        |met| !(met.pattern.starts_with("/a/") && met.answer.status == 200),
        |met| {
            that(
                met.answer.header("cache-control") == Some("no-store"),
                format!("{:?}", met.answer.header("cache-control")),
            )
        },
    );
    assert!(private > 1000, "{private}");
}

#[test]
fn nobody_is_led_to_another_site() {
    let own = |to: &str| {
        let rest = to.strip_prefix('/').unwrap_or("//");
        !rest.starts_with(['/', '\\']) && !to.contains(['\\', '\r', '\n', '\t', ' ']) && !to.contains("://")
    };
    assert!(own("/plan/salt") && !own("//evil.example") && !own("/\\evil.example") && !own("http://evil.example"));
    let led = each(
        |met| met.answer.header("location").is_some() || (300..400).contains(&met.answer.status),
        |met| that(met.answer.header("location").is_some_and(own), format!("{:?}", met.answer.header("location"))),
    );
    assert!(led > 60, "only {led} answers led anywhere");
    let told = each(
        |met| met.answer.text().contains("\"location\":"),
        |met| that(met.answer.json()["location"].as_str().is_some_and(own), met.answer.text()),
    );
    assert!(told >= 3, "only {told} told a page where to go");
}

#[test]
fn no_answer_names_the_program_it_is_made_with() {
    each(
        |_| true,
        |met| {
            let telling = ["server", "x-powered-by", "via", "x-runtime", "x-version", "x-served-by", "x-generator"];
            let found = met.answer.headers.iter().find(|(name, value)| {
                let value = value.to_ascii_lowercase();
                telling.contains(&name.as_str())
                    || ["hyper", "axum", "rustc", "0.1.0"].iter().any(|word| value.contains(word))
            });
            that(found.is_none(), format!("{found:?}"))
        },
    );
    // What is refused before it is a request says no more.
    let folder = notebook(&[("salt", "# Salt\n")]);
    let program = Program::start(folder.path(), &[]);
    for bytes in [&b"GET / HTTP/1.1\r\n\r\n"[..], b"GET /\x01 HTTP/1.1\r\n\r\n", b"FROB\r\n\r\n"] {
        let mut line = Line::to(program.address).unwrap();
        std::io::Write::write_all(line.stream.get_mut(), bytes).unwrap();
        let answer = line.answer().unwrap();
        assert_eq!(answer.status, 400);
        assert!(answer.header("server").is_none() && answer.header("x-powered-by").is_none(), "{answer:?}");
    }
}

#[test]
fn no_refusal_speaks_of_the_inside() {
    const INSIDE: &[&str] = &[
        "sqlite",
        "select ",
        ".rs:",
        ".rs\"",
        "panicked",
        "rusqlite",
        "axum",
        "hyper",
        "serde",
        "deserialize",
        "i64",
        "u32",
        "usize",
        "stack",
        "/tmp/",
        "/home/",
        "expected ident",
        "tokio",
    ];
    each(
        |met| met.answer.status >= 400,
        |met| {
            // A form that is shown again has lists to choose from.
            let text = met.answer.text().to_lowercase().replace("<select ", "<list ");
            let found = INSIDE.iter().find(|word| text.contains(**word));
            that(found.is_none(), format!("{found:?} in {text}"))
        },
    );
}

#[test]
fn no_address_however_hostile_breaks_a_page() {
    each(|_| true, |met| that(met.answer.status < 500, met.answer.text()));
}

#[test]
fn no_text_of_a_plan_is_a_template() {
    let showing = each(
        |met| {
            let packed = ["application/pdf", "application/zip"].map(Some).contains(&met.answer.header("content-type"));
            met.own && !packed && met.answer.text().contains("7 * 191")
        },
        |met| that(!met.answer.text().contains("1337"), "it was calculated"),
    );
    assert!(showing >= 12, "only {showing} answers show the title");
}

#[test]
fn every_page_of_the_owner_leads_to_the_way_out() {
    let pages = each(
        |met| {
            let is_page = met.answer.header("content-type").is_some_and(|kind| kind.starts_with("text/html"));
            met.own && met.answer.status == 200 && is_page && !met.is_public()
        },
        |met| that(met.answer.text().contains("<a class=\"do\" href=\"/login\">log out</a>"), "no way out"),
    );
    assert!(pages >= 14, "{pages}");
    let login = ALL.iter().find(|met| met.own && met.pattern == "/login" && met.method == "GET").unwrap();
    assert!(login.answer.text().contains("action=\"/logout\"") && login.answer.text().contains("name=\"everywhere\""));
}

#[test]
fn only_logging_in_and_out_sets_a_cookie_and_it_is_short_and_for_this_server_alone() {
    let set = each(
        |met| met.answer.header("set-cookie").is_some(),
        |met| {
            let cookie = met.answer.header("set-cookie").unwrap_or_default();
            that(["/login", "/logout"].contains(&met.pattern) && met.own, "sets a cookie")?;
            let value = cookie.split(';').next().unwrap_or_default();
            that(value.len() <= 4096 && value.starts_with("makeready="), value)?;
            that(cookie.contains("; Path=/; "), cookie)?;
            that(cookie.contains("; HttpOnly") && cookie.contains("; SameSite=Strict"), cookie)?;
            that(!cookie.contains("Domain"), cookie)
        },
    );
    assert_eq!(set, 2);
}

#[test]
fn the_passphrase_is_hidden_while_typed_may_be_pasted_and_long_and_has_no_form() {
    let asked =
        ALL.iter().find(|met| !met.own && met.method == "GET" && met.path == "/login" && met.answer.status == 200);
    let page = asked.unwrap().answer.text();
    let field = page.split("<input").find(|part| part.contains("name=\"passphrase\"")).unwrap();
    let field = field.split('>').next().unwrap();
    assert!(field.contains("type=\"password\"") && field.contains("autocomplete=\"current-password\""), "{field}");
    let longest = field.split("maxlength=\"").nth(1).and_then(|rest| rest.split('"').next()?.parse::<u32>().ok());
    assert!(longest.is_none_or(|longest| longest >= 64), "{field}");
    assert!(!field.contains("pattern=") && !field.contains("minlength="), "{field}");
    assert!(!page.contains("onpaste") && !page.contains("<script"), "nothing on the page stands in the way of pasting");
}

#[test]
fn the_name_of_a_file_to_keep_is_plain_letters() {
    let named = each(
        |met| met.answer.header("content-disposition").is_some(),
        |met| {
            let how = met.answer.header("content-disposition").unwrap_or_default();
            let name = how.strip_prefix("attachment; filename=\"").and_then(|rest| rest.strip_suffix('"'));
            let plain = |name: &str| name.chars().all(|c| c.is_ascii_alphanumeric() || "-_. ".contains(c));
            that(name.is_some_and(|name| !name.is_empty() && plain(name)), how)
        },
    );
    assert!(named >= 7, "{named}");
    // A name may hold more than a header may.
    let folder = notebook(&[("Jetée's (2), d'été & co", "# Named\n")]);
    let program = Program::start(folder.path(), &[]);
    let answer = program.get("/plan/Jet%C3%A9e's%20(2),%20d'%C3%A9t%C3%A9%20&%20co/calendar.ics");
    let how = "attachment; filename=\"Jet-e-s -2-- d--t- - co.ics\"";
    assert_eq!((answer.status, answer.header("content-disposition")), (200, Some(how)), "{}", answer.text());
}
