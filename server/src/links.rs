//! What a shop may read under an address of its own, and what changed for it since that address was handed over.

use engine::document::ticket::Ticket;

use crate::handover::{Change, Handed, changes};
use crate::names::Name;
use crate::notebook::Notebook;
use crate::passphrase;
use crate::store::{Link, NewLink};
use crate::trouble::Refusal;

/// The longest a link may be good for, in days.
pub(crate) const LONGEST_DAYS: i32 = 180;

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
pub(crate) fn since(notebook: &Notebook, name: &Name, link: &Link) -> Result<(u32, Vec<Change>), Refusal> {
    let (_, ticket, revision) = ticket_of(notebook, name, &link.role)?;
    let before: Vec<_> = link.said.lines().map(str::to_owned).collect();
    Ok((revision, changes(&before, &said(&ticket))))
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
