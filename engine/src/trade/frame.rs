//! Frames: the float frame a mounted print stands in, and the rabbeted frame that holds glass.

use super::moulding::{Moulding, Weight, ring};
use super::{above_zero, caution, each, pair, said, zero_or_more};
use crate::measure::{Angle, Length, Mass};
use crate::{Found, Message, Value};

/// Faces of moulding that the four mitres of a frame take besides its inside.
pub const MITRE_FACES: f64 = 8.0;

/// How thick the ledge under the board is. Source: common practice, no source.
pub const LEDGE: Length = Length::inch(0.5);
/// How far the print stands back behind the front edge. Source: common practice, no source.
pub const SETBACK: Length = Length::inch(0.25);
/// How much larger the rabbet is than the glass, both sides together. Source: common practice, no source.
pub const ALLOWANCE: Length = Length::inch(0.125);

/// A frame with the print floating in it, a gap all round and nothing over its face.
#[derive(Clone, Debug, PartialEq)]
pub struct FloatFrame {
    art: (Length, Length),
    gap: Length,
    face: Length,
    stick: Option<Length>,
    board: Length,
    ledge: Length,
    setback: Length,
    weight: Weight,
    ledge_stick: Option<(Length, Weight)>,
}

/// What a float frame is made to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FloatFrameSizes {
    /// Width and height of the mounted piece.
    pub art: (Length, Length),
    /// What stays open between the piece and the frame, on each side.
    pub gap: Length,
    /// Face of the moulding.
    pub face: Length,
    /// Depth of the stick it is cut from; without one it is just deep enough.
    pub stick: Option<Length>,
    /// Thickness of print, laminate and board together.
    pub board: Length,
    /// Thickness of the ledge and back space behind the board.
    pub ledge: Length,
    /// How far the print stands back behind the front edge.
    pub setback: Length,
    /// What the moulding weighs.
    pub weight: Weight,
    /// Width and weight of the stick the ledge is made of, where it is a frame of its own behind the board.
    pub ledge_stick: Option<(Length, Weight)>,
}

impl FloatFrame {
    /// A float frame round a mounted piece.
    ///
    /// # Errors
    /// When the piece, the face or the board is zero or less, an allowance below zero, the stick too shallow for ledge,
    /// board and set-back, or the ledge wider than what it lies behind.
    pub fn new(sizes: FloatFrameSizes) -> Result<Self, Message> {
        let FloatFrameSizes { art, gap, face, stick, board, ledge, setback, weight, ledge_stick } = sizes;
        above_zero("width of the piece", art.0)?;
        above_zero("height of the piece", art.1)?;
        above_zero("face of the frame", face)?;
        above_zero("thickness of the board", board)?;
        zero_or_more("gap", gap)?;
        zero_or_more("ledge", ledge)?;
        zero_or_more("setback", setback)?;
        match weight {
            Weight::Solid(density) => above_zero("density of the wood", density)?,
            Weight::Listed(per_length) => above_zero("weight per length of the moulding", per_length)?,
        }
        let frame = Self { art, gap, face, stick, board, ledge, setback, weight, ledge_stick };
        if let Some(stick) = stick {
            deep_enough(stick, frame.needs(), "ledge, board and set-back")?;
        }
        if let Some((width, _)) = ledge_stick {
            above_zero("width of the ledge", width)?;
            above_zero("opening inside the ledge", frame.well().0.min(frame.well().1) - width * 2.0)?;
        }
        Ok(frame)
    }

    /// Everything it is made to.
    pub fn sizes(&self) -> FloatFrameSizes {
        let Self { art, gap, face, stick, board, ledge, setback, weight, ledge_stick } = self.clone();
        FloatFrameSizes { art, gap, face, stick, board, ledge, setback, weight, ledge_stick }
    }

    /// The opening between the four faces: the piece and a gap on each side.
    pub fn well(&self) -> (Length, Length) {
        (self.art.0 + self.gap * 2.0, self.art.1 + self.gap * 2.0)
    }

    /// Outside of the frame: the opening and a face on each side. Also the long points of the mitre cuts.
    pub fn outside(&self) -> (Length, Length) {
        let (width, height) = self.well();
        (width + self.face * 2.0, height + self.face * 2.0)
    }

    /// What set-back, board and ledge take of the depth.
    pub fn needs(&self) -> Length {
        self.board + self.ledge + self.setback
    }

    /// From the front edge to the wall: the depth of the stick, or what it needs where no stick is named.
    pub fn depth(&self) -> Length {
        self.stick.unwrap_or_else(|| self.needs())
    }

    /// Four sides of the ledge, mitred inside the opening; nothing where it is known by its thickness alone.
    fn ledge_weight(&self) -> Option<Found> {
        self.ledge_stick.map(|(width, weight)| ring(self.well(), width, self.ledge, weight))
    }

    /// What the moulding and, where its stick is named, the ledge weigh.
    fn weight(&self) -> Found {
        let sides = ring(self.outside(), self.face, self.depth(), self.weight);
        let mass = |found: &Found| if let Value::Quantity(mass) = found.value { Mass::of(mass) } else { None };
        match self.ledge_weight().as_ref().and_then(mass).zip(mass(&sides)) {
            Some((ledge, four)) => {
                Found::by(four + ledge, "{} for the sides + {} for the ledge", [four.into(), ledge.into()])
                    .beware(caution::WEIGHT)
            }
            None => sides,
        }
    }

    /// Moulding in the frame, total length, long point to long point: 2 × (w + h) of the opening + 8 × face.
    pub fn moulding_length(&self) -> Length {
        let (width, height) = self.well();
        (width + height) * 2.0 + self.face * 8.0
    }
}

thing!(FloatFrame, "a float frame", |frame| vec![
    "float frame, ".into(), pair(frame.outside().0, frame.outside().1), " outside, ".into(), frame.depth().into(), " deep".into(),
], {
    piece "Width and height of the mounted piece." => Found::stated(pair(frame.art.0, frame.art.1)),
    gap "What stays open on each side of the piece." => Found::stated(frame.gap),
    opening "The opening between the faces." =>
        Found::by(pair(frame.well().0, frame.well().1), "{} + 2 × {}", [pair(frame.art.0, frame.art.1), frame.gap.into()]),
    outside "Outside width and height." =>
        Found::by(pair(frame.outside().0, frame.outside().1), "{} + 2 × {}", [pair(frame.well().0, frame.well().1), frame.face.into()]),
    width "Outside width." => Found::by(frame.outside().0, "{} + 2 × {} + 2 × {}", [frame.art.0.into(), frame.gap.into(), frame.face.into()]),
    height "Outside height." => Found::by(frame.outside().1, "{} + 2 × {} + 2 × {}", [frame.art.1.into(), frame.gap.into(), frame.face.into()]),
    depth "From the front edge to the wall: the depth of the stick, or what it needs where no stick is named." => match frame.stick {
        Some(stick) => Found::stated(stick),
        None => Found::by(frame.depth(), "{} + {} + {}", [frame.board.into(), frame.ledge.into(), frame.setback.into()]),
    },
    depth_needed "What board, ledge and set-back take of the depth." =>
        Found::by(frame.needs(), "{} + {} + {}", [frame.board.into(), frame.ledge.into(), frame.setback.into()]),
    face "Face of the moulding." => Found::stated(frame.face),
    board "Thickness of print, laminate and board together." => Found::stated(frame.board),
    ledge "Thickness of the ledge and back space behind the board." => Found::stated(frame.ledge),
    setback "How far the print stands back behind the front edge." => Found::stated(frame.setback),
    moulding_length "Moulding in the frame, before kerf and waste." => Found::by(frame.moulding_length(), "2 × ({} + {}) + 8 × {}", [
        frame.well().0.into(), frame.well().1.into(), frame.face.into(),
    ]),
    cuts "The four sides to cut at 45°, long point to long point." => Found::stated(four(frame.outside())),
    short_points "The same four sides, short point to short point." => Found::stated(four(frame.well())),
    united "Width plus height of the piece, the size by which frames are priced." =>
        Found::by(frame.art.0 + frame.art.1, "{} + {}", [frame.art.0.into(), frame.art.1.into()]),
    weight "Weight of the four sides by their true volume, and of the ledge where it was given as a moulding; a ledge known by its thickness alone is not counted." =>
        frame.weight(),
    ledge_weight "Weight of the four sides of the ledge; none where it was given by its thickness alone." => frame.ledge_weight(),
});

/// A stick that takes all that lies in it.
fn deep_enough(stick: Length, needs: Length, what: &str) -> Result<(), Message> {
    if needs.fits(stick) {
        return Ok(());
    }
    Err(Message::new(
        format!("a stick {} deep is too shallow for {what}, which take {}", said(stick), said(needs)),
        "take a deeper moulding, or make one of them thinner",
    ))
}

/// A frame with a rabbet that holds glass, mat and board under a lip.
#[derive(Clone, Debug, PartialEq)]
pub struct RabbetFrame {
    glazing: (Length, Length),
    face: Length,
    lip: Length,
    depth: Length,
    allowance: Length,
    weight: Weight,
}

impl RabbetFrame {
    /// A frame round a pane of `glazing`, `face` wide as seen, its lip covering `lip` of the rabbet on each side.
    ///
    /// # Errors
    /// When a size is zero or less, the lip leaves no sight, or the lip is wider than the face.
    pub fn new(
        glazing: (Length, Length),
        face: Length,
        lip: Length,
        depth: Length,
        allowance: Length,
        weight: Weight,
    ) -> Result<Self, Message> {
        above_zero("width of the glazing", glazing.0)?;
        above_zero("height of the glazing", glazing.1)?;
        above_zero("face of the frame", face)?;
        above_zero("depth of the frame", depth)?;
        zero_or_more("lip", lip)?;
        zero_or_more("allowance", allowance)?;
        let frame = Self { glazing, face, lip, depth, allowance, weight };
        if lip >= face {
            return Err(Message::new(
                format!("a lip of {} is not within a face of {}", said(lip), said(face)),
                "give a lip narrower than the face",
            ));
        }
        let (width, height) = frame.sight();
        if width.is_positive() && height.is_positive() {
            return Ok(frame);
        }
        Err(Message::new(format!("a lip of {} on each side covers the whole pane", said(lip)), "give a narrower lip"))
    }

    /// The depth of a frame cut from `stick`, which must be at least the `depth` asked for.
    ///
    /// # Errors
    /// When the stick is shallower.
    pub fn depth_of(stick: &Moulding, depth: Length) -> Result<Length, Message> {
        deep_enough(stick.depth(), depth, "what is to lie in it").map(|()| stick.depth())
    }

    /// The pane.
    pub fn glazing(&self) -> (Length, Length) {
        self.glazing
    }

    /// Face of the frame, from the sight edge outwards.
    pub fn face(&self) -> Length {
        self.face
    }

    /// What the lip covers of the rabbet on each side.
    pub fn lip(&self) -> Length {
        self.lip
    }

    /// From front to wall.
    pub fn depth(&self) -> Length {
        self.depth
    }

    /// How much larger the rabbet is than the pane, both sides together.
    pub fn allowance(&self) -> Length {
        self.allowance
    }

    /// The rabbet the glass lies in: the glass and the allowance.
    pub fn rabbet(&self) -> (Length, Length) {
        (self.glazing.0 + self.allowance, self.glazing.1 + self.allowance)
    }

    /// What is seen inside the lip.
    pub fn sight(&self) -> (Length, Length) {
        (self.rabbet().0 - self.lip * 2.0, self.rabbet().1 - self.lip * 2.0)
    }

    /// Outside of the frame. Also the long points of the mitre cuts.
    pub fn outside(&self) -> (Length, Length) {
        (self.sight().0 + self.face * 2.0, self.sight().1 + self.face * 2.0)
    }
}

thing!(RabbetFrame, "a rabbeted frame", |frame| vec![
    "rabbeted frame, ".into(), pair(frame.outside().0, frame.outside().1), " outside".into(),
], {
    glazing "Width and height of the pane." => Found::stated(pair(frame.glazing.0, frame.glazing.1)),
    rabbet "The rabbet the pane lies in." =>
        Found::by(pair(frame.rabbet().0, frame.rabbet().1), "{} + {}", [pair(frame.glazing.0, frame.glazing.1), frame.allowance.into()]),
    sight "What is seen inside the lip." =>
        Found::by(pair(frame.sight().0, frame.sight().1), "{} − 2 × {}", [pair(frame.rabbet().0, frame.rabbet().1), frame.lip.into()]),
    outside "Outside width and height." =>
        Found::by(pair(frame.outside().0, frame.outside().1), "{} + 2 × {}", [pair(frame.sight().0, frame.sight().1), frame.face.into()]),
    depth "From front to wall." => Found::stated(frame.depth),
    moulding_length "Moulding in the frame, total length, long point to long point, before kerf and waste." =>
        Found::by((frame.outside().0 + frame.outside().1) * 2.0, "2 × ({} + {})", [frame.outside().0.into(), frame.outside().1.into()]),
    cuts "The four sides to cut at 45°, long point to long point." => Found::stated(four(frame.outside())),
    short_points "The same four sides, short point to short point." => Found::stated(four(frame.sight())),
    weight "Weight of the four sides, the section taken as full." => ring(frame.outside(), frame.face, frame.depth, frame.weight),
});

fn four((width, height): (Length, Length)) -> Value {
    each([width, width, height, height])
}

/// The angle each end of a side is cut at, for a frame of so many sides: 180° ÷ sides.
///
/// # Errors
/// When there are fewer than three sides.
pub fn mitre(sides: u32) -> Result<Found, Message> {
    if sides < 3 {
        return Err(Message::new(format!("a frame of {sides} sides does not close"), "give 3 sides or more"));
    }
    Ok(Found::by(Angle::degrees(180.0 / f64::from(sides)), "180° ÷ {}", [sides.into()]))
}

/// The gap that opens at one corner when both cuts are off by `error`: 2 × face × tan(error).
///
/// # Errors
/// When the face is zero or less or the error not within 0° to 45°.
pub fn mitre_gap(error: Angle, face: Length) -> Result<Found, Message> {
    above_zero("face of the frame", face)?;
    zero_or_more("error of the cut", error)?;
    if error.to_degrees() >= 45.0 {
        return Err(Message::new(
            "a mitre off by 45° or more is not a mitre",
            "give the error of one cut, such as `0.1.deg`",
        ));
    }
    Ok(Found::by(face * (2.0 * error.to_radians().tan()), "2 × {} × tan({})", [face.into(), error.into()]))
}

/// Moulding to buy for a frame of four sides: 2 × (width + height) + 8 × face, four kerfs, and a share more for waste.
///
/// `inside` is measured where the face begins: the well of a float frame, the rabbet of another.
///
/// # Errors
/// When a length is zero or less, the kerf below zero, or the waste not from 0 to 1.
pub fn moulding_to_buy(inside: (Length, Length), face: Length, kerf: Length, waste: f64) -> Result<Found, Message> {
    above_zero("width of the frame inside", inside.0)?;
    above_zero("height of the frame inside", inside.1)?;
    above_zero("face of the moulding", face)?;
    zero_or_more("kerf", kerf)?;
    if !(0.0..=1.0).contains(&waste) {
        return Err(Message::new(
            format!("a waste of {waste} is not a share from 0 to 1"),
            "write 15 percent as `0.15`",
        ));
    }
    let bare = (inside.0 + inside.1) * 2.0 + face * MITRE_FACES + kerf * 4.0;
    Ok(Found::by(
        bare * (1.0 + waste),
        "(2 × ({} + {}) + 8 × {} + 4 × {}) × (1 + {})",
        [inside.0.into(), inside.1.into(), face.into(), kerf.into(), waste.into()],
    ))
}
