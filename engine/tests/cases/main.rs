//! The check cases: each an ask as a photographer writes it, what it must come to, and where that comes from.
//!
//! Each case is a test of its own, called after its file, its id and the functions it calls: `cargo test --workspace tube` runs those
//! that name a tube. One that fails names its file and line.
//!
//! One file a subject, called like the file of its functions in `script/bindings`. A case has an `id`, an `ask`, perhaps `workings` before it, a `head` and a
//! `ledger`, and a `source`: what it is, and its `state`: `read`, `from memory`, `common practice`, `identity` (arithmetic or
//! geometry), `computed` (with a reference library that is named) or `own rule` (a range of this program). It says one of
//!
//! - `expect`: a number (with `unit`), a text, a yes or no, or a list of these, within `tolerance`: `"exact"`, `{ abs = … }`
//!   or `{ rel = … }`;
//! - `between`: two numbers the answer lies between, both included;
//! - `includes`: words that the answer holds;
//! - `fails`: words of the error the plan must show instead of an answer.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests may")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use engine::document::Document;
use engine::evaluate::Compiled;
use engine::measure::{Currency, Day, Money, Units};
use engine::script::bindings;
use engine::syntax::units::Unit;
use engine::trade::edition::{Entry, Event, Print};
use engine::{Facts, Value, evaluate};
use libtest_mimic::{Arguments, Failed, Trial};
use rust_decimal::Decimal;
use toml_edit::{Document as TomlFile, Item, Table, Value as Toml};

/// The project's list of outside values. Each is the id of a case, or the beginning of it up to a point.
const IDS: &str = "U01 U02 U04 U06 U08 U09 U10 U12 U14 U16 U17 U18 U19 U22 U24 U25 U28 U29 U31 U32 U33 F01 F03 F04 F05 \
     F06 F07 F08 F09 F10 F11 R01 R08 R11 R13 R15 R20 R21 R23 R27 R28 R32 R33 B01 B03 B04 B05 B06 B07 B10 \
     B11 B12 B13 B14 B15 B17 B20 B21 C02 C03 C04 C05 C07 C08 C09 C10 C12 C13 C15 C17 C20 C22 C24 C25 C26 \
     C28 C29 C30 C31 C33 C34 C35 C37 C39 C41 C44 C46 C47 C48 C49 C50 C52 M01 M03 M04 M05 M08 M10 M13 M15 \
     S01 S03 S07 S08 S09 S11 S12 S13 S14 S15 S16 S17 S18 S20 S21 S22 S24 S25 S26 L01 L04 L08 L09 L10 L13 \
     P03 P06 P07 P09 P10 P11 P13 P16 P17 P19 P20 P21 K03 K05 K06 K09 K10 K11 K12 W01 W02 W03 W05 W07 W09 \
     W10 W11 W12 W13 W14 W15 W16 W17 W18 W19 W20 W21 W22 W23 W25 D01 D04 D05 D06 D08 D09 D10 D11 D14 D15 \
     D16 D18 D19 D20 D21 E02 E05 E06 E09 E10 E11 E12 E13 G05 G06 G07 G08 G09 G10 Q01 Q02 Q03 Q04 Q05 Q06 \
     Q07 Q08 Q09 Q10 Q11 Q12 Q13 Q14 Q15 Q16";

/// Those no plan can ask for, and the test that shows them instead.
const NOT_ASKED: &[(&str, &str)] = &[];

/// The states a source can have.
const STATES: &[&str] = &["read", "from memory", "common practice", "identity", "computed", "own rule"];
const KEYS: &[&str] = &[
    "id",
    "ask",
    "workings",
    "head",
    "ledger",
    "expect",
    "unit",
    "between",
    "includes",
    "fails",
    "tolerance",
    "source",
];

/// One case, as it stands in its file.
#[derive(Clone)]
struct Case {
    /// Its file, `packing.toml`, and its line there.
    file: String,
    line: usize,
    id: String,
    state: String,
    table: Table,
}

impl Case {
    fn text(&self, key: &str) -> Option<&str> {
        self.table.get(key).and_then(Item::as_str)
    }

    /// What the test is called: file, id and the functions it calls.
    fn name(&self) -> String {
        let text = format!("{} {}", self.text("workings").unwrap_or_default(), self.text("ask").unwrap_or_default());
        let called = bindings::all().map(|one| one.name).filter(|name| calls(&text, name));
        called.fold(format!("{}::{}", self.file.trim_end_matches(".toml"), self.id), |name, called| {
            format!("{name} {called}")
        })
    }

    /// As a test, which fails with its place and what differs.
    fn trial(self) -> Trial {
        Trial::test(self.name(), move || match self.differs() {
            None => Ok(()),
            Some(what) => Err(format!("engine/tests/cases/{}:{}: {what}", self.file, self.line).into()),
        })
    }

    /// The plan that asks it.
    fn plan(&self) -> String {
        let mut head = "title = \"A case\"\nunits = \"inch\"\ncurrency = \"USD\"\n".to_owned();
        head.push_str(self.text("head").unwrap_or_default());
        let workings = self.text("workings").map(|text| format!("```workings\n{text}\n```\n\n")).unwrap_or_default();
        format!("+++\n{head}\n+++\n\n# A case\n\n{workings}It is `? {}`.\n", self.text("ask").unwrap())
    }

    fn ledger(&self) -> Vec<Entry> {
        let Some(all) = self.table.get("ledger").and_then(Item::as_array) else { return Vec::new() };
        all.iter()
            .map(|line| {
                let (print, what) = line.as_str().unwrap().rsplit_once(' ').unwrap();
                Entry { print: Print::parse(print).unwrap(), what: Event::of(what).unwrap() }
            })
            .collect()
    }

    /// What is wrong with the answer, if anything is.
    fn differs(&self) -> Option<String> {
        let document = Document::read(&self.plan());
        assert_eq!(document.asks.len(), 1, "{}: {}", self.id, self.plan());
        let facts = Facts { ledger: self.ledger(), ..Facts::on(Day::parse("2026-05-11").unwrap()) };
        let plan = evaluate(&document, &facts, &Arc::new(Compiled::default()), None);
        let problems: Vec<_> = plan.problems.iter().map(ToString::to_string).collect();
        if let Some(words) = self.text("fails") {
            let said = plainly(&problems.join("; "));
            return (!said.contains(words)).then(|| format!("must fail with `{words}`, and says `{said}`"));
        }
        if !problems.is_empty() {
            return Some(problems.join("; "));
        }
        let value = &plan.answers[0].result.as_ref().unwrap().value;
        if let Some(words) = self.text("includes") {
            let said = plainly(&value.shown(Units::Inch));
            return (!said.contains(words)).then(|| format!("must include `{words}`, and is `{said}`"));
        }
        let unit = self.text("unit");
        if let Some(bounds) = self.table.get("between").and_then(Item::as_array) {
            let [low, high] = [0, 1].map(|at| as_number(bounds.get(at).unwrap()).unwrap());
            return match number(value, unit) {
                Some(got) if (low..=high).contains(&got) => None,
                got => Some(format!("must lie from {low} to {high}, and is {got:?}")),
            };
        }
        let want = self.table.get("expect").and_then(Item::as_value).unwrap();
        differs(value, want, unit, self.tolerance())
    }

    fn tolerance(&self) -> Tolerance {
        let one = |name: &str| {
            let table = self.table.get("tolerance").and_then(Item::as_inline_table)?;
            table.get(name).and_then(as_number)
        };
        match (one("abs"), one("rel")) {
            (Some(abs), None) => Tolerance { abs, rel: 0.0 },
            (None, Some(rel)) => Tolerance { abs: 0.0, rel },
            _ => Tolerance { abs: 0.0, rel: 1e-12 },
        }
    }
}

#[derive(Clone, Copy)]
struct Tolerance {
    abs: f64,
    rel: f64,
}

fn plainly(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

fn as_number(value: &Toml) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
}

/// The plain number of an answer, in the unit asked for.
fn number(value: &Value, unit: Option<&str>) -> Option<f64> {
    match (value, unit) {
        (Value::Whole(whole), None) => Some(*whole as f64),
        (Value::Quantity(quantity), None) if quantity.dims == engine::measure::Dims::NONE => Some(quantity.value),
        (Value::Quantity(quantity), Some(unit)) => Unit::of(unit)?.count(*quantity),
        _ => None,
    }
}

fn money(value: &Value, want: &str, unit: &str) -> Option<bool> {
    let (Value::Money(money), Some(currency)) = (value, Currency::of(unit)) else { return None };
    let want: Decimal = want.parse().ok()?;
    Some(*money == Money::new(want, currency))
}

fn differs(value: &Value, want: &Toml, unit: Option<&str>, tolerance: Tolerance) -> Option<String> {
    let shown = || plainly(&value.shown(Units::Inch));
    let other = |want: &str| Some(format!("must be {want}, and is `{}` ({value:?})", shown()));
    if let Some(all) = want.as_array() {
        let Value::List(found) = value else { return other("a list") };
        if found.len() != all.len() {
            return other(&format!("a list of {}", all.len()));
        }
        return found.iter().zip(all.iter()).find_map(|(value, want)| differs(value, want, unit, tolerance));
    }
    if let Some(truth) = want.as_bool() {
        return match value {
            Value::Truth(got) if *got == truth => None,
            _ => other(&truth.to_string()),
        };
    }
    if let Some(text) = want.as_str() {
        let same = match (value, unit) {
            (Value::Day(day), _) => day.iso() == text,
            (Value::Money(_), Some(unit)) => money(value, text, unit) == Some(true),
            (Value::Text(got), None) => plainly(got) == text,
            _ => shown() == text,
        };
        return if same { None } else { other(text) };
    }
    let want = as_number(want).unwrap();
    match number(value, unit) {
        Some(got) if (got - want).abs() <= tolerance.abs.max(tolerance.rel * want.abs()) => None,
        Some(got) => Some(format!("must be {want}, and is {got}")),
        None => other(&format!("{want} {}", unit.unwrap_or_default())),
    }
}

/// Whether a text calls a function.
fn calls(text: &str, name: &str) -> bool {
    let is_part = |before: char| before.is_alphanumeric() || before == '_';
    text.match_indices(&format!("{name}(")).any(|(at, _)| !text[..at].ends_with(is_part))
}

/// Every case of every file, each checked to be whole.
#[expect(clippy::disallowed_methods, reason = "a test reads its cases; the engine itself reads nothing")]
fn cases() -> Vec<Case> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|end| end == "toml"));
    files.sort();
    files
        .iter()
        .flat_map(|path| read(&path.file_name().unwrap().to_string_lossy(), &std::fs::read_to_string(path).unwrap()))
        .collect()
}

/// The cases of one file.
fn read(file: &str, text: &str) -> Vec<Case> {
    let parsed = TomlFile::parse(text).unwrap_or_else(|error| panic!("engine/tests/cases/{file}: {error}"));
    assert_eq!(parsed.iter().map(|(key, _)| key).collect::<Vec<_>>(), ["case"], "{file} holds cases and nothing else");
    let all = parsed["case"].as_array_of_tables().unwrap().iter();
    all.map(|table| {
        let line = table.span().map_or(0, |span| text[..span.start].matches('\n').count() + 1);
        let id = table.get("id").and_then(Item::as_str).unwrap_or_default().to_owned();
        let state = whole(table).unwrap_or_else(|what| panic!("engine/tests/cases/{file}:{line}: {what}"));
        Case { file: file.to_owned(), line, id, state, table: table.clone() }
    })
    .collect()
}

/// The state of the source of a case that has all it needs and nothing else, or what is wrong with it.
fn whole(table: &Table) -> Result<String, String> {
    if let Some((key, _)) = table.iter().find(|(key, _)| !KEYS.contains(key)) {
        return Err(format!("a case has no `{key}`; it may have {KEYS:?}"));
    }
    if let Some(key) = ["id", "ask"].iter().find(|key| table.get(key).and_then(Item::as_str).is_none()) {
        return Err(format!("a case needs its `{key}`, in quotes"));
    }
    let says = ["expect", "between", "includes", "fails"];
    if says.iter().filter(|key| table.contains_key(key)).count() != 1 {
        return Err(format!("a case says one of {says:?}"));
    }
    let is_text = table.get("expect").is_some_and(|item| item.as_str().is_some() || item.as_bool().is_some());
    if table.contains_key("tolerance") != (table.contains_key("expect") && !is_text) {
        let form = "`tolerance = \"exact\"`, `{ abs = 0.1 }` or `{ rel = 1e-9 }`";
        return Err(format!("a number that is expected has a tolerance, and nothing else has one: {form}"));
    }
    let part = |key: &str| {
        let source = table.get("source").and_then(Item::as_inline_table)?;
        source.get(key).and_then(Toml::as_str).filter(|text| text.len() > 3).map(str::to_owned)
    };
    match (part("what"), part("state")) {
        (Some(_), Some(state)) if STATES.contains(&state.as_str()) => Ok(state),
        _ => Err(format!(
            "a case says where it comes from: `source = {{ what = \"…\", state = \"…\" }}`, the state one of {STATES:?}"
        )),
    }
}

fn there_are_enough_cases_and_each_has_its_own_name(all: &[Case]) {
    let mut ids = BTreeSet::new();
    let mut states: BTreeMap<&str, usize> = BTreeMap::new();
    for case in all {
        assert!(
            ids.insert(&case.id),
            "engine/tests/cases/{}:{}: another case is called {}",
            case.file,
            case.line,
            case.id
        );
        *states.entry(&case.state).or_default() += 1;
    }
    // The program's own ranges are not outside truth and do not count.
    let outside = all.len() - states.get("own rule").copied().unwrap_or(0);
    assert!(outside >= 300, "{outside} cases: {states:?}");
    assert!(states["read"] >= 100, "{states:?}");
}

fn every_outside_value_of_the_list_is_asked_or_named(all: &[Case]) {
    let listed: Vec<_> = IDS.split_whitespace().collect();
    assert_eq!(listed.len(), 210);
    for id in listed {
        let asked = all.iter().any(|case| case.id == id || case.id.starts_with(&format!("{id}.")));
        let named = NOT_ASKED.iter().any(|(one, why)| *one == id && why.len() > 10);
        assert!(asked != named, "{id}: asked {asked}, named {named}");
    }
}

fn every_function_has_a_source_an_example_and_a_case(all: &[Case]) {
    let asked = all.iter().filter(|case| case.text("fails").is_none());
    let asked: Vec<_> = asked
        .map(|case| format!("{} {}", case.text("workings").unwrap_or_default(), case.text("ask").unwrap_or_default()))
        .collect();
    let mut missing = Vec::new();
    for (subject, function) in
        bindings::SUBJECTS.iter().flat_map(|(subject, all)| all.iter().map(move |one| (subject, one)))
    {
        let (name, row) = (function.name, format!("engine/src/script/bindings/{subject}.rs"));
        let source = function.about.split_once("Source").map(|(_, rest)| rest.trim_matches([' ', ':', '.', 's']));
        if source.is_none_or(|source| source.len() < 5) {
            missing.push(format!("`{name}` names no source: end its `about` in {row} with `Source: …`"));
        }
        if let Err(problem) = engine::evaluate::expression(function.example, None) {
            missing.push(format!("`{name}`: its `example` in {row} does not work: {problem}"));
        }
        if !asked.iter().any(|text| calls(text, name)) {
            missing.push(format!("`{name}` has no case: add one that calls it to engine/tests/cases/{subject}.toml"));
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

/// A test of all cases together.
fn together(name: &str, all: &Arc<Vec<Case>>, test: fn(&[Case])) -> Trial {
    let all = all.clone();
    Trial::test(name, move || -> Result<(), Failed> {
        test(&all);
        Ok(())
    })
}

fn main() {
    let all = Arc::new(cases());
    let mut tests: Vec<_> = all.iter().cloned().map(Case::trial).collect();
    tests.push(together(
        "there_are_enough_cases_and_each_has_its_own_name",
        &all,
        there_are_enough_cases_and_each_has_its_own_name,
    ));
    tests.push(together(
        "every_outside_value_of_the_list_is_asked_or_named",
        &all,
        every_outside_value_of_the_list_is_asked_or_named,
    ));
    tests.push(together(
        "every_function_has_a_source_an_example_and_a_case",
        &all,
        every_function_has_a_source_an_example_and_a_case,
    ));
    libtest_mimic::run(&Arguments::from_args(), tests).exit();
}
