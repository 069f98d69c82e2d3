//! Beginning a plan: put together from stages, or as a copy of a past one.

use std::collections::{BTreeMap, BTreeSet};

use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use engine::document::stages::{Head, Stage};
use engine::document::{Document, Kind, front};
use engine::measure::{Currency, Day, Units};
use engine::render::hanging;
use engine::trade::{holidays, roles};
use serde::{Deserialize, Serialize};
use serde_json::json;

use super::extract::name;
use super::{Field, Linked, page};
use crate::assets::{ALL_STAGES, BEGINNINGS};
use crate::error::Error;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::state::App;

/// Which set of stages is chosen to start with.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    set: String,
}

/// The form.
pub(crate) async fn get(State(app): State<App>, Query(asked): Query<Asked>) -> Result<Html<String>, Error> {
    let notebook = &app.notebook;
    let chosen = BEGINNINGS.iter().find(|(name, ..)| *name == asked.set).or(BEGINNINGS.first());
    let chosen_stages = chosen.map_or(&[][..], |(.., stages)| stages);
    let shops = shops_of(notebook);
    let stages = ALL_STAGES.iter().map(|stage| StageRow {
        name: &stage.name,
        title: &stage.title,
        about: &stage.about,
        trade: stage.trade.as_deref(),
        shops: stage.trade.as_deref().map(|trade| of_trade(&shops, trade)).unwrap_or_default(),
        chosen: chosen_stages.contains(&stage.name.as_str()),
    });
    let plans = notebook.documents.all(Kind::Plan);
    let own = BeginPage {
        plans: plans.into_iter().map(|(name, entry)| Linked::to(&name, entry.title)).collect(),
        sets: BEGINNINGS
            .iter()
            .map(|(name, title, about, _)| SetRow {
                name,
                title,
                about,
                chosen: chosen.is_some_and(|(one, ..)| one == name),
            })
            .collect(),
        stages: stages.collect(),
        films: FILMS,
        currencies: Currency::all().iter().map(|one| one.code).collect(),
        today: notebook.today().iso(),
    };
    page(&app, "begin.html", &own)
}

/// The films a plan can begin with; others are chosen on the plan.
const FILMS: &[&str] =
    &["135", "6x4.5", "6x6", "6x7", "6x8", "6x9", "6x12", "6x17", "6x24", "4x5", "5x7", "8x10", "11x14"];

#[derive(Serialize)]
struct BeginPage<'a> {
    plans: Vec<Linked>,
    sets: Vec<SetRow>,
    stages: Vec<StageRow<'a>>,
    films: &'a [&'a str],
    currencies: Vec<&'static str>,
    today: String,
}

#[derive(Serialize)]
struct SetRow {
    name: &'static str,
    title: &'static str,
    about: &'static str,
    chosen: bool,
}

#[derive(Serialize)]
struct StageRow<'a> {
    name: &'a str,
    title: &'a str,
    about: &'a str,
    /// Who does it, when a shop does.
    trade: Option<&'a str>,
    /// The shops of that trade.
    shops: Vec<ShopChoice>,
    chosen: bool,
}

/// A shop to choose from.
#[derive(Clone, Serialize)]
pub(crate) struct ShopChoice {
    /// The path of its rate sheet.
    pub(crate) sheet: String,
    pub(crate) title: String,
    #[serde(skip)]
    trade: String,
}

/// The shops of the notebook, with their trades.
pub(crate) fn shops_of(notebook: &Notebook) -> Vec<ShopChoice> {
    let all = notebook.documents.all(Kind::RateSheet).into_iter();
    let shop = |(name, title): (Name, String)| {
        let kept = notebook.rates.text(&name);
        let front = kept.map(|kept| Document::read(front::head_of(&kept.text)).front).unwrap_or_default();
        ShopChoice { sheet: name.as_str().to_owned(), title, trade: front.trade.unwrap_or_default() }
    };
    all.map(|(name, entry)| shop((name, entry.title))).collect()
}

/// Those that do this.
pub(crate) fn of_trade(shops: &[ShopChoice], trade: &str) -> Vec<ShopChoice> {
    let same =
        |one: &str| one == trade || roles::role(one).map(|one| one.name) == roles::role(trade).map(|one| one.name);
    shops.iter().filter(|shop| !shop.trade.is_empty() && same(&shop.trade)).cloned().collect()
}

/// What the form sends.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct BeginForm {
    title: String,
    /// The plan it is a copy of.
    from: Option<String>,
    /// Titles of the sections that stay behind.
    without: Vec<String>,
    /// A set of stages, in the place of stages one by one.
    beginning: Option<String>,
    stages: Vec<String>,
    film: String,
    width: String,
    edition: String,
    proofs: String,
    units: String,
    currency: String,
    start: String,
    /// Which days are off besides weekends.
    off: String,
    /// The rate sheet of each trade.
    shops: BTreeMap<String, String>,
}

impl BeginForm {
    /// Reads what was sent: data, or a form sent without scripts.
    fn read(headers: &HeaderMap, body: &[u8]) -> Result<(Self, bool), Error> {
        let kind = headers.get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        if kind.is_some_and(|kind| kind.starts_with("application/x-www-form-urlencoded")) {
            return Ok((Self::form(body), true));
        }
        serde_json::from_slice(body)
            .map(|wanted| (wanted, false))
            .map_err(|_| Error::unusable("what was sent has no title", "write the title of the artwork"))
    }

    fn form(body: &[u8]) -> Self {
        let mut wanted = Self::default();
        for (key, value) in form_urlencoded::parse(body) {
            let value = value.into_owned();
            match &*key {
                "title" => wanted.title = value,
                "from" => wanted.from = Some(value),
                "stage" => wanted.stages.push(value),
                "film" => wanted.film = value,
                "width" => wanted.width = value,
                "edition" => wanted.edition = value,
                "proofs" => wanted.proofs = value,
                "units" => wanted.units = value,
                "currency" => wanted.currency = value,
                "start" => wanted.start = value,
                "off" => wanted.off = value,
                _ => {
                    // Two parts of the work may be of one trade.
                    if let Some(trade) = key.strip_prefix("shop-").filter(|_| !value.is_empty()) {
                        wanted.shops.insert(trade.to_owned(), value);
                    }
                }
            }
        }
        wanted
    }

    /// The stages wanted, in the order of the work.
    fn stages(&self) -> Result<Vec<&'static Stage>, Error> {
        let named: Vec<&str> = match &self.beginning {
            Some(set) => {
                let set = BEGINNINGS.iter().find(|(name, ..)| name == set).ok_or_else(|| {
                    Error::missing(format!("there is no beginning called `{set}`"), "choose one from the list")
                })?;
                set.3.to_vec()
            }
            None => self.stages.iter().map(String::as_str).collect(),
        };
        if let Some(unknown) = named.iter().find(|name| !ALL_STAGES.iter().any(|stage| stage.name == **name)) {
            return Err(Error::missing(format!("there is no stage called `{unknown}`"), "choose from the list"));
        }
        Ok(ALL_STAGES.iter().filter(|stage| named.contains(&stage.name.as_str())).collect())
    }

    fn head(&self, notebook: &Notebook, stages: &[&Stage]) -> Result<Head, Error> {
        let count = |what: &str, text: &str| match text.trim() {
            "" => Ok(0),
            text => text.parse::<u32>().ok().filter(|count| *count <= 10_000).ok_or_else(|| {
                Error::unusable(format!("`{text}` is not a number of {what}"), "write a whole number, like 5")
            }),
        };
        let units = if self.units == Units::Metric.word() { Units::Metric } else { Units::Inch };
        let currency = if self.currency.is_empty() { "USD" } else { &self.currency };
        let sheets = shops_of(notebook);
        let shops = stages.iter().filter_map(|stage| stage.trade.as_ref()).map(|trade| {
            let sheet = self.shops.get(trade).filter(|sheet| sheets.iter().any(|one| one.sheet == **sheet));
            (trade.clone(), sheet.cloned().unwrap_or_default())
        });
        let start = match self.start.trim() {
            "" => notebook.today(),
            start => Day::parse(start)
                .ok_or_else(|| Error::unusable(format!("`{start}` is not a day"), "write it like 2026-11-30"))?,
        };
        Ok(Head {
            title: self.title.clone(),
            edition: count("prints", &self.edition)?,
            proofs: count("proofs", &self.proofs)?,
            units,
            currency: Currency::of(currency)
                .ok_or_else(|| Error::unusable(format!("`{currency}` is not a currency"), "write its three letters"))?,
            start,
            holidays: days_off(&self.off, start),
            shops: shops.collect(),
        })
    }

    fn text(&self, notebook: &Notebook) -> Result<String, Error> {
        let stages = self.stages()?;
        let head = self.head(notebook, &stages)?;
        notebook.composed(&head, &stages, &[("Film", &self.film), ("Print width", &self.width)])
    }
}

/// The days off from the first day of the plan to the end of the year after.
fn days_off(which: &str, start: Day) -> Vec<Day> {
    let first = start.numbers().0;
    let of = |year: i16| match which {
        "none" => Vec::new(),
        "christmas" => {
            [(1, 1), (12, 25), (12, 26)].into_iter().filter_map(|(month, day)| Day::new(year, month, day)).collect()
        }
        _ => holidays::days_off(year).unwrap_or_default(),
    };
    [first, first.saturating_add(1)].into_iter().flat_map(of).filter(|day| *day >= start).collect()
}

/// Begins a plan.
pub(crate) async fn post(State(app): State<App>, headers: HeaderMap, body: Bytes) -> Result<Response, Error> {
    let (wanted, plain) = BeginForm::read(&headers, &body)?;
    let made = app
        .with(move |notebook| match wanted.from.as_deref().filter(|from| !from.is_empty()) {
            Some(from) => notebook.copy(&name(from)?, &wanted.title, &wanted.without),
            None => notebook.begin(&wanted.title, &wanted.text(notebook)?),
        })
        .await?;
    let location = format!("/plan/{}", made.in_url());
    if plain {
        return Ok(Redirect::to(&location).into_response());
    }
    Ok(Json(json!({ "location": location })).into_response())
}

/// What the piece would be, before it is begun.
pub(crate) async fn draft(State(app): State<App>, headers: HeaderMap, body: Bytes) -> Result<Response, Error> {
    let (mut wanted, _) = BeginForm::read(&headers, &body)?;
    if wanted.title.trim().is_empty() {
        "Untitled".clone_into(&mut wanted.title);
    }
    app.with(move |notebook| {
        let text = wanted.text(notebook)?;
        let worked =
            notebook.calculator.calculate(&Name::from_title(&wanted.title).map_err(Error::Unusable)?, &text, None)?;
        let evaluation = &worked.evaluation;
        let value = |path: &str| evaluation.value_of(path).map(|found| found.value.shown(evaluation.units));
        let last = evaluation.record.steps.iter().map(|step| step.end).max();
        let weight = value("framed_weight").or_else(|| value("mounted_weight"));
        let facts = [
            ("printed", value("piece.size")),
            ("from the film", value("piece.ppi")),
            ("outside", value("frame.outside")),
            ("weight", weight.map(|weight| format!("about {weight}, calculated and not weighed"))),
            ("total", evaluation.record.total(None)),
            ("done by", last.map(|day| day.to_string())),
        ];
        let facts =
            facts.into_iter().filter_map(|(label, value)| Some(Field { label: label.to_owned(), value: value? }));
        let gives = evaluation.blocks.iter().flat_map(|block| &block.gives);
        let cautions: BTreeSet<_> = gives.filter_map(|named| named.found.caution).collect();
        let rules = evaluation.record.rules.iter().filter(|rule| !rule.kept).map(|rule| rule.text.clone());
        let problems = evaluation.problems.iter().map(|problem| format!("{}; {}", problem.what, problem.next));
        let drawing = hanging::drawing(&worked.document, evaluation, wanted.title.trim()).map(|drawn| drawn.svg());
        Ok(Json(json!({
            "facts": facts.collect::<Vec<_>>(),
            "broken": rules.chain(problems).collect::<Vec<_>>(),
            "cautions": cautions,
            "drawing": drawing,
        }))
        .into_response())
    })
    .await
}

/// Makes the next piece from a plan.
pub(crate) async fn next(State(app): State<App>, Path(plan): Path<String>, body: Bytes) -> Result<Response, Error> {
    let name = name(&plan)?;
    let wanted: BeginForm = serde_json::from_slice(&body)
        .map_err(|_| Error::unusable("what was sent has no title", "write the title of the next piece"))?;
    let made = app.with(move |notebook| notebook.copy(&name, &wanted.title, &wanted.without)).await?;
    Ok(Json(json!({ "location": format!("/plan/{}", made.in_url()) })).into_response())
}
