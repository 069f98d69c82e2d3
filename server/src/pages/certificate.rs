//! A certificate for one numbered print: as it would be, issued, and found by its code.

use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use engine::trade::certificate::STATUTES;
use engine::trade::edition::Print;
use serde::Serialize;
use serde_json::json;

use super::extract::{Asked, name};
use super::{file, page};
use crate::days;
use crate::error::Error;
use crate::names::Name;
use crate::sheets::{self, Paper};
use crate::state::App;
use crate::store::ledger::print_label;

/// As it would be now, with what is missing.
pub(crate) async fn draft(
    State(app): State<App>,
    Path((plan, print)): Path<(String, String)>,
) -> Result<Html<String>, Error> {
    let (name, print) = both(&plan, &print)?;
    let wanted = name.clone();
    let draft = app.with(move |notebook| notebook.certify(&wanted, print)).await?;
    let written = print_label(print);
    let says = draft
        .certificate
        .says
        .iter()
        .map(|(label, words)| SaidRow { label: (*label).to_owned(), words: words.clone() });
    let missing =
        draft.certificate.missing.iter().map(|(label, next)| MissingRow { label, next: next.replace('`', "") });
    let own = CertificatePage {
        slug: name.in_url(),
        print_slug: written.replace(' ', "-"),
        print: written,
        title: draft.title,
        revision: draft.revision,
        issued: None,
        code: None,
        since: None,
        says: says.collect(),
        missing: missing.collect(),
        statutes: statutes(),
    };
    page(&app, "certificate.html", &own)
}

#[derive(Serialize)]
struct CertificatePage {
    slug: String,
    print: String,
    print_slug: String,
    title: String,
    revision: u32,
    /// The day it was issued, and its code; nothing of a draft.
    issued: Option<String>,
    code: Option<String>,
    /// What happened to the print since.
    since: Option<String>,
    says: Vec<SaidRow>,
    missing: Vec<MissingRow>,
    statutes: Vec<LawRow>,
}

#[derive(Serialize)]
struct SaidRow {
    label: String,
    words: String,
}

#[derive(Serialize)]
struct MissingRow {
    label: &'static str,
    next: String,
}

#[derive(Serialize)]
struct LawRow {
    name: &'static str,
    /// The price from which it holds, in dollars.
    from: Option<u32>,
    /// Days within which a print may be given back.
    days: Option<u32>,
}

/// Issues it.
pub(crate) async fn issue(
    State(app): State<App>,
    Path((plan, print)): Path<(String, String)>,
) -> Result<Response, Error> {
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
pub(crate) async fn find(State(app): State<App>, Query(typed): Query<Typed>) -> Result<Redirect, Error> {
    let issued = app.with(move |notebook| notebook.certificate(&typed.code)).await?;
    Ok(Redirect::to(&format!("/certificate/{}", issued.code)))
}

/// The certificate of a code.
pub(crate) async fn get(State(app): State<App>, Path(code): Path<String>) -> Result<Html<String>, Error> {
    let (issued, since, title) = app
        .with(move |notebook| {
            let issued = notebook.certificate(&code)?;
            let since = notebook.since(&issued)?;
            let title = notebook.certified_title(&issued);
            Ok((issued, since, title))
        })
        .await?;
    let day = Some(days::shown(&issued.issued));
    let own = CertificatePage {
        slug: issued.plan.in_url(),
        print_slug: issued.print.replace(' ', "-"),
        print: issued.print,
        title,
        revision: issued.revision,
        issued: day,
        code: Some(issued.code),
        since,
        says: issued.says.into_iter().map(|(label, words)| SaidRow { label, words }).collect(),
        missing: Vec::new(),
        statutes: statutes(),
    };
    page(&app, "certificate.html", &own)
}

/// The certificate of a code as PDF.
pub(crate) async fn pdf(
    State(app): State<App>,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
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

fn both(plan: &str, print: &str) -> Result<(Name, Print), Error> {
    let wanted = Print::parse(&print.replace('-', " ")).ok_or_else(|| {
        Error::missing(format!("`{print}` is not a number of a print"), "write it as 4, or AP-1 for a proof")
    })?;
    Ok((name(plan)?, wanted))
}

fn statutes() -> Vec<LawRow> {
    STATUTES.iter().map(|one| LawRow { name: one.law, from: one.threshold_usd, days: one.return_days }).collect()
}
