//! What one shop is handed: only its own sections, sizes in both units, what to deliver and how close, its own price, and what
//! is still missing. Read after a plan is calculated; the page and the sheet of paper are both made from it.
//!
//! [`Role`] says what each trade is handed as a matter of course, `sizes` what it must know of the piece.

mod sizes;

use std::collections::HashSet;

use serde::Serialize;

use crate::trade::roles;
pub use crate::trade::roles::{Need, ROLES, Role, role};
pub use sizes::Size;

use super::plain::{self, Block, CostRow, StepRow};
use super::shop_name;
use crate::document::Document;
use crate::evaluate::Evaluation;
use crate::record::Step;
use crate::trade::edition::Edition;

/// Who issues a ticket, and when.
#[derive(Clone, Debug, Default)]
pub struct Issue {
    /// Whose plan it is, when the head does not say.
    pub studio: String,
    /// What the plan is called in the notebook.
    pub plan: String,
    /// The revision it is issued at.
    pub revision: u32,
    /// The day, as written.
    pub date: String,
}

/// One field of the title block: what it is, and its value. Source: ISO 7200, data fields (from memory).
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Field {
    /// What it is.
    pub label: &'static str,
    /// Its value.
    pub value: String,
}

/// Something this ticket should say and cannot yet, and what to do.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Missing {
    /// What is missing.
    pub what: String,
    /// What to do.
    pub next: String,
}

/// How close something has to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Close {
    /// What.
    pub what: &'static str,
    /// How close.
    pub within: &'static str,
}

/// The ticket of one shop.
#[derive(Clone, Debug)]
pub struct Ticket {
    /// What the head of the plan calls the shop.
    pub role: String,
    /// What the shop is called.
    pub shop: String,
    /// The title of the piece.
    pub title: String,
    /// What the ticket is for: `The frame`.
    pub work: String,
    /// Which print of which edition.
    pub number: Option<String>,
    /// The last day of the shop's own steps.
    pub needed_by: Option<String>,
    /// What became of that day, when it is past: `19 days late on …`. No part of what two issues are compared by, since it
    /// is another each day.
    pub since_then: Option<String>,
    /// The title block.
    pub fields: Vec<Field>,
    /// How many of what.
    pub quantity: String,
    /// What the shop must know of the piece.
    pub sizes: Vec<Size>,
    /// Its own sections.
    pub blocks: Vec<Block>,
    /// What leaves the shop, and in which form.
    pub deliver: Vec<String>,
    /// How close it has to be.
    pub close: Vec<Close>,
    /// Its own steps.
    pub steps: Vec<StepRow>,
    /// Its own price.
    pub costs: Vec<CostRow>,
    /// The sum of it.
    pub total: Option<String>,
    /// What to look at before it leaves.
    pub ticks: Vec<&'static str>,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// Whom to ask: label and value.
    pub contact: Vec<(String, String)>,
    /// What is missing.
    pub missing: Vec<Missing>,
}

/// The ticket of one shop; `shops` is what each role of the plan is called.
#[must_use]
pub fn ticket(
    document: &Document,
    evaluation: &Evaluation,
    shops: &[(String, String)],
    role_name: &str,
    issue: &Issue,
) -> Ticket {
    let trade = role(role_name);
    let read = plain::of_shop(document, evaluation, shops, role_name);
    let shop = shops
        .iter()
        .find(|(one, _)| one == role_name)
        .map_or_else(|| format!("the {role_name}"), |(_, name)| name.clone());
    let name = |role: &str| shop_name(shops, role);
    let own = |one: &Option<String>| one.as_deref() == Some(role_name);
    let own_steps: Vec<_> = evaluation.record.steps.iter().filter(|step| own(&step.who)).collect();
    let needed_by = own_steps.iter().map(|step| step.end).max().map(|day| day.to_string());
    let since_then = since_then(document, evaluation, &own_steps);
    let steps = plain::steps(own_steps.iter().copied(), (document, evaluation), name);
    let costs = plain::costs(&evaluation.record, Some(role_name), name);
    let sizes = sizes::of(document, evaluation, role_name);
    let title = document.title();
    let work = trade.map_or_else(|| format!("Work of the {role_name}"), |one| one.work.to_owned());
    let number = number(document, evaluation);
    let mut cautions: Vec<String> =
        trade.map(|one| one.handling.iter().map(|line| (*line).to_owned()).collect()).unwrap_or_default();
    for caution in read.cautions.iter().chain(sizes.cautions.iter()) {
        if !cautions.contains(caution) {
            cautions.push(caution.clone());
        }
    }
    let mut ticket = Ticket {
        role: role_name.to_owned(),
        shop,
        work,
        number,
        needed_by,
        since_then,
        fields: Vec::new(),
        quantity: quantity(sizes.count, sizes.called),
        sizes: sizes.rows,
        blocks: read.blocks,
        deliver: trade.map(|one| roles::deliver(one, sizes.count, sizes.called)).unwrap_or_default(),
        close: trade
            .map(|one| one.close.iter().map(|(what, within)| Close { what, within }).collect())
            .unwrap_or_default(),
        steps,
        total: evaluation.record.total(Some(role_name)).filter(|_| !costs.is_empty()),
        costs,
        ticks: trade.map(|one| one.ticks.to_vec()).unwrap_or_default(),
        cautions,
        contact: document.front.contact.clone(),
        missing: Vec::new(),
        title,
    };
    ticket.missing = missing(document, &ticket, &read.unknown, trade, &sizes.known, issue);
    ticket.fields = fields(document, &ticket, issue);
    ticket
}

/// Everything a plan says, line by line, that the ticket of one shop does not: what is private, for others, or on no ticket.
#[must_use]
pub fn kept_back(
    document: &Document,
    evaluation: &Evaluation,
    shops: &[(String, String)],
    ticket: &Ticket,
) -> Vec<String> {
    let name = |role: &str| role.to_owned();
    let mut lines = Vec::new();
    plain::whole(document, evaluation, shops).blocks.iter().for_each(|block| block.lines(&mut lines));
    let costs = plain::costs(&evaluation.record, None, name);
    lines.extend(costs.iter().map(|row| format!("{}: {}", row.what, row.amount)));
    let steps = plain::steps(evaluation.record.steps.iter(), (document, evaluation), name);
    lines.extend(steps.iter().map(|step| format!("{}: {}", step.what, step.when)));
    let own: HashSet<String> = ticket.lines().into_iter().collect();
    lines.retain(|line| !own.contains(line));
    lines
}

/// How many of what: `1 piece`, `3 prints`.
fn quantity(count: u32, called: &str) -> String {
    if count == 1 { "1 piece".to_owned() } else { format!("{count} {called}") }
}

/// `4/10`, and how many proofs besides.
fn number(document: &Document, evaluation: &Evaluation) -> Option<String> {
    let edition: &Edition = evaluation.edition.as_ref()?;
    let proofs = if document.front.proofs > 0 { format!(" + {} AP", document.front.proofs) } else { String::new() };
    let next = edition.label().map_or_else(|| "no number left".to_owned(), |label| format!("number {label}"));
    Some(format!("{next}, edition of {}{proofs}", edition.size()))
}

/// What the head calls the person to ask, else the notebook.
fn owner(document: &Document, issue: &Issue) -> String {
    let named = document.front.contact.iter().find(|(label, _)| label == "name").map(|(_, value)| value.clone());
    named.unwrap_or_else(|| issue.studio.clone())
}

fn fields(document: &Document, ticket: &Ticket, issue: &Issue) -> Vec<Field> {
    let field = |label, value: String| Field { label, value };
    let status = match ticket.missing.len() {
        0 => "for issue".to_owned(),
        1 => "draft, 1 fact missing".to_owned(),
        count => format!("draft, {count} facts missing"),
    };
    let mut out = vec![
        field("legal owner", owner(document, issue)),
        field("document type", "Job ticket".to_owned()),
        field("title", ticket.title.clone()),
        field("revision", issue.revision.to_string()),
        field("issued to", format!("{}, {}", ticket.shop, ticket.role)),
        field("supplementary title", ticket.work.clone()),
        field("date of issue", issue.date.clone()),
        field("status", status),
        field("identification", format!("{} {}", issue.plan, ticket.role)),
    ];
    out.extend(ticket.needed().map(|day| field("needed by", day)));
    out.extend(ticket.number.clone().map(|number| field("print", number)));
    out
}

fn missing(
    document: &Document,
    ticket: &Ticket,
    unknown: &[String],
    trade: Option<&Role>,
    known: &[Need],
    issue: &Issue,
) -> Vec<Missing> {
    let say = |what: String, next: String| Missing { what, next };
    let mut out = Vec::new();
    let role = &ticket.role;
    if ticket.blocks.is_empty() {
        out.push(say(
            "no section of the plan is for this shop".to_owned(),
            format!("write `{{for={role}}}` after the heading of its section"),
        ));
    }
    for ask in unknown {
        out.push(say(format!("`{ask}` is not known yet"), "look at the remark beside it in the plan".to_owned()));
    }
    if ticket.needed_by.is_none() {
        out.push(say(
            "no day is set by which it is needed".to_owned(),
            format!("state a step for it: `step(\"{}\", 5.days, \"{role}\")`", ticket.work),
        ));
    }
    for need in trade.map(|one| one.needs).unwrap_or_default() {
        if known.contains(need) || (*need == Need::Number && ticket.number.is_some()) {
            continue;
        }
        let (what, next) = need.words();
        out.push(say(what.to_owned(), next.to_owned()));
    }
    if document.front.contact.is_empty() {
        out.push(say(
            "nobody is named whom the shop may ask".to_owned(),
            "write `contact = { name = \"…\", phone = \"…\" }` in the head of the plan".to_owned(),
        ));
    }
    if issue.revision == 0 {
        out.push(say(
            "the plan has never been saved, so this sheet has no revision".to_owned(),
            "save it once".to_owned(),
        ));
    }
    out
}

impl Need {
    /// What is missing, and what to do.
    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Film => ("the film is not named", "give it in the workings: `let film = film(\"6x17\");`"),
            Self::Scan => {
                ("the resolution of the scan is not known", "give it in the workings: `scan(film, 4000.ppi)`")
            }
            Self::Print => ("the size of the print is not known", "give it in the workings: `enlarge(scan, 60.inch)`"),
            Self::Board => {
                ("what it is mounted on is not known", "give it in the workings: `stack([paper, adhesive, board])`")
            }
            Self::Frame => (
                "the outside of the finished piece is not known",
                "make a frame in the workings, or state `hangs(size, weight)`",
            ),
            Self::Weight => ("what the piece weighs is not known", "state `hangs(frame.outside, weight)`"),
            Self::Height => {
                ("how high it hangs is not known", "make it in the workings: `elevation(frame.outside, 58.inch)`")
            }
            Self::Hardware => (
                "what the hooks must hold is not known",
                "make it in the workings: `hang_two_hooks(weight, 24.inch, 24.inch, 4)`, `wire(…)` or `cleat(…)`",
            ),
            Self::Crate => (
                "how it is packed is not known",
                "make it in the workings: `crate_for(frame.outside, frame.depth, 2.inch)`",
            ),
            Self::Number => ("no edition is stated", "write `edition = 10` in the head of the plan"),
        }
    }
}

/// What became of the last day of a shop's own steps.
fn since_then(document: &Document, evaluation: &Evaluation, own: &[&Step]) -> Option<String> {
    let last = own.iter().max_by_key(|step| step.end)?;
    if let Some(hung) = document.front.hung.filter(|hung| *hung <= evaluation.today) {
        return Some(format!("; the piece hangs since {hung}"));
    }
    if own.iter().all(|step| step.done.is_some()) {
        return Some(", done".to_owned());
    }
    Some(format!(", {} on {}", plain::lateness(document, evaluation, last)?, evaluation.today))
}

impl Ticket {
    /// The day by which it is needed, and what became of it.
    #[must_use]
    pub fn needed(&self) -> Option<String> {
        let day = self.needed_by.as_ref()?;
        Some(format!("{day}{}", self.since_then.as_deref().unwrap_or_default()))
    }

    /// The day by which it is still to come.
    #[must_use]
    pub fn to_come(&self) -> Option<&str> {
        self.needed_by.as_deref().filter(|_| self.since_then.is_none())
    }

    /// Everything the shop would read, line by line, so that two issues can be compared.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let mut out = vec![
            format!("title: {}", self.title),
            format!("for: {}", self.shop),
            format!("work: {}", self.work),
            format!("quantity: {}", self.quantity),
        ];
        out.extend(self.number.iter().map(|number| format!("print: {number}")));
        out.extend(self.needed_by.iter().map(|day| format!("needed by: {day}")));
        out.extend(self.sizes.iter().map(Size::line));
        for block in &self.blocks {
            block.lines(&mut out);
        }
        out.extend(self.deliver.iter().cloned());
        out.extend(self.close.iter().map(|one| format!("{}: {}", one.what, one.within)));
        out.extend(self.steps.iter().map(|step| format!("{}: {}", step.what, step.when)));
        out.extend(self.costs.iter().map(|row| format!("{}: {}", row.what, row.amount)));
        out.extend(self.total.iter().map(|total| format!("total: {total}")));
        out.extend(self.ticks.iter().map(|line| (*line).to_owned()));
        out.extend(self.cautions.iter().cloned());
        out.extend(self.contact.iter().map(|(label, value)| format!("{label}: {value}")));
        out
    }
}
