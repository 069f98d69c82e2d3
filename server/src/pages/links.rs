//! Links for shops: the owner's list of them, and the page a shop sees.

use std::net::IpAddr;

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Extension, Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Response};
use serde::Serialize;
use serde_json::json;

use super::calendar::DAYS;
use super::extract::{About, Asked, good_for, name, read_or};
use super::outside::{nothing, under, unlisted};
use super::ticket::css;
use super::{Shop, around, file, page, page_for};
use crate::error::Error;
use crate::links::{self, Stands};
use crate::listen::Ends;
use crate::names::Name;
use crate::sheets::ticket_page::{TicketPage, style};
use crate::sheets::{self, Paper};
use crate::state::App;
use crate::store::{CalendarAddress, Link, Opened};
use crate::templates::Around;
use crate::tickets::Change;
use crate::titles::title;

/// The owner's list.
pub(crate) async fn get(State(app): State<App>, about: About) -> Result<Html<String>, Error> {
    about
        .with(move |notebook, name, _| {
            let worked = notebook.current(name, None)?.worked;
            let now = notebook.moment();
            let links = notebook.store().links(name)?;
            let calendars = notebook.store().calendar_addresses(name)?;
            let own = LinksPage {
                slug: name.in_url(),
                title: title(&worked.document, name),
                shops: Shop::all(&worked.view.shops),
                links: links.iter().map(|link| listed(link, &now, &links::stands(notebook, name, link))).collect(),
                calendars: calendars.iter().map(|one| calendar(one, &now)).collect(),
                reach: reach(&app),
                calendar_days: DAYS,
            };
            page(&app, "links.html", &own)
        })
        .await
}

#[derive(Serialize)]
struct LinksPage<'a> {
    slug: String,
    title: String,
    shops: Vec<Shop>,
    links: Vec<LinkRow<'a>>,
    calendars: Vec<CalendarRow>,
    reach: String,
    /// How long a calendar's address is good for, unless another time is chosen.
    calendar_days: i32,
}

/// A link made before.
#[derive(Serialize)]
struct LinkRow<'a> {
    id: i64,
    shop: &'a str,
    role: &'a str,
    revision: u32,
    made: String,
    expires: &'a str,
    /// It is still good.
    open: bool,
    state: &'static str,
    state_words: String,
    /// The shop of this work is another now.
    again: bool,
    opened: Vec<VisitRow<'a>>,
}

#[derive(Serialize)]
struct VisitRow<'a> {
    when: String,
    address: &'a str,
    browser: &'a str,
}

/// The address of a calendar.
#[derive(Serialize)]
struct CalendarRow {
    id: i64,
    made: String,
    stands: String,
    open: bool,
}

/// From where a link can be opened, in words.
fn reach(app: &App) -> String {
    match &app.reach.outside {
        Some(outside) => format!("Shops reach this notebook at {outside}."),
        None if app.reach.lan => "A link opens wherever this computer can be reached: in this network.".to_owned(),
        None => "Now a link opens only on this computer. To let shops open it, start the program with --lan, or with --outside and the address at which they reach it.".to_owned(),
    }
}

fn calendar(one: &CalendarAddress, now: &str) -> CalendarRow {
    let stands = match (&one.revoked, &one.read) {
        (Some(when), _) => format!("revoked on {}", day(when)),
        _ if one.expires.as_str() <= now => format!("ended on {}", day(&one.expires)),
        (None, None) => format!("not read yet, ends on {}", day(&one.expires)),
        (None, Some(read)) => format!("last read on {}, ends on {}", day(read), day(&one.expires)),
    };
    CalendarRow { id: one.id, made: moment(&one.made), stands, open: one.revoked.is_none() }
}

fn listed<'a>(link: &'a Link, now: &str, stands: &Stands) -> LinkRow<'a> {
    let has_ended = link.expires.as_str() <= now;
    let again = link.revoked.is_none() && !has_ended && matches!(stands, Stands::Another(_));
    let (state, state_words) = match &link.revoked {
        Some(when) => ("broken", format!("revoked on {}", day(when))),
        None if has_ended => ("slack", format!("ended on {}", day(&link.expires))),
        None => match stands {
            Stands::Nobody => ("broken", "not valid any more: the plan no longer names this shop".to_owned()),
            Stands::Another(shop) => {
                let (role, before) = (&link.role, &link.shop);
                ("broken", format!("not valid any more: made for {before}, and the plan's {role} is {shop} now"))
            }
            Stands::Good(revision, changes) if changes.is_empty() => {
                ("kept", format!("as issued; nothing changed for this shop up to revision {revision}"))
            }
            Stands::Good(revision, changes) => {
                ("slack", format!("superseded: {} changed up to revision {revision}", lines(changes.len())))
            }
        },
    };
    let visit = |one: &'a Opened| VisitRow { when: moment(&one.when), address: &one.address, browser: &one.browser };
    LinkRow {
        id: link.id,
        shop: &link.shop,
        role: &link.role,
        revision: link.revision,
        made: moment(&link.made),
        expires: day(&link.expires),
        open: link.revoked.is_none() && !has_ended,
        state,
        state_words,
        again,
        opened: link.opened.iter().map(visit).collect(),
    }
}

fn lines(count: usize) -> String {
    if count == 1 { "one line".to_owned() } else { format!("{count} lines") }
}

/// `2026-11-25 14:05` of a moment in universal time.
fn moment(when: &str) -> String {
    format!("{} {}", day(when), when.get(11..16).unwrap_or_default())
}

fn day(when: &str) -> &str {
    when.get(..10).unwrap_or(when)
}

/// A link as wanted on the page.
#[derive(Debug, serde::Deserialize)]
pub(crate) struct LinkForm {
    role: String,
    #[serde(default = "thirty")]
    days: i32,
}

fn thirty() -> i32 {
    30
}

/// Makes a link and gives its address, this once.
pub(crate) async fn post(
    State(app): State<App>,
    Path(plan): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Response, Error> {
    let name = name(&plan)?;
    let wanted: LinkForm = read_or(&body, "no shop was chosen", "choose one of the plan's shops")?;
    let days = good_for("a link", wanted.days, links::LONGEST_DAYS)?;
    let token = app.with(move |notebook| links::make(notebook, &name, &wanted.role, days)).await?;
    Ok(Json(json!({ "address": under(&app, &headers, &format!("/t/{token}")) })).into_response())
}

/// Revokes a link.
pub(crate) async fn revoke(State(app): State<App>, Path((plan, id)): Path<(String, i64)>) -> Result<Response, Error> {
    let name = name(&plan)?;
    app.with(move |notebook| notebook.store().revoke_link(&name, id, &notebook.moment())).await?;
    Ok(Json(json!({ "revoked": id })).into_response())
}

/// What a shop sees.
pub(crate) async fn shop(
    State(app): State<App>,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
    ends: Option<Extension<Ends>>,
    headers: HeaderMap,
) -> Response {
    let paper = Paper::of(asked.paper.as_deref());
    let from = ends.map(|ends| app.reach.visitor(Some(ends.0), &headers));
    let opened = Opened { when: app.notebook.moment(), address: address(from), browser: browser(&headers) };
    let address = under(&app, &headers, &format!("/t/{token}"));
    let (state, base) = (app.clone(), format!("/t/{token}"));
    let made = app
        .with(move |notebook| {
            let Some((link, mut shop_ticket)) = links::opened(notebook, &token)? else { return Ok(None) };
            let moved = shop_ticket.kept_back.left_out(links::since(&link, &shop_ticket));
            shop_ticket.link = Some(address);
            if let Err(error) = notebook.store().note_opened(link.id, opened) {
                tracing::warn!(error.what = %error.message().what, "the opening of a link was not noted");
            }
            let since = SinceLink { revision: link.revision, made: day(&link.made), now: shop_ticket.revision, moved };
            let css_url = format!("{base}/paper.css?paper={}", paper.word());
            let pdf_url = format!("{base}/paper.pdf?paper={}", paper.word());
            let own = TicketPage::of(&shop_ticket, paper, css_url, since).shared(pdf_url);
            let shared = Around { alone: true, ..around(&state) };
            page_for(&state, &shared, "link.html", &own).map(Some)
        })
        .await;
    let response = match made {
        Ok(Some(page)) => page.into_response(),
        Ok(None) => nothing(&app),
        Err(error) => error.into_response(),
    };
    unlisted(response)
}

/// What changed since a link was made.
#[derive(Serialize)]
struct SinceLink<'a> {
    /// The revision and the day of the link.
    revision: u32,
    made: &'a str,
    /// The revision of the plan.
    now: u32,
    moved: Vec<Change>,
}

/// Size and running lines of the sheet a shop prints.
pub(crate) async fn paper(
    State(app): State<App>,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Error> {
    let paper = Paper::of(asked.paper.as_deref());
    let made = app.with(move |notebook| links::opened(notebook, &token)).await?;
    Ok(made.map_or_else(|| nothing(&app), |(_, shop_ticket)| css(style(paper, &shop_ticket.running()))))
}

/// The ticket of a link as PDF.
pub(crate) async fn pdf(
    State(app): State<App>,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
    headers: HeaderMap,
) -> Result<Response, Error> {
    let paper = Paper::of(asked.paper.as_deref());
    let address = under(&app, &headers, &format!("/t/{token}"));
    let made = app
        .with(move |notebook| {
            // Counted before anything is made of the plan.
            let link = notebook.store().link(&token, &notebook.moment())?;
            let name = link.and_then(|link| Name::new(&link.plan).ok());
            let _alone = name.map(|name| sheets::check(notebook, &name)).transpose()?;
            let Some((link, mut shop_ticket)) = links::opened(notebook, &token)? else { return Ok(None) };
            shop_ticket.link = Some(address);
            sheets::ticket(notebook, &shop_ticket, paper).map(|made| Some((link, made)))
        })
        .await?;
    let Some((link, made)) = made else { return Ok(nothing(&app)) };
    Ok(unlisted(file::pdf(made.pdf, &format!("ticket for {}", link.shop))))
}

fn address(from: Option<IpAddr>) -> String {
    match from {
        Some(from) if !from.is_loopback() => from.to_string(),
        _ => "this computer".to_owned(),
    }
}

/// What a browser calls itself, shortened and without anything that could stand for more than text.
fn browser(headers: &HeaderMap) -> String {
    let name = headers.get(header::USER_AGENT).and_then(|name| name.to_str().ok()).unwrap_or_default();
    name.chars().filter(|c| !c.is_control()).take(120).collect()
}
