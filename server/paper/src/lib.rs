//! Sheets of paper as PDF, set in the program itself: no browser, no files, no network, no clock.
//!
//! What a sheet says comes in as data and stays data. The same sheet gives the same bytes on one computer; the only thing looked
//! up there is a typeface for letters the carried one lacks, and the sheet says which was used.
//!
//! [`content`] what stands on a sheet, [`bounds`] how much it may hold, [`pdf`] sets it. Inside: `faces` the typefaces,
//! `lettering` words in lines, `layout` blocks as pieces, `pages` pieces on pages, `ink` the drawing of them, `tags` how they
//! are read aloud, `pictures` the plan's own pictures.
//!
//! Sources: PDF/UA-1 (ISO 14289-1) and PDF/A-2a (ISO 19005-2), both enforced by the writer, which refuses a file that does not
//! hold to them; sheet frame after ISO 5457 and title block after ISO 7200 (from memory).

pub mod bounds;
pub mod content;
mod faces;
mod ink;
mod layout;
mod lettering;
mod pages;
mod pictures;
mod tags;

use std::collections::HashMap;

use krilla::Document;
use krilla::SerializeSettings;
use krilla::configure::{Accessibility, Archival, ConfigurationBuilder};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::Point;
use krilla::metadata::{DateTime, Metadata};
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;

pub use bounds::{Bounds, Unset};
pub use content::{Sheet, Size};

use bounds::Gauge;
use content::{Block, Run, Side};
use ink::Ink;
use layout::{Layout, MM, Piece};
use lettering::{Base, Setter, clean};
use pages::Pages;

/// The language of what the sheets themselves say.
const LANGUAGE: &str = "en";
/// From the edge of the paper to the text: left, right, top, bottom.
const MARGIN: (f32, f32, f32, f32) = (27.0 * MM, 16.0 * MM, 17.0 * MM, 23.0 * MM);
/// How many letters no face has are named.
const NAMED: usize = 20;

/// A sheet that was set.
#[derive(Clone, Debug)]
pub struct Set {
    /// The file.
    pub pdf: Vec<u8>,
    /// Letters no typeface here has; a square stands in their place, and the sheet says so.
    pub unwritten: Vec<char>,
}

/// Sets a sheet. `goes_on` is asked now and then whether there is time left.
///
/// # Errors
/// When the sheet holds more than it may, takes longer than it may, or would not hold to PDF/UA-1 and PDF/A-2a.
pub fn pdf(sheet: &Sheet, bounds: &Bounds, goes_on: &dyn Fn() -> bool) -> Result<Set, Unset> {
    bounds::check(sheet, bounds)?;
    match set(sheet, bounds, goes_on, true) {
        // A picture that looked whole and was not: its words stand for it, and for every other.
        Err(Failed::Picture) => set(sheet, bounds, goes_on, false),
        other => other,
    }
    .map_err(|failed| match failed {
        Failed::Unset(unset) => unset,
        Failed::Picture => Unset::Refused("a picture could not be put into the file".to_owned()),
    })
}

enum Failed {
    Unset(Unset),
    Picture,
}

impl From<Unset> for Failed {
    fn from(unset: Unset) -> Self {
        Self::Unset(unset)
    }
}

impl From<KrillaError> for Failed {
    fn from(error: KrillaError) -> Self {
        match error {
            KrillaError::Image(..) | KrillaError::SixteenBitImage(..) => Self::Picture,
            KrillaError::Validation(all) => {
                let all: Vec<_> = all.iter().take(4).map(|(error, _)| format!("{error:?}")).collect();
                Self::Unset(Unset::Refused(all.join("; ")))
            }
            other => Self::Unset(Unset::Refused(other.to_string())),
        }
    }
}

fn set(sheet: &Sheet, bounds: &Bounds, goes_on: &dyn Fn() -> bool, with_pictures: bool) -> Result<Set, Failed> {
    let (wide, high) = match sheet.size {
        Size::Letter => (612.0, 792.0),
        Size::A4 => (210.0 * MM, 297.0 * MM),
    };
    let (left, right, top, bottom) = MARGIN;
    let area = (wide - left - right, high - top - bottom);
    let pictures = pictures::all(sheet, with_pictures);
    let mut gauge = Gauge::new(bounds, goes_on);
    let mut layout = Layout::new(Setter::new(&texts(sheet)), &mut gauge, &pictures, area);
    layout.blocks(&sheet.body)?;
    for note in notes(&layout.setter) {
        layout.note(note)?;
    }
    let body = layout.take();
    layout.blocks(&sheet.foot)?;
    let foot = layout.take();
    let foot_high =
        foot.iter().map(|piece| piece.above + piece.height).sum::<f32>() - foot.first().map_or(0.0, |one| one.above);
    let begins = Pages { pieces: &body, heads: &layout.heads, high: area.1 }.begins(foot_high);
    layout.pages(begins.len())?;

    let mut document = Document::new_with(settings()?);
    let Layout { mut setter, mut tags, heads, headings, .. } = layout;
    let mut linked = HashMap::new();
    let mut reached: Vec<Option<(usize, f32)>> = vec![None; headings.len()];
    let small = Base { grey: true, ..Base::of(8.5) };
    let count = begins.len();
    let widest = setter.set(&[Run::plain(format!("page {count} of {count}"))], small, None, Side::Start).wide();
    let running = setter.one_line(&sheet.running, small, area.0 - widest - 6.0 * MM);
    let settings = PageSettings::from_wh(wide, high).ok_or_else(|| Unset::Refused("a page has no size".to_owned()))?;
    let mut pieces = body.into_iter().enumerate().peekable();
    for (page, from) in begins.iter().enumerate() {
        if !goes_on() {
            return Err(Unset::TooLong.into());
        }
        let end = begins.get(page + 1).copied().unwrap_or(usize::MAX);
        let counted = setter.set(&[Run::plain(format!("page {} of {count}", page + 1))], small, None, Side::Start);
        let mut sheet_of_paper = document.start_page_with(settings.clone());
        let mut ink = Ink::new(sheet_of_paper.surface(), &setter, &mut tags, &pictures, &mut linked, page);
        ink.frame(wide, high);
        let mut y = top;
        let head = pieces.peek().filter(|(at, _)| at == from).and_then(|(_, piece)| piece.head);
        if let Some(head) = head.and_then(|head| heads.get(head as usize)).filter(|_| page > 0) {
            ink.head(&head.marks, left, y);
            y += head.height;
        }
        let mut is_first = true;
        while let Some((_, piece)) = pieces.next_if(|(at, _)| *at < end) {
            let gap = if std::mem::take(&mut is_first) { 0.0 } else { piece.above };
            y += gap;
            draw(&mut ink, &piece, (left, y), gap, &mut reached);
            y += piece.height;
        }
        if page + 1 == count {
            let mut y = high - bottom - foot_high;
            for (at, piece) in foot.iter().enumerate() {
                let gap = if at == 0 { 0.0 } else { piece.above };
                y += gap;
                draw(&mut ink, piece, (left, y), gap, &mut reached);
                y += piece.height;
            }
        }
        ink.foot(&running, &counted, left, wide - right, high - bottom + 4.0 * MM + 8.5 * lettering::CAPITALS);
        for (node, quads, to) in ink.finish() {
            let leaf = sheet_of_paper.add_tagged_annotation(ink::annotation(quads, to));
            tags.leaf(node, leaf);
        }
        sheet_of_paper.finish();
    }
    document.set_outline(outline(&headings, &reached));
    document.set_metadata(metadata(sheet));
    document.set_tag_tree(tags.tree(LANGUAGE));
    let unwritten = setter.missing();
    Ok(Set { pdf: document.finish()?, unwritten })
}

fn draw(ink: &mut Ink<'_, '_>, piece: &Piece<'_>, (x, y): (f32, f32), gap: f32, reached: &mut [Option<(usize, f32)>]) {
    ink.piece(piece, x, y, gap);
    if let Some(place) = piece.heading.and_then(|heading| reached.get_mut(heading as usize)) {
        *place = Some((ink.page, y - 2.0 * MM));
    }
}

/// Both standards at once; the writer refuses what does not hold to them.
fn settings() -> Result<SerializeSettings, Unset> {
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_A)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|error| Unset::Refused(format!("{error:?}")))?;
    Ok(SerializeSettings { configuration, ..SerializeSettings::default() })
}

fn metadata(sheet: &Sheet) -> Metadata {
    let (year, month, day) = sheet.day;
    let short = |text: &str| clean(text).chars().take(1000).collect::<String>();
    let title = short(&sheet.title);
    Metadata::new()
        .title(if title.trim().is_empty() { "Untitled".to_owned() } else { title })
        .authors(vec![short(&sheet.author)])
        .language(LANGUAGE.to_owned())
        .creator("Makeready".to_owned())
        .creation_date(DateTime::new(year).month(month).day(day))
        .document_id(sheet.ident.clone())
}

/// What the sheet says of its letters.
fn notes(setter: &Setter) -> Vec<String> {
    let mut notes = Vec::new();
    if !setter.used.is_empty() {
        let used = setter.used.join(", ");
        notes.push(format!(
            "Letters that {} lacks are set in typefaces of the computer that made this sheet: {used}.",
            faces::FAMILY
        ));
    }
    let missing = setter.missing();
    if !missing.is_empty() {
        let mut all: Vec<_> = missing.iter().take(NAMED).map(|c| format!("U+{:04X}", u32::from(*c))).collect();
        if missing.len() > NAMED {
            all.push(format!("{} more", missing.len() - NAMED));
        }
        notes.push(format!("\u{25a1} stands for letters that no typeface here has: {}.", all.join(", ")));
    }
    notes
}

/// The headings, each under the one above it.
fn outline(headings: &[(u8, String)], reached: &[Option<(usize, f32)>]) -> Outline {
    let mut outline = Outline::new();
    let mut open: Vec<(u8, OutlineNode)> = Vec::new();
    let mut close = |open: &mut Vec<(u8, OutlineNode)>| {
        if let Some((_, done)) = open.pop() {
            match open.last_mut() {
                Some((_, parent)) => parent.push_child(done),
                None => outline.push_child(done),
            }
        }
    };
    for ((level, title), place) in headings.iter().zip(reached) {
        let Some((page, y)) = place else { continue };
        while open.last().is_some_and(|(above, _)| above >= level) {
            close(&mut open);
        }
        let to = XyzDestination::new(*page, Point::from_xy(0.0, y.max(0.0)));
        open.push((*level, OutlineNode::new(title.clone(), to)));
    }
    while !open.is_empty() {
        close(&mut open);
    }
    outline
}

/// Every text of a sheet.
fn texts(sheet: &Sheet) -> Vec<&str> {
    fn runs<'a>(all: &'a [Run], out: &mut Vec<&'a str>) {
        out.extend(all.iter().map(|run| run.text.as_str()));
    }
    fn block<'a>(one: &'a Block, out: &mut Vec<&'a str>) {
        match one {
            Block::Head { title, subtitle, beside } => {
                out.extend([title.as_str(), subtitle.as_str()]);
                beside.iter().for_each(|line| runs(line, out));
            }
            Block::Heading { runs: all, .. } | Block::Paragraph(all) => runs(all, out),
            Block::List { items, .. } => items.iter().flat_map(|item| &item.blocks).for_each(|one| block(one, out)),
            Block::Checks(all) => out.extend(all.iter().map(String::as_str)),
            Block::Table(table) => {
                table.head.iter().chain(table.rows.iter().flat_map(|row| &row.cells)).for_each(|cell| runs(cell, out));
                if let Some((label, sum)) = &table.total {
                    runs(label, out);
                    runs(sum, out);
                }
            }
            Block::Quote(all) | Block::Marked(all) | Block::Closing(all) => all.iter().for_each(|one| block(one, out)),
            Block::Code(text) => out.push(text),
            Block::Drawing(drawing) => {
                out.push(&drawing.caption);
                for shape in &drawing.shapes {
                    if let content::Shape::Words { words, .. } = shape {
                        out.push(words);
                    }
                }
            }
            Block::Picture(picture) => out.push(&picture.alt),
            Block::Revised { revision, block: inner } => {
                out.push(revision);
                block(inner, out);
            }
            Block::Sign { agreed, lines, code } => {
                out.extend(agreed.iter().map(String::as_str).chain(lines.iter().map(String::as_str)));
                out.extend(code.iter().map(|code| code.words.as_str()));
            }
            Block::Fields(all) => out.extend(all.iter().flat_map(|(label, value)| [label.as_str(), value.as_str()])),
            Block::Rule | Block::Room(_) | Block::Space(_) => {}
        }
    }
    let mut out = vec![sheet.running.as_str()];
    sheet.body.iter().chain(&sheet.foot).for_each(|one| block(one, &mut out));
    out
}
