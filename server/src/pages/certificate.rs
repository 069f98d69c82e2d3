//! A certificate for one numbered print: as it would be, handed out, and found by its code.

use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use engine::trade::certificate::STATUTES;
use engine::trade::edition::Print;
use minijinja::{Value, context};
use serde_json::json;

use super::extract::{Asked, name};
use super::{file, page};
use crate::names::Name;
use crate::sheets::{self, Paper};
use crate::state::App;
use crate::trouble::Refusal;

/// As it would be now, with what is missing.
pub(crate) async fn draft(
    State(app): State<App>,
    Path((plan, print)): Path<(String, String)>,
) -> Result<Html<String>, Refusal> {
    let (name, print) = both(&plan, &print)?;
    let wanted = name.clone();
    let draft = app.with(move |notebook| notebook.certify(&wanted, print)).await?;
    page(
        &app,
        "certificate.html",
        context! {
            slug => name.in_url(), print => super::ledger::written(print), print_slug => super::ledger::written(print).replace(' ', "-"),
            title => draft.title, revision => draft.revision, issued => None::<String>, code => None::<String>,
            says => draft.certificate.says.iter().map(|(label, words)| context! { label => *label, words }).collect::<Vec<_>>(),
            missing => draft.certificate.missing.iter().map(|(label, next)| context! { label => *label, next => next.replace('`', "") }).collect::<Vec<_>>(),
            statutes => statutes(),
        },
    )
}

/// Hands it out.
pub(crate) async fn issue(
    State(app): State<App>,
    Path((plan, print)): Path<(String, String)>,
) -> Result<Response, Refusal> {
    let (name, print) = both(&plan, &print)?;
    let issued = app.with(move |notebook| notebook.issue(&name, print)).await?;
    Ok(Json(json!({ "code": issued.code, "location": format!("/certificate/{}", issued.code) })).into_response())
}

/// A code as it was typed into a page.
#[derive(Debug, serde::Deserialize)]
pub(crate) struct Typed {
    #[serde(default)]
    code: String,
}

/// Leads to the certificate of a code.
pub(crate) async fn find(State(app): State<App>, Query(typed): Query<Typed>) -> Result<Redirect, Refusal> {
    let issued = app.with(move |notebook| notebook.certificate(&typed.code)).await?;
    Ok(Redirect::to(&format!("/certificate/{}", issued.code)))
}

/// The certificate of a code.
pub(crate) async fn get(State(app): State<App>, Path(code): Path<String>) -> Result<Html<String>, Refusal> {
    let (issued, since, title) = app
        .with(move |notebook| {
            let issued = notebook.certificate(&code)?;
            let since = notebook.since(&issued)?;
            let title = notebook.certified_title(&issued);
            Ok((issued, since, title))
        })
        .await?;
    let day = engine::measure::Day::parse(&issued.issued).map(|day| day.to_string());
    page(
        &app,
        "certificate.html",
        context! {
            slug => issued.plan.in_url(), print => issued.print.clone(), print_slug => issued.print.replace(' ', "-"),
            title => title,
            revision => issued.revision, issued => day, code => issued.code, since => since,
            says => issued.says.iter().map(|(label, words)| context! { label, words }).collect::<Vec<_>>(),
            missing => Vec::<Value>::new(), statutes => statutes(),
        },
    )
}

/// The certificate of a code as PDF.
pub(crate) async fn pdf(
    State(app): State<App>,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let paper = Paper::of(asked.paper.as_deref());
    let (file, made) = app
        .with(move |notebook| {
            let issued = notebook.certificate(&code)?;
            let made = sheets::certificate(notebook, &issued, paper)?;
            Ok((format!("certificate {}", issued.code), made))
        })
        .await?;
    Ok(file::pdf(made.pdf, &file))
}

fn both(plan: &str, print: &str) -> Result<(Name, Print), Refusal> {
    let wanted = Print::parse(&print.replace('-', " ")).ok_or_else(|| {
        Refusal::missing(format!("`{print}` is no number of a print"), "write it as 4, or AP-1 for a proof")
    })?;
    Ok((name(plan)?, wanted))
}

fn statutes() -> Vec<Value> {
    STATUTES
        .iter()
        .map(|one| context! { name => one.law, from => one.threshold_usd, days => one.return_days })
        .collect()
}
