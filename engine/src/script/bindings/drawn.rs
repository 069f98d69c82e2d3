//! What is asked for to be drawn: the piece on its wall, its back, a blank on its sheet, the panels of a mural.

use super::{length_or, outside_at, size_at};
use crate::measure::Length;
use crate::script::args::Function;
use crate::trade::backside::{Backside, Hardware};
use crate::trade::blank::Blank;
use crate::trade::elevation::{CENTRE, Elevation};
use crate::trade::mural::Mural;
use crate::{Found, Thing};

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "elevation",
        takes: "frame or size, [centre], [hook height], [hooks apart]",
        about: "The piece on its wall beside a person 1.7 m tall; asked for alone in a paragraph it is drawn. The middle is 59 in above the floor by default (57 to 60 in; common practice, no source). Source: arithmetic (identity).",
        example: "elevation([72.inch, 24.inch], 58.inch, 66.inch, 48.inch).bottom",
        call: |a| {
            let hooks = if a.has(2) {
                Some((a.length(2, "height of the hooks")?, length_or(a, 3, "distance of the hooks", Length::ZERO)?))
            } else {
                None
            };
            let centre = length_or(a, 1, "centre", CENTRE)?;
            Ok(Found::stated(Thing::new(Elevation::new(outside_at(a, 0)?, centre, hooks)?)))
        },
    },
    Function {
        name: "back_of",
        takes: "frame or size, hardware, inset, drop",
        about: "The back of a piece with \"straps\", a \"wire\" or a \"cleat\", so far in from each side and so far below the upper edge; asked for alone in a paragraph it is drawn. Source: arithmetic (identity).",
        example: "back_of([72.inch, 24.inch], \"straps\", 12.inch, 4.inch).apart",
        call: |a| {
            let hardware = Hardware::named(a.text(1, "hardware")?)?;
            let (inset, drop) = (a.length(2, "inset")?, a.length(3, "drop")?);
            Ok(Found::stated(Thing::new(Backside::new(outside_at(a, 0)?, hardware, inset, drop)?)))
        },
    },
    Function {
        name: "cut_from",
        takes: "piece or size, sheet, [trim]",
        about: "One blank cut from one sheet of board or mat, turned where it comes out of it only that way; asked for alone in a paragraph it is drawn. Source: arithmetic (identity).",
        example: "cut_from([72.inch, 24.inch], [96.inch, 48.inch]).offcuts",
        call: |a| {
            let trim = length_or(a, 2, "trim", Length::ZERO)?;
            Ok(Found::stated(Thing::new(Blank::new(size_at(a, 0, "size")?, size_at(a, 1, "sheet")?, trim)?)))
        },
    },
    Function {
        name: "panels",
        takes: "size, widest panel, [overlap]",
        about: "A mural in the fewest equal panels no wider than that, each overlapping the next; asked for alone in a paragraph it is drawn. Source: arithmetic (identity).",
        example: "panels([144.inch, 96.inch], 50.inch, 1.inch).count",
        call: |a| {
            let overlap = length_or(a, 2, "overlap", Length::ZERO)?;
            Ok(Found::stated(Thing::new(Mural::new(size_at(a, 0, "size")?, a.size(1, "widest panel")?, overlap)?)))
        },
    },
];
