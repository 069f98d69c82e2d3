//! With a certificate nobody in the network reads along.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::io::{Read as _, Write as _};
use std::net::TcpStream;
use std::sync::Arc;
use std::time::{Duration, Instant};

use program::{Program, notebook, run, set_passphrase};
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::version::{TLS12, TLS13};
use tokio_rustls::rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned, SupportedProtocolVersion};

const PLAN: &str = "# Quiet\n\nOnly for us.\n";
const PASSPHRASE: &str = "four quiet words by the weir";

/// A notebook with a passphrase, and a certificate of its own beside it.
struct Studio {
    folder: tempfile::TempDir,
    beside: tempfile::TempDir,
    certificate: CertificateDer<'static>,
}

impl Studio {
    fn new() -> Self {
        let folder = notebook(&[("quiet", PLAN)]);
        set_passphrase(folder.path(), PASSPHRASE).ends_with(0);
        let beside = tempfile::tempdir().unwrap();
        let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
        std::fs::write(beside.path().join("cert.pem"), made.cert.pem()).unwrap();
        std::fs::write(beside.path().join("key.pem"), made.signing_key.serialize_pem()).unwrap();
        Self { folder, beside, certificate: made.cert.der().clone() }
    }

    fn file(&self, name: &str) -> String {
        self.beside.path().join(name).to_str().unwrap().to_owned()
    }

    fn start(&self) -> Program {
        let (cert, key) = (self.file("cert.pem"), self.file("key.pem"));
        Program::start(self.folder.path(), &["--lan", "--tls-cert", &cert, "--tls-key", &key])
    }

    /// Asks over a secure connection; gives all that came back.
    fn ask(
        &self,
        program: &Program,
        trusts: bool,
        version: &'static SupportedProtocolVersion,
        request: &str,
    ) -> std::io::Result<String> {
        let mut roots = RootCertStore::empty();
        if trusts {
            roots.add(self.certificate.clone()).unwrap();
        }
        let config = ClientConfig::builder_with_provider(Arc::new(default_provider()))
            .with_protocol_versions(&[version])
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        let name = ServerName::try_from("localhost").unwrap();
        let connection = ClientConnection::new(Arc::new(config), name).unwrap();
        let socket = TcpStream::connect(program.address)?;
        socket.set_read_timeout(Some(Duration::from_secs(20)))?;
        let mut stream = StreamOwned::new(connection, socket);
        stream.write_all(request.as_bytes())?;
        let mut all = Vec::new();
        match stream.read_to_end(&mut all) {
            Ok(_) => {}
            Err(error) if error.kind() == std::io::ErrorKind::UnexpectedEof && !all.is_empty() => {}
            Err(error) => return Err(error),
        }
        Ok(String::from_utf8_lossy(&all).into_owned())
    }
}

fn get(path: &str, more: &str) -> String {
    format!("GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nAccept: text/html\r\n{more}\r\n")
}

#[test]
fn with_a_certificate_pages_come_only_over_a_secure_connection() {
    let studio = Studio::new();
    let program = studio.start();
    assert!(program.said.contains("https://"), "{}", program.said);
    for version in [&TLS12, &TLS13] {
        let login = studio.ask(&program, true, version, &get("/login", "")).unwrap();
        assert!(login.starts_with("HTTP/1.1 200"), "{login}");
        // Nobody reads along, and the page does not say so.
        assert!(!login.contains("can read what is sent"), "{login}");
    }
    let body = format!("passphrase={}", PASSPHRASE.replace(' ', "+"));
    let request = format!(
        "POST /login HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\nOrigin: https://localhost\r\nSec-Fetch-Site: same-origin\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    let came = studio.ask(&program, true, &TLS13, &request).unwrap();
    assert!(came.starts_with("HTTP/1.1 303"), "{came}");
    let cookie = came.lines().find(|line| line.to_ascii_lowercase().starts_with("set-cookie:")).unwrap();
    assert!(cookie.contains("; Secure") && cookie.contains("HttpOnly"), "{cookie}");
    let token = cookie.split_once(": ").unwrap().1.split(';').next().unwrap();
    let page = studio.ask(&program, true, &TLS13, &get("/plan/quiet", &format!("Cookie: {token}\r\n"))).unwrap();
    assert!(page.starts_with("HTTP/1.1 200") && page.contains("Only for us."), "{page}");
    // Who does not trust the certificate goes away, and who speaks plainly is not answered.
    assert!(studio.ask(&program, false, &TLS13, &get("/login", "")).is_err());
    let mut plain = TcpStream::connect(program.address).unwrap();
    plain.set_read_timeout(Some(Duration::from_secs(10))).unwrap();
    plain.write_all(get("/login", "").as_bytes()).unwrap();
    let mut said = Vec::new();
    let _ = plain.read_to_end(&mut said);
    assert!(!said.starts_with(b"HTTP/"), "{}", String::from_utf8_lossy(&said));
}

/// The first message of a handshake, byte by byte. Source: RFC 5246, 7.4.1.2; RFC 8422, 5.1; numbers of suites from IANA's list.
fn hello(version: [u8; 2], suites: &[[u8; 2]]) -> Vec<u8> {
    // Groups x25519 and secp256r1, points written out, signatures with P-256 and SHA-256.
    let extensions: &[u8] = &[0, 10, 0, 6, 0, 4, 0, 0x1d, 0, 0x17, 0, 11, 0, 2, 1, 0, 0, 13, 0, 4, 0, 2, 4, 3];
    let suites = suites.concat();
    let long = u16::try_from(suites.len()).unwrap().to_be_bytes();
    let mut body = [&version[..], &[7; 32], &[0], &long, &suites, &[1, 0]].concat();
    body.extend(u16::try_from(extensions.len()).unwrap().to_be_bytes());
    body.extend_from_slice(extensions);
    let mut all = vec![0x16, 3, 1];
    all.extend(u16::try_from(body.len() + 4).unwrap().to_be_bytes());
    all.extend([1, 0]);
    all.extend(u16::try_from(body.len()).unwrap().to_be_bytes());
    all.extend(body);
    all
}

#[test]
fn no_old_version_and_no_weak_cipher_is_spoken() {
    // ECDHE with ECDSA and AES-GCM, and the same with CBC and SHA-1, which versions before TLS 1.2 have.
    const GOOD: [u8; 2] = [0xc0, 0x2b];
    const OLD: [u8; 2] = [0xc0, 9];
    let studio = Studio::new();
    let program = studio.start();
    let answered = |version, suites: &[[u8; 2]]| {
        let mut stream = TcpStream::connect(program.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(10))).unwrap();
        stream.write_all(&hello(version, suites)).unwrap();
        let mut first = [0];
        stream.read_exact(&mut first).unwrap();
        first[0]
    };
    let (handshake, alert) = (0x16, 0x15);
    assert_eq!(answered([3, 3], &[GOOD]), handshake, "TLS 1.2 with AES-GCM goes on");
    for version in [[3, 2], [3, 1], [3, 0], [2, 0]] {
        assert_eq!(answered(version, &[OLD, GOOD]), alert, "version {version:?}");
    }
    // No cipher at all, RC4, 3DES, CBC with SHA-1, CBC with SHA-256, no forward secrecy: each fits a key of the kind the
    // certificate has, or it would be refused for that.
    for suite in [[0xc0, 6], [0xc0, 7], [0xc0, 8], OLD, [0xc0, 10], [0xc0, 0x23], [0xc0, 4]] {
        assert_eq!(answered([3, 3], &[suite]), alert, "suite {suite:x?}");
    }
}

#[test]
fn a_handshake_that_never_ends_is_cut_within_six_seconds() {
    let studio = Studio::new();
    let program = studio.start();
    let began = Instant::now();
    let mut silent = TcpStream::connect(program.address).unwrap();
    silent.set_read_timeout(Some(Duration::from_secs(10))).unwrap();
    // The first bytes of a hello, and nothing more.
    silent.write_all(&[0x16, 0x03, 0x01, 0x02, 0x00, 0x01]).unwrap();
    let mut said = Vec::new();
    let _ = silent.read_to_end(&mut said);
    assert!(began.elapsed() < Duration::from_secs(6), "cut after {:?}", began.elapsed());
    assert!(studio.ask(&program, true, &TLS13, &get("/login", "")).unwrap().starts_with("HTTP/1.1 200"));
}

#[test]
fn a_certificate_that_cannot_be_used_is_said_before_anything_is_served() {
    let studio = Studio::new();
    std::fs::write(studio.beside.path().join("empty.pem"), "no certificate\n").unwrap();
    let other = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    std::fs::write(studio.beside.path().join("other.pem"), other.signing_key.serialize_pem()).unwrap();
    for (cert, key, wrong) in [
        ("empty.pem", "key.pem", "empty.pem"),
        ("cert.pem", "empty.pem", "empty.pem"),
        ("cert.pem", "other.pem", "other.pem"),
        ("missing.pem", "key.pem", "missing.pem"),
    ] {
        let arguments =
            ["serve", ".", "--lan", "--port", "0", "--tls-cert", &studio.file(cert), "--tls-key", &studio.file(key)];
        let said = run(&arguments, studio.folder.path()).ends_with(2);
        assert!(said.err.contains(wrong) && said.err.contains("--tls-cert"), "{}", said.err);
    }
}
