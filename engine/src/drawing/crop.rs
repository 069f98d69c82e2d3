//! A crop on its film: what is kept, and what falls away.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{both, on_paper, pair, say};
use crate::measure::Units;
use crate::trade::film::Crop;

/// The film's image with the kept part outlined and the rest hatched.
pub(super) fn drawing(crop: &Crop, units: Units) -> Drawing {
    let (film, kept) = (crop.whole(), crop.kept());
    let scale = Scale::fit((film.width().to_mm(), film.height().to_mm()), (120.0, 80.0));
    let (w, h) = (on_paper(film.width(), scale), on_paper(film.height(), scale));
    let (kw, kh) = (on_paper(kept.width(), scale), on_paper(kept.height(), scale));
    let (x, y) = ((w - kw) / 2.0, (h - kh) / 2.0);
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (w, h), Line::Thin, Fill::None);
    canvas.rect((x, y), (kw, kh), Line::Edge, Fill::Tone);
    let lost = if x > y { [(0.0, 0.0, x, h), (w - x, 0.0, x, h)] } else { [(0.0, 0.0, w, y), (0.0, h - y, w, y)] };
    for (left, top, wide, high) in lost {
        canvas.hatch(&[(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)], 1.8, false);
    }
    let share = crate::measure::show::number(crop.lost() * 100.0, 1);
    canvas.inside((x, y), (kw, kh), format!("kept {}", pair((kept.width(), kept.height()), units)));
    if x > 0.01 {
        canvas.across((x, x + kw), 0.0, -ROW, say(kept.width(), units));
        canvas.across((0.0, w), 0.0, -ROW * 2.0, say(film.width(), units));
        canvas.across((0.0, x), h, h + ROW, format!("{} falls away at each end", say(crop.lost_each_side(), units)));
        canvas.down((0.0, h), 0.0, -ROW, say(film.height(), units));
    } else {
        canvas.across((0.0, w), 0.0, -ROW, say(film.width(), units));
        canvas.down((y, y + kh), 0.0, -ROW, say(kept.height(), units));
        canvas.down((0.0, h), 0.0, -ROW * 2.0, say(film.height(), units));
        if y > 0.01 {
            canvas.down(
                (0.0, y),
                w,
                w + ROW,
                format!("{} falls away above and below", say(crop.lost_each_side(), units)),
            );
        }
    }
    let sizes = both((kept.width(), kept.height()), units);
    canvas.finish(
        "The crop on the film",
        format!(
            "Of an image {} on the film the middle {sizes} is kept; {share} percent of its area falls away, hatched.",
            pair((film.width(), film.height()), units)
        ),
        format!("The crop on {} film, scale {scale}: {sizes} kept, {share} % of the area falls away.", film.name()),
        scale,
    )
}
