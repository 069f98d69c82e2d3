//! What stands in the title block of a sheet.

use crate::Value;
use crate::document::{Document, Kind};
use crate::evaluate::Evaluation;

/// What the title block of a plan or a rate sheet shows: label and value.
#[must_use]
pub fn title_block(document: &Document, evaluation: &Evaluation) -> Vec<(&'static str, String)> {
    let units = evaluation.units;
    let front = &document.front;
    let mut block = Vec::new();
    if front.kind == Kind::RateSheet {
        block.push(("quoted", front.quoted.map_or_else(|| "undated".to_owned(), |day| day.to_string())));
        if let Some(until) = front.until {
            block.push(("holds until", until.to_string()));
        }
        if let Some(trade) = &front.trade {
            block.push(("trade", trade.clone()));
        }
        block.push(("currency", front.currency.code.to_owned()));
        return block;
    }
    if let Some(edition) = &evaluation.edition {
        block.push(("edition", edition.brief()));
        block.push(("left", format!("{} of {}", edition.remaining(), front.edition)));
    }
    if let Some(hung) = &evaluation.record.hung {
        block.push(("size", Value::List(vec![hung.width.into(), hung.height.into()]).shown(units)));
        if let Some(weight) = hung.weight {
            block.push(("weight", Value::from(weight).shown(units)));
        }
    }
    if let Some(last) = evaluation.record.steps.iter().map(|step| step.end).max() {
        block.push(("done by", last.to_string()));
    }
    let rules = &evaluation.record.rules;
    let broken = rules.iter().filter(|rule| rule.must && !rule.kept).count();
    let missed = rules.iter().filter(|rule| !rule.must && !rule.kept).count();
    if !rules.is_empty() {
        let words = match (broken, missed) {
            (0, 0) => "all kept".to_owned(),
            (0, _) => format!("{missed} missed"),
            (_, 0) => format!("{broken} broken"),
            (_, _) => format!("{broken} broken, {missed} missed"),
        };
        block.push(("rules", words));
    }
    block
}
