//! A frame cut through one side, at full size on paper, with a rule of 100 mm to check the print by.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{both, on_paper, say};
use crate::measure::{Length, Units};
use crate::trade::frame::{FloatFrame, RabbetFrame};

/// How much of the piece is drawn before it breaks off, on paper.
const SHOWN: f64 = 46.0;

/// Full size where it fits a sheet, smaller where a moulding is larger than one.
fn scale_of(wide: Length, high: Length) -> Scale {
    Scale::fit_below((wide.to_mm(), high.to_mm()), (75.0, 130.0), Scale::FULL)
}

/// A piece cut off by a thin wavering line at `x` from `y1` to `y2`. Source: ISO 128, lines that break off (from memory).
fn broken_end(canvas: &mut Canvas, x: f64, y1: f64, y2: f64) {
    let middle = (y1 + y2) / 2.0;
    canvas.lines(
        &[
            (x, y1 - 1.5),
            (x, middle - 0.8),
            (x + 1.0, middle - 0.3),
            (x - 1.0, middle + 0.3),
            (x, middle + 0.8),
            (x, y2 + 1.5),
        ],
        false,
        Line::Size,
        Fill::None,
    );
}

/// The float frame: moulding and ledge hatched, the piece grey, the gap open, as is what a deep stick leaves behind the ledge.
pub(super) fn float(frame: &FloatFrame, units: Units) -> Drawing {
    let sizes = frame.sizes();
    let scale = scale_of(sizes.face + sizes.gap, frame.depth());
    let p = |length: Length| on_paper(length, scale);
    let (f, g, b, l, s, d) =
        (p(sizes.face), p(sizes.gap), p(sizes.board), p(sizes.ledge), p(sizes.setback), p(frame.depth()));
    let (upper, lower) = (s + b, (s + b + l).min(d));
    // The ledge is a stick of its own where the sides are cut from one, or its own width is known; else it is drawn with them.
    let own_ledge = l > 0.0 && (sizes.stick.is_some() || sizes.ledge_stick.is_some());
    let shelf = match sizes.ledge_stick {
        Some((width, _)) if l > 0.0 => f + p(width),
        _ => f + g + 28.0,
    };
    let right = (f + g + SHOWN).max(shelf + 4.0);
    let mut canvas = Canvas::default();
    let profile = if l > 0.0 && !own_ledge {
        vec![(0.0, 0.0), (f, 0.0), (f, upper), (shelf, upper), (shelf, lower), (f, lower), (f, d), (0.0, d)]
    } else {
        vec![(0.0, 0.0), (f, 0.0), (f, d), (0.0, d)]
    };
    canvas.lines(&profile, true, Line::Edge, Fill::Paper);
    canvas.hatch(&profile, 1.7, false);
    if own_ledge {
        let ledge = [(f, upper), (shelf, upper), (shelf, lower), (f, lower)];
        canvas.lines(&ledge, true, Line::Edge, Fill::Paper);
        // The other way, so that two pieces that touch are told apart (ISO 128, from memory).
        canvas.hatch(&ledge, 1.7, true);
    }
    canvas.lines(&[(right, s), (f + g, s), (f + g, s + b), (right, s + b)], false, Line::Edge, Fill::Deep);
    broken_end(&mut canvas, right, s, s + b);
    canvas.across((0.0, f), 0.0, -ROW, format!("face {}", say(sizes.face, units)));
    if g > 0.0 {
        canvas.across((f, f + g), 0.0, -ROW * 2.0, format!("gap {}", say(sizes.gap, units)));
    }
    canvas.down((0.0, d), 0.0, -ROW, format!("{} deep", say(frame.depth(), units)));
    if s > 0.0 {
        canvas.line((f + 1.2, 0.0), (right + 1.2, 0.0), Line::Size);
        canvas.down((0.0, s), right, right + ROW, format!("{} set back", say(sizes.setback, units)));
    }
    canvas.down((s, s + b), right, right + ROW, format!("{} piece", say(sizes.board, units)));
    if l > 0.0 {
        canvas.down((s + b, s + b + l), shelf, right + ROW, format!("{} ledge", say(sizes.ledge, units)));
    }
    let (_, bottom) = canvas.corner();
    canvas.check_rule((-ROW, bottom + 9.0));
    canvas.finish(
        "Section of the float frame",
        format!(
            "The frame cut through one side, front upwards: face {}, gap {}, the piece {} thick standing {} behind the front edge, on a ledge {}{} thick, {} deep in total. Below it a rule of 100 millimetres.",
            say(sizes.face, units),
            say(sizes.gap, units),
            say(sizes.board, units),
            say(sizes.setback, units),
            sizes.ledge_stick.map(|(width, _)| format!("{} wide and ", say(width, units))).unwrap_or_default(),
            say(sizes.ledge, units),
            say(frame.depth(), units)
        ),
        format!(
            "The float frame cut through one side, front upwards, scale {scale} on paper: {} outside, {} ({}) deep.",
            both(frame.outside(), units),
            say(frame.depth(), units),
            say(frame.depth(), units.other())
        ),
        scale,
    )
}

/// The rabbeted frame: moulding hatched, the pane and what lies behind it in the rabbet.
pub(super) fn rabbeted(frame: &RabbetFrame, units: Units) -> Drawing {
    let scale = scale_of(frame.face(), frame.depth());
    let p = |length: Length| on_paper(length, scale);
    let (face, lip, d) = (p(frame.face()), p(frame.lip()), p(frame.depth()));
    // How thick the lip is is the moulding's own affair: a fifth of its depth is drawn and not dimensioned.
    let front = d / 5.0;
    let (wall, free) = (face - lip, p(frame.allowance()) / 2.0);
    let right = face + SHOWN;
    let mut canvas = Canvas::default();
    let profile = [(0.0, 0.0), (face, 0.0), (face, front), (wall, front), (wall, d), (0.0, d)];
    canvas.lines(&profile, true, Line::Edge, Fill::Paper);
    canvas.hatch(&profile, 1.7, false);
    let pane = (d - front) / 5.0;
    canvas.lines(
        &[(right, front), (wall + free, front), (wall + free, front + pane), (right, front + pane)],
        false,
        Line::Edge,
        Fill::Paper,
    );
    let back = front + pane * 3.2;
    canvas.lines(
        &[(right, front + pane), (wall + free, front + pane), (wall + free, back), (right, back)],
        false,
        Line::Thin,
        Fill::Tone,
    );
    broken_end(&mut canvas, right, front, back);
    canvas.across((0.0, face), 0.0, -ROW, format!("face {}", say(frame.face(), units)));
    if lip > 0.0 {
        canvas.across((wall, face), 0.0, -ROW * 2.0, format!("lip {}", say(frame.lip(), units)));
    }
    canvas.down((0.0, d), 0.0, -ROW, format!("{} deep", say(frame.depth(), units)));
    canvas.beside((right + 1.0, front + pane / 2.0 - 1.2), "pane");
    canvas.beside((right + 1.0, (front + pane + back) / 2.0 + 1.2), "mat, print, backing");
    let (_, bottom) = canvas.corner();
    canvas.check_rule((-ROW, bottom + 9.0));
    canvas.finish(
        "Section of the rabbeted frame",
        format!(
            "The frame cut through one side, front upwards: face {}, lip {} over the pane, {} deep; the pane has {} of play, both sides together. Below it a rule of 100 millimetres.",
            say(frame.face(), units),
            say(frame.lip(), units),
            say(frame.depth(), units),
            say(frame.allowance(), units)
        ),
        format!(
            "The frame cut through one side, front upwards, scale {scale} on paper: {} outside, {} in the rabbet, {} in sight. Pane and backing are drawn without thickness of their own.",
            both(frame.outside(), units),
            both(frame.rabbet(), units),
            both(frame.sight(), units)
        ),
        scale,
    )
}
