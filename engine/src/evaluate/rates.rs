//! What a rate sheet says, line by line: prices, sizes, times and the rest, each literal of which a person may fill in.

use std::ops::Range;
use std::sync::Arc;

use super::{Compiled, Evaluation, Facts, evaluate};
use crate::document::{Ask, Document, change, prices as price_list};
use crate::measure::{Day, Dims, Length, Quantity, Units};
use crate::record::{Given, GivenPlace};
use crate::script::Stop;
use crate::syntax::calls::Calls;
use crate::syntax::tokens;
use crate::{Message, Value};

/// What a line is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Money.
    Prices,
    /// Lengths, rolls and boards: what it makes, and how large.
    Sizes,
    /// How long it takes.
    Times,
    /// What a file must be.
    Files,
    /// Materials and all else.
    Rest,
}

/// One line of a rate sheet.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name in the workings.
    pub name: String,
    /// The remark behind it.
    pub remark: Option<String>,
    /// What it is about.
    pub group: Group,
    /// Its value as shown.
    pub shown: String,
    /// Where each of its literals stands in the text.
    pub parts: Vec<Range<usize>>,
}

/// What something costs at a few sizes, as a function of the sheet gives it.
#[derive(Clone, Debug)]
pub struct Priced {
    /// The function.
    pub name: String,
    /// Its price at each of [`sizes`], or nothing where it has none.
    pub prices: Vec<Option<String>>,
}

impl Group {
    /// Every group, in the order of the page.
    pub const ALL: [Self; 5] = [Self::Prices, Self::Sizes, Self::Times, Self::Files, Self::Rest];

    /// Its heading.
    pub fn words(self) -> &'static str {
        match self {
            Self::Prices => "prices",
            Self::Sizes => "sizes",
            Self::Times => "working days",
            Self::Files => "files",
            Self::Rest => "materials and the rest",
        }
    }

    fn of(value: &Value) -> Self {
        match value {
            Value::Money(_) => Self::Prices,
            Value::Quantity(quantity) => {
                let of = |dims: [i8; 8]| quantity.dims == Dims(dims);
                // Lengths and areas; working days and weeks of them; pixels a length, pixels, bytes.
                if of([1, 0, 0, 0, 0, 0, 0, 0]) || of([2, 0, 0, 0, 0, 0, 0, 0]) {
                    Self::Sizes
                } else if quantity.dims == crate::measure::Days::DIMS || quantity.dims == crate::measure::Time::DIMS {
                    Self::Times
                } else if quantity.dims == crate::measure::Resolution::DIMS {
                    Self::Files
                } else {
                    Self::Rest
                }
            }
            Value::List(all) => all.iter().map(Self::of).min().unwrap_or(Self::Rest),
            Value::Thing(thing) if matches!(thing.kind(), "a roll" | "a roll of paper" | "a board" | "a moulding") => {
                Self::Sizes
            }
            _ => Self::Rest,
        }
    }
}

/// The lines of a rate sheet: every name that is set once, outside braces.
#[must_use]
pub fn lines(document: &Document, evaluation: &Evaluation) -> Vec<Line> {
    let mut lines = Vec::new();
    for block in &document.blocks {
        let calls = Calls::of(&block.text);
        let mut seen: Vec<&str> = Vec::new();
        for one in &calls.lets {
            let name = &*one.name;
            let (Some(whole), Some(found)) = (&one.whole, evaluation.names.get(name)) else { continue };
            if seen.contains(&name) {
                continue;
            }
            seen.push(name);
            let Some(right) = block.text.get(whole.clone()) else { continue };
            let start = whole.start;
            let within = match change::literal(right) {
                change::Literal::Calculation => {
                    tokens::literals(right).into_iter().map(|range| range.start + start..range.end + start).collect()
                }
                _ => vec![whole.clone()],
            };
            let parts = within
                .into_iter()
                .map(|range: Range<usize>| block.offset(range.start)..block.offset(range.end.saturating_sub(1)) + 1);
            let rest = block.text.get(whole.end..).and_then(|rest| rest.lines().next()).unwrap_or_default();
            let remark =
                rest.split_once("//").map(|(_, remark)| remark.trim().to_owned()).filter(|one| !one.is_empty());
            lines.push(Line {
                name: name.to_owned(),
                remark,
                group: Group::of(&found.value),
                shown: found.value.shown(evaluation.units),
                parts: parts.collect(),
            });
        }
    }
    lines
}

/// Fills one literal of a line in. The rest of the text keeps every byte.
///
/// # Errors
/// When there is no such line or literal, or what was entered cannot be read.
pub fn fill_in(
    document: &Document,
    evaluation: &Evaluation,
    name: &str,
    part: usize,
    entered: &str,
) -> Result<String, Message> {
    let gone = || Message::new(format!("the rate sheet has no `{name}` to fill in"), "look at the page again");
    let line = lines(document, evaluation).into_iter().find(|line| line.name == name).ok_or_else(gone)?;
    let range = line.parts.get(part).cloned().ok_or_else(gone)?;
    let written = document.text.get(range.clone()).ok_or_else(gone)?;
    let value = match change::literal(written) {
        change::Literal::Number { unit: Some(unit), .. } => Value::Quantity(unit.one),
        _ => Value::Quantity(Quantity::plain(1.0)),
    };
    let place = GivenPlace { name: None, value: range, choices: Vec::new() };
    let given = Given { label: plain_name(name), value, choices: Vec::new(), block: 0, place: Some(place) };
    change::set_given(document, &given, entered)
}

/// A name as words: `least_charge` is `least charge`.
#[must_use]
pub fn plain_name(name: &str) -> String {
    name.replace('_', " ")
}

/// What a rate sheet leaves open, or says that cannot be.
#[must_use]
pub fn open(document: &Document, evaluation: &Evaluation, today: Day) -> Vec<String> {
    let front = &document.front;
    let lines = lines(document, evaluation);
    let has = |group: Group| lines.iter().any(|line| line.group == group);
    let mut open = Vec::new();
    let mut say = |when: bool, words: &str| {
        if when {
            open.push(words.to_owned());
        }
    };
    let list = price_list::table(document).map(|table| price_list::lines(document, &table).0);
    // A list stands on the page with its blanks, and an empty blank says for itself what is open.
    let has_workings = list.is_none() || !lines.is_empty();
    say(front.quoted.is_none(), "No day it was quoted on: write quoted in the head, so that plans can keep that quote");
    say(front.until.is_none() && has_workings, "No last day its prices hold: write until in the head");
    say(front.trade.is_none(), "What the shop does is not said: write trade in the head");
    if let (Some(quoted), Some(until)) = (front.quoted, front.until) {
        say(until < quoted, "Its prices end before they were quoted: look at quoted and until");
    }
    if let Some(until) = front.until.filter(|until| *until < today) {
        say(true, &format!("It ran out on {until}: ask for a new quote"));
    }
    let is_priced = list.iter().flatten().any(|line| line.price.is_some());
    say(!has(Group::Prices) && !is_priced, if list.is_some() { "No price yet" } else { "No price" });
    say(!has(Group::Sizes) && list.is_none(), "No largest size, roll or board");
    say(!has(Group::Times) && list.is_none(), "No working days");
    let files = has(Group::Files) || document.sections.iter().any(|one| one.title.to_lowercase().contains("file"));
    say(
        !files && has_workings && matches!(front.trade.as_deref(), Some("lab" | "printer")),
        "No word on what a file must be",
    );
    for (name, found) in &evaluation.names {
        if let Value::Money(money) = &found.value
            && money.amount.is_sign_negative()
            && !money.amount.is_zero()
        {
            say(true, &format!("{} is less than nothing: {money}", plain_name(name)));
        }
    }
    open
}

/// The sizes prices are shown at: common ones, and the long one of two by six feet. Source: common practice, no source.
#[must_use]
pub fn sizes(units: Units) -> Vec<String> {
    SIZES
        .iter()
        .map(|(a, b)| Value::List(vec![Length::inch(*a).into(), Length::inch(*b).into()]).shown(units))
        .collect()
}

const SIZES: &[(f64, f64)] = &[(16.0, 20.0), (24.0, 36.0), (40.0, 50.0), (24.0, 72.0)];

/// What each function of one size gives at [`sizes`], for those that give money.
#[must_use]
pub fn prices(document: &Document, facts: &Facts, compiled: &Arc<Compiled>, stop: Option<Stop>) -> Vec<Priced> {
    let functions: Vec<_> = document.blocks.iter().flat_map(|block| tokens::functions_of_one(&block.text)).collect();
    let mut asking = Document::read(&document.text);
    asking.asks.clear();
    for name in &functions {
        for (a, b) in SIZES {
            let expression = format!("{name}([{a}.inch, {b}.inch])").replace(".0", "");
            asking.asks.push(Ask { expression, at: 0, range: 0..0, section: None });
        }
    }
    let answers = evaluate(&asking, facts, compiled, stop).answers;
    let mut priced = Vec::new();
    for (name, answers) in functions.into_iter().zip(answers.chunks(SIZES.len())) {
        let money = |found: &crate::Found| match &found.value {
            Value::Money(money) => Some(money.to_string()),
            _ => None,
        };
        let prices: Vec<_> = answers.iter().map(|one| one.result.as_ref().ok().and_then(money)).collect();
        if prices.iter().any(Option::is_some) {
            priced.push(Priced { name, prices });
        }
    }
    priced
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::{Group, fill_in, lines, open, prices};
    use crate::document::Document;
    use crate::measure::Day;
    use crate::{Evaluation, Facts, evaluate};

    const SHEET: &str = "+++\ntitle = \"Lab\"\nkind = \"rate sheet\"\ntrade = \"lab\"\nquoted = \"2026-10-12\"\nuntil = \"2027-01-31\"\n+++\n\n```workings\nlet paper = roll(50.inch, 0.5.inch, 0.5.inch, 0.5.inch);   // margins and gap\nlet foot = 16.80.usd;    // a square foot\nlet least = 65.usd;\nlet proof_days = 3.days;\nlet least_ppi = 200.ppi;\nlet twice = foot * 2;\n\nfn by(size) { let price = size[0] * size[1] / 1.ft2 * foot; if price < least { least } else { price } }\nfn long(size) { size[0] }\n```\n";

    fn today() -> Day {
        Day::parse("2026-11-25").expect("a day")
    }

    fn worked(text: &str) -> (Document, Evaluation) {
        let document = Document::read(text);
        let evaluation = evaluate(&document, &Facts::on(today()), &Arc::default(), None);
        assert_eq!(evaluation.problems, Vec::new());
        (document, evaluation)
    }

    #[test]
    fn every_line_is_found_with_its_remark_and_what_can_be_filled_in() {
        let (document, evaluation) = worked(SHEET);
        let all = lines(&document, &evaluation);
        let text = |name: &str| -> Vec<&str> {
            let line = all.iter().find(|line| line.name == name).expect("a line");
            line.parts.iter().map(|range| &SHEET[range.clone()]).collect()
        };
        assert_eq!(text("foot"), ["16.80.usd"]);
        assert_eq!(text("paper"), ["50.inch", "0.5.inch", "0.5.inch", "0.5.inch"]);
        assert_eq!(text("twice"), ["2"]);
        let groups: Vec<_> = all.iter().map(|line| (line.name.as_str(), line.group)).collect();
        assert!(
            groups.contains(&("foot", Group::Prices)) && groups.contains(&("proof_days", Group::Times)),
            "{groups:?}"
        );
        assert!(
            groups.contains(&("paper", Group::Sizes)) && groups.contains(&("least_ppi", Group::Files)),
            "{groups:?}"
        );
        assert_eq!(all[1].remark.as_deref(), Some("a square foot"));
    }

    #[test]
    fn filling_a_price_in_changes_only_its_digits() {
        let (document, evaluation) = worked(SHEET);
        let after = fill_in(&document, &evaluation, "foot", 0, "$18.50").expect("filled in");
        assert_eq!(after, SHEET.replace("16.80.usd", "18.50.usd"));
        let after = fill_in(&document, &evaluation, "paper", 0, "60 in").expect("filled in");
        assert_eq!(after, SHEET.replace("roll(50.inch", "roll(60.inch"));
        assert!(fill_in(&document, &evaluation, "foot", 0, "dear").is_err());
        assert!(fill_in(&document, &evaluation, "foot", 1, "3").is_err());
    }

    #[test]
    fn prices_by_size_show_the_least_charge_and_leave_out_what_is_no_price() {
        let (document, _) = worked(SHEET);
        let shown = prices(&document, &Facts::on(today()), &Arc::default(), None);
        assert_eq!(shown.len(), 1);
        let row: Vec<_> = shown[0].prices.iter().flatten().map(String::as_str).collect();
        // 16 x 20 in is 2.22 square feet, $37.33, below the least charge; 24 x 36 in 6 × 16.80; 40 x 50 in 13.8889 ×
        // 16.80; 24 x 72 in 12 × 16.80 (identity).
        assert_eq!(row, ["$65.00", "$100.80", "$233.33", "$201.60"]);
    }

    #[test]
    fn what_a_sheet_leaves_open_is_said() {
        let (document, evaluation) = worked(SHEET);
        assert_eq!(open(&document, &evaluation, today()), Vec::<String>::new());
        let later = Day::parse("2027-02-01").expect("a day");
        assert!(open(&document, &evaluation, later)[0].contains("31 January 2027"));
        let (document, evaluation) = worked("+++\nkind = \"rate sheet\"\n+++\n\n```workings\nlet a = 2;\n```\n");
        assert_eq!(open(&document, &evaluation, today()).len(), 6);
        let list = |price: &str| {
            format!(
                "+++\nkind = \"rate sheet\"\ntrade = \"lab\"\nquoted = \"2026-10-12\"\n+++\n\n|item|price|\n|-|-|\n|Proof|{price}|\n"
            )
        };
        let (document, evaluation) = worked(&list(""));
        assert_eq!(open(&document, &evaluation, today()), ["No price yet"]);
        let (document, evaluation) = worked(&list("28"));
        assert_eq!(open(&document, &evaluation, today()), Vec::<String>::new());
    }
}
