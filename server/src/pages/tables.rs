//! Tables for other programs: costs, schedule, cut lists and ledger as comma-separated values.

use axum::extract::{Path, State};
use axum::response::Response;
use engine::trade::cutting::CutList;
use engine::{Evaluation, Value};

use super::extract::name;
use super::file::attached;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::state::App;
use crate::table::{Rows, csv, words};

/// One table of a plan.
pub(crate) async fn get(
    State(app): State<App>,
    Path((plan, table)): Path<(String, String)>,
) -> Result<Response, Error> {
    let (name, table) = (name(&plan)?, table.trim_end_matches(".csv").to_owned());
    let file = format!("{} {table}", name.as_str());
    let text = app.with(move |notebook| csv(&rows(notebook, &name, &table)?)).await?;
    Ok(attached(text, "text/csv; charset=utf-8; header=present", &file, "csv"))
}

fn rows(notebook: &Notebook, name: &Name, table: &str) -> Result<Rows, Error> {
    let worked = notebook.current(name, None)?.worked;
    let shops = &worked.view.shops;
    let called = |role: &Option<String>| {
        let role = role.clone().unwrap_or_default();
        shops.iter().find(|(one, _)| *one == role).map_or(role, |(_, name)| name.clone())
    };
    let record = &worked.evaluation.record;
    match table {
        "costs" => {
            let mut rows = vec![words(["what", "to", "amount", "currency"])];
            for line in &record.costs {
                let amount = line.amount.rounded();
                rows.push(vec![
                    line.what.clone(),
                    called(&line.shop),
                    format!("{:.*}", amount.currency.places as usize, amount.amount),
                    amount.currency.code.to_owned(),
                ]);
            }
            Ok(rows)
        }
        "schedule" => {
            let mut rows = vec![words(["what", "by", "first day", "last day", "working days"])];
            for step in &record.steps {
                rows.push(vec![
                    step.what.clone(),
                    called(&step.who),
                    step.start.iso(),
                    step.end.iso(),
                    step.days.to_string(),
                ]);
            }
            Ok(rows)
        }
        "cuts" => Ok(cuts(&worked.evaluation)),
        "ledger" => {
            let mut rows = vec![words(["line", "print", "what", "day", "who or why", "amount", "currency", "place"])];
            for line in notebook.store().ledger(name)? {
                let (amount, currency) = line.amount_and_currency();
                let amount = [amount.to_owned(), currency.to_owned()];
                rows.push(
                    [
                        vec![line.line.to_string(), line.print, line.what, line.when, line.words],
                        amount.to_vec(),
                        vec![line.place],
                    ]
                    .concat(),
                );
            }
            Ok(rows)
        }
        other => Err(Error::missing(
            format!("a plan has no table called `{other}`"),
            "ask for costs, schedule, cuts or ledger",
        )),
    }
}

/// Every piece of every cut list of the plan, stick by stick.
fn cuts(evaluation: &Evaluation) -> Rows {
    let mut rows = vec![words(["list", "stick", "piece", "millimetres", "inches"])];
    for named in evaluation.blocks.iter().flat_map(|outcome| &outcome.gives) {
        let Value::Thing(thing) = &named.found.value else { continue };
        let Some(list) = thing.get::<CutList>() else { continue };
        for (stick, bar) in (1..).zip(list.pieces()) {
            for (number, piece) in (1..).zip(bar) {
                let (stick, number): (u32, u32) = (stick, number);
                rows.push(vec![
                    named.name.to_string(),
                    stick.to_string(),
                    number.to_string(),
                    format!("{:.2}", piece.to_mm()),
                    format!("{:.4}", piece.to_inch()),
                ]);
            }
        }
    }
    rows
}
