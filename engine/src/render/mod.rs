//! What people read of an evaluated plan: [`html`] its page, [`plain`] its pieces for paper, [`ticket`] what one shop is given
//! and [`ticket_text`] that as HTML, [`compare`] what differs between two evaluations; `exhibit` is what asks become on page and paper alike. Nothing below knows of this.

pub mod certified;
pub mod compare;
mod exhibit;
pub mod hanging;
pub mod html;
pub mod plain;
pub mod ticket;
pub mod ticket_text;

/// What the shop of a role is called, by the names of all; the role itself when it has no other.
#[must_use]
pub fn shop_name(shops: &[(String, String)], role: &str) -> String {
    shops.iter().find(|(one, _)| one == role).map_or_else(|| role.to_owned(), |(_, name)| name.clone())
}
