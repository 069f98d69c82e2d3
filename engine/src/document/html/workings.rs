//! A block of workings: its text folded away, what it states in the margin, and its names with their values beneath.

use std::cmp::Ordering;
use std::fmt::Write as _;
use std::ops::Range;

use super::ink::Ink as _;
use super::{Writer, said};
use crate::Value;
use crate::document::Block;
use crate::document::change::{self, Literal};
use crate::document::plain::when;
use crate::evaluate::Outcome;
use crate::script::bindings;
use crate::script::record::Given;

/// Those of one block, of entries that stand in the order of their blocks.
fn of_block<T>(all: &[T], block: usize, block_of: impl Fn(&T) -> usize) -> Range<usize> {
    let from = all.partition_point(|one| block_of(one) < block);
    let after = all.get(from..).unwrap_or_default();
    from..from + after.partition_point(|one| block_of(one) == block)
}

/// A block of workings as it stood on a page, with all that its HTML tells besides what the block came to.
#[derive(Debug)]
pub(crate) struct Page {
    /// The working-out it shows.
    made: u64,
    /// The block's number, that of its first given, and the line it begins on.
    index: usize,
    first_given: usize,
    line: usize,
    /// What the shops of the plan are called.
    shops: Vec<(String, String)>,
    html: Box<str>,
    /// The numbers of lines in it.
    lines: Box<[(Range<usize>, usize)]>,
}

impl<'a> Writer<'a> {
    pub(super) fn workings(&mut self) {
        let index = self.next_block;
        self.next_block += 1;
        let (document, evaluation) = (self.document, self.evaluation);
        let (Some(block), Some(outcome)) = (document.blocks.get(index), evaluation.blocks.get(index)) else {
            return;
        };
        let alone = self.depth == 0 && self.notes.is_empty() && !evaluation.is_set_twice;
        let Some((made, last)) = outcome.page().filter(|_| alone) else {
            return self.worked_out(index, block, outcome);
        };
        let first_given = of_block(&evaluation.record.givens, index, |given| given.block).start;
        let same = |page: &Page| {
            (page.made, page.index, page.first_given) == (made, index, first_given) && page.shops == self.view.shops
        };
        if let Some(page) = last.get().filter(|page| same(page)) {
            return self.cuts.again(&mut self.out, &page.html, &page.lines, (page.line, block.line));
        }
        let from = self.out.len();
        self.worked_out(index, block, outcome);
        last.set(Some(Page {
            made,
            index,
            first_given,
            line: block.line,
            shops: self.view.shops.clone(),
            html: self.out.get(from..).unwrap_or_default().into(),
            lines: self.cuts.since(from),
        }));
    }

    fn worked_out(&mut self, index: usize, block: &Block, outcome: &'a Outcome) {
        let document = self.document;
        let first = document.lines.line(block.place(1, 1));
        let wrong = !outcome.problems.is_empty();
        let lines = block.text.lines().count();
        let (out, cuts) = (&mut self.out, &mut self.cuts);
        out.raw("<details class=\"workings")
            .raw(if wrong { " has-problem" } else { "" })
            .raw("\" id=\"w-")
            .count(index);
        out.raw("\" data-line=\"");
        cuts.line(out, block.line);
        out.raw(if wrong { "\" open" } else { "\"" });
        out.raw("><summary><span class=\"label\">workings</span> ");
        counted(out, lines, "line");
        let (more, what) = match (outcome.gives.len(), outcome.problems.len()) {
            (names, 0) => (names, "name"),
            (_, problems) => (problems, "problem"),
        };
        if more > 0 {
            out.raw(", ");
            counted(out, more, what);
        }
        out.raw(" <b class=\"unfold\">fold the text away</b><b class=\"shut\">show the text</b></summary>");
        out.raw("<div class=\"written\" tabindex=\"0\" role=\"region\" aria-label=\"Text of workings ")
            .count(index + 1);
        out.raw("\">");
        let make = || block.text.lines().map(written).collect::<Box<[String]>>();
        let made;
        let shown = match outcome.lines(make) {
            Some(kept) => kept,
            None => {
                made = make();
                &made
            }
        };
        for (number, line) in shown.iter().enumerate() {
            let number = first + number;
            out.raw("<code data-line=\"");
            cuts.line(out, number);
            out.raw("\">").raw(line).raw("</code>");
            for problem in outcome.problems.iter().filter(|problem| problem.line == number) {
                let _ = write!(out, "<p class=\"problem\">{}</p>", said(problem));
            }
        }
        for problem in
            outcome.problems.iter().filter(|problem| problem.line < first || problem.line >= first + lines.max(1))
        {
            let _ = write!(out, "<p class=\"problem\">{}</p>", said(problem));
        }
        out.raw("</div></details>\n");
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
                (true, _) => "kept",
                (false, true) => "broken",
                (false, false) => "slack",
            };
            let mut note = String::new();
            note.raw("<p class=\"state ").raw(class).raw("\">").text(&rule.text);
            note.raw(if rule.kept { "" } else { ", and this does not hold" });
            if let Some(because) = rule.because.as_ref().and_then(|trace| evaluation.shown(trace)) {
                note.raw(": ").text(&because);
            }
            note.raw("</p>");
            self.note(note);
        }
        for line in record.costs.get(of_block(&record.costs, block, |line| line.block)).unwrap_or_default() {
            let shop = line.shop.as_deref().map(|role| format!(", {}", self.view.shop(role))).unwrap_or_default();
            let mut note = format!("<p><b>{}</b> ", line.amount);
            note.text(&line.what).text(&shop).raw("</p>");
            self.note(note);
        }
        for step in record.steps.get(of_block(&record.steps, block, |step| step.block)).unwrap_or_default() {
            let who = step.who.as_deref().map(|role| format!(", {}", self.view.shop(role))).unwrap_or_default();
            let mut note = format!("<p><b>{}</b> ", when(step));
            note.text(&step.what).text(&who).raw("</p>");
            self.note(note);
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
            self.row(block, rows, "", &one.name);
            rows += 1;
            match givens.iter().find(|(_, given)| name_of(given) == Some(&*one.name)) {
                Some((number, given)) => {
                    self.control(*number, given);
                    self.out.raw(" <span class=\"aside\">").text(&given.label).raw("</span>");
                }
                None => {
                    self.out.value(&one.found.value, evaluation.units);
                }
            }
            self.out.raw("</td></tr>");
        }
        for (number, given) in givens.iter().filter(|(_, given)| name_of(given).is_none()) {
            self.row(block, rows, " class=\"label\"", &given.label);
            rows += 1;
            self.control(*number, given);
            self.out.raw("</td></tr>");
        }
        if rows > 0 {
            self.out.raw("</tbody></table>\n");
        }
    }

    /// The beginning of a row of names; before the first of them the head of the table.
    fn row(&mut self, block: usize, rows: usize, class: &str, name: &str) {
        if rows == 0 {
            self.out.raw("<table class=\"names\"><caption class=\"unseen\">Names workings ").count(block + 1);
            self.out.raw(" give</caption><thead class=\"unseen\"><tr><th scope=\"col\">name</th>");
            self.out.raw("<th scope=\"col\">value</th></tr></thead><tbody>");
        }
        self.out.raw("<tr><th scope=\"row\"").raw(class).raw(">").text(name).raw("</th><td>");
    }

    /// What changes a given on the page.
    pub(super) fn control(&mut self, number: usize, given: &Given) {
        let (document, units, out) = (self.document, self.evaluation.units, &mut self.out);
        let literal = match &given.place {
            Some(place) if !given.choices.is_empty() && given.choices.len() == place.choices.len() => {
                return choice(out, number, given, |out, choice| _ = out.value(choice, units), &given.choices);
            }
            Some(place) => change::literal(document.text.get(place.value.clone()).unwrap_or_default()),
            None => Literal::Calculation,
        };
        match literal {
            Literal::Number { number: digits, unit } => {
                field(out, number, &digits, " inputmode=\"decimal\"").text(&given.label);
                if let Some(unit) = unit {
                    out.raw(", in ").raw(unit.words).raw("\">\u{a0}").raw(unit.shown);
                } else {
                    out.raw("\">");
                }
                out.raw("</span>");
            }
            Literal::Money { number: digits, currency } => {
                out.raw("<span class=\"given\">").raw(currency.sign);
                input(out, number, &digits, " inputmode=\"decimal\"").text(&given.label).raw(", in ");
                out.raw(currency.code).raw("\"></span>");
            }
            Literal::Truth(truth) => {
                let (yes, no) = if truth { (" selected", "") } else { ("", " selected") };
                out.raw("<span class=\"given choice\"><select data-given=\"").count(number).raw("\" aria-label=\"");
                out.text(&given.label).raw("\"><option value=\"yes\"").raw(yes).raw(">yes</option>");
                out.raw("<option value=\"no\"").raw(no).raw(">no</option></select></span>");
            }
            Literal::Text(text) => {
                field(out, number, &text, "").text(&given.label).raw("\"></span>");
            }
            Literal::Calculation => {
                out.raw("<span class=\"found\">").value(&given.value, units).raw("</span>");
            }
        }
    }
}

/// A line of workings, each function of ours leading to what the reference says of it, its source among that.
fn written(line: &str) -> String {
    let mut out = String::with_capacity(line.len() + 64);
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
                    return out;
                }
                _ => {}
            }
            seen += 1;
        }
        if !quoted {
            out.text(line.get(from..start).unwrap_or_default());
            out.raw("<a href=\"/reference#f-").raw(name).raw("\">").raw(name).raw("</a>");
            from = open;
        }
    }
    out.text(line.get(from..).unwrap_or_default());
    out
}

/// A choice among values.
fn choice(out: &mut String, number: usize, given: &Given, show: impl Fn(&mut String, &Value), choices: &[Value]) {
    out.raw("<span class=\"given choice\"><select data-given=\"").count(number).raw("\" aria-label=\"");
    out.text(&given.label).raw("\">");
    for (index, choice) in choices.iter().enumerate() {
        let same = crate::script::operators::order(choice, &given.value).is_ok_and(Ordering::is_eq);
        out.raw("<option value=\"").count(index).raw(if same { "\" selected>" } else { "\">" });
        show(out, choice);
        out.raw("</option>");
    }
    out.raw("</select></span>");
}

/// A field for a value as it is written, up to its label.
fn field<'a>(out: &'a mut String, number: usize, written: &str, kind: &str) -> &'a mut String {
    out.raw("<span class=\"given\">");
    input(out, number, written, kind)
}

fn input<'a>(out: &'a mut String, number: usize, written: &str, kind: &str) -> &'a mut String {
    out.raw("<input data-given=\"").count(number).raw("\" value=\"").text(written).raw("\" size=\"");
    out.count(written.chars().count().clamp(1, 40)).raw("\"").raw(kind).raw(" autocomplete=\"off\" aria-label=\"")
}

/// `six lines`: numbers to twelve in words.
fn counted(out: &mut String, count: usize, what: &str) {
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    match WORDS.get(count) {
        Some(word) => out.raw(word),
        None => out.count(count),
    };
    out.raw(" ").raw(what).raw(if count == 1 { "" } else { "s" });
}
