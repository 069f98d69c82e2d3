//! `makeready ticket`, `paper` and `certificate`: what is issued, as HTML or PDF.

use std::path::Path;
use std::process::ExitCode;

use super::{notebook_in, notebook_of, print};
use crate::assets;
use crate::error::Error;
use crate::sheets::ticket_page::{TicketPage, style};
use crate::sheets::{self, Made, Paper};
use crate::store::FILE;
use crate::templates::{Around, render};
use crate::tickets::ShopTicket;

pub(super) fn run(plan: &Path, shop: &str, out: Option<&Path>, paper: &str) -> Result<ExitCode, Error> {
    let paper = size(paper)?;
    let (notebook, name) = notebook_of(plan)?;
    let pdf = out.filter(|file| is_pdf(file));
    if pdf.is_some() {
        // A command makes one sheet: nobody waits for it.
        drop(sheets::check(&notebook, &name)?);
    }
    let shop_ticket = ShopTicket::of(&notebook, &name, shop, None)?;
    for missing in &shop_ticket.ticket.missing {
        eprintln!("makeready: missing on this ticket: {}; {}", missing.what, missing.next);
    }
    if let Some(file) = pdf {
        write(file, sheets::ticket(&notebook, &shop_ticket, paper)?)?;
        return Ok(ExitCode::SUCCESS);
    }
    let own = TicketPage::of(&shop_ticket, paper, String::new(), shop_ticket.since.as_slice());
    let around = Around { studio: notebook.studio(), alone: true, ..Around::default() };
    let mut templates = assets::templates();
    // A page of its own: styles inside, no scripts, nothing to fetch.
    templates.add_function("asset", |_: &str| String::new());
    let html = render(&templates, &around, "ticket.html", &own)?;
    let styles = format!(
        "{}\n{}\n{}",
        assets::text("sheet.css"),
        assets::text("ticket.css"),
        style(paper, &shop_ticket.running())
    );
    let html = alone(&html, &styles);
    match out {
        None => print(&html),
        Some(file) => std::fs::write(file, html).map_err(|error| Error::from(error_at(file, error)))?,
    }
    Ok(ExitCode::SUCCESS)
}

/// The whole plan as PDF.
pub(super) fn whole(plan: &Path, out: &Path, paper: &str) -> Result<ExitCode, Error> {
    let paper = size(paper)?;
    let (notebook, name) = notebook_of(plan)?;
    write(out, sheets::plan(&notebook, &name, paper, None)?)?;
    Ok(ExitCode::SUCCESS)
}

/// A certificate that was issued, as PDF.
pub(super) fn certificate(code: &str, notebook: &Path, out: &Path, paper: &str) -> Result<ExitCode, Error> {
    let paper = size(paper)?;
    let notebook = notebook_in(notebook)?;
    if !notebook.root().join(FILE).exists() {
        return Err(Error::missing(
            format!("`{}` has no record, so no certificate was issued from it", notebook.root().display()),
            "give the notebook's folder with --notebook",
        ));
    }
    let issued = notebook.certificate(code)?;
    write(out, sheets::certificate(&notebook, &issued, paper)?)?;
    Ok(ExitCode::SUCCESS)
}

/// The size of paper that was asked for.
fn size(paper: &str) -> Result<Paper, Error> {
    if ["letter", "a4"].contains(&paper.to_lowercase().as_str()) {
        return Ok(Paper::of(Some(paper)));
    }
    Err(Error::unusable(format!("`{paper}` is not a paper a sheet is made for"), "write letter or a4"))
}

fn is_pdf(file: &Path) -> bool {
    file.extension().is_some_and(|end| end.eq_ignore_ascii_case("pdf"))
}

fn write(file: &Path, made: Made) -> Result<(), Error> {
    if !made.unwritten.is_empty() {
        let letters: Vec<_> = made.unwritten.iter().map(char::to_string).collect();
        eprintln!("makeready: no typeface here has {}; a square stands in the place of each", letters.join(" "));
    }
    std::fs::write(file, made.pdf).map_err(|error| Error::from(error_at(file, error)))
}

fn error_at(file: &Path, error: std::io::Error) -> std::io::Error {
    std::io::Error::new(error.kind(), format!("{}: {error}", file.display()))
}

/// The page with its styles inside and everything it would fetch taken out.
fn alone(html: &str, styles: &str) -> String {
    let mut out = String::with_capacity(html.len() + styles.len());
    for line in html.lines() {
        if line.contains("<link rel=") || line.contains("<script") {
            if let Some(rest) =
                line.rsplit_once("</script>").map(|(_, rest)| rest).filter(|rest| !rest.trim().is_empty())
            {
                out.push_str(rest);
            }
            continue;
        }
        out.push_str(line);
        out.push('\n');
    }
    let at = out.find("</head>").unwrap_or(0);
    out.insert_str(at, &format!("<style>{styles}</style>\n"));
    out
}
