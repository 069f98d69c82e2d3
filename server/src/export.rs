//! A plan's values for other programs, and the reference of what a plan can say.

use std::fmt::Write as _;

use engine::document::Document;
use engine::measure::{Currency, Units};
use engine::render::html::escape;
use engine::script::statements::STATEMENTS;
use engine::script::{Function, bindings};
use engine::syntax::{former, plain_words, units};
use engine::{Evaluation, Found, Value};
use serde_json::{Map, json};

use crate::titles::capital;

/// Names, asks, rules and problems of a plan. The form is stable; fields are only ever added.
pub fn values(document: &Document, evaluation: &Evaluation, plan: &str, revision: u32) -> serde_json::Value {
    let shown_in = evaluation.units;
    let mut names = Map::new();
    for named in evaluation.blocks.iter().flat_map(|block| &block.gives) {
        names.insert(named.name.to_string(), value(&named.found, shown_in));
        let Value::Thing(thing) = &named.found.value else { continue };
        let former =
            former::PARTS.iter().filter(|(kind, ..)| *kind == thing.kind()).map(|(_, former, now)| (*former, *now));
        // Other programs may know a part by the name it had.
        for (name, part) in thing.parts().iter().map(|(part, _)| (*part, *part)).chain(former) {
            if let Some(found) = thing.part(part) {
                names.insert(format!("{}.{name}", named.name), value(&found, shown_in));
            }
        }
    }
    let asks: Vec<_> = document
        .asks
        .iter()
        .zip(&evaluation.answers)
        .map(|(ask, answer)| {
            let line = document.lines.line(ask.at);
            match &answer.result {
                Ok(found) => json!({"line": line, "ask": ask.expression, "shown": plain(&found.value.shown(shown_in))}),
                Err(_) => json!({"line": line, "ask": ask.expression, "shown": null}),
            }
        })
        .collect();
    let rules: Vec<_> = evaluation
        .record
        .rules
        .iter()
        .map(|rule| json!({"text": rule.text, "kind": if rule.must { "must" } else { "should" }, "kept": rule.kept, "line": rule.line}))
        .collect();
    let costs: Vec<_> = evaluation.record.costs.iter().map(|line| json!({"what": line.what, "amount": line.amount.rounded().amount.to_string(), "currency": line.amount.currency.code, "shop": line.shop})).collect();
    let open: Vec<_> = evaluation
        .record
        .open
        .iter()
        .map(|one| json!({"what": one.what, "shop": one.shop, "line": one.line, "shown": one.shown()}))
        .collect();
    let steps: Vec<_> = evaluation.record.steps.iter().map(|step| json!({"what": step.what, "who": step.who, "days": step.days, "start": step.start.iso(), "end": step.end.iso(), "spare": step.spare})).collect();
    let givens: Vec<_> = evaluation.record.givens.iter().enumerate().map(|(number, given)| json!({"given": number, "label": given.label, "shown": plain(&given.value.shown(shown_in)), "choices": given.choices.iter().map(|choice| plain(&choice.shown(shown_in))).collect::<Vec<_>>()})).collect();
    json!({"plan": plan, "revision": revision, "names": names, "asks": asks, "rules": rules, "problems": evaluation.problems, "doubts": evaluation.doubts, "givens": givens, "costs": costs, "open": open, "total": evaluation.record.total(None), "steps": steps})
}

/// One value: number or text, unit, and as shown.
pub fn value(found: &Found, units: Units) -> serde_json::Value {
    let unit = match &found.value {
        Value::Money(money) => money.currency.code,
        other => other.number_and_unit(units).map_or("", |(_, unit)| unit),
    };
    json!({"value": found.value.json(units), "unit": unit, "shown": plain(&found.value.shown(units))})
}

/// Thin and fixed spaces as plain ones, for terminals and other programs.
pub fn plain(text: &str) -> String {
    text.replace(['\u{a0}', '\u{202f}'], " ")
}

/// The reference as HTML.
pub fn reference_html() -> String {
    let mut out = String::new();
    out.push_str("<h2 id=\"h-statements\">Statements</h2><table><thead><tr><th scope=\"col\">written</th><th scope=\"col\">what it does</th></tr></thead><tbody>");
    for (name, takes, about) in STATEMENTS {
        let _ = write!(
            out,
            "<tr id=\"f-{name}\"><th scope=\"row\"><code>{name}({})</code></th><td>{}</td></tr>",
            escape(takes),
            marked(about)
        );
    }
    out.push_str("</tbody></table>");
    for (subject, functions) in bindings::SUBJECTS {
        let _ = write!(
            out,
            "<h2 id=\"h-{0}\">{1}</h2><table><thead><tr><th scope=\"col\">written</th><th scope=\"col\">what it gives</th></tr></thead><tbody>",
            escape(subject),
            escape(&capital(subject))
        );
        for function in *functions {
            let _ = write!(
                out,
                "<tr id=\"f-{0}\"><th scope=\"row\"><code>{0}({1})</code></th><td>{2} <span class=\"aside\">For example <code>{3}</code> gives {4}.</span></td></tr>",
                function.name,
                escape(function.takes),
                marked(function.about),
                escape(function.example),
                escape(&example(function.example))
            );
        }
        out.push_str("</tbody></table>");
    }
    out.push_str("<h2 id=\"h-units\">Units</h2><table><thead><tr><th scope=\"col\">written</th><th scope=\"col\">means</th></tr></thead><tbody>");
    for unit in units::UNITS {
        let _ =
            write!(out, "<tr><th scope=\"row\"><code>1.{}</code></th><td>{}</td></tr>", unit.name, escape(unit.words));
    }
    for currency in Currency::all() {
        let _ = write!(
            out,
            "<tr><th scope=\"row\"><code>1.{}</code></th><td>money in {}</td></tr>",
            currency.code.to_lowercase(),
            currency.code
        );
    }
    out.push_str("</tbody></table>");
    out
}

fn push_function(out: &mut String, function: &Function) {
    let _ = writeln!(
        out,
        "  {}({})\n      {}\n      {} = {}",
        function.name,
        function.takes,
        function.about,
        function.example,
        plain(&example(function.example))
    );
}

/// What the reference has under a word, as text for a terminal: what is called so, was called so, has it in its name, or is
/// what a photographer means by it. Nothing where there is nothing.
pub fn found_under(word: &str) -> Option<String> {
    let name = word.trim().to_lowercase().replace([' ', '-'], "_");
    let called = |one: &str| one == former::function(&name);
    let meant = || plain_words::meaning(word).or_else(|| plain_words::nearly(word)).unwrap_or_default();
    let within = |one: &str| name.len() > 2 && one.contains(&name);
    let is = |one: &str| called(one) || meant().contains(&one) || within(one);
    let mut out = String::new();
    for (name, takes, about) in STATEMENTS.iter().filter(|(name, ..)| is(name)) {
        let _ = writeln!(out, "  {name}({takes})\n      {about}");
    }
    bindings::all().filter(|one| is(one.name)).for_each(|function| push_function(&mut out, function));
    for unit in units::UNITS.iter().filter(|unit| called(unit.name) || meant().contains(&unit.name)) {
        let _ = writeln!(out, "  1.{:<12} {}", unit.name, unit.words);
    }
    for part in meant().iter().filter(|one| one.starts_with('.')) {
        let _ = writeln!(
            out,
            "  {part}\n      A part of what `enlarge` or a frame gives: `enlarge(film(\"4x5\"), 60.inch){part}`."
        );
    }
    (!out.is_empty()).then_some(out)
}

/// The reference as text for a terminal.
pub fn reference_text() -> String {
    let mut out = "STATEMENTS\n".to_owned();
    for (name, takes, about) in STATEMENTS {
        let _ = writeln!(out, "  {name}({takes})\n      {about}");
    }
    for (subject, functions) in bindings::SUBJECTS {
        let _ = writeln!(out, "\n{}", subject.to_uppercase());
        functions.iter().for_each(|function| push_function(&mut out, function));
    }
    out.push_str("\nUNITS\n");
    for unit in units::UNITS {
        let _ = writeln!(out, "  1.{:<12} {}", unit.name, unit.words);
    }
    for currency in Currency::all() {
        let _ = writeln!(out, "  1.{:<12} money in {}", currency.code.to_lowercase(), currency.code);
    }
    out
}

/// What an example gives, calculated now.
fn example(expression: &str) -> String {
    engine::evaluate::expression(expression, None)
        .map_or_else(|message| message.to_string(), |found| found.value.shown(Units::Inch))
}

fn marked(text: &str) -> String {
    let mut out = String::new();
    for (index, part) in text.split('`').enumerate() {
        if index % 2 == 0 {
            out.push_str(&escape(part))
        } else {
            let _ = write!(out, "<code>{}</code>", escape(part));
        }
    }
    out
}
