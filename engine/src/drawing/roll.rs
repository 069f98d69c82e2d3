//! Prints on a roll of paper, seen from above, the roll running to the right.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{on_paper, pair, say};
use crate::measure::{Length, Units};
use crate::trade::nesting::Nest;
use crate::trade::roll::{Layout, Roll};

/// One print as it lies: along the roll, across it, and its size that way.
struct Lying {
    along: Length,
    across: Length,
    long: Length,
    wide: Length,
}

/// Prints of one size in rows.
pub(super) fn layout(layout: &Layout, units: Units) -> Drawing {
    let roll = layout.roll();
    let (wide, long) = layout.print();
    let mut prints = Vec::new();
    'rows: for row in 0..layout.rows() {
        for column in 0..layout.in_row() {
            if prints.len() >= usize::try_from(layout.count()).unwrap_or(usize::MAX).min(400) {
                break 'rows;
            }
            prints.push(Lying {
                along: roll.end() + (long + roll.gap()) * f64::from(row),
                across: roll.side() + (wide + roll.gap()) * f64::from(column),
                long,
                wide,
            });
        }
    }
    let says = format!("{} prints of {} side by side in rows", layout.count(), pair((wide, long), units));
    draw(roll, layout.length(), layout.used(), &prints, &says, units)
}

/// Prints of several sizes.
pub(super) fn nest(nest: &Nest, units: Units) -> Drawing {
    let roll = nest.roll();
    let prints: Vec<_> = nest
        .placed()
        .iter()
        .map(|one| Lying {
            along: roll.end() + one.along,
            across: roll.side() + one.across,
            long: one.height,
            wide: one.width,
        })
        .collect();
    draw(roll, nest.length(), nest.used(), &prints, &format!("{} prints nested", prints.len()), units)
}

fn draw(roll: &Roll, length: Length, used: f64, prints: &[Lying], says: &str, units: Units) -> Drawing {
    let scale = Scale::fit_below((length.to_mm(), roll.width().to_mm()), (130.0, 75.0), Scale { paper: 1, real: 5 });
    let (w, h) = (on_paper(length, scale), on_paper(roll.width(), scale));
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (w, h), Line::Edge, Fill::Paper);
    for one in prints {
        let at = (on_paper(one.along, scale), on_paper(one.across, scale));
        let size = (on_paper(one.long, scale), on_paper(one.wide, scale));
        canvas.rect(at, size, Line::Thin, Fill::Tone);
    }
    for one in prints {
        let at = (on_paper(one.along, scale), on_paper(one.across, scale));
        let size = (on_paper(one.long, scale), on_paper(one.wide, scale));
        canvas.inside_or_not(at, size, &pair((one.wide, one.long), units));
    }
    canvas.across((0.0, w), h, h + ROW, format!("{} of paper", say(length, units)));
    canvas.down((0.0, h), 0.0, -ROW, format!("roll {}", say(roll.width(), units)));
    let fallen = crate::measure::show::number((1.0 - used) * 100.0, 0);
    canvas.finish(
        "Prints on the roll",
        format!(
            "{says} on a roll {} wide, {} of its length; {fallen} percent falls away.",
            say(roll.width(), units),
            say(length, units)
        ),
        format!(
            "On the roll, scale {scale}: {} of a roll {} wide ({} of {}), {fallen} % falls away; margins {}, gaps {}.",
            say(length, units),
            say(roll.width(), units),
            say(length, units.other()),
            say(roll.width(), units.other()),
            say(roll.side(), units),
            say(roll.gap(), units)
        ),
        scale,
    )
}
