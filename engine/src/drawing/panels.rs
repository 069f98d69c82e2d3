//! A mural on its wall: the panels, and where each overlaps the next.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{both, on_paper, say};
use crate::measure::Units;
use crate::trade::mural::Mural;

/// Panels numbered from the left, overlaps hatched.
pub(super) fn drawing(mural: &Mural, units: Units) -> Drawing {
    let (width, height) = mural.size();
    let scale = Scale::fit((width.to_mm(), height.to_mm()), (135.0, 85.0));
    let (w, h) = (on_paper(width, scale), on_paper(height, scale));
    let (panel, overlap) = (on_paper(mural.panel(), scale), on_paper(mural.overlap(), scale));
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (w, h), Line::Edge, Fill::Tone);
    let starts = mural.starts();
    for start in starts.iter().skip(1) {
        let x = on_paper(*start, scale);
        canvas.line((x, 0.0), (x, h), Line::Thin);
        if overlap > 0.4 {
            canvas.line((x + overlap, 0.0), (x + overlap, h), Line::Hidden);
            canvas.hatch(&[(x, 0.0), (x + overlap, 0.0), (x + overlap, h), (x, h)], 1.6, false);
        }
    }
    for (number, start) in starts.iter().enumerate() {
        canvas.inside_or_not(
            (on_paper(*start, scale) + overlap, 0.0),
            (panel - overlap * 2.0, h),
            &format!("{}", number + 1),
        );
    }
    canvas.across((0.0, panel), h, h + ROW, format!("panel {}", say(mural.panel(), units)));
    canvas.across((0.0, w), h, h + ROW * 2.0, say(width, units));
    canvas.down((0.0, h), 0.0, -ROW, say(height, units));
    if mural.count() > 1 && mural.overlap().is_positive() {
        let x = starts.get(1).map_or(0.0, |start| on_paper(*start, scale));
        canvas.across((x, x + overlap), 0.0, -ROW, format!("{} overlap", say(mural.overlap(), units)));
    }
    let sizes = both(mural.size(), units);
    canvas.finish(
        "The mural in panels",
        format!(
            "{sizes} in {} panels of {}, each overlapping the next by {}, hatched, numbered from the left.",
            mural.count(),
            both((mural.panel(), height), units),
            say(mural.overlap(), units)
        ),
        format!(
            "The mural, scale {scale}: {sizes} in {} panels of {}, overlap {}, numbered from the left.",
            mural.count(),
            both((mural.panel(), height), units),
            say(mural.overlap(), units)
        ),
        scale,
    )
}
