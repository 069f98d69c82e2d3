//! What one shop is issued: its ticket as it stands, what it was issued before, and what changed since.

mod ticket_diff;

use std::collections::HashSet;

use engine::measure::{Day, Units};
use engine::render::ticket::{self, Issue, ROLES, Ticket};

use crate::code;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::{Current, Notebook};
use crate::store::issued::Issued;

pub(crate) use ticket_diff::{Change, KeptBack, changes};

/// A ticket with all that stands round it.
#[derive(Debug)]
pub(crate) struct ShopTicket {
    pub(crate) ticket: Ticket,
    /// The plan's own title block fields that any shop may see.
    pub(crate) name: Name,
    pub(crate) revision: u32,
    /// The day of the revision.
    pub(crate) day: Day,
    pub(crate) hash: String,
    /// What the plan's head names for this shop: its rate sheet, or its name. Any trade gets a ticket, named or not.
    pub(crate) sheet: Option<String>,
    /// The address under which the shop reads its ticket, where that is known.
    pub(crate) link: Option<String>,
    /// What was issued before under this role, newest first; to another shop, perhaps.
    pub(crate) issued: Vec<Issued>,
    /// What changed for this shop since the last time, as the photographer sees it.
    pub(crate) since: Vec<Change>,
    /// What the plan keeps from this shop now.
    pub(crate) kept_back: KeptBack,
}

impl ShopTicket {
    /// The ticket of one shop, as the plan stands.
    ///
    /// # Errors
    /// When the plan cannot be read, or has no such shop and no trade is called so.
    pub(crate) fn of(notebook: &Notebook, name: &Name, role: &str, units: Option<Units>) -> Result<Self, Error> {
        let Current { kept, worked, revision } = notebook.current(name, units)?;
        let day = notebook.day_of(name, revision)?;
        let shops = &worked.view.shops;
        let named = worked.document.front.shops.iter().find(|(one, _)| one == role);
        let sheet = named.map(|(_, sheet)| sheet.clone());
        if sheet.is_none() && ticket::role(role).is_none() {
            let roles = shops.iter().map(|(role, _)| role.as_str());
            let trades = ROLES.iter().map(|one| one.name).filter(|one| !shops.iter().any(|(role, _)| role == one));
            let all: Vec<_> = roles.chain(trades).collect();
            return Err(Error::missing(
                format!("this plan has no shop called `{role}`, and no trade is called so"),
                format!("ask for one of {}", all.join(", ")),
            ));
        }
        let issue =
            Issue { studio: notebook.studio(), plan: name.as_str().to_owned(), revision, date: day.to_string() };
        let ticket = ticket::ticket(&worked.document, &worked.evaluation, shops, role, &issue);
        let issued = notebook.store().issued(name, role)?;
        let kept_back = ticket::kept_back(&worked.document, &worked.evaluation, shops, &ticket);
        let kept_back = KeptBack::of(&kept_back, &ticket.lines());
        let mut shop_ticket = Self {
            ticket,
            name: name.clone(),
            revision,
            day,
            hash: kept.hash.clone(),
            sheet,
            link: None,
            issued,
            since: Vec::new(),
            kept_back,
        };
        let since = shop_ticket.to_this_shop().next().map(|last| changes(&last.lines, &shop_ticket.ticket.lines()));
        shop_ticket.since = since.unwrap_or_default();
        Ok(shop_ticket)
    }

    /// What this very shop was handed before, newest first: nothing of what another had under the same role, and nothing of
    /// its prices, is shown to this one.
    pub(crate) fn to_this_shop(&self) -> impl DoubleEndedIterator<Item = &Issued> {
        self.issued.iter().filter(|one| one.shop == self.ticket.shop)
    }

    /// Which of some lines were not on the last ticket; none when there was no last one.
    pub(crate) fn is_new(&self, lines: impl IntoIterator<Item = String>) -> bool {
        let Some(last) = self.to_this_shop().next() else { return false };
        let known: HashSet<&str> = last.lines.iter().map(String::as_str).collect();
        lines.into_iter().any(|line| !known.contains(line.as_str()))
    }

    /// For each piece of the ticket's prose, whether it changed.
    pub(crate) fn revised(&self) -> Vec<bool> {
        let changed = |block: &engine::render::plain::Block| {
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
        let mark: String = self.hash.chars().take(10).collect();
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
