//! What one shop is issued, as a page, and the record of having issued it.

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use serde_json::json;

use super::extract::{Asked, name, read_or, short};
use super::{file, page};
use crate::error::Error;
use crate::names::in_url;
use crate::sheets::ticket_page::{TicketPage, style};
use crate::sheets::{self, Paper};
use crate::state::App;
use crate::store::issued::{IssuedSheet, NewIssue};
use crate::tickets::ShopTicket;

/// The ticket's page.
pub(crate) async fn get(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Error> {
    let (name, paper, units) = (name(&plan)?, Paper::of(asked.paper.as_deref()), asked.units());
    let css_url = format!("/plan/{}/ticket/{}/paper.css?paper={}", name.in_url(), in_url(&role), paper.word());
    let state = app.clone();
    app.with(move |notebook| {
        let shop_ticket = ShopTicket::of(notebook, &name, &role, units)?;
        page(&state, "ticket.html", &TicketPage::of(&shop_ticket, paper, css_url, shop_ticket.since.as_slice()))
    })
    .await
}

/// The running text and size of the printed sheet.
pub(crate) async fn paper(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    let (name, paper) = (name(&plan)?, Paper::of(asked.paper.as_deref()));
    let running = app.with(move |notebook| Ok(ShopTicket::of(notebook, &name, &role, None)?.running())).await?;
    Ok(css(style(paper, &running)))
}

/// A style sheet.
pub(crate) fn css(text: String) -> Response {
    ([(header::CONTENT_TYPE, "text/css; charset=utf-8")], text).into_response()
}

/// The ticket as a file a reader of PDF shows as it is printed.
pub(crate) async fn pdf(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    let (name, paper, units) = (name(&plan)?, Paper::of(asked.paper.as_deref()), asked.units());
    let (file, made) = app
        .with(move |notebook| {
            let _alone = sheets::check(notebook, &name)?;
            let shop_ticket = ShopTicket::of(notebook, &name, &role, units)?;
            let file = format!("{} {} r{}", shop_ticket.name.as_str(), shop_ticket.ticket.role, shop_ticket.revision);
            Ok((file, sheets::ticket(notebook, &shop_ticket, paper)?))
        })
        .await?;
    Ok(file::pdf(made.pdf, &file))
}

/// The sheet of one issue, as it was issued.
pub(crate) async fn issued(
    State(app): State<App>,
    Path((plan, role, number)): Path<(String, String, String)>,
) -> Result<Response, Error> {
    let name = name(&plan)?;
    let wanted = number.trim_end_matches(".pdf").parse().map_err(|_| {
        Error::missing(format!("`{number}` is not a number of an issue"), "choose one from the ticket's page")
    })?;
    let file = format!("{} {role} issue {wanted}", name.as_str());
    let sheet = app.with(move |notebook| notebook.store().issued_sheet(&name, &role, wanted)).await?;
    Ok(file::pdf(sheet.pdf, &file))
}

/// What is entered when a ticket is issued.
#[derive(Debug, Default, serde::Deserialize)]
struct IssueForm {
    #[serde(default)]
    words: String,
    /// The paper it was printed on.
    paper: Option<String>,
}

/// Issues the ticket: what it says is kept, and what changes from now on is marked against it.
pub(crate) async fn issue(
    State(app): State<App>,
    Path((plan, role)): Path<(String, String)>,
    body: Bytes,
) -> Result<Response, Error> {
    let name = name(&plan)?;
    let entered: IssueForm = read_or(&body, "what was sent cannot be read", "hand the ticket over from its own page")?;
    let words = short(&entered.words, "these words are longer than 200 letters or have a line break", "shorten them")?;
    let paper = Paper::of(entered.paper.as_deref());
    app.with(move |notebook| {
        let _alone = sheets::check(notebook, &name)?;
        let shop_ticket = ShopTicket::of(notebook, &name, &role, None)?;
        let pdf = sheets::ticket(notebook, &shop_ticket, paper)?.pdf;
        let sheet = Some(IssuedSheet { paper: paper.word().to_owned(), pdf });
        let issue = NewIssue {
            sheet,
            shop: shop_ticket.ticket.shop.clone(),
            revision: shop_ticket.revision,
            hash: shop_ticket.hash.clone(),
            lines: shop_ticket.ticket.lines(),
            words,
        };
        let number = notebook.store().issue(&name, &role, issue, &notebook.moment())?;
        Ok(Json(json!({ "issue": number, "revision": shop_ticket.revision })).into_response())
    })
    .await
}
