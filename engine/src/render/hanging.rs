//! How a piece hangs as the plan's own workings say, so that the text and the drawing of its wall agree.

use crate::Value;
use crate::document::Document;
use crate::drawing::{Drawing, wall};
use crate::evaluate::Evaluation;
use crate::evaluate::limits::{last, last_call};
use crate::measure::Length;
use crate::trade::backside::{Backside, Hardware};
use crate::trade::elevation::{CENTRE, Elevation};
use crate::trade::hanging::{TwoHooks, Wire};
use crate::trade::row::Row;

/// The drawing of the piece on its wall; nothing where nothing hangs.
#[must_use]
pub fn drawing(document: &Document, evaluation: &Evaluation, title: &str) -> Option<Drawing> {
    on_the_wall(document, evaluation).map(|piece| wall::drawing(&piece, title, evaluation.units))
}

/// What hangs on its wall: as an `elevation` of it says, else as high as a `hook_height` of it asks for, on the hooks the
/// plan names, else at the usual height. Nothing where nothing hangs.
fn on_the_wall(document: &Document, evaluation: &Evaluation) -> Option<Elevation> {
    let hung = evaluation.record.hung?;
    let size = (hung.width, hung.height);
    if let Some(stated) = last::<Elevation>(document, evaluation).filter(|stated| stated.outside() == size) {
        return Some(stated.clone());
    }
    let usual = || Elevation::new(size, CENTRE.max(size.1 / 2.0 + Length::cm(5.0)), None).ok();
    let Some((centre, height)) = middle_and_hook(document, evaluation, size.1) else { return usual() };
    let hooks = apart(document, evaluation, size).map(|apart| (height, apart));
    Elevation::new(size, centre, hooks).or_else(|_| Elevation::new(size, centre, None)).ok().or_else(usual)
}

/// How high the middle of a piece so high hangs, and its hooks, as the last `hook_height` says.
fn middle_and_hook(document: &Document, evaluation: &Evaluation, high: Length) -> Option<(Length, Length)> {
    let found = last_call(document, evaluation, "hook_height")?;
    let length = |value: &Value| if let Value::Quantity(one) = value { Length::of(*one) } else { None };
    // Its working is found from the middle, the height of the piece and the drop, in this order.
    let [centre, outside, _] = found.working.as_ref()?.from() else { return None };
    (length(outside)? == high).then(|| Some((length(centre)?, length(&found.value)?)))?
}

/// How far apart the hooks are, zero for one; nothing where the plan does not say, or each piece of a row has its own.
fn apart(document: &Document, evaluation: &Evaluation, size: (Length, Length)) -> Option<Length> {
    if last::<Row>(document, evaluation).is_some() {
        return None;
    }
    let straps = || last::<Backside>(document, evaluation).filter(|back| back.hardware() == Hardware::Straps);
    if let Some(hooks) = last::<TwoHooks>(document, evaluation) {
        return hooks.apart_evenly();
    }
    let wire = last::<Wire>(document, evaluation).map(|_| Length::ZERO);
    wire.or_else(|| straps().filter(|back| back.outside() == size).map(Backside::apart))
}
