//! The piece on a wall, to one scale with a person 1.7 m tall.

use std::fmt::Write as _;

use super::n;
use crate::document::html::escape;
use crate::measure::{Length, Units};
use crate::script::record::Hung;

/// Height of the centre of a hung piece above the floor: 57 to 60 in.
///
/// Source: common practice, no source.
pub const CENTRE: Length = Length::inch(59.0);

/// A person's outline, 170 cm tall, feet at the origin.
pub(crate) const PERSON: &str = "M0 -170 C5 -170 8 -165 8 -159 C8 -153 5 -148 2.6 -147 V-143 C8 -141 17 -141 20 -133 C22.5 -121 24 -105 24.2 -88 C24 -82 20.5 -82 19.6 -88 C18.8 -100 17 -112 15 -121 C14.4 -112 14 -104 15 -94 C16 -80 15.6 -62 14 -44 C13 -28 12 -14 11.4 -5 L14.6 -1.2 C14.8 -.4 14.4 0 13.4 0 H4.6 L4 -6 C3.8 -30 2.8 -52 .8 -74 H-.8 C-2.8 -52 -3.8 -30 -4 -6 L-4.6 0 H-13.4 C-14.4 0 -14.8 -.4 -14.6 -1.2 L-11.4 -5 C-12 -14 -13 -28 -14 -44 C-15.6 -62 -16 -80 -15 -94 C-14 -104 -14.4 -112 -15 -121 C-17 -112 -18.8 -100 -19.6 -88 C-20.5 -82 -24 -82 -24.2 -88 C-24 -105 -22.5 -121 -20 -133 C-17 -141 -8 -141 -2.6 -143 V-147 C-5 -148 -8 -153 -8 -159 C-8 -165 -5 -170 0 -170 Z";

/// The figure: a stretch of wall with the piece, its outside width and the height of its centre.
#[must_use]
pub fn figure(hung: &Hung, title: &str, units: Units) -> String {
    let (width, height) = (hung.width.to_cm(), hung.height.to_cm());
    let wall_height = f64::max(244.0, CENTRE.to_cm() + height / 2.0 + 20.0);
    let left = 110.0;
    let wall = left + width + 60.0;
    let centre = wall_height - f64::max(CENTRE.to_cm(), height / 2.0 + 5.0);
    let (x, y) = (left, centre - height / 2.0);
    let say = |length: Length| escape(&length.quantity().shown(units));
    let shown = crate::Value::List(vec![hung.width.into(), hung.height.into()]).shown(units);
    let mut out = format!(
        "<figure class=\"wide\"><svg class=\"draw elev\" viewBox=\"-6 -24 {} {}\" role=\"img\" aria-label=\"{}\">",
        n(wall + 40.0),
        n(wall_height + 30.0),
        escape(&format!(
            "{title} on a wall, {shown} outside, its centre {} above the floor, beside a person 1.7 metres tall, to scale",
            Length::quantity(CENTRE).shown(units)
        ))
    );
    let _ =
        write!(out, "<rect class=\"plaster\" x=\"0\" y=\"0\" width=\"{}\" height=\"{}\"/>", n(wall), n(wall_height));
    let _ = write!(out, "<path d=\"M-6 {h} H{}\" stroke-width=\"1.4\"/>", n(wall + 6.0), h = n(wall_height));
    let _ = write!(
        out,
        "<g class=\"art\" transform=\"translate({} {})\"><rect class=\"sky\" width=\"{w}\" height=\"{hh}\"/><path class=\"land\" d=\"M0 {a} C{b} {c} {d} {e} {w} {f} V{hh} H0Z\"/><path class=\"lit\" d=\"M0 {g} L{b} {i} L{d} {g} V{hh} H0Z\"/><rect class=\"edge\" width=\"{w}\" height=\"{hh}\"/></g>",
        n(x),
        n(y),
        w = n(width),
        hh = n(height),
        a = n(height * 0.42),
        b = n(width * 0.3),
        c = n(height * 0.38),
        d = n(width * 0.6),
        e = n(height * 0.46),
        f = n(height * 0.41),
        g = n(height * 0.78),
        i = n(height * 0.6)
    );
    let _ = write!(out, "<g class=\"body\" transform=\"translate(55 {})\"><path d=\"{PERSON}\"/></g>", n(wall_height));
    let dim = n(y - 10.0);
    let _ = write!(
        out,
        "<g class=\"dim\"><path d=\"M{x} {dim} H{r} M{x} {t1} V{t2} M{r} {t1} V{t2}\"/><path class=\"fine\" d=\"M{rr} {c} H{q} M{p} {c} V{f}\"/></g>",
        x = n(x),
        r = n(x + width),
        t1 = n(y - 14.0),
        t2 = n(y - 4.0),
        rr = n(x + width + 6.0),
        c = n(centre),
        q = n(wall + 10.0),
        p = n(wall + 6.0),
        f = n(wall_height)
    );
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\" text-anchor=\"middle\">{} outside</text>",
        n(x + width / 2.0),
        n(y - 14.0),
        say(hung.width)
    );
    let _ = write!(
        out,
        "<text class=\"fine\" x=\"{}\" y=\"{}\">{}</text>",
        n(wall + 10.0),
        n((centre + wall_height) / 2.0),
        say(CENTRE)
    );
    let _ = write!(out, "<text x=\"55\" y=\"{}\" text-anchor=\"middle\">1.7 m</text>", n(wall_height - 176.0));
    let _ = writeln!(
        out,
        "</svg><figcaption>On the wall, to scale: {} outside, centre {} above the floor.</figcaption></figure>",
        escape(&shown),
        say(CENTRE)
    );
    out
}
