//! A client that sends just the bytes it is told to, and what it is answered.

use std::io::{self, BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

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
