//! Ways with a turn in them: from a corridor through a door in its side, over a half landing, into a van with wheel arches.

use super::motion::{Ground, Shown};
use super::{above_zero, caution, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// What a piece is carried through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Place {
    /// A corridor, a door in its side, the wall's thickness, and the depth of the room behind it.
    SideDoor([Length; 4]),
    /// The width of a flight, the well between the two, and the depth of the landing.
    Landing([Length; 3]),
    /// Two corridors that meet at a right angle.
    Corner([Length; 2]),
}

impl Place {
    fn sides(&self) -> &[Length] {
        match self {
            Self::SideDoor(all) => all,
            Self::Landing(all) => all,
            Self::Corner(all) => all,
        }
    }

    fn ground(&self, long: Length) -> Ground {
        let (mm, long) = (Length::to_mm, long.to_mm());
        match *self {
            Self::SideDoor([corridor, door, wall, room]) => {
                Ground::side_door(mm(corridor), mm(door), mm(wall), mm(room), long)
            }
            Self::Landing([flight, well, deep]) => Ground::landing(mm(flight), mm(well), mm(deep), long),
            Self::Corner([a, b]) => Ground::corner(mm(a), mm(b), long),
        }
    }

    fn assumed(&self) -> &'static str {
        match self {
            Self::SideDoor(_) => "carried level on edge, the door off or flat to the wall; rigid, no padding, no hands",
            Self::Landing(_) => {
                "flights taken level; held along the pitch a longer piece may pass where the height allows; rigid, no padding, no handrail, no hands"
            }
            Self::Corner(_) => "carried level on edge; rigid, no padding, no hands",
        }
    }
}

/// A piece carried level on edge through a place with a turn in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    long: Length,
    thick: Length,
    place: Place,
    shown: Shown,
}

impl Route {
    /// A piece so long and thick in plan; whether it is low enough is another matter.
    ///
    /// # Errors
    /// When a length is zero or less, but for a well or a wall, which may be zero.
    pub fn new(long: Length, thick: Length, place: Place) -> Result<Self, Message> {
        above_zero("length of the piece", long)?;
        above_zero("thickness of the piece", thick)?;
        for side in place.sides() {
            zero_or_more("side of the way", *side)?;
        }
        // Far longer than the way is wide nothing is tried.
        let tried = long <= place.sides().iter().copied().sum::<Length>() * 10.0;
        let shown = if tried { place.ground(long).shown(long.to_mm(), thick.to_mm()) } else { Shown::Open };
        Ok(Self { long, thick, place, shown })
    }

    /// What was shown.
    pub fn shown(&self) -> Shown {
        self.shown
    }
}

thing!(Route, "a way with a turn", |route| vec![
    route.long.into(), " by ".into(), route.thick.into(), ": ".into(), route.shown.words().into(),
], {
    passes "Whether a motion was found that brings it through." =>
        Found::stated(route.shown == Shown::Passes).beware(caution::PASSAGE),
    shown "What was shown: a motion that works, that there is none, or neither." =>
        Found::stated(route.shown.words()).beware(caution::PASSAGE),
    assumed "What was taken for granted." => Found::stated(route.place.assumed()).beware(caution::PASSAGE),
});

/// The inside of a van, and the rear door it is loaded by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Van {
    /// Inside width, length and height.
    pub inside: [Length; 3],
    /// Between the wheel arches, and how high they are.
    pub arches: (Length, Length),
    /// Clear width and height of the rear door.
    pub door: (Length, Length),
}

/// A panel slid straight into a van from behind, upright, flat or leaning at one angle.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    panel: (Length, Length),
    thickness: Length,
    van: Van,
}

impl Load {
    /// A panel of two sides and a thickness, and a van.
    ///
    /// # Errors
    /// When a length is zero or less, or the arches leave more between them than the van is wide.
    pub fn new(panel: (Length, Length), thickness: Length, van: Van) -> Result<Self, Message> {
        let [width, length, height] = van.inside;
        for (what, side) in [
            ("width of the panel", panel.0),
            ("height of the panel", panel.1),
            ("thickness of the panel", thickness),
            ("width of the van", width),
            ("length of the van", length),
            ("height of the van", height),
            ("room between the arches", van.arches.0),
            ("width of the door", van.door.0),
            ("height of the door", van.door.1),
        ] {
            above_zero(what, side)?;
        }
        zero_or_more("height of the arches", van.arches.1)?;
        if !van.arches.0.fits(width) {
            return Err(Message::new(
                format!("{} between the arches of a van {} wide", said(van.arches.0), said(width)),
                "give the inside width first, then what the arches leave between them",
            ));
        }
        Ok(Self { panel, thickness, van })
    }

    /// Whether it slides straight in, held at one angle all the way, clear of the arches and the door's frame.
    pub fn passes(&self) -> bool {
        let [_, length, _] = self.van.inside;
        let slides = |across: Length, along: Length| along.fits(length) && self.section_takes(across);
        slides(self.panel.0, self.panel.1) || slides(self.panel.1, self.panel.0)
    }

    /// Whether a section of this width and the panel's thickness lies in the section of the van.
    fn section_takes(&self, across: Length) -> bool {
        let [width, _, height] = self.van.inside;
        let ((between, arch), door) = (self.van.arches, self.van.door);
        let (wide, high) = (width.min(door.0), height.min(door.1));
        let lies = |a: Length, b: Length| {
            let floor = a.fits(between.min(wide)) && b.fits(high);
            floor || (a.fits(wide) && b.fits(high - arch))
        };
        if lies(across, self.thickness) || lies(self.thickness, across) {
            return true;
        }
        let (w, h, half) = (wide.to_mm(), high.to_mm(), (wide - between).max(Length::ZERO).to_mm() / 2.0);
        let far = 1e8;
        let ground = Ground {
            walls: vec![
                [-far, 0.0, -far, far],
                [w, far, -far, far],
                [-far, far, -far, 0.0],
                [-far, far, h, far],
                [-far, half, -far, arch.to_mm()],
                [w - half, far, -far, arch.to_mm()],
            ],
            from: [0.0, w, 0.0, h],
            to: [0.0, w, 0.0, h],
            reach: [0.0, w, 0.0, h],
        };
        ground.holds(across.to_mm(), self.thickness.to_mm())
    }
}

thing!(Load, "a load in a van", |load| vec![if load.passes() { "goes in the van".into() } else { "not shown to go in the van".into() }], {
    passes "Whether it slides straight in from behind, held at one angle, clear of arches and door." =>
        Found::stated(load.passes()).beware(caution::PASSAGE),
    assumed "What was taken for granted." =>
        Found::stated("slid straight in and held at one angle, the arches as long as the van; rigid, no padding, no straps, no hands")
            .beware(caution::PASSAGE),
});
