//! The results of a plan, kept as rows of names and exact values, and what moved between two of them.

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

use crate::document::Document;
use crate::measure::{Currency, Day, Money, Units};
use crate::syntax::former;
use crate::{Evaluation, Found, Thing, Value};

/// What the sum of the costs is called.
const TOTAL: &str = "Total";

/// How deep the parts of a thing are looked into.
const DEPTH: usize = 2;

/// What kind of number a row holds. What matters most to a photographer comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// The sum of the costs.
    Total,
    /// One line of cost.
    Cost,
    /// One step, with its first and last day.
    Step,
    /// A rule, kept or broken.
    Rule,
    /// Something that cannot be calculated.
    Problem,
    /// A name of the plan.
    Name,
    /// A calculated ask of the prose.
    Ask,
    /// A part of something named: `frame.weight`.
    Part,
}

/// One name or line and its results.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Row {
    /// What kind of number.
    pub kind: Kind,
    /// What it is called.
    pub name: String,
    /// As it was shown.
    pub shown: String,
    /// To the last digit, the same on any machine.
    pub exact: String,
}

impl Row {
    /// What it is called now: an earlier version of the program may have recorded the total or a part under another name.
    fn name_now(&self) -> Cow<'_, str> {
        match self.kind {
            Kind::Total => TOTAL.into(),
            Kind::Part => former::path(&self.name).map_or(Cow::Borrowed(self.name.as_str()), Cow::Owned),
            _ => self.name.as_str().into(),
        }
    }

    /// What a part is a part of: `frame` of `frame.weight`.
    fn owner(&self) -> Option<&str> {
        self.name.rsplit_once('.').filter(|_| self.kind == Kind::Part).map(|(owner, _)| owner)
    }
}

/// All results of a plan.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Results {
    /// In the order of the text.
    pub rows: Vec<Row>,
}

/// One row that is not the same in two results.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Moved {
    /// What kind of number.
    pub kind: Kind,
    /// What it is called.
    pub name: String,
    /// What it was; nothing when it is new.
    pub from: Option<String>,
    /// What it is; nothing when it is gone.
    pub to: Option<String>,
    /// By how much, for money and dates.
    pub by: Option<String>,
}

impl Results {
    /// Every name, ask, cost, step, rule and problem of a plan calculated.
    #[must_use]
    pub fn of(document: &Document, evaluation: &Evaluation) -> Self {
        let units = evaluation.units;
        let mut rows = Vec::new();
        let mut push = |kind, name: &str, shown: String, exact: String| {
            rows.push(Row { kind, name: name.to_owned(), shown, exact });
        };
        for named in evaluation.blocks.iter().flat_map(|block| &block.gives) {
            // What a statement gave stands in its own row below.
            if matches!(named.found.value, Value::Nothing) || stated(&named.found.value) {
                continue;
            }
            push(Kind::Name, &named.name, named.found.value.shown(units), exact(&named.found.value));
            if let Value::Thing(thing) = &named.found.value {
                parts(&named.name, thing, units, 1, &mut push);
            }
        }
        if let Some(edition) = &evaluation.edition {
            parts("edition", &Thing::new(edition.clone()), units, 1, &mut push);
        }
        for (ask, answer) in document.asks.iter().zip(&evaluation.answers) {
            match &answer.result {
                // The total has a row of its own.
                Ok(Found { value, .. })
                    if !stated(value)
                        && ask.expression != "total()"
                        && evaluation.value_of(&ask.expression).is_none() =>
                {
                    push(Kind::Ask, &ask.expression, value.shown(units), exact(value));
                }
                _ => {}
            }
        }
        let record = &evaluation.record;
        for line in &record.costs {
            push(Kind::Cost, &line.what, line.amount.to_string(), exact_money(line.amount));
        }
        for open in record.open.iter().filter(|open| !open.broken) {
            push(Kind::Cost, &open.what, open.shown().to_owned(), String::new());
        }
        if let Some(sum) = evaluation.cost(None) {
            push(Kind::Total, TOTAL, sum.to_string(), exact_money(sum));
        }
        for step in &record.steps {
            let shown = if step.start == step.end {
                step.end.brief()
            } else {
                format!("{} to {}", step.start.brief(), step.end.brief())
            };
            push(Kind::Step, &step.what, shown, format!("{} {}", step.start.iso(), step.end.iso()));
        }
        for rule in &record.rules {
            let words = if rule.kept { "kept" } else { "not kept" };
            push(Kind::Rule, &rule.text, words.to_owned(), words.to_owned());
        }
        for problem in &evaluation.problems {
            push(Kind::Problem, &problem.what, format!("line {}", problem.line), String::new());
        }
        Self { rows }
    }

    /// What is not the same in `again`, where the same text was calculated by another version of the program: a problem
    /// told in other words is the same problem.
    #[must_use]
    pub fn moved_by_the_program(&self, again: &Self) -> Vec<Moved> {
        let problems = |results: &Self| results.rows.iter().filter(|row| row.kind == Kind::Problem).count();
        let is_same = problems(self) == problems(again);
        let mut moved = self.moved(again);
        moved.retain(|one| one.kind != Kind::Problem || !is_same);
        moved
    }

    /// What is not the same in `later`, the weightiest first.
    #[must_use]
    pub fn moved(&self, later: &Self) -> Vec<Moved> {
        let (before, after) = (keyed(&self.rows), keyed(&later.rows));
        let owners: HashSet<&str> = self.rows.iter().filter_map(Row::owner).collect();
        let mut moved = Vec::new();
        for (key, row) in &after.order {
            match before.rows.get(key) {
                Some(old) if old.exact == row.exact => {}
                // A later version of the program knows one more part of the same thing: nothing of the plan moved.
                None if row.owner().is_some_and(|owner| owners.contains(owner)) => {}
                old => moved.push(Moved {
                    kind: row.kind,
                    name: row.name_now().into_owned(),
                    from: old.map(|old| old.shown.clone()),
                    to: Some(row.shown.clone()),
                    by: old.and_then(|old| difference(old, row)),
                }),
            }
        }
        for (key, row) in &before.order {
            if !after.rows.contains_key(key) {
                let from = Some(row.shown.clone());
                moved.push(Moved { kind: row.kind, name: row.name_now().into_owned(), from, to: None, by: None });
            }
        }
        moved.sort_by_key(|one| one.kind);
        moved
    }
}

/// What moved, as one sentence of at most `most` items: `Total $1,243.10 → $1,276.22; 3 more numbers`.
#[must_use]
pub fn words(moved: &[Moved], most: usize) -> String {
    let shown: Vec<_> = moved
        .iter()
        .filter(|one| one.kind != Kind::Part)
        .chain(moved.iter().filter(|one| one.kind == Kind::Part))
        .take(most)
        .map(|one| match (&one.from, &one.to) {
            (Some(from), Some(to)) => format!("{} {from} → {to}", one.name),
            (None, Some(to)) if one.kind == Kind::Problem => format!("a problem on {to}"),
            (None, Some(to)) => format!("{} {to}, new", one.name),
            (Some(_), None) if one.kind == Kind::Problem => "one problem fewer".to_owned(),
            (_, None) => format!("{}, removed", one.name),
        })
        .collect();
    let rest = moved.len().saturating_sub(shown.len());
    let mut all = shown.join("; ");
    match rest {
        0 => {}
        1 => all.push_str("; one more number"),
        rest => all.push_str(&format!("; {rest} more numbers")),
    }
    all
}

/// A row's kind, its name as it is called now, and which of that name it is.
type Key<'a> = (Kind, Cow<'a, str>, usize);

struct Keyed<'a> {
    rows: HashMap<Key<'a>, &'a Row>,
    order: Vec<(Key<'a>, &'a Row)>,
}

/// Rows by kind, name, and which of that name: two steps may be called alike.
fn keyed(rows: &[Row]) -> Keyed<'_> {
    let mut seen: HashMap<(Kind, Cow<'_, str>), usize> = HashMap::new();
    let mut out = Keyed { rows: HashMap::with_capacity(rows.len()), order: Vec::with_capacity(rows.len()) };
    for row in rows {
        let count = seen.entry((row.kind, row.name_now())).or_default();
        let key = (row.kind, row.name_now(), *count);
        *count += 1;
        out.rows.insert(key.clone(), row);
        out.order.push((key, row));
    }
    out
}

fn parts(name: &str, thing: &Thing, units: Units, depth: usize, push: &mut impl FnMut(Kind, &str, String, String)) {
    for (part, _) in thing.parts() {
        let Some(found) = thing.part(part) else { continue };
        let path = format!("{name}.{part}");
        push(Kind::Part, &path, found.value.shown(units), exact(&found.value));
        if let Value::Thing(inner) = &found.value
            && depth < DEPTH
        {
            parts(&path, inner, units, depth + 1, push);
        }
    }
}

/// What is only a place for a table or a step, which have rows of their own.
fn stated(value: &Value) -> bool {
    matches!(value, Value::Thing(thing) if matches!(thing.kind(), "a table" | "a step" | "a wait for other steps"))
}

/// A value to the last digit.
fn exact(value: &Value) -> String {
    match value {
        // Written with as many digits as it takes to read the very same number back.
        Value::Quantity(quantity) => format!("{:?} {}", quantity.value, quantity.dims.name()),
        Value::Money(money) => exact_money(*money),
        Value::Day(day) => day.iso(),
        Value::List(all) => all.iter().map(exact).collect::<Vec<_>>().join(", "),
        // Its parts have rows of their own.
        Value::Thing(thing) => thing.summary().iter().map(exact).collect::<Vec<_>>().join(""),
        Value::Nothing | Value::Truth(_) | Value::Whole(_) | Value::Text(_) => value.shown(Units::Metric),
    }
}

fn exact_money(money: Money) -> String {
    format!("{} {}", money.amount.normalize(), money.currency.code)
}

fn read_money(text: &str) -> Option<Money> {
    let (amount, code) = text.split_once(' ')?;
    Some(Money::new(amount.parse().ok()?, Currency::of(code)?))
}

/// How far apart two rows are: money, or the last day of a step.
fn difference(from: &Row, to: &Row) -> Option<String> {
    if let (Some(from), Some(to)) = (read_money(&from.exact), read_money(&to.exact)) {
        let by = to.minus(from)?;
        return Some(if by.amount.is_sign_negative() { by.to_string() } else { format!("+{by}") });
    }
    let last = |row: &Row| row.exact.rsplit(' ').next().and_then(Day::parse);
    let days = last(from)?.until(last(to)?);
    let count = |days: i64| if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
    match days {
        0 => None,
        1.. => Some(format!("{} later", count(days))),
        _ => Some(format!("{} earlier", count(days.saturating_neg()))),
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::{Results, words};
    use crate::document::Document;
    use crate::measure::Day;
    use crate::{Facts, evaluate};

    fn results(text: &str) -> Results {
        let document = Document::read(text);
        let facts = Facts::on(Day::new(2026, 11, 25).expect("a day"));
        Results::of(&document, &evaluate(&document, &facts, &Arc::default(), None))
    }

    fn plan(wide: &str, price: &str, days: u32) -> String {
        format!(
            "+++\nstart = 2026-11-25\n+++\n# A\n\n```workings\nlet wide = {wide};\nlet piece = enlarge(scan(film(\"6x12\"), 4000.ppi), wide);\ncost(\"Print\", {price}.usd);\nstep(\"Proof\", {days}.days);\n```\n"
        )
    }

    #[test]
    fn the_same_text_and_facts_move_nothing() {
        let text = plan("60.inch", "200", 3);
        assert_eq!(results(&text).moved(&results(&text)), Vec::new());
    }

    #[test]
    fn a_part_that_a_later_version_tells_besides_moves_nothing() {
        let now = results(&plan("60.inch", "200", 3));
        let mut before = now.clone();
        before.rows.retain(|row| row.name != "piece.ppi");
        assert_eq!(before.rows.len() + 1, now.rows.len());
        assert_eq!(before.moved(&now), Vec::new());
        assert_eq!(now.moved(&before).len(), 1, "one that is gone is told");
    }

    #[test]
    fn a_part_or_function_that_is_called_otherwise_now_moves_nothing() {
        let text = |day, part| {
            format!(
                "# A\n\n```workings\nlet hooks = hang_two_hooks(24.lb, 20.inch, 28.inch);\nlet by = {day}(date(\"2027-02-01\"), 10.days);\ncost(\"Hooks\", 9.usd);\n```\n\nEach: `? hooks.{part} / 2`.\n"
            )
        };
        let now = results(&text("back_from", "r1"));
        assert!(now.rows.iter().any(|row| row.name == "hooks.first_load"), "{now:?}");
        let mut recorded = now.clone();
        for row in &mut recorded.rows {
            row.name = row.name.replace("hooks.first_load", "hooks.r1").replace("hooks.second_load", "hooks.r2");
            row.name = row.name.replace("Total", "in all");
        }
        assert_ne!(recorded, now);
        assert_eq!(recorded.moved(&now), Vec::new());
        // The plan written with the names of now: the ask has other words, and no value is another.
        let renamed = results(&text("start_by", "first_load"));
        assert!(recorded.moved(&renamed).iter().all(|one| one.name.ends_with("/ 2")), "{:?}", recorded.moved(&renamed));
    }

    #[test]
    fn a_higher_price_moves_the_cost_and_the_whole_by_the_difference() {
        let moved = results(&plan("60.inch", "200", 3)).moved(&results(&plan("60.inch", "233.28", 3)));
        let rows: Vec<_> = moved.iter().map(|one| (one.name.as_str(), one.by.as_deref())).collect();
        assert_eq!(rows, [("Total", Some("+$33.28")), ("Print", Some("+$33.28"))]);
        assert_eq!(words(&moved, 1), "Total $200.00 → $233.28; one more number");
    }

    #[test]
    fn a_longer_step_moves_its_last_day() {
        // Wed 25 November and two more working days is Fri 27; five days end on Tue 1 December (identity, no holidays).
        let moved = results(&plan("60.inch", "200", 3)).moved(&results(&plan("60.inch", "200", 5)));
        assert_eq!(moved.len(), 1);
        assert_eq!(moved[0].by.as_deref(), Some("4 days later"));
    }

    #[test]
    fn a_width_that_reads_alike_but_differs_in_the_last_digit_is_told() {
        let moved = results(&plan("60.inch", "200", 3)).moved(&results(&plan("60.0000000001.inch", "200", 3)));
        assert!(moved.iter().any(|one| one.name == "wide" && one.from == one.to), "{moved:?}");
    }

    #[test]
    fn names_that_come_and_go_are_told() {
        let less = "# A\n\n```workings\nlet a = 1;\n```\n";
        let more = "# A\n\n```workings\nlet a = 1;\nlet b = 2;\n```\n";
        let moved = results(less).moved(&results(more));
        assert_eq!(words(&moved, 3), "b 2, new");
        assert_eq!(words(&results(more).moved(&results(less)), 3), "b, removed");
    }
}
