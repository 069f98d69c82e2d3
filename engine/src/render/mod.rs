//! What people read of an evaluated plan: [`html`] its page, [`plain`] its pieces for paper, [`ticket`] what one shop is given
//! and [`ticket_text`] that as HTML, [`compare`] what differs between two evaluations. Nothing below knows of this.

pub mod compare;
pub mod html;
pub mod plain;
pub mod ticket;
pub mod ticket_text;
