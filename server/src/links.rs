//! What a shop may read under an address of its own, and what changed for it since that address was handed over.

use engine::document::ticket::Ticket;

use crate::handover::Handed;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::passphrase;
use crate::store::{Link, NewLink};
use crate::trouble::Refusal;

/// The longest a link may be good for, in days.
pub(crate) const LONGEST_DAYS: i32 = 180;
/// Lines of a ticket that are compared; a ticket of more is compared as far as here.
const COMPARED: usize = 1_500;

/// A line of a ticket that is no longer there, or is new.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Moved {
    Gone(String),
    New(String),
}

/// Makes a link for a shop of a plan, good for so many days. Gives its secret part, which is nowhere else.
///
/// # Errors
/// When the plan has no such shop, or the record cannot be written.
pub(crate) fn make(notebook: &Notebook, name: &Name, role: &str, days: i32) -> Result<String, Refusal> {
    let (shop, ticket, revision) = ticket_of(notebook, name, role)?;
    let token = passphrase::random()?;
    let expires = notebook.moment_in(days.clamp(1, LONGEST_DAYS));
    let said = said(&ticket).join("\n");
    let link = NewLink { token: token.clone(), role: role.to_owned(), shop, revision, said, expires };
    notebook.store().make_link(name, link, &notebook.moment())?;
    Ok(token)
}

/// The plan's revision now, and what changed for the shop since the link was made.
///
/// # Errors
/// When the plan is gone or has no such shop any more.
pub(crate) fn moved_on(notebook: &Notebook, name: &Name, link: &Link) -> Result<(u32, Vec<Moved>), Refusal> {
    let (_, ticket, revision) = ticket_of(notebook, name, &link.role)?;
    let before: Vec<_> = link.said.lines().map(str::to_owned).collect();
    Ok((revision, difference(&before, &said(&ticket))))
}

/// The name, ticket and revision of a shop of a plan as it stands.
fn ticket_of(notebook: &Notebook, name: &Name, role: &str) -> Result<(String, Ticket, u32), Refusal> {
    let handed = Handed::of(notebook, name, role, "", None)?;
    if !handed.named {
        return Err(Refusal::missing(
            format!("`{}` has no shop called `{role}`", handed.ticket.title),
            "choose one of the shops its head names",
        ));
    }
    Ok((handed.ticket.shop.clone(), handed.ticket, handed.revision))
}

/// What a ticket says, line by line.
fn said(ticket: &Ticket) -> Vec<String> {
    // A line is one line, whatever a plan's texts hold.
    let plain = |line: String| line.split_whitespace().collect::<Vec<_>>().join(" ");
    ticket.lines().into_iter().map(plain).filter(|line| !line.is_empty()).collect()
}

/// The lines that differ, in order: the longest common part stays, as a proofreader would mark it.
fn difference(before: &[String], now: &[String]) -> Vec<Moved> {
    let before = before.get(..before.len().min(COMPARED)).unwrap_or_default();
    let now = now.get(..now.len().min(COMPARED)).unwrap_or_default();
    // common[i][j]: how many lines the ends from i and from j have in common.
    let width = now.len() + 1;
    let mut common = vec![0_u16; (before.len() + 1) * width];
    let at = |common: &[u16], i: usize, j: usize| common.get(i * width + j).copied().unwrap_or(0);
    for i in (0..before.len()).rev() {
        for j in (0..now.len()).rev() {
            let longest = if before.get(i) == now.get(j) {
                at(&common, i + 1, j + 1) + 1
            } else {
                at(&common, i + 1, j).max(at(&common, i, j + 1))
            };
            if let Some(place) = common.get_mut(i * width + j) {
                *place = longest;
            }
        }
    }
    let (mut i, mut j, mut moved) = (0, 0, Vec::new());
    loop {
        match (before.get(i), now.get(j)) {
            (Some(a), Some(b)) if a == b => (i, j) = (i + 1, j + 1),
            (Some(a), b) if b.is_none() || at(&common, i + 1, j) >= at(&common, i, j + 1) => {
                moved.push(Moved::Gone(a.clone()));
                i += 1;
            }
            (_, Some(b)) => {
                moved.push(Moved::New(b.clone()));
                j += 1;
            }
            (_, None) => return moved,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Moved, difference};

    fn lines(text: &str) -> Vec<String> {
        text.split(' ').map(str::to_owned).collect()
    }

    #[test]
    fn only_the_lines_that_changed_are_shown() {
        let moved = difference(&lines("size paper depth price"), &lines("size paper depth-2 price date"));
        let gone = |line: &str| Moved::Gone(line.into());
        let new = |line: &str| Moved::New(line.into());
        assert_eq!(moved, [gone("depth"), new("depth-2"), new("date")]);
        assert_eq!(difference(&lines("a b c"), &lines("a b c")), []);
        assert_eq!(difference(&[], &lines("a")), [new("a")]);
        assert_eq!(difference(&lines("a"), &[]), [gone("a")]);
    }
}
