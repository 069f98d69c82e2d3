//! A notebook behind two proxies of Debian's at their defaults and behind a plain forwarder: to whoever does not know the
//! passphrase nothing of it is open but shops' links, whatever the request says of itself.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use program::{Answer, Line, Program, filled, notebook, set_passphrase, table};

const PASSPHRASE: &str = "heron under wet plaster";
const OUTSIDE: &str = "http://studio.example";
const PLAN: &str = "+++\ntitle = \"Salt Pans\"\n[shops]\nlab = \"North Lab\"\n+++\n\n# Salt Pans\n\n## The print {for=lab}\n\nPrint it dark.\n";

/// A proxy at work, ended with the test.
struct Proxy {
    child: Child,
    address: SocketAddr,
    _folder: tempfile::TempDir,
}

impl Drop for Proxy {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Where `tests/run` unpacks the proxies; installed ones will do as well.
fn unpacked() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/proxies")
}

fn binary(name: &str) -> PathBuf {
    let found = [unpacked().join("usr/sbin").join(name), Path::new("/usr/sbin").join(name)];
    found.into_iter().find(|path| path.exists()).unwrap_or_else(|| panic!("{name} is missing: tests/run brings it"))
}

fn free() -> SocketAddr {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap()
}

fn start(name: &str, arguments: &[&str], settings: &str, address: SocketAddr) -> Proxy {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("proxy.conf");
    std::fs::write(&file, settings.replace("FOLDER", folder.path().to_str().unwrap())).unwrap();
    let libraries = unpacked().join("usr/lib").join(format!("{}-linux-gnu", std::env::consts::ARCH));
    let mut command = Command::new(binary(name));
    command.env("LD_LIBRARY_PATH", libraries).args(arguments).arg(&file);
    let child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the proxy starts");
    let proxy = Proxy { child, address, _folder: folder };
    let began = Instant::now();
    while TcpStream::connect(address).is_err() {
        assert!(began.elapsed() < Duration::from_secs(20), "{name} does not listen");
        std::thread::sleep(Duration::from_millis(20));
    }
    proxy
}

fn nginx(to: SocketAddr) -> Proxy {
    let address = free();
    let temporary =
        ["client_body", "proxy", "fastcgi", "uwsgi", "scgi"].map(|kind| format!("{kind}_temp_path FOLDER;"));
    let settings = format!(
        "daemon off; pid FOLDER/pid; error_log FOLDER/log; events {{}} http {{ access_log off; {} server {{ listen {address}; location / {{ proxy_pass http://{to}; }} }} }}",
        temporary.join(" ")
    );
    start("nginx", &["-c"], &settings, address)
}

fn haproxy(mode: &str, to: SocketAddr) -> Proxy {
    let address = free();
    let settings = format!(
        "defaults\n mode {mode}\n timeout connect 5s\n timeout client 30s\n timeout server 30s\nlisten all\n bind {address}\n server one {to}\n"
    );
    start("haproxy", &["-db", "-f"], &settings, address)
}

fn ask(proxy: &Proxy, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    Line::to(proxy.address).unwrap().ask(method, path, headers, body).unwrap()
}

/// Every address of the table that is not for everyone, with the methods it answers.
fn addresses() -> Vec<(&'static str, String)> {
    let fill = |name: &str| match name {
        "name" => "salt".to_owned(),
        "role" => "lab".to_owned(),
        _ => "1".to_owned(),
    };
    let mut all: Vec<_> = table().into_iter().map(|(method, pattern)| (method, filled(pattern, fill))).collect();
    all.retain(|(_, path)| !["/login", "/t/", "/c/", "/a/"].iter().any(|public| path.starts_with(public)));
    all
}

/// What a stranger may say of itself to look like the owner's own browser.
const CLAIMS: &[&[(&str, &str)]] = &[
    &[("Host", "127.0.0.1")],
    &[("Host", "localhost")],
    &[("Host", "studio.example")],
    &[("Host", "localhost"), ("X-Forwarded-For", "127.0.0.1"), ("Forwarded", "for=127.0.0.1;host=localhost")],
    &[("Host", "127.0.0.1"), ("X-Real-IP", "127.0.0.1"), ("Connection", "X-Forwarded-For, X-Real-IP, Via")],
];

fn is_closed_to_strangers(proxy: &Proxy, before: &[u8], file: &Path) {
    for (method, path) in addresses() {
        for claim in CLAIMS {
            let host = claim[0].1;
            let origin = format!("http://{host}");
            let mut headers = claim.to_vec();
            headers.extend([("Origin", origin.as_str()), ("Sec-Fetch-Site", "same-origin")]);
            let answer = ask(proxy, method, &path, &headers, if method == "GET" { b"" } else { b"{}" });
            assert_eq!(answer.status, 401, "{method} {path} {claim:?}: {}", answer.text());
            assert!(answer.header("content-security-policy").is_some(), "{path}: the refusal carries its rules");
        }
    }
    assert_eq!(std::fs::read(file).unwrap(), before, "nothing was written");
}

fn is_open_to_the_owner(proxy: &Proxy) {
    let form = [("Host", "studio.example"), ("Origin", OUTSIDE)];
    let entered = format!("passphrase={}", PASSPHRASE.replace(' ', "+"));
    let came = ask(proxy, "POST", "/login", &form, entered.as_bytes());
    assert_eq!(came.status, 303, "{}", came.text());
    let cookie = came.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    let mut own = form.to_vec();
    own.push(("Cookie", &cookie));
    let page = ask(proxy, "GET", "/", &own, b"");
    assert!(page.status == 200 && page.text().contains("log out"), "{}", page.text());
    let made = ask(proxy, "POST", "/plan/salt/links", &own, br#"{"role":"lab","days":3}"#).json();
    let path = made["address"].as_str().unwrap().strip_prefix(OUTSIDE).unwrap().to_owned();
    let sheet = ask(proxy, "GET", &path, &[("Host", "studio.example")], b"");
    assert!(
        sheet.status == 200 && sheet.text().contains("Print it dark"),
        "a shop reads its link without a passphrase"
    );
    let foreign = [("Host", "studio.example"), ("Origin", "http://elsewhere.example"), ("Cookie", &cookie)];
    let refused = ask(proxy, "POST", "/plan/salt/links", &foreign, b"{}");
    assert!(refused.status == 403 && refused.text().contains("pass its own name on"), "{}", refused.text());
}

fn behind(proxy: impl Fn(SocketAddr) -> Proxy) {
    let folder = notebook(&[("salt", PLAN)]);
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--outside", OUTSIDE]);
    let (proxy, file) = (proxy(program.address), folder.path().join("salt.md"));
    is_closed_to_strangers(&proxy, PLAN.as_bytes(), &file);
    is_open_to_the_owner(&proxy);
}

#[test]
fn behind_nginx_with_nothing_but_proxy_pass() {
    behind(nginx);
}

#[test]
fn behind_haproxy_at_its_defaults() {
    behind(|to| haproxy("http", to));
}

#[test]
fn behind_a_forwarder_that_understands_nothing() {
    behind(|to| haproxy("tcp", to));
}

/// Tries of a wrong passphrase from an address the proxy names.
fn tries(program: &Program, from: &str, count: usize, passphrase: &str) -> Vec<u16> {
    let entered = format!("passphrase={}", passphrase.replace(' ', "+"));
    let headers = [("Origin", OUTSIDE), ("Host", "studio.example"), ("X-Forwarded-For", from)];
    (0..count).map(|_| program.ask("POST", "/login", &headers, entered.as_bytes()).unwrap().status).collect()
}

#[test]
fn strangers_do_not_lock_the_owner_out() {
    let folder = notebook(&[("salt", PLAN)]);
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--outside", OUTSIDE, "--trusted-proxy", "127.0.0.1"]);
    let owner = "198.51.100.7";
    assert_eq!(tries(&program, owner, 1, PASSPHRASE), [303]);
    // What a stranger writes further left is not believed: all of these are one address.
    let claimed: Vec<_> =
        (0..20).flat_map(|n| tries(&program, &format!("10.0.0.{n}, 203.0.113.1"), 1, "a wrong one, again")).collect();
    assert_eq!(claimed.iter().filter(|status| **status == 403).count(), 5, "{claimed:?}");
    // Many addresses use up what strangers have together.
    let many: Vec<_> =
        (0..40).flat_map(|n| tries(&program, &format!("203.0.113.{}", n + 2), 1, "wrong again")).collect();
    assert!(many.iter().filter(|status| **status == 429).count() >= 10, "{many:?}");
    assert_eq!(tries(&program, "203.0.113.200", 1, PASSPHRASE), [429], "a stranger is too late");
    assert_eq!(tries(&program, owner, 1, PASSPHRASE), [303], "the owner's address has a reserve");
    // And the reserve is kept over a restart.
    drop(program);
    let program = Program::start(folder.path(), &["--outside", OUTSIDE, "--trusted-proxy", "127.0.0.1"]);
    for n in 0..40 {
        tries(&program, &format!("203.0.113.{n}"), 1, "wrong again");
    }
    assert_eq!(tries(&program, owner, 1, PASSPHRASE), [303]);
}

#[test]
fn without_a_trusted_proxy_nobodys_word_is_taken() {
    let folder = notebook(&[("salt", PLAN)]);
    set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
    let program = Program::start(folder.path(), &["--outside", OUTSIDE]);
    let all: Vec<_> = (0..8).flat_map(|n| tries(&program, &format!("203.0.113.{n}"), 1, "wrong again")).collect();
    assert_eq!(all, [403, 403, 403, 403, 403, 429, 429, 429]);
}
