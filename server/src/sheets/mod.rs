//! What is issued on paper, as PDF set in the program itself: the ticket of a shop, a whole plan, a certificate.
//!
//! Here it is put together as plain data; the crate `paper` sets it. [`content`] turns the pieces of a plan into pieces of a
//! sheet, [`press`] lets no sheet take more than its share of memory and time, and keeps the last ones; [`ticket_page`] is a ticket as a
//! page.

mod content;
mod press;
pub(crate) mod ticket_page;

pub(crate) use press::Alone;

use engine::document::Document;
use engine::document::MOST_EVENTS;
use engine::measure::{Day, Units};
use engine::render::plain::{self, Block};
use engine::trade::certificate::STATUTES;
use paper::content::{Block as Piece, Column, Row, Run, Side, Table};
use serde::Serialize;

use self::content::{Pictures, words};
use crate::code;
use crate::days;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::{Current, Notebook};
use crate::store::Issued;
use crate::tickets::{Change, ShopTicket, changes};
use crate::titles::{sentence, title};

/// How many changed lines of an issue are written out.
const TOLD: usize = 4;

/// The size of a sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Paper {
    Letter,
    A4,
}

impl Paper {
    /// The size asked for; Letter when nothing is.
    pub(crate) fn of(asked: Option<&str>) -> Self {
        if asked.is_some_and(|asked| asked.eq_ignore_ascii_case("a4")) { Self::A4 } else { Self::Letter }
    }

    fn size(self) -> paper::Size {
        match self {
            Self::Letter => paper::Size::Letter,
            Self::A4 => paper::Size::A4,
        }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "a4",
        }
    }

    pub(crate) fn other(self) -> Self {
        match self {
            Self::Letter => Self::A4,
            Self::A4 => Self::Letter,
        }
    }
}

/// A sheet that was set.
#[derive(Clone, Debug)]
pub(crate) struct Made {
    /// The file.
    pub(crate) pdf: Vec<u8>,
    /// Letters no typeface here has.
    pub(crate) unwritten: Vec<char>,
}

/// Refuses a plan that is more than is shown, before anything is made of it. Long plans are made into sheets
/// one at a time, for as long as what this gives is held: each takes some tens of megabytes. One that cannot be read is told of
/// where it is read.
///
/// # Errors
/// When its text comes apart into more pieces than are read.
pub(crate) fn check(notebook: &Notebook, name: &Name) -> Result<Option<Alone>, Error> {
    let Ok(kept) = notebook.text(name) else { return Ok(None) };
    let alone = press::alone(kept.text.len());
    if Document::read(&kept.text).is_too_much() {
        return Err(press::refused(&paper::Unset::TooMuch { what: "pieces of text", most: MOST_EVENTS }));
    }
    Ok(alone)
}

/// The ticket of one shop.
///
/// # Errors
/// When the sheet cannot be set.
pub(crate) fn ticket(notebook: &Notebook, shop_ticket: &ShopTicket, paper: Paper) -> Result<Made, Error> {
    let ticket = &shop_ticket.ticket;
    let mut pictures = Pictures::of(notebook, &shop_ticket.name);
    let mut beside = Vec::new();
    if let Some(day) = ticket.needed() {
        let mut shown = Run::plain(day);
        shown.look.scale = paper::content::Scale::Large;
        beside.push(vec![Run::label("needed by "), shown]);
    }
    beside.push(words(format!("revision {}, {}", shop_ticket.revision, shop_ticket.day)));
    let mut body = vec![Piece::Head {
        title: ticket.title.clone(),
        subtitle: format!("{}: job ticket for {}, {}", ticket.work, ticket.shop, ticket.role),
        beside,
    }];
    body.push(heading("At a glance"));
    let mut rows = vec![vec![words("quantity"), vec![Run::bold(&ticket.quantity)], Vec::new()]];
    rows.extend(ticket.number.iter().map(|number| vec![words("print"), vec![Run::bold(number)], Vec::new()]));
    rows.extend(ticket.sizes.iter().map(|size| {
        vec![
            words(size.what.to_string()),
            vec![Run::bold(size.shown.to_string())],
            size.other.iter().map(|other| Run::plain(other.to_string())).collect(),
        ]
    }));
    body.push(facts(&["what", "as planned", "converted"], rows));
    if ticket.blocks.is_empty() {
        body.push(Piece::Paragraph(words("No section of this plan is for this shop yet.")));
    }
    let mut deep = 1;
    for (block, is_new) in ticket.blocks.iter().zip(shop_ticket.revised()) {
        for piece in content::pieces(std::slice::from_ref(block), &mut deep, &mut pictures) {
            body.push(if is_new {
                Piece::Revised { revision: shop_ticket.revision.to_string(), block: Box::new(piece) }
            } else {
                piece
            });
        }
    }
    if !ticket.deliver.is_empty() {
        body.push(heading("What to deliver"));
        let item = |line: &String| paper::content::Item { tick: None, blocks: vec![Piece::Paragraph(words(line))] };
        body.push(Piece::List { first: None, items: ticket.deliver.iter().map(item).collect() });
    }
    if !ticket.close.is_empty() {
        body.push(heading("Tolerances unless stated"));
        body.push(facts(
            &["what", "tolerance"],
            ticket.close.iter().map(|one| vec![words(one.what), words(one.within)]).collect(),
        ));
    }
    if !ticket.steps.is_empty() {
        body.push(heading("Dates"));
        body.push(content::steps(&ticket.steps));
    }
    if let Some(total) = &ticket.total {
        body.push(heading("Your price"));
        let row = |row: &plain::CostRow| Row { cells: vec![words(&row.what), words(&row.amount)], bar: None };
        body.push(Piece::Table(Table {
            columns: vec![Column { share: 10, ..Column::default() }, Column { side: Side::End, share: 0 }],
            head: vec![words("what"), words("amount")],
            rows: ticket.costs.iter().map(row).collect(),
            total: Some((words("Total"), words(total))),
            is_named: true,
            widest: Some(100),
        }));
    }
    if !ticket.ticks.is_empty() {
        body.push(heading("Before delivery"));
        body.push(Piece::Checks(ticket.ticks.iter().map(|line| (*line).to_owned()).collect()));
    }
    body.extend(cautions(&ticket.cautions));
    if !ticket.contact.is_empty() {
        let all: Vec<_> = ticket.contact.iter().map(|(label, value)| format!("{label}: {value}")).collect();
        body.push(Piece::Closing(vec![heading("Contact"), Piece::Paragraph(words(all.join("   ·   ")))]));
    }
    let issues = issues(shop_ticket);
    if !issues.is_empty() {
        body.push(heading("Issues of this sheet"));
        let row = |one: IssueRow| [one.issue, one.revision, one.day, one.changed].map(words).to_vec();
        body.push(facts(&["issue", "revision", "day", "what changed for you"], issues.into_iter().map(row).collect()));
    }
    let ready = ticket.to_come().map(|day| format!(", to be ready by {day}")).unwrap_or_default();
    let foot = vec![
        heading("Your remarks"),
        Piece::Room(2),
        Piece::Sign {
            agreed: Some(format!(
                "Agreed at revision {}{ready}. Destroy sheets of earlier revisions.",
                shop_ticket.revision
            )),
            lines: vec![format!("for {}", ticket.shop), "name".to_owned(), "date".to_owned()],
            code: code::modules(&shop_ticket.code()),
        },
        Piece::Fields(ticket.fields.iter().map(|field| (field.label.to_owned(), field.value.clone())).collect()),
    ];
    press::set(paper::Sheet {
        size: paper.size(),
        title: format!("Job ticket for {}: {}, revision {}", ticket.shop, ticket.title, shop_ticket.revision),
        author: author(notebook, &ticket.contact),
        day: numbers(shop_ticket.day),
        running: shop_ticket.running(),
        ident: format!(
            "{} {} {} {}{}",
            shop_ticket.name.as_str(),
            ticket.role,
            shop_ticket.hash,
            paper.word(),
            ticket.since_then.as_deref().unwrap_or_default()
        ),
        body,
        foot,
    })
}

/// A whole plan, as it stands.
///
/// # Errors
/// When the plan cannot be read, or the sheet cannot be set.
pub(crate) fn plan(notebook: &Notebook, name: &Name, paper: Paper, units: Option<Units>) -> Result<Made, Error> {
    let _alone = check(notebook, name)?;
    let Current { kept, worked, revision } = notebook.current(name, units)?;
    let day = notebook.day_of(name, revision)?;
    let read = plain::whole(&worked.document, &worked.evaluation, &worked.view.shops);
    let title = title(&worked.document, name);
    let is_title = |block: &&Block| matches!(block, Block::Heading { level: 1, .. });
    let named = read.blocks.iter().take(1).filter(is_title).count();
    let owner = author(notebook, &worked.document.front.contact);
    let mut body = vec![Piece::Head {
        title: title.clone(),
        subtitle: sentence(&worked.document),
        beside: vec![words(format!("revision {revision}, {day}"))],
    }];
    let open = open(&worked.evaluation);
    if !open.is_empty() {
        let item = |line: String| paper::content::Item { tick: None, blocks: vec![Piece::Paragraph(words(line))] };
        let items = open.into_iter().map(item).collect();
        body.push(Piece::Marked(vec![heading("Not settled"), Piece::List { first: None, items }]));
    }
    let mut pictures = Pictures::of(notebook, name);
    body.extend(content::pieces(read.blocks.get(named..).unwrap_or_default(), &mut 1, &mut pictures));
    body.extend(cautions(&read.cautions));
    let field = |label: &str, value: String| (label.to_owned(), value);
    let mut fields = vec![
        field("legal owner", owner.clone()),
        field("document type", "Production plan".to_owned()),
        field("title", title.clone()),
        field("revision", revision.to_string()),
        field("date of issue", day.to_string()),
        field("identification", name.as_str().to_owned()),
    ];
    fields.extend(worked.block.iter().map(|(label, value)| field(label, value.clone())));
    press::set(paper::Sheet {
        size: paper.size(),
        title: format!("{title}, revision {revision}"),
        author: owner,
        day: numbers(day),
        running: format!("{title} · revision {revision} · {day}"),
        ident: format!("{} {} {}", name.as_str(), kept.hash, paper.word()),
        body,
        foot: vec![Piece::Fields(fields)],
    })
}

/// The certificate of one print, as it was issued.
///
/// # Errors
/// When the sheet cannot be set.
pub(crate) fn certificate(notebook: &Notebook, issued: &Issued, paper: Paper) -> Result<Made, Error> {
    let title = notebook.certified_title(issued);
    let day = Day::parse(&issued.issued)
        .ok_or_else(|| Error::internal("the day of this certificate cannot be read", "look at its page instead"))?;
    let said = |label: &str| issued.says.iter().find(|(one, _)| one == label).map(|(_, words)| words.clone());
    let row = |label: &str, said: &str| Row { cells: vec![vec![Run::label(label)], words(said)], bar: None };
    let mut rows: Vec<_> = issued.says.iter().map(|(label, said)| row(label, said)).collect();
    rows.push(row("issued", &format!("{day}, from revision {} of the plan", issued.revision)));
    rows.push(row("code", &issued.code));
    let mut small = Run::label(under_which_law());
    small.look.scale = paper::content::Scale::Small;
    press::set(paper::Sheet {
        size: paper.size(),
        title: format!("Certificate for {title}, {}", issued.print),
        author: said("artist").unwrap_or_else(|| notebook.studio()),
        day: numbers(day),
        running: format!("Certificate {} · {title}", issued.code),
        ident: format!("{} {}", issued.code, paper.word()),
        body: vec![
            Piece::Space(12),
            Piece::Paragraph(vec![Run::label("certificate for a photograph sold as a multiple")]),
            Piece::Space(2),
            Piece::Heading { level: 1, runs: words(title.clone()) },
            Piece::Space(4),
            Piece::Table(Table { columns: vec![Column::default(); 2], rows, is_named: true, ..Table::default() }),
            Piece::Space(22),
            Piece::Sign {
                agreed: None,
                lines: vec!["signature of the issuer".to_owned(), "place and date".to_owned()],
                code: code::modules(&issued.code),
            },
            Piece::Space(6),
            Piece::Paragraph(vec![small]),
        ],
        foot: Vec::new(),
    })
}

fn heading(said: &str) -> Piece {
    Piece::Heading { level: 2, runs: words(said) }
}

/// Rows of a name and what it is.
fn facts(head: &[&str], rows: Vec<Vec<Vec<Run>>>) -> Piece {
    Piece::Table(Table {
        columns: vec![Column::default(); head.len()],
        head: head.iter().map(|one| words(*one)).collect(),
        rows: rows.into_iter().map(|cells| Row { cells, bar: None }).collect(),
        is_named: true,
        ..Table::default()
    })
}

fn cautions(all: &[String]) -> Option<Piece> {
    let one = |caution: &String| Piece::Marked(vec![Piece::Paragraph(words(caution))]);
    let pieces = std::iter::once(heading("Handling and cautions")).chain(all.iter().map(one));
    (!all.is_empty()).then(|| Piece::Closing(pieces.collect()))
}

fn numbers(day: Day) -> (u16, u8, u8) {
    let (year, month, day) = day.numbers();
    (year.unsigned_abs(), month.unsigned_abs(), day.unsigned_abs())
}

/// Who signs for a sheet: the person to ask, else the notebook.
fn author(notebook: &Notebook, contact: &[(String, String)]) -> String {
    let named = contact.iter().find(|(label, _)| label == "name").map(|(_, name)| name.clone());
    named.unwrap_or_else(|| notebook.studio())
}

/// Which statutes ask for the facts of a certificate, in a sentence.
fn under_which_law() -> String {
    let laws = STATUTES.iter().map(|one| {
        let returned = one
            .return_days
            .map(|days| format!("; when the facts come only with the print it may be given back within {days} days"))
            .unwrap_or_default();
        let from = one
            .threshold_usd
            .map(|usd| format!(" (from {usd} dollars on, without the frame{returned})"))
            .unwrap_or_default();
        format!("{}{from}", one.law)
    });
    format!(
        "The facts are those asked for by {}. Statutes change, and which one holds depends on where a print is sold: this is not legal advice.",
        laws.collect::<Vec<_>>().join("; ")
    )
}

/// What is not as it should be in a plan: rules not kept, and what could not be calculated.
fn open(evaluation: &engine::Evaluation) -> Vec<String> {
    let rules = evaluation.record.rules.iter().filter(|rule| !rule.kept).map(|rule| {
        let because = rule.because.as_ref().and_then(|trace| evaluation.shown(trace));
        let because = because.map(|because| format!(": {because}")).unwrap_or_default();
        format!("{}{because}", rule.text)
    });
    let problems = evaluation.problems.iter().map(|problem| {
        format!("line {}: {}; {}", problem.line, problem.what.replace('`', ""), problem.next.replace('`', ""))
    });
    rules.chain(problems).collect()
}

/// One issue of a ticket, as it is told.
#[derive(Serialize)]
pub(crate) struct IssueRow {
    issue: String,
    revision: String,
    day: String,
    /// What it changed for the shop.
    changed: String,
}

/// The issues of a ticket so far, oldest first, each with what it changed; and this sheet, when it says something new. It
/// stands on the sheet the shop reads, so nothing is repeated that is kept from the shop by now.
fn issues(shop_ticket: &ShopTicket) -> Vec<IssueRow> {
    let visible = |moved: Vec<Change>| match shop_ticket.kept_back.left_out(moved) {
        moved if moved.is_empty() => "nothing".to_owned(),
        moved => {
            let mut words: Vec<_> = moved
                .iter()
                .take(TOLD)
                .map(|change| match (&change.was, &change.is) {
                    (_, Some(is)) => is.clone(),
                    (Some(was), None) => format!("removed: {was}"),
                    (None, None) => "a line that is not for this shop now".to_owned(),
                })
                .collect();
            if moved.len() > TOLD {
                words.push(format!("{} more", moved.len() - TOLD));
            }
            words.join("; ")
        }
    };
    let mut before: Option<&Vec<String>> = None;
    let mut rows = Vec::new();
    for one in shop_ticket.to_this_shop().rev() {
        let changed = before.map_or_else(|| "first issue".to_owned(), |before| visible(changes(before, &one.lines)));
        let day = days::shown(&one.handed);
        rows.push(IssueRow { issue: one.number.to_string(), revision: one.revision.to_string(), day, changed });
        before = Some(&one.lines);
    }
    if !shop_ticket.since.is_empty() {
        rows.push(IssueRow {
            issue: "this sheet".to_owned(),
            revision: shop_ticket.revision.to_string(),
            day: shop_ticket.day.to_string(),
            changed: visible(shop_ticket.since.clone()),
        });
    }
    rows
}
