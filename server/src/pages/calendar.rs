//! The steps of a plan as a calendar other programs read. Source: RFC 5545, whole-day events, their end not in them (written
//! with the crate `icalendar`, chosen because it folds and escapes by that document and needs no clock when told the moment).

use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse as _, Response};
use engine::measure::Day;
use icalendar::{Calendar, Component as _, Event, Property};

use serde_json::json;

use super::about::About;
use super::links::{nothing, under, unlisted};
use super::tables::sent;
use super::{name, plan};
use crate::app::App;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::passphrase;
use crate::trouble::Refusal;

/// The calendar of one plan.
pub(crate) async fn get(about: About) -> Result<Response, Refusal> {
    let file = about.name.as_str().to_owned();
    let text = about.with(|notebook, name, _| calendar(notebook, name)).await?;
    Ok(sent(text.into_bytes(), "text/calendar; charset=utf-8", &file, "ics", true))
}

/// Makes an address under which a calendar program reads the steps, and gives it this once.
pub(crate) async fn post(
    State(app): State<App>,
    Path(plan): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Refusal> {
    let name = name(&plan)?;
    let token = app
        .with(move |notebook| {
            // There must be such a plan.
            notebook.text(&name)?;
            let token = passphrase::random()?;
            notebook.store().make_calendar_address(&name, &token, &notebook.moment())?;
            Ok(token)
        })
        .await?;
    Ok(Json(json!({ "address": under(&app, &headers, &format!("/c/{token}/steps.ics")) })).into_response())
}

/// Ends an address.
pub(crate) async fn revoke(State(app): State<App>, Path((plan, id)): Path<(String, i64)>) -> Result<Response, Refusal> {
    let name = name(&plan)?;
    app.with(move |notebook| notebook.store().revoke_calendar_address(&name, id, &notebook.moment())).await?;
    Ok(Json(json!({ "revoked": id })).into_response())
}

/// What a calendar program reads under an address of its own.
pub(crate) async fn subscribed(State(app): State<App>, Path(token): Path<String>) -> Response {
    let made = app
        .with(move |notebook| {
            let Some(plan) = notebook.store().calendar_of(&token, &notebook.moment())? else { return Ok(None) };
            let Ok(name) = Name::new(&plan) else { return Ok(None) };
            Ok(calendar(notebook, &name).ok())
        })
        .await;
    let response = match made {
        Ok(Some(text)) => sent(text.into_bytes(), "text/calendar; charset=utf-8", "steps", "ics", true),
        Ok(None) => nothing(&app),
        Err(refusal) => refusal.into_response(),
    };
    unlisted(response)
}

/// Every step, and the days on which quotes end.
pub(crate) fn calendar(notebook: &Notebook, name: &Name) -> Result<String, Refusal> {
    let kept = notebook.text(name)?;
    let worked = notebook.work_out(name, &kept.text, None)?;
    let revision = notebook.revision(name, &kept.etag)?;
    let stamp = format!("{}T000000Z", digits(notebook.day_of(name, revision)?));
    let shops = notebook.view(&worked.document).shops;
    let title = plan::title(&worked.document, name);
    let mark = crate::folder::etag(name.as_str().as_bytes());
    let mut calendar = Calendar::empty();
    for (name, value) in [("VERSION", "2.0"), ("PRODID", "-//Makeready//Plan//EN"), ("CALSCALE", "GREGORIAN")] {
        calendar.append_property(Property::new(name, value));
    }
    calendar.name(&plain(&title));
    for (number, step) in worked.evaluation.record.steps.iter().enumerate() {
        let who = step.who.as_deref().map(|role| {
            shops.iter().find(|(one, _)| one == role).map_or_else(|| role.to_owned(), |(_, name)| name.clone())
        });
        let summary = match who.as_deref().filter(|who| *who != "me") {
            Some(who) => format!("{}, {who}: {title}", step.what),
            None => format!("{}: {title}", step.what),
        };
        let mut event = Event::new();
        event
            .uid(&format!("{mark}-{}@makeready.invalid", number + 1))
            .add_property("DTSTAMP", &stamp)
            .summary(&plain(&summary))
            .description(&plain(&format!("{}, revision {revision}, {} working days", name.as_str(), step.days)))
            .append_property(whole_day("DTSTART", step.start));
        let end = step.end.plus(1).unwrap_or(step.end);
        event.append_property(whole_day("DTEND", end));
        calendar.push(event.done());
    }
    for quote in worked.evaluation.quotes.iter().filter(|quote| !quote.held) {
        let Some(until) = quote.until else { continue };
        let mut event = Event::new();
        event
            .uid(&format!("{}-{}@makeready.invalid", mark, crate::folder::etag(quote.shop.as_bytes())))
            .add_property("DTSTAMP", &stamp)
            .summary(&plain(&format!("The quote of {} ends: {title}", quote.shop)))
            .description(&plain(&format!("{}, revision {revision}", name.as_str())))
            .append_property(whole_day("DTSTART", until))
            .append_property(whole_day("DTEND", until.plus(1).unwrap_or(until)));
        calendar.push(event.done());
    }
    Ok(calendar.done().to_string())
}

/// Year, month and day in digits, as in RFC 5545.
fn digits(day: Day) -> String {
    day.iso().replace('-', "")
}

/// Without controls, which a calendar cannot hold.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A whole day as a property.
fn whole_day(name: &str, day: Day) -> Property {
    let mut property = Property::new(name, digits(day));
    property.add_parameter("VALUE", "DATE");
    property.done()
}
