//! What one shop is handed, as a page, and the record of having handed it over.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use engine::Trouble;
use engine::render::ticket_text;
use minijinja::context;
use minijinja::value::Serde;
use serde_json::json;

use super::tables::sent;
use super::{Asked, name, page, studio};
use crate::app::App;
use crate::handover::Handed;
use crate::sheets::{self, Paper};
use crate::store::issued::{IssuedSheet, NewIssue};
use crate::trouble::Refusal;

/// The ticket's page.
pub(crate) async fn get(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Refusal> {
    let (name, paper, units) = (name(&plan)?, Paper::of(asked.paper.as_deref()), asked.units());
    let css = format!("/plan/{}/ticket/{}/paper.css?paper={}", name.in_url(), percent(&role), paper.word());
    let own = studio(&app);
    let shown = app
        .with(move |notebook| {
            let handed = Handed::of(notebook, &name, &role, &own, units)?;
            Ok(shown(&handed, paper, &own, &css))
        })
        .await?;
    page(&app, "ticket.html", shown)
}

/// A role as part of an address.
fn percent(role: &str) -> String {
    role.bytes()
        .map(|byte| {
            if byte.is_ascii_alphanumeric() || byte == b'-' {
                char::from(byte).to_string()
            } else {
                format!("%{byte:02X}")
            }
        })
        .collect()
}

/// The running text and size of the printed sheet.
pub(crate) async fn paper(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let (name, paper, studio) = (name(&plan)?, Paper::of(asked.paper.as_deref()), studio(&app));
    let running = app.with(move |notebook| Ok(Handed::of(notebook, &name, &role, &studio, None)?.running())).await?;
    Ok(([(header::CONTENT_TYPE, "text/css; charset=utf-8")], style(paper, &running)).into_response())
}

/// The ticket as a file a reader of PDF shows as it is printed.
pub(crate) async fn pdf(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let (name, paper, studio, units) = (name(&plan)?, Paper::of(asked.paper.as_deref()), studio(&app), asked.units());
    let (file, made) = app
        .with(move |notebook| {
            let _alone = sheets::check(notebook, &name)?;
            let handed = Handed::of(notebook, &name, &role, &studio, units)?;
            let file = format!("{} {} r{}", handed.name.as_str(), handed.ticket.role, handed.revision);
            Ok((file, sheets::ticket(notebook, &handed, paper, &studio)?))
        })
        .await?;
    Ok(sent(made.pdf, "application/pdf", &file, "pdf", true))
}

/// The sheet of one issue, as it was handed over.
pub(crate) async fn issued(
    State(app): State<App>,
    Path((plan, role, number)): Path<(String, String, String)>,
) -> Result<Response, Refusal> {
    let name = name(&plan)?;
    let wanted = number.trim_end_matches(".pdf").parse().map_err(|_| {
        Refusal::missing(format!("`{number}` is no number of an issue"), "choose one from the ticket's page")
    })?;
    let file = format!("{} {role} issue {wanted}", name.as_str());
    let sheet = app.with(move |notebook| notebook.store().issued_sheet(&name, &role, wanted)).await?;
    Ok(sent(sheet.pdf, "application/pdf", &file, "pdf", true))
}

/// What is entered when a ticket is handed over.
#[derive(Debug, Default, serde::Deserialize)]
struct Entered {
    #[serde(default)]
    words: String,
    /// The paper it was printed on.
    paper: Option<String>,
}

/// Hands the ticket over: what it says is kept, and what changes from now on is marked against it.
pub(crate) async fn issue(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    body: Bytes,
) -> Result<Response, Refusal> {
    let (name, studio) = (name(&plan)?, studio(&app));
    let entered: Entered = serde_json::from_slice(&body).map_err(|_| {
        Refusal::Unusable(Trouble::new("what was sent cannot be read", "hand the ticket over from its own page"))
    })?;
    if entered.words.chars().count() > 200 || entered.words.chars().any(char::is_control) {
        return Err(Refusal::Unusable(Trouble::new(
            "these words are longer than 200 letters or have a line break",
            "shorten them",
        )));
    }
    let paper = Paper::of(entered.paper.as_deref());
    app.with(move |notebook| {
        let _alone = sheets::check(notebook, &name)?;
        let handed = Handed::of(notebook, &name, &role, &studio, None)?;
        let pdf = sheets::ticket(notebook, &handed, paper, &studio)?.pdf;
        let sheet = Some(IssuedSheet { paper: paper.word().to_owned(), pdf });
        let issue = NewIssue {
            sheet,
            shop: handed.ticket.shop.clone(),
            revision: handed.revision,
            etag: handed.etag.clone(),
            lines: handed.ticket.lines(),
            words: entered.words.trim().to_owned(),
        };
        let number = notebook.store().issue(&name, &role, issue, &notebook.moment())?;
        Ok(Json(json!({ "issue": number, "revision": handed.revision })).into_response())
    })
    .await
}

/// Everything on the ticket's page.
pub(crate) fn shown(handed: &Handed, paper: Paper, studio: &str, css: &str) -> minijinja::Value {
    let ticket = &handed.ticket;
    let article = if ticket.blocks.is_empty() {
        "<p>No section of this plan is for this shop yet.</p>".to_owned()
    } else {
        ticket_text::html(&ticket.blocks, &handed.revised(), handed.revision)
    };
    let steps = if ticket.steps.is_empty() {
        String::new()
    } else {
        let rows = ticket.steps.clone();
        ticket_text::html(&[engine::render::plain::Block::Steps { rows }], &[], 0)
    };
    let issued: Vec<_> = handed
        .issued
        .iter()
        .map(|one| {
            context! { number => one.number, revision => one.revision, day => one.handed.chars().take(10).collect::<String>(), shop => one.shop.clone(), words => one.words.clone(), kept => one.kept }
        })
        .collect();
    let square = handed.square().unwrap_or_default();
    context! {
        studio => studio,
        today => handed.day.to_string(),
        slug => handed.name.in_url(),
        role_url => percent(&ticket.role),
        shop => context! { role => ticket.role.clone(), name => ticket.shop.clone() },
        title => ticket.title.clone(),
        subtitle => format!("{}: job ticket for {}, {}", ticket.work, ticket.shop, ticket.role),
        revision => handed.revision.to_string(),
        issued => handed.day.to_string(),
        needed => ticket.needed_by.clone(),
        number => ticket.number.clone(),
        quantity => ticket.quantity.clone(),
        paper => paper.word(),
        other_paper => paper.other().word(),
        article => article,
        steps => steps,
        sizes => minijinja::Value::from(Serde(&ticket.sizes)),
        deliver => ticket.deliver.clone(),
        close => minijinja::Value::from(Serde(&ticket.close)),
        fields => minijinja::Value::from(Serde(&ticket.fields)),
        costs => minijinja::Value::from(Serde(&ticket.costs)),
        total => ticket.total.clone(),
        ticks => ticket.ticks.clone(),
        cautions => ticket.cautions.clone(),
        contact => minijinja::Value::from(Serde(&ticket.contact)),
        missing => minijinja::Value::from(Serde(&ticket.missing)),
        handed => issued,
        handed_to_it => handed.to_this_shop().next().is_some(),
        sheets => minijinja::Value::from(Serde(&sheets::issues(handed))),
        since => minijinja::Value::from(Serde(&handed.since)),
        code => handed.code(),
        square => square,
        css_url => css,
    }
}

/// Size, margins and running lines of the printed sheet.
pub(crate) fn style(paper: Paper, running: &str) -> String {
    let size = match paper {
        Paper::Letter => "letter",
        Paper::A4 => "a4",
    };
    let mut words = String::new();
    for c in running.chars() {
        // A style sheet's own way of writing any sign, so that no title can end the string.
        if c.is_alphanumeric() || " ,.-·".contains(c) {
            words.push(c)
        } else {
            words.push_str(&format!("\\{:x} ", u32::from(c)))
        }
    }
    format!(
        "@page {{ size: {size}; margin: 16mm 14mm 18mm 22mm; @bottom-left {{ content: \"{words}\"; font: 8.5pt \"Plan\", serif }} @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8.5pt \"Plan\", serif }} }}\n"
    )
}
