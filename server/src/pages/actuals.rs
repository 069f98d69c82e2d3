//! What really happened to a plan: a step done, a quote, an invoice, a snag; each is written into its text.

use axum::body::Bytes;
use axum::response::Response;
use engine::document::actuals::Actual;
use engine::document::{Document, front};
use engine::measure::Currency;

use super::extract::{Change, read};
use crate::amount::amount;
use crate::days;
use crate::error::Error;

/// As entered on the page.
#[derive(Debug, serde::Deserialize)]
struct ActualForm {
    kind: String,
    what: String,
    #[serde(default)]
    day: String,
    #[serde(default)]
    amount: String,
    #[serde(default)]
    step: String,
}

/// Writes it into the plan.
pub(crate) async fn post(change: Change, body: Bytes) -> Result<Response, Error> {
    let entered = read::<ActualForm>(&body)?;
    change
        .save(move |notebook, name, from| {
            let kept = notebook.text(name)?;
            let currency = Document::read(front::head_of(&kept.text)).front.currency;
            let actual = actual(entered, currency)?;
            notebook.note(name, from, &actual)
        })
        .await
}

fn actual(entered: ActualForm, currency: Currency) -> Result<Actual, Error> {
    let day = || days::entered(entered.day.trim());
    let amount = || amount(&entered.amount, currency).map_err(Error::Unusable);
    let what = entered.what.trim().to_owned();
    Ok(match entered.kind.as_str() {
        "finished" if entered.day.trim().is_empty() => Actual::Finished { step: what, day: None },
        "finished" => Actual::Finished { step: what, day: Some(day()?) },
        "quoted" => Actual::Quoted { what, amount: amount()?, day: day()? },
        "invoiced" => Actual::Invoiced { what, amount: amount()?, day: day()? },
        "snag" => Actual::Snag {
            what,
            cost: if entered.amount.trim().is_empty() { None } else { Some(amount()?) },
            step: Some(entered.step.trim().to_owned()).filter(|step| !step.is_empty()),
        },
        other => {
            return Err(Error::unusable(
                format!("`{other}` is nothing that can be noted"),
                "note that a step is finished, a quote, an invoice or a snag",
            ));
        }
    })
}
