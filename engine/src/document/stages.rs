//! Stages: ready sections for one part of the work each, from which a new plan is put together.
//!
//! A stage is Markdown with a head that says which others it builds on and what the piece is after it. Four names in braces
//! stand for what an earlier stage said: `{previous}` the last step, `{outside}` the size, `{weight}` and `{depth}`.

use toml_edit::DocumentMut;

use super::front;
use crate::Message;
use crate::measure::{Currency, Day, Units};

/// One stage.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The name of its file.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// What it does, in a few words.
    pub about: String,
    /// The trade that does it; nothing for the photographer's own.
    pub trade: Option<String>,
    /// Stages one of which must come before it.
    pub needs: Vec<String>,
    /// The last of its steps.
    ends: Option<String>,
    /// The piece after it.
    after: After,
    body: String,
}

/// What later stages are told of the piece, in names of the plan.
#[derive(Clone, Debug, Default)]
struct After {
    outside: Option<String>,
    weight: Option<String>,
    depth: Option<String>,
}

/// What the head of a new plan says.
#[derive(Clone, Debug)]
pub struct Head {
    /// The title of the artwork.
    pub title: String,
    /// Numbered prints.
    pub edition: u32,
    /// Artist's proofs.
    pub proofs: u32,
    /// Inches or millimetres.
    pub units: Units,
    /// What everything is paid in.
    pub currency: Currency,
    /// The first working day.
    pub start: Day,
    /// Days off besides weekends.
    pub holidays: Vec<Day>,
    /// The shops: what each does, and its rate sheet.
    pub shops: Vec<(String, String)>,
}

impl Stage {
    /// Reads a stage.
    ///
    /// # Errors
    /// When its head cannot be read or lacks its title.
    pub fn read(name: &str, text: &str) -> Result<Self, Message> {
        let wrong =
            |what: String| Message::new(format!("the stage `{name}` {what}"), "put its head between two lines `+++`");
        let split = front::split(text);
        let head = split.head.and_then(|range| text.get(range)).unwrap_or_default();
        let head: DocumentMut =
            head.parse().map_err(|error| wrong(format!("has a head that cannot be read: {error}")))?;
        let words = |key: &str| head.get(key).and_then(|item| item.as_str()).map(str::to_owned);
        let needs = head.get("needs").and_then(|item| item.as_array()).into_iter().flatten();
        Ok(Self {
            name: name.to_owned(),
            title: words("title").ok_or_else(|| wrong("has no title".to_owned()))?,
            about: words("about").unwrap_or_default(),
            trade: words("trade"),
            needs: needs.filter_map(|one| one.as_str()).map(str::to_owned).collect(),
            ends: words("ends"),
            after: After { outside: words("outside"), weight: words("weight"), depth: words("depth") },
            body: text.get(split.body..).unwrap_or_default().trim().to_owned(),
        })
    }

    /// Its text after the stages before it.
    fn written(&self, before: &After, previous: Option<&str>) -> String {
        let mut text = match previous {
            Some(step) => self.body.replace("{previous}", step),
            None => self.body.replace(", after(\"{previous}\")", ""),
        };
        for (mark, name) in [("{outside}", &before.outside), ("{weight}", &before.weight), ("{depth}", &before.depth)] {
            text = match name {
                Some(name) => text.replace(mark, name),
                None => text.replace(&format!(", {mark}"), ""),
            };
        }
        text
    }
}

/// A plan of these stages, in their order.
///
/// # Errors
/// When the title is empty, longer than 120 letters or of several lines; when a stage lacks the one it builds on.
pub fn compose(head: &Head, stages: &[&Stage]) -> Result<String, Message> {
    let title = head.title.trim();
    if title.is_empty() || title.chars().any(char::is_control) || title.chars().count() > 120 {
        return Err(Message::new("a plan needs a title of one line, at most 120 letters", "give the piece its title"));
    }
    // A trade without a shop stands there with an empty name, to be filled in.
    let mut shops = head.shops.clone();
    for trade in stages.iter().filter_map(|stage| stage.trade.as_ref()) {
        if !shops.iter().any(|(role, _)| role == trade) {
            shops.push((trade.clone(), String::new()));
        }
    }
    let mut text = format!("+++\n{}+++\n\n# {}\n", head_of(head, title, shops), plain(title));
    let (mut now, mut previous): (After, Option<&str>) = (After::default(), None);
    for (at, stage) in stages.iter().enumerate() {
        let is_there = |need: &String| stages.iter().take(at).any(|one| one.name == *need);
        if !stage.needs.is_empty() && !stage.needs.iter().any(is_there) {
            let titles = stage.needs.iter().map(|need| need.replace('-', " ")).collect::<Vec<_>>().join(" or ");
            return Err(Message::new(
                format!("`{}` builds on another part of the work: {titles}", stage.title),
                "choose that too, or leave this out",
            ));
        }
        let written = stage.written(&now, previous);
        text.push_str(&format!("\n{}\n", in_units(&written, head.units, head.currency)));
        previous = stage.ends.as_deref().or(previous);
        let After { outside, weight, depth } = stage.after.clone();
        now = After { outside: outside.or(now.outside), weight: weight.or(now.weight), depth: depth.or(now.depth) };
    }
    Ok(text)
}

fn head_of(head: &Head, title: &str, shops: Vec<(String, String)>) -> String {
    let mut toml = DocumentMut::new();
    toml.insert("title", toml_edit::value(title));
    if head.edition > 0 {
        toml.insert("edition", toml_edit::value(i64::from(head.edition)));
        toml.insert("proofs", toml_edit::value(i64::from(head.proofs)));
    }
    toml.insert("units", toml_edit::value(head.units.word()));
    toml.insert("currency", toml_edit::value(head.currency.code));
    if let Some(start) = toml_day(head.start) {
        toml.insert("start", toml_edit::value(start));
    }
    let days: toml_edit::Array = head.holidays.iter().filter_map(|day| toml_day(*day)).collect();
    if !days.is_empty() {
        toml.insert("holidays", toml_edit::value(days));
    }
    if !shops.is_empty() {
        let mut table = toml_edit::Table::new();
        for (role, sheet) in shops {
            table.insert(&role, toml_edit::value(sheet));
        }
        toml.insert("shops", toml_edit::Item::Table(table));
    }
    toml.to_string()
}

fn toml_day(day: Day) -> Option<toml_edit::Datetime> {
    day.iso().parse().ok()
}

/// A title as words of a heading.
fn plain(title: &str) -> String {
    let mut out = String::with_capacity(title.len());
    for c in title.chars() {
        if c.is_ascii_punctuation()
            && !matches!(c, ',' | '.' | ':' | ';' | '\'' | '-' | '(' | ')' | '/' | '?' | '&' | '"' | '%')
        {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// Stages are written in inches and dollars: whole millimetres and the plan's currency in their places.
fn in_units(text: &str, units: Units, currency: Currency) -> String {
    let text = text.replace(".usd", &format!(".{}", currency.code.to_lowercase()));
    if units == Units::Inch {
        return text;
    }
    let mut pieces = text.split(".inch");
    let mut out = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let from = out.rfind(|c: char| !c.is_ascii_digit() && c != '.').map_or(0, |at| at + 1);
        match out.get(from..).and_then(|digits| digits.parse::<f64>().ok()) {
            Some(inches) => {
                out.truncate(from);
                out.push_str(&format!("{}.mm", (inches * 25.4).round()));
            }
            None => out.push_str(".inch"),
        }
        out.push_str(piece);
    }
    out
}
