//! Plain pieces of a plan as HTML, for the page of a job ticket.

use super::plain::{Block, CostRow, Item, Run, State, StepRow};
use crate::markup::{Html, Link, Name, Tag};

/// The pieces as HTML; those at the places `changed` carry a revision bar.
#[must_use]
pub fn html(blocks: &[Block], changed: &[bool], revision: u32) -> String {
    let mut out = Html::default();
    for (index, one) in blocks.iter().enumerate() {
        if changed.get(index).copied().unwrap_or(false) {
            let bar = out.open(Tag::Div).class("revised").attr(Name::DataRev, revision);
            bar.holds(|out| block(out, one));
            out.text("\n");
        } else {
            block(&mut out, one);
        }
    }
    out.into_parts().0
}

fn block(out: &mut Html, block: &Block) {
    match block {
        Block::Heading { level, runs: words } => {
            out.open(Tag::heading(*level)).holds(|out| runs(out, words));
            out.text("\n");
        }
        Block::Paragraph { runs: words } => {
            out.open(Tag::P).holds(|out| runs(out, words));
            out.text("\n");
        }
        Block::List { first, items } => {
            let list = match first {
                Some(first) => out.open(Tag::Ol).attr(Name::Start, first),
                None => out.open(Tag::Ul),
            };
            list.holds(|out| items.iter().for_each(|one| item(out, one)));
            out.text("\n");
        }
        Block::Table { columns, head, rows } => table(out, columns, head, rows),
        Block::Quote { blocks } => {
            out.open(Tag::Blockquote).holds(|out| blocks.iter().for_each(|one| self::block(out, one)));
            out.text("\n");
        }
        Block::Code { text } => {
            out.open(Tag::Pre).holds(|out| out.open(Tag::Code).says(text));
            out.text("\n");
        }
        Block::Line => {
            out.fixed("<hr>\n");
        }
        Block::Drawing { drawing } => drawing.figure(out),
        Block::Remark { text } => {
            out.open(Tag::P).class("problem").says(text);
            out.text("\n");
        }
        Block::Costs { rows, total } => costs(out, rows, total),
        Block::Steps { rows } => steps(out, rows),
    }
}

fn item(out: &mut Html, item: &Item) {
    out.open(Tag::Li).holds(|out| {
        match item.tick {
            Some(true) => _ = out.fixed("<span class=\"box done\">done:</span> "),
            Some(false) => _ = out.fixed("<span class=\"box\"></span> "),
            None => {}
        }
        match item.blocks.as_slice() {
            [Block::Paragraph { runs: words }] => runs(out, words),
            blocks => blocks.iter().for_each(|one| block(out, one)),
        }
    });
}

fn table(out: &mut Html, columns: &[&'static str], head: &[Vec<Run>], rows: &[Vec<Vec<Run>>]) {
    let cell = |out: &mut Html, tag: Tag, index: usize, words: &[Run]| {
        let start = out.open(tag);
        let start = if tag == Tag::Th { start.attr(Name::Scope, "col") } else { start };
        let start = if columns.get(index) == Some(&"right") { start.class("n") } else { start };
        start.holds(|out| runs(out, words));
    };
    let row = |out: &mut Html, tag: Tag, cells: &[Vec<Run>]| {
        out.open(Tag::Tr).holds(|out| {
            cells.iter().enumerate().for_each(|(index, words)| cell(out, tag, index, words));
        });
    };
    out.open(Tag::Table).holds(|out| {
        if head.iter().any(|cell| !cell.is_empty()) {
            out.open(Tag::Thead).holds(|out| row(out, Tag::Th, head));
        }
        out.open(Tag::Tbody).holds(|out| rows.iter().for_each(|cells| row(out, Tag::Td, cells)));
    });
    out.text("\n");
}

fn costs(out: &mut Html, rows: &[CostRow], total: &str) {
    out.fixed("<table class=\"costs\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\">to</th><th scope=\"col\" class=\"n\">cost</th></tr></thead><tbody>");
    for row in rows {
        out.open(Tag::Tr).holds(|out| {
            out.open(Tag::Th).attr(Name::Scope, "row").says(&row.what);
            out.open(Tag::Td).says(&row.to);
            out.open(Tag::Td).class("n").says(&row.amount);
        });
    }
    out.fixed("</tbody><tfoot><tr><td colspan=\"2\">Total</td>");
    out.open(Tag::Td).class("n").says(total);
    out.fixed("</tr></tfoot></table>\n");
}

fn steps(out: &mut Html, rows: &[StepRow]) {
    out.open(Tag::Ol).class("steps").holds(|out| {
        for row in rows {
            let item = out.open(Tag::Li).attr(Name::DataStart, &row.start).attr(Name::DataEnd, &row.end);
            item.attr(Name::DataDays, row.days).holds(|out| {
                out.open(Tag::Span).class("what").says(&row.what);
                out.text(" ").open(Tag::Span).class("who").says(&row.who);
                out.text(" ").open(Tag::Span).class("when").says(row.when_and_late());
            });
        }
    });
    out.text("\n");
}

fn runs(out: &mut Html, all: &[Run]) {
    for run in all {
        match run {
            Run::Text { text } => _ = out.text(text),
            Run::Code { text } => out.open(Tag::Code).says(text),
            Run::Strong { runs: words } => out.open(Tag::Strong).holds(|out| runs(out, words)),
            Run::Emphasis { runs: words } => out.open(Tag::Em).holds(|out| runs(out, words)),
            Run::Struck { runs: words } => out.open(Tag::Del).holds(|out| runs(out, words)),
            Run::Link { to, runs: words } => match to.as_deref().and_then(Link::of) {
                Some(to) => {
                    let link = out.open(Tag::A).href(&to).attr(Name::Rel, "noopener noreferrer");
                    link.holds(|out| runs(out, words));
                }
                None => runs(out, words),
            },
            Run::Picture { words, .. } => out.open(Tag::Em).says(words),
            Run::Break => drop(out.open(Tag::Br)),
            Run::Value { shown, other, state } => {
                let class = match state {
                    // A number keeps its unit beside it; a sentence goes on to the next line.
                    State::Found if shown.chars().count() > 40 => "found words",
                    State::Found => "found",
                    State::Unknown => "unknown",
                    State::Withheld => "withheld",
                };
                out.open(Tag::Span).class(class).says(shown);
                if let Some(other) = other {
                    out.text(" ").open(Tag::Span).class("nb").says(format_args!("({other})"));
                }
            }
        }
    }
}
