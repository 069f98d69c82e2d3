//! `makeready check`: everything calculated, problems listed.

use std::path::Path;
use std::process::ExitCode;

use engine::Message;
use engine::document::Kind;

use super::{is_folder, notebook_of, print};
use crate::clock::Clock;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::store::{FILE, Store};

/// How it ends when something saved is no longer as it was: a revision gives other numbers, or a ledger line was changed.
const OTHERWISE: u8 = 3;

pub(super) fn run(at: &Path, history: bool) -> Result<ExitCode, Error> {
    if at.is_file() && !history {
        let (notebook, name) = notebook_of(at)?;
        return Ok(report(&notebook, &[name]));
    }
    is_folder(at)?;
    let store = match Store::of(at) {
        Ok(store) => store,
        Err(Error::Halted(message)) => return Ok(otherwise(at, &message)),
        Err(error) => return Err(error),
    };
    let notebook = Notebook::open(at.to_path_buf(), store, Clock::Computer)?;
    if let Some(message) = notebook.halted() {
        return Ok(otherwise(at, &message));
    }
    if history {
        notebook.history.catch_up()?;
        return again(&notebook);
    }
    let (chain, orphans) = (chain(&notebook)?, orphans(&notebook)?);
    let names: Vec<_> = [Kind::Plan, Kind::RateSheet]
        .into_iter()
        .flat_map(|kind| notebook.documents.all(kind))
        .map(|(name, _)| name)
        .collect();
    let found = report(&notebook, &names);
    Ok(if chain && orphans { found } else { ExitCode::from(OTHERWISE) })
}

/// Tells that the record is not as it was left.
fn otherwise(at: &Path, message: &Message) -> ExitCode {
    print(&crate::export::plain(&format!("{}: {message}\n", at.join(FILE).display())));
    ExitCode::from(OTHERWISE)
}

/// Names every plan of the record that has no file; gives whether there is none.
fn orphans(notebook: &Notebook) -> Result<bool, Error> {
    let all = notebook.history.orphans()?;
    let mut out = String::new();
    for orphan in all.iter() {
        let file = orphan.likely.as_ref().map_or("PLAN.md".to_owned(), |name| format!("{}.md", name.as_str()));
        out.push_str(&format!(
            "{}: `{}` has {} and no file: it was renamed, moved or deleted; put it back, or `makeready join {file} {}`, or `makeready join --put-away {}`\n",
            notebook.root().join(FILE).display(),
            orphan.title,
            orphan.left(),
            orphan.plan,
            orphan.plan
        ));
    }
    print(&crate::export::plain(&out));
    Ok(all.is_empty())
}

/// Follows the chain of marks through the ledger.
fn chain(notebook: &Notebook) -> Result<bool, Error> {
    match notebook.store().follow_chain()? {
        Ok(_) => Ok(true),
        Err(line) => {
            print(&format!(
                "{}: ledger line {line} is not as it was written; it was changed by another program: compare it with a backup\n",
                notebook.root().join(FILE).display()
            ));
            Ok(false)
        }
    }
}

/// Calculates every revision again on the facts it was saved with, and names each calculation that gives another answer.
fn again(notebook: &Notebook) -> Result<ExitCode, Error> {
    let sound = chain(notebook)?;
    let check = notebook.history.check()?;
    let mut out = String::new();
    for differs in &check.differ {
        for moved in &differs.moved {
            let (from, to) = (moved.from.as_deref().unwrap_or("nothing"), moved.to.as_deref().unwrap_or("nothing"));
            let digit = if from == to { ", in a digit that is not shown" } else { "" };
            out.push_str(&format!(
                "{}, revision {}: {} was {from} (version {}) and is {to}{digit}\n",
                differs.name.shown(),
                differs.number,
                moved.name,
                differs.program
            ));
        }
        for cause in &differs.causes {
            out.push_str(&format!(
                "{}, revision {}: the cause is a correction of version {}: {}; what it recorded stays\n",
                differs.name.as_str(),
                differs.number,
                cause.since,
                cause.what
            ));
        }
    }
    for (plan, number, why) in &check.lost {
        out.push_str(&format!("{plan}, revision {number}: cannot be calculated any more: {why}\n"));
    }
    for (plan, number, why) in &check.not {
        out.push_str(&format!("{plan}, revision {number}: nothing to compare: {why}\n"));
    }
    print(&crate::export::plain(&out));
    eprintln!(
        "{} revisions: {} the same to the last digit, {} different, {} that cannot be calculated any more, {} with nothing to compare",
        check.revisions,
        check.same,
        check.differ.len(),
        check.lost.len(),
        check.not.len()
    );
    Ok(if sound && check.holds() { ExitCode::SUCCESS } else { ExitCode::from(OTHERWISE) })
}

fn report(notebook: &Notebook, names: &[Name]) -> ExitCode {
    let (mut out, mut wrong, mut broken, mut missed) = (String::new(), 0, 0, 0);
    for name in names {
        let file = name.file(notebook.root());
        let file = file.display();
        match notebook.current(name, None).map(|current| current.worked) {
            Ok(worked) => {
                for problem in worked.evaluation.remarks() {
                    wrong += 1;
                    out.push_str(&format!("{file}:{problem}\n"));
                }
                for rule in worked.evaluation.record.rules.iter().filter(|rule| !rule.kept) {
                    let (count, what) = if rule.must {
                        (&mut broken, "a rule is broken")
                    } else {
                        (&mut missed, "a recommendation is missed")
                    };
                    *count += 1;
                    let actual = rule.because.as_ref().and_then(|trace| worked.evaluation.shown(trace));
                    let actual = actual.map(|actual| format!(": {actual}")).unwrap_or_default();
                    out.push_str(&format!(
                        "{file}:{}:1: {what}: {}{actual}; change a given, or the rule\n",
                        rule.line, rule.text
                    ));
                }
            }
            Err(error) => {
                wrong += 1;
                out.push_str(&format!("{file}:1:1: {}\n", error.message()));
            }
        }
    }
    print(&crate::export::plain(&out));
    let counted =
        |count: usize, one: &str, more: &str| if count == 1 { format!("1 {one}") } else { format!("{count} {more}") };
    eprintln!(
        "{}: {}, {}, {}",
        counted(names.len(), "document", "documents"),
        counted(wrong, "problem", "problems"),
        counted(broken, "broken rule", "broken rules"),
        counted(missed, "recommendation missed", "recommendations missed")
    );
    if wrong + broken == 0 { ExitCode::SUCCESS } else { ExitCode::from(1) }
}
