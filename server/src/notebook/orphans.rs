//! Plans of the record that have no file any more: a file was renamed, moved or deleted outside. One that comes back under
//! another name with the same text is followed; of any other a person says which plan goes on with its ledger.

use std::collections::HashSet;
use std::sync::Arc;

use engine::document::{Document, Kind, front};

use super::calculator::head_of;
use super::{Documents, History, Notebook};
use crate::error::Error;
use crate::folder::{self, Kept};
use crate::names::Name;
use crate::store::Renamed;

/// A plan without a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Orphan {
    /// The word the record has for it.
    pub plan: String,
    /// The name its file had.
    pub file: String,
    /// The title it had.
    pub title: String,
    /// Entries of its ledger.
    pub entries: usize,
    /// Its last revision.
    pub revisions: u32,
    /// When that was saved, in universal time.
    pub saved: String,
    /// The plan that it may be now: one of the same title or file.
    pub likely: Option<Name>,
    text: Arc<str>,
}

impl Orphan {
    /// What is left of it, in words: `25 ledger entries and 3 revisions`.
    #[must_use]
    pub fn left(&self) -> String {
        let entries = match self.entries {
            0 => None,
            1 => Some("one ledger entry".to_owned()),
            entries => Some(format!("{entries} ledger entries")),
        };
        let revisions = match self.revisions {
            0 => None,
            1 => Some("one revision".to_owned()),
            revisions => Some(format!("{revisions} revisions")),
        };
        [entries, revisions].into_iter().flatten().collect::<Vec<_>>().join(" and ")
    }
}

/// How long it is told that a file was renamed, in days.
const TOLD: i32 = 7;

impl History {
    fn documents(&self) -> &Documents {
        &self.calculator.documents
    }

    /// Finds out which plan a text is that lies under a name: a file that was renamed is followed, and another plan put under
    /// a name has nothing of what the one before had.
    pub(super) fn recognise(&self, name: &Name, kept: &Kept) -> Result<(), Error> {
        let head = head_of(&kept.text).front;
        if head.kind != Kind::Plan || kept.text.trim().is_empty() {
            return Ok(());
        }
        let heard = self.store.heard_of(name, &kept.hash)?;
        if heard.is_own {
            return Ok(());
        }
        let is_here = |file: &Option<String>| {
            file.as_deref()
                .is_some_and(|file| folder::place(self.documents().root(), &Name::as_recorded(file)).exists())
        };
        let mut gone = heard.last_of.iter().filter(|(_, file)| !is_here(file));
        if let (Some((plan, from)), None) = (gone.next(), gone.next())
            && !self.has_twin(name, kept)
        {
            tracing::info!(
                document.name = name.as_str(),
                document.before = from.as_deref(),
                "a renamed file is followed"
            );
            self.store.follow(plan, from.as_deref(), name, &self.calculator.clock.moment())?;
            self.documents().note_arrival();
            return Ok(());
        }
        if heard.has_own && heard.is_bound && (heard.is_others || self.is_another(name, kept)?) {
            tracing::warn!(document.name = name.as_str(), "another plan lies under this name than before");
            self.store.take_apart(name, &self.calculator.clock.moment())?;
            self.documents().note_arrival();
        }
        Ok(())
    }

    /// Whether another file holds the same text: then nobody can tell which of them was renamed.
    fn has_twin(&self, name: &Name, kept: &Kept) -> bool {
        let root = self.documents().root();
        folder::look(root)
            .iter()
            .filter(|seen| seen.name != *name && seen.length() == kept.text.len() as u64)
            .any(|seen| folder::read(root, &seen.name).is_ok_and(|other| other.hash == kept.hash))
    }

    /// Whether a text is of another plan than the last one under its name: another title, and hardly a line is the same.
    fn is_another(&self, name: &Name, kept: &Kept) -> Result<bool, Error> {
        let Some((before, ..)) = self.store.last_text(name)? else { return Ok(false) };
        let title = |text: &str| Document::read(text).title();
        Ok(title(&before) != title(&kept.text) && shared(&before, &kept.text) < 0.3)
    }

    /// Every plan of the record that has no file, those with a ledger first.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn orphans(&self) -> Result<Arc<Vec<Orphan>>, Error> {
        let count = self.documents().arrivals();
        if let Some((_, known)) = self.orphans.lock().as_ref().filter(|(of, _)| *of == count) {
            return Ok(known.clone());
        }
        let mut all = Vec::new();
        for known in self.store.known_plans()? {
            let has_file = known
                .file
                .as_deref()
                .is_some_and(|file| self.documents().read().contains_key(&Name::as_recorded(file)));
            if !has_file && !known.put_away {
                all.extend(self.orphan(&known.plan)?);
            }
        }
        all.sort_by(|one, other| other.entries.cmp(&one.entries).then_with(|| one.plan.cmp(&other.plan)));
        let all = Arc::new(all);
        *self.orphans.lock() = Some((count, all.clone()));
        Ok(all)
    }

    /// What is left of a plan without a file; nothing of a rate sheet, which plans find by its name.
    fn orphan(&self, plan: &str) -> Result<Option<Orphan>, Error> {
        let record = Name::of_record(plan);
        let entries = self.store.ledger(&record)?.len();
        let (text, saved, revisions) = self.store.last_text(&record)?.unwrap_or_default();
        let document = Document::read(&text);
        if document.front.kind != Kind::Plan || (entries == 0 && revisions == 0) {
            return Ok(None);
        }
        let file = plan.split(Name::OF_RECORD).next().unwrap_or(plan).to_owned();
        let title = document.title();
        let likely = self
            .documents()
            .read()
            .iter()
            .filter(|(_, entry)| entry.kind == Kind::Plan)
            .find(|(name, entry)| name.as_str() == file || is_same(&entry.title, &title))
            .map(|(name, _)| name.clone());
        let title = if title.is_empty() { file.clone() } else { title };
        Ok(Some(Orphan { plan: plan.to_owned(), file, title, entries, revisions, saved, likely, text: text.into() }))
    }

    /// Whether nobody can tell yet if a plan's prints are those of a ledger without a plan.
    ///
    /// # Errors
    /// When that is so.
    pub(super) fn is_whose_ledger(&self, name: &Name, text: &str) -> Result<(), Error> {
        let orphans = self.orphans()?;
        let mut open = orphans.iter().filter(|orphan| orphan.entries > 0).peekable();
        if open.peek().is_none() || self.store.is_decided(name)? || !self.store.ledger(name)?.is_empty() {
            return Ok(());
        }
        let (title, copied) = (Document::read(text).title(), head_of(text).front.from.is_some());
        let may_be = open.find(|orphan| {
            orphan.file == name.as_str()
                || is_same(&orphan.title, &title)
                || (!copied && shared(&orphan.text, text) > 0.5)
        });
        let Some(orphan) = may_be else { return Ok(()) };
        Err(Error::taken(
            format!(
                "the record has {} of `{}`, a plan without a file, and this may be that plan",
                orphan.left(),
                orphan.title
            ),
            format!(
                "say first on the wall whether it is: then its ledger goes on here, or this plan begins one of its own; or with `makeready join {}.md {}`",
                name.as_str(),
                orphan.plan
            ),
        ))
    }

    /// A plan without a file was deleted on purpose: its ledger and revisions stay, and are no longer told of.
    ///
    /// # Errors
    /// When there is no such plan.
    pub fn put_away(&self, plan: &str) -> Result<(), Error> {
        let orphan = self.orphan_of(plan)?;
        self.store.put_away(&orphan.plan, &self.calculator.clock.moment())?;
        self.documents().note_arrival();
        Ok(())
    }

    /// The files that were found renamed within the last days.
    ///
    /// # Errors
    /// When the record cannot be read.
    pub fn renamed(&self) -> Result<Vec<Renamed>, Error> {
        self.store.renamed_since(&self.calculator.clock.moment_in(-TOLD))
    }

    fn orphan_of(&self, plan: &str) -> Result<Orphan, Error> {
        let orphans = self.orphans()?;
        orphans.iter().find(|orphan| orphan.plan == plan).cloned().ok_or_else(|| {
            let all: Vec<_> = orphans.iter().map(|orphan| format!("`{}`", orphan.plan)).collect();
            let next = if all.is_empty() {
                "every plan has its file".to_owned()
            } else {
                format!("choose one of {}", all.join(", "))
            };
            Error::missing(format!("no plan without a file is called `{plan}`"), next)
        })
    }
}

impl Notebook {
    /// A plan without a file goes on with this one.
    ///
    /// # Errors
    /// When there is no such plan, the file is not a plan, or it has a ledger of its own.
    pub fn join(&self, plan: &str, file: &Name) -> Result<(), Error> {
        let orphan = self.history.orphan_of(plan)?;
        self.is_plan(file)?;
        if !self.store.ledger(file)?.is_empty() {
            return Err(Error::taken(
                format!("`{}.md` has a ledger of its own, and two ledgers cannot become one", file.as_str()),
                "void what was entered there by mistake is not enough: keep them apart, and note in the plan what belongs together",
            ));
        }
        {
            // Not in the midst of a save.
            let lock = self.documents.lock_of(file);
            let _held = lock.lock();
            self.store.join(&orphan.plan, file, &self.moment())?;
        }
        self.decided(file)
    }

    /// A file is a plan of its own, though it looks like one of those without a file.
    ///
    /// # Errors
    /// When there is no such plan.
    pub fn keep_apart(&self, file: &Name) -> Result<(), Error> {
        self.is_plan(file)?;
        self.store.keep_apart(file, &self.moment())?;
        self.decided(file)
    }

    fn is_plan(&self, file: &Name) -> Result<(), Error> {
        self.text(file)?;
        if self.documents.read().get(file).is_some_and(|entry| entry.kind == Kind::Plan) {
            return Ok(());
        }
        Err(Error::missing(format!("`{}.md` is not a plan", file.as_str()), "choose the file of a plan"))
    }

    fn decided(&self, file: &Name) -> Result<(), Error> {
        self.documents.note_arrival();
        let kept = self.text(file)?;
        self.documents.tell(file, &format!("{}+ledger", kept.hash));
        Ok(())
    }
}

fn is_same(one: &str, other: &str) -> bool {
    !one.trim().is_empty() && one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// The share of the lines of the shorter text that the other has too, below their heads; the shortest lines do not count.
#[expect(clippy::cast_precision_loss, reason = "lines of two plans")]
fn shared(one: &str, other: &str) -> f64 {
    fn lines(text: &str) -> HashSet<&str> {
        let body = text.trim_start_matches('\u{feff}').strip_prefix(front::head_of(text)).unwrap_or(text);
        body.lines().map(str::trim).filter(|line| line.len() > 3).collect()
    }
    let (one, other) = (lines(one), lines(other));
    let least = one.len().min(other.len());
    if least == 0 { 0.0 } else { one.intersection(&other).count() as f64 / least as f64 }
}
