//! The program `makeready`.

use std::process::ExitCode;

use clap::Parser as _;
use server::commands::Cli;

fn main() -> ExitCode {
    server::memory::set_little_aside();
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(false)
        .with_env_filter(tracing_subscriber::EnvFilter::try_from_env("MAKEREADY_LOG").unwrap_or_else(|_| "warn".into()))
        .init();
    server::commands::run(Cli::parse())
}
