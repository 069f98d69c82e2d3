//! The program started, asked, and ended again with the test.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

/// The program as it was just built.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_makeready");

/// The shipped notebook.
pub fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks").canonicalize().unwrap()
}

/// A copy of the shipped notebook in a folder of its own.
pub fn notebook() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy(&shipped(), folder.path());
    folder
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().flatten() {
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else if entry.path().extension().is_some_and(|end| end == "md") {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// What a command said.
#[derive(Debug)]
pub struct Said {
    pub code: i32,
    pub out: String,
    pub err: String,
}

/// The program with its settings taken from nothing but the arguments.
pub fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    for name in ["MAKEREADY_NOTEBOOK", "MAKEREADY_PORT", "MAKEREADY_ADDRESS", "MAKEREADY_HOSTS", "MAKEREADY_LOG"] {
        command.env_remove(name);
    }
    command
}

pub fn run(arguments: &[&str], at: &Path) -> Said {
    said(command(PROGRAM).args(arguments).current_dir(at))
}

pub fn said(command: &mut Command) -> Said {
    let output = command.stdin(Stdio::null()).output().unwrap();
    Said {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

impl Said {
    #[track_caller]
    pub fn ends_with(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{self:?}");
        self
    }

    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }
}

/// A notebook being served.
pub struct Served {
    pub child: Child,
    pub address: String,
    pub first_words: String,
}

/// Starts the program on a free port and waits until it says where it serves.
pub fn serve(folder: &Path) -> Served {
    served(command(PROGRAM).arg("serve").arg(folder).args(["--port", "0"]))
}

pub fn served(command: &mut Command) -> Served {
    let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).spawn().unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let first = lines.next().unwrap().unwrap();
    let second = lines.next().unwrap().unwrap();
    let address = second
        .strip_prefix("Open http://")
        .and_then(|rest| rest.strip_suffix("/ in a browser. Stop with Ctrl-C."))
        .unwrap_or_else(|| panic!("it prints its address: {second}"));
    Served { child, address: address.to_owned(), first_words: format!("{first}\n{second}") }
}

impl Served {
    /// One request on a connection of its own: status, mark and body. Nothing when the program is gone.
    pub fn ask(&self, method: &str, path: &str, from: &str, body: &str) -> Option<(u16, String, String)> {
        ask(&self.address, method, path, from, body)
    }

    /// Ends the program at once, as a power cut would.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub fn ask(address: &str, method: &str, path: &str, from: &str, body: &str) -> Option<(u16, String, String)> {
    let mut stream = TcpStream::connect(address).ok()?;
    stream.set_read_timeout(Some(Duration::from_secs(30))).ok()?;
    let mut request = format!(
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\nConnection: close\r\nContent-Length: {}\r\n",
        body.len()
    );
    if !from.is_empty() {
        request.push_str(&format!("If-Match: \"{from}\"\r\n"));
    }
    stream.write_all(format!("{request}\r\n{body}").as_bytes()).ok()?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).ok()?;
    let answer = String::from_utf8(answer).ok()?;
    let (head, body) = answer.split_once("\r\n\r\n")?;
    let status = head.split(' ').nth(1)?.parse().ok()?;
    let length = field(head, "content-length").and_then(|length| length.parse::<usize>().ok());
    if length.is_some_and(|length| body.len() < length) {
        return None;
    }
    let mark = field(head, "etag").map(|mark| mark.trim_matches('"').to_owned()).unwrap_or_default();
    Some((status, mark, body.to_owned()))
}

fn field<'a>(head: &'a str, name: &str) -> Option<&'a str> {
    head.lines().find_map(|line| {
        line.split_once(':').filter(|(one, _)| one.eq_ignore_ascii_case(name)).map(|(_, value)| value.trim())
    })
}
