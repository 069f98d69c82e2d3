//! `makeready passphrase`: sets what lets people in over the network.

use std::io::{BufRead as _, IsTerminal as _};
use std::path::Path;
use std::process::ExitCode;

use super::{is_folder, print};
use crate::clock::Clock;
use crate::error::Error;
use crate::passphrase::{Kept, SHORTEST};
use crate::store::Store;

/// Reads the new passphrase from standard input and keeps what is calculated from it.
pub(super) fn run(notebook: &Path) -> Result<ExitCode, Error> {
    is_folder(notebook)?;
    let line = read()?;
    let kept = Kept::of(line.trim_end_matches(['\r', '\n']))?;
    Store::open(notebook)?.set_passphrase(&kept, &Clock::Computer.moment())?;
    print(
        "The passphrase is set. Whoever was in must give it again; a server that runs without one asks for it from its next start.\n",
    );
    Ok(ExitCode::SUCCESS)
}

fn read() -> Result<String, Error> {
    let input = std::io::stdin();
    let mut line = String::new();
    if !input.is_terminal() {
        input.lock().read_line(&mut line)?;
        return Ok(line);
    }
    eprint!("The new passphrase, at least {SHORTEST} letters (it is not shown): ");
    let hidden = Hidden::begin();
    let read = input.lock().read_line(&mut line);
    drop(hidden);
    eprintln!();
    read?;
    Ok(line)
}

/// Keeps the terminal from showing what is typed.
struct Hidden {
    #[cfg(unix)]
    before: Option<rustix::termios::Termios>,
}

impl Hidden {
    #[cfg(unix)]
    fn begin() -> Self {
        use rustix::termios::{LocalModes, OptionalActions, tcgetattr, tcsetattr};
        let before = tcgetattr(std::io::stdin()).ok();
        if let Some(mut now) = before.clone() {
            now.local_modes.remove(LocalModes::ECHO);
            let _ = tcsetattr(std::io::stdin(), OptionalActions::Now, &now);
        }
        Self { before }
    }

    #[cfg(not(unix))]
    fn begin() -> Self {
        Self {}
    }
}

impl Drop for Hidden {
    fn drop(&mut self) {
        #[cfg(unix)]
        if let Some(before) = &self.before {
            use rustix::termios::{OptionalActions, tcsetattr};
            let _ = tcsetattr(std::io::stdin(), OptionalActions::Now, before);
        }
    }
}
