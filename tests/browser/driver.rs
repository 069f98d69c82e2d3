//! The browser's driver, started on a port of its own and ended with the test, whatever happens in it.

use std::io::{BufRead as _, BufReader};
use std::os::unix::process::CommandExt as _;
use std::process::{Child, Command, Stdio};

/// One driver, with every browser it starts.
pub struct Driver {
    child: Child,
    pub address: String,
}

impl Driver {
    pub fn start() -> Self {
        for program in ["chromium", "chromedriver", "pdftotext", "pdfinfo"] {
            let there =
                Command::new("sh").args(["-c", &format!("command -v {program}")]).stdout(Stdio::null()).status();
            assert!(
                there.is_ok_and(|status| status.success()),
                "`{program}` is needed: `tests/run` installs it, or `apt-get install chromium chromium-driver poppler-utils`"
            );
        }
        // A group of its own, so that no browser outlives the test.
        let mut child = Command::new("chromedriver")
            .arg("--port=0")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .process_group(0)
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let port = loop {
            let line = lines.next().expect("chromedriver ended before it was ready").unwrap();
            if let Some((_, port)) = line.split_once("started successfully on port ") {
                break port.trim_end_matches('.').to_owned();
            }
        };
        std::thread::spawn(move || lines.for_each(drop));
        Self { child, address: format!("http://127.0.0.1:{port}") }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let group = format!("-{}", self.child.id());
        let _ = Command::new("kill").args(["-KILL", "--", &group]).status();
        let _ = self.child.wait();
    }
}
