//! The sizes a certificate names.

use crate::Trade as _;
use crate::Value;
use crate::document::Document;
use crate::evaluate::Evaluation;
use crate::evaluate::limits::{last, last_call};
use crate::render::plain::in_other_units;
use crate::trade::print::Print;

/// Image, sheet and outside in both units, each named, as far as the plan's workings say them: `image 40 × 40 in
/// (1016 × 1016 mm), sheet …`. Nothing where it states no outside. The sheet is that of the last `with_border`.
#[must_use]
pub fn sizes(document: &Document, evaluation: &Evaluation) -> Option<String> {
    let hung = evaluation.record.hung?;
    let units = evaluation.units;
    let image = last::<Print>(document, evaluation).and_then(|print| print.part("size")).map(|found| found.value);
    let sheet = last_call(document, evaluation, "with_border").map(|found| found.value.clone());
    let outside = Value::List(vec![hung.width.into(), hung.height.into()]);
    let said =
        [("image", image), ("sheet", sheet), ("outside", Some(outside))].into_iter().filter_map(|(what, size)| {
            let size = size?;
            let other = in_other_units(&size, units).map(|other| format!(" ({other})")).unwrap_or_default();
            Some(format!("{what} {}{other}", size.shown(units)))
        });
    Some(said.collect::<Vec<_>>().join(", "))
}
