//! A plan: its sheet, its text, and every change to it. Rate sheets share all but the page itself.

use axum::Json;
use axum::body::Bytes;
use axum::extract::State;
use axum::http::{HeaderMap, header};
use axum::response::{Html, IntoResponse, Response};
use engine::measure::{Day, Units};
use serde::Serialize;

use super::answer::{self, fields, frame};
use super::begin::{ShopChoice, of_trade, shops_of};
use super::extract::{About, Change, read, sent};
use super::{Field, Linked, Shop, file, page};
use crate::error::Error;
use crate::evaluator::Worked;
use crate::names::Name;
use crate::notebook::{Current, Notebook};
use crate::sheets::{self, Paper};
use crate::state::App;
use crate::store::Line;
use crate::titles::{sentence, title};

/// The plan's page.
pub(crate) async fn get(State(app): State<App>, about: About) -> Result<Html<String>, Error> {
    about.with(move |notebook, name, units| rendered(&app, notebook, name, units)).await
}

fn rendered(app: &App, notebook: &Notebook, name: &Name, units: Option<Units>) -> Result<Html<String>, Error> {
    let Current { kept, worked, revision } = notebook.current(name, units)?;
    let ledger = notebook.store().ledger(name)?;
    let (origin, descendants) = kin(notebook, name, &worked);
    let (front, evaluation) = (&worked.document.front, &worked.evaluation);
    let edition = evaluation.edition.as_ref().map(|edition| PlanEdition {
        size: edition.size(),
        proofs: front.proofs,
        remaining: edition.remaining(),
        next: edition.next(),
        entries: ledger.iter().filter(|line| !line.print.starts_with("AP")).collect(),
    });
    let sections = worked.document.sections.iter().filter(|one| one.level == 2);
    let own = PlanPage {
        slug: name.in_url(),
        title: title(&worked.document, name),
        sentence: sentence(&worked.document),
        etag: &kept.hash,
        revision,
        frame: frame(&worked.document),
        saved: format!("saved, revision {revision}"),
        block: fields(&worked, revision),
        article: &worked.article().html,
        shops: Shop::all(&worked.view.shops),
        bound: bound(notebook, &worked),
        units: evaluation.units.word(),
        other_units: evaluation.units.other().word(),
        edition,
        origin,
        descendants,
        sections: sections.map(|one| one.title.as_str()).collect(),
        quotes: quotes(&worked),
        hung: front.hung.map(|day| day.to_string()),
    };
    page(app, "plan.html", &own)
}

#[derive(Serialize)]
struct PlanPage<'a> {
    slug: String,
    title: String,
    sentence: String,
    etag: &'a str,
    revision: u32,
    frame: String,
    saved: String,
    /// The title block.
    block: Vec<Field>,
    article: &'a str,
    shops: Vec<Shop>,
    bound: Vec<BoundShop>,
    units: &'static str,
    other_units: &'static str,
    edition: Option<PlanEdition<'a>>,
    origin: Option<Linked>,
    descendants: Vec<Linked>,
    sections: Vec<&'a str>,
    quotes: Vec<QuoteRow<'a>>,
    hung: Option<String>,
}

/// Who does something for the plan, and who could.
#[derive(Serialize)]
struct BoundShop {
    role: String,
    sheet: String,
    name: String,
    choices: Vec<ShopChoice>,
    /// The one named is among the choices.
    is_choice: bool,
}

/// The shops of the head, each with those of its trade.
fn bound(notebook: &Notebook, worked: &Worked) -> Vec<BoundShop> {
    let all = shops_of(notebook);
    let shops = worked.document.front.shops.iter().zip(&worked.view.shops);
    let bound = shops.map(|((role, sheet), (_, name))| {
        let choices = of_trade(&all, role);
        let is_choice = choices.iter().any(|one| one.sheet == *sheet);
        BoundShop { role: role.clone(), sheet: sheet.clone(), name: name.clone(), choices, is_choice }
    });
    bound.collect()
}

#[derive(Serialize)]
struct PlanEdition<'a> {
    size: u32,
    proofs: u32,
    remaining: u32,
    next: Option<u32>,
    /// What the ledger says of its numbered prints.
    entries: Vec<&'a Line>,
}

#[derive(Serialize)]
struct QuoteRow<'a> {
    role: Option<&'a str>,
    shop: &'a str,
    day: Option<String>,
    /// The day as a person reads it.
    words: Option<String>,
    until: Option<String>,
    held: bool,
}

/// The plan this one was made from, and those made from it.
fn kin(notebook: &Notebook, name: &Name, worked: &Worked) -> (Option<Linked>, Vec<Linked>) {
    let origin = worked.document.front.from.as_ref().and_then(|from| Name::new(from).ok());
    let origin = origin.filter(|from| notebook.text(from).is_ok());
    let made = notebook.documents.made_from(name).into_iter().map(|(name, title)| Linked::to(&name, title)).collect();
    (origin.map(|from| Linked::to(&from, notebook.title_now(&from))), made)
}

/// The quotes a plan uses that can be held or let go.
fn quotes(worked: &Worked) -> Vec<QuoteRow<'_>> {
    let all = worked.evaluation.quotes.iter();
    let quotes =
        all.filter(|quote| quote.role.is_some() && (quote.quoted.is_some() || quote.held)).map(|quote| QuoteRow {
            role: quote.role.as_deref(),
            shop: &quote.shop,
            day: quote.quoted.map(Day::iso),
            words: quote.quoted.map(|day| day.to_string()),
            until: quote.until.map(|day| day.to_string()),
            held: quote.held,
        });
    quotes.collect()
}

/// What the page shows, as data.
pub(crate) async fn sheet(about: About) -> Result<Response, Error> {
    about.with(as_it_stands).await
}

/// What the page shows of a document that is not being changed.
pub(crate) fn as_it_stands(notebook: &Notebook, name: &Name, units: Option<Units>) -> Result<Response, Error> {
    let Current { kept, worked, revision } = notebook.current(name, units)?;
    Ok(Json(answer::whole(notebook, &worked, name, Some((revision, &kept.hash)))).into_response())
}

/// The whole plan as a file a reader of PDF shows as it is printed.
pub(crate) async fn pdf(about: About) -> Result<Response, Error> {
    let (paper, name) = (Paper::of(about.asked.paper.as_deref()), about.name.as_str().to_owned());
    let made = about.with(move |notebook, name, units| sheets::plan(notebook, name, paper, units)).await?;
    Ok(file::pdf(made.pdf, &name))
}

/// The plan's text.
pub(crate) async fn text(about: About) -> Result<Response, Error> {
    about
        .with(|notebook, name, _| {
            let kept = notebook.text(name)?;
            let headers = [
                (header::CONTENT_TYPE, "text/markdown; charset=utf-8".to_owned()),
                (header::ETAG, format!("\"{}\"", kept.hash)),
            ];
            Ok((headers, kept.text.clone()).into_response())
        })
        .await
}

/// Saves a whole text.
pub(crate) async fn put(change: Change, body: Bytes) -> Result<Response, Error> {
    let text = sent(body)?;
    change.save(move |notebook, name, from| notebook.save(name, &text, from)).await
}

/// With this header a page being written on says which article it shows: the mark it was last told, or anything else for none.
const SHOWN: &str = "shown";

/// Calculates a text without saving it. A page that says what it shows is told the passages that differ.
pub(crate) async fn draft(about: About, headers: HeaderMap, body: Bytes) -> Result<Response, Error> {
    let text = sent(body)?;
    let (app, shows) = (about.app.clone(), headers.get(SHOWN).cloned());
    about
        .with(move |notebook, name, units| {
            let worked = notebook.calculator.calculate(name, &text, units)?;
            let mut answer = answer::around(notebook, &worked, name, None);
            let Some(shows) = shows else {
                answer.insert("article".into(), worked.article().html.as_str().into());
                return Ok(Json(answer).into_response());
            };
            let shows = shows.to_str().ok().and_then(|mark| u64::from_str_radix(mark, 16).ok());
            let (mark, parts) = app.page_diff.parts(worked.article(), shows);
            answer.insert("shown".into(), format!("{mark:x}").into());
            answer.insert("parts".into(), serde_json::to_value(parts).unwrap_or_default());
            Ok(Json(answer).into_response())
        })
        .await
}

/// A given as entered on the page.
#[derive(Debug, serde::Deserialize)]
struct Given {
    given: usize,
    value: String,
}

/// Rewrites one given.
pub(crate) async fn given(change: Change, body: Bytes) -> Result<Response, Error> {
    let entered = read::<Given>(&body)?;
    change.save(move |notebook, name, from| notebook.set_given(name, from, entered.given, &entered.value)).await
}

/// A box as ticked on the page.
#[derive(Debug, serde::Deserialize)]
struct Tick {
    line: usize,
    done: bool,
}

/// Ticks or clears one box.
pub(crate) async fn tick(change: Change, body: Bytes) -> Result<Response, Error> {
    let entered = read::<Tick>(&body)?;
    change.save(move |notebook, name, from| notebook.set_tick(name, from, entered.line, entered.done)).await
}

/// A shop as chosen on the page.
#[derive(Debug, serde::Deserialize)]
struct Chosen {
    role: String,
    sheet: String,
}

/// Names the shop that does something for the plan.
pub(crate) async fn shop(change: Change, body: Bytes) -> Result<Response, Error> {
    let chosen = read::<Chosen>(&body)?;
    change.save(move |notebook, name, from| notebook.set_shop(name, from, &chosen.role, &chosen.sheet)).await
}

/// Names, asks, rules and problems for other programs.
pub(crate) async fn values(about: About) -> Result<Response, Error> {
    about
        .with(|notebook, name, units| {
            let Current { worked, revision, .. } = notebook.current(name, units)?;
            let all = crate::export::values(&worked.document, &worked.evaluation, name.as_str(), revision);
            Ok(Json(all).into_response())
        })
        .await
}
