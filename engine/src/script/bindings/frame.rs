//! Mouldings, frames, mats, and cutting them.

use super::{length_or, number_or, size_at};
use crate::measure::{Density, Length, LinearDensity, Quantity};
use crate::script::args::{Args, Function};
use crate::trade::cutting::CutList;
use crate::trade::frame::{
    ALLOWANCE, FloatFrame, FloatFrameSizes, LEDGE, RabbetFrame, SETBACK, mitre, mitre_gap, moulding_to_buy,
};
use crate::trade::mat::{BETWEEN, BOTTOM, Mat, OVERLAP, Windows};
use crate::trade::moulding::{Moulding, WOOD, Weight};
use crate::trade::mount::Sheet;
use crate::trade::wood;
use crate::{Found, Message, Thing, Value};

/// What a moulding weighs: a wood by name, a density, a weight per length, or the usual wood.
fn weight_at(a: &Args<'_>, place: usize) -> Result<Weight, Message> {
    match a.values.get(place) {
        None => Ok(Weight::Solid(WOOD)),
        Some(Value::Text(species)) => wood::density(species, wood::MOISTURE).map(Weight::Solid),
        Some(Value::Quantity(Quantity { dims: Density::DIMS, .. })) => a.density(place, "density").map(Weight::Solid),
        Some(Value::Quantity(Quantity { dims: LinearDensity::DIMS, .. })) => {
            a.linear_density(place, "weight per length").map(Weight::Listed)
        }
        Some(_) => Err(a.wrong(place, "weight", "a wood by name, a density or a weight per length", "\"white ash\"")),
    }
}

/// A face: a length, or that of a moulding.
fn face_at<'a>(a: &'a Args<'_>, place: usize) -> Result<(Length, Option<&'a Moulding>), Message> {
    match a.is::<Moulding>(place) {
        Some(moulding) => Ok((moulding.face(), Some(moulding))),
        None => Ok((a.size(place, "face")?, None)),
    }
}

fn lengths_at(a: &Args<'_>, place: usize, name: &str) -> Result<Vec<Length>, Message> {
    let all: Option<Vec<_>> = match a.values.get(place) {
        Some(Value::List(all)) => all
            .iter()
            .map(|one| if let Value::Quantity(quantity) = one { Length::of(*quantity) } else { None })
            .collect(),
        _ => None,
    };
    all.ok_or_else(|| a.wrong(place, name, "a list of lengths", "[74.inch, 74.inch, 26.inch, 26.inch]"))
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "wood",
        takes: "species, [moisture]",
        about: "Density of a wood: 1000 kg/m³ × specific gravity × (1 + moisture ÷ 100); the moisture in percent, 12 by default. Source: USDA Wood Handbook (FPL-GTR-282), Table 5-3b and chapter 4.",
        example: "wood(\"white ash\")",
        call: |a| wood::found_density(a.text(0, "species")?, number_or(a, 1, "moisture", wood::MOISTURE)?),
    },
    Function {
        name: "moulding",
        takes: "name, face, depth, [wood]",
        about: "A stick of moulding: its face seen from the front, its depth from front to wall, and its weight from a wood by name, a density, or a weight per length; 600 kg/m³ by default (a middling hardwood; common practice, no source). Source: arithmetic (identity).",
        example: "moulding(\"float, ash\", 0.75.inch, 2.inch, \"white ash\").per_length",
        call: |a| {
            let (face, depth) = (a.size(1, "face")?, a.size(2, "depth")?);
            Ok(Found::stated(Thing::new(Moulding::new(a.text(0, "name")?, face, depth, weight_at(a, 3)?)?)))
        },
    },
    Function {
        name: "float_frame",
        takes: "print or size, gap, face, board, [ledge], [setback], [wood]",
        about: "A frame with the piece floating in it: opening = piece + 2 gaps, outside = opening + 2 faces. The face may be a moulding: then the frame is as deep as its stick, which must take board, ledge and set-back; without one it is as deep as these together. The board is a thickness or a stack, the ledge a thickness, or a moulding as wide as its face and as thick as its depth, whose weight then counts. Ledge 1/2 in, set-back 1/4 in, wood 600 kg/m³ by default (common practice, no source). A gap of 1/4 to 3/8 in is usual. Source: arithmetic (identity).",
        example: "float_frame([72.inch, 24.inch], 0.25.inch, 0.75.inch, 0.77.inch).outside",
        call: |a| {
            let (face, stick) = face_at(a, 2)?;
            let board = match a.is::<Sheet>(3) {
                Some(stack) => stack.thickness(),
                None => a.size(3, "board")?,
            };
            let weight = match stick {
                Some(stick) if !a.has(6) => stick.weight(),
                _ => weight_at(a, 6)?,
            };
            let (ledge, ledge_stick) = match a.is::<Moulding>(4) {
                Some(ledge) => (ledge.depth(), Some((ledge.face(), ledge.weight()))),
                None => (length_or(a, 4, "ledge", LEDGE)?, None),
            };
            Ok(Found::stated(Thing::new(FloatFrame::new(FloatFrameSizes {
                art: size_at(a, 0, "size")?,
                gap: a.length(1, "gap")?,
                face,
                stick: stick.map(Moulding::depth),
                board,
                weight,
                ledge,
                ledge_stick,
                setback: length_or(a, 5, "setback", SETBACK)?,
            })?)))
        },
    },
    Function {
        name: "rabbet_frame",
        takes: "glazing, face, lip, depth, [allowance], [wood]",
        about: "A frame that holds a pane: rabbet = pane + allowance (1/8 in by default, both sides together), sight = rabbet − 2 lips, outside = sight + 2 faces, the face as seen from the sight edge outwards. Where the face is a moulding the frame is as deep as its stick, which must be at least the depth asked for. Common practice, no source. Source: arithmetic (identity).",
        example: "rabbet_frame([30.inch, 40.inch], 1.inch, 0.25.inch, 1.25.inch).outside",
        call: |a| {
            let (face, stick) = face_at(a, 1)?;
            let weight = match stick {
                Some(stick) if !a.has(5) => stick.weight(),
                _ => weight_at(a, 5)?,
            };
            let (lip, asked) = (a.length(2, "lip")?, a.size(3, "depth")?);
            let depth = stick.map_or(Ok(asked), |stick| RabbetFrame::depth_of(stick, asked))?;
            let allowance = length_or(a, 4, "allowance", ALLOWANCE)?;
            Ok(Found::stated(Thing::new(RabbetFrame::new(
                size_at(a, 0, "glazing")?,
                face,
                lip,
                depth,
                allowance,
                weight,
            )?)))
        },
    },
    Function {
        name: "mat",
        takes: "print or size, border, [bottom], [overlap]",
        about: "A window mat: window = image − 2 overlaps (1/8 in by default), outside = window + borders, the bottom 1/2 in wider by default (common practice, no source). The print must not touch the glass; board of at least four plies, pH 7 to 8.5. Source: Library of Congress, Guide to Preservation Matting and Framing.",
        example: "mat([20.inch, 16.inch], 4.inch).outside",
        call: |a| {
            let (bottom, overlap) = (length_or(a, 2, "bottom weight", BOTTOM)?, length_or(a, 3, "overlap", OVERLAP)?);
            Ok(Found::stated(Thing::new(Mat::new(size_at(a, 0, "image")?, a.size(1, "border")?, bottom, overlap)?)))
        },
    },
    Function {
        name: "cut_list",
        takes: "stick, pieces, kerf, [trim]",
        about: "Shares pieces out over as few sticks as it can; the saw takes the kerf after each piece, and the trim comes off one end of each stick, none by default. It says whether fewer are proved impossible. Source: arithmetic (identity); held against published bin-packing instances.",
        example: "cut_list(120.inch, [74.inch, 74.inch, 26.inch, 26.inch], 0.125.inch, 1.inch).offcuts",
        call: |a| {
            let (stick, kerf) = (a.size(0, "stick")?, a.length(2, "kerf")?);
            let trim = length_or(a, 3, "trim", Length::ZERO)?;
            Ok(Found::stated(Thing::new(CutList::new(stick, &lengths_at(a, 1, "pieces")?, kerf, trim)?)))
        },
    },
    Function {
        name: "mitre",
        takes: "sides",
        about: "The angle each end is cut at for a frame of so many sides: 180° ÷ sides. Source: geometry (identity).",
        example: "mitre(4)",
        call: |a| mitre(a.count(0, "sides")?),
    },
    Function {
        name: "mitre_gap",
        takes: "error, face",
        about: "The gap at one corner when both cuts are off by that angle: 2 × face × tan(error). Source: geometry (identity).",
        example: "mitre_gap(0.1.deg, 0.75.inch)",
        call: |a| mitre_gap(a.angle(0, "error")?, a.size(1, "face")?),
    },
    Function {
        name: "mat_windows",
        takes: "print or size, count, border, [between], [bottom], [overlap]",
        about: "A mat with several windows of one size side by side: width = windows + mat between them + two borders; 2 in between, bottom 1/2 in wider and overlap 1/8 in by default (common practice, no source). Source for plies and pH: Library of Congress, Guide to Preservation Matting and Framing.",
        example: "mat_windows([12.inch, 16.inch], 3, 4.inch).outside",
        call: |a| {
            let (bottom, overlap) = (length_or(a, 4, "bottom weight", BOTTOM)?, length_or(a, 5, "overlap", OVERLAP)?);
            let one = Mat::new(size_at(a, 0, "image")?, a.size(2, "border")?, bottom, overlap)?;
            let between = length_or(a, 3, "mat between two windows", BETWEEN)?;
            Ok(Found::stated(Thing::new(Windows::new(one, a.count(1, "number of windows")?, between)?)))
        },
    },
    Function {
        name: "moulding_to_buy",
        takes: "inside, face, [kerf], [waste]",
        about: "Moulding to buy for one frame: 2 × (width + height) inside + 8 × face for the mitres + four kerfs, and a share more for waste, none by default; the inside is the well of a float frame or the rabbet of another. Source: arithmetic (identity); 8 faces are common practice, no source.",
        example: "moulding_to_buy([72.inch, 24.inch], 0.75.inch, 0.125.inch, 0.1)",
        call: |a| {
            let (face, _) = face_at(a, 1)?;
            let kerf = length_or(a, 2, "kerf", Length::ZERO)?;
            moulding_to_buy(size_at(a, 0, "inside")?, face, kerf, number_or(a, 3, "waste", 0.0)?)
        },
    },
];
