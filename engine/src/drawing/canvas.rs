//! The canvassman's hand: draws edges, dimension lines and hatching, then letters them where nothing is in the way.

use super::figure::{Anchor, Drawing, Fill, Line, Place, Scale, Shape};
use super::lettering::{ABOVE, BELOW, SIZE, lines, width};

/// What is kept free between words and anything else.
const AIR: f64 = 0.45;
/// What is kept free round the whole drawing.
const MARGIN: f64 = 1.5;
/// How far apart two rows of dimensions stand. Source: ISO 129-1 leaves this to what can be read; 7 mm is common practice.
pub(super) const ROW: f64 = 7.0;
/// The widest a drawing with its dimensions should be: the width of text on a sheet, bound at the left.
pub(super) const WIDEST: f64 = 158.0;

/// An upright box: left, top, right, bottom.
#[derive(Clone, Copy, Debug)]
struct Room(f64, f64, f64, f64);

impl Room {
    fn meets(self, other: Self) -> bool {
        self.0 < other.2 && other.0 < self.2 && self.1 < other.3 && other.1 < self.3
    }

    /// Whether a straight line touches the box. Source: Liang and Barsky, clipping of a segment to a rectangle.
    fn is_crossed(self, (a, b): (Place, Place)) -> bool {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (step, room) in [(-dx, a.0 - self.0), (dx, self.2 - a.0), (-dy, a.1 - self.1), (dy, self.3 - a.1)] {
            if step == 0.0 {
                if room < 0.0 {
                    return false;
                }
            } else if step < 0.0 {
                from = from.max(room / step);
            } else {
                to = to.min(room / step);
            }
        }
        from <= to
    }
}

/// Where words may stand.
#[derive(Clone, Copy, Debug)]
struct Spot {
    at: Place,
    anchor: Anchor,
    turned: bool,
}

impl Spot {
    fn flat(x: f64, y: f64, anchor: Anchor) -> Self {
        Self { at: (x, y), anchor, turned: false }
    }

    fn room(self, words: &str) -> Room {
        let long = width(words);
        let before = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => long / 2.0,
            Anchor::End => long,
        };
        let (x, y) = self.at;
        if self.turned {
            // Turned to read upwards: the line of letters runs up, its top to the left.
            Room(x - SIZE * ABOVE, y - (long - before), x + SIZE * BELOW, y + before)
        } else {
            Room(x - before, y - SIZE * ABOVE, x - before + long, y + SIZE * BELOW)
        }
    }
}

/// A drawing being made.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    shapes: Vec<Shape>,
    segments: Vec<(Place, Place)>,
    rooms: Vec<Room>,
    letters: Vec<(String, Vec<Spot>)>,
}

impl Canvas {
    pub(super) fn lines(&mut self, points: &[Place], closed: bool, line: Line, fill: Fill) {
        let mut ends: Vec<(Place, Place)> = points.iter().copied().zip(points.iter().copied().skip(1)).collect();
        if let (true, Some(first), Some(last)) = (closed, points.first(), points.last()) {
            ends.push((*last, *first));
        }
        if fill == Fill::Solid {
            self.block(points);
        }
        self.segments.extend(ends);
        self.shapes.push(Shape::Lines { points: points.to_vec(), closed, line, fill });
    }

    /// No words on what is filled black.
    fn block(&mut self, points: &[Place]) {
        if let Some(bounds) = bounds(points) {
            self.rooms.push(bounds);
        }
    }

    pub(super) fn line(&mut self, from: Place, to: Place, line: Line) {
        self.lines(&[from, to], false, line, Fill::None);
    }

    /// An upright rectangle by its top left corner and size.
    pub(super) fn rect(&mut self, (x, y): Place, (w, h): Place, line: Line, fill: Fill) {
        self.lines(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)], true, line, fill);
    }

    /// Hatching at 45° inside an outline, so many millimetres apart; the other way when `back`.
    pub(super) fn hatch(&mut self, points: &[Place], apart: f64, back: bool) {
        let lean = if back { -1.0 } else { 1.0 };
        let across = |p: &Place| p.1 + lean * p.0;
        let (low, high) =
            points.iter().map(across).fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)));
        let count = ((high - low) / (apart * std::f64::consts::SQRT_2)).floor();
        if !count.is_finite() || count > 2000.0 {
            return;
        }
        let mut at = low + apart * 0.7;
        while at < high {
            let mut hits: Vec<Place> = Vec::new();
            let ring = points.iter().zip(points.iter().cycle().skip(1));
            for (a, b) in ring {
                let (from, to) = (across(a) - at, across(b) - at);
                if (from < 0.0) != (to < 0.0) {
                    let t = from / (from - to);
                    hits.push((a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t));
                }
            }
            hits.sort_by(|a, b| a.0.total_cmp(&b.0));
            for pair in hits.chunks_exact(2) {
                if let [from, to] = pair {
                    self.line(*from, *to, Line::Hatch);
                }
            }
            at += apart * std::f64::consts::SQRT_2;
        }
    }

    /// A person 1.7 m tall beside what is drawn, to the same scale.
    pub(super) fn person(&mut self, feet: Place, tall: f64) {
        let half = tall * 0.145;
        self.rooms.push(Room(feet.0 - half, feet.1 - tall, feet.0 + half, feet.1));
        self.shapes.push(Shape::Person { feet, tall });
    }

    /// A dimension from left to right on a row at `y`, its projection lines drawn from `edge`.
    pub(super) fn across(&mut self, (x1, x2): Place, edge: f64, y: f64, words: impl Into<String>) {
        self.stroke((x1, y), (x2, y));
        let away = if edge > y { (-1.2, -1.0) } else { (1.2, 1.0) };
        for x in [x1, x2] {
            if (edge - y).abs() > 1.0 {
                self.line((x, edge + away.1), (x, y + away.0), Line::Size);
            }
        }
        let middle = (x1 + x2) / 2.0;
        let mut spots = vec![
            Spot::flat(middle, y - 1.1, Anchor::Middle),
            Spot::flat(middle, y + 3.4, Anchor::Middle),
            Spot::flat(x2 + 1.8, y + 1.1, Anchor::Start),
            Spot::flat(x1 - 1.8, y + 1.1, Anchor::End),
            Spot::flat(x2 + 1.8, y - 1.1, Anchor::Start),
            Spot::flat(x1 - 1.8, y - 1.1, Anchor::End),
            Spot::flat(x1 - 0.6, y - 1.1, Anchor::End),
            Spot::flat(x2 + 0.6, y - 1.1, Anchor::Start),
            Spot::flat(x1 - 0.6, y + 3.4, Anchor::End),
            Spot::flat(x2 + 0.6, y + 3.4, Anchor::Start),
        ];
        spots.extend([-1.0, 1.0].map(|turn| Spot::flat(middle, y + 1.1 + turn * 6.0, Anchor::Middle)));
        self.letters.push((words.into(), spots));
    }

    /// A dimension from top to bottom in a column at `x`, its projection lines drawn from `edge`.
    pub(super) fn down(&mut self, (y1, y2): Place, edge: f64, x: f64, words: impl Into<String>) {
        self.stroke((x, y1), (x, y2));
        let away = if edge > x { (-1.2, -1.0) } else { (1.2, 1.0) };
        for y in [y1, y2] {
            if (edge - x).abs() > 1.0 {
                self.line((edge + away.1, y), (x + away.0, y), Line::Size);
            }
        }
        let middle = (y1 + y2) / 2.0;
        let turned = |x: f64, y: f64, anchor: Anchor| Spot { at: (x, y), anchor, turned: true };
        let spots = vec![
            turned(x - 1.1, middle, Anchor::Middle),
            turned(x + 3.4, middle, Anchor::Middle),
            Spot::flat(x + 1.6, middle + 1.1, Anchor::Start),
            Spot::flat(x - 1.6, middle + 1.1, Anchor::End),
            Spot::flat(x + 1.6, y1 - 0.9, Anchor::Start),
            Spot::flat(x + 1.6, y2 + 3.2, Anchor::Start),
            Spot::flat(x - 1.6, y1 - 0.9, Anchor::End),
            Spot::flat(x - 1.6, y2 + 3.2, Anchor::End),
            turned(x - 1.1, y1 - 1.6, Anchor::Start),
            turned(x - 1.1, y2 + 1.6, Anchor::End),
        ];
        self.letters.push((words.into(), spots));
    }

    /// A dimension line with an oblique stroke at each end. Source: ISO 129-1 allows strokes for arrows (from memory).
    fn stroke(&mut self, from: Place, to: Place) {
        self.line(from, to, Line::Size);
        for (x, y) in [from, to] {
            self.line((x - 0.8, y + 0.8), (x + 0.8, y - 0.8), Line::Thin);
        }
    }

    /// Words inside something, when they fit there.
    pub(super) fn inside(&mut self, (x, y): Place, (w, h): Place, words: impl Into<String>) {
        let words = words.into();
        let middle = (x + w / 2.0, y + h / 2.0);
        let flat = width(&words) + 2.0 <= w && h >= SIZE + 0.6;
        let turned = width(&words) + 2.0 <= h && w >= SIZE + 0.6;
        let spot = if flat {
            Spot::flat(middle.0, middle.1 + 1.1, Anchor::Middle)
        } else if turned {
            Spot { at: (middle.0 + 1.1, middle.1), anchor: Anchor::Middle, turned: true }
        } else {
            return self.letters.push((words, Vec::new()));
        };
        self.letters.push((words, vec![spot]));
    }

    /// Words inside something when they fit, else nowhere: for what is also said elsewhere.
    pub(super) fn inside_or_not(&mut self, at: Place, size: Place, words: &str) {
        let fits = (width(words) + 2.0 <= size.0 && size.1 >= SIZE + 0.6)
            || (width(words) + 2.0 <= size.1 && size.0 >= SIZE + 0.6);
        if fits {
            self.inside(at, size, words);
        }
    }

    /// Words beside a place: to the right of it, to the left, above or below.
    pub(super) fn beside(&mut self, (x, y): Place, words: impl Into<String>) {
        let spots = vec![
            Spot::flat(x + 1.6, y + 1.1, Anchor::Start),
            Spot::flat(x - 1.6, y + 1.1, Anchor::End),
            Spot::flat(x, y - 1.4, Anchor::Middle),
            Spot::flat(x, y + 3.8, Anchor::Middle),
            Spot::flat(x + 1.6, y - 1.4, Anchor::Start),
            Spot::flat(x + 1.6, y + 4.2, Anchor::Start),
        ];
        self.letters.push((words.into(), spots));
    }

    /// A rule of 100 mm to lay a real one to, its left end at a place; right only on a sheet printed at full size.
    pub(super) fn check_rule(&mut self, (x, y): Place) {
        self.line((x, y), (x + 100.0, y), Line::Rule);
        for tenth in 0..=10 {
            let at = x + f64::from(tenth) * 10.0;
            let long = if tenth % 10 == 0 { 2.4 } else { 1.0 };
            self.line((at, y - long), (at, y + long), Line::Rule);
        }
        self.letters.push((
            "check: 100 mm; if a rule laid here differs, this sheet is not at full size".into(),
            vec![Spot::flat(x, y + 6.6, Anchor::Start)],
        ));
    }

    /// Where the lines drawn so far end on the right and below.
    pub(super) fn corner(&self) -> Place {
        self.bounds().map_or((0.0, 0.0), |room| (room.2, room.3))
    }

    fn bounds(&self) -> Option<Room> {
        let points: Vec<Place> = self.segments.iter().flat_map(|(a, b)| [*a, *b]).collect();
        let all = bounds(&points).into_iter().chain(self.rooms.iter().copied());
        all.reduce(|a, b| Room(a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3)))
    }

    fn is_free(&self, room: Room) -> bool {
        let wide = Room(room.0 - AIR, room.1 - AIR, room.2 + AIR, room.3 + AIR);
        !self.rooms.iter().any(|one| one.meets(wide)) && !self.segments.iter().any(|one| wide.is_crossed(*one))
    }

    fn letter(&mut self, words: &str, spot: Spot) {
        self.rooms.push(spot.room(words));
        self.shapes.push(Shape::Words {
            at: spot.at,
            anchor: spot.anchor,
            turned: spot.turned,
            words: words.to_owned(),
        });
    }

    /// Letters everything; what finds no place is written in lines under the drawing.
    pub(super) fn finish(mut self, title: &str, says: String, caption: String, scale: Scale) -> Drawing {
        let mut left_over: Vec<String> = Vec::new();
        let drawn = self.bounds().unwrap_or(Room(0.0, 0.0, 0.0, 0.0));
        for (words, spots) in std::mem::take(&mut self.letters) {
            let so_far = self.bounds().unwrap_or(drawn);
            let within = |spot: &Spot| {
                let room = spot.room(&words);
                room.2.max(so_far.2) - room.0.min(so_far.0) <= WIDEST
            };
            match spots.into_iter().find(|spot| within(spot) && self.is_free(spot.room(&words))) {
                Some(spot) => self.letter(&words, spot),
                None if !left_over.contains(&words) => left_over.push(words),
                None => {}
            }
        }
        let room = self.bounds().unwrap_or(drawn);
        let wide = (room.2 - room.0).max(110.0);
        let mut y = room.3 + 2.0;
        for line in lines(&left_over.join("; "), wide) {
            y += 4.4;
            self.letter(&line, Spot::flat(room.0, y, Anchor::Start));
        }
        let room = self.bounds().unwrap_or(drawn);
        Drawing {
            title: title.to_owned(),
            says,
            caption,
            scale,
            left: room.0 - MARGIN,
            top: room.1 - MARGIN,
            width: room.2 - room.0 + MARGIN * 2.0,
            height: room.3 - room.1 + MARGIN * 2.0,
            shapes: self.shapes,
        }
    }
}

fn bounds(points: &[Place]) -> Option<Room> {
    points
        .iter()
        .map(|(x, y)| Room(*x, *y, *x, *y))
        .reduce(|a, b| Room(a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3)))
}
