//! What a new text of a rate sheet would move, and in which plans; quotes that plans hold to.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::Facts;
use engine::document::{Document, Kind as Sort};
use engine::evaluate::rates;
use engine::measure::Day;
use engine::render::compare::{Kind, Moved, Results};
use parking_lot::Mutex;

use super::calculator::head_of;
use super::front_matter::{dated, held_to};
use super::rate_sheets::Shelf;
use super::summary_cache::{at_once, ledger_of};
use super::{Entry, Notebook, Saved};
use crate::days;
use crate::error::Error;
use crate::names::Name;
use crate::store::ledger::Ledgers;

/// Lines of a rate sheet that stand in its head begin so: `head.quoted`, the day it was given, and `head.until`, the last day
/// it holds.
const HEAD: &str = "head.";

/// What a new text of a rate sheet would do to one plan.
#[derive(Clone, Debug)]
pub struct PlanMoves {
    /// The plan.
    pub name: Name,
    /// Its title.
    pub title: String,
    /// What moves, the weightiest first.
    pub moved: Vec<Moved>,
    /// Rules that would no longer be kept, and what could no longer be calculated.
    pub broken: Vec<String>,
    /// The quote it holds to, so that nothing moves.
    pub held: Option<Day>,
    /// The day it was hung: it keeps the prices of that day, so that nothing moves.
    pub hung: Option<Day>,
    /// What the shop does for it, when its head names the sheet.
    pub role: Option<String>,
}

/// What a new text of a rate sheet would do.
#[derive(Clone, Debug)]
pub struct Moves {
    /// In the sheet itself.
    pub lines: Vec<Moved>,
    /// In every plan that draws on it.
    pub plans: Vec<PlanMoves>,
    /// The day the sheet that stands was quoted, and the day of the new one.
    pub quoted: (Option<Day>, Option<Day>),
    /// What is wrong with the new text.
    pub problems: usize,
}

/// A new text of a rate sheet, and what every plan is calculated on beside it.
struct Ahead<'a> {
    sheet: &'a Name,
    draft: &'a str,
    /// The rate sheets as they stand, and with the new text.
    shelf: Arc<Shelf>,
    then: Arc<BTreeMap<String, String>>,
    ledgers: Ledgers,
}

impl Notebook {
    /// The plans that draw on a rate sheet: name and title.
    pub fn drawing_on(&self, sheet: &Name) -> Vec<(Name, String)> {
        let quoted = format!("\"{}\"", sheet.as_str());
        // What a plan used when it was last calculated is known; where it is not, its text tells.
        let draws = |name: &Name, entry: &Entry| match self.summaries.used_by(name, entry) {
            Some(sheets) => sheets.iter().any(|one| one == sheet.as_str()),
            None => self.documents.as_read(name).is_ok_and(|kept| kept.text.contains(&quoted)),
        };
        let all = self.documents.all(Sort::Plan).into_iter();
        all.filter(|(name, entry)| draws(name, entry)).map(|(name, entry)| (name, entry.title)).collect()
    }

    /// What a new text of a rate sheet would move, before it is saved.
    ///
    /// # Errors
    /// When the sheet is not there, or the record cannot be read.
    pub fn moves(&self, sheet: &Name, draft: &str) -> Result<Moves, Error> {
        let kept = self.text(sheet)?;
        let calculate = |text: &str| self.calculator.calculate(sheet, text, None);
        let (now, then) = (calculate(&kept.text)?, calculate(draft)?);
        let lines = Results::of(&now.document, &now.evaluation).moved(&Results::of(&then.document, &then.evaluation));
        let _turn = self.rates.compare();
        let (drawing, ledgers) = (self.drawing_on(sheet), self.store.ledgers(self.today())?);
        let ((_, shelf), found) = (self.rates.now(), Mutex::new(Vec::new()));
        let ahead = Ahead { sheet, draft, then: shelf.with(sheet.as_str(), draft), shelf, ledgers };
        at_once(&drawing, |(name, _)| {
            let moves = self.moves_of(name, &ahead);
            found.lock().push(moves);
        });
        let found = found.into_inner();
        let mut plans = found.into_iter().collect::<Result<Vec<_>, _>>()?;
        // Those that move most come first, those that hold to their quotes last.
        plans.sort_by_key(|plan| {
            (plan.moved.is_empty(), plan.held.is_some() || plan.hung.is_some(), plan.title.clone())
        });
        let quoted = (now.document.front.quoted, then.document.front.quoted);
        Ok(Moves { lines, plans, quoted, problems: then.evaluation.problems.len() })
    }

    fn moves_of(&self, name: &Name, ahead: &Ahead<'_>) -> Result<PlanMoves, Error> {
        let kept = self.documents.as_read(name)?;
        let document = Document::read(&kept.text);
        let front = &document.front;
        let role = front.shops.iter().find(|(_, one)| one == ahead.sheet.as_str()).map(|(role, _)| role.clone());
        let held = role.as_ref().and_then(|role| front.quotes.iter().find(|(one, _)| one == role)).map(|(_, day)| *day);
        let title = self.title_now(name);
        let hung = front.hung;
        if held.is_some() || hung.is_some() {
            let (name, moved, broken) = (name.clone(), Vec::new(), Vec::new());
            return Ok(PlanMoves { name, title, moved, broken, held, hung, role });
        }
        let shelf = self.rates.shelf_of(front)?;
        let view = self.documents.view(front);
        let facts = self.calculator.facts_on(&shelf, ledger_of(&ahead.ledgers, name));
        // Most plans hold to no quote, and see the same rate sheets.
        let sheets = if Arc::ptr_eq(&shelf, &ahead.shelf) {
            ahead.then.clone()
        } else {
            shelf.with(ahead.sheet.as_str(), ahead.draft)
        };
        let facts_then = Facts { sheets, ..facts.clone() };
        let now = self.calculator.evaluator.here(document, &facts, view.clone())?;
        let now = (Results::of(&now.document, &now.evaluation), now.document);
        let then = self.calculator.evaluator.here(now.1, &facts_then, view)?;
        let moved = now.0.moved(&Results::of(&then.document, &then.evaluation));
        let broken = moved
            .iter()
            .filter(|one| match one.kind {
                Kind::Rule => one.to.as_deref() == Some("not kept"),
                Kind::Problem => one.to.is_some(),
                _ => false,
            })
            .map(|one| one.name.clone())
            .collect();
        Ok(PlanMoves { name: name.clone(), title, moved, broken, held, hung, role })
    }

    /// A rate sheet's text with one literal filled in; nothing is saved.
    ///
    /// # Errors
    /// When there is no such line, or what was entered cannot be read.
    pub fn fill_in(&self, sheet: &Name, text: &str, line: &str, part: usize, entered: &str) -> Result<String, Error> {
        if let Some(key) = line.strip_prefix(HEAD) {
            let day = Some(entered.trim()).filter(|day| !day.is_empty()).map(days::entered);
            return match (key, day.transpose()?) {
                ("quoted", None) => Err(Error::unusable(
                    "a quote without its day cannot be told from another",
                    "enter the day it was given on",
                )),
                ("quoted" | "until", day) => dated(text, key, day),
                _ => Err(Error::missing(format!("a rate sheet has no `{key}`"), "look at the page again")),
            };
        }
        let worked = self.calculator.calculate(sheet, text, None)?;
        rates::fill_in(&worked.document, &worked.evaluation, line, part, entered).map_err(Error::Unusable)
    }

    /// What a rate sheet asks at a few sizes, by each of its functions of one size.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn prices_by_size(&self, sheet: &Name, text: &str) -> Result<Vec<rates::Priced>, Error> {
        let document = Document::read(text);
        let facts = self.calculator.facts(sheet, &document.front, None)?;
        self.calculator.evaluator.prices(text, &facts)
    }

    /// Lets a plan hold to the quote of a day, or lets it go.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the plan has no such shop or no such quote is kept.
    pub fn hold(&self, name: &Name, from: &str, role: &str, day: Option<Day>) -> Result<Saved, Error> {
        let quotes = {
            let head = head_of(&self.text(name)?.text);
            let sheet = head.front.shops.iter().find(|(one, _)| one == role).map(|(_, sheet)| sheet.clone());
            let sheet = sheet.ok_or_else(|| {
                Error::missing(
                    format!("this plan has no shop called `{role}`"),
                    "name it in the head's `[shops]` first",
                )
            })?;
            self.rates.quotes_of(&Name::new(&sheet).map_err(Error::Missing)?)?
        };
        if let Some(day) = day.filter(|day| !quotes.contains(day)) {
            let kept: Vec<_> = quotes.iter().map(ToString::to_string).collect();
            return Err(Error::missing(
                format!("no quote of {day} is kept"),
                if kept.is_empty() {
                    "write `quoted` in the head of the rate sheet".into()
                } else {
                    format!("there are those of {}", kept.join(", "))
                },
            ));
        }
        self.save_change(name, from, None, |now| held_to(&now.text, role, day))
    }
}
