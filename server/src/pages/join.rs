//! What becomes of a plan without a file: another plan goes on with its ledger, or it was deleted on purpose.

use axum::body::Bytes;
use axum::extract::State;
use axum::response::Redirect;

use super::extract::name;
use super::form::field;
use crate::error::Error;
use crate::state::App;

/// Does what was decided, and goes back to the wall.
pub(crate) async fn post(State(app): State<App>, body: Bytes) -> Result<Redirect, Error> {
    let given = |key: &str| field(&body, key).map(|text| text.trim().to_owned()).filter(|text| !text.is_empty());
    let (what, record, file) = (given("what").unwrap_or_default(), given("record"), given("plan"));
    let file = file.map(|file| name(file.strip_suffix(".md").unwrap_or(&file))).transpose()?;
    let wrong = |what: &str, next: &str| Error::unusable(what, next);
    app.with(move |notebook| match (what.as_str(), record, file) {
        ("join", Some(record), Some(file)) => notebook.join(&record, &file),
        ("apart", _, Some(file)) => notebook.keep_apart(&file),
        ("join" | "apart", ..) => Err(wrong("no plan was given", "write the name of the plan's file")),
        ("put away", Some(record), _) => notebook.history.put_away(&record),
        _ => Err(wrong("nothing was decided", "choose one of the buttons on the wall")),
    })
    .await?;
    Ok(Redirect::to("/"))
}
