//! The piece on a wall beside a person 1.7 m tall, with its middle, its edges and its hooks.

use super::canvas::{Canvas, ROW};
use super::figure::{Drawing, Fill, Line, Scale};
use super::{both, on_paper, say};
use crate::measure::{Length, Units};
use crate::trade::elevation::Elevation;

/// How tall the person beside the piece is.
const PERSON: Length = Length::m(1.7);

/// The elevation.
#[must_use]
pub fn drawing(piece: &Elevation, title: &str, units: Units) -> Drawing {
    let (width, height) = piece.outside();
    let wall_height = Length::m(2.4).max(piece.top() + Length::cm(20.0));
    let room = Length::m(1.0);
    let scale = Scale::fit((room.to_mm() + width.to_mm() + 300.0, wall_height.to_mm()), (122.0, 95.0));
    let p = |length: Length| on_paper(length, scale);
    let (w, h) = (p(width), p(height));
    let left = p(room);
    let wall = left + w + p(Length::cm(30.0)).max(12.0);
    let floor = p(wall_height);
    let (top, centre, bottom) = (floor - p(piece.top()), floor - p(piece.centre()), floor - p(piece.bottom()));
    let mut canvas = Canvas::default();
    canvas.rect((0.0, 0.0), (wall, floor), Line::Thin, Fill::None);
    canvas.line((-3.0, floor), (wall + 3.0, floor), Line::Edge);
    canvas.person((left / 2.0, floor), p(PERSON));
    canvas.rect((left, top), (w, h), Line::Edge, Fill::Tone);
    canvas.line((left - 2.0, centre), (wall, centre), Line::Axis);
    canvas.line((left + w / 2.0, top - 2.0), (left + w / 2.0, bottom + 2.0), Line::Axis);
    canvas.across((left, left + w), 0.0, -ROW, format!("{} outside", say(width, units)));
    canvas.down((centre, floor), wall, wall + ROW, format!("middle {}", say(piece.centre(), units)));
    if let Some((hook, apart)) = piece.hooks() {
        let y = floor - p(hook);
        let half = p(apart) / 2.0;
        for x in [left + w / 2.0 - half, left + w / 2.0 + half] {
            canvas.line((x - 1.2, y - 1.2), (x + 1.2, y + 1.2), Line::Thin);
            canvas.line((x - 1.2, y + 1.2), (x + 1.2, y - 1.2), Line::Thin);
        }
        canvas.down((y, floor), wall, wall + ROW * 2.0, format!("hooks {}", say(hook, units)));
        if half > 0.0 {
            canvas.across(
                (left + w / 2.0 - half, left + w / 2.0 + half),
                floor,
                floor + ROW,
                format!("hooks {} apart", say(apart, units)),
            );
        }
    }
    canvas.down((top, bottom), left + w, left + w + 6.5, say(height, units));
    let hooks = piece.hooks().map_or_else(String::new, |(hook, apart)| {
        if apart > Length::ZERO {
            format!(" Hooks {} above the floor, {} apart.", say(hook, units), say(apart, units))
        } else {
            format!(" One hook {} above the floor.", say(hook, units))
        }
    });
    let sizes = both(piece.outside(), units);
    canvas.finish(
        "The piece on the wall",
        format!(
            "{title}, {sizes} outside, its middle {} above the floor, beside a person 1.7 metres tall.{hooks}",
            say(piece.centre(), units)
        ),
        format!(
            "On the wall, scale {scale}: {sizes} outside, its middle {} ({}) above the floor.{hooks} The figure is 1.7 m tall.",
            say(piece.centre(), units),
            say(piece.centre(), units.other())
        ),
        scale,
    )
}
