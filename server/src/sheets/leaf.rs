//! A ticket as a page: on the screen, under a shop's link, and as a file of its own.

use engine::document::handed;
use minijinja::context;
use minijinja::value::Serde;

use super::{Paper, issues};
use crate::handover::Handed;
use crate::names::in_url;

/// Everything on the ticket's page.
pub(crate) fn shown(handed: &Handed, paper: Paper, css: &str) -> minijinja::Value {
    let ticket = &handed.ticket;
    let article = if ticket.blocks.is_empty() {
        "<p>No section of this plan is for this shop yet.</p>".to_owned()
    } else {
        handed::html(&ticket.blocks, &handed.revised(), handed.revision)
    };
    let steps = if ticket.steps.is_empty() {
        String::new()
    } else {
        let rows = ticket.steps.clone();
        handed::html(&[engine::document::plain::Block::Steps { rows }], &[], 0)
    };
    let issued: Vec<_> = handed
        .issued
        .iter()
        .map(|one| {
            context! { number => one.number, revision => one.revision, day => one.handed.chars().take(10).collect::<String>(), shop => one.shop.clone(), words => one.words.clone(), kept => one.kept }
        })
        .collect();
    let square = handed.square().unwrap_or_default();
    context! {
        today => handed.day.to_string(),
        slug => handed.name.in_url(),
        role_url => in_url(&ticket.role),
        shop => context! { role => ticket.role.clone(), name => ticket.shop.clone() },
        title => ticket.title.clone(),
        subtitle => format!("{}: job ticket for {}, {}", ticket.work, ticket.shop, ticket.role),
        revision => handed.revision.to_string(),
        issued => handed.day.to_string(),
        needed => ticket.needed_by.clone(),
        number => ticket.number.clone(),
        quantity => ticket.quantity.clone(),
        paper => paper.word(),
        other_paper => paper.other().word(),
        article => article,
        steps => steps,
        sizes => minijinja::Value::from(Serde(&ticket.sizes)),
        deliver => ticket.deliver.clone(),
        close => minijinja::Value::from(Serde(&ticket.close)),
        fields => minijinja::Value::from(Serde(&ticket.fields)),
        costs => minijinja::Value::from(Serde(&ticket.costs)),
        total => ticket.total.clone(),
        ticks => ticket.ticks.clone(),
        cautions => ticket.cautions.clone(),
        contact => minijinja::Value::from(Serde(&ticket.contact)),
        missing => minijinja::Value::from(Serde(&ticket.missing)),
        handed => issued,
        handed_to_it => handed.to_this_shop().next().is_some(),
        sheets => minijinja::Value::from(Serde(&issues(handed))),
        since => minijinja::Value::from(Serde(&handed.since)),
        code => handed.code(),
        square => square,
        css_url => css,
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
