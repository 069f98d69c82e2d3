//! Rate sheets: which plans draw on one, what a new text of it would move, and quotes plans hold to.

use std::sync::{Arc, Mutex, PoisonError};

use engine::compare::{Kind, Moved, Results};
use engine::document::{Document, Kind as Sort, front, rates};
use engine::measure::Day;
use engine::{Trouble, compare};
use toml_edit::{DocumentMut, Table, value};

use super::summary::at_once;
use super::{Notebook, Saved, held};
use crate::evaluator::limit;
use crate::names::Name;
use crate::trouble::Refusal;

/// What a new text of a rate sheet would do to one plan.
#[derive(Clone, Debug)]
pub struct PlanMoves {
    /// The plan.
    pub name: Name,
    /// Its title.
    pub title: String,
    /// What moves, the weightiest first.
    pub moved: Vec<Moved>,
    /// Rules that would no longer be kept, and what could no longer be worked out.
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

impl Notebook {
    /// The plans that draw on a rate sheet: name and title.
    pub fn drawing_on(&self, sheet: &Name) -> Vec<(Name, String)> {
        let quoted = format!("\"{}\"", sheet.as_str());
        let uses = |text: &str| text.contains(&quoted);
        let all = self.all(Sort::Plan).into_iter();
        all.filter(|(_, entry)| entry.text.as_ref().is_ok_and(|kept| uses(&kept.text)))
            .map(|(name, entry)| (name, entry.title))
            .collect()
    }

    /// What a new text of a rate sheet would move, before it is saved.
    ///
    /// # Errors
    /// When the sheet is not there, or the record cannot be read.
    pub fn moves(&self, sheet: &Name, draft: &str) -> Result<Moves, Refusal> {
        let kept = self.text(sheet)?;
        let (now, then) = (self.work_out(sheet, &kept.text, None)?, self.work_out(sheet, draft, None)?);
        let lines = Results::of(&now.document, &now.evaluation).moved(&Results::of(&then.document, &then.evaluation));
        let found = Mutex::new(Vec::new());
        at_once(&self.drawing_on(sheet), |(name, _)| {
            let moves = self.moves_of(name, sheet, draft);
            held(&found).push(moves);
        });
        let found = found.into_inner().unwrap_or_else(PoisonError::into_inner);
        let mut plans = found.into_iter().collect::<Result<Vec<_>, _>>()?;
        // Those that move most come first, those that hold to their quotes last.
        plans.sort_by_key(|plan| {
            (plan.moved.is_empty(), plan.held.is_some() || plan.hung.is_some(), plan.title.clone())
        });
        let quoted = (now.document.front.quoted, then.document.front.quoted);
        Ok(Moves { lines, plans, quoted, problems: then.evaluation.problems.len() })
    }

    fn moves_of(&self, name: &Name, sheet: &Name, draft: &str) -> Result<PlanMoves, Refusal> {
        let kept = self.text(name)?;
        let head = Document::read(front::head_of(&kept.text));
        let role = head.front.shops.iter().find(|(_, one)| one == sheet.as_str()).map(|(role, _)| role.clone());
        let held =
            role.as_ref().and_then(|role| head.front.quotes.iter().find(|(one, _)| one == role)).map(|(_, day)| *day);
        let title = self.title_now(name);
        let hung = head.front.hung;
        if held.is_some() || hung.is_some() {
            let (name, moved, broken) = (name.clone(), Vec::new(), Vec::new());
            return Ok(PlanMoves { name, title, moved, broken, held, hung, role });
        }
        let now = self.work_out(name, &kept.text, None)?;
        let facts = self.facts_with(name, &head.front, sheet.as_str(), draft)?;
        let then = self.evaluator.work_out(&kept.text, &facts, &self.view(&head))?;
        let moved = Results::of(&now.document, &now.evaluation).moved(&Results::of(&then.document, &then.evaluation));
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
    pub fn fill_in(&self, sheet: &Name, text: &str, line: &str, part: usize, entered: &str) -> Result<String, Refusal> {
        let worked = self.work_out(sheet, text, None)?;
        rates::fill_in(&worked.document, &worked.evaluation, line, part, entered).map_err(Refusal::Unusable)
    }

    /// What a rate sheet asks at a few sizes, by each of its functions of one size.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn prices_by_size(&self, sheet: &Name, text: &str) -> Result<Vec<rates::Priced>, Refusal> {
        let document = Document::read(text);
        let facts = self.facts(sheet, &document.front, None)?;
        Ok(rates::prices(&document, &facts, &Arc::default(), Some(limit(&Arc::default()))))
    }

    /// Lets a plan hold to the quote of a day, or lets it go.
    ///
    /// # Errors
    /// As [`Notebook::save`], and when the plan has no such shop or no such quote is kept.
    pub fn hold(&self, name: &Name, from: &str, role: &str, day: Option<Day>) -> Result<Saved, Refusal> {
        let quotes = {
            let head = Document::read(front::head_of(&self.text(name)?.text));
            let sheet = head.front.shops.iter().find(|(one, _)| one == role).map(|(_, sheet)| sheet.clone());
            let sheet = sheet.ok_or_else(|| {
                Refusal::missing(
                    format!("this plan has no shop called `{role}`"),
                    "name it in the head's `[shops]` first",
                )
            })?;
            self.quotes_of(&Name::new(&sheet).map_err(Refusal::Missing)?)?
        };
        if let Some(day) = day.filter(|day| !quotes.contains(day)) {
            let kept: Vec<_> = quotes.iter().map(ToString::to_string).collect();
            return Err(Refusal::missing(
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

    /// What moved since a plan was last saved, when only its surroundings changed: rate sheets, ledger, the day.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn moved_since_saved(&self, name: &Name) -> Result<Vec<Moved>, Refusal> {
        let kept = self.text(name)?;
        let number = self.revision(name, &kept.etag)?;
        let Some(then) = self.store.came_to(name, number)? else { return Ok(Vec::new()) };
        let now = self.work_out(name, &kept.text, None)?;
        Ok(then.moved(&Results::of(&now.document, &now.evaluation)))
    }
}

/// The text with a quote held in its head, or let go.
fn held_to(text: &str, role: &str, day: Option<Day>) -> Result<String, Refusal> {
    let head = front::head_of(text);
    let unread = || {
        Refusal::Unusable(Trouble::new(
            "the head of this plan cannot be read",
            "put the head right first: its problem is told at the top of the page",
        ))
    };
    let lines: Vec<&str> = head.split_inclusive('\n').collect();
    let (Some((first, rest)), true) = (lines.split_first(), lines.len() >= 2) else { return Err(unread()) };
    let (last, inside) = rest.split_last().ok_or_else(unread)?;
    let mut toml: DocumentMut = inside.concat().parse().map_err(|_| unread())?;
    match day {
        Some(day) => {
            let date: toml_edit::Datetime = day.iso().parse().map_err(|_| unread())?;
            let quotes = toml.entry("quotes").or_insert_with(|| toml_edit::Item::Table(Table::new()));
            quotes.as_table_like_mut().ok_or_else(unread)?.insert(role, value(date));
        }
        None => {
            let quotes = toml.get_mut("quotes").and_then(|quotes| quotes.as_table_like_mut());
            let empty = quotes.is_some_and(|quotes| {
                quotes.remove(role);
                quotes.is_empty()
            });
            if empty {
                toml.remove("quotes");
            }
        }
    }
    let written = toml.to_string();
    let gap = if written.is_empty() || written.ends_with('\n') { "" } else { "\n" };
    let before = text.find(head).unwrap_or(0);
    let (bom, body) = (text.get(..before).unwrap_or_default(), text.get(before + head.len()..).unwrap_or_default());
    Ok(format!("{bom}{first}{written}{gap}{last}{body}"))
}

/// What moved, in a sentence.
#[must_use]
pub fn in_words(moved: &[Moved]) -> String {
    compare::words(moved, 3)
}

#[cfg(test)]
mod tests {
    use engine::measure::Day;

    use super::held_to;

    #[test]
    fn a_quote_is_held_and_let_go_and_the_rest_of_the_head_keeps_every_letter() {
        let text = "+++\ntitle = \"A\"   # mine\n\n[shops]\nlab = \"shops/lab\"\n+++\n\n# A\n";
        let day = Day::parse("2026-11-02");
        let held = held_to(text, "lab", day).expect("held");
        assert_eq!(
            held,
            "+++\ntitle = \"A\"   # mine\n\n[shops]\nlab = \"shops/lab\"\n\n[quotes]\nlab = 2026-11-02\n+++\n\n# A\n"
        );
        assert_eq!(held_to(&held, "lab", None).expect("let go"), text);
    }
}
