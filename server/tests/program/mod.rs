//! The program as a person starts it: commands that answer and end, and a server that is ended with the test.
#![allow(dead_code, unused_imports, reason = "each test file uses its own part")]

mod chance;
mod folder;
mod line;
mod table;

use std::io::{self, BufRead as _, BufReader, Write as _};
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

pub(crate) use chance::{Dice, long_form};
pub(crate) use folder::{copied, copy, notebook, shipped};
pub(crate) use line::{Answer, Line};
pub(crate) use table::{filled, table};

/// The program as it was just built.
pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_makeready");

/// The program that was just built, or the one that `MAKEREADY_PROGRAM` names: a release is tried so.
pub(crate) fn program() -> std::ffi::OsString {
    std::env::var_os("MAKEREADY_PROGRAM").unwrap_or_else(|| PROGRAM.into())
}

/// A program with its settings taken from nothing but the arguments.
pub(crate) fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    for name in ["NOTEBOOK", "PORT", "ADDRESS", "HOSTS", "LAN", "OUTSIDE", "TRUSTED_PROXY", "TLS_CERT", "TLS_KEY"] {
        command.env_remove(format!("MAKEREADY_{name}"));
    }
    command
}

/// What a command said.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

/// What the program says to these arguments.
pub(crate) fn run(arguments: &[&str], at: &Path) -> Said {
    said(command(PROGRAM).env_remove("MAKEREADY_LOG").args(arguments).current_dir(at))
}

/// Sets the passphrase of a notebook.
pub(crate) fn set_passphrase(root: &Path, passphrase: &str) -> Said {
    let mut command = command(PROGRAM);
    command.arg("passphrase").arg(root).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program starts");
    let words = format!("{passphrase}\n");
    child.stdin.take().expect("its ear").write_all(words.as_bytes()).expect("it listens");
    let output = child.wait_with_output().expect("it ends");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Said { code: output.status.code().unwrap_or(-1), out: text(output.stdout), err: text(output.stderr) }
}

/// What a command says until it ends.
pub(crate) fn said(command: &mut Command) -> Said {
    let output = command.stdin(Stdio::null()).output().expect("the program starts");
    Said {
        code: output.status.code().unwrap_or(-1),
        out: String::from_utf8(output.stdout).expect("text"),
        err: String::from_utf8(output.stderr).expect("text"),
    }
}

impl Said {
    #[track_caller]
    pub(crate) fn ends_with(self, code: i32) -> Self {
        assert_eq!(self.code, code, "{self:?}");
        self
    }

    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }
}

/// A running server; it is killed when dropped.
pub(crate) struct Program {
    pub(crate) child: Child,
    pub(crate) address: SocketAddr,
    /// What it said at its start.
    pub(crate) said: String,
}

impl Program {
    /// Starts the server on a notebook and waits until it says where.
    pub(crate) fn start(root: &Path, more: &[&str]) -> Self {
        let mut command = command(program());
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
        let address = if address.ip().is_unspecified() { ([127, 0, 0, 1], port).into() } else { address };
        Self { child, address, said }
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

    /// The text of a plan, with its mark.
    pub(crate) fn plan(&self, name: &str) -> Answer {
        self.get(&format!("/plan/{name}/text"))
    }

    /// Saves the text of a plan made from the one of that mark.
    pub(crate) fn save(&self, name: &str, from: &str, text: &str) -> Answer {
        let mark = format!("\"{from}\"");
        let path = format!("/plan/{name}/text");
        self.send("PUT", &path, &[("If-Match", &mark)], text.as_bytes()).expect("an answer")
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
