//! What the program does from the command line.
//!
//! Answers go to standard output, messages to standard error. Exit codes: 0 done, 1 the plan has problems, 2 the command
//! could not be done, 3 stored record altered, or results differ.

mod check;
mod copies;
mod example;
mod join;
mod passphrase;
mod recover;
mod serve;
mod ticket;
mod values;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{CommandFactory as _, Parser, Subcommand};
use engine::Message;
use engine::syntax::nearest::nearest;

use crate::clock::Clock;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::{Notebook, root_of};
use crate::store::Store;
use crate::titles::capital;

/// Plans for very large photographic prints, each a Markdown document that calculates its numbers.
#[derive(Debug, Parser)]
#[command(
    name = "makeready",
    version,
    args_conflicts_with_subcommands = true,
    after_help = "Without a command the notebook is served.\nExit codes: 0 done; 1 a plan has problems; 2 the command could not be done;\n3 stored record altered, or results differ."
)]
pub struct Cli {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    serve: serve::Serve,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve a notebook to the browser, and say at which address
    Serve(serve::Serve),
    /// Calculate every plan and rate sheet and list what is wrong, as file:line:column: what; next
    Check {
        /// The notebook's folder, or one document
        #[arg(default_value = ".")]
        notebook: PathBuf,
        /// Calculate every revision again on the facts it was saved with, and list each that gives other results
        #[arg(long)]
        history: bool,
    },
    /// List every name and ask of a plan with its value
    Values {
        /// The plan's file
        plan: PathBuf,
        /// For other programs: the form is stable
        #[arg(long)]
        json: bool,
        /// Show lengths and weights in inch or metric units instead of the plan's own
        #[arg(long, value_name = "inch|metric")]
        units: Option<String>,
    },
    /// Calculate one expression, like '7200.px / 24.inch'
    Ask {
        /// The expression
        expression: String,
        /// The number and its unit for other programs
        #[arg(long)]
        json: bool,
        /// Show lengths and weights in metric units
        #[arg(long)]
        metric: bool,
    },
    /// Make the start of the next piece from a plan: givens kept, boxes cleared, dates and ledger fresh
    Copy {
        /// The plan's file
        plan: PathBuf,
        /// The title of the new piece, or a new file ending in .md
        new: String,
    },
    /// Make the job ticket of one shop
    Ticket {
        /// The plan's file
        plan: PathBuf,
        /// The shop, as the plan's head calls it: lab, framer
        #[arg(long = "for", value_name = "SHOP")]
        shop: String,
        /// Where to write it, as .pdf or .html; without it the HTML goes to standard output
        #[arg(long)]
        out: Option<PathBuf>,
        /// letter or a4
        #[arg(long, default_value = "letter")]
        paper: String,
    },
    /// Set the whole plan on paper, as PDF
    Paper {
        /// The plan's file
        plan: PathBuf,
        /// Where to write it
        #[arg(long)]
        out: PathBuf,
        /// letter or a4
        #[arg(long, default_value = "letter")]
        paper: String,
    },
    /// Set an issued certificate on paper, as PDF
    Certificate {
        /// Its code
        code: String,
        /// Where to write it
        #[arg(long)]
        out: PathBuf,
        /// letter or a4
        #[arg(long, default_value = "letter")]
        paper: String,
        /// The notebook's folder
        #[arg(long, default_value = ".")]
        notebook: PathBuf,
    },
    /// List what happened to each print of a plan's edition
    Ledger {
        /// The plan's file
        plan: PathBuf,
        /// For other programs
        #[arg(long)]
        json: bool,
    },
    /// Set the passphrase that lets people in over the network; it is read from standard input
    Passphrase {
        /// The notebook's folder
        #[arg(default_value = ".")]
        notebook: PathBuf,
    },
    /// Make the example notebook in a new folder, with a year of its life behind it: a failed scan, sales, a price rise
    Example {
        /// The folder to make
        folder: PathBuf,
    },
    /// Copy a whole notebook, while it is in use, to a folder that is not there yet, and read it back
    Backup {
        /// The folder to make
        dest: PathBuf,
        /// The notebook's folder
        #[arg(long, default_value = ".")]
        notebook: PathBuf,
    },
    /// Bring a backup back into a folder that is not there yet
    Restore {
        /// The backup's folder
        source: PathBuf,
        /// The folder to make
        #[arg(long)]
        to: PathBuf,
    },
    /// Bring back the record of a notebook, when it is gone, damaged or an older one: the best copy there is
    Recover(recover::Recover),
    /// Say which plan goes on with the ledger and the revisions of one that has no file any more
    Join(join::Join),
    /// Write a plan with its pictures and rate sheets into one archive
    Export {
        /// The plan's file
        plan: PathBuf,
        /// The archive to write, ending in .zip
        #[arg(long)]
        out: Option<PathBuf>,
        /// Take the ledger along: `events`, or `whole` for names and amounts too
        #[arg(long, value_name = "events|whole")]
        ledger: Option<String>,
    },
    /// Take an archive of a plan into a notebook; nothing that is there is written over
    Import {
        /// The archive
        archive: PathBuf,
        /// The notebook's folder
        #[arg(long, default_value = ".")]
        to: PathBuf,
    },
    /// List every statement, function and unit a plan can use
    Reference {
        /// Only what is found under this word, such as `glazing` or 'how heavy'
        word: Option<String>,
    },
}

/// Reads the command line.
///
/// # Errors
/// When nothing is to be done: the help or the version was asked for, or the line cannot be read and that was said.
pub fn read() -> Result<Cli, ExitCode> {
    Cli::try_parse().map_err(|error| {
        if !error.use_stderr() {
            let _ = error.print();
            return ExitCode::SUCCESS;
        }
        let typed: Vec<String> = std::env::args().skip(1).collect();
        eprintln!("makeready: {}", unread(&error, &typed));
        ExitCode::from(2)
    })
}

/// Why a command line cannot be read, in our own words.
fn unread(error: &clap::Error, typed: &[String]) -> Message {
    let said = |kind| match error.get(kind) {
        Some(ContextValue::String(one)) => Some(one.clone()),
        Some(ContextValue::Strings(all)) => Some(all.join(", ")),
        _ => None,
    };
    let all = Cli::command();
    let first = typed.first().map(String::as_str).unwrap_or_default();
    let command = all.get_subcommands().map(clap::Command::get_name).find(|one| *one == first);
    let help = command.map_or("makeready --help".to_owned(), |one| format!("makeready {one} --help"));
    let see = || format!("`{help}` tells what there is");
    if let Some(near) = command.is_none().then(|| command_meant(first)).flatten() {
        let rest = typed.get(1..).unwrap_or_default().join(" ");
        let whole = format!("makeready {near} {rest}");
        return Message::new(
            format!("there is no command `{first}`"),
            format!("was `{near}` meant? Write `{}`", whole.trim_end()),
        );
    }
    let no_command = || Message::new(format!("there is no command `{first}`"), see());
    let argument = said(ContextKind::InvalidArg).unwrap_or_default();
    let meant = |kind| said(kind).map_or_else(see, |near| format!("was `{near}` meant?"));
    match error.kind() {
        ErrorKind::UnknownArgument | ErrorKind::InvalidSubcommand if command.is_some() || argument.starts_with('-') => {
            let what = format!(
                "`{}` does not take `{argument}`",
                format!("makeready {}", command.unwrap_or_default()).trim_end()
            );
            Message::new(what, meant(ContextKind::SuggestedArg))
        }
        ErrorKind::ArgumentConflict if argument.is_empty() => no_command(),
        ErrorKind::UnknownArgument | ErrorKind::InvalidSubcommand => no_command(),
        ErrorKind::MissingRequiredArgument => Message::new(format!("{argument} is missing"), see()),
        ErrorKind::InvalidValue | ErrorKind::ValueValidation => {
            let value = said(ContextKind::InvalidValue).filter(|value| !value.is_empty());
            let what = value.map_or_else(
                || format!("`{argument}` stands without its value"),
                |value| format!("`{value}` is nothing that `{argument}` can be"),
            );
            Message::new(what, meant(ContextKind::SuggestedValue))
        }
        ErrorKind::ArgumentConflict => Message::new(format!("`{argument}` cannot stand beside the others"), see()),
        _ => Message::new("this command cannot be read", see()),
    }
}

/// The command that was probably meant.
pub(super) fn command_meant(typed: &str) -> Option<String> {
    let all = Cli::command();
    nearest(typed, all.get_subcommands().map(clap::Command::get_name)).map(str::to_owned)
}

/// Does what the command line asks.
pub fn run(cli: Cli) -> ExitCode {
    let command = cli.command.unwrap_or(Command::Serve(cli.serve));
    let done = match command {
        Command::Serve(serve) => serve.run(),
        Command::Check { notebook, history } => check::run(&notebook, history),
        Command::Values { plan, json, units } => values::plan(&plan, json, units.as_deref()),
        Command::Ask { expression, json, metric } => values::ask(&expression, json, metric),
        Command::Copy { plan, new } => copy(&plan, &new),
        Command::Ticket { plan, shop, out, paper } => ticket::run(&plan, &shop, out.as_deref(), &paper),
        Command::Paper { plan, out, paper } => ticket::whole(&plan, &out, &paper),
        Command::Certificate { code, out, paper, notebook } => ticket::certificate(&code, &notebook, &out, &paper),
        Command::Ledger { plan, json } => values::ledger(&plan, json),
        Command::Passphrase { notebook } => passphrase::run(&notebook),
        Command::Example { folder } => example::run(&folder),
        Command::Backup { dest, notebook } => copies::backup(&notebook, &dest),
        Command::Restore { source, to } => copies::restore(&source, &to),
        Command::Recover(recover) => recover.run(),
        Command::Join(join) => join.run(),
        Command::Export { plan, out, ledger } => copies::export(&plan, out.as_deref(), ledger.as_deref()),
        Command::Import { archive, to } => copies::import(&archive, &to),
        Command::Reference { word } => reference(word.as_deref()),
    };
    done.unwrap_or_else(|error| {
        eprintln!("makeready: {}", crate::export::plain(&error.message().to_string()));
        ExitCode::from(2)
    })
}

/// Writes to standard output; a reader that has gone away is not trouble.
fn print(text: &str) {
    use std::io::Write as _;
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

/// Refuses what is not a folder.
fn is_folder(notebook: &Path) -> Result<(), Error> {
    if notebook.is_dir() {
        return Ok(());
    }
    Err(Error::missing(format!("there is no folder `{}`", notebook.display()), "give the folder of a notebook"))
}

/// The notebook in a folder. Its record is opened only when there is one.
fn notebook_in(root: &Path) -> Result<Notebook, Error> {
    Ok(Notebook::open(root.to_path_buf(), Store::of(root)?, Clock::Computer)?)
}

/// The notebook a file belongs to, and the file's name in it.
fn notebook_of(file: &Path) -> Result<(Notebook, Name), Error> {
    let file =
        if file.extension().is_some_and(|end| end == "md") { file.to_path_buf() } else { file.with_extension("md") };
    let missing = || {
        Error::missing(
            format!("there is no `{}`", file.display()),
            "give the path of a plan's file, like notebooks/first-plan.md",
        )
    };
    let real = file.canonicalize().map_err(|_| missing())?;
    let root = root_of(&real);
    let name = Name::of_file(&root, &real).ok_or_else(missing)?;
    Ok((notebook_in(&root)?, name))
}

fn reference(word: Option<&str>) -> Result<ExitCode, Error> {
    let text = match word {
        None => crate::export::reference_text(),
        Some(word) => crate::export::found_under(word).ok_or_else(|| {
            Error::missing(
                format!("nothing is found under `{word}`"),
                "try another word for it, or look through all of `makeready reference`",
            )
        })?,
    };
    print(&text);
    Ok(ExitCode::SUCCESS)
}

fn copy(plan: &Path, new: &str) -> Result<ExitCode, Error> {
    let (notebook, name) = notebook_of(plan)?;
    let stem = Path::new(new).file_stem().and_then(|stem| stem.to_str()).unwrap_or(new);
    let title = if new.ends_with(".md") { capital(&stem.replace(['-', '_'], " ")) } else { new.to_owned() };
    if new.ends_with(".md") && Path::new(new).exists() {
        return Err(Error::taken(format!("`{new}` is already there"), "choose another name; nothing was changed"));
    }
    let made = notebook.copy(&name, &title, &[])?;
    print(&format!("{}\n", made.file(notebook.root()).display()));
    Ok(ExitCode::SUCCESS)
}
