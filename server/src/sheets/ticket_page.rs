//! A ticket as a page: on the screen, under a shop's link, and as a file of its own.

use engine::render::plain::{Block, CostRow};
use engine::render::ticket::{Close, Field, Missing, Size};
use engine::render::ticket_text;
use serde::Serialize;

use super::{IssueRow, Paper, issues};
use crate::names::in_url;
use crate::tickets::ShopTicket;

/// Everything on the ticket's page. What changed since it was issued is told in one way to the photographer and in
/// another to the shop.
#[derive(Serialize)]
pub(crate) struct TicketPage<'a, S> {
    /// The plan's address, where the page leads back to it.
    slug: String,
    role_url: String,
    shop: TicketShop<'a>,
    title: &'a str,
    subtitle: String,
    revision: u32,
    /// The day of the revision.
    issued: String,
    needed: Option<String>,
    /// The same day where it is still to come.
    to_come: Option<&'a str>,
    number: Option<&'a str>,
    quantity: &'a str,
    paper: &'static str,
    other_paper: &'static str,
    article: String,
    steps: String,
    sizes: &'a [Size],
    deliver: &'a [String],
    close: &'a [Close],
    fields: &'a [Field],
    costs: &'a [CostRow],
    total: Option<&'a str>,
    ticks: &'a [&'static str],
    cautions: &'a [String],
    contact: &'a [(String, String)],
    missing: &'a [Missing],
    /// What was issued before, and whether any of it to this very shop.
    handed: Vec<IssuedRow<'a>>,
    handed_to_it: bool,
    /// The issues of this sheet.
    sheets: Vec<IssueRow>,
    since: S,
    code: String,
    /// The code as a square to be read by a camera.
    square: String,
    css_url: String,
    /// Another address of its PDF than the plan's own.
    pdf_url: Option<String>,
}

#[derive(Serialize)]
struct TicketShop<'a> {
    role: &'a str,
    name: &'a str,
}

/// A ticket as it was issued.
#[derive(Serialize)]
struct IssuedRow<'a> {
    number: u32,
    revision: u32,
    day: &'a str,
    shop: &'a str,
    words: &'a str,
    /// Its sheet is kept.
    kept: bool,
}

impl<'a, S> TicketPage<'a, S> {
    /// The page as whoever was given a link to it reads it: it leads to no other, and has its PDF under that link.
    pub(crate) fn shared(self, pdf_url: String) -> Self {
        Self { slug: String::new(), pdf_url: Some(pdf_url), ..self }
    }

    pub(crate) fn of(shop_ticket: &'a ShopTicket, paper: Paper, css_url: String, since: S) -> Self {
        let ticket = &shop_ticket.ticket;
        let article = if ticket.blocks.is_empty() {
            "<p>No section of this plan is for this shop yet.</p>".to_owned()
        } else {
            ticket_text::html(&ticket.blocks, &shop_ticket.revised(), shop_ticket.revision)
        };
        let steps = if ticket.steps.is_empty() {
            String::new()
        } else {
            ticket_text::html(&[Block::Steps { rows: ticket.steps.clone() }], &[], 0)
        };
        let before = shop_ticket.issued.iter().map(|one| IssuedRow {
            number: one.number,
            revision: one.revision,
            day: one.handed.get(..10).unwrap_or(&one.handed),
            shop: &one.shop,
            words: &one.words,
            kept: one.kept,
        });
        Self {
            slug: shop_ticket.name.in_url(),
            role_url: in_url(&ticket.role),
            shop: TicketShop { role: &ticket.role, name: &ticket.shop },
            title: &ticket.title,
            subtitle: format!("{}: job ticket for {}, {}", ticket.work, ticket.shop, ticket.role),
            revision: shop_ticket.revision,
            issued: shop_ticket.day.to_string(),
            needed: ticket.needed(),
            to_come: ticket.to_come(),
            number: ticket.number.as_deref(),
            quantity: &ticket.quantity,
            paper: paper.word(),
            other_paper: paper.other().word(),
            article,
            steps,
            sizes: &ticket.sizes,
            deliver: &ticket.deliver,
            close: &ticket.close,
            fields: &ticket.fields,
            costs: &ticket.costs,
            total: ticket.total.as_deref(),
            ticks: &ticket.ticks,
            cautions: &ticket.cautions,
            contact: &ticket.contact,
            missing: &ticket.missing,
            handed: before.collect(),
            handed_to_it: shop_ticket.to_this_shop().next().is_some(),
            sheets: issues(shop_ticket),
            since,
            code: shop_ticket.code(),
            square: shop_ticket.square().unwrap_or_default(),
            css_url,
            pdf_url: None,
        }
    }
}

/// Size, margins and running lines of the printed sheet.
pub(crate) fn style(paper: Paper, running: &str) -> String {
    let size = match paper {
        Paper::Letter => "letter",
        Paper::A4 => "a4",
    };
    let mut words = String::new();
    for c in running.chars() {
        // A style sheet's own way of writing any sign, so that no title can end the string.
        if c.is_alphanumeric() || " ,.-·".contains(c) {
            words.push(c)
        } else {
            words.push_str(&format!("\\{:x} ", u32::from(c)))
        }
    }
    format!(
        "@page {{ size: {size}; margin: 16mm 14mm 18mm 22mm; @bottom-left {{ content: \"{words}\"; font: 8.5pt \"Plan\", serif }} @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8.5pt \"Plan\", serif }} }}\n"
    )
}
