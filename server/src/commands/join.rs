//! `makeready join`: which plan goes on with the ledger of one that has no file any more.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::{notebook_in, notebook_of, print};
use crate::error::Error;

/// What is joined, or not.
#[derive(Clone, Debug, Args)]
pub(super) struct Join {
    /// The plan's file
    #[arg(required_unless_present = "put_away")]
    plan: Option<PathBuf>,
    /// The plan without a file that it is, as `makeready check` calls it
    #[arg(required_unless_present_any = ["apart", "put_away"], conflicts_with_all = ["apart", "put_away"])]
    record: Option<String>,
    /// The plan is another piece, however much it looks like one without a file: it begins a ledger of its own
    #[arg(long, conflicts_with = "put_away")]
    apart: bool,
    /// This plan was deleted on purpose: what the record has of it stays there, and is no longer told
    #[arg(long, value_name = "RECORD")]
    put_away: Option<String>,
    /// The notebook's folder, for `--put-away`
    #[arg(long, default_value = ".")]
    notebook: PathBuf,
}

impl Join {
    pub(super) fn run(self) -> Result<ExitCode, Error> {
        match (self.plan, self.record, self.put_away) {
            (_, _, Some(record)) => {
                notebook_in(&self.notebook)?.history.put_away(&record)?;
                print(&format!("{record}: stays in the record, and is no longer told\n"));
            }
            (Some(plan), Some(record), _) => {
                let (notebook, name) = notebook_of(&plan)?;
                notebook.join(&record, &name)?;
                print(&format!("{}: goes on with {record}\n", plan.display()));
            }
            (Some(plan), None, _) => {
                let (notebook, name) = notebook_of(&plan)?;
                notebook.keep_apart(&name)?;
                print(&format!("{}: is a plan of its own\n", plan.display()));
            }
            (None, ..) => {
                return Err(Error::unusable("no plan was given", "give the plan's file, and what it goes on with"));
            }
        }
        Ok(ExitCode::SUCCESS)
    }
}
