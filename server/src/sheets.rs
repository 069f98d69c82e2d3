//! Sheets of paper as PDF, and what is said instead when this program was built without them.

use engine::measure::Units;

use crate::handover::Handed;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::pages::ticket::Paper;
use crate::trouble::Refusal;

/// What a built-in press says of itself where there is none.
#[cfg(not(feature = "pdf"))]
fn none() -> Refusal {
    Refusal::unable(
        "this program was built without its own PDF",
        "print the page from the browser at full size, or build the program with its usual features",
    )
}

/// The ticket of one shop.
#[cfg(not(feature = "pdf"))]
pub(crate) fn ticket(_: &Handed, _: Paper) -> Result<Vec<u8>, Refusal> {
    Err(none())
}

/// The whole plan.
#[cfg(not(feature = "pdf"))]
pub(crate) fn plan(_: &Notebook, _: &Name, _: Paper, _: &str, _: Option<Units>) -> Result<Vec<u8>, Refusal> {
    Err(none())
}

/// Whether this program makes PDF by itself.
pub(crate) const MADE_HERE: bool = cfg!(feature = "pdf");

#[cfg(feature = "pdf")]
pub(crate) use made::{plan, ticket};

#[cfg(feature = "pdf")]
mod made {
    use std::sync::OnceLock;

    use engine::document::plain::{self, Block};
    use engine::document::ticket::Field;
    use engine::measure::Day;
    use pdf::{Part, Passage, Press, Refused, Sheet};

    use super::{Handed, Name, Notebook, Paper, Refusal, Units};
    use crate::pages::plan::{about, title};

    /// One press for the whole program: its types and its memory of what was laid out are shared.
    static PRESS: OnceLock<Press> = OnceLock::new();

    fn print(sheet: Sheet) -> Result<Vec<u8>, Refusal> {
        let press = match PRESS.get() {
            Some(press) => press,
            None => {
                let made = Press::start().map_err(Refusal::from)?;
                PRESS.get_or_init(|| made)
            }
        };
        press.print(sheet).map_err(|refused| match refused {
            Refused::Busy(trouble) => Refusal::Busy(trouble),
            Refused::Unable(trouble) => Refusal::Unable(trouble),
        })
    }

    fn paper(paper: Paper) -> pdf::Paper {
        match paper {
            Paper::Letter => pdf::Paper::Letter,
            Paper::A4 => pdf::Paper::A4,
        }
    }

    fn date(day: Day) -> (i32, u8, u8) {
        let (year, month, day) = day.numbers();
        (i32::from(year), u8::try_from(month).unwrap_or(1), u8::try_from(day).unwrap_or(1))
    }

    /// Headings of the plan under the title of the sheet, none deeper than one below the last.
    fn levelled(blocks: &mut [Block]) {
        let mut last = 1;
        for block in blocks {
            if let Block::Heading { level, .. } = block {
                *level = (*level).clamp(2, 6).min(last + 1);
                last = *level;
            }
        }
    }

    /// The ticket of one shop.
    pub(crate) fn ticket(handed: &Handed, on: Paper) -> Result<Vec<u8>, Refusal> {
        print(of_ticket(handed, on))
    }

    fn of_ticket(handed: &Handed, on: Paper) -> Sheet {
        let ticket = handed.ticket.clone();
        let own = |all: &[&str]| all.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>();
        let mut corner = Vec::new();
        corner.extend(ticket.needed_by.clone().map(|day| ("needed by".to_owned(), day)));
        corner.push(("revision".to_owned(), format!("{}, {}", handed.revision, handed.day)));
        let mut parts = Vec::new();
        let mut sizes = ticket.sizes.clone();
        let plain = |what, shown: String| engine::document::ticket::Size { what, shown, other: None };
        sizes.insert(0, plain("quantity", ticket.quantity.clone()));
        if let Some(number) = &ticket.number {
            sizes.insert(1, plain("print", number.clone()));
        }
        let revised = sizes.iter().map(|row| handed.is_new([format!("{}: {}", row.what, row.shown)])).collect();
        parts.push(Part::Sizes { title: "At a glance".to_owned(), rows: sizes, revised });
        let changed = handed.revised();
        let mut blocks = ticket.blocks.clone();
        levelled(&mut blocks);
        let passages =
            blocks.into_iter().zip(changed).map(|(block, revised)| Passage { block, revised }).collect::<Vec<_>>();
        if passages.is_empty() {
            parts.push(Part::Lines {
                title: "What to make".to_owned(),
                items: vec!["No section of the plan is for this shop yet.".to_owned()],
            });
        } else {
            parts.push(Part::Prose { passages });
        }
        if !ticket.deliver.is_empty() {
            parts.push(Part::Lines { title: "What to deliver".to_owned(), items: own(&ticket.deliver) });
        }
        if !ticket.close.is_empty() {
            parts.push(Part::Close {
                title: "How close, where the text above does not say".to_owned(),
                rows: ticket.close.clone(),
            });
        }
        if !ticket.steps.is_empty() {
            parts.push(Part::Steps { title: "Dates".to_owned(), rows: ticket.steps.clone() });
        }
        if let Some(total) = &ticket.total {
            parts.push(Part::Price {
                title: "Your price".to_owned(),
                rows: ticket.costs.clone(),
                total: total.clone(),
            });
        }
        if !ticket.ticks.is_empty() {
            parts.push(Part::Ticks { title: "Before it leaves you".to_owned(), items: own(&ticket.ticks) });
        }
        if !ticket.cautions.is_empty() {
            parts.push(Part::Cautions { title: "Handling and cautions".to_owned(), items: ticket.cautions.clone() });
        }
        if !ticket.contact.is_empty() {
            let items = ticket.contact.iter().map(|(label, value)| format!("{label}: {value}")).collect();
            parts.push(Part::Lines { title: "Ask".to_owned(), items });
        }
        if !handed.issued.is_empty() {
            parts.push(Part::Revisions { title: "Issues".to_owned(), rows: revisions(handed) });
        }
        parts.push(Part::Room { title: "Your remarks".to_owned(), lines: 3 });
        let needed = ticket.needed_by.as_ref().map_or_else(String::new, |day| format!(", to be ready by {day}"));
        parts.push(Part::Sign {
            words: format!("Agreed at revision {}{needed}. Destroy sheets of earlier revisions.", handed.revision),
            lines: vec![format!("for {}", ticket.shop), "name".to_owned(), "date".to_owned()],
            code: handed.square().map(|svg| (svg, handed.code())),
        });
        let author = ticket.fields.iter().find(|field| field.label == "legal owner").map(|field| field.value.clone());
        Sheet {
            paper: paper(on),
            language: "en".to_owned(),
            title: ticket.title.clone(),
            subtitle: format!("{}: job ticket for {}, {}", ticket.work, ticket.shop, ticket.role),
            author: author.unwrap_or_default(),
            date: date(handed.day),
            corner,
            fields: ticket.fields,
            parts,
        }
    }

    /// What each issue changed, newest first; the one being printed stands on top.
    fn revisions(handed: &Handed) -> Vec<(String, String, String)> {
        let said = |changes: &[crate::handover::Change]| match changes.len() {
            0 => "nothing this shop reads".to_owned(),
            count => {
                let mut words: Vec<String> = changes
                    .iter()
                    .take(4)
                    .map(|one| match (&one.was, &one.is) {
                        (Some(was), Some(is)) => {
                            format!("{is} (was {})", was.split_once(": ").map_or(was.as_str(), |(_, value)| value))
                        }
                        (None, Some(is)) => format!("new: {is}"),
                        (Some(was), None) => format!("gone: {was}"),
                        (None, None) => String::new(),
                    })
                    .collect();
                if count > 4 {
                    words.push(format!("and {} more lines, each with a bar beside it", count - 4));
                }
                words.join("; ")
            }
        };
        let mut rows = vec![(handed.revision.to_string(), "this sheet".to_owned(), said(&handed.since))];
        for (at, one) in handed.issued.iter().enumerate().take(8) {
            let words = match handed.issued.get(at + 1) {
                Some(before) => said(&crate::handover::changes(&before.lines, &one.lines)),
                None => "first issue".to_owned(),
            };
            rows.push((one.revision.to_string(), one.handed.chars().take(10).collect(), words));
        }
        rows
    }

    /// The whole plan.
    pub(crate) fn plan(
        notebook: &Notebook,
        name: &Name,
        on: Paper,
        studio: &str,
        units: Option<Units>,
    ) -> Result<Vec<u8>, Refusal> {
        let kept = notebook.text(name)?;
        let worked = notebook.work_out(name, &kept.text, units)?;
        let revision = notebook.revision(name, &kept.etag)?;
        let day = notebook.day_of(name, revision)?;
        let document = &worked.document;
        let read = plain::whole(document, &worked.evaluation, &notebook.view(document).shops);
        let mut blocks = read.blocks;
        // The title stands on top already.
        if matches!(blocks.first(), Some(Block::Heading { level: 1, .. })) {
            blocks.remove(0);
        }
        levelled(&mut blocks);
        let named = document.front.contact.iter().find(|(label, _)| label == "name").map(|(_, value)| value.clone());
        let owner = named.unwrap_or_else(|| studio.to_owned());
        let field = |label, value: String| Field { label, value };
        let mut fields = vec![
            field("legal owner", owner.clone()),
            field("document type", "Plan".to_owned()),
            field("title", title(document, name)),
            field("revision", revision.to_string()),
            field("identification", name.as_str().to_owned()),
            field("date of issue", day.to_string()),
        ];
        fields.extend(worked.block.iter().map(|(label, value)| field(label, value.clone())));
        let mut parts =
            vec![Part::Prose { passages: blocks.into_iter().map(|block| Passage { block, revised: false }).collect() }];
        if !read.cautions.is_empty() {
            parts.push(Part::Cautions { title: "Cautions".to_owned(), items: read.cautions });
        }
        print(Sheet {
            paper: paper(on),
            language: "en".to_owned(),
            title: title(document, name),
            subtitle: Some(about(document)).filter(|words| !words.is_empty()).unwrap_or_else(|| "Plan".to_owned()),
            author: owner,
            date: date(day),
            corner: vec![("revision".to_owned(), format!("{revision}, {day}"))],
            fields,
            parts,
        })
    }
}
