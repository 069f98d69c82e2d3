//! The head of a document: TOML between two lines `+++`.

use std::ops::Range;

use toml_edit::{Document as Toml, Item, Table};

use super::Problem;
use super::lines::Lines;
use crate::measure::{Currency, Day, Units};
use crate::syntax::nearest::nearest;
use crate::trade::disclosure;
use crate::trade::edition::Besides;

/// What kind of document it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// The plan of one artwork.
    #[default]
    Plan,
    /// What one outside shop makes, and at what price.
    RateSheet,
}

/// The head of a document, with a default for whatever it leaves out.
#[derive(Clone, Debug)]
pub struct Front {
    /// Plan or rate sheet.
    pub kind: Kind,
    /// The title of the artwork, or the name of the shop.
    pub title: Option<String>,
    /// One sentence under the title.
    pub about: Option<String>,
    /// Numbered prints of the edition.
    pub edition: u32,
    /// Artist's proofs beside it.
    pub proofs: u32,
    /// Printer's proofs and other prints that belong to the total.
    pub besides: Besides,
    /// Inches or millimetres.
    pub units: Units,
    /// The currency of costs and price.
    pub currency: Currency,
    /// The first working day of the plan.
    pub start: Option<Day>,
    /// The day a rate sheet was quoted.
    pub quoted: Option<Day>,
    /// The last day its prices hold.
    pub until: Option<Day>,
    /// What the shop of a rate sheet does: scanner, lab, mounter, framer.
    pub trade: Option<String>,
    /// The plan this one was made from.
    pub from: Option<String>,
    /// The piece is finished and hung.
    pub hung: Option<Day>,
    /// Days off besides weekends.
    pub holidays: Vec<Day>,
    /// The shops of the plan: what each does, and its rate sheet.
    pub shops: Vec<(String, String)>,
    /// Where each of them is named, in bytes of the document.
    pub shops_at: Vec<usize>,
    /// Whom a shop may ask: what it is, such as name or phone, and its value.
    pub contact: Vec<(String, String)>,
    /// The quotes the plan holds to, whatever its shops ask since: what each shop does, and the day of its quote.
    pub quotes: Vec<(String, Day)>,
    /// Where each of them stands, in bytes of the document.
    pub quotes_at: Vec<usize>,
    /// What a certificate says that is written nowhere else: name and words.
    pub certificate: Vec<(String, String)>,
}

impl Default for Front {
    fn default() -> Self {
        Self {
            kind: Kind::Plan,
            title: None,
            about: None,
            edition: 0,
            proofs: 0,
            besides: Besides::default(),
            units: Units::Inch,
            currency: USD,
            start: None,
            quoted: None,
            until: None,
            trade: None,
            from: None,
            hung: None,
            holidays: Vec::new(),
            shops: Vec::new(),
            shops_at: Vec::new(),
            contact: Vec::new(),
            quotes: Vec::new(),
            quotes_at: Vec::new(),
            certificate: Vec::new(),
        }
    }
}

const USD: Currency = Currency { code: "USD", sign: "$", places: 2 };

const KEYS: &[&str] = &[
    "title",
    "kind",
    "about",
    "edition",
    "proofs",
    "printers_proofs",
    "good_to_print",
    "outside_commerce",
    "units",
    "currency",
    "start",
    "quoted",
    "until",
    "trade",
    "from",
    "hung",
    "holidays",
    "shops",
    "contact",
    "quotes",
    "certificate",
];

/// The longest head that is read, in bytes; the longest shipped one has a hundredth.
pub const LONGEST_HEAD: usize = 64 << 10;
/// Shops, lines of contact and the like that one head may name, of each.
const MOST_NAMED: usize = 100;
/// Things wrong with a head that are told one by one.
const MOST_TOLD: usize = 100;

/// Where the head and the body of a text lie.
pub(super) struct Split {
    /// The TOML, without its fences.
    pub(super) head: Option<Range<usize>>,
    /// Where the Markdown begins.
    pub(super) body: usize,
    /// The head is opened but never closed.
    pub(super) unclosed: bool,
}

/// Finds the head: a first line `+++` down to the next such line.
pub(super) fn split(text: &str) -> Split {
    let mut at = 0;
    let mut head = None;
    for line in text.split_inclusive('\n') {
        let is_fence = line.trim_end() == "+++";
        match head {
            None if is_fence => head = Some(at + line.len()),
            None => return Split { head: None, body: 0, unclosed: false },
            Some(from) if is_fence => return Split { head: Some(from..at), body: at + line.len(), unclosed: false },
            Some(_) => {}
        }
        at += line.len();
    }
    // Never closed: the whole text is shown as prose, so that nothing of it is lost from sight.
    Split { head: None, body: 0, unclosed: head.is_some() }
}

/// Reads the head; what is wrong in it becomes a problem and the default stands in. What can be read and is most likely a
/// slip becomes a doubt.
pub(super) fn read(
    text: &str,
    lines: &Lines,
    split: &Split,
    (problems, doubts): (&mut Vec<Problem>, &mut Vec<Problem>),
) -> Front {
    if split.unclosed {
        problems.push(Problem {
            line: 1,
            column: 1,
            what: "the head of this document begins with `+++` and never ends".into(),
            next: "write a second line `+++` where the head ends and the text begins".into(),
        });
    }
    let Some(range) = split.head.clone() else { return Front::default() };
    let Some(head) = text.get(range.clone()) else { return Front::default() };
    let mut reader = Reader { text, lines, base: range.start, problems, doubts, found: 0 };
    if head.len() > LONGEST_HEAD {
        let what = format!("the head of this document is {} kB long, and at most 64 kB are read", head.len() / 1024);
        reader.problem(0, what, "take long texts out of the head and write them below its second line `+++`");
        return Front::default();
    }
    match Toml::parse(head) {
        Ok(toml) => reader.front(toml.as_table()),
        Err(error) => {
            let at = error.span().map_or(0, |span| span.start);
            let (why, next) = unread(head, at, error.message().starts_with("duplicate"));
            reader.problem(at, format!("the head of this document cannot be read: {why}"), &next);
            Front::default()
        }
    }
}

/// Why a head cannot be read at a place, and what to do: told from the line that stands there.
fn unread(head: &str, at: usize, is_twice: bool) -> (String, String) {
    let (before, after) = head.split_at_checked(at).unwrap_or((head, ""));
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let end = after.find('\n').map_or(head.len(), |end| at + end);
    let line = head.get(start..end).unwrap_or_default().trim();
    let (name, value) = match (line.split_once('='), line.split_once(':')) {
        (Some((name, value)), _) | (None, Some((name, value))) => (name.trim(), value.trim()),
        _ => (line, ""),
    };
    let name: String = name.chars().take(60).collect();
    let write = |value: &str| format!("write `{name} = {}`", value.chars().take(60).collect::<String>());
    let quoted = |text: &str| format!("\"{}\"", text.trim_matches(['"', '\'', '“', '”']).replace('"', "'"));
    let plain = value.trim_end_matches([',', ';']);
    if is_twice {
        return (format!("`{name}` stands twice"), "take one of the two out".to_owned());
    }
    if line.starts_with('[') {
        let closed = format!("write `[{}]`", line.trim_matches(['[', ']', ' ']));
        return (format!("`{line}` is the beginning of a table, and has no closing bracket"), closed);
    }
    if name.is_empty() || value.is_empty() {
        return (format!("`{line}` is a name without a value"), "write each line as `name = value`".to_owned());
    }
    let is_plain = plain.parse::<f64>().is_ok() || Day::parse(plain).is_some() || matches!(plain, "true" | "false");
    let good = if is_plain { plain.to_owned() } else { quoted(plain) };
    if !line.contains('=') {
        return (format!("`{name}` is followed by a colon"), write(&good));
    }
    if matches!(name.as_str(), "start" | "quoted" | "until" | "hung") {
        return (format!("`{name}` is `{value}`, which is not a day"), "write it as 2027-01-25".to_owned());
    }
    if is_plain {
        return (format!("`{value}` is more than a value"), write(&good));
    }
    match value.chars().next() {
        Some('"' | '\'') if plain.len() > 1 && plain.ends_with(['"', '\'']) => {
            (format!("the text of `{name}` holds a mark it cannot"), write(&good))
        }
        Some('"' | '\'') => (format!("the text of `{name}` has no closing quote"), write(&good)),
        Some('[' | '{') => (format!("the list of `{name}` is not written as one"), write("[\"…\", \"…\"]")),
        _ => (format!("`{name}` is text and stands without quotes"), write(&good)),
    }
}

struct Reader<'a> {
    text: &'a str,
    lines: &'a Lines,
    base: usize,
    problems: &'a mut Vec<Problem>,
    doubts: &'a mut Vec<Problem>,
    /// How many problems were met.
    found: usize,
}

impl Reader<'_> {
    fn problem(&mut self, at: usize, what: String, next: &str) {
        self.found += 1;
        if self.found <= MOST_TOLD {
            let problem = self.at(at, what, next);
            self.problems.push(problem);
        }
    }

    fn at(&self, at: usize, what: String, next: &str) -> Problem {
        let (line, column) = self.lines.place(self.text, self.base + at);
        Problem { line, column, what, next: next.to_owned() }
    }

    /// What a table of the head holds, as far as it is read: names, values and where each stands.
    fn named<'t>(&mut self, key: &str, item: &'t Item, at: usize, next: &str) -> Vec<(&'t str, &'t Item, usize)> {
        let Some(table) = item.as_table_like() else {
            self.problem(at, format!("`{key}` is {}", said(item)), next);
            return Vec::new();
        };
        if table.len() > MOST_NAMED {
            let what = format!("`{key}` holds {} names, and at most {MOST_NAMED} are read", table.len());
            self.problem(at, what, "take out those that are not needed");
        }
        let place = |key: &str, one: &Item| {
            let span = table.key(key).and_then(toml_edit::Key::span).or_else(|| one.span());
            span.map_or(at, |span| span.start)
        };
        table.iter().take(MOST_NAMED).map(|(key, one)| (key, one, place(key, one))).collect()
    }

    fn front(&mut self, table: &Table) -> Front {
        let mut front = Front::default();
        for (key, item) in table {
            if self.found > MOST_TOLD {
                break;
            }
            let at = table.key(key).and_then(toml_edit::Key::span).map_or(0, |span| span.start);
            let at = item.span().map_or(at, |span| if at == 0 { span.start } else { at });
            self.field(&mut front, key, item, at);
        }
        front
    }

    fn field(&mut self, front: &mut Front, key: &str, item: &Item, at: usize) {
        match key {
            "title" => front.title = self.words(key, item, at),
            "about" => front.about = self.words(key, item, at),
            "trade" => front.trade = self.words(key, item, at),
            "from" => front.from = self.words(key, item, at),
            "edition" => front.edition = self.count(key, item, at),
            "proofs" => front.proofs = self.count(key, item, at),
            "printers_proofs" => front.besides.printers = self.count(key, item, at),
            "good_to_print" => front.besides.good_to_print = self.count(key, item, at),
            "outside_commerce" => front.besides.outside_commerce = self.count(key, item, at),
            "start" => front.start = self.day(key, item, at),
            "quoted" => front.quoted = self.day(key, item, at),
            "until" => front.until = self.day(key, item, at),
            "hung" => front.hung = self.day(key, item, at),
            "kind" => match item.as_str() {
                Some("plan") => front.kind = Kind::Plan,
                Some("rate sheet") => front.kind = Kind::RateSheet,
                _ => self.problem(
                    at,
                    format!("`kind` is {}", said(item)),
                    "write `kind = \"plan\"` or `kind = \"rate sheet\"`",
                ),
            },
            "units" => match item.as_str() {
                Some("inch") => front.units = Units::Inch,
                Some("metric") => front.units = Units::Metric,
                _ => self.problem(
                    at,
                    format!("`units` is {}", said(item)),
                    "write `units = \"inch\"` or `units = \"metric\"`",
                ),
            },
            "currency" => match item.as_str().and_then(Currency::of) {
                Some(currency) => front.currency = currency,
                None => {
                    let next = "write its three letters in ISO 4217, such as USD, EUR or JPY";
                    self.problem(at, format!("`currency` is {}", said(item)), next);
                }
            },
            "holidays" => {
                if !item.is_array() {
                    // It was passed over from the beginning, so it stays no day off.
                    let what = format!("`holidays` is {}, which is not a list, so no day is taken off", said(item));
                    let doubt = self.at(at, what, "write days in square brackets, like `holidays = [\"2026-12-25\"]`");
                    self.doubts.push(doubt);
                }
                for one in item.as_array().into_iter().flatten() {
                    let day = one.as_datetime().map(ToString::to_string).or(one.as_str().map(str::to_owned));
                    match day.as_deref().and_then(Day::parse) {
                        Some(day) => front.holidays.push(day),
                        None => self.problem(
                            at,
                            format!("`holidays` holds {one}, which is not a day"),
                            "write days as 2026-12-25",
                        ),
                    }
                }
            }
            "shops" => {
                let next = "write a line `[shops]` and below it each shop, like `lab = \"shops/tidewater-lab\"`";
                for (role, sheet, place) in self.named(key, item, at, next) {
                    match sheet.as_str() {
                        Some(sheet) => {
                            front.shops.push((role.to_owned(), sheet.to_owned()));
                            front.shops_at.push(self.base + place);
                        }
                        None => self.problem(
                            at,
                            format!("the shop `{role}` is {}", said(sheet)),
                            "write the name of its rate sheet in quotes, like `lab = \"shops/tidewater-lab\"`",
                        ),
                    }
                }
            }
            "contact" => {
                let next = "write a line `[contact]` and below it each line, like `phone = \"+1 555 0100\"`";
                for (label, line, _) in self.named(key, item, at, next) {
                    match line.as_str() {
                        Some(line) => front.contact.push((label.to_owned(), line.to_owned())),
                        None => self.problem(
                            at,
                            format!("the contact line `{label}` is {}", said(line)),
                            "write it in quotes, like `phone = \"+1 555 0100\"`",
                        ),
                    }
                }
            }
            "quotes" => {
                let next = "write a line `[quotes]` and below it the day of each quote held, like `lab = 2026-11-02`";
                for (role, day, place) in self.named(key, item, at, next) {
                    if let Some(day) = self.day(role, day, at) {
                        front.quotes.push((role.to_owned(), day));
                        front.quotes_at.push(self.base + place);
                    }
                }
            }
            "certificate" => self.certificate(front, item, at),
            other => {
                let hint = nearest(other, KEYS.iter().copied()).map_or_else(
                    || format!("the head knows {}", KEYS.join(", ")),
                    |near| format!("was `{near}` meant?"),
                );
                self.problem(at, format!("the head has a name it does not know, `{other}`"), &hint);
            }
        }
    }

    fn certificate(&mut self, front: &mut Front, item: &Item, at: usize) {
        let next = "write a line `[certificate]` and below it each fact, like `artist = \"…\"`";
        for (key, fact, _) in self.named("certificate", item, at, next) {
            let words = fact.as_str().map(str::to_owned).or_else(|| fact.as_integer().map(|number| number.to_string()));
            match words {
                Some(words) if disclosure::keys().any(|one| one == key) => {
                    front.certificate.push((key.to_owned(), words));
                }
                Some(_) => {
                    let all = || disclosure::keys();
                    let next = nearest(key, all()).map_or_else(
                        || format!("it knows {}", all().collect::<Vec<_>>().join(", ")),
                        |near| format!("was `{near}` meant?"),
                    );
                    self.problem(at, format!("a certificate knows no fact called `{key}`"), &next);
                }
                None => self.problem(at, format!("`{key}` is {}", said(fact)), "write it in quotes"),
            }
        }
    }

    fn words(&mut self, key: &str, item: &Item, at: usize) -> Option<String> {
        let words = item.as_str().map(str::to_owned);
        if words.is_none() {
            self.problem(at, format!("`{key}` is {}", said(item)), "write it in quotes");
        }
        words
    }

    fn count(&mut self, key: &str, item: &Item, at: usize) -> u32 {
        match item.as_integer().map(u32::try_from) {
            Some(Ok(count)) if count <= 10_000 => count,
            _ => {
                self.problem(at, format!("`{key}` is {}", said(item)), "write a whole number from 0 to 10000");
                0
            }
        }
    }

    fn day(&mut self, key: &str, item: &Item, at: usize) -> Option<Day> {
        let text = item.as_datetime().map(ToString::to_string).or(item.as_str().map(str::to_owned));
        let day = text.as_deref().and_then(Day::parse);
        if day.is_none() {
            self.problem(at, format!("`{key}` is {}, which is not a day", said(item)), "write it as 2027-01-25");
        }
        day
    }
}

fn said(item: &Item) -> String {
    let text: String = item.to_string().trim().chars().take(60).collect();
    if text.is_empty() { "empty".into() } else { format!("`{text}`") }
}

/// The head of a text alone, fences included; nothing when it has none.
#[must_use]
pub fn head_of(text: &str) -> &str {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let split = split(text);
    if split.head.is_some() { text.get(..split.body).unwrap_or_default() } else { "" }
}
