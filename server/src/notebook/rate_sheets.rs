//! The rate sheets as plans see them: as they stand, as they stood on a day, and as they were quoted. It knows no plan.

use std::collections::BTreeMap;
use std::sync::Arc;

use engine::document::{Document, Front, front};
use engine::measure::Day;
use parking_lot::{Mutex, MutexGuard};

use crate::error::Error;
use crate::folder::{self, Kept};
use crate::names::Name;
use crate::store::Store;
use engine::recent::Recent;

/// Rate sheets as one plan sees them.
#[derive(Clone, Debug, Default)]
pub(super) struct Shelf {
    pub(super) texts: Arc<BTreeMap<String, String>>,
    pub(super) hashes: BTreeMap<String, String>,
    /// The hash of all of them together, of the shelf as it stands.
    pub(super) hash: Arc<str>,
}

impl Shelf {
    fn of(sheets: &BTreeMap<Name, Arc<Kept>>) -> Self {
        let named = || sheets.iter().map(|(name, kept)| (name.as_str().to_owned(), kept));
        let all: String = named().map(|(sheet, kept)| format!("{sheet}\n{}\n", kept.hash)).collect();
        Self {
            texts: Arc::new(named().map(|(sheet, kept)| (sheet, kept.text.clone())).collect()),
            hashes: named().map(|(sheet, kept)| (sheet, kept.hash.clone())).collect(),
            hash: folder::hash_of(all.as_bytes()).into(),
        }
    }

    /// The hash of one, or nothing where it is not there.
    pub(super) fn hash_of(&self, sheet: &str) -> &str {
        self.hashes.get(sheet).map_or("", String::as_str)
    }

    /// Rate sheets with their hashes.
    pub(super) fn marks_of<'a>(&self, sheets: impl Iterator<Item = &'a str>) -> Vec<(String, String)> {
        sheets.map(|sheet| (sheet.to_owned(), self.hash_of(sheet).to_owned())).collect()
    }

    /// Those a text names as it would use them.
    pub(super) fn named_in(&self, text: &str) -> Vec<String> {
        self.hashes.keys().filter(|sheet| text.contains(&format!("\"{sheet}\""))).cloned().collect()
    }

    /// The texts with one of them replaced, for looking ahead.
    pub(super) fn with(&self, sheet: &str, text: &str) -> Arc<BTreeMap<String, String>> {
        let mut texts = (*self.texts).clone();
        texts.insert(sheet.to_owned(), text.to_owned());
        Arc::new(texts)
    }

    fn put(&mut self, sheet: &str, (hash, text): (String, Arc<str>)) {
        if self.hashes.get(sheet) != Some(&hash) {
            Arc::make_mut(&mut self.texts).insert(sheet.to_owned(), text.to_string());
            self.hashes.insert(sheet.to_owned(), hash);
        }
    }
}

/// What a plan holds to: the day it was hung, and sheet and day of each quote.
pub(super) type Held = (Option<Day>, Vec<(String, Day)>);

/// What a plan with this head holds to.
pub(super) fn held_by(front: &Front) -> Held {
    let sheet_of = |role: &str| front.shops.iter().find(|(one, _)| one == role).map(|(_, sheet)| sheet.clone());
    let quotes = front.quotes.iter().filter_map(|(role, day)| sheet_of(role).map(|sheet| (sheet, *day)));
    (front.hung, quotes.collect())
}

/// How many bytes of earlier texts are kept in each of two generations.
const PAST: usize = 2 << 20;
/// Shelves kept at once.
const SHELVES: usize = 512;

/// The rate sheets there are, and what was looked up of them until one changes.
#[derive(Debug, Default)]
struct Shelves {
    sheets: BTreeMap<Name, Arc<Kept>>,
    /// Counts their changes.
    version: u64,
    now: Option<Arc<Shelf>>,
    /// As plans that hold to something see them.
    held: BTreeMap<Held, Arc<Shelf>>,
}

impl Shelves {
    fn changed(&mut self) {
        self.version += 1;
        self.now = None;
        self.held.clear();
    }

    fn now(&mut self) -> Arc<Shelf> {
        self.now.get_or_insert_with(|| Arc::new(Shelf::of(&self.sheets))).clone()
    }
}

/// All rate sheets.
#[derive(Debug)]
pub struct RateSheets {
    store: Arc<Store>,
    current: Mutex<Shelves>,
    /// Texts as they were, by hash.
    past: Mutex<Recent<String, Arc<str>>>,
    /// Held by whoever looks what a new text would change in every plan.
    comparing: Mutex<()>,
}

impl RateSheets {
    pub(super) fn new(store: Arc<Store>) -> Self {
        Self { store, current: Mutex::default(), past: Mutex::new(Recent::of(PAST)), comparing: Mutex::default() }
    }

    /// A rate sheet as it is now.
    pub(super) fn put(&self, name: &Name, kept: Arc<Kept>) {
        let mut current = self.current.lock();
        current.sheets.insert(name.clone(), kept);
        current.changed();
    }

    /// A rate sheet is gone.
    pub(super) fn remove(&self, name: &Name) {
        let mut current = self.current.lock();
        current.sheets.remove(name);
        current.changed();
    }

    /// The text of one.
    pub(crate) fn text(&self, name: &Name) -> Option<Arc<Kept>> {
        self.current.lock().sheets.get(name).cloned()
    }

    /// How often one changed since the notebook was opened, and all of them as they stand.
    pub(super) fn now(&self) -> (u64, Arc<Shelf>) {
        let mut current = self.current.lock();
        (current.version, current.now())
    }

    /// Waits until nobody else looks ahead: each takes all the threads there are for this.
    pub(super) fn compare(&self) -> MutexGuard<'_, ()> {
        self.comparing.lock()
    }

    /// The rate sheets a plan with this head sees: as they stand; for a piece that hangs, as they stood on that day, so that no
    /// later price moves what was paid; and above both, as of the quotes it holds to.
    pub(super) fn shelf_of(&self, front: &Front) -> Result<Arc<Shelf>, Error> {
        self.shelf_holding(&held_by(front))
    }

    pub(super) fn shelf_holding(&self, holds: &Held) -> Result<Arc<Shelf>, Error> {
        let (hung, quotes) = holds;
        let (version, now) = self.now();
        if *holds == Held::default() {
            return Ok(now);
        }
        if let Some(known) = self.current.lock().held.get(holds) {
            return Ok(known.clone());
        }
        let made = if quotes.is_empty() {
            self.on_a_day(&now, *hung)?
        } else {
            let mut made = (*self.shelf_holding(&(*hung, Vec::new()))?).clone();
            for (sheet, day) in quotes {
                if let Some(quote) = self.quote(sheet, *day)? {
                    made.put(sheet, quote);
                }
            }
            made
        };
        let made = Arc::new(made);
        let mut current = self.current.lock();
        // Unless a rate sheet changed meanwhile.
        if current.version == version {
            if current.held.len() >= SHELVES {
                current.held.clear();
            }
            current.held.insert(holds.clone(), made.clone());
        }
        Ok(made)
    }

    /// The rate sheets as they stood on a day. One that came into the record later is taken as it first came.
    fn on_a_day(&self, now: &Shelf, day: Option<Day>) -> Result<Shelf, Error> {
        let mut made = now.clone();
        let Some(day) = day else { return Ok(made) };
        for sheet in now.hashes.keys() {
            let Ok(name) = Name::new(sheet) else { continue };
            if let Some(hash) = self.store.stood_on(&name, day)? {
                let text = self.past_text(sheet, &hash)?;
                made.put(sheet, (hash, text));
            }
        }
        Ok(made)
    }

    /// The text of a rate sheet as it was.
    ///
    /// # Errors
    /// When it is no longer in the record.
    pub(super) fn past_text(&self, sheet: &str, hash: &str) -> Result<Arc<str>, Error> {
        if let Some(text) = self.past.lock().get(hash) {
            return Ok(text);
        }
        let text = self.store.text_of_hash(hash)?.ok_or_else(|| {
            Error::missing(
                format!("the record has no text of `{sheet}` under the hash {hash}"),
                "the revision that saw it cannot be calculated again",
            )
        })?;
        let text: Arc<str> = text.into();
        self.past.lock().put(hash.to_owned(), text.clone(), text.len());
        Ok(text)
    }

    /// A rate sheet as it was quoted on a day: the last of its texts with that day in its head.
    fn quote(&self, sheet: &str, day: Day) -> Result<Option<(String, Arc<str>)>, Error> {
        let Ok(name) = Name::new(sheet) else { return Ok(None) };
        for revision in self.store.revisions(&name)? {
            let text = self.past_text(sheet, &revision.hash)?;
            if quoted(&text) == Some(day) {
                return Ok(Some((revision.hash, text)));
            }
        }
        Ok(None)
    }

    /// The days a rate sheet was quoted on, newest revision first, each once.
    pub(super) fn quotes_of(&self, sheet: &Name) -> Result<Vec<Day>, Error> {
        let mut days = Vec::new();
        for revision in self.store.revisions(sheet)? {
            let day = quoted(&self.past_text(sheet.as_str(), &revision.hash)?);
            days.extend(day.filter(|day| !days.contains(day)));
        }
        Ok(days)
    }
}

/// The day a rate sheet says it was quoted on.
fn quoted(text: &str) -> Option<Day> {
    Document::read(front::head_of(text)).front.quoted
}
