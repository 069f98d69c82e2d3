//! A float frame cut through one side, drawn at full size in millimetres.

use std::fmt::Write as _;

use super::n;
use crate::document::html::escape;
use crate::measure::{Length, Units};
use crate::trade::frame::FloatFrame;
use crate::{Trade as _, Value};

/// The figure: moulding hatched, piece solid, dimensions outside, and a rule of 100 mm to check the print by.
#[must_use]
pub fn figure(frame: &FloatFrame, units: Units) -> String {
    let length = |name: &str| match frame.part(name).map(|found| found.value) {
        Some(Value::Quantity(quantity)) => Length::of(quantity).unwrap_or_default(),
        _ => Length::ZERO,
    };
    let (face, gap, board, ledge, setback, depth) =
        (length("face"), length("gap"), length("board"), length("ledge"), length("setback"), length("depth"));
    let mm = Length::to_mm;
    let (f, g, b, l, s, d) = (mm(face), mm(gap), mm(board), mm(ledge), mm(setback), mm(depth));
    let shelf = g + 34.0;
    let right = f + g + 78.0;
    let say = |length: Length| escape(&length.quantity().shown(units));
    let height = d + 52.0;
    let mut out = format!(
        "<figure class=\"wide section\"><svg class=\"draw sect\" viewBox=\"-26 -16 {} {}\" width=\"{}mm\" height=\"{}mm\" role=\"img\" aria-label=\"{}\">",
        n(right + 60.0),
        n(height),
        n(right + 60.0),
        n(height),
        escape(&format!(
            "Float frame cut through, at full size: face {}, gap {}, the piece {} thick standing {} behind the front edge, {} deep in all",
            face.quantity().shown(units),
            gap.quantity().shown(units),
            board.quantity().shown(units),
            setback.quantity().shown(units),
            depth.quantity().shown(units)
        ))
    );
    out.push_str("<defs><pattern id=\"hatch\" width=\"2.4\" height=\"2.4\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path class=\"hatch\" d=\"M1.2 0V2.4\"/></pattern></defs>");
    // The moulding: a face to the front, a ledge behind the piece.
    let _ = write!(
        out,
        "<path d=\"M0 0H{f}V{t}H{e}V{d}H0Z\" fill=\"url(#hatch)\" stroke-width=\".5\"/>",
        f = n(f),
        t = n(d - l),
        e = n(f + shelf),
        d = n(d)
    );
    // The piece: print, laminate and board together.
    let _ = write!(
        out,
        "<path class=\"solid\" d=\"M{r} {s}H{x}V{t}H{r}Z\" stroke-width=\".35\"/>",
        r = n(right),
        s = n(s),
        x = n(f + g),
        t = n(s + b)
    );
    let dim = |out: &mut String, path: String| {
        let _ = write!(out, "<path class=\"dim\" d=\"{path}\"/>");
    };
    dim(&mut out, format!("M0 -6H{r}M0 -9V-1.5M{f} -9V-1.5M{r} -9V{s}", r = n(f + g), f = n(f), s = n(s - 1.5)));
    dim(&mut out, format!("M-8 0V{d}M-11 0H-1.5M-11 {d}H-1.5", d = n(d)));
    dim(
        &mut out,
        format!(
            "M{a} 0V{d}M{b} 0H{c}M{b} {s}H{c}M{b} {t}H{c}M{b} {d}H{c}",
            a = n(right + 6.0),
            b = n(right + 1.5),
            c = n(right + 9.0),
            s = n(s),
            t = n(s + b),
            d = n(d)
        ),
    );
    let text = |out: &mut String, x: f64, y: f64, anchor: &str, words: &str| {
        let _ = write!(out, "<text x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\">{words}</text>", n(x), n(y));
    };
    text(&mut out, f / 2.0, -10.5, "end", &format!("face {}", say(face)));
    text(&mut out, f + g / 2.0, -10.5, "start", &format!("gap {}", say(gap)));
    let _ = write!(
        out,
        "<text transform=\"translate(-10 {}) rotate(-90)\" text-anchor=\"middle\">{} deep</text>",
        n(d / 2.0),
        say(depth)
    );
    text(&mut out, right + 11.0, f64::max(s / 2.0 + 1.2, 1.0), "start", &format!("{} back", say(setback)));
    text(&mut out, right + 11.0, s + b / 2.0 + 1.2, "start", &format!("{} piece", say(board)));
    text(&mut out, right + 11.0, d - l / 2.0 + 1.2, "start", &format!("{} ledge", say(ledge)));
    let y = d + 24.0;
    let _ = write!(
        out,
        "<path d=\"M0 {y}H100M0 {a}V{b}M100 {a}V{b}\" stroke-width=\".25\"/>",
        y = n(y),
        a = n(y - 2.4),
        b = n(y + 2.4)
    );
    for tenth in 1..10 {
        let _ = write!(out, "<path class=\"dim\" d=\"M{x} {a}V{b}\"/>", x = tenth * 10, a = n(y - 1.0), b = n(y + 1.0));
    }
    text(
        &mut out,
        50.0,
        y + 7.0,
        "middle",
        "check: 100 mm; if a rule differs, this sheet was not printed at full size",
    );
    let _ = writeln!(
        out,
        "</svg><figcaption>The frame cut through one side, full size on paper: {} outside, {} deep.</figcaption></figure>",
        escape(&Value::List(vec![frame.outside().0.into(), frame.outside().1.into()]).shown(units)),
        say(depth)
    );
    out
}
