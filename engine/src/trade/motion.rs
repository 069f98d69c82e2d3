//! A rigid piece carried through a plan of walls: places and turns swept, and no more said than was shown.
//!
//! The piece is a rectangle in plan, as a picture on edge is seen from above. The turn is cut into slices and one side of the
//! plan into strips; along the other side what is free is found exactly, as spans. A slice and strip are counted free for
//! *sure* where a piece enlarged by what it turns in the slice touches no wall anywhere in the strip, and as *possible* where a
//! piece shrunk by as much does so somewhere. Spans that touch from strip to strip and slice to slice are joined: joined sure
//! spans are a motion that works, and where not even possible spans join there is none. In between nothing is shown.
//!
//! Source: cell decomposition of the space of positions and turns; the walls grown by the piece are Minkowski sums (identity).

use std::f64::consts::PI;

/// A wall seen from above: from left to right, from front to back.
pub(super) type Wall = [f64; 4];

/// What a sweep shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// A motion that works.
    Passes,
    /// That there is none.
    DoesNot,
    /// Neither, at the finest step.
    Open,
}

/// Walls, where the piece begins, where it must come to lie, and how far the plan reaches.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Ground {
    pub(super) walls: Vec<Wall>,
    pub(super) from: Wall,
    pub(super) to: Wall,
    pub(super) reach: Wall,
}

impl Shown {
    /// In words, as they stand on a page.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Passes => "a motion that works was found",
            Self::DoesNot => "no motion works",
            Self::Open => "too close to say: neither a motion nor that there is none was shown",
        }
    }
}

/// As far as any wall reaches, in millimetres.
const FAR: f64 = 1e8;

/// How finely: strips and slices of the half turn, each finer than the one before.
const LEVELS: [(u32, u32); 5] = [(48, 60), (96, 120), (192, 240), (384, 480), (768, 960)];

impl Ground {
    /// From a hall into a car `wide` and `deep`, whose door opens `from` to `to` along its width behind a jamb; the hall is open
    /// unless its depth is told.
    pub(super) fn car(
        (wide, deep): (f64, f64),
        (from, to): (f64, f64),
        jamb: f64,
        hall: Option<f64>,
        long: f64,
    ) -> Self {
        let front = -jamb - hall.unwrap_or(1.3 * long);
        Self {
            walls: vec![
                [-FAR, 0.0, -jamb, FAR],
                [wide, FAR, -jamb, FAR],
                [-FAR, FAR, deep, FAR],
                [-FAR, from, -jamb, 0.0],
                [to, FAR, -jamb, 0.0],
                [-FAR, FAR, -FAR, front],
            ],
            from: [-FAR, FAR, front, -jamb],
            to: [0.0, wide, 0.0, deep],
            reach: [from - 0.7 * long, to + 0.7 * long, front, deep],
        }
    }

    /// Round a right-angled corner between two corridors.
    pub(super) fn corner(a: f64, b: f64, long: f64) -> Self {
        Self {
            walls: vec![[-FAR, FAR, a, FAR], [b, FAR, -FAR, FAR], [-FAR, 0.0, -FAR, 0.0]],
            from: [-FAR, 0.0, 0.0, a],
            to: [0.0, b, -FAR, 0.0],
            reach: [-1.1 * long, b, -1.1 * long, a],
        }
    }

    /// From a corridor through a door in its side, in a wall so thick, into a room so deep.
    pub(super) fn side_door(corridor: f64, door: f64, wall: f64, room: f64, long: f64) -> Self {
        let inner = corridor + wall;
        Self {
            walls: vec![
                [-FAR, FAR, -FAR, 0.0],
                [-FAR, 0.0, corridor, inner],
                [door, FAR, corridor, inner],
                [-FAR, FAR, inner + room, FAR],
            ],
            from: [-FAR, FAR, 0.0, corridor],
            to: [-FAR, FAR, inner, inner + room],
            reach: [-1.1 * long, door + 1.1 * long, 0.0, inner + room],
        }
    }

    /// From one flight of stairs to the other beside it over a half landing, all taken level.
    pub(super) fn landing(flight: f64, well: f64, deep: f64, long: f64) -> Self {
        let wide = 2.0 * flight + well;
        Self {
            walls: vec![
                [-FAR, 0.0, -FAR, FAR],
                [wide, FAR, -FAR, FAR],
                [-FAR, FAR, deep, FAR],
                [flight, flight + well, -FAR, 0.0],
            ],
            from: [0.0, flight, -FAR, 0.0],
            to: [flight + well, wide, -FAR, 0.0],
            reach: [0.0, wide, -1.1 * long, deep],
        }
    }

    /// Whether a section `long` by `thick` lies anywhere between the walls, at any angle: shown for sure only.
    pub(super) fn holds(&self, long: f64, thick: f64) -> bool {
        let (strips, slices) = (192, 480);
        let half = PI / f64::from(slices) / 2.0;
        let mut groups = Groups::new();
        (0..slices).any(|slice| {
            let turned = Turned::new(long / 2.0, thick / 2.0, f64::from(slice) * 2.0 * half + half, half, true);
            !self.row(&turned, strips, true, &mut groups).spans.is_empty()
        })
    }

    /// What is shown of a piece so long and thick, from coarse to fine until something is.
    pub(super) fn shown(&self, long: f64, thick: f64) -> Shown {
        for (index, level) in LEVELS.iter().enumerate() {
            if self.joins(long, thick, *level, true) {
                return Shown::Passes;
            }
            // The last and dearest step looks for a motion only.
            if index + 1 < LEVELS.len() && !self.joins(long, thick, *level, false) {
                return Shown::DoesNot;
            }
        }
        Shown::Open
    }

    fn joins(&self, long: f64, thick: f64, (strips, slices): (u32, u32), sure: bool) -> bool {
        let mut groups = Groups::new();
        let half = PI / f64::from(slices) / 2.0;
        let (mut first, mut before): (Option<Row>, Option<Row>) = (None, None);
        for slice in 0..slices {
            let turned = Turned::new(long / 2.0, thick / 2.0, f64::from(slice) * 2.0 * half + half, half, sure);
            let row = self.row(&turned, strips, sure, &mut groups);
            row.within(&mut groups);
            if let Some(before) = &before {
                row.beside(before, &mut groups);
            }
            before = Some(row);
            if slice == 0 {
                first.clone_from(&before);
            }
        }
        // After half a turn a rectangle looks as it did.
        if let (Some(first), Some(last)) = (&first, &before) {
            first.beside(last, &mut groups);
        }
        groups.root(FROM) == groups.root(TO)
    }

    /// The free spans of every strip at one turn.
    fn row(&self, turned: &Turned, strips: u32, sure: bool, groups: &mut Groups) -> Row {
        let [left, right, front, back] = self.reach;
        let step = (right - left) / f64::from(strips);
        let mut row = Row { spans: Vec::new(), ends: Vec::with_capacity(strips as usize) };
        let mut blocked: Vec<(f64, f64)> = Vec::with_capacity(self.walls.len());
        for strip in 0..strips {
            let x = (left + f64::from(strip) * step, left + f64::from(strip + 1) * step);
            blocked.clear();
            blocked.extend(self.walls.iter().filter_map(|wall| turned.blocks(wall, x, sure)));
            blocked.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
            let mut at = front;
            for (low, high) in blocked.iter().copied().chain([(back, back)]) {
                if low.min(back) > at {
                    let span = (at, low.min(back));
                    let node = groups.add();
                    for (end, place) in [(FROM, &self.from), (TO, &self.to)] {
                        if turned.lies_in(place, x, span) {
                            groups.join(end, node);
                        }
                    }
                    row.spans.push((span, node));
                }
                at = at.max(high);
            }
            row.ends.push(row.spans.len());
        }
        row
    }
}

/// The piece at one slice of the turn: half as wide and high as it stands there, and the profile of its upper side.
struct Turned {
    wide: f64,
    high: f64,
    /// Where along its width the uppermost corner is, mirrored when `mirrored`.
    peak: f64,
    /// How steeply the upper side falls off to the left of the peak, and to the right.
    falls: (f64, f64),
    mirrored: bool,
}

impl Turned {
    /// Half sides `a` and `b`, turned by `angle` and up to `half` more or less: enlarged to hold all of them, or shrunk to lie
    /// in all of them.
    fn new(a: f64, b: f64, angle: f64, half: f64, sure: bool) -> Self {
        let (sin, cos) = half.sin_cos();
        let (a, b) = if sure {
            (a * cos + b * sin, b * cos + a * sin)
        } else {
            let thin = ((b - a * sin) / cos).max(0.0);
            (((b - thin * cos) / sin).min((a - thin * sin) / cos).max(0.0), thin)
        };
        let mirrored = angle > PI / 2.0;
        let (sin, cos) = if mirrored { (PI - angle).sin_cos() } else { angle.sin_cos() };
        Self {
            wide: a * cos + b * sin,
            high: a * sin + b * cos,
            peak: a * cos - b * sin,
            falls: (sin / cos.max(1e-12), cos / sin.max(1e-12)),
            mirrored,
        }
    }

    /// The highest point of the upper side between `from` and `to`, as a height over the middle; nothing beyond its ends.
    fn top(&self, from: f64, to: f64) -> Option<f64> {
        let (from, to) = if self.mirrored { (-to, -from) } else { (from, to) };
        if to < -self.wide || from > self.wide {
            return None;
        }
        Some(if to < self.peak {
            self.high - (self.peak - to) * self.falls.0
        } else if from > self.peak {
            self.high - (from - self.peak) * self.falls.1
        } else {
            self.high
        })
    }

    /// Between which places of its middle the piece touches a wall: anywhere in the strip, or everywhere in it.
    fn blocks(&self, [left, right, front, back]: &Wall, (x0, x1): (f64, f64), sure: bool) -> Option<(f64, f64)> {
        let at = |x0: f64, x1: f64| {
            let up = self.top(x0 - right, x1 - left)?;
            // The lower side is the upper one turned by half a turn.
            let down = self.top(left - x1, right - x0)?;
            Some((front - down, back + up))
        };
        if sure {
            return at(x0, x1);
        }
        let (a, b) = (at(x0, x0)?, at(x1, x1)?);
        let (low, high) = (a.0.max(b.0), a.1.min(b.1));
        (low < high).then_some((low, high))
    }

    /// Whether somewhere in the strip and the span all of the piece lies in a place.
    fn lies_in(&self, [left, right, front, back]: &Wall, (x0, x1): (f64, f64), (y0, y1): (f64, f64)) -> bool {
        let meets = |a: (f64, f64), b: (f64, f64)| a.0.max(b.0) <= a.1.min(b.1);
        meets((x0, x1), (left + self.wide, right - self.wide)) && meets((y0, y1), (front + self.high, back - self.high))
    }
}

type Span = ((f64, f64), usize);

/// The free spans of one slice, strip after strip.
#[derive(Clone)]
struct Row {
    spans: Vec<Span>,
    /// How many spans there are up to the end of each strip.
    ends: Vec<usize>,
}

impl Row {
    fn strips(&self) -> impl Iterator<Item = &[Span]> {
        let mut from = 0;
        self.ends.iter().map(move |end| self.spans.get(std::mem::replace(&mut from, *end)..*end).unwrap_or_default())
    }

    /// Joins what touches from strip to strip.
    fn within(&self, groups: &mut Groups) {
        for (a, b) in self.strips().zip(self.strips().skip(1)) {
            touch(a, b, groups);
        }
    }

    /// Joins what touches from slice to slice.
    fn beside(&self, other: &Self, groups: &mut Groups) {
        for (a, b) in self.strips().zip(other.strips()) {
            touch(a, b, groups);
        }
    }
}

fn touch(some: &[Span], others: &[Span], groups: &mut Groups) {
    for (a, one) in some {
        for (b, other) in others {
            if a.0.max(b.0) < a.1.min(b.1) {
                groups.join(*one, *other);
            }
        }
    }
}

const FROM: usize = 0;
const TO: usize = 1;

/// Which spans hang together: a union-find.
struct Groups(Vec<usize>);

impl Groups {
    fn new() -> Self {
        Self(vec![FROM, TO])
    }

    fn add(&mut self) -> usize {
        self.0.push(self.0.len());
        self.0.len() - 1
    }

    fn root(&mut self, of: usize) -> usize {
        let mut at = of;
        while let Some(up) = self.0.get(at).copied().filter(|up| *up != at) {
            let over = self.0.get(up).copied().unwrap_or(up);
            if let Some(here) = self.0.get_mut(at) {
                *here = over;
            }
            at = over;
        }
        at
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if let Some(up) = self.0.get_mut(a.max(b)) {
            *up = a.min(b);
        }
    }
}
