//! The edition of a plan: each print's story and where it is, what can be written next, and every line there is.

use axum::body::Bytes;
use axum::extract::State;
use axum::response::{Html, Response};
use engine::measure::Day;
use engine::trade::edition::{Edition, Entry, Event, Print, Standing};
use serde::Serialize;

use super::extract::{About, read, short};
use super::plan::as_it_stands;
use super::{Field, page};
use crate::days;
use crate::error::Error;
use crate::notebook::Current;
use crate::state::App;
use crate::store::ledger::{entries, event, print_label};
use crate::store::{Line, NewLine, Which};
use crate::titles::{capital, title};

/// How much of the line of time lies after today, as a share.
const TO_COME: f64 = 0.08;

/// The ledger's page.
pub(crate) async fn get(State(app): State<App>, about: About) -> Result<Html<String>, Error> {
    let today = app.notebook.today();
    let (name, Current { worked, .. }, lines, certificates) = about
        .with(|notebook, name, units| {
            let current = notebook.current(name, units)?;
            let lines = notebook.store().ledger(name)?;
            let certificates = notebook.store().certificates(name)?;
            Ok((name.clone(), current, lines, certificates))
        })
        .await?;
    let front = &worked.document.front;
    if front.edition == 0 {
        return Err(Error::missing(
            "this plan has no edition",
            "write `edition = 12` in its head, with the number of prints",
        ));
    }
    let edition = Edition::new(front.edition, front.proofs, &entries(&lines, None)).map_err(Error::Unusable)?;
    let span = Span::of(&lines, today);
    let prints: Vec<_> = (1..=front.edition).map(Print::Number).collect();
    let proofs: Vec<_> = (1..=front.proofs).map(Print::Proof).collect();
    let size =
        worked.evaluation.record.hung.map(|hung| {
            engine::Value::List(vec![hung.width.into(), hung.height.into()]).shown(worked.evaluation.units)
        });
    let printed = |all: &[Print]| all.iter().filter(|print| edition.standing(**print).made).count();
    let away = prints.iter().chain(&proofs).filter(|print| edition.standing(**print).away).count();
    let left = edition.remaining();
    let next = edition.next();
    let next_words = next.map_or_else(|| "all are gone".to_owned(), |next| format!("no. {next} of {}", edition.size()));
    let figures = [
        ("next", next_words),
        ("left", format!("{left} of {}", edition.size())),
        (
            "printed",
            match front.proofs {
                0 => printed(&prints).to_string(),
                _ => format!("{}, and {} AP", printed(&prints), printed(&proofs)),
            },
        ),
        ("sold", edition.count(Event::Sold).to_string()),
        ("with galleries", away.to_string()),
        ("as of", today.to_string()),
    ];
    let choices = prints.iter().chain(&proofs).map(|print| {
        let (value, chosen) = (print_label(*print), Some(*print) == next.map(Print::Number));
        PrintChoice { words: if chosen { format!("{value}, the next") } else { value.clone() }, value, chosen }
    });
    let events = Event::ALL.iter().map(|event| EventChoice { word: event.word(), asks: asks(*event) });
    let certificates = certificates.into_iter().map(|one| CertificateRow {
        code: one.code,
        proof: one.print.starts_with("AP"),
        print: one.print,
        issued: days::shown(&one.issued),
    });
    let own = LedgerPage {
        slug: name.in_url(),
        title: title(&worked.document, &name),
        sentence: sentence(&edition, size.as_deref()),
        figures: figures.map(|(label, value)| Field { label: label.to_owned(), value }).into(),
        axis: span.axis(),
        today_x: span.x(today),
        prints: rows(&prints, &lines, &edition, &span),
        proofs: rows(&proofs, &lines, &edition, &span),
        choices: choices.collect(),
        events: events.collect(),
        lines: lines.iter().rev().map(LedgerRow::of).collect(),
        certificates: certificates.collect(),
    };
    page(&app, "ledger.html", &own)
}

#[derive(Serialize)]
struct LedgerPage<'a> {
    slug: String,
    title: String,
    sentence: String,
    figures: Vec<Field>,
    /// Ticks of the line of time, and where today is on it.
    axis: Vec<AxisTick>,
    today_x: String,
    prints: Vec<PrintRow>,
    proofs: Vec<PrintRow>,
    choices: Vec<PrintChoice>,
    events: Vec<EventChoice>,
    lines: Vec<LedgerRow<'a>>,
    certificates: Vec<CertificateRow>,
}

#[derive(Serialize)]
struct AxisTick {
    x: String,
    long: bool,
    words: Option<String>,
}

/// A print, or several that nothing happened to yet.
#[derive(Serialize)]
struct PrintRow {
    no: String,
    of: Option<u32>,
    /// It is the next number.
    next: bool,
    segments: Vec<TimelineSegment>,
    marks: Vec<TimelineMark>,
    story: String,
    place: String,
    since: String,
    can_certify: bool,
    slug: String,
}

/// A part of a print's line of time; without an end it goes up to today.
#[derive(Serialize)]
struct TimelineSegment {
    class: &'static str,
    from: String,
    to: Option<String>,
}

#[derive(Serialize)]
struct TimelineMark {
    kind: &'static str,
    x: String,
}

#[derive(Serialize)]
struct PrintChoice {
    value: String,
    words: String,
    chosen: bool,
}

#[derive(Serialize)]
struct EventChoice {
    word: &'static str,
    asks: &'static str,
}

/// A line as it was written.
#[derive(Serialize)]
struct LedgerRow<'a> {
    line: i64,
    day: String,
    print: &'a str,
    what: &'a str,
    words: &'a str,
    amount: String,
    place: &'a str,
    /// The beginning of its hash.
    mark: &'a str,
}

impl<'a> LedgerRow<'a> {
    fn of(line: &'a Line) -> Self {
        Self {
            line: line.line,
            day: days::shown(&line.when),
            print: &line.print,
            what: &line.what,
            words: &line.words,
            amount: line.amount_shown(),
            place: &line.place,
            mark: line.mark.get(..8).unwrap_or_default(),
        }
    }
}

#[derive(Serialize)]
struct CertificateRow {
    code: String,
    proof: bool,
    print: String,
    issued: String,
}

/// A ledger line as entered on the page.
#[derive(Debug, serde::Deserialize)]
struct LedgerForm {
    number: serde_json::Value,
    #[serde(default)]
    what: Option<String>,
    when: String,
    #[serde(default)]
    words: String,
    #[serde(default)]
    amount: String,
    #[serde(default)]
    place: String,
}

/// Adds a line to the ledger.
pub(crate) async fn post(about: About, body: Bytes) -> Result<Response, Error> {
    let line = line(read::<LedgerForm>(&body)?)?;
    about
        .with(move |notebook, name, units| {
            notebook.add_line(name, line)?;
            as_it_stands(notebook, name, units)
        })
        .await
}

fn line(entered: LedgerForm) -> Result<NewLine, Error> {
    let print = match &entered.number {
        serde_json::Value::Number(number) => {
            number.as_u64().and_then(|number| u32::try_from(number).ok()).map(Print::Number).map(Which::Print)
        }
        serde_json::Value::String(text) if text.trim() == "next" => Some(Which::Next),
        serde_json::Value::String(text) => Print::parse(text).map(Which::Print),
        _ => None,
    };
    let which = print.ok_or_else(|| {
        Error::unusable(
            format!("`{}` is not a number of a print", entered.number),
            "write the number of the print in digits, `AP 1` for a proof, or `next`",
        )
    })?;
    let plain = |text: &str, what: &str| {
        short(text, &format!("the {what} is longer than 200 letters or has a line break"), "shorten it")
    };
    Ok(NewLine {
        which,
        when: days::entered(&entered.when)?,
        what: event(entered.what.as_deref().unwrap_or("sold")).map_err(Error::Unusable)?,
        words: plain(&entered.words, "name")?,
        amount: plain(&entered.amount, "amount")?,
        place: plain(&entered.place, "place")?,
    })
}

fn sentence(edition: &Edition, size: Option<&str>) -> String {
    let count = |count: u32, one: &str| if count == 1 { format!("one {one}") } else { format!("{count} {one}s") };
    let proofs = if edition.proofs() > 0 {
        format!(" and {}", count(edition.proofs(), "artist’s proof"))
    } else {
        String::new()
    };
    let size = size.map(|size| format!(", {size} outside")).unwrap_or_default();
    format!("The edition: {}{proofs}{size}", count(edition.size(), "numbered print"))
}

/// What the form asks besides day and print: words for the other party, and whether an amount is usual.
fn asks(event: Event) -> &'static str {
    match event {
        Event::Sold => "to price",
        Event::Given | Event::Reserved => "to",
        Event::Consigned => "to price",
        Event::Returned => "from",
        Event::Damaged | Event::Destroyed | Event::Voided => "why",
        Event::Printed | Event::Approved | Event::Signed | Event::Numbered | Event::Framed | Event::Replaced => "by",
    }
}

/// The time a ledger spans, as hundredths of a width.
struct Span {
    first: Day,
    days: f64,
}

impl Span {
    fn of(lines: &[Line], today: Day) -> Self {
        let first = lines.iter().filter_map(|line| Day::parse(&line.when)).min().unwrap_or(today).min(today);
        // From the first of the month, so that the axis begins on a tick.
        let (year, month, _) = first.numbers();
        let first = Day::new(year, month, 1).unwrap_or(first);
        #[expect(clippy::cast_precision_loss, reason = "days of a lifetime")]
        let days = first.until(today).max(30) as f64;
        Self { first, days: days / (1.0 - TO_COME) }
    }

    fn x(&self, day: Day) -> String {
        #[expect(clippy::cast_precision_loss, reason = "days of a lifetime")]
        let share = self.first.until(day) as f64 / self.days * 100.0;
        format!("{:.2}%", share.clamp(0.0, 100.0))
    }

    /// Ticks at the quarters, and the years.
    fn axis(&self) -> Vec<AxisTick> {
        let mut ticks = Vec::new();
        let (mut year, mut month, _) = self.first.numbers();
        for count in 0..80 {
            let Some(day) = Day::new(year, month, 1) else { break };
            #[expect(clippy::cast_precision_loss, reason = "days of a lifetime")]
            if self.first.until(day) as f64 > self.days {
                break;
            }
            if month % 3 == 1 || count == 0 {
                let words = (month == 1 || count == 0).then(|| year.to_string());
                ticks.push(AxisTick { x: self.x(day), long: words.is_some(), words });
            }
            (year, month) = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
        }
        // A first label too near the next is left out.
        ticks
    }
}

/// The lines of a print that stand: those voided and their voids are struck.
fn standing_lines(print: Print, lines: &[Line]) -> Vec<&Line> {
    let mut story: Vec<&Line> = Vec::new();
    for line in lines.iter().filter(|line| line.of() == print) {
        if line.what == Event::Voided.word() {
            story.pop();
        } else {
            story.push(line);
        }
    }
    story
}

/// A row for each print; free numbers that nothing happened to yet, past the next, share one.
fn rows(prints: &[Print], lines: &[Line], edition: &Edition, span: &Span) -> Vec<PrintRow> {
    let mut rows = Vec::new();
    let mut untouched: Vec<Print> = Vec::new();
    for print in prints {
        let story = standing_lines(*print, lines);
        let next = edition.next().map(Print::Number) == Some(*print);
        if story.is_empty() && !next {
            untouched.push(*print);
            continue;
        }
        rows.extend(shared(&std::mem::take(&mut untouched), edition));
        rows.push(row(*print, &story, edition, span, next));
    }
    rows.extend(shared(&untouched, edition));
    rows
}

/// One row of prints that nothing happened to yet.
fn shared(prints: &[Print], edition: &Edition) -> Option<PrintRow> {
    let (first, last) = (*prints.first()?, *prints.last()?);
    let (mut no, mut of) = (print_label(first), Some(of(first, edition)));
    if first != last {
        no = format!("{no} to {}", print_label(last).trim_start_matches("AP "));
        of = None;
    }
    Some(PrintRow {
        no,
        of,
        next: false,
        segments: vec![TimelineSegment { class: "yet", from: String::new(), to: Some("100%".into()) }],
        marks: Vec::new(),
        story: String::new(),
        place: "Not printed".into(),
        since: "no date yet".into(),
        can_certify: false,
        slug: String::new(),
    })
}

fn of(print: Print, edition: &Edition) -> u32 {
    match print {
        Print::Number(_) => edition.size(),
        Print::Proof(_) => edition.proofs(),
    }
}

fn row(print: Print, story: &[&Line], edition: &Edition, span: &Span, next: bool) -> PrintRow {
    let standing = edition.standing(print);
    let (mut segments, mut marks, mut so_far) = (Vec::new(), Vec::new(), Vec::new());
    for (index, line) in story.iter().enumerate() {
        let (Some(day), Ok(what)) = (Day::parse(&line.when), event(&line.what)) else { continue };
        so_far.push(Entry { print, what });
        let until = story.get(index + 1).and_then(|next| Day::parse(&next.when)).map(|day| span.x(day));
        let stands = Edition::new(edition.size(), edition.proofs(), &so_far)
            .map(|edition| edition.standing(print))
            .unwrap_or_default();
        if let Some(class) = class(stands) {
            segments.push(TimelineSegment { class, from: span.x(day), to: until });
        }
        let mark = match what {
            Event::Printed | Event::Replaced => Some("tick"),
            Event::Framed => Some("open"),
            Event::Sold | Event::Given => Some("dot"),
            Event::Destroyed => Some("cross"),
            _ => None,
        };
        marks.extend(mark.map(|kind| TimelineMark { kind, x: span.x(day) }));
    }
    let last = story.last().and_then(|line| Day::parse(&line.when));
    let place = story.iter().rev().find(|line| !line.place.is_empty()).map(|line| line.place.clone());
    let with = |word: &str| {
        story
            .iter()
            .rev()
            .find(|line| line.what == word)
            .map(|line| line.words.clone())
            .filter(|words| !words.is_empty())
    };
    let place = match (standing.destroyed, standing.held, standing.away, standing.made) {
        (true, ..) => "Destroyed".to_owned(),
        (_, Some(Event::Sold | Event::Given), ..) if story.last().is_some_and(|line| line.place.is_empty()) => {
            "With its owner".to_owned()
        }
        (_, None | Some(Event::Reserved), _, false) => {
            if next {
                "The next number".to_owned()
            } else {
                "Not printed".to_owned()
            }
        }
        (_, _, true, _) => place.or_else(|| with("consigned")).unwrap_or_else(|| "With a gallery".to_owned()),
        _ => place.unwrap_or_else(|| "Studio".to_owned()),
    };
    let since = match (standing.held, last) {
        (Some(Event::Reserved), _) => {
            format!("promised to {}", with("reserved").unwrap_or_else(|| "someone".to_owned()))
        }
        (_, None) => "not reserved".to_owned(),
        (None, Some(day)) => format!("since {day}, not sold"),
        (_, Some(day)) => format!("since {day}"),
    };
    let no = print_label(print);
    PrintRow {
        slug: no.replace(' ', "-"),
        no,
        of: Some(of(print, edition)),
        next,
        segments,
        marks,
        story: told_in_words(story),
        place,
        since,
        can_certify: standing.made,
    }
}

fn class(stands: Standing) -> Option<&'static str> {
    match (stands.destroyed, stands.made, stands.held, stands.away) {
        (true, ..) => None,
        (_, false, ..) => Some("yet"),
        (_, _, Some(Event::Sold | Event::Given), _) => Some("gone"),
        (_, _, _, true) => Some("out"),
        _ => Some("here"),
    }
}

/// `Printed by Tidewater Lab 2 March 2026, framed, sold to R. Vell 6 June 2026.`
fn told_in_words(story: &[&Line]) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut day = "";
    for line in story {
        let party = match (line.words.as_str(), event(&line.what).map_or("by", asks)) {
            ("", _) => String::new(),
            (words, "to" | "to price") => format!(" to {words}"),
            (words, "from") => format!(" from {words}"),
            (words, "why") => format!(" ({words})"),
            (words, _) => format!(" by {words}"),
        };
        let amount = if line.amount.is_empty() { String::new() } else { format!(" for {}", line.amount_shown()) };
        let when = if line.when == day {
            String::new()
        } else {
            Day::parse(&line.when).map(|day| format!(" {day}")).unwrap_or_default()
        };
        day = &line.when;
        parts.push(format!("{}{party}{amount}{when}", line.what));
    }
    if parts.is_empty() { String::new() } else { format!("{}.", capital(&parts.join(", "))) }
}
