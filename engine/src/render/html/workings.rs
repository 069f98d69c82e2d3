//! A block of workings: its text folded away, what it states in the margin, and its names with their values beneath.

use std::cmp::Ordering;
use std::fmt::Display;
use std::ops::Range;

use super::{Writer, said};
use crate::Value;
use crate::document::change::{self, Literal};
use crate::document::{Block, Problem};
use crate::evaluate::Outcome;
use crate::markup::{Html, Id, Link, Name, Start, Tag};
use crate::measure::Units;
use crate::record::Given;
use crate::render::plain::when;
use crate::script::bindings;

/// Those of one block, of entries that stand in the order of their blocks.
fn of_block<T>(all: &[T], block: usize, block_of: impl Fn(&T) -> usize) -> Range<usize> {
    let from = all.partition_point(|one| block_of(one) < block);
    let after = all.get(from..).unwrap_or_default();
    from..from + after.partition_point(|one| block_of(one) == block)
}

impl<'a> Writer<'a> {
    pub(super) fn workings(&mut self) {
        let index = self.next_block;
        self.next_block += 1;
        let (document, evaluation) = (self.document, self.evaluation);
        let (Some(block), Some(outcome)) = (document.blocks.get(index), evaluation.blocks.get(index)) else {
            return;
        };
        self.outcome_of(index, block, outcome);
    }

    fn outcome_of(&mut self, index: usize, block: &Block, outcome: &'a Outcome) {
        let document = self.document;
        let first = document.lines.line(block.place(1, 1));
        let wrong = !outcome.problems.is_empty();
        let lines = block.text.lines().count();
        let details = self.out.open(Tag::Details).class(if wrong { "workings has-problem" } else { "workings" });
        let details = details.id(&Id::Workings(index)).line(Name::DataLine, block.line).flag(Name::Open, wrong);
        details.holds(|out| {
            out.open(Tag::Summary).holds(|out| {
                out.fixed("<span class=\"label\">workings</span> ");
                counted(out, lines, "line");
                let (more, what) = match (outcome.gives.len(), outcome.problems.len()) {
                    (names, 0) => (names, "name"),
                    (_, problems) => (problems, "problem"),
                };
                if more > 0 {
                    counted(out.text(", "), more, what);
                }
                out.fixed(" <b class=\"unfold\">fold the text away</b><b class=\"shut\">show the text</b>");
            });
            let text = out.open(Tag::Div).class("written").attr(Name::Tabindex, 0).attr(Name::Role, "region");
            text.attr(Name::AriaLabel, format_args!("Text of workings {}", index + 1)).holds(|out| {
                for (number, line) in block.text.lines().enumerate() {
                    let number = first + number;
                    out.open(Tag::Code).line(Name::DataLine, number).holds(|out| written(out, line));
                    for problem in outcome.problems.iter().filter(|problem| problem.line == number) {
                        said(out, "problem", problem);
                    }
                }
                let beyond = |problem: &&Problem| problem.line < first || problem.line >= first + lines.max(1);
                for problem in outcome.problems.iter().filter(beyond) {
                    said(out, "problem", problem);
                }
            });
        });
        self.out.text("\n");
        self.stated(index);
        if self.depth == 0 {
            self.margin();
        }
        self.names(index, outcome);
    }

    /// Rules, costs and steps of a block, in the margin.
    fn stated(&mut self, block: usize) {
        let evaluation = self.evaluation;
        let record = &evaluation.record;
        for rule in record.rules.get(of_block(&record.rules, block, |rule| rule.block)).unwrap_or_default() {
            let class = match (rule.kept, rule.must) {
                (true, _) => "state kept",
                (false, true) => "state broken",
                (false, false) => "state slack",
            };
            self.note(|out| {
                out.open(Tag::P).class(class).holds(|out| {
                    out.text(&rule.text).text(if rule.kept { "" } else { ", and this does not hold" });
                    if let Some(because) = rule.because.as_ref().and_then(|trace| evaluation.shown(trace)) {
                        out.text(": ").text(&because);
                    }
                });
            });
        }
        let view = self.view;
        let mut told = |first: String, what: &str, role: Option<&str>| {
            self.note(|out| {
                out.open(Tag::P).holds(|out| {
                    out.open(Tag::B).says(first);
                    out.text(" ").text(what);
                    if let Some(role) = role {
                        out.text(", ").text(&view.shop(role));
                    }
                });
            });
        };
        for line in record.costs.get(of_block(&record.costs, block, |line| line.block)).unwrap_or_default() {
            told(line.amount.to_string(), &line.what, line.shop.as_deref());
        }
        for step in record.steps.get(of_block(&record.steps, block, |step| step.block)).unwrap_or_default() {
            told(when(step), &step.what, step.who.as_deref());
        }
    }

    /// The names a block gives with their values, and its givens without a name.
    fn names(&mut self, block: usize, outcome: &'a Outcome) {
        let evaluation = self.evaluation;
        let numbers = of_block(&evaluation.record.givens, block, |given| given.block);
        let givens: Vec<(usize, &Given)> =
            numbers.clone().zip(evaluation.record.givens.get(numbers).unwrap_or_default()).collect();
        let name_of = |given: &'a Given| given.place.as_ref().and_then(|place| place.name.as_deref());
        let named = |name: &str| !name.starts_with('_');
        let shown = outcome.gives.iter().filter(|one| named(&one.name) && !matches!(one.found.value, Value::Nothing));
        let mut rows = 0;
        for one in shown {
            self.row(block, rows, false, &one.name);
            rows += 1;
            match givens.iter().find(|(_, given)| name_of(given) == Some(&*one.name)) {
                Some((number, given)) => {
                    self.control(*number, given);
                    self.out.text(" ").open(Tag::Span).class("aside").says(&given.label);
                }
                None => {
                    self.out.value(&one.found.value, evaluation.units);
                }
            }
            self.out.fixed("</td></tr>");
        }
        for (number, given) in givens.iter().filter(|(_, given)| name_of(given).is_none()) {
            self.row(block, rows, true, &given.label);
            rows += 1;
            self.control(*number, given);
            self.out.fixed("</td></tr>");
        }
        if rows > 0 {
            self.out.fixed("</tbody></table>\n");
        }
    }

    /// The beginning of a row of names; before the first of them the head of the table.
    fn row(&mut self, block: usize, rows: usize, is_label: bool, name: &str) {
        let out = &mut self.out;
        if rows == 0 {
            drop(out.open(Tag::Table).class("names"));
            let words = format_args!("Names workings {} give", block + 1);
            out.open(Tag::Caption).class("unseen").says(words);
            out.fixed("<thead class=\"unseen\"><tr><th scope=\"col\">name</th>");
            out.fixed("<th scope=\"col\">value</th></tr></thead><tbody>");
        }
        let head = out.fixed("<tr>").open(Tag::Th).attr(Name::Scope, "row");
        if is_label {
            head.class("label").says(name)
        } else {
            head.says(name)
        }
        out.fixed("<td>");
    }

    /// What changes a given on the page.
    pub(super) fn control(&mut self, number: usize, given: &Given) {
        let (document, units, out) = (self.document, self.evaluation.units, &mut self.out);
        let literal = match &given.place {
            Some(place) if !given.choices.is_empty() && given.choices.len() == place.choices.len() => {
                return choice(out, number, given, units);
            }
            Some(place) => change::literal(document.text.get(place.value.clone()).unwrap_or_default()),
            None => Literal::Calculation,
        };
        let label = &given.label;
        match literal {
            Literal::Number { number: digits, unit } => out.open(Tag::Span).class("given").holds(|out| match unit {
                Some(unit) => {
                    input(out, number, &digits, true, format_args!("{label}, in {}", unit.words));
                    out.text("\u{a0}").text(unit.shown);
                }
                None => input(out, number, &digits, true, label),
            }),
            Literal::Money { number: digits, currency } => out.open(Tag::Span).class("given").holds(|out| {
                out.text(currency.sign);
                input(out, number, &digits, true, format_args!("{label}, in {}", currency.code));
            }),
            Literal::Truth(truth) => out.open(Tag::Span).class("given choice").holds(|out| {
                select(out, number, label).holds(|out| {
                    for (value, is_so) in [("yes", truth), ("no", !truth)] {
                        out.open(Tag::Option).attr(Name::Value, value).flag(Name::Selected, is_so).says(value);
                    }
                });
            }),
            Literal::Text(_) if !given.choices.is_empty() => choice(out, number, given, units),
            Literal::Text(text) => {
                out.open(Tag::Span).class("given").holds(|out| input(out, number, &text, false, label));
            }
            Literal::Calculation => {
                out.open(Tag::Span).class("found").holds(|out| _ = out.value(&given.value, units));
            }
        }
    }
}

/// A line of workings, each function of ours leading to what the reference says of it, its source among that.
fn written(out: &mut Html, line: &str) {
    let bytes = line.as_bytes();
    let (mut from, mut seen, mut quoted) = (0, 0, false);
    for open in memchr::memchr_iter(b'(', bytes) {
        let before = bytes.get(..open).unwrap_or_default();
        let start =
            before.iter().rposition(|byte| !(byte.is_ascii_alphanumeric() || *byte == b'_')).map_or(0, |at| at + 1);
        // `lab::price(` is a function of a rate sheet, whatever its name.
        let is_of_a_sheet = start > 0 && before.get(start - 1) == Some(&b':');
        let Some(name) = line.get(start..open).filter(|_| !is_of_a_sheet).and_then(bindings::listed) else { continue };
        while seen < start {
            match bytes.get(seen) {
                Some(b'\\') if quoted => seen += 1,
                Some(b'"' | b'`') => quoted = !quoted,
                Some(b'/') if !quoted && bytes.get(seen + 1) == Some(&b'/') => {
                    out.text(line.get(from..).unwrap_or_default());
                    return;
                }
                _ => {}
            }
            seen += 1;
        }
        if !quoted {
            out.text(line.get(from..start).unwrap_or_default());
            if let Some(to) = Link::of(&format!("/reference#f-{name}")) {
                out.open(Tag::A).href(&to).says(name);
            }
            from = open;
        }
    }
    out.text(line.get(from..).unwrap_or_default());
}

/// A choice among values.
fn choice(out: &mut Html, number: usize, given: &Given, units: Units) {
    out.open(Tag::Span).class("given choice").holds(|out| {
        select(out, number, &given.label).holds(|out| {
            let is_value =
                |choice: &Value| crate::script::operators::order(choice, &given.value).is_ok_and(Ordering::is_eq);
            if !given.choices.iter().any(is_value) {
                let option = out.open(Tag::Option).attr(Name::Value, "").flag(Name::Selected, true);
                option.holds(|out| _ = out.value(&given.value, units));
            }
            for (index, choice) in given.choices.iter().enumerate() {
                let option = out.open(Tag::Option).attr(Name::Value, index).flag(Name::Selected, is_value(choice));
                option.holds(|out| _ = out.value(choice, units));
            }
        });
    });
}

fn select<'a>(out: &'a mut Html, number: usize, label: &str) -> Start<'a> {
    out.open(Tag::Select).attr(Name::DataGiven, number).attr(Name::AriaLabel, label)
}

/// A field for a value as it is written.
fn input(out: &mut Html, number: usize, written: &str, is_number: bool, label: impl Display) {
    let input = out.open(Tag::Input).attr(Name::DataGiven, number).attr(Name::Value, written);
    let input = input.attr(Name::Size, written.chars().count().clamp(1, 40));
    let input = if is_number { input.attr(Name::Inputmode, "decimal") } else { input };
    drop(input.attr(Name::Autocomplete, "off").attr(Name::AriaLabel, label));
}

/// `six lines`: numbers to twelve in words.
fn counted(out: &mut Html, count: usize, what: &str) {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    match WORDS.get(count) {
        Some(word) => out.text(word),
        None => out.count(count),
    };
    out.text(" ").text(what).text(if count == 1 { "" } else { "s" });
}
