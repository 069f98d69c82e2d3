//! Board and mat, as they are cut.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{both, on_paper, pair, say};
use crate::measure::Units;
use crate::trade::blank::Blank;
use crate::trade::mat::Mat;

/// A window mat from the front, the edge of the image behind it dashed.
pub(super) fn mat(mat: &Mat, units: Units) -> Drawing {
    let (outside, window, image) = (mat.outside(), mat.opening(), mat.image());
    let (border, bottom) = mat.borders();
    let scale = Scale::fit((outside.0.to_mm(), outside.1.to_mm()), (105.0, 95.0));
    let (w, h) = (on_paper(outside.0, scale), on_paper(outside.1, scale));
    let (ww, wh) = (on_paper(window.0, scale), on_paper(window.1, scale));
    let (left, top) = (on_paper(border, scale), on_paper(border, scale));
    let over = (on_paper(image.0, scale) - ww) / 2.0;
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (w, h), Line::Edge, Fill::Tone);
    if over > 0.01 {
        canvas.rect((left - over, top - over), (ww + over * 2.0, wh + over * 2.0), Line::Hidden, Fill::None);
    }
    canvas.rect((left, top), (ww, wh), Line::Edge, Fill::Paper);
    canvas.inside((left, top), (ww, wh), format!("window {}", pair(window, units)));
    canvas.across((left, left + ww), 0.0, -ROW, say(window.0, units));
    canvas.across((0.0, w), 0.0, -ROW * 2.0, format!("{} outside", say(outside.0, units)));
    canvas.down((top, top + wh), 0.0, -ROW, say(window.1, units));
    canvas.down((0.0, h), 0.0, -ROW * 2.0, format!("{} outside", say(outside.1, units)));
    canvas.down((0.0, top), w, w + ROW, format!("{} border", say(border, units)));
    canvas.down((top + wh, h), w, w + ROW, format!("{} bottom", say(bottom, units)));
    canvas.across((0.0, left), h, h + ROW, format!("{} border", say(border, units)));
    let sizes = both(outside, units);
    canvas.finish(
        "The window mat",
        format!(
            "A mat {sizes} outside with a window {}, borders {} and {} at the bottom; the image goes {} under it on each side, dashed.",
            both(window, units),
            say(border, units),
            say(bottom, units),
            say((image.0 - window.0) / 2.0, units)
        ),
        format!("The mat from the front, scale {scale}: {sizes} outside, window {}.", both(window, units)),
        scale,
    )
}

/// A piece on the sheet it is cut from.
pub(super) fn blank(blank: &Blank, units: Units) -> Drawing {
    let (stock, size, left) = (blank.stock(), blank.size(), blank.left());
    let scale = Scale::fit_below((stock.0.to_mm(), stock.1.to_mm()), (120.0, 90.0), Scale { paper: 1, real: 2 });
    let (w, h) = (on_paper(stock.0, scale), on_paper(stock.1, scale));
    let (pw, ph) = (on_paper(size.0, scale), on_paper(size.1, scale));
    let trim = on_paper(blank.trim(), scale);
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (w, h), Line::Edge, Fill::Paper);
    canvas.rect((trim, trim), (pw, ph), Line::Edge, Fill::Tone);
    // What is left falls to the right of the piece over the whole height, and below it.
    let beside = [(trim + pw, 0.0), (w, 0.0), (w, h), (trim + pw, h)];
    let below = [(0.0, trim + ph), (trim + pw, trim + ph), (trim + pw, h), (0.0, h)];
    canvas.hatch(&beside, 3.0, false);
    canvas.hatch(&below, 3.0, true);
    canvas.inside((trim, trim), (pw, ph), format!("piece {}", pair(size, units)));
    canvas.across((trim, trim + pw), 0.0, -ROW, say(size.0, units));
    canvas.across((0.0, w), 0.0, -ROW * 2.0, format!("sheet {}", say(stock.0, units)));
    canvas.down((trim, trim + ph), 0.0, -ROW, say(size.1, units));
    canvas.down((0.0, h), 0.0, -ROW * 2.0, format!("sheet {}", say(stock.1, units)));
    canvas.finish(
        "The blank on its sheet",
        format!(
            "A piece {} cut from the corner of a sheet {}; {} is left beside it and {} below, hatched.",
            both(size, units),
            pair(stock, units),
            say(left.0, units),
            say(left.1, units)
        ),
        format!("The blank on its sheet, scale {scale}: {} from {}.", both(size, units), both(stock, units)),
        scale,
    )
}
