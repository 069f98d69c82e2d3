//! A shop begun on the page: its trade, its name, its currency and the days of its quote; its price list is filled in after.

use axum::body::Bytes;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use engine::Message;
use engine::document::price_edit::NewSheet;
use engine::document::{Document, Front, Kind, front};
use engine::measure::{Currency, Day, Units};
use engine::trade::roles::ROLES;
use serde::Serialize;

use super::form::field;
use super::page;
use crate::days;
use crate::error::Error;
use crate::state::App;

/// The form.
pub(crate) async fn get(State(app): State<App>) -> Result<Html<String>, Error> {
    // As the shops that are there already.
    let sheets = app.notebook.documents.all(Kind::RateSheet);
    let like = sheets.first().and_then(|(name, _)| app.notebook.rates.text(name));
    let like = like.map_or_else(Front::default, |kept| Document::read(front::head_of(&kept.text)).front);
    let entered = Entered {
        trade: String::new(),
        name: String::new(),
        currency: like.currency.code.to_owned(),
        units: units_word(like.units).to_owned(),
        quoted: app.notebook.today().iso(),
        until: String::new(),
    };
    form(&app, entered, None)
}

/// Begins the shop and leads to its page; what cannot be used is told above the form, which keeps what was entered.
pub(crate) async fn post(State(app): State<App>, body: Bytes) -> Result<Response, Error> {
    let entered = Entered::of(&body);
    let sent = entered.clone();
    let made = app
        .with(move |notebook| {
            let (quoted, until, currency) = (sent.quoted()?, sent.until()?, sent.currency()?);
            let (trade, name, units) = (sent.trade.as_str(), sent.name.as_str(), sent.units());
            notebook.begin_shop(&NewSheet { trade, name, quoted, until, currency, units })
        })
        .await;
    match made {
        Ok(name) => Ok(Redirect::to(&format!("/rates/{}", name.in_url())).into_response()),
        Err(Error::Unusable(message)) => {
            Ok((StatusCode::UNPROCESSABLE_ENTITY, form(&app, entered, Some(&message))?).into_response())
        }
        Err(error) => Err(error),
    }
}

/// What stands in the form.
#[derive(Clone, Debug, Serialize)]
struct Entered {
    trade: String,
    name: String,
    currency: String,
    units: String,
    quoted: String,
    until: String,
}

impl Entered {
    fn of(body: &[u8]) -> Self {
        let field = |name: &str| field(body, name).unwrap_or_default().trim().to_owned();
        Self {
            trade: field("trade"),
            name: field("name"),
            currency: field("currency"),
            units: field("units"),
            quoted: field("quoted"),
            until: field("until"),
        }
    }

    fn quoted(&self) -> Result<Day, Error> {
        days::entered(&self.quoted)
    }

    fn until(&self) -> Result<Option<Day>, Error> {
        Some(self.until.as_str()).filter(|until| !until.is_empty()).map(days::entered).transpose()
    }

    fn currency(&self) -> Result<Currency, Error> {
        Currency::of(&self.currency).ok_or_else(|| {
            let what = format!("`{}` is not a currency", self.currency);
            Error::unusable(what, "choose it by its three letters, such as USD, EUR or JPY")
        })
    }

    fn units(&self) -> Units {
        if self.units == units_word(Units::Metric) { Units::Metric } else { Units::Inch }
    }
}

fn units_word(units: Units) -> &'static str {
    if units == Units::Metric { "metric" } else { "inch" }
}

fn form(app: &App, entered: Entered, wrong: Option<&Message>) -> Result<Html<String>, Error> {
    let trades = ROLES.iter().map(|role| Trade { name: role.name, work: role.work.to_lowercase() }).collect();
    let currencies = Currency::all().iter().map(|currency| currency.code).collect();
    let wrong = wrong.map(|message| format!("{} {}", super::sentence(&message.what), super::sentence(&message.next)));
    page(app, "new-shop.html", &NewShopPage { trades, currencies, entered, wrong })
}

#[derive(Serialize)]
struct NewShopPage {
    trades: Vec<Trade>,
    currencies: Vec<&'static str>,
    entered: Entered,
    /// Why the shop was not begun.
    wrong: Option<String>,
}

#[derive(Serialize)]
struct Trade {
    name: &'static str,
    work: String,
}
