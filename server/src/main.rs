//! The program `makeready`.

use std::process::ExitCode;

use server::commands::{read, run};
use server::evaluator::STACK;

fn main() -> ExitCode {
    server::memory::give_back_soon();
    server::log::begin();
    let cli = match read() {
        Ok(cli) => cli,
        Err(code) => return code,
    };
    // Some systems give the first thread too little stack to calculate on.
    let first = std::thread::Builder::new().name("command".into()).stack_size(STACK).spawn(move || run(cli));
    first.ok().and_then(|first| first.join().ok()).unwrap_or(ExitCode::FAILURE)
}
