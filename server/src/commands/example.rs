//! `makeready example`: the example notebook in a new folder, with a year of its life behind it, made by the program's own
//! means: what stands in it was saved, noted, sold and issued as a photographer would.

use std::path::Path;
use std::process::ExitCode;

use engine::document::actuals::Actual;
use engine::measure::{Currency, Day, Money};
use engine::trade::edition::{Event, Print};

use super::print;
use super::serve::begin;
use crate::clock::Clock;
use crate::error::Error;
use crate::names::Name;
use crate::notebook::Notebook;
use crate::store::{NewLine, Store, Which};

/// The lab as it was quoted in spring, before its prices rose: what is written now, and what was written then.
/// The plan the year of the example begins with.
const EBB: &str = include_str!("ninth_pier_ebb.md");

const SPRING: &[(&str, &str)] = &[
    ("quoted = \"2026-10-12\"", "quoted = \"2026-03-02\""),
    ("until = \"2027-01-31\"", "until = \"2026-10-31\""),
    ("let chromogenic_foot = 16.80.usd;", "let chromogenic_foot = 15.20.usd;"),
    ("let pigment_foot = 19.50.usd;", "let pigment_foot = 18.00.usd;"),
    ("let tube = 38.usd;", "let tube = 36.usd;"),
];
/// What a certificate says of the piece that is written nowhere else.
const FACTS: &str = "[certificate]\nartist = \"A. Verrill\"\nyear = 2026\nunnumbered = \"none\"\nother_editions = \"none\"\nprocess = \"chromogenic print on polyester base, luster laminate, on rigid foam board\"\nreproduction = \"no\"\nsignature = \"by the artist, in paint marker, lower right\"\nlifetime = \"yes\"\nmaster = \"the negative is kept, and not printed again at this size\"\nseller = \"the artist\"\n\n";
const LAB: &str = "shops/tidewater-lab";

pub(super) fn run(folder: &Path) -> Result<ExitCode, Error> {
    if folder.exists() && !std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_none()) {
        return Err(Error::taken(
            format!("something lies at `{}` already", folder.display()),
            "choose a folder that is not there yet; nothing is written over",
        ));
    }
    for line in live(folder)? {
        print(&format!("{line}\n"));
    }
    print(&format!("{}\n", folder.display()));
    Ok(ExitCode::SUCCESS)
}

/// One day of the notebook.
struct Today {
    notebook: Notebook,
    day: Day,
}

fn on(folder: &Path, day: &str) -> Result<Today, Error> {
    let day = of(day)?;
    let notebook = Notebook::open(folder.to_path_buf(), Store::open(folder)?, Clock::Fixed(day))?;
    notebook.history.catch_up()?;
    Ok(Today { notebook, day })
}

fn of(day: &str) -> Result<Day, Error> {
    Day::parse(day).ok_or_else(|| Error::missing(format!("`{day}` is not a day"), "this is a fault of the example"))
}

fn named(name: &str) -> Result<Name, Error> {
    Name::new(name).map_err(Error::Missing)
}

impl Today {
    fn hash_of(&self, name: &Name) -> Result<String, Error> {
        Ok(self.notebook.text(name)?.hash.clone())
    }

    /// Saves a text with some of it changed.
    fn change(&self, name: &Name, changes: &[(&str, &str)]) -> Result<(), Error> {
        let kept = self.notebook.text(name)?;
        let text = changes.iter().fold(kept.text.clone(), |text, (from, to)| text.replacen(from, to, 1));
        self.notebook.save(name, &text, &kept.hash).map(drop)
    }

    fn given(&self, name: &Name, number: usize, entered: &str) -> Result<(), Error> {
        self.notebook.set_given(name, &self.hash_of(name)?, number, entered).map(drop)
    }

    fn note(&self, name: &Name, actual: &Actual) -> Result<(), Error> {
        self.notebook.note(name, &self.hash_of(name)?, actual).map(drop)
    }

    fn done(&self, name: &Name, step: &str) -> Result<(), Error> {
        self.note(name, &Actual::Finished { step: step.to_owned(), day: Some(self.day) })
    }

    fn bill(&self, name: &Name, what: &str, cents: i64) -> Result<(), Error> {
        self.note(name, &Actual::Invoiced { what: what.to_owned(), amount: dollars(cents)?, day: self.day })
    }

    /// A line of the ledger: print, what happened, to or by whom, for how much, where it is now.
    fn line(
        &self,
        name: &Name,
        print: Print,
        what: Event,
        words: &str,
        amount: &str,
        place: &str,
    ) -> Result<(), Error> {
        let line = NewLine {
            which: Which::Print(print),
            what,
            when: self.day,
            words: words.to_owned(),
            amount: amount.to_owned(),
            place: place.to_owned(),
        };
        self.notebook.add_line(name, line).map(drop)
    }
}

fn dollars(cents: i64) -> Result<Money, Error> {
    let usd =
        Currency::of("USD").ok_or_else(|| Error::missing("there are no dollars", "this is a fault of the example"))?;
    let hundred = Money::new(cents.into(), usd).over(100.into());
    hundred.ok_or_else(|| Error::missing("there is no such amount", "this is a fault of the example"))
}

/// Lives the year and says what happened in it.
fn live(folder: &Path) -> Result<Vec<String>, Error> {
    let mut events = Vec::new();
    begin(folder)?;
    let lab = named(LAB)?;
    let file = lab.file(folder);
    let autumn = std::fs::read_to_string(&file)?;
    let spring = SPRING.iter().fold(autumn.clone(), |text, (now, then)| text.replacen(now, then, 1));
    std::fs::write(&file, &spring)?;

    // A new piece from a built-in beginning; its first scan fails.
    let today = on(folder, "2026-03-09")?;
    let ebb = today.notebook.begin("Ninth Pier, Ebb", &EBB.replace("START", &today.notebook.today().iso()))?;
    today.given(&ebb, 1, "66")?;
    today.change(&ebb, &[("[shops]", &format!("{FACTS}[shops]")), ("edition = 10", "edition = 6")])?;
    let today = on(folder, "2026-03-20")?;
    today.done(&ebb, "Drum scan")?;
    let snag = Actual::Snag {
        what: "Scan came back with a cast".into(),
        cost: Some(dollars(6000)?),
        step: Some("Drum scan".into()),
    };
    today.note(&ebb, &snag)?;
    events.push(
        "20 March: the scan of Ninth Pier, Ebb came back with a cast and is repeated; later steps have new dates"
            .to_owned(),
    );
    for (day, step) in [
        ("2026-04-02", "Drum scan, again"),
        ("2026-04-08", "Clean, colour, sharpen"),
        ("2026-04-09", "Upload"),
        ("2026-04-16", "Proof"),
        ("2026-04-17", "Approve the proof"),
        ("2026-04-24", "Print"),
        ("2026-05-05", "Laminate and mount"),
        ("2026-05-06", "Sign and number"),
        ("2026-05-14", "Frame"),
        ("2026-05-15", "Fetch"),
        ("2026-05-18", "Hang"),
    ] {
        on(folder, day)?.done(&ebb, step)?;
    }
    let today = on(folder, "2026-05-19")?;
    for (what, cents) in
        [("Drum scan", 16520), ("Print", 19240), ("Laminate and mount", 29850), ("Float frame, white ash", 31200)]
    {
        today.bill(&ebb, what, cents)?;
    }
    today.change(&ebb, &[("+++\ntitle", "+++\nhung = 2026-05-18\ntitle")])?;

    sales(folder, &ebb, &mut events)?;

    // Two more pieces from it, one of them nearly sold out by autumn.
    let today = on(folder, "2026-06-15")?;
    let flood = today.notebook.copy(&ebb, "Ninth Pier, Flood", &[])?;
    today.given(&flood, 1, "78")?;
    let today = on(folder, "2026-07-01")?;
    let fog = today.notebook.copy(&ebb, "Breakwater, Fog", &[])?;
    today.change(&fog, &[("edition = 6", "edition = 5")])?;
    for number in 1..=4 {
        let today = on(folder, &format!("2026-08-{:02}", number * 3))?;
        today.line(&fog, Print::Number(number), Event::Printed, "Tidewater Lab", "", "Studio")?;
        today.line(&fog, Print::Number(number), Event::Sold, &format!("a buyer, no. {number}"), "3,900", "")?;
    }
    events.push("1 July: Breakwater, Fog is copied from it; four of five are sold by 12 August".to_owned());

    // The lab's prices rise; one plan holds to what it was quoted.
    let today = on(folder, "2026-10-12")?;
    let moves = today.notebook.moves(&lab, &autumn)?;
    let moving: Vec<_> =
        moves.plans.iter().filter(|plan| !plan.moved.is_empty()).map(|plan| plan.title.clone()).collect();
    today.notebook.hold(&flood, &today.hash_of(&flood)?, "lab", Some(of("2026-03-02")?))?;
    today.notebook.save(&lab, &autumn, &today.hash_of(&lab)?)?;
    events.push(format!(
        "12 October: Tidewater Lab’s new prices move {}: {}; Ninth Pier, Flood keeps the quote of spring",
        moving.len(),
        moving.join(", ")
    ));
    for name in [&fog, &named("causeway-first-light")?, &named("boathouse-window")?] {
        // Saved once more, so that each has a revision at the new prices.
        today.change(name, &[("\n# ", "\n\n# ")])?;
    }
    let today = on(folder, "2026-11-20")?;
    today.notebook.summaries.all()?;
    Ok(events)
}

/// The edition of the first piece: sold, consigned, crushed and printed again, a line put right, a certificate.
fn sales(folder: &Path, plan: &Name, events: &mut Vec<String>) -> Result<(), Error> {
    use Event as E;
    let number = Print::Number;
    let story: &[(&str, Print, Event, &str, &str, &str)] = &[
        ("2026-05-06", number(1), E::Printed, "Tidewater Lab", "", "Plane & Press"),
        ("2026-05-06", number(1), E::Signed, "me", "", ""),
        ("2026-05-06", number(1), E::Numbered, "me", "", ""),
        ("2026-05-14", number(1), E::Framed, "Corner Joint Frames", "", "Studio"),
        ("2026-05-22", number(1), E::Sold, "R. Vell", "4,200", "Private, Vell"),
        ("2026-06-02", Print::Proof(1), E::Printed, "Tidewater Lab", "", "Studio, rack 3"),
        ("2026-06-02", number(2), E::Printed, "Tidewater Lab", "", "Studio"),
        ("2026-06-03", number(2), E::Signed, "me", "", ""),
        ("2026-06-03", number(2), E::Numbered, "me", "", ""),
        ("2026-06-10", number(2), E::Framed, "Corner Joint Frames", "", "Studio"),
        ("2026-06-12", number(2), E::Consigned, "Lantern Street", "4,200", "Lantern Street"),
        ("2026-09-04", number(2), E::Sold, "a visitor, through Lantern Street", "4,200", "Private, Hollin"),
        ("2026-06-02", number(3), E::Printed, "Tidewater Lab", "", "Studio"),
        ("2026-06-03", number(3), E::Signed, "me", "", ""),
        ("2026-06-24", number(3), E::Sold, "Orrin House", "4,000", "Orrin House"),
        ("2026-06-29", number(3), E::Damaged, "crushed in carriage", "", "Studio"),
        ("2026-07-02", number(3), E::Destroyed, "cut up, both halves kept for the insurer", "", ""),
        ("2026-07-20", number(3), E::Replaced, "Tidewater Lab", "", "Plane & Press"),
        ("2026-07-27", number(3), E::Signed, "me", "", ""),
        ("2026-07-27", number(3), E::Numbered, "me", "", "Orrin House"),
        ("2026-09-10", number(4), E::Sold, "entered by mistake, it was number 5 they asked for", "", ""),
        ("2026-09-10", number(4), E::Voided, "number 5 was meant", "", ""),
        ("2026-09-10", number(5), E::Reserved, "J. Ames, until the new year", "", ""),
    ];
    // Each on its own day, in the order of the days.
    let mut story: Vec<_> = story.iter().collect();
    story.sort_by_key(|(day, ..)| *day);
    let mut at = String::new();
    let mut today = on(folder, "2026-05-20")?;
    for (day, print, what, words, amount, place) in story {
        if at != *day {
            today = on(folder, day)?;
            at = (*day).to_owned();
        }
        today.line(plan, *print, *what, words, amount, place)?;
    }
    let today = on(folder, "2026-09-11")?;
    let first = today.notebook.issue(plan, number(1))?;
    let third = today.notebook.issue(plan, number(3))?;
    events.push(
        "29 June: number 3 is crushed in carriage, destroyed, and printed again in July for its owner".to_owned(),
    );
    events.push(format!("11 September: certificates {} for number 1 and {} for number 3", first.code, third.code));
    Ok(())
}
