//! The back of a piece: straps, wire or cleat, and where its label goes.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{both, on_paper, say};
use crate::measure::Units;
use crate::trade::backside::{Backside, Hardware};

/// Seen from behind, upright as it hangs.
pub(super) fn drawing(piece: &Backside, units: Units) -> Drawing {
    let (width, height) = piece.outside();
    let scale = Scale::fit((width.to_mm(), height.to_mm()), (125.0, 85.0));
    let p = |length| on_paper(length, scale);
    let (w, h, inset, drop) = (p(width), p(height), p(piece.inset()), p(piece.drop()));
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (w, h), Line::Edge, Fill::Paper);
    let side = (w.min(h) * 0.06).min(3.0);
    canvas.rect((side, side), (w - side * 2.0, h - side * 2.0), Line::Hidden, Fill::None);
    let ends = (inset, w - inset);
    match piece.hardware() {
        Hardware::Straps => {
            for x in [ends.0, ends.1] {
                canvas.rect((x - 1.0, drop - 1.4), (2.0, 2.8), Line::Edge, Fill::Deep);
            }
        }
        Hardware::Wire => {
            let middle = w / 2.0;
            // The wire is drawn pulled: a tenth of its span, or as far as the upper edge.
            let rise = ((ends.1 - ends.0) * 0.1).min(drop * 0.8);
            canvas.lines(&[(ends.0, drop), (middle, drop - rise), (ends.1, drop)], false, Line::Thin, Fill::None);
            for x in [ends.0, ends.1] {
                canvas.rect((x - 0.9, drop - 0.9), (1.8, 1.8), Line::Edge, Fill::Deep);
            }
        }
        Hardware::Cleat => {
            let high = (h * 0.12).min(4.0);
            canvas.rect((ends.0, drop), (ends.1 - ends.0, high), Line::Edge, Fill::Deep);
        }
    }
    let label = ((w * 0.18).min(16.0), (h * 0.18).min(9.0));
    if label.0 > 2.0 && label.1 > 2.0 {
        let at = (side * 2.0 + 1.0, h - side * 2.0 - 1.0 - label.1);
        canvas.rect(at, label, Line::Thin, Fill::Paper);
        canvas.inside_or_not(at, label, "label");
    }
    let name = match piece.hardware() {
        Hardware::Straps => format!("straps {} apart", say(piece.apart(), units)),
        Hardware::Wire => format!("wire, eyes {} apart", say(piece.apart(), units)),
        Hardware::Cleat => format!("cleat {} long", say(piece.apart(), units)),
    };
    canvas.across(ends, h, h + ROW, name.clone());
    canvas.across((0.0, w), h, h + ROW * 2.0, format!("{} outside", say(width, units)));
    if inset > 0.0 {
        canvas.across((0.0, inset), 0.0, -ROW, format!("{} from each side", say(piece.inset(), units)));
    }
    canvas.down((0.0, h), 0.0, -ROW, say(height, units));
    if drop > 0.0 {
        canvas.down((0.0, drop), w, w + ROW, format!("{} down", say(piece.drop(), units)));
    }
    let sizes = both(piece.outside(), units);
    canvas.finish(
        "The back of the piece",
        format!(
            "Seen from behind, {sizes} outside: {name}, {} from each side and {} below the upper edge; the label at the lower left.",
            say(piece.inset(), units),
            say(piece.drop(), units)
        ),
        format!(
            "The back, scale {scale}: {name} ({}), {} ({}) below the upper edge.",
            say(piece.apart(), units.other()),
            say(piece.drop(), units),
            say(piece.drop(), units.other())
        ),
        scale,
    )
}
