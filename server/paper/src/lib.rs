//! Sheets of paper as PDF, set in the program itself: no browser, no files, no network, no clock.
//!
//! What a sheet says comes in as data and stays data: one fixed form, `sheet.typ`, sets it, and no word of a plan is ever read
//! as a command of the form. The same sheet gives the same bytes.
//!
//! [`Sheet`] what is set, [`pdf`] sets it. Inside: `lettering` what the shipped face can write, `press` the typesetting library
//! behind one door.
//!
//! Sources: PDF/UA-1 (ISO 14289-1) and PDF/A-2a (ISO 19005-2), both enforced by the library, which refuses to write a file that
//! does not hold to them; sheet frame after ISO 5457 and title block after ISO 7200 (from memory).

mod lettering;
mod press;

use serde::Serialize;
use serde_json::Value;

/// The size of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// 8.5 x 11 in.
    Letter,
    /// 210 x 297 mm. Source: ISO 216.
    A4,
}

/// What is set on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// What one shop is handed.
    Ticket,
    /// A whole plan.
    Plan,
    /// A certificate for one print.
    Certificate,
}

/// A sheet to be set.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// What it is.
    pub form: Form,
    /// Its size.
    pub size: Size,
    /// Its title, for the reader's window.
    pub title: String,
    /// Whose it is.
    pub author: String,
    /// The day it is of, year, month and day: not the day it is set.
    pub day: (i32, u8, u8),
    /// The line at the foot of every page.
    pub running: String,
    /// What tells this sheet from all others, the same whenever it is set again.
    pub ident: String,
    /// Everything else it says, as the form reads it.
    pub says: Value,
}

/// A sheet that was set.
#[derive(Clone, Debug)]
pub struct Set {
    /// The file.
    pub pdf: Vec<u8>,
    /// Letters the shipped face cannot write; a square stands in their place.
    pub unwritten: Vec<char>,
}

/// Why a sheet could not be set, in the library's words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unset(pub String);

impl std::fmt::Display for Unset {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Unset {}

/// Sets a sheet.
///
/// # Errors
/// When the form cannot take what the sheet says, or the file would not hold to PDF/UA-1 and PDF/A-2a.
pub fn pdf(sheet: &Sheet) -> Result<Set, Unset> {
    let (year, month, day) = sheet.day;
    let mut all = serde_json::to_value(Whole {
        form: match sheet.form {
            Form::Ticket => "ticket",
            Form::Plan => "plan",
            Form::Certificate => "certificate",
        },
        paper: match sheet.size {
            Size::Letter => "us-letter",
            Size::A4 => "a4",
        },
        title: &sheet.title,
        author: &sheet.author,
        day: Day { year, month, day },
        running: &sheet.running,
        says: &sheet.says,
    })
    .map_err(|error| Unset(error.to_string()))?;
    let unwritten = lettering::fit(&mut all);
    let data = serde_json::to_vec(&all).map_err(|error| Unset(error.to_string()))?;
    Ok(Set { pdf: press::set(data, &sheet.ident)?, unwritten })
}

/// Letters of a text the shipped face cannot write.
#[must_use]
pub fn unwritten(text: &str) -> Vec<char> {
    lettering::unwritten(text)
}

#[derive(Serialize)]
struct Whole<'a> {
    form: &'static str,
    paper: &'static str,
    title: &'a str,
    author: &'a str,
    day: Day,
    running: &'a str,
    says: &'a Value,
}

#[derive(Serialize)]
struct Day {
    year: i32,
    month: u8,
    day: u8,
}
