//! The steps of a plan as a calendar other programs read. Source: RFC 5545, whole-day events, their end not in them (written
//! with the crate `icalendar`, chosen because it folds and escapes by that document and needs no clock when told the moment).

use std::collections::HashMap;

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse as _, Response};
use engine::measure::Day;
use engine::render::shop_name;
use icalendar::{Calendar, Component as _, Event, Property};
use serde_json::json;

use super::extract::{About, good_for, name, read_or};
use super::file::attached;
use super::outside::{nothing, under, unlisted};
use crate::error::Error;
use crate::folder::hash_of;
use crate::names::Name;
use crate::notebook::{Current, Notebook};
use crate::passphrase;
use crate::state::App;
use crate::titles;

/// The calendar of one plan.
pub(crate) async fn get(about: About) -> Result<Response, Error> {
    let file = about.name.as_str().to_owned();
    let text = about.with(|notebook, name, _| calendar(notebook, name)).await?;
    Ok(attached(text, KIND, &file, "ics"))
}

/// What kind of file it is.
const KIND: &str = "text/calendar; charset=utf-8";
/// How long an address of a calendar is good for, in days, unless another time was chosen.
pub(super) const DAYS: i32 = 365;
/// The longest it may be.
const LONGEST_DAYS: i32 = 3 * 366;

/// How long an address is to be good for.
#[derive(Debug, Default, serde::Deserialize)]
struct CalendarForm {
    days: Option<i32>,
}

/// The days that were asked for, counted from now.
fn days(body: &[u8]) -> Result<i32, Error> {
    let unread = || format!("write a number of days from 1 to {LONGEST_DAYS}");
    let wanted = match body {
        [] => CalendarForm::default(),
        body => read_or(body, "the days cannot be read", &unread())?,
    };
    good_for("an address for a calendar", wanted.days.unwrap_or(DAYS), LONGEST_DAYS)
}

/// Makes an address under which a calendar program reads the steps until it ends, and gives it this once.
pub(crate) async fn post(
    State(app): State<App>,
    Path(plan): Path<String>,
    headers: HeaderMap,
    body: Bytes,
) -> Result<Response, Error> {
    let (name, days) = (name(&plan)?, days(&body)?);
    let token = app
        .with(move |notebook| {
            // There must be such a plan.
            notebook.text(&name)?;
            let token = passphrase::random()?;
            notebook.store().make_calendar_address(&name, &token, &notebook.moment(), &notebook.moment_in(days))?;
            Ok(token)
        })
        .await?;
    Ok(Json(json!({ "address": under(&app, &headers, &format!("/c/{token}/steps.ics")) })).into_response())
}

/// Lets an address go on from now, under the same secret: a calendar program needs no new one.
pub(crate) async fn renew(
    State(app): State<App>,
    Path((plan, id)): Path<(String, i64)>,
    body: Bytes,
) -> Result<Response, Error> {
    let (name, days) = (name(&plan)?, days(&body)?);
    app.with(move |notebook| notebook.store().renew_calendar_address(&name, id, &notebook.moment_in(days))).await?;
    Ok(Json(json!({ "renewed": id })).into_response())
}

/// Ends an address.
pub(crate) async fn revoke(State(app): State<App>, Path((plan, id)): Path<(String, i64)>) -> Result<Response, Error> {
    let name = name(&plan)?;
    app.with(move |notebook| notebook.store().revoke_calendar_address(&name, id, &notebook.moment())).await?;
    Ok(Json(json!({ "revoked": id })).into_response())
}

/// What a calendar program reads under an address of its own.
pub(crate) async fn subscribed(State(app): State<App>, Path(token): Path<String>) -> Response {
    let made = app
        .with(move |notebook| {
            let address = || notebook.store().calendar_of(&token, &notebook.moment());
            let mut plan = address()?;
            // Reading the plan finds out when another lies under its name by now.
            while let Some(name) = plan.as_deref().and_then(|plan| Name::new(plan).ok()) {
                let made = calendar(notebook, &name).ok();
                let now = address()?;
                if now == plan {
                    return Ok(made);
                }
                plan = now;
            }
            Ok(None)
        })
        .await;
    let response = match made {
        Ok(Some(text)) => attached(text, KIND, "steps", "ics"),
        Ok(None) => nothing(&app),
        Err(error) => error.into_response(),
    };
    unlisted(response)
}

/// Every step, and the days on which quotes end.
pub(crate) fn calendar(notebook: &Notebook, name: &Name) -> Result<String, Error> {
    let Current { worked, revision, .. } = notebook.current(name, None)?;
    let changed = Changed::at(notebook, name, revision)?;
    let shops = &worked.view.shops;
    let title = titles::title(&worked.document, name);
    let mark = hash_of(name.as_str().as_bytes());
    let mut calendar = Calendar::empty();
    for (name, value) in [("VERSION", "2.0"), ("PRODID", "-//Makeready//Plan//EN"), ("CALSCALE", "GREGORIAN")] {
        calendar.append_property(Property::new(name, value));
    }
    calendar.name(&escaped(&plain(&title)));
    let mut seen: HashMap<&str, usize> = HashMap::new();
    for step in &worked.evaluation.record.steps {
        let who = step.who.as_deref().map(|role| shop_name(shops, role));
        let summary = match who.as_deref().filter(|who| *who != "me") {
            Some(who) => format!("{}, {who}: {title}", step.what),
            None => format!("{}: {title}", step.what),
        };
        // Its own, wherever it stands: by what it is called, and which of those called so it is.
        let nth = seen.entry(&step.what).and_modify(|count| *count += 1).or_insert(1);
        let own = hash_of(format!("{nth} {}", step.what).as_bytes());
        let mut event = changed.event(&format!("{mark}-{own}"));
        event
            .summary(&plain(&summary))
            .description(&plain(&format!("{}, revision {revision}, {} working days", name.as_str(), step.days)))
            .append_property(whole_day("DTSTART", step.start));
        let end = step.end.plus(1).unwrap_or(step.end);
        event.append_property(whole_day("DTEND", end));
        calendar.push(event.done());
    }
    for quote in worked.evaluation.quotes.iter().filter(|quote| !quote.held) {
        let Some(until) = quote.until else { continue };
        let mut event = changed.event(&format!("{mark}-quote-{}", hash_of(quote.shop.as_bytes())));
        event
            .summary(&plain(&format!("The quote of {} ends: {title}", quote.shop)))
            .description(&plain(&format!("{}, revision {revision}", name.as_str())))
            .append_property(whole_day("DTSTART", until))
            .append_property(whole_day("DTEND", until.plus(1).unwrap_or(until)));
        calendar.push(event.done());
    }
    Ok(calendar.done().to_string())
}

/// When a plan was changed last, as each of its events says it.
struct Changed {
    /// The moment in universal time.
    moment: String,
    revision: u32,
}

impl Changed {
    /// At a revision of a plan; a plan that was never saved is as it is now.
    fn at(notebook: &Notebook, name: &Name, revision: u32) -> Result<Self, Error> {
        let all = notebook.store().revisions(name)?;
        let saved = all.into_iter().find(|one| one.number == revision).map(|one| one.saved);
        let moment = saved.unwrap_or_else(|| notebook.moment());
        let seconds = moment.split('.').next().unwrap_or_default().trim_end_matches('Z');
        Ok(Self { moment: format!("{}Z", seconds.replace(['-', ':'], "")), revision })
    }

    /// An event that keeps its name as long as the program knows it by the same words, and takes nobody's time.
    fn event(&self, own: &str) -> Event {
        let mut event = Event::new();
        event
            .uid(&format!("{own}@makeready.invalid"))
            .add_property("DTSTAMP", &self.moment)
            .add_property("LAST-MODIFIED", &self.moment)
            .add_property("SEQUENCE", self.revision.to_string())
            .add_property("TRANSP", "TRANSPARENT");
        event
    }
}

/// Year, month and day in digits, as in RFC 5545.
fn digits(day: Day) -> String {
    day.iso().replace('-', "")
}

/// Without controls, which a calendar cannot hold.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// As RFC 5545, 3.3.11, writes a text; the crate does so only for the properties it knows, and the calendar's name is none.
fn escaped(text: &str) -> String {
    text.replace('\\', r"\\").replace(',', r"\,").replace(';', r"\;")
}

/// A whole day as a property.
fn whole_day(name: &str, day: Day) -> Property {
    let mut property = Property::new(name, digits(day));
    property.add_parameter("VALUE", "DATE");
    property.done()
}
