//! What an ask becomes, the same on the page and on paper.

use super::hanging;
use crate::document::Document;
use crate::drawing::{self, Drawing};
use crate::evaluate::Evaluation;
use crate::script::statements::Shown;
use crate::{Found, Value};

/// What stands where a value could not be calculated.
pub(super) const UNKNOWN: &str = "not known yet";

/// What a paragraph that is one ask becomes.
pub(super) enum Exhibit {
    /// The table of costs.
    Costs,
    /// The list of steps.
    Steps,
    /// A drawing.
    Drawing(Box<Drawing>),
    /// The word that no piece hangs yet, in the place of a drawing of it.
    NothingHangs,
}

impl Exhibit {
    /// Of the ask with this number, with its value; nothing where it is written in a line.
    pub(super) fn of<'a>(document: &Document, evaluation: &'a Evaluation, ask: usize) -> Option<(Self, &'a Found)> {
        let found = evaluation.answers.get(ask)?.result.as_ref().ok()?;
        let Value::Thing(thing) = &found.value else { return None };
        let units = evaluation.units;
        let drawn = |drawing| Self::Drawing(Box::new(drawing));
        let exhibit = match thing.get::<Shown>() {
            Some(Shown::Costs) => Self::Costs,
            Some(Shown::Steps) => Self::Steps,
            Some(Shown::Wall) => {
                hanging::drawing(document, evaluation, &document.title()).map_or(Self::NothingHangs, drawn)
            }
            None => drawn(drawing::of(thing, units)?),
        };
        Some((exhibit, found))
    }
}
