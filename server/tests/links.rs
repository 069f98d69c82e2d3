//! Who may come in over the network, and what a shop may read.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::io::Write as _;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use program::{Answer, PROGRAM, Program, notebook, set_passphrase};

const PASSPHRASE: &str = "heron under wet plaster";
const PLAN: &str = "+++\ntitle = \"Salt Pans\"\nedition = 6\n[shops]\nlab = \"shops/north-lab\"\nframer = \"shops/the-joint\"\n+++\n\n# Salt Pans\n\n## What I think {private}\n\nThe collector pays 9000.\n\n## The print {for=lab}\n\n```workings\nlet wide = given(\"Print width\", 60.inch);\ncost(\"Print\", 412.usd, \"lab\");\n```\n\nPrint it `? wide` wide.\n\n## The frame {for=framer}\n\nThe frame is ash.\n\n```workings\ncost(\"Frame\", 777.usd, \"framer\");\n```\n";
const LAB: &str = "+++\ntitle = \"North Lab\"\nkind = \"rates\"\n+++\n\n# North Lab\n";
const JOINT: &str = "+++\ntitle = \"The Joint\"\nkind = \"rates\"\n+++\n\n# The Joint\n";

fn folder() -> tempfile::TempDir {
    notebook(&[("salt", PLAN), ("shops/north-lab", LAB), ("shops/the-joint", JOINT)])
}

fn link(program: &Program, role: &str, days: i32) -> (String, i64) {
    let body = format!("{{\"role\":\"{role}\",\"days\":{days}}}");
    let answer = program.send("POST", "/plan/salt/links", &[], body.as_bytes()).unwrap();
    assert_eq!(answer.status, 200, "{}", answer.text());
    let address = answer.json()["address"].as_str().unwrap().to_owned();
    let page = program.get("/plan/salt/links").text();
    let id = page.split("data-revoke=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
    (format!("/t/{}", address.rsplit('/').next().unwrap()), id)
}

fn edit(program: &Program, from: &str, to: &str) {
    let now = program.get("/plan/salt/text");
    let text = now.text();
    assert!(text.contains(from), "{from:?} is not in the plan");
    let answer = program
        .send(
            "PUT",
            "/plan/salt/text",
            &[("If-Match", &format!("\"{}\"", now.etag()))],
            text.replace(from, to).as_bytes(),
        )
        .unwrap();
    assert_eq!(answer.status, 200, "{}", answer.text());
}

#[test]
fn a_link_shows_one_ticket_and_nothing_else() {
    let folder = folder();
    let program = Program::start(folder.path(), &[]);
    let (path, _) = link(&program, "lab", 30);
    let secret = path.trim_start_matches("/t/");
    assert_eq!(secret.len(), 43, "256 bits in 43 signs");
    let page = program.get(&path);
    assert_eq!(page.status, 200);
    let text = page.text();
    assert!(text.contains("North Lab") && text.contains("Salt Pans") && text.contains("412"), "{text}");
    for private in
        ["9000", "777", "ash", "The Joint", "/plan/", "What I think", "href=\"/\"", "href=\"/rates", "/events"]
    {
        assert!(!text.contains(private), "the shop reads {private:?}:\n{text}");
    }
    assert_eq!(page.header("referrer-policy"), Some("no-referrer"));
    assert_eq!(page.header("cache-control"), Some("no-store"));
    assert_eq!(page.header("x-robots-tag"), Some("noindex, nofollow"));
    assert!(!text.contains("superseded"), "{text}");
    assert_eq!(program.get(&format!("{path}/paper.css")).status, 200);
    // Nothing is written through it.
    for method in ["POST", "PUT"] {
        assert_eq!(program.send(method, &path, &[], b"{}").unwrap().status, 405);
    }
}

#[test]
fn a_link_says_what_changed_for_this_shop_and_only_that() {
    let folder = folder();
    let program = Program::start(folder.path(), &[]);
    let (lab, _) = link(&program, "lab", 30);
    let (framer, _) = link(&program, "framer", 30);
    edit(&program, "The frame is ash.", "The frame is oak.");
    let (to_lab, to_framer) = (program.get(&lab).text(), program.get(&framer).text());
    assert!(!to_lab.contains("uperseded") && !to_lab.contains("oak"), "{to_lab}");
    assert!(
        to_framer.contains("Superseded")
            && to_framer.contains("<del>The frame is ash.</del>")
            && to_framer.contains("<ins>The frame is oak.</ins>"),
        "{to_framer}"
    );
    edit(&program, "60.inch", "58.inch");
    let to_lab = program.get(&lab).text();
    assert!(
        to_lab.contains("Superseded") && to_lab.contains("Print it 60") && to_lab.contains("Print it 58"),
        "{to_lab}"
    );
    let owner = program.get("/plan/salt/links").text();
    assert_eq!(owner.matches("superseded:").count(), 2, "{owner}");
    // A new link is as the plan stands.
    let (again, _) = link(&program, "lab", 30);
    assert!(!program.get(&again).text().contains("uperseded"));
}

/// What differs between two answers, but for the time.
fn apart(a: &Answer, b: &Answer) -> Option<String> {
    let plain = |answer: &Answer| {
        let mut headers = answer.headers.clone();
        headers.retain(|(name, _)| name != "date");
        (answer.status, headers, answer.text())
    };
    (plain(a) != plain(b)).then(|| format!("{:?}\n{:?}", plain(a), plain(b)))
}

#[test]
fn wrong_ended_and_revoked_links_answer_alike() {
    let folder = folder();
    let program = Program::start(folder.path(), &[]);
    let (revoked, id) = link(&program, "lab", 30);
    let (ended, _) = link(&program, "lab", 30);
    let (of_a_shop_gone, _) = link(&program, "framer", 30);
    assert_eq!(program.send("POST", &format!("/plan/salt/links/{id}/revoke"), &[], b"").unwrap().status, 200);
    {
        // A link is never changed by the program; a test may turn its end back.
        let record = rusqlite::Connection::open(folder.path().join(server::store::FILE)).unwrap();
        record
            .execute_batch(
                "DROP TRIGGER link_keeps_what_it_is; UPDATE link SET expires = '2026-01-01T00:00:00Z' WHERE id = 2;",
            )
            .unwrap();
    }
    edit(&program, "framer = \"shops/the-joint\"\n", "");
    let wrong = format!("/t/{}", "A".repeat(43));
    let nothing = program.get(&wrong);
    assert_eq!(nothing.status, 404);
    for path in [
        &revoked,
        &ended,
        &of_a_shop_gone,
        &"/t/x".to_owned(),
        &format!("/t/{}", "b".repeat(5000)),
        &"/t/%27%20OR%201=1--".to_owned(),
    ] {
        assert_eq!(apart(&nothing, &program.get(path)), None, "{path}");
    }
    let pdf = program.get(&format!("{wrong}/paper.pdf"));
    assert_eq!(pdf.status, 404);
    assert_eq!(apart(&pdf, &program.get(&format!("{revoked}/paper.pdf"))), None);
    let css = program.get(&format!("{wrong}/paper.css"));
    assert_eq!(apart(&css, &program.get(&format!("{revoked}/paper.css"))), None);
    // A revoked link stays revoked, and another plan's page cannot revoke it.
    assert_eq!(program.send("POST", "/plan/other/links/2/revoke", &[], b"").unwrap().status, 404);
    // Neither answer takes longer: the middle of many, in turns.
    let mut took = [Vec::new(), Vec::new()];
    for round in 0..400 {
        let began = Instant::now();
        program.get(if round % 2 == 0 { &wrong } else { &revoked });
        took[round % 2].push(began.elapsed());
    }
    took.iter_mut().for_each(|took| took.sort());
    let (a, b) = (took[0][100], took[1][100]);
    println!("wrong {a:?}, revoked {b:?} in the middle");
    assert!(a.abs_diff(b) < Duration::from_millis(1), "{a:?} and {b:?}");
}

#[test]
fn the_owner_sees_who_opened_a_link_and_when() {
    let folder = folder();
    let program = Program::start(folder.path(), &[]);
    let (path, _) = link(&program, "lab", 30);
    assert!(program.get("/plan/salt/links").text().contains("not yet"));
    for _ in 0..5 {
        program.ask("GET", &path, &[("User-Agent", "Shop <script>alert(1)</script> 1.0")], b"").unwrap();
    }
    let page = program.get("/plan/salt/links").text();
    assert!(
        page.contains("1 time, last 20") && page.contains("from this computer") && page.contains("Shop &lt;script&gt;"),
        "{page}"
    );
    // A flood of names is bounded.
    for number in 0..60 {
        program.ask("GET", &path, &[("User-Agent", &format!("Shop {number}"))], b"").unwrap();
    }
    let page = program.get("/plan/salt/links").text();
    assert!(page.contains("20 times, last"), "{page}");
}

#[test]
fn the_secret_of_a_link_is_nowhere_but_in_the_link() {
    let folder = folder();
    let log = folder.path().join("log.txt");
    let mut command = Command::new(PROGRAM);
    command.arg("serve").arg(folder.path()).args(["--port", "0"]).env("MAKEREADY_LOG", "trace");
    command.stderr(std::fs::File::create(&log).unwrap());
    let mut program = Program::of(command);
    let (path, _) = link(&program, "lab", 30);
    let secret = path.trim_start_matches("/t/").to_owned();
    assert_eq!(program.get(&path).status, 200);
    assert_eq!(program.get(&format!("{path}/paper.css")).status, 200);
    assert!(!program.get("/plan/salt/links").text().contains(&secret));
    // Something that is logged, so that an empty log is not taken for a clean one.
    std::net::TcpStream::connect(program.address).unwrap().write_all(b"nonsense\r\n\r\n").unwrap();
    std::thread::sleep(Duration::from_millis(200));
    program.end();
    let logged = std::fs::read_to_string(&log).unwrap();
    assert!(logged.contains("ended early"), "nothing is logged, which says nothing: {logged}");
    assert!(!logged.contains(&secret), "the secret is in the log");
    for entry in std::fs::read_dir(folder.path()).unwrap() {
        let entry = entry.unwrap();
        if entry.path().is_file() {
            let bytes = std::fs::read(entry.path()).unwrap();
            assert!(
                !bytes.windows(secret.len()).any(|part| part == secret.as_bytes()),
                "the secret is in {:?}",
                entry.file_name()
            );
        }
    }
}

#[test]
fn without_a_passphrase_the_network_is_not_let_in() {
    let folder = folder();
    let ways: [&[&str]; 4] =
        [&["--lan"], &["--address", "0.0.0.0"], &["--outside", "https://studio.example"], &["--host", "studio.local"]];
    for how in ways {
        let mut serve = Command::new(PROGRAM);
        serve.arg("serve").arg(folder.path()).args(["--port", "0"]).args(how).stdout(Stdio::null());
        let mut child = serve.stderr(Stdio::piped()).spawn().unwrap();
        let began = Instant::now();
        while child.try_wait().unwrap().is_none() && began.elapsed() < Duration::from_secs(20) {
            std::thread::sleep(Duration::from_millis(20));
        }
        let _ = child.kill();
        let said = child.wait_with_output().unwrap();
        let words = String::from_utf8_lossy(&said.stderr).into_owned();
        assert_eq!(said.status.code(), Some(2), "it serves without a passphrase, or says: {words}");
        assert!(words.contains("has no passphrase") && words.contains("makeready passphrase"), "{words}");
    }
    for easy in ["short", "aaaaaaaaaaaaaaaa", ""] {
        let said = set_passphrase(folder.path(), easy);
        assert!(said.code != 0 && said.err.contains("passphrase"), "{easy:?}: {said:?}");
    }
}

fn come_in(program: &Program, passphrase: &str) -> Answer {
    let origin = format!("http://{}", program.address);
    let body = format!("passphrase={}", passphrase.replace(' ', "+"));
    program
        .ask(
            "POST",
            "/login",
            &[("Origin", &origin), ("Content-Type", "application/x-www-form-urlencoded")],
            body.as_bytes(),
        )
        .unwrap()
}

fn cookie(answer: &Answer) -> String {
    answer.header("set-cookie").unwrap().split(';').next().unwrap().to_owned()
}

#[test]
fn over_the_network_the_passphrase_is_asked_for() {
    let folder = folder();
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--lan"]);
    let host = program.address.to_string();
    // Without it, nothing but the way in, the shops' links and the styles.
    for path in [
        "/",
        "/plan/salt",
        "/plan/salt/text",
        "/plan/salt/values",
        "/plan/salt/links",
        "/plan/salt/ticket/lab",
        "/rates",
        "/begin",
        "/events",
        "/reference",
        "/nothing",
    ] {
        let page = program.ask("GET", path, &[("Accept", "text/html")], b"").unwrap();
        assert_eq!((page.status, page.header("location")), (303, Some("/login")), "{path}");
        assert_eq!(program.get(path).status, 401, "{path}");
    }
    let origin = format!("http://{host}");
    for (method, path) in [
        ("PUT", "/plan/salt/text"),
        ("POST", "/plan/salt/ledger"),
        ("POST", "/begin"),
        ("POST", "/plan/salt/links"),
        ("POST", "/logout"),
    ] {
        assert_eq!(program.ask(method, path, &[("Origin", &origin)], b"{}").unwrap().status, 401, "{path}");
    }
    assert_eq!(program.get("/t/x").status, 404);
    let login = program.get("/login");
    assert_eq!(login.status, 200);
    assert!(login.text().contains("can read what is sent"), "{}", login.text());
    let login = login.text().replace("&#x2f;", "/");
    assert_eq!(
        program
            .get(login.split("href=\"").find(|part| part.contains("sheet.css")).unwrap().split('"').next().unwrap())
            .status,
        200
    );
    // With it, everything.
    assert_eq!(come_in(&program, "something else entirely").status, 403);
    let came = come_in(&program, PASSPHRASE);
    assert_eq!((came.status, came.header("location")), (303, Some("/")));
    let set = came.header("set-cookie").unwrap().to_owned();
    assert!(set.contains("HttpOnly") && set.contains("SameSite=Strict") && set.contains("Path=/"), "{set}");
    let token = cookie(&came);
    assert!(token.len() > 40, "{token}");
    let page = program.ask("GET", "/plan/salt", &[("Cookie", &token)], b"").unwrap();
    assert!(page.status == 200 && page.text().contains("can read what is sent"));
    // The cookie alone writes nothing for another site.
    let foreign =
        program.ask("POST", "/begin", &[("Cookie", &token), ("Origin", "http://evil.example")], b"{}").unwrap();
    assert_eq!(foreign.status, 403);
    // What is changed in it is worth nothing.
    let mut forged = token.clone();
    let last = forged.pop().unwrap();
    forged.push(if last == 'A' { 'B' } else { 'A' });
    assert_eq!(program.ask("GET", "/", &[("Cookie", &forged)], b"").unwrap().status, 401);
    assert_eq!(program.ask("GET", "/", &[("Cookie", "makeready=")], b"").unwrap().status, 401);
}

#[test]
fn logging_out_everywhere_ends_every_session_and_a_new_passphrase_too() {
    let folder = folder();
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--lan"]);
    let (one, two, three) = (
        cookie(&come_in(&program, PASSPHRASE)),
        cookie(&come_in(&program, PASSPHRASE)),
        cookie(&come_in(&program, PASSPHRASE)),
    );
    assert!(one != two && two != three, "every session is its own");
    let may = |cookie: &str| program.ask("GET", "/", &[("Cookie", cookie)], b"").unwrap().status == 200;
    let origin = format!("http://{}", program.address);
    let leave = |cookie: &str, body: &[u8]| {
        program.ask("POST", "/logout", &[("Cookie", cookie), ("Origin", &origin)], body).unwrap()
    };
    assert!(may(&one) && may(&two) && may(&three));
    let left = leave(&one, b"x=y");
    assert!(left.header("set-cookie").unwrap().contains("Max-Age=0"));
    assert!(!may(&one) && may(&two) && may(&three));
    leave(&two, b"everywhere=yes");
    assert!(!may(&two) && !may(&three));
    let four = cookie(&come_in(&program, PASSPHRASE));
    assert!(may(&four));
    set_passphrase(folder.path(), "quarry after the long rain").ends_with(0);
    assert!(!may(&four), "the old passphrase's sessions end with it");
    assert_eq!(
        come_in(&program, "quarry after the long rain").status,
        303,
        "the fifth try within the minute still counts"
    );
    let sixth = come_in(&program, "quarry after the long rain");
    assert_eq!(sixth.status, 429);
    assert_eq!(sixth.header("retry-after"), Some("60"));
}

#[test]
fn a_session_outlives_a_restart_and_only_its_hash_is_kept() {
    let folder = folder();
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let mut program = Program::start(folder.path(), &["--lan"]);
    let token = cookie(&come_in(&program, PASSPHRASE));
    program.end();
    let program = Program::start(folder.path(), &["--lan"]);
    assert_eq!(program.ask("GET", "/", &[("Cookie", &token)], b"").unwrap().status, 200);
    let bytes = std::fs::read(folder.path().join(server::store::FILE)).unwrap();
    let secret = token.split('=').nth(1).unwrap().as_bytes();
    assert!(!bytes.windows(secret.len()).any(|part| part == secret));
    assert!(!bytes.windows(PASSPHRASE.len()).any(|part| part == PASSPHRASE.as_bytes()));
}

#[test]
fn a_link_bears_the_address_from_outside() {
    let folder = folder();
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--outside", "https://studio.example/"]);
    let token = cookie(&come_in(&program, PASSPHRASE));
    let body = br#"{"role":"lab","days":3}"#;
    let made = program.send("POST", "/plan/salt/links", &[("Cookie", &token)], body).unwrap().json();
    let address = made["address"].as_str().unwrap().to_owned();
    assert!(address.starts_with("https://studio.example/t/"), "{address}");
    let path = address.trim_start_matches("https://studio.example");
    let passed_on = [("Host", "studio.example"), ("X-Forwarded-For", "203.0.113.7")];
    assert_eq!(program.ask("GET", path, &passed_on, b"").unwrap().status, 200);
    assert_eq!(program.ask("GET", path, &[("Host", "other.example")], b"").unwrap().status, 421);
}

#[test]
fn a_way_in_nobody_told_of_is_closed() {
    let folder = folder();
    // A proxy that names itself, before a program that was not told of it and has no passphrase.
    let program = Program::start(folder.path(), &[]);
    assert_eq!(program.get("/").status, 200);
    for passed_on in [("X-Forwarded-For", "203.0.113.7"), ("Forwarded", "for=203.0.113.7"), ("Via", "1.1 door")] {
        assert_eq!(program.ask("GET", "/", &[passed_on], b"").unwrap().status, 401, "{passed_on:?}");
    }
    drop(program);
    // One that does not, before a notebook with a passphrase.
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &[]);
    assert!(program.said.contains("Open http://"), "{}", program.said);
    assert_eq!(program.get("/").status, 401);
    let token = cookie(&come_in(&program, PASSPHRASE));
    assert!(program.ask("GET", "/", &[("Cookie", &token)], b"").unwrap().text().contains("log out"));
}
