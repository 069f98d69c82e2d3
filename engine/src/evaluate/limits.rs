//! What each shop can make: the limits its rate sheet states, held against the piece without being asked.

use crate::document::Document;
use crate::evaluate::Evaluation;
use crate::measure::Length;
use crate::record::{OF_A_SHEET, Rule};
use crate::script::Args;
use crate::script::bindings::practice::bounds;
use crate::syntax::former;
use crate::trade::crating::Crate;
use crate::trade::film::Film;
use crate::trade::frame::{FloatFrame, RabbetFrame};
use crate::trade::mural::Mural;
use crate::trade::practice::Limits;
use crate::trade::print::Print;
use crate::trade::roles;
use crate::trade::scan::Scan;
use crate::{Found, Trade, Value};

/// A rule for every limit of every shop the plan draws on; nothing where a shop states none, or the piece has no size yet.
pub(crate) fn rules(document: &Document, evaluation: &Evaluation) -> Vec<Rule> {
    let mut rules = Vec::new();
    for (role, sheet) in &document.front.shops {
        let imports = evaluation.blocks.iter().flat_map(|block| block.imports());
        // A shop that does several things may state limits for each: `lab_limits`.
        let named = |name: &str, what: &str| evaluation.names.get(format!("{name}::{what}").as_str());
        let stated = imports
            .filter(|(path, _)| path == sheet)
            .find_map(|(_, name)| named(name, &format!("{role}_limits")).or_else(|| named(name, "limits")));
        let (Some(stated), Some(size)) = (stated, size(document, evaluation, role)) else { continue };
        let quote = evaluation.quotes.iter().find(|quote| quote.sheet == *sheet);
        let shop = quote.map_or(sheet.as_str(), |quote| quote.shop.as_str());
        let line = line_of(document, sheet);
        let rule = |what: &str, excess: Option<String>| Rule {
            text: excess
                .as_ref()
                .map_or_else(|| format!("{shop}, {what}"), |excess| format!("{shop}, {what}: {excess}")),
            must: true,
            kept: excess.is_none(),
            because: None,
            block: OF_A_SHEET,
            line,
        };
        let args = Args { function: "within_limits", values: &[] };
        match bounds(&args, &stated.value).and_then(|bounds| Limits::new(size, bounds)) {
            Ok(limits) => rules.extend(limits.each().map(|(name, excess)| rule(name, excess))),
            Err(message) => rules.push(rule("`limits`", Some(message.to_string()))),
        }
    }
    rules
}

/// What a shop has in its hands: the two longer sides of it.
fn size(document: &Document, evaluation: &Evaluation, role: &str) -> Option<(Length, Length)> {
    let part = |thing: Option<&dyn Trade>, name: &str| thing.and_then(|thing| sides(&thing.part(name)?.value));
    let hung = evaluation.record.hung.map(|hung| (hung.width, hung.height));
    macro_rules! last {
        ($kind:ty, $name:literal) => {
            part(last::<$kind>(document, evaluation).map(|thing| thing as &dyn Trade), $name)
        };
    }
    match roles::role(role).map(|one| one.name)? {
        "scanner" => {
            let film = last::<Film>(document, evaluation);
            let film = film.or_else(|| last::<Scan>(document, evaluation).map(Scan::film));
            part(film.map(|film| film as &dyn Trade), "size")
        }
        "lab" => last!(Mural, "panel").or_else(|| last!(Print, "size")),
        "mounter" => last!(Print, "size"),
        "framer" => last!(FloatFrame, "outside").or_else(|| last!(RabbetFrame, "outside")).or(hung),
        "carrier" => last!(Crate, "outside").or(hung),
        _ => hung,
    }
}

/// The last thing of a kind that the plan's workings gave, outside private sections.
pub(crate) fn last<'a, T: Trade>(document: &'a Document, evaluation: &'a Evaluation) -> Option<&'a T> {
    all(document, evaluation).next_back()
}

/// Every thing of a kind that the plan's workings gave, outside private sections, in their order.
pub(crate) fn all<'a, T: Trade>(
    document: &'a Document,
    evaluation: &'a Evaluation,
) -> impl DoubleEndedIterator<Item = &'a T> {
    let blocks = document.blocks.iter().zip(&evaluation.blocks);
    let open = blocks.filter(|(block, _)| {
        !block.section.and_then(|at| document.sections.get(at)).is_some_and(|section| section.private)
    });
    open.flat_map(|(_, outcome)| &outcome.gives).filter_map(|named| match &named.found.value {
        Value::Thing(thing) => thing.get::<T>(),
        _ => None,
    })
}

/// The last value that the plan's workings named by a call of this function, outside private sections:
/// `let high = hook_height(…)`.
pub(crate) fn last_call<'a>(
    document: &'a Document,
    evaluation: &'a Evaluation,
    function: &'static str,
) -> Option<&'a Found> {
    let is_call = |text: String| {
        let arguments = former::names(function).find_map(|name| text.trim_start().strip_prefix(name));
        arguments.is_some_and(|rest| rest.trim_start().starts_with('('))
    };
    let blocks = document.blocks.iter().zip(&evaluation.blocks).rev();
    let mut open = blocks.filter(|(block, _)| {
        !block.section.and_then(|at| document.sections.get(at)).is_some_and(|section| section.private)
    });
    open.find_map(|(_, outcome)| {
        outcome.lets().rev().find(|(_, right)| right.clone().is_some_and(is_call)).and_then(|(name, _)| {
            outcome.gives.iter().rev().find(|named| *named.name == *name).map(|named| &named.found)
        })
    })
}

/// The two longest of a list of lengths.
fn sides(value: &Value) -> Option<(Length, Length)> {
    let Value::List(all) = value else { return None };
    let length = |one: &Value| if let Value::Quantity(one) = one { Length::of(*one) } else { None };
    let mut all = all.iter().map(length).collect::<Option<Vec<_>>>()?;
    all.sort_by(|a, b| b.partial_cmp(a).unwrap_or(std::cmp::Ordering::Equal));
    match all.as_slice() {
        [long, short, ..] => Some((*long, *short)),
        _ => None,
    }
}

/// The line of the head that names a rate sheet.
fn line_of(document: &Document, sheet: &str) -> usize {
    let head = document.text.get(..document.body).unwrap_or_default();
    head.find(&format!("\"{sheet}\"")).map_or(1, |at| document.lines.line(at))
}
