//! What a shop may read under an address of its own, and what changed for it since that address was issued.

use engine::render::ticket::Ticket;

use crate::error::Error;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::passphrase;
use crate::store::{Link, NewLink};
use crate::tickets::{Change, ShopTicket, changes};

/// The longest a link may be good for, in days.
pub(crate) const LONGEST_DAYS: i32 = 180;

/// Makes a link for a shop of a plan, good for so many days. Gives its secret part, which is nowhere else.
///
/// # Errors
/// When the plan has no such shop, or the record cannot be written.
pub(crate) fn make(notebook: &Notebook, name: &Name, role: &str, days: i32) -> Result<String, Error> {
    let shop_ticket = ShopTicket::of(notebook, name, role, None)?;
    let Some(sheet) = shop_ticket.sheet else {
        return Err(Error::missing(
            format!("`{}` has no shop called `{role}`", shop_ticket.ticket.title),
            "choose one of the shops its head names",
        ));
    };
    let token = passphrase::random()?;
    let expires = notebook.moment_in(days.clamp(1, LONGEST_DAYS));
    let said = said(&shop_ticket.ticket).join("\n");
    let (role, shop) = (role.to_owned(), shop_ticket.ticket.shop);
    let link = NewLink { token: token.clone(), role, shop, sheet, revision: shop_ticket.revision, said, expires };
    notebook.store().make_link(name, link, &notebook.moment())?;
    Ok(token)
}

/// What the shop of a link may read now; nothing when there is no such link, it ended or was revoked, or it was for a shop
/// that the plan no longer names.
pub(crate) fn opened(notebook: &Notebook, token: &str) -> Result<Option<(Link, ShopTicket)>, Error> {
    // Reading the ticket finds out when another plan lies under the name by now: then it is looked up again.
    for _ in 0..3 {
        let Some(link) = notebook.store().link(token, &notebook.moment())? else { return Ok(None) };
        let Ok(name) = Name::new(&link.plan) else { return Ok(None) };
        let shop_ticket = ShopTicket::of(notebook, &name, &link.role, None);
        if is_still(notebook, &name, &link)? {
            return Ok(shop_ticket
                .ok()
                .filter(|shop_ticket| is_for(&link, shop_ticket))
                .map(|shop_ticket| (link, shop_ticket)));
        }
    }
    Ok(None)
}

/// Whether a file is the plan of a link.
fn is_still(notebook: &Notebook, name: &Name, link: &Link) -> Result<bool, Error> {
    Ok(notebook.store().links(name)?.iter().any(|one| one.id == link.id))
}

/// How a link stands beside the plan.
pub(crate) enum Stands {
    /// For the shop it was made for: the plan's revision, and what changed for that shop.
    Good(u32, Vec<Change>),
    /// The plan names another shop for this work now.
    Another(String),
    /// The plan names none, or is gone.
    Nobody,
}

/// How a link of a plan stands.
pub(crate) fn stands(notebook: &Notebook, name: &Name, link: &Link) -> Stands {
    match ShopTicket::of(notebook, name, &link.role, None) {
        Ok(shop_ticket) if is_for(link, &shop_ticket) => Stands::Good(shop_ticket.revision, since(link, &shop_ticket)),
        Ok(shop_ticket) if shop_ticket.sheet.is_some() => Stands::Another(shop_ticket.ticket.shop),
        _ => Stands::Nobody,
    }
}

/// What changed for the shop since its link was made.
pub(crate) fn since(link: &Link, shop_ticket: &ShopTicket) -> Vec<Change> {
    let before: Vec<_> = link.said.lines().map(str::to_owned).collect();
    changes(&before, &said(&shop_ticket.ticket))
}

/// Whether the plan's head names the very shop a link was made for: the same rate sheet under the same name.
fn is_for(link: &Link, shop_ticket: &ShopTicket) -> bool {
    let same_sheet = |sheet: &str| link.sheet.as_deref().is_none_or(|before| before == sheet);
    shop_ticket.sheet.as_deref().is_some_and(same_sheet) && link.shop == shop_ticket.ticket.shop
}

/// What a ticket says, line by line.
fn said(ticket: &Ticket) -> Vec<String> {
    // A line is one line, whatever a plan's texts hold.
    let plain = |line: String| line.split_whitespace().collect::<Vec<_>>().join(" ");
    ticket.lines().into_iter().map(plain).filter(|line| !line.is_empty()).collect()
}
