//! The program `makeready`.

use std::process::ExitCode;

use clap::Parser as _;
use server::commands::Cli;

fn main() -> ExitCode {
    server::memory::set_little_aside();
    server::log::begin();
    server::commands::run(Cli::parse())
}
