//! `makeready values`, `ask` and `ledger`: numbers for the terminal and for other programs.

use std::fmt::Write as _;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use engine::measure::Units;

use super::{notebook_of, print};
use crate::error::Error;
use crate::evaluator::limit;
use crate::export;
use crate::notebook::Current;

pub(super) fn plan(file: &Path, json: bool, units: Option<&str>) -> Result<ExitCode, Error> {
    let units = match units {
        None => None,
        Some("inch") => Some(Units::Inch),
        Some("metric") => Some(Units::Metric),
        Some(other) => {
            return Err(Error::unusable(format!("`{other}` are not units a plan is shown in"), "write inch or metric"));
        }
    };
    let (notebook, name) = notebook_of(file)?;
    let Current { worked, revision, .. } = notebook.current(&name, units)?;
    let (document, evaluation) = (&worked.document, &worked.evaluation);
    if json {
        print(&format!("{:#}\n", export::values(document, evaluation, name.as_str(), revision)));
    } else {
        let mut out = String::new();
        for named in evaluation.blocks.iter().flat_map(|block| &block.gives) {
            let working = evaluation
                .working(&named.name, &named.found, None)
                .map(|working| format!("   = {working}"))
                .unwrap_or_default();
            let _ = writeln!(out, "{} = {}{working}", named.name, named.found.value.shown(evaluation.units));
        }
        for (ask, answer) in document.asks.iter().zip(&evaluation.answers) {
            let shown = answer
                .result
                .as_ref()
                .map_or_else(|_| "not known yet".to_owned(), |found| found.value.shown(evaluation.units));
            let _ = writeln!(out, "{}: ? {} = {shown}", document.lines.line(ask.at), ask.expression);
        }
        for rule in &evaluation.record.rules {
            let _ = writeln!(
                out,
                "{}: {} {}: {}{}",
                rule.line,
                if rule.must { "must" } else { "should" },
                if rule.kept { "kept" } else { "broken" },
                rule.text,
                rule.because
                    .as_ref()
                    .and_then(|trace| evaluation.shown(trace))
                    .map(|actual| format!(": {actual}"))
                    .unwrap_or_default()
            );
        }
        print(&export::plain(&out));
    }
    for problem in &evaluation.problems {
        eprintln!("{}:{}", file.display(), export::plain(&problem.to_string()));
    }
    Ok(if evaluation.problems.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

pub(super) fn ask(expression: &str, json: bool, metric: bool) -> Result<ExitCode, Error> {
    let units = if metric { Units::Metric } else { Units::Inch };
    let found = engine::evaluate::expression(expression, Some(limit(&Arc::default())))
        .map_err(|problem| Error::unusable(format!("column {}: {}", problem.column, problem.what), problem.next))?;
    if json {
        print(&format!("{}\n", export::value(&found, units)));
    } else {
        print(&format!("{}\n", export::plain(&found.value.shown(units))));
    }
    Ok(ExitCode::SUCCESS)
}

pub(super) fn ledger(file: &Path, json: bool) -> Result<ExitCode, Error> {
    let (notebook, name) = notebook_of(file)?;
    let lines = notebook.store().ledger(&name)?;
    if json {
        let text = serde_json::to_string_pretty(&lines)
            .map_err(|error| Error::internal("the ledger could not be written out", "try again").because(error))?;
        print(&format!("{text}\n"));
    } else {
        let mut out = String::new();
        for line in &lines {
            let _ = writeln!(out, "{}  print {} {}  {}  {}", line.when, line.print, line.what, line.words, line.amount);
        }
        print(&out);
    }
    Ok(ExitCode::SUCCESS)
}
