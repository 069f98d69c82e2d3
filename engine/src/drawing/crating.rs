//! A crate cut through level, seen from above: walls, padding, and the piece standing in it.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{on_paper, say};
use crate::Value;
use crate::measure::{Length, Units};
use crate::trade::crating::Crate;

/// Width along the sheet, depth down it.
pub(super) fn drawing(packed: &Crate, units: Units) -> Drawing {
    let ([ow, oh, od], [iw, _, id], [pw, _, pd]) = (packed.outside(), packed.inside(), packed.piece());
    let scale = Scale::fit((ow.to_mm(), od.to_mm()), (126.0, 70.0));
    let p = |length: Length| on_paper(length, scale);
    let (wall, pad) = (p(packed.wall()), p(packed.padding()));
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (p(ow), p(od)), Line::Edge, Fill::Deep);
    if wall > 0.0 {
        canvas.rect((wall, wall), (p(iw), p(id)), Line::Edge, Fill::Paper);
    }
    let ring = [
        ((wall, wall), (p(iw), pad)),
        ((wall, wall + pad + p(pd)), (p(iw), pad)),
        ((wall, wall + pad), (pad, p(pd))),
        ((wall + pad + p(pw), wall + pad), (pad, p(pd))),
    ];
    for ((x, y), (w, h)) in ring {
        if w > 0.3 && h > 0.3 {
            canvas.hatch(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)], 1.6, true);
        }
    }
    canvas.rect((wall + pad, wall + pad), (p(pw), p(pd)), Line::Edge, Fill::Tone);
    canvas.inside(
        (wall + pad, wall + pad),
        (p(pw), p(pd)),
        format!("piece {} × {} deep", say(pw, units), say(pd, units)),
    );
    canvas.across((wall, wall + p(iw)), 0.0, -ROW, format!("{} inside", say(iw, units)));
    canvas.across((0.0, p(ow)), 0.0, -ROW * 2.0, format!("{} outside", say(ow, units)));
    canvas.down((0.0, p(od)), 0.0, -ROW, format!("{} outside", say(od, units)));
    if pad > 0.0 {
        canvas.down((wall, wall + pad), p(ow), p(ow) + ROW, format!("{} padding", say(packed.padding(), units)));
    }
    if wall > 0.0 {
        canvas.down((p(od) - wall, p(od)), p(ow), p(ow) + ROW, format!("{} wall", say(packed.wall(), units)));
    }
    let three = |sides: [Length; 3], units| Value::List(sides.into_iter().map(Value::from).collect()).shown(units);
    canvas.finish(
        "The crate",
        format!(
            "The crate cut through level, seen from above: {} outside, walls {}, padding {} on all six sides, hatched, and the piece in the middle.",
            three([ow, oh, od], units),
            say(packed.wall(), units),
            say(packed.padding(), units)
        ),
        format!(
            "The crate from above, cut through, scale {scale}: {} outside ({}), padded {} on all six sides.",
            three([ow, oh, od], units),
            three([ow, oh, od], units.other()),
            say(packed.padding(), units)
        ),
        scale,
    )
}
