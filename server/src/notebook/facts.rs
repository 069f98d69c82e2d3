//! What a plan is worked out on: the day, the rate sheets as they stand or as a quote is held, and the ledger as of the day.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::Facts;
use engine::document::{Document, Front, front};
use engine::measure::{Day, Units};
use engine::trade::edition::Entry;

use super::{Notebook, held};
use crate::folder;
use crate::names::Name;
use crate::store::Saw;
use crate::store::ledger::entries;
use crate::trouble::Refusal;

/// Rate sheets as a plan sees them: as they stand, as they stood on a day, as of the quotes a plan holds to.
#[derive(Clone, Debug, Default)]
pub(super) struct Shelf {
    texts: Arc<BTreeMap<String, String>>,
    marks: BTreeMap<String, String>,
    /// The mark of all of them together, of the shelf as it stands.
    pub(super) mark: Arc<str>,
}

impl Shelf {
    /// The mark of one, or nothing where it is not there.
    pub(super) fn mark_of(&self, sheet: &str) -> &str {
        self.marks.get(sheet).map_or("", String::as_str)
    }

    /// Those a text names as it would draw on them.
    pub(super) fn named_in(&self, text: &str) -> Vec<String> {
        self.marks.keys().filter(|sheet| text.contains(&format!("\"{sheet}\""))).cloned().collect()
    }

    /// The texts with one of them replaced, for looking ahead.
    pub(super) fn with(&self, sheet: &str, text: &str) -> Arc<BTreeMap<String, String>> {
        let mut texts = (*self.texts).clone();
        texts.insert(sheet.to_owned(), text.to_owned());
        Arc::new(texts)
    }

    fn put(&mut self, sheet: &str, (mark, text): (String, Arc<str>)) {
        if self.marks.get(sheet) != Some(&mark) {
            Arc::make_mut(&mut self.texts).insert(sheet.to_owned(), text.to_string());
            self.marks.insert(sheet.to_owned(), mark);
        }
    }
}

/// What was looked up of rate sheets, until one changes.
#[derive(Debug, Default)]
pub(super) struct Shelves {
    now: Option<Arc<Shelf>>,
    /// As they stood on a day.
    on: BTreeMap<Day, Arc<Shelf>>,
    /// As a plan holding to quotes sees them: its day of hanging, and sheet and day of each quote.
    held: BTreeMap<Held, Arc<Shelf>>,
}

/// What a plan holds to: the day it was hung, and sheet and day of each quote.
pub(super) type Held = (Option<Day>, Vec<(String, Day)>);

/// What a plan with this head holds to.
pub(super) fn held_by(front: &Front) -> Held {
    let sheet_of = |role: &str| front.shops.iter().find(|(one, _)| one == role).map(|(_, sheet)| sheet.clone());
    let quotes = front.quotes.iter().filter_map(|(role, day)| sheet_of(role).map(|sheet| (sheet, *day)));
    (front.hung, quotes.collect())
}

/// Shelves kept at once of each sort.
const SHELVES: usize = 256;

impl Notebook {
    /// The facts a plan with this head is worked out on today.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn facts(&self, name: &Name, front: &Front, units: Option<Units>) -> Result<Facts, Refusal> {
        let ledger = entries(&self.store.ledger(name)?, Some(self.today()));
        Ok(Facts { units, ..self.facts_on(&*self.shelf_of(front)?, ledger) })
    }

    /// The facts of today on rate sheets that were looked up.
    pub(super) fn facts_on(&self, shelf: &Shelf, ledger: Vec<Entry>) -> Facts {
        Facts { today: self.today(), sheets: shelf.texts.clone(), ledger, units: None }
    }

    /// The facts as the record keeps them beside a revision.
    pub(super) fn saw(&self, name: &Name, text: &str) -> Result<Saw, Refusal> {
        let head = Document::read(front::head_of(text));
        let ledger = self.store.ledger(name)?.last().map_or(0, |line| line.line);
        Ok(Saw { today: self.today(), ledger, sheets: self.shelf_of(&head.front)?.marks.clone() })
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
        let text = self.store.marked_text(mark)?.ok_or_else(|| {
            Refusal::missing(
                format!("the record has no text of `{sheet}` under the mark {mark}"),
                "the revision that saw it cannot be worked out again",
            )
        })?;
        let text: Arc<str> = text.into();
        held(&self.past).insert(key, text.clone());
        Ok(text)
    }

    /// The rate sheets a plan with this head sees: as they stand; for a piece that hangs, as they stood on that day, so that no
    /// later price moves what was paid; and above both, as of the quotes it holds to.
    fn shelf_of(&self, front: &Front) -> Result<Arc<Shelf>, Refusal> {
        self.shelf_holding(&held_by(front))
    }

    pub(super) fn shelf_holding(&self, holds: &Held) -> Result<Arc<Shelf>, Refusal> {
        let (hung, quotes) = holds;
        if quotes.is_empty() {
            return match hung {
                Some(day) => self.shelf_on(*day),
                None => Ok(self.shelf()),
            };
        }
        if let Some(known) = held(&self.shelves).held.get(holds) {
            return Ok(known.clone());
        }
        let sheets = self.sheets_seen();
        let mut made = match hung {
            Some(day) => (*self.shelf_on(*day)?).clone(),
            None => (*self.shelf()).clone(),
        };
        for (sheet, day) in quotes {
            if let Some(quote) = self.quote(sheet, *day)? {
                made.put(sheet, quote);
            }
        }
        let made = Arc::new(made);
        self.keep_shelf(sheets, |shelves| {
            if shelves.held.len() >= SHELVES {
                shelves.held.clear();
            }
            shelves.held.insert(holds.clone(), made.clone());
        });
        Ok(made)
    }

    /// Keeps what was looked up, unless a rate sheet changed meanwhile.
    fn keep_shelf(&self, sheets: u64, keep: impl FnOnce(&mut Shelves)) {
        let mut shelves = held(&self.shelves);
        if self.sheets_seen() == sheets {
            keep(&mut shelves);
        }
    }

    /// The rate sheets as they stood on a day. One that came into the record later is taken as it first came.
    fn shelf_on(&self, day: Day) -> Result<Arc<Shelf>, Refusal> {
        if let Some(known) = held(&self.shelves).on.get(&day) {
            return Ok(known.clone());
        }
        let sheets = self.sheets_seen();
        let mut made = (*self.shelf()).clone();
        for sheet in made.marks.clone().into_keys() {
            let Ok(name) = Name::new(&sheet) else { continue };
            if let Some(mark) = self.store.stood_on(&name, day)? {
                let text = self.past_text(&sheet, &mark)?;
                made.put(&sheet, (mark, text));
            }
        }
        let made = Arc::new(made);
        self.keep_shelf(sheets, |shelves| {
            if shelves.on.len() >= SHELVES {
                shelves.on.clear();
            }
            shelves.on.insert(day, made.clone());
        });
        Ok(made)
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

    pub(super) fn shelf(&self) -> Arc<Shelf> {
        let mut shelves = held(&self.shelves);
        if let Some(shelf) = &shelves.now {
            return shelf.clone();
        }
        let mut texts = BTreeMap::new();
        let mut marks = BTreeMap::new();
        for (name, entry) in self.read().iter() {
            if let Some(kept) = &entry.sheet {
                texts.insert(name.as_str().to_owned(), kept.text.clone());
                marks.insert(name.as_str().to_owned(), kept.etag.clone());
            }
        }
        let all: String = marks.iter().map(|(sheet, mark)| format!("{sheet}\n{mark}\n")).collect();
        let mark = folder::etag(all.as_bytes()).into();
        let made = Arc::new(Shelf { texts: Arc::new(texts), marks, mark });
        shelves.now = Some(made.clone());
        made
    }

    /// The marks of rate sheets as a plan sees them that holds to this.
    pub(super) fn marks_of<'a>(
        &self,
        holds: &Held,
        sheets: impl Iterator<Item = &'a str>,
    ) -> Result<Vec<(String, String)>, Refusal> {
        let shelf = self.shelf_holding(holds)?;
        Ok(sheets.map(|sheet| (sheet.to_owned(), shelf.mark_of(sheet).to_owned())).collect())
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
