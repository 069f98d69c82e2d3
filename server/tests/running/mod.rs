//! The program as a person starts it, and a client that sends just the bytes it is told to.
#![allow(dead_code, reason = "each test file uses its own part")]

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A running server; it is killed when dropped.
pub(crate) struct Program {
    pub(crate) child: Child,
    pub(crate) address: SocketAddr,
}

impl Program {
    /// Starts the server on a notebook and waits until it says where.
    pub(crate) fn start(root: &Path, more: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_makeready"));
        command.arg("serve").arg(root).args(["--port", "0"]).args(more);
        Self::of(command)
    }

    /// Waits until a command that starts the server says where it is.
    pub(crate) fn of(mut command: Command) -> Self {
        // What goes wrong on purpose is not shown, unless asked for.
        if std::env::var_os("MAKEREADY_LOG").is_none() && command.get_envs().all(|(name, _)| name != "MAKEREADY_LOG") {
            command.env("MAKEREADY_LOG", "off");
        }
        let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).spawn().expect("the program starts");
        let mut said = String::new();
        let mut lines = BufReader::new(child.stdout.take().expect("its words"));
        while !said.contains("Open ") {
            let read = lines.read_line(&mut said).expect("its words");
            assert!(read > 0, "the program ended early: {said}");
        }
        let (_, rest) = said.split_once("://").expect("an address");
        let address: SocketAddr = rest.split('/').next().expect("an address").parse().expect("an address");
        let port = address.port();
        Self { child, address: if address.ip().is_unspecified() { ([127, 0, 0, 1], port).into() } else { address } }
    }

    /// Ends it as `kill -9` does.
    pub(crate) fn kill(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }

    /// Asks it politely to end; gives the time that took and whether it ended well.
    pub(crate) fn end(&mut self) -> (Duration, bool) {
        let began = Instant::now();
        let pid = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(pid, rustix::process::Signal::TERM).expect("it can be ended");
        let ended = self.child.wait().expect("it ends");
        (began.elapsed(), ended.success())
    }

    /// One request on a connection of its own.
    pub(crate) fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> io::Result<Answer> {
        Line::to(self.address)?.ask(method, path, headers, body)
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], b"").expect("an answer")
    }

    /// A write as the notebook's own page sends it.
    pub(crate) fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> io::Result<Answer> {
        let mut all = vec![("Sec-Fetch-Site", "same-origin"), ("Content-Type", "text/markdown")];
        all.extend_from_slice(headers);
        self.ask(method, path, &all, body)
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        self.kill();
    }
}

/// One connection.
pub(crate) struct Line {
    pub(crate) stream: BufReader<TcpStream>,
    host: String,
}

impl Line {
    pub(crate) fn to(address: SocketAddr) -> io::Result<Self> {
        let stream = TcpStream::connect_timeout(&address, Duration::from_secs(10))?;
        stream.set_read_timeout(Some(Duration::from_secs(30)))?;
        stream.set_nodelay(true)?;
        Ok(Self { stream: BufReader::new(stream), host: address.to_string() })
    }

    pub(crate) fn ask(
        &mut self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> io::Result<Answer> {
        let mut head = format!("{method} {path} HTTP/1.1\r\n");
        if !headers.iter().any(|(name, _)| name.eq_ignore_ascii_case("host")) {
            head.push_str(&format!("Host: {}\r\n", self.host));
        }
        for (name, value) in headers {
            head.push_str(&format!("{name}: {value}\r\n"));
        }
        if !body.is_empty() || method != "GET" {
            head.push_str(&format!("Content-Length: {}\r\n", body.len()));
        }
        head.push_str("\r\n");
        let mut bytes = head.into_bytes();
        bytes.extend_from_slice(body);
        self.stream.get_mut().write_all(&bytes)?;
        self.answer()
    }

    /// Reads one answer.
    pub(crate) fn answer(&mut self) -> io::Result<Answer> {
        let broken = || io::Error::from(io::ErrorKind::UnexpectedEof);
        let mut line = String::new();
        self.stream.read_line(&mut line)?;
        let status = line.split(' ').nth(1).and_then(|status| status.parse().ok()).ok_or_else(broken)?;
        let mut headers = Vec::new();
        loop {
            let mut line = String::new();
            if self.stream.read_line(&mut line)? == 0 {
                return Err(broken());
            }
            let line = line.trim_end();
            if line.is_empty() {
                break;
            }
            let (name, value) = line.split_once(':').ok_or_else(broken)?;
            headers.push((name.to_ascii_lowercase(), value.trim().to_owned()));
        }
        let mut answer = Answer { status, headers, body: Vec::new() };
        if answer.header("transfer-encoding").is_some() {
            if answer.header("content-type").is_some_and(|kind| kind.starts_with("text/event-stream")) {
                return Ok(answer);
            }
            loop {
                let mut size = String::new();
                self.stream.read_line(&mut size)?;
                let size = usize::from_str_radix(size.trim(), 16).map_err(|_| broken())?;
                let mut part = vec![0; size + 2];
                self.stream.read_exact(&mut part)?;
                answer.body.extend_from_slice(&part[..size]);
                if size == 0 {
                    break;
                }
            }
        } else {
            let length = answer.header("content-length").and_then(|length| length.parse().ok()).unwrap_or(0);
            answer.body = vec![0; length];
            self.stream.read_exact(&mut answer.body)?;
        }
        Ok(answer)
    }
}

/// What the server answered.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) headers: Vec<(String, String)>,
    pub(crate) body: Vec<u8>,
}

impl Answer {
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(one, _)| one == name).map(|(_, value)| value.as_str())
    }

    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|_| panic!("no data: {} {}", self.status, self.text()))
    }

    pub(crate) fn etag(&self) -> String {
        self.header("etag").expect("a mark").trim_matches('"').to_owned()
    }
}

/// A notebook with these documents in it.
pub(crate) fn notebook(documents: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in documents {
        let path: PathBuf = folder.path().join(format!("{name}.md"));
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        std::fs::write(path, text).expect("a document");
    }
    folder
}

/// A number from the environment for the long form of a test, else the short form's.
pub(crate) fn long_form(name: &str, short: usize) -> usize {
    std::env::var(name).ok().and_then(|number| number.parse().ok()).unwrap_or(short)
}

/// Numbers that look random and are the same every time.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn roll(&mut self, below: u64) -> u64 {
        // Source: Vigna, xorshift64* (from memory).
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) % below.max(1)
    }
}
