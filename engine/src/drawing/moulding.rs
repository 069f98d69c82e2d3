//! Sticks of moulding and the pieces sawn from them.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{on_paper, say};
use crate::measure::Units;
use crate::trade::cutting::CutList;

/// Most sticks drawn; the rest are counted in the caption.
const MOST: usize = 14;
/// How high a stick is drawn: it has no scale that way.
const HIGH: f64 = 6.5;

/// Each stick with its pieces from the left, what is left of it hatched.
pub(super) fn drawing(list: &CutList, units: Units) -> Drawing {
    let scale = Scale::fit((list.stock().to_mm(), 1.0), (140.0, 1000.0));
    let w = on_paper(list.stock(), scale);
    let (trim, kerf) = (on_paper(list.trim(), scale), on_paper(list.kerf(), scale));
    let mut canvas = Canvas::default();
    let (left, mut words) = (list.left(), Vec::new());
    for (number, bar) in list.pieces().iter().enumerate() {
        let cuts: Vec<_> = bar.iter().map(|piece| say(*piece, units)).collect();
        let rest = left.get(number).map(|rest| say(*rest, units)).unwrap_or_default();
        words.push(format!("stick {}: {}, left {rest}", number + 1, cuts.join(", ")));
        if number >= MOST {
            continue;
        }
        #[expect(clippy::cast_precision_loss, reason = "at most fourteen")]
        let y = number as f64 * (HIGH + 3.0);
        canvas.rect((0.0, y), (w, HIGH), Line::Edge, Fill::Paper);
        let mut x = trim;
        if trim > 0.05 {
            canvas.line((x, y), (x, y + HIGH), Line::Thin);
        }
        for piece in bar {
            let long = on_paper(*piece, scale);
            canvas.rect((x, y), (long, HIGH), Line::Thin, Fill::Tone);
            canvas.inside_or_not((x, y), (long, HIGH), &say(*piece, units));
            x += long + kerf;
        }
        if w - x > 0.3 {
            canvas.hatch(&[(x, y), (w, y), (w, y + HIGH), (x, y + HIGH)], 1.8, false);
        }
    }
    let (_, bottom) = canvas.corner();
    canvas.across((0.0, w), bottom, bottom + ROW, format!("stick {}", say(list.stock(), units)));
    let more = list.pieces().len().saturating_sub(MOST);
    let more = if more > 0 { format!(" {more} more sticks are in the list.") } else { String::new() };
    let fewest = if list.fewest() { "" } else { ", perhaps not the fewest" };
    canvas.finish(
        "The cut list",
        format!("{} of {}{fewest}. {}.", sticks(list.bars()), say(list.stock(), units), words.join("; ")),
        format!(
            "Cut list, along scale {scale}: {} of {} ({}){fewest}; saw cut {}, trim {}. {}.{more}",
            sticks(list.bars()),
            say(list.stock(), units),
            say(list.stock(), units.other()),
            say(list.kerf(), units),
            say(list.trim(), units),
            capital(&words.into_iter().take(MOST).collect::<Vec<_>>().join("; "))
        ),
        scale,
    )
}

fn sticks(count: usize) -> String {
    if count == 1 { "1 stick".to_owned() } else { format!("{count} sticks") }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
