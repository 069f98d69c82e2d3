//! Plain pieces of a plan as HTML, for the page of a job ticket.

use std::fmt::Write as _;

use super::html::escape;
use super::plain::{Block, Run, State};

/// The pieces as HTML; those at the places `changed` carry a revision bar.
#[must_use]
pub fn html(blocks: &[Block], changed: &[bool], revision: u32) -> String {
    let mut out = String::new();
    for (index, one) in blocks.iter().enumerate() {
        let bar = changed.get(index).copied().unwrap_or(false);
        if bar {
            let _ = write!(out, "<div class=\"revised\" data-rev=\"{revision}\">");
        }
        block(&mut out, one);
        if bar {
            out.push_str("</div>\n");
        }
    }
    out
}

fn block(out: &mut String, block: &Block) {
    match block {
        Block::Heading { level, runs: words } => {
            let tag = (*level).clamp(2, 6);
            let _ = write!(out, "<h{tag}>");
            runs(out, words);
            let _ = writeln!(out, "</h{tag}>");
        }
        Block::Paragraph { runs: words } => {
            out.push_str("<p>");
            runs(out, words);
            out.push_str("</p>\n");
        }
        Block::List { first, items } => {
            let _ = match first {
                Some(first) => write!(out, "<ol start=\"{first}\">"),
                None => write!(out, "<ul>"),
            };
            for item in items {
                out.push_str("<li>");
                match item.tick {
                    Some(true) => out.push_str("<span class=\"box done\">done:</span> "),
                    Some(false) => out.push_str("<span class=\"box\"></span> "),
                    None => {}
                }
                match item.blocks.as_slice() {
                    [Block::Paragraph { runs: words }] => runs(out, words),
                    blocks => blocks.iter().for_each(|one| self::block(out, one)),
                }
                out.push_str("</li>");
            }
            out.push_str(if first.is_some() { "</ol>\n" } else { "</ul>\n" });
        }
        Block::Table { columns, head, rows } => {
            let side = |index: usize| if columns.get(index) == Some(&"right") { " class=\"n\"" } else { "" };
            out.push_str("<table>");
            if head.iter().any(|cell| !cell.is_empty()) {
                out.push_str("<thead><tr>");
                for (index, cell) in head.iter().enumerate() {
                    let _ = write!(out, "<th scope=\"col\"{}>", side(index));
                    runs(out, cell);
                    out.push_str("</th>");
                }
                out.push_str("</tr></thead>");
            }
            out.push_str("<tbody>");
            for row in rows {
                out.push_str("<tr>");
                for (index, cell) in row.iter().enumerate() {
                    let _ = write!(out, "<td{}>", side(index));
                    runs(out, cell);
                    out.push_str("</td>");
                }
                out.push_str("</tr>");
            }
            out.push_str("</tbody></table>\n");
        }
        Block::Quote { blocks } => {
            out.push_str("<blockquote>");
            blocks.iter().for_each(|one| self::block(out, one));
            out.push_str("</blockquote>\n");
        }
        Block::Code { text } => {
            let _ = writeln!(out, "<pre><code>{}</code></pre>", escape(text));
        }
        Block::Line => out.push_str("<hr>\n"),
        Block::Drawing { drawing } => out.push_str(&drawing.figure()),
        Block::Remark { text } => {
            let _ = writeln!(out, "<p class=\"problem\">{}</p>", escape(text));
        }
        Block::Costs { rows, total } => {
            out.push_str("<table class=\"costs\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\">to</th><th scope=\"col\" class=\"n\">cost</th></tr></thead><tbody>");
            for row in rows {
                let _ = write!(
                    out,
                    "<tr><th scope=\"row\">{}</th><td>{}</td><td class=\"n\">{}</td></tr>",
                    escape(&row.what),
                    escape(&row.to),
                    escape(&row.amount)
                );
            }
            let _ = writeln!(
                out,
                "</tbody><tfoot><tr><td colspan=\"2\">in all</td><td class=\"n\">{}</td></tr></tfoot></table>",
                escape(total)
            );
        }
        Block::Steps { rows } => {
            out.push_str("<ol class=\"steps\">");
            for row in rows {
                let _ = write!(
                    out,
                    "<li data-start=\"{}\" data-end=\"{}\" data-days=\"{}\"><span class=\"what\">{}</span> <span class=\"who\">{}</span> <span class=\"when\">{}</span></li>",
                    row.start,
                    row.end,
                    row.days,
                    escape(&row.what),
                    escape(&row.who),
                    escape(&row.when)
                );
            }
            out.push_str("</ol>\n");
        }
    }
}

fn runs(out: &mut String, all: &[Run]) {
    for run in all {
        match run {
            Run::Text { text } => out.push_str(&escape(text)),
            Run::Code { text } => {
                let _ = write!(out, "<code>{}</code>", escape(text));
            }
            Run::Strong { runs: words } => wrapped(out, "strong", words),
            Run::Emphasis { runs: words } => wrapped(out, "em", words),
            Run::Struck { runs: words } => wrapped(out, "del", words),
            Run::Link { to, runs: words } => {
                if let Some(to) = to {
                    let _ = write!(out, "<a href=\"{}\" rel=\"noopener noreferrer\">", escape(to));
                }
                runs(out, words);
                if to.is_some() {
                    out.push_str("</a>");
                }
            }
            Run::Picture { words, .. } => {
                let _ = write!(out, "<em>{}</em>", escape(words));
            }
            Run::Break => out.push_str("<br>"),
            Run::Value { shown, other, state } => {
                let class = match state {
                    State::Found => "found",
                    State::Unknown => "unknown",
                    State::Withheld => "withheld",
                };
                let _ = write!(out, "<span class=\"{class}\">{}</span>", escape(shown));
                if let Some(other) = other {
                    let _ = write!(out, " <span class=\"nb\">({})</span>", escape(other));
                }
            }
        }
    }
}

fn wrapped(out: &mut String, tag: &str, words: &[Run]) {
    let _ = write!(out, "<{tag}>");
    runs(out, words);
    let _ = write!(out, "</{tag}>");
}
