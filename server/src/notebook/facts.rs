//! What a plan is worked out on: the day, the rate sheets as they stand or as a quote is held, and the ledger as of the day.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::Facts;
use engine::document::{Document, Front, Kind, front};
use engine::measure::{Day, Units};

use super::{Notebook, held};
use crate::folder;
use crate::names::Name;
use crate::store::Saw;
use crate::store::ledger::entries;
use crate::trouble::Refusal;

/// The rate sheets as they stand.
#[derive(Debug, Default)]
pub(super) struct Shelf {
    texts: Arc<BTreeMap<String, String>>,
    marks: BTreeMap<String, String>,
}

/// The texts of rate sheets by name.
type Texts = Arc<BTreeMap<String, String>>;
/// Their marks by name.
type Marks = BTreeMap<String, String>;

impl Notebook {
    /// The facts a plan with this head is worked out on today.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn facts(&self, name: &Name, front: &Front, units: Option<Units>) -> Result<Facts, Refusal> {
        let ledger = entries(&self.store.ledger(name)?, Some(self.today()));
        Ok(Facts { today: self.today(), sheets: self.sheets(front)?.0, ledger, units })
    }

    /// The facts as the record keeps them beside a revision.
    pub(super) fn saw(&self, name: &Name, text: &str) -> Result<Saw, Refusal> {
        let head = Document::read(front::head_of(text));
        let ledger = self.store.ledger(name)?.last().map_or(0, |line| line.line);
        Ok(Saw { today: self.today(), ledger, sheets: self.sheets(&head.front)?.1 })
    }

    /// The facts a revision was worked out on.
    ///
    /// # Errors
    /// When a rate sheet it saw is no longer in the record.
    pub(super) fn facts_then(&self, name: &Name, saw: &Saw) -> Result<Facts, Refusal> {
        let mut sheets = BTreeMap::new();
        for (sheet, mark) in &saw.sheets {
            sheets.insert(sheet.clone(), self.past_text(sheet, mark)?.to_string());
        }
        let mut lines = self.store.ledger(name)?;
        lines.retain(|line| line.line <= saw.ledger);
        Ok(Facts { today: saw.today, sheets: Arc::new(sheets), ledger: entries(&lines, Some(saw.today)), units: None })
    }

    fn past_text(&self, sheet: &str, mark: &str) -> Result<Arc<str>, Refusal> {
        let key = (sheet.to_owned(), mark.to_owned());
        if let Some(text) = held(&self.past).get(&key) {
            return Ok(text.clone());
        }
        let text = self.store.marked_text(sheet, mark)?.ok_or_else(|| {
            Refusal::missing(
                format!("the record has no text of `{sheet}` under the mark {mark}"),
                "the revision that saw it cannot be worked out again",
            )
        })?;
        let text: Arc<str> = text.into();
        held(&self.past).insert(key, text.clone());
        Ok(text)
    }

    /// The rate sheets a plan with this head sees, and their marks: as they stand, and as of the quotes it holds to.
    fn sheets(&self, front: &Front) -> Result<(Texts, Marks), Refusal> {
        let shelf = self.shelf();
        if front.quotes.is_empty() {
            return Ok((shelf.texts.clone(), shelf.marks.clone()));
        }
        let (mut texts, mut marks) = ((*shelf.texts).clone(), shelf.marks.clone());
        for (role, day) in &front.quotes {
            let Some((_, sheet)) = front.shops.iter().find(|(one, _)| one == role) else { continue };
            if let Some((mark, text)) = self.quote(sheet, *day)? {
                texts.insert(sheet.clone(), text.to_string());
                marks.insert(sheet.clone(), mark);
            }
        }
        Ok((Arc::new(texts), marks))
    }

    /// A rate sheet as it was quoted on a day: the last of its texts with that day in its head.
    fn quote(&self, sheet: &str, day: Day) -> Result<Option<(String, Arc<str>)>, Refusal> {
        let Ok(name) = Name::new(sheet) else { return Ok(None) };
        for revision in self.store.revisions(&name)? {
            let text = self.past_text(sheet, &revision.etag)?;
            if quoted(&text) == Some(day) {
                return Ok(Some((revision.etag, text)));
            }
        }
        Ok(None)
    }

    /// The days a rate sheet was quoted on, newest revision first, each once.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn quotes_of(&self, sheet: &Name) -> Result<Vec<Day>, Refusal> {
        let mut days = Vec::new();
        for revision in self.store.revisions(sheet)? {
            let day = quoted(&self.past_text(sheet.as_str(), &revision.etag)?);
            days.extend(day.filter(|day| !days.contains(day)));
        }
        Ok(days)
    }

    fn shelf(&self) -> Arc<Shelf> {
        let mut shelf = held(&self.shelf);
        if let Some(shelf) = &*shelf {
            return shelf.clone();
        }
        let mut texts = BTreeMap::new();
        let mut marks = BTreeMap::new();
        for (name, entry) in self.read().iter().filter(|(_, entry)| entry.kind == Kind::RateSheet) {
            if let Ok(kept) = &entry.text {
                texts.insert(name.as_str().to_owned(), kept.text.clone());
                marks.insert(name.as_str().to_owned(), kept.etag.clone());
            }
        }
        let made = Arc::new(Shelf { texts: Arc::new(texts), marks });
        *shelf = Some(made.clone());
        made
    }

    /// The marks of rate sheets as they stand.
    pub(super) fn marks_of<'a>(&self, sheets: impl Iterator<Item = &'a str>) -> Vec<(String, String)> {
        let shelf = self.shelf();
        sheets.map(|sheet| (sheet.to_owned(), shelf.marks.get(sheet).cloned().unwrap_or_default())).collect()
    }

    /// The facts of today with one rate sheet's text replaced, for looking ahead.
    pub(super) fn facts_with(&self, name: &Name, front: &Front, sheet: &str, text: &str) -> Result<Facts, Refusal> {
        let mut facts = self.facts(name, front, None)?;
        let mut sheets = (*facts.sheets).clone();
        sheets.insert(sheet.to_owned(), text.to_owned());
        facts.sheets = Arc::new(sheets);
        Ok(facts)
    }

    /// The mark a text would have.
    #[must_use]
    pub fn mark_of(text: &str) -> String {
        folder::etag(text.as_bytes())
    }
}

/// The day a rate sheet says it was quoted on.
fn quoted(text: &str) -> Option<Day> {
    Document::read(front::head_of(text)).front.quoted
}
