//! Clients that are slow, rude, many or broken: they are answered or cut off, and nobody else notices.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use program::{Line, Program, notebook};

const PLAN: &str =
    "+++\ntitle = \"Quiet\"\n+++\n\n# Quiet\n\n```workings\nlet wide = 60.inch;\n```\n\nIt is `? wide` wide.\n";

/// Reads until the server closes; gives the bytes and whether it closed before the time was up.
fn until_closed(stream: &mut TcpStream, patience: Duration) -> (Vec<u8>, bool) {
    let (began, mut all, mut part) = (Instant::now(), Vec::new(), [0; 4096]);
    stream.set_read_timeout(Some(Duration::from_millis(100))).unwrap();
    while began.elapsed() < patience {
        match stream.read(&mut part) {
            Ok(0) => return (all, true),
            Ok(read) => all.extend_from_slice(&part[..read]),
            Err(error) if matches!(error.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) => {}
            Err(_) => return (all, true),
        }
    }
    (all, false)
}

/// Reads one answer, or until the server closes.
fn until_answered(stream: &mut TcpStream) -> (Vec<u8>, bool) {
    let (mut all, began) = (Vec::new(), Instant::now());
    while began.elapsed() < Duration::from_secs(7) {
        let (more, closed) = until_closed(stream, Duration::from_millis(60));
        all.extend(more);
        if closed || all.windows(4).any(|part| part == b"\r\n\r\n") {
            return (all, closed);
        }
    }
    (all, false)
}

#[test]
fn five_hundred_slow_connections_are_cut_within_six_seconds_and_nobody_waits() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let began = Instant::now();
    let mut slow: Vec<TcpStream> = (0..500)
        .map(|number| {
            let mut stream = TcpStream::connect(program.address).expect("a connection");
            let start: &[u8] = match number % 3 {
                0 => b"",
                1 => b"GET / HTTP/1.1\r\nHost: localh",
                _ => b"GET / HTTP/1.1\r\nHost: localhost\r\nX-",
            };
            stream.write_all(start).unwrap();
            stream
        })
        .collect();
    let mut longest = Duration::ZERO;
    while began.elapsed() < Duration::from_secs(3) {
        let asked = Instant::now();
        assert_eq!(program.get("/plan/quiet").status, 200);
        longest = longest.max(asked.elapsed());
        // Some of them send a letter now and then, and are cut all the same.
        for stream in slow.iter_mut().step_by(7) {
            let _ = stream.write_all(b"a");
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    let left = Duration::from_secs(6).saturating_sub(began.elapsed());
    std::thread::sleep(left);
    let open = slow
        .iter_mut()
        .filter_map(|stream| (!until_closed(stream, Duration::from_millis(100)).1).then_some(()))
        .count();
    println!("500 slow connections: others waited {longest:?} at most; {open} still open after 6 s");
    assert_eq!(open, 0, "connections still open after six seconds");
    assert!(longest < Duration::from_millis(250), "someone waited {longest:?}");
}

#[test]
fn a_body_that_drips_is_cut_within_twelve_seconds() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let began = Instant::now();
    let mut stream = TcpStream::connect(program.address).unwrap();
    stream.write_all(b"POST /plan/quiet/draft HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nContent-Length: 1000\r\n\r\n").unwrap();
    let mut said = Vec::new();
    while began.elapsed() < Duration::from_secs(13) {
        let _ = stream.write_all(b"x");
        let (more, closed) = until_closed(&mut stream, Duration::from_millis(300));
        said.extend(more);
        if closed {
            break;
        }
    }
    let said = String::from_utf8_lossy(&said).into_owned();
    assert!(said.starts_with("HTTP/1.1 408"), "{said}");
    assert!(began.elapsed() < Duration::from_secs(12), "cut after {:?}", began.elapsed());
}

#[test]
fn a_body_that_promises_too_much_is_refused_before_it_is_sent() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    for length in ["1179649", "10000000000", "18446744073709551613"] {
        let mut stream = TcpStream::connect(program.address).unwrap();
        write!(stream, "PUT /plan/quiet/text HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nExpect: 100-continue\r\nContent-Length: {length}\r\n\r\n").unwrap();
        let (said, closed) = until_closed(&mut stream, Duration::from_secs(2));
        let said = String::from_utf8_lossy(&said).into_owned();
        assert!(said.starts_with("HTTP/1.1 413") && closed, "{length}: {said}");
    }
    // Without a promise, as much is read as a plan may be long, and no more.
    let mut stream = TcpStream::connect(program.address).unwrap();
    stream.write_all(b"PUT /plan/quiet/text HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nIf-Match: \"x\"\r\nTransfer-Encoding: chunked\r\n\r\n").unwrap();
    let part = [b"10000\r\n".as_slice(), &[b'a'; 0x10000], b"\r\n"].concat();
    let sent = (0..40).take_while(|_| stream.write_all(&part).is_ok()).count();
    let (said, _) = until_closed(&mut stream, Duration::from_secs(2));
    let said = String::from_utf8_lossy(&said).into_owned();
    assert!(said.starts_with("HTTP/1.1 413") || (said.is_empty() && sent < 40), "{sent} parts taken: {said}");
    assert_eq!(program.get("/plan/quiet").status, 200);
}

/// Requests as raw bytes, and the statuses that are right for them; 0 stands for a connection closed without a word.
/// Sources: RFC 9110 and RFC 9112, the section beside each.
const MALFORMED: &[(&str, &[u8], &[u16])] = &[
    ("no version at all (9112 3)", b"GET /\r\n\r\n", &[400, 0]),
    ("an empty line of a request (9112 3)", b" \r\n\r\n", &[400]),
    ("a version that is none (9112 2.3)", b"GET / HTTP/9.9\r\nHost: localhost\r\n\r\n", &[400, 505]),
    ("a version in small letters (9112 2.3)", b"GET / http/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("the preface of another version (9113 3.4)", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", &[400, 505, 0]),
    ("a method with a bracket in it (9110 9.1)", b"G(T / HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("a method nobody knows (9110 9.1)", b"FROB / HTTP/1.1\r\nHost: localhost\r\n\r\n", &[405, 501]),
    ("TRACE (9110 9.3.8)", b"TRACE / HTTP/1.1\r\nHost: localhost\r\n\r\n", &[405]),
    ("CONNECT (9110 9.3.6)", b"CONNECT localhost:80 HTTP/1.1\r\nHost: localhost:80\r\n\r\n", &[405, 400]),
    ("OPTIONS (9110 9.3.7)", b"OPTIONS * HTTP/1.1\r\nHost: localhost\r\n\r\n", &[405, 200]),
    ("DELETE", b"DELETE /plan/quiet HTTP/1.1\r\nHost: localhost\r\n\r\n", &[405]),
    ("a space in the target (9112 3.2)", b"GET /a b HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("a target that is not a path (9112 3.2)", b"GET plan HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400, 404, 421]),
    ("a fragment in the target (9112 3.2)", b"GET /#a HTTP/1.1\r\nHost: localhost\r\n\r\n", &[200, 400]),
    ("a control byte in the target", b"GET /\x01 HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("a byte that is not text in the target", b"GET /plan/%FF HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("half an escape in the target", b"GET /plan/%4 HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("a zero byte in the target", b"GET /plan/a%00b HTTP/1.1\r\nHost: localhost\r\n\r\n", &[400]),
    ("no host (9112 3.2)", b"GET / HTTP/1.1\r\n\r\n", &[400]),
    ("no host in the old version", b"GET / HTTP/1.0\r\n\r\n", &[400]),
    ("two hosts (9112 3.2)", b"GET / HTTP/1.1\r\nHost: localhost\r\nHost: localhost\r\n\r\n", &[400]),
    ("two different hosts", b"GET / HTTP/1.1\r\nHost: localhost\r\nHost: evil.example\r\n\r\n", &[400]),
    ("an empty host", b"GET / HTTP/1.1\r\nHost:\r\n\r\n", &[421, 400]),
    ("a space before the colon (9112 5.1)", b"GET / HTTP/1.1\r\nHost : localhost\r\n\r\n", &[400]),
    ("a header without a name", b"GET / HTTP/1.1\r\n: x\r\nHost: localhost\r\n\r\n", &[400]),
    ("a header without a colon", b"GET / HTTP/1.1\r\nHost: localhost\r\nnonsense\r\n\r\n", &[400]),
    ("a folded header (9112 5.2)", b"GET / HTTP/1.1\r\nHost: localhost\r\nX-A: b\r\n c\r\n\r\n", &[400]),
    ("a folded first header", b"GET / HTTP/1.1\r\n Host: localhost\r\n\r\n", &[400]),
    ("a zero byte in a header (9110 5.5)", b"GET / HTTP/1.1\r\nHost: localhost\r\nX-A: b\0c\r\n\r\n", &[400]),
    ("a bare CR in a header (9112 2.2)", b"GET / HTTP/1.1\r\nHost: localhost\r\nX-A: b\rc\r\n\r\n", &[400]),
    ("a length that is not a number (9110 8.6)", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nContent-Length: ten\r\n\r\n", &[400]),
    ("a length below zero", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n", &[400]),
    ("a length with a plus", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nContent-Length: +1\r\n\r\na", &[400]),
    ("a length past all numbers", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999999999999999\r\n\r\n", &[400, 413]),
    ("two lengths (9112 6.3)", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nab", &[400]),
    ("a length and chunks: refused, or read as chunks and closed (9112 6.1)", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nContent-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", &[400, 422]),
    ("a coding nobody knows (9112 6.1)", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: pigeon\r\n\r\n", &[400, 501]),
    ("chunks that are not last (9112 6.3)", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked, gzip\r\n\r\n", &[400]),
    ("chunks in the old version (9112 6.1)", b"POST /begin HTTP/1.0\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", &[400]),
    ("a chunk whose length is not a number (9112 7.1)", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\nab\r\n0\r\n\r\n", &[400]),
    ("a chunk longer than all numbers", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nTransfer-Encoding: chunked\r\n\r\nfffffffffffffffff\r\nab\r\n", &[400]),
    ("a chunk without its end", b"POST /begin HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nTransfer-Encoding: chunked\r\n\r\n1\r\nabc\r\n0\r\n\r\n", &[400]),
    ("nothing that is text", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", &[400, 0]),
    ("a name of another site, in full (9112 3.2.2)", b"GET http://evil.example/ HTTP/1.1\r\nHost: localhost\r\n\r\n", &[421]),
    ("a name with someone before it", b"GET http://localhost@evil.example/ HTTP/1.1\r\nHost: localhost\r\n\r\n", &[421, 400]),
];

#[test]
fn malformed_requests_are_answered_right() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let mut wrong = Vec::new();
    for (what, bytes, right) in MALFORMED {
        let mut stream = TcpStream::connect(program.address).unwrap();
        stream.write_all(bytes).unwrap();
        let (said, closed) = until_answered(&mut stream);
        let said = String::from_utf8_lossy(&said).into_owned();
        let status: u16 = said.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
        let kept_open =
            matches!(status, 200 | 404 | 405 | 421) || (status == 400 && !said.contains("onnection: close"));
        if !right.contains(&status) || !(closed || kept_open) {
            wrong.push(format!("{what}: {status} {closed} {}", said.lines().last().unwrap_or_default()));
        }
    }
    // Heads that are too long or too many.
    for (what, head) in [
        ("a header of 20 kB", format!("X-A: {}\r\n", "a".repeat(20_000))),
        ("a hundred headers", "X-A: b\r\n".repeat(100)),
    ] {
        let mut stream = TcpStream::connect(program.address).unwrap();
        let _ = write!(stream, "GET / HTTP/1.1\r\nHost: localhost\r\n{head}\r\n");
        let (said, _) = until_closed(&mut stream, Duration::from_secs(3));
        if !String::from_utf8_lossy(&said).starts_with("HTTP/1.1 431") {
            wrong.push(format!("{what}: {}", String::from_utf8_lossy(&said).lines().next().unwrap_or_default()));
        }
    }
    assert!(wrong.is_empty(), "of {}:\n{}", MALFORMED.len() + 2, wrong.join("\n"));
    assert_eq!(program.get("/plan/quiet").status, 200);
}

#[test]
fn what_is_sent_after_a_request_is_the_next_request_and_nothing_is_smuggled() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let mut line = Line::to(program.address).unwrap();
    // Two at once are answered one after the other.
    let two = format!(
        "GET /plan/quiet/text HTTP/1.1\r\nHost: {0}\r\n\r\nGET /rates HTTP/1.1\r\nHost: {0}\r\n\r\n",
        program.address
    );
    line.stream.get_mut().write_all(two.as_bytes()).unwrap();
    assert!(line.answer().unwrap().text().contains("title = \"Quiet\""));
    assert!(line.answer().unwrap().text().contains("Rate sheets"));
    // The rest of a refused body is not read as a request.
    let mut stream = TcpStream::connect(program.address).unwrap();
    stream.write_all(b"PUT /plan/quiet/text HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\nContent-Length: 9000000\r\n\r\nGET /reference HTTP/1.1\r\nHost: localhost\r\n\r\n").unwrap();
    let (said, closed) = until_closed(&mut stream, Duration::from_secs(2));
    let said = String::from_utf8_lossy(&said).into_owned();
    assert_eq!(said.matches("HTTP/1.1").count(), 1, "{said}");
    assert!(closed);
}

#[test]
fn a_client_that_takes_nothing_does_not_hold_the_answer_for_ever() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let mut stream = TcpStream::connect(program.address).unwrap();
    // Far more answers than any buffer on the way holds.
    let one = b"GET /reference HTTP/1.1\r\nHost: localhost\r\n\r\n";
    stream.set_write_timeout(Some(Duration::from_millis(500))).unwrap();
    let began = Instant::now();
    let mut cut = None;
    while began.elapsed() < Duration::from_secs(25) {
        match stream.write_all(one) {
            Ok(()) => std::thread::sleep(Duration::from_millis(1)),
            Err(error) if matches!(error.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) => {}
            Err(_) => {
                cut = Some(began.elapsed());
                break;
            }
        }
    }
    assert!(cut.is_some(), "still open after 25 s");
    assert_eq!(program.get("/plan/quiet").status, 200);
}

#[test]
fn a_hundred_open_pages_do_not_keep_the_program_from_ending() {
    let folder = notebook(&[("quiet", PLAN)]);
    let mut program = Program::start(folder.path(), &[]);
    let mut following: Vec<Line> = (0..100)
        .map(|_| {
            let mut line = Line::to(program.address).unwrap();
            let answer = line.ask("GET", "/events", &[], b"").unwrap();
            assert_eq!(answer.status, 200);
            line
        })
        .collect();
    // A save reaches all of them.
    let etag = program.get("/plan/quiet/text").etag();
    let saved = program
        .send("PUT", "/plan/quiet/text", &[("If-Match", &format!("\"{etag}\""))], PLAN.replace("60", "61").as_bytes())
        .unwrap();
    assert_eq!(saved.status, 200);
    let began = Instant::now();
    for line in &mut following {
        let mut said = String::new();
        while !said.contains(&saved.etag()) {
            assert!(std::io::BufRead::read_line(&mut line.stream, &mut said).unwrap() > 0);
        }
    }
    println!("a change reached 100 pages within {:?}", began.elapsed());
    let (took, well) = program.end();
    println!("ended in {took:?} with 100 pages open");
    assert!(well && took < Duration::from_secs(3), "{took:?}, ended well: {well}");
    assert!(
        !folder.path().join("makeready.db-wal").metadata().is_ok_and(|about| about.len() > 0),
        "the journal was left behind"
    );
}

#[test]
fn pages_that_follow_are_bounded_and_others_go_on() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let mut open = Vec::new();
    let mut refused = None;
    for _ in 0..257 {
        let mut line = Line::to(program.address).unwrap();
        let answer = line.ask("GET", "/events", &[], b"").unwrap();
        if answer.status == 200 {
            open.push(line);
        } else {
            refused = Some(answer);
        }
    }
    let refused = refused.expect("one too many");
    assert_eq!((open.len(), refused.status), (256, 503));
    assert!(refused.header("retry-after").is_some());
    let asked = Instant::now();
    assert_eq!(program.get("/plan/quiet").status, 200);
    assert!(asked.elapsed() < Duration::from_millis(250));
    // A page that is closed makes room.
    drop(open);
    let began = Instant::now();
    while Line::to(program.address).unwrap().ask("GET", "/events", &[], b"").unwrap().status != 200 {
        assert!(began.elapsed() < Duration::from_secs(20), "no room again");
        std::thread::sleep(Duration::from_millis(200));
    }
}

/// The most memory the program ever held, in kB.
#[cfg(target_os = "linux")]
fn most_held(program: &Program) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", program.child.id())).unwrap();
    let line = status.lines().find(|line| line.starts_with("VmHWM")).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// An archive of one plan with a picture of so many MiB that does not get smaller.
fn archive(megabytes: usize) -> Vec<u8> {
    use sha2::Digest as _;
    let mut number = 20_261_125_u64;
    let mut picture = Vec::with_capacity(megabytes << 20);
    while picture.len() < megabytes << 20 {
        number = number.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        picture.extend(number.to_le_bytes());
    }
    let files = [("scans/large.jpg", picture), ("x.md", b"# x\n\n![large](scans/large.jpg)\n".to_vec())];
    let marks = files.iter().map(|(path, bytes)| {
        let mark: String = sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        format!("\"{path}\":\"{mark}\"")
    });
    let marks = marks.collect::<Vec<_>>().join(",");
    let list =
        format!("{{\"form\":1,\"plan\":\"x\",\"title\":\"x\",\"revision\":1,\"made\":\"\",\"files\":{{{marks}}}}}");
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let stored = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in
        files.iter().map(|(name, bytes)| (*name, bytes.as_slice())).chain([("makeready.json", list.as_bytes())])
    {
        zip.start_file(name, stored).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[cfg(target_os = "linux")]
#[test]
fn six_archives_at_once_all_come_in_and_are_never_in_memory() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let archive = archive(48);
    program.get("/");
    let before = most_held(&program);
    let began = Instant::now();
    std::thread::scope(|threads| {
        let all: Vec<_> =
            (0..6).map(|_| threads.spawn(|| program.send("POST", "/import", &[], &archive).unwrap())).collect();
        for one in all {
            let answer = one.join().unwrap();
            assert_eq!(answer.status, 200, "{}", answer.text());
        }
    });
    let in_all = most_held(&program) - before;
    println!("six archives of {} MiB in {:?}, {} MiB more held", archive.len() >> 20, began.elapsed(), in_all >> 10);
    assert!(in_all < 48 << 10, "{in_all} kB more were held");
    for number in ["x", "x-2", "x-3", "x-4", "x-5", "x-6"] {
        assert_eq!(program.get(&format!("/plan/{number}")).status, 200, "{number}");
    }
    // And out again, eight at once.
    let before = most_held(&program);
    std::thread::scope(|threads| {
        for one in (0..8).map(|_| threads.spawn(|| program.get("/plan/x/archive"))).collect::<Vec<_>>() {
            let answer = one.join().unwrap();
            assert!(answer.status == 200 && answer.body.len() > 48 << 20, "{}", answer.status);
        }
    });
    let out_all = most_held(&program) - before;
    println!("eight times out: {} MiB more held", out_all >> 10);
    assert!(out_all < 48 << 10, "{out_all} kB more were held");
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert!(!left.iter().any(|name| name.to_string_lossy().contains(".part")), "{left:?}");
}

#[test]
fn an_archive_that_never_ends_or_breaks_off_is_turned_away_and_leaves_nothing() {
    let folder = notebook(&[("quiet", PLAN)]);
    let program = Program::start(folder.path(), &[]);
    let files = || {
        let mut all: Vec<_> =
            std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        all.retain(|name| !name.to_string_lossy().starts_with("makeready"));
        all
    };
    let before = files();
    let head = |length: &str| {
        format!("POST /import HTTP/1.1\r\nHost: {}\r\nSec-Fetch-Site: same-origin\r\n{length}\r\n\r\n", program.address)
    };
    // It says that it is too long.
    let mut stream = TcpStream::connect(program.address).unwrap();
    stream.write_all(head("Content-Length: 200000000").as_bytes()).unwrap();
    assert!(until_answered(&mut stream).0.starts_with(b"HTTP/1.1 413"));
    // It does not say so, and goes on and on.
    let mut stream = TcpStream::connect(program.address).unwrap();
    stream.write_all(head("Transfer-Encoding: chunked").as_bytes()).unwrap();
    let part = [format!("{:x}\r\n", 1 << 20).into_bytes(), vec![7; 1 << 20], b"\r\n".to_vec()].concat();
    let sent = (0..200).take_while(|_| stream.write_all(&part).is_ok()).count();
    let answer = until_answered(&mut stream).0;
    assert!(sent < 200 && (answer.is_empty() || answer.starts_with(b"HTTP/1.1 413")), "{sent} MiB were taken");
    // It breaks off.
    let mut stream = TcpStream::connect(program.address).unwrap();
    stream.write_all(head("Content-Length: 5000").as_bytes()).unwrap();
    stream.write_all(&[7; 100]).unwrap();
    drop(stream);
    assert_eq!(program.send("POST", "/import", &[], b"no archive").unwrap().status, 422);
    assert_eq!(files(), before);
}
