//! What the log says without being asked for more: who logged in, who was refused, what failed; and nothing secret or forged.

use crate::program::{Line, Program, command, notebook, program, set_passphrase};

const PASSPHRASE: &str = "heron under wet plaster";
const OUTSIDE: &str = "http://studio.example";

fn enter(program: &Program, passphrase: &str) -> crate::program::Answer {
    let body = format!("passphrase={}", passphrase.replace(' ', "+"));
    program.ask("POST", "/login", &[("Origin", OUTSIDE)], body.as_bytes()).unwrap()
}

#[test]
fn logins_refusals_and_faults_are_logged_and_no_line_is_forged() {
    let folder = notebook(&[("notebook/quiet", "# Quiet\n")]);
    let root = folder.path().join("notebook");
    // A file left behind whose name would begin a line of the log.
    let forged = "2026-01-01T00:00:00.000000Z  WARN forged";
    std::fs::write(root.join(format!(".makeready-a\n{forged}.tmp")), "left").unwrap();
    set_passphrase(&root, PASSPHRASE).ends_with(0);
    let log = folder.path().join("log.txt");
    let mut serve = command(program());
    serve.arg("serve").arg(&root).args(["--port", "0", "--outside", OUTSIDE]);
    // A clock far from universal time, and the log as it is when nobody asked for more.
    serve.env("TZ", "Pacific/Kiritimati").env("MAKEREADY_LOG", "").stderr(std::fs::File::create(&log).unwrap());
    let began = jiff::Timestamp::now();
    let mut program = Program::of(serve);
    assert_eq!(enter(&program, "a wrong one entirely").status, 403);
    let came = enter(&program, PASSPHRASE);
    let token = came.header("set-cookie").unwrap().split([';', '=']).nth(1).unwrap().to_owned();
    let own = ("Cookie", format!("makeready={token}"));
    assert_eq!(program.ask("GET", "/", &[("Cookie", "makeready=forged")], b"").unwrap().status, 401);
    assert_eq!(program.ask("GET", "/", &[("Host", "evil.example")], b"").unwrap().status, 421);
    let write = [(own.0, own.1.as_str()), ("Origin", "http://evil.example")];
    assert_eq!(program.ask("POST", "/plan/quiet%0a2026-01-01/tick", &write, b"{}").unwrap().status, 403);
    assert_eq!(program.ask("GET", "/t/a-secret", &[("Host", "evil.example")], b"").unwrap().status, 421);
    while enter(&program, "wrong again").status != 429 {}
    // What the computer refuses is a fault.
    std::fs::rename(&root, folder.path().join("away")).unwrap();
    std::fs::write(&root, "no folder").unwrap();
    let write = [(own.0, own.1.as_str()), ("Sec-Fetch-Site", "same-origin")];
    let status = program.ask("POST", "/begin", &write, br#"{"title":"New"}"#).unwrap().status;
    assert!(status >= 500, "{status}");
    let _ = Line::to(program.address);
    program.end();
    let text = std::fs::read_to_string(&log).unwrap();
    let lines: Vec<_> = text.lines().filter(|line| !line.starts_with("makeready: ")).collect();
    for (level, words) in [
        ("WARN", vec!["a wrong passphrase was given", "guess.from=127.0.0.1"]),
        ("INFO", vec!["a browser was let in", "guess.from=127.0.0.1"]),
        (
            "WARN",
            vec!["a request was refused", "refused.from=127.0.0.1", "refused.status=401", "method=GET", "path=\"/\""],
        ),
        ("WARN", vec!["a request was refused", "refused.status=421"]),
        (
            "WARN",
            vec![
                "a request was refused",
                "refused.status=403",
                "method=POST",
                "path=\"/plan/quiet%0a2026-01-01/tick\"",
            ],
        ),
        ("WARN", vec!["the passphrase is tried too often"]),
        ("WARN", vec!["a text that no save finished lies here", "forged.tmp"]),
        ("ERROR", vec!["the computer refused", "error.what="]),
    ] {
        let found = lines
            .iter()
            .any(|line| line.split_whitespace().nth(1) == Some(level) && words.iter().all(|word| line.contains(word)));
        assert!(found, "{level} {words:?} is not in the log:\n{text}");
    }
    // Every line is one of the program's own: it begins with the moment in universal time.
    let ended = jiff::Timestamp::now();
    for line in &lines {
        let moment = line.split(' ').next().unwrap();
        assert!(moment.ends_with('Z'), "{line}");
        let moment: jiff::Timestamp = moment.parse().unwrap_or_else(|error| panic!("{error}: {line}"));
        let second = jiff::SignedDuration::from_secs(1);
        assert!(moment >= began - second && moment <= ended + second, "not of this run: {line}");
    }
    for secret in [PASSPHRASE, "wrong again", &token, "a-secret"] {
        assert!(!text.contains(secret), "{secret} is in the log");
    }
}
