//! The way out of the building: doors, corners and lift cars a piece must pass.

use super::motion::{Ground, Shown};
use super::{above_zero, caution, pair, said};
use crate::measure::{Angle, Length};
use crate::{Found, Message};

/// Least clear width of a door. Source: 2010 ADA Standards 404.2.3 (from memory; read in a state code that copies it).
pub const DOOR: Length = Length::inch(32.0);

/// Least clear height of a way through. Source: 2010 ADA Standards 404.2.3 (from memory).
pub const DOOR_HEIGHT: Length = Length::inch(80.0);

/// Whether a section of `p` × `q` goes through an opening of `a` × `b`, turned in its plane if need be.
///
/// With p ≥ q and a ≥ b: p ≤ a and q ≤ b, or p > a, q ≤ b and
/// b ≥ (2pqa + (p² − q²) √(p² + q² − a²)) ÷ (p² + q²).
///
/// Source: Carver, American Mathematical Monthly 64 (1957), 114–116 (from memory, compared with turning step by step).
pub fn goes_through((p, q): (Length, Length), (a, b): (Length, Length)) -> bool {
    let ((p, q), (a, b)) = ((p.max(q), p.min(q)), (a.max(b), a.min(b)));
    if p.fits(a) {
        return q.fits(b);
    }
    // What slack there is, is the opening's.
    let ((p, q), (a, b)) = ((p.to_mm(), q.to_mm()), ((a + Length::SLACK).to_mm(), (b + Length::SLACK).to_mm()));
    let square = p * p + q * q;
    q <= b && square >= a * a && b * square >= 2.0 * p * q * a + (p * p - q * q) * (square - a * a).sqrt()
}

/// A panel carried on edge to a door.
#[derive(Clone, Debug, PartialEq)]
pub struct Doorway {
    panel: (Length, Length),
    thickness: Length,
    door: (Length, Length),
}

impl Doorway {
    /// A panel of two sides and a thickness at a door of clear width and height.
    ///
    /// # Errors
    /// When a length is zero or less.
    pub fn new(panel: (Length, Length), thickness: Length, door: (Length, Length)) -> Result<Self, Message> {
        for (what, side) in [
            ("width of the panel", panel.0),
            ("height of the panel", panel.1),
            ("thickness of the panel", thickness),
            ("width of the door", door.0),
            ("height of the door", door.1),
        ] {
            above_zero(what, side)?;
        }
        Ok(Self { panel, thickness, door })
    }

    /// The side that stands in the door while the other goes through: the shorter.
    fn leading(&self) -> Length {
        self.panel.0.min(self.panel.1)
    }

    /// Whether it goes through, upright or tilted.
    pub fn passes(&self) -> bool {
        goes_through((self.leading(), self.thickness), self.door)
    }

    /// Whether it goes through only tilted.
    pub fn tilted(&self) -> bool {
        let upright = self.leading().fits(self.door.1) && self.thickness.fits(self.door.0);
        self.passes() && !upright
    }

    /// The longest leading side that still goes through at this thickness; nothing when it is too thick at any.
    pub fn longest(&self) -> Option<Length> {
        longest_through(self.thickness, self.door)
    }
}

/// The longest side of a section of this thickness that goes through an opening; nothing when it is too thick.
pub fn longest_through(thickness: Length, opening: (Length, Length)) -> Option<Length> {
    let (mut low, mut high) = (thickness, opening.0 + opening.1);
    if !goes_through((low, thickness), opening) {
        return None;
    }
    for _ in 0..100 {
        let middle = (low + high) / 2.0;
        if goes_through((middle, thickness), opening) { low = middle } else { high = middle }
    }
    Some(low)
}

thing!(Doorway, "a way through a door", |way| vec![
    if way.passes() { "passes a door ".into() } else { "does not pass a door ".into() }, pair(way.door.0, way.door.1),
], {
    passes "Whether it goes through, upright or tilted." => Found::stated(way.passes()).beware(caution::PASSAGE),
    tilted "Whether it goes through only tilted." => Found::stated(way.tilted()).beware(caution::PASSAGE),
    door "Clear width and height of the door it was held against." => Found::stated(pair(way.door.0, way.door.1)).beware(caution::PASSAGE),
    longest "The longest leading side that goes through at this thickness; none when it is too thick." =>
        way.longest().map(|longest| Found::stated(longest).beware(caution::PASSAGE)),
});

/// The longest piece of this thickness that is carried level round a corner between corridors `a` and `b` wide.
///
/// The least over all angles of a ÷ sin θ + b ÷ cos θ − t ÷ (sin θ cos θ). Source: ladder round a corner, with
/// thickness (identity).
///
/// # Errors
/// When a length is zero or less, or the piece is as thick as a corridor.
pub fn longest_round_corner(thickness: Length, a: Length, b: Length) -> Result<Found, Message> {
    above_zero("thickness", thickness)?;
    above_zero("width of the first corridor", a)?;
    above_zero("width of the second corridor", b)?;
    if thickness >= a.min(b) {
        return Err(Message::new("the piece is as thick as the corridor", "carry it upright, or find another way"));
    }
    let length = |angle: Angle| {
        let (sin, cos) = angle.to_radians().sin_cos();
        a / sin + b / cos - thickness / (sin * cos)
    };
    let (mut low, mut high) = (Angle::degrees(0.0), Angle::degrees(90.0));
    for _ in 0..200 {
        let third = (high - low) / 3.0;
        if length(low + third) < length(high - third) { high = high - third } else { low = low + third }
    }
    let longest = length((low + high) / 2.0);
    above_zero("longest piece", longest)?;
    let from = [a.into(), b.into(), thickness.into()];
    Ok(Found::by(longest, "least of {} ÷ sin θ + {} ÷ cos θ − {} ÷ (sin θ cos θ)", from).beware(caution::PASSAGE))
}

/// What a lift's door stands back behind its wall, by default. Source: common practice, no source.
pub const JAMB: Length = Length::inch(3.0);

/// A lift car and its door.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Car {
    /// Clear width and height of the door.
    pub door: (Length, Length),
    /// Inside width, depth and height.
    pub inside: [Length; 3],
    /// From the left wall of the car to the door; in the middle, and said to be assumed, by default.
    pub door_from: Option<Length>,
    /// From the hall to the inside of the car, through the door.
    pub jamb: Length,
    /// Depth of the hall before the door; open by default.
    pub hall: Option<Length>,
}

impl Car {
    /// From the left wall of the car to the door.
    fn from(&self) -> Length {
        let [width, ..] = self.inside;
        self.door_from.unwrap_or_else(|| ((width - self.door.0) / 2.0).max(Length::ZERO))
    }

    /// Whether a piece so long and thick in plan is shown to get in, moved and turned level on the floor.
    fn takes(&self, long: Length, thick: Length) -> Shown {
        let [width, depth, _] = self.inside;
        if long.fits(depth) && thick.fits(self.door.0.min(width)) {
            return Shown::Passes;
        }
        if !goes_through((long, thick), (width, depth)) {
            return Shown::DoesNot;
        }
        self.ground(long).shown(long.to_mm(), thick.to_mm())
    }

    fn ground(&self, long: Length) -> Ground {
        let [width, depth, _] = self.inside;
        let door = (self.from().to_mm(), (self.from() + self.door.0).min(width).to_mm());
        let inside = (width.to_mm(), depth.to_mm());
        Ground::car(inside, door, self.jamb.to_mm(), self.hall.map(Length::to_mm), long.to_mm())
    }

    /// What was taken for granted, in words.
    fn assumed(&self) -> String {
        let place = match self.door_from {
            Some(from) => format!("the door {} from the left wall", said(from)),
            None => "the door taken to be in the middle, tell where it is".to_owned(),
        };
        let hall =
            self.hall.map_or_else(|| "an open hall before it".to_owned(), |hall| format!("a hall {} deep", said(hall)));
        format!("{place}, a jamb of {}, {hall}; rigid, level, no padding, no handrail, no hands", said(self.jamb))
    }
}

/// The least lift car of one kind that the accessibility standard allows; a car in a building may be larger or older.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeastCar {
    name: &'static str,
    door: Length,
    width: Length,
    to_return: Length,
    to_door: Length,
}

const fn least(name: &'static str, door: f64, width: f64, to_return: f64, to_door: f64) -> LeastCar {
    LeastCar {
        name,
        door: Length::inch(door),
        width: Length::inch(width),
        to_return: Length::inch(to_return),
        to_door: Length::inch(to_door),
    }
}

// Inches: clear door; side to side; back wall to front return; back wall to inside face of the door.
// Source: 2010 ADA Standards, Table 407.4.1 (80, 68, 51 and 54 in read in pages for owners of lifts, the rest from memory:
// check before use), and 408.4.1 for limited-use cars (read in two
// state codes that reproduce it; one depth is given there).
const CARS: &[LeastCar] = &[
    least("centred", 42.0, 80.0, 51.0, 54.0),
    least("off-centre", 36.0, 68.0, 51.0, 54.0),
    least("deep", 36.0, 54.0, 80.0, 80.0),
    least("square", 36.0, 60.0, 60.0, 60.0),
    least("limited use", 32.0, 42.0, 54.0, 54.0),
];

impl LeastCar {
    /// The least car with a door `centred` or `off-centre`, `deep` or `square` with its door anywhere, or of `limited use`.
    ///
    /// # Errors
    /// When there is none of that name.
    pub fn named(name: &str) -> Result<Self, Message> {
        CARS.iter().find(|one| super::spelling::is_same(one.name, name)).copied().ok_or_else(|| {
            let names: Vec<_> = CARS.iter().map(|one| one.name).collect();
            Message::new(format!("no kind of lift car is called `{name}`"), format!("use one of {}", names.join(", ")))
        })
    }
}

thing!(LeastCar, "a lift car", |car| vec![
    "least ".into(), car.name.into(), " car, ".into(), pair(car.width, car.to_return), ", door ".into(), car.door.into(),
], {
    door "Clear width of the door." => Found::stated(car.door).beware(caution::PASSAGE),
    width "From side to side." => Found::stated(car.width).beware(caution::PASSAGE),
    depth "From the back wall to the front return." => Found::stated(car.to_return).beware(caution::PASSAGE),
    depth_to_door "From the back wall to the inside of the door." => Found::stated(car.to_door).beware(caution::PASSAGE),
});

/// A panel that stands on edge in a lift car.
#[derive(Clone, Debug, PartialEq)]
pub struct Ride {
    panel: (Length, Length),
    thickness: Length,
    car: Car,
    shown: Shown,
}

impl Ride {
    /// A panel of two sides and a thickness, and a car.
    ///
    /// # Errors
    /// When a length is zero or less.
    pub fn new(panel: (Length, Length), thickness: Length, car: Car) -> Result<Self, Message> {
        Doorway::new(panel, thickness, car.door)?;
        for side in car.inside {
            above_zero("side of the car", side)?;
        }
        super::zero_or_more("jamb", car.jamb)?;
        super::zero_or_more("place of the door", car.from())?;
        if let Some(hall) = car.hall {
            above_zero("depth of the hall", hall)?;
        }
        let [width, _, height] = car.inside;
        if car.door_from.is_some() && !(car.from() + car.door.0).fits(width) {
            return Err(Message::new(
                format!(
                    "a door {} wide, {} from the left wall, is not in a car {} wide",
                    said(car.door.0),
                    said(car.from()),
                    said(width)
                ),
                "give the inside width of the car first, and the door's place from its left wall",
            ));
        }
        let on_edge = |up: Length, along: Length| {
            let upright = up.fits(height) && up.fits(car.door.1);
            if upright { car.takes(along, thickness) } else { Shown::DoesNot }
        };
        let shown = match (on_edge(panel.0, panel.1), on_edge(panel.1, panel.0)) {
            (Shown::Passes, _) | (_, Shown::Passes) => Shown::Passes,
            (Shown::DoesNot, Shown::DoesNot) => Shown::DoesNot,
            _ => Shown::Open,
        };
        Ok(Self { panel, thickness, car, shown })
    }

    /// Whether a motion was found that brings it in at the door, upright on one of its sides, until the door closes behind it.
    ///
    /// A panel tipped on one corner may lie in the car where this says no: [`Ride::tipped`].
    pub fn stands(&self) -> bool {
        self.shown == Shown::Passes
    }

    /// Whether it fits in the car tipped in an upright plane between floor and ceiling: along the width, along the depth, or
    /// from corner to corner of the floor. Bare geometry of the car; whether there is room to tip it on the way in is not tried.
    pub fn tipped(&self) -> bool {
        let [width, depth, height] = self.car.inside;
        let leading = self.panel.0.min(self.panel.1);
        let along = [
            (self.thickness <= depth).then_some(width),
            (self.thickness <= width).then_some(depth),
            longest_through(self.thickness, self.floor()),
        ];
        goes_through((leading, self.thickness), self.car.door)
            && along.into_iter().flatten().any(|along| goes_through(self.panel, (along, height)))
    }

    fn floor(&self) -> (Length, Length) {
        let [width, depth, _] = self.car.inside;
        (width, depth)
    }

    /// The longest thin rod in the car, corner to corner: √(w² + d² + h²).
    pub fn rod(&self) -> Length {
        let [width, depth, height] = self.car.inside.map(Length::to_mm);
        Length::mm(width.hypot(depth).hypot(height))
    }
}

thing!(Ride, "a ride in a lift car", |ride| vec![match ride.shown {
    Shown::Passes => "gets in the car".into(),
    Shown::DoesNot => "does not get in the car".into(),
    Shown::Open => "not shown to get in the car".into(),
}], {
    passes "Whether a motion was found that brings it in at the door, upright on edge or on end, until the door closes behind it." =>
        Found::stated(ride.stands()).beware(caution::PASSAGE),
    shown "What was shown: a motion that works, that there is none, or neither." =>
        Found::stated(ride.shown.words()).beware(caution::PASSAGE),
    assumed "What was taken for granted of door, jamb and hall." => Found::stated(ride.car.assumed()).beware(caution::PASSAGE),
    fits_inside "Whether it would lie in the car with its door away, on edge or on end; getting in is another matter." => {
        let [width, depth, height] = ride.car.inside;
        let on_edge = |up: Length, along: Length| up.fits(height) && goes_through((along, ride.thickness), (width, depth));
        Found::stated(on_edge(ride.panel.0, ride.panel.1) || on_edge(ride.panel.1, ride.panel.0)).beware(caution::PASSAGE)
    },
    tipped "Whether it fits in the car on one corner, tipped between floor and ceiling, and goes through the door; room to tip it is another matter." =>
        Found::stated(ride.tipped()).beware(caution::PASSAGE),
    rod "The longest thin rod in the car, corner to corner." =>
        Found::by(ride.rod(), "√({}² + {}² + {}²)", ride.car.inside.map(Into::into)).beware(caution::PASSAGE),
    longest_on_floor "The longest side of this thickness that lies corner to corner of the floor." =>
        longest_through(ride.thickness, ride.floor()).map(|longest| Found::stated(longest).beware(caution::PASSAGE)),
});
