//! Who may come in over the network, and what a shop may read.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::io::{ErrorKind, Read as _, Write as _};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use program::{Answer, Line, PROGRAM, Program, notebook, set_passphrase};

const PASSPHRASE: &str = "heron under wet plaster";
const PLAN: &str = "+++\ntitle = \"Salt Pans\"\nedition = 6\n[shops]\nlab = \"shops/north-lab\"\nframer = \"shops/the-joint\"\n+++\n\n# Salt Pans\n\n## What I think {private}\n\nThe collector pays 9000.\n\n## The print {for=lab}\n\n```workings\nlet wide = given(\"Print width\", 60.inch);\ncost(\"Print\", 412.usd, \"lab\");\n```\n\nPrint it `? wide` wide.\n\n## The frame {for=framer}\n\nThe frame is ash.\n\n```workings\ncost(\"Frame\", 777.usd, \"framer\");\n```\n";
const LAB: &str = "+++\ntitle = \"North Lab\"\nkind = \"rates\"\n+++\n\n# North Lab\n";
const SOUTH: &str = "+++\ntitle = \"South Lab\"\nkind = \"rates\"\n+++\n\n# South Lab\n";
const JOINT: &str = "+++\ntitle = \"The Joint\"\nkind = \"rates\"\n+++\n\n# The Joint\n";

fn folder() -> tempfile::TempDir {
    notebook(&[("salt", PLAN), ("shops/north-lab", LAB), ("shops/south-lab", SOUTH), ("shops/the-joint", JOINT)])
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

#[test]
fn what_became_private_is_not_repeated_to_the_shop_that_once_read_it() {
    let secret = "Nobody else may know that it pays nine thousand.";
    let folder = notebook(&[
        ("salt", &PLAN.replace("The frame is ash.", &format!("The frame is ash. {secret}\n\nGap {secret}"))),
        ("shops/north-lab", LAB),
        ("shops/the-joint", JOINT),
    ]);
    let program = Program::start(folder.path(), &[]);
    let (framer, _) = link(&program, "framer", 30);
    assert!(program.get(&framer).text().contains("nine thousand"), "the shop was told of it once");
    let issue = |words: &str| {
        let body = format!("{{\"words\":\"{words}\"}}");
        assert_eq!(program.send("POST", "/plan/salt/ticket/framer/issue", &[], body.as_bytes()).unwrap().status, 200);
    };
    edit(&program, "The frame is ash.", "The frame is oak.");
    issue("the first");
    edit(&program, "The frame is oak.", "The frame is oak, oiled.");
    issue("the second");
    // Moved under a private heading: one of them was a part of a paragraph, one a paragraph of its own.
    edit(&program, &format!(" {secret}\n\nGap {secret}"), "");
    edit(&program, "The collector pays 9000.", &format!("The collector pays 9000. {secret}"));
    for path in [&framer, "/plan/salt/ticket/framer/paper.css", &format!("{framer}?paper=a4")] {
        let shown = program.get(path).text();
        assert!(!shown.contains("nine thousand") && !shown.contains("Nobody else"), "{path}: {shown}");
    }
    let page = program.get(&framer).text();
    assert!(page.contains("Superseded") && page.contains("a line that is not for this shop now"), "{page}");
    // The sheet that is handed over says it neither, and the photographer still sees what changed.
    let own = program.get("/plan/salt/ticket/framer").text();
    let (office, sheet) = own.split_once("class=\"leaf\"").unwrap();
    assert!(office.contains("nine thousand"), "{office}");
    assert!(!sheet.contains("nine thousand"), "{sheet}");
    let pdf = program.get(&format!("{framer}/paper.pdf"));
    if pdf.status == 200 {
        let text = text_of(&pdf.body);
        assert!(text.contains("oiled") && !text.contains("nine thousand"), "{text}");
    }
}

fn text_of(pdf: &[u8]) -> String {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(pdf).unwrap();
    let told = Command::new("pdftotext").arg(file.path()).arg("-").output().expect("pdftotext of poppler-utils");
    String::from_utf8_lossy(&told.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
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

/// Whether a link answers as one that never was, under each of its addresses.
fn is_nothing(program: &Program, path: &str) -> bool {
    let wrong = format!("/t/{}", "A".repeat(43));
    let apart: Vec<_> = ["", "/paper.css", "/paper.pdf"]
        .iter()
        .map(|end| apart(&program.get(&format!("{wrong}{end}")), &program.get(&format!("{path}{end}"))).is_none())
        .collect();
    assert!(apart.iter().all(|one| *one == apart[0]), "a part of the link stays open: {apart:?}");
    apart[0]
}

#[test]
fn a_link_is_for_its_shop_and_ends_when_the_plan_names_another() {
    let folder = folder();
    let program = Program::start(folder.path(), &[]);
    let (north, _) = link(&program, "lab", 30);
    let (joint, _) = link(&program, "framer", 30);
    assert!(!is_nothing(&program, &north));
    assert_eq!(program.send("POST", "/plan/salt/ticket/lab/issue", &[], b"{}").unwrap().status, 200);
    edit(&program, "lab = \"shops/north-lab\"", "lab = \"shops/south-lab\"");
    edit(&program, "412.usd", "399.usd");
    assert!(is_nothing(&program, &north), "the old lab reads {}", program.get(&north).text());
    assert!(!is_nothing(&program, &joint), "the framer is the same");
    let owner = program.get("/plan/salt/links").text();
    assert!(
        owner.contains("not valid any more: made for North Lab, and the plan&#x27;s lab is South Lab now")
            && owner.contains("data-again=\"lab\""),
        "{owner}"
    );
    // The new lab reads nothing of what the old one was handed.
    let (south, _) = link(&program, "lab", 30);
    let page = program.get(&south).text();
    assert!(page.contains("South Lab") && page.contains("399"), "{page}");
    assert!(!page.contains("North") && !page.contains("412") && !page.contains("Issues of this sheet"), "{page}");
    // Back to the old one, its link holds again and the new one's does not.
    edit(&program, "lab = \"shops/south-lab\"", "lab = \"shops/north-lab\"");
    assert!(!is_nothing(&program, &north) && is_nothing(&program, &south));
    // Another shop written over its rate sheet is another shop.
    let text = program.get("/rates/shops%2Fnorth-lab/text");
    let over = text.text().replace("North Lab", "Far Lab");
    let mark = format!("\"{}\"", text.etag());
    let saved = program.send("PUT", "/rates/shops%2Fnorth-lab/text", &[("If-Match", &mark)], over.as_bytes()).unwrap();
    assert_eq!(saved.status, 200, "{}", saved.text());
    assert!(is_nothing(&program, &north), "the old lab reads {}", program.get(&north).text());
}

#[test]
fn links_and_calendars_of_an_earlier_version_are_carried_over() {
    let folder = folder();
    let path = folder.path().join(server::store::FILE);
    let sources = concat!(env!("CARGO_MANIFEST_DIR"), "/src/store");
    let mut steps: Vec<(u32, std::path::PathBuf)> = std::fs::read_dir(sources)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter_map(|path| Some((path.file_name()?.to_str()?.split_once('_')?.0.parse().ok()?, path)))
        .collect();
    steps.sort();
    let mark = |secret: &str| -> String {
        use sha2::Digest as _;
        sha2::Sha256::digest(secret.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
    };
    let (young, old, lab, gone) = ("y".repeat(43), "o".repeat(43), "l".repeat(43), "g".repeat(43));
    {
        let record = rusqlite::Connection::open(&path).unwrap();
        for (_, step) in steps.iter().filter(|(number, _)| *number <= 9) {
            record.execute_batch(&std::fs::read_to_string(step).unwrap()).unwrap();
        }
        record.pragma_update(None, "application_id", 0x4D6B_5264).unwrap();
        record.pragma_update(None, "user_version", 9).unwrap();
        for (secret, age) in [(&young, "-30 days"), (&old, "-400 days")] {
            let made = "INSERT INTO calendar_address (hash, plan, made) VALUES (?1, 'salt', strftime('%Y-%m-%dT%H:%M:%SZ', 'now', ?2))";
            record.execute(made, [&mark(secret), age]).unwrap();
        }
        for (secret, shop) in [(&lab, "North Lab"), (&gone, "Some Lab Before")] {
            let made = "INSERT INTO link (hash, plan, role, shop, revision, said, made, expires) VALUES (?1, 'salt', 'lab', ?2, 1, '', '2026-01-01T00:00:00Z', '9998-01-01T00:00:00Z')";
            record.execute(made, [&mark(secret), shop]).unwrap();
        }
    }
    let program = Program::start(folder.path(), &[]);
    assert_eq!(program.get(&format!("/c/{young}/steps.ics")).status, 200);
    assert_eq!(program.get(&format!("/c/{old}/steps.ics")).status, 404, "a year has gone by since");
    let page = program.get("/plan/salt/links").text();
    assert!(page.contains("ended on 20") && page.contains("ends on 20"), "{page}");
    assert_eq!(program.send("POST", "/plan/salt/calendar/2/renew", &[], b"").unwrap().status, 200);
    assert_eq!(program.get(&format!("/c/{old}/steps.ics")).status, 200);
    // A link without a rate sheet goes by its shop's name.
    assert!(!is_nothing(&program, &format!("/t/{lab}")) && is_nothing(&program, &format!("/t/{gone}")));
    edit(&program, "lab = \"shops/north-lab\"", "lab = \"shops/south-lab\"");
    assert!(is_nothing(&program, &format!("/t/{lab}")));
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

/// A page that follows changes, as the browser of this cookie.
fn following(program: &Program, cookie: &str) -> Line {
    let mut line = Line::to(program.address).unwrap();
    assert_eq!(line.ask("GET", "/events", &[("Cookie", cookie)], b"").unwrap().status, 200);
    line
}

/// After how long a page that follows changes is let go of, if within a time; and what it heard until then.
fn let_go(line: &mut Line, within: Duration) -> (Option<Duration>, String) {
    let (began, mut heard, mut part) = (Instant::now(), Vec::new(), [0; 1024]);
    line.stream.get_ref().set_read_timeout(Some(Duration::from_millis(50))).unwrap();
    while began.elapsed() < within {
        match line.stream.read(&mut part) {
            Ok(0) => return (Some(began.elapsed()), String::from_utf8_lossy(&heard).into_owned()),
            Ok(read) => heard.extend_from_slice(&part[..read]),
            Err(error) => assert!(matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut), "{error}"),
        }
        if heard.ends_with(b"0\r\n\r\n") {
            return (Some(began.elapsed()), String::from_utf8_lossy(&heard).into_owned());
        }
    }
    (None, String::from_utf8_lossy(&heard).into_owned())
}

#[test]
fn a_page_that_follows_changes_is_let_go_of_when_its_browser_is_logged_out() {
    let folder = folder();
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--lan"]);
    let (one, two, three) = (
        cookie(&come_in(&program, PASSPHRASE)),
        cookie(&come_in(&program, PASSPHRASE)),
        cookie(&come_in(&program, PASSPHRASE)),
    );
    let (mut ones, mut twos, mut threes) =
        (following(&program, &one), following(&program, &two), following(&program, &three));
    let origin = format!("http://{}", program.address);
    let leave = |cookie: &str, body: &[u8]| {
        program.ask("POST", "/logout", &[("Cookie", cookie), ("Origin", &origin)], body).unwrap()
    };
    // One browser goes, and the others go on following.
    leave(&one, b"x=y");
    let (after, _) = let_go(&mut ones, Duration::from_secs(3));
    println!("let go of after {after:?} of its own leaving");
    assert!(after.is_some_and(|after| after < Duration::from_secs(1)), "{after:?}");
    std::fs::write(folder.path().join("salt.md"), PLAN.replace("ash", "oak")).unwrap();
    let (after, heard) = let_go(&mut twos, Duration::from_secs(2));
    assert!(after.is_none() && heard.contains("event: changed"), "{after:?}: {heard}");
    // Every browser goes.
    leave(&two, b"everywhere=yes");
    for line in [&mut twos, &mut threes] {
        let (after, _) = let_go(line, Duration::from_secs(3));
        println!("let go of after {after:?} of every browser's leaving");
        assert!(after.is_some_and(|after| after < Duration::from_secs(1)), "{after:?}");
    }
    // Another passphrase, set beside the running server, lets everyone out too; that is seen a little later.
    let mut fours = following(&program, &cookie(&come_in(&program, PASSPHRASE)));
    set_passphrase(folder.path(), "quarry after the long rain").ends_with(0);
    let (after, _) = let_go(&mut fours, Duration::from_secs(8));
    println!("let go of after {after:?} of another passphrase");
    assert!(after.is_some(), "a page still follows after the passphrase was changed");
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
