//! What is handed out on paper, as PDF set in the program itself: the ticket of a shop, a whole plan, a certificate.
//!
//! Here it is put together as plain data; the crate `paper` sets it. A program built without the feature `pdf` says so instead
//! and leaves paper to the browser's own print.

use engine::document::plain::{self, Block};
use engine::measure::{Day, Units};
use serde_json::{Map, Value, json};

use crate::code;
use crate::handover::{Change, Handed, changes};
use crate::names::Name;
use crate::notebook::Notebook;
use crate::pages::plan::{sentence, title};
use crate::store::Issued;
use crate::trouble::Refusal;

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
    /// Letters the shipped face cannot write.
    pub(crate) unwritten: Vec<char>,
}

/// Everything of a sheet but its size.
struct Draft {
    form: Form,
    title: String,
    author: String,
    day: Day,
    running: String,
    ident: String,
    says: Value,
}

#[derive(Clone, Copy, Debug)]
enum Form {
    Ticket,
    Plan,
    Certificate,
}

/// Whether this program sets paper itself.
pub(crate) const fn is_here() -> bool {
    cfg!(feature = "pdf")
}

/// Letters of a text the shipped face cannot write; a square stands for each on paper.
pub(crate) fn unwritten(text: &str) -> Vec<String> {
    #[cfg(feature = "pdf")]
    return paper::unwritten(text).into_iter().map(String::from).collect();
    #[cfg(not(feature = "pdf"))]
    return text.chars().take(0).map(String::from).collect();
}

/// The ticket of one shop.
///
/// # Errors
/// When the sheet cannot be set.
pub(crate) fn ticket(handed: &Handed, paper: Paper, studio: &str) -> Result<Made, Refusal> {
    let ticket = &handed.ticket;
    let mut says = object(serde_json::to_value(ticket).unwrap_or_default());
    let mut blocks = Vec::new();
    let mut deep = 1;
    for (block, is_new) in ticket.blocks.iter().zip(handed.revised()) {
        let block = piece(block, &mut deep);
        blocks.push(if is_new {
            json!({ "is": "revised", "revision": handed.revision.to_string(), "blocks": [block] })
        } else {
            block
        });
    }
    says.insert("blocks".to_owned(), Value::Array(blocks));
    says.extend(object(json!({
        "subtitle": format!("{}: job ticket for {}, {}", ticket.work, ticket.shop, ticket.role),
        "needed": ticket.needed_by,
        "revision": handed.revision.to_string(),
        "issued": handed.day.to_string(),
        "handed": issues(handed),
        "square": handed.square().map(|svg| json!({ "svg": svg })),
        "code": handed.code(),
    })));
    set(
        paper,
        Draft {
            form: Form::Ticket,
            title: format!("Job ticket for {}: {}, revision {}", ticket.shop, ticket.title, handed.revision),
            author: author(ticket.contact.iter().find(|(label, _)| label == "name").map(|(_, name)| name), studio),
            day: handed.day,
            running: handed.running(),
            ident: format!("{} {} {} {}", handed.name.as_str(), ticket.role, handed.etag, paper.word()),
            says: Value::Object(says),
        },
    )
}

/// A whole plan, as it stands.
///
/// # Errors
/// When the plan cannot be read, or the sheet cannot be set.
pub(crate) fn plan(
    notebook: &Notebook,
    name: &Name,
    paper: Paper,
    studio: &str,
    units: Option<Units>,
) -> Result<Made, Refusal> {
    let kept = notebook.text(name)?;
    let worked = notebook.work_out(name, &kept.text, units)?;
    let revision = notebook.revision(name, &kept.etag)?;
    let day = notebook.day_of(name, revision)?;
    let shops = notebook.view(&worked.document).shops;
    let read = plain::whole(&worked.document, &worked.evaluation, &shops);
    let title = title(&worked.document, name);
    let mut deep = 1;
    let is_title = |block: &&Block| matches!(block, Block::Heading { level: 1, .. });
    let named = read.blocks.iter().take(1).filter(is_title).count();
    let blocks: Vec<_> = read.blocks.iter().skip(named).map(|block| piece(block, &mut deep)).collect();
    let contact = worked.document.front.contact.iter().find(|(label, _)| label == "name").map(|(_, name)| name);
    let owner = author(contact, studio);
    let field = |label: &str, value: String| json!({ "label": label, "value": value });
    let mut fields = vec![
        field("legal owner", owner.clone()),
        field("document type", "Production plan".to_owned()),
        field("title", title.clone()),
        field("revision", revision.to_string()),
        field("date of issue", day.to_string()),
        field("identification", name.as_str().to_owned()),
    ];
    fields.extend(worked.block.iter().map(|(label, value)| field(label, value.clone())));
    let says = json!({
        "title": title,
        "subtitle": sentence(&worked.document),
        "revision": revision.to_string(),
        "issued": day.to_string(),
        "blocks": blocks,
        "open": open(&worked.evaluation),
        "cautions": read.cautions,
        "fields": fields,
    });
    set(
        paper,
        Draft {
            form: Form::Plan,
            title: format!("{title}, revision {revision}"),
            author: owner,
            day,
            running: format!("{title} · revision {revision} · {day}"),
            ident: format!("{} {} {}", name.as_str(), kept.etag, paper.word()),
            says,
        },
    )
}

/// The certificate of one print, as it was handed out.
///
/// # Errors
/// When the sheet cannot be set.
pub(crate) fn certificate(
    issued: &Issued,
    title: &str,
    paper: Paper,
    studio: &str,
    note: &str,
) -> Result<Made, Refusal> {
    let title = issued.says.iter().find(|(label, _)| label == "title").map_or(title, |(_, words)| words);
    let day = Day::parse(&issued.issued)
        .ok_or_else(|| Refusal::unable("the day of this certificate cannot be read", "look at its page instead"))?;
    let row = |label: &str, words: String| json!({ "label": label, "words": words });
    let mut rows: Vec<_> = issued.says.iter().map(|(label, words)| row(label, words.clone())).collect();
    rows.push(row("issued", format!("{day}, from revision {} of the plan", issued.revision)));
    rows.push(row("code", issued.code.clone()));
    set(
        paper,
        Draft {
            form: Form::Certificate,
            title: format!("Certificate for {title}, {}", issued.print),
            author: studio.to_owned(),
            day,
            running: format!("Certificate {} · {title}", issued.code),
            ident: format!("{} {}", issued.code, paper.word()),
            says: json!({
                "title": title, "rows": rows, "note": note,
                "square": code::svg(&issued.code).map(|svg| json!({ "svg": svg })), "code": issued.code,
            }),
        },
    )
}

/// Who signs for a sheet: the person to ask, else the notebook.
fn author(named: Option<&String>, studio: &str) -> String {
    named.cloned().unwrap_or_else(|| studio.to_owned())
}

/// What is not as it should be in a plan: rules not kept, and what could not be worked out.
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

/// The issues of a ticket so far, oldest first, each with what it changed; and this sheet, when it says something new.
pub(crate) fn issues(handed: &Handed) -> Vec<Value> {
    let told = |moved: &[Change]| match moved {
        [] => "nothing".to_owned(),
        moved => {
            let mut words: Vec<_> = moved
                .iter()
                .take(TOLD)
                .map(|change| match (&change.was, &change.is) {
                    (_, Some(is)) => is.clone(),
                    (was, None) => format!("gone: {}", was.clone().unwrap_or_default()),
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
    for one in handed.issued.iter().rev() {
        let changed = before.map_or_else(|| "first issue".to_owned(), |before| told(&changes(before, &one.lines)));
        let day = one.handed.get(..10).and_then(Day::parse).map_or_else(String::new, |day| day.to_string());
        rows.push(json!({ "issue": one.number.to_string(), "revision": one.revision.to_string(), "day": day, "changed": changed }));
        before = Some(&one.lines);
    }
    if !handed.since.is_empty() {
        rows.push(json!({ "issue": "this sheet", "revision": handed.revision.to_string(), "day": handed.day.to_string(), "changed": told(&handed.since) }));
    }
    rows
}

/// A piece of a plan as data, its headings one step apart at most: a reader's outline has no gaps.
fn piece(block: &Block, deep: &mut u8) -> Value {
    let mut data = object(serde_json::to_value(block).unwrap_or_default());
    match block {
        Block::Heading { level, .. } => {
            *deep = (*level).clamp(2, *deep + 1);
            data.insert("level".to_owned(), json!(*deep));
        }
        Block::Quote { blocks } => {
            data.insert("blocks".to_owned(), blocks.iter().map(|one| piece(one, deep)).collect());
        }
        Block::List { items, .. } => {
            let items = items.iter().map(|item| {
                let blocks: Value = item.blocks.iter().map(|one| piece(one, deep)).collect();
                json!({ "tick": item.tick, "blocks": blocks })
            });
            let items: Value = items.collect();
            data.insert("items".to_owned(), items);
        }
        _ => {}
    }
    Value::Object(data)
}

fn object(value: Value) -> Map<String, Value> {
    match value {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

#[cfg(feature = "pdf")]
fn set(size: Paper, draft: Draft) -> Result<Made, Refusal> {
    use std::sync::{Mutex, PoisonError};

    /// One sheet at a time: each takes some tens of megabytes while it is set.
    static PRESS: Mutex<()> = Mutex::new(());

    let (year, month, day) = draft.day.numbers();
    let sheet = paper::Sheet {
        form: match draft.form {
            Form::Ticket => paper::Form::Ticket,
            Form::Plan => paper::Form::Plan,
            Form::Certificate => paper::Form::Certificate,
        },
        size: match size {
            Paper::Letter => paper::Size::Letter,
            Paper::A4 => paper::Size::A4,
        },
        title: draft.title,
        author: draft.author,
        day: (i32::from(year), month.unsigned_abs(), day.unsigned_abs()),
        running: draft.running,
        ident: draft.ident,
        says: draft.says,
    };
    let _turn = PRESS.lock().unwrap_or_else(PoisonError::into_inner);
    let set = paper::pdf(&sheet).map_err(|unset| {
        tracing::error!(sheet = %sheet.ident, fault = %unset, "a sheet could not be set");
        Refusal::unable(
            format!("this sheet could not be set: {unset}"),
            "print its page from the browser instead, and tell us which plan it was",
        )
    })?;
    Ok(Made { pdf: set.pdf, unwritten: set.unwritten })
}

#[cfg(not(feature = "pdf"))]
fn set(_: Paper, draft: Draft) -> Result<Made, Refusal> {
    let Draft { form, title, author, day, running, ident, says } = draft;
    tracing::debug!(?form, title, author, %day, running, ident, says = %says, "this program sets no paper itself");
    Err(Refusal::unable(
        "this program was built without its own paper",
        "print the page from the browser; a program built with the feature `pdf` makes the file itself",
    ))
}
