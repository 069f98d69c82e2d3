//! What one shop is handed: its ticket as it stands, what it was handed before, and what changed since.

use std::collections::HashSet;

use engine::document::ticket::{self, Issue, ROLES, Ticket};
use engine::measure::{Day, Units};

use crate::code;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::store::issued::Issued;
use crate::trouble::Refusal;

/// A ticket with all that stands round it.
#[derive(Debug)]
pub(crate) struct Handed {
    pub(crate) ticket: Ticket,
    /// The plan's own title block fields that any shop may see.
    pub(crate) name: Name,
    pub(crate) revision: u32,
    /// The day of the revision.
    pub(crate) day: Day,
    pub(crate) etag: String,
    /// Whether the plan's head names the shop; any trade gets a ticket of its own.
    pub(crate) named: bool,
    /// The address under which the shop reads its ticket, where that is known.
    pub(crate) link: Option<String>,
    /// What this shop was handed before, newest first.
    pub(crate) issued: Vec<Issued>,
    /// What changed since the last time.
    pub(crate) since: Vec<Change>,
}

/// One line that changed.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub(crate) struct Change {
    /// As it was handed over; nothing when it is new.
    pub(crate) was: Option<String>,
    /// As it is now; nothing when it is gone.
    pub(crate) is: Option<String>,
}

impl Handed {
    /// The ticket of one shop, as the plan stands.
    ///
    /// # Errors
    /// When the plan cannot be read, or has no such shop and no trade is called so.
    pub(crate) fn of(
        notebook: &Notebook,
        name: &Name,
        role: &str,
        studio: &str,
        units: Option<Units>,
    ) -> Result<Self, Refusal> {
        let kept = notebook.text(name)?;
        let worked = notebook.work_out(name, &kept.text, units)?;
        let revision = notebook.revision(name, &kept.etag)?;
        let day = notebook.day_of(name, revision)?;
        let shops = notebook.view(&worked.document).shops;
        let named = shops.iter().any(|(one, _)| one == role);
        if !named && ticket::role(role).is_none() {
            let roles = shops.iter().map(|(role, _)| role.as_str());
            let trades = ROLES.iter().map(|one| one.name).filter(|one| !shops.iter().any(|(role, _)| role == one));
            let all: Vec<_> = roles.chain(trades).collect();
            return Err(Refusal::missing(
                format!("this plan has no shop called `{role}`, and no trade is called so"),
                format!("ask for one of {}", all.join(", ")),
            ));
        }
        let issue =
            Issue { studio: studio.to_owned(), plan: name.as_str().to_owned(), revision, date: day.to_string() };
        let ticket = ticket::ticket(&worked.document, &worked.evaluation, &shops, role, &issue);
        let issued = notebook.store().issued(name, role)?;
        let since = issued.first().map(|last| changes(&last.lines, &ticket.lines())).unwrap_or_default();
        Ok(Self {
            ticket,
            name: name.clone(),
            revision,
            day,
            etag: kept.etag.clone(),
            named,
            link: None,
            issued,
            since,
        })
    }

    /// Which of some lines were not on the last ticket; none when there was no last one.
    pub(crate) fn is_new(&self, lines: impl IntoIterator<Item = String>) -> bool {
        let Some(last) = self.issued.first() else { return false };
        let known: HashSet<&str> = last.lines.iter().map(String::as_str).collect();
        lines.into_iter().any(|line| !known.contains(line.as_str()))
    }

    /// For each piece of the ticket's prose, whether it changed.
    pub(crate) fn revised(&self) -> Vec<bool> {
        let changed = |block: &engine::document::plain::Block| {
            let mut lines = Vec::new();
            block.lines(&mut lines);
            self.is_new(lines)
        };
        self.ticket.blocks.iter().map(changed).collect()
    }

    /// What finds this ticket again: the shop's own address, else the revision's code, as short as can be typed.
    pub(crate) fn code(&self) -> String {
        if let Some(link) = &self.link {
            return link.clone();
        }
        let mark: String = self.etag.chars().take(10).collect();
        format!("{} {} r{} {mark}", self.name.as_str(), self.ticket.role, self.revision)
    }

    /// The code as a square to be read by a camera.
    pub(crate) fn square(&self) -> Option<String> {
        code::svg(&self.code())
    }

    /// What the running foot of a printed page says.
    pub(crate) fn running(&self) -> String {
        format!("{}, for {} · revision {} · {}", self.ticket.title, self.ticket.shop, self.revision, self.day)
    }
}

/// What is in one list of lines and not in the other, paired where both say the same thing of another value.
pub(crate) fn changes(old: &[String], new: &[String]) -> Vec<Change> {
    let gone: Vec<&String> = old.iter().filter(|line| !new.contains(line)).collect();
    let come: Vec<&String> = new.iter().filter(|line| !old.contains(line)).collect();
    let subject = |line: &str| line.split_once(": ").map(|(subject, _)| subject.to_owned());
    let mut left: Vec<Option<&String>> = gone.into_iter().map(Some).collect();
    let mut out = Vec::new();
    for line in come {
        let pair = left.iter_mut().find(|was| {
            was.is_some_and(|was| match (subject(was), subject(line)) {
                (Some(was), Some(is)) => was == is,
                _ => alike(was, line),
            })
        });
        let was = pair.and_then(Option::take).cloned();
        out.push(Change { was, is: Some(line.clone()) });
    }
    out.extend(left.into_iter().flatten().map(|was| Change { was: Some(was.clone()), is: None }));
    out
}

/// Whether two sentences share more than half of their words.
fn alike(a: &str, b: &str) -> bool {
    let words: HashSet<&str> = a.split_whitespace().collect();
    let (mut same, mut all) = (0_usize, 0_usize);
    for word in b.split_whitespace() {
        all += 1;
        same += usize::from(words.contains(word));
    }
    same * 2 > all.max(words.len())
}

#[cfg(test)]
mod tests {
    use super::{Change, changes};

    fn check(old: &[&str], new: &[&str], wanted: &[(Option<&str>, Option<&str>)]) {
        let own = |all: &[&str]| all.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>();
        let wanted: Vec<_> =
            wanted.iter().map(|(was, is)| Change { was: was.map(str::to_owned), is: is.map(str::to_owned) }).collect();
        assert_eq!(changes(&own(old), &own(new)), wanted);
    }

    #[test]
    fn a_value_that_moved_stands_beside_the_one_before_it() {
        check(
            &["gap: 1/4 in", "face: 1 in"],
            &["gap: 3/8 in", "face: 1 in"],
            &[(Some("gap: 1/4 in"), Some("gap: 3/8 in"))],
        );
    }

    #[test]
    fn a_line_that_is_gone_and_one_that_is_new_stand_alone() {
        check(
            &["no wire"],
            &["bumpers on all corners"],
            &[(None, Some("bumpers on all corners")), (Some("no wire"), None)],
        );
    }

    #[test]
    fn nothing_changed_is_no_change() {
        check(&["a: 1", "b"], &["a: 1", "b"], &[]);
    }
}
