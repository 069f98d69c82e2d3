//! Hanging a piece on the wall.

use super::{number_or, outside_at};
use crate::script::args::Function;
use crate::trade::hanging::{self, Cleat, FACTOR, Moment, TwoHooks, Wire};
use crate::trade::row::Row;
use crate::{Found, Thing};

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "rating",
        takes: "weight, hooks, [factor]",
        about: "What each of so many evenly loaded hooks must be rated for: weight ÷ hooks × factor, 4 by default (common practice, no source). Use rated hardware, fixed into structure. Source: common practice, no source.",
        example: "rating(28.lb, 2)",
        call: |a| hanging::rating(a.mass(0, "weight")?, a.count(1, "hooks")?, number_or(a, 2, "factor", FACTOR)?),
    },
    Function {
        name: "hang_two_hooks",
        takes: "weight, a, b, [factor]",
        about: "What two hooks carry that stand a to one side and b to the other of the middle of the weight: W × b ÷ (a + b) and W × a ÷ (a + b), and the rating each must have. Source: balance of moments.",
        example: "hang_two_hooks(24.lb, 20.inch, 28.inch).first_load",
        call: |a| {
            let (first, second) = (a.length(1, "distance a")?, a.length(2, "distance b")?);
            Ok(Found::stated(Thing::new(TwoHooks::new(
                a.mass(0, "weight")?,
                first,
                second,
                number_or(a, 3, "factor", FACTOR)?,
            )?)))
        },
    },
    Function {
        name: "wire",
        takes: "weight, span, rise, [factor]",
        about: "A wire between two points that rises in the middle to one hook: its angle and its pull, W ÷ (2 sin angle). A flat wire pulls many times the weight. Source: statics of two ropes.",
        example: "wire(10.kg, 600.mm, 75.mm).tension",
        call: |a| {
            let (span, rise) = (a.size(1, "span")?, a.size(2, "rise")?);
            Ok(Found::stated(Thing::new(Wire::new(
                a.mass(0, "weight")?,
                span,
                rise,
                number_or(a, 3, "factor", FACTOR)?,
            )?)))
        },
    },
    Function {
        name: "wire_at_angle",
        takes: "weight, angle, [factor]",
        about: "The same wire by the angle it makes with the level. Source: statics of two ropes (identity).",
        example: "wire_at_angle(10.kg, 30.deg).tension",
        call: |a| {
            let factor = number_or(a, 2, "factor", FACTOR)?;
            Ok(Found::stated(Thing::new(Wire::at_angle(a.mass(0, "weight")?, a.angle(1, "angle")?, factor)?)))
        },
    },
    Function {
        name: "cleat",
        takes: "weight, out, down, [factor]",
        about: "A wall cleat whose piece has its middle of weight so far out from the wall and leans on the wall so far further down: it pulls from the wall by W × out ÷ down. Source: balance of moments.",
        example: "cleat(30.lb, 1.inch, 20.inch).pull",
        call: |a| {
            let (out, down) = (a.size(1, "distance from the wall")?, a.size(2, "distance down")?);
            Ok(Found::stated(Thing::new(Cleat::new(
                a.mass(0, "weight")?,
                out,
                down,
                number_or(a, 3, "factor", FACTOR)?,
            )?)))
        },
    },
    Function {
        name: "hook_height",
        takes: "outside_height, centre, drop",
        about: "How high the hook goes so that the middle of the piece hangs at that height: centre + height ÷ 2 − drop, the drop from the top down to where the pulled hanger meets the hook. A centre of 57 to 60 in is usual (common practice, no source). Source: arithmetic (identity).",
        example: "hook_height(26.inch, 58.inch, 4.inch)",
        call: |a| hanging::hook_height(a.size(0, "outside height")?, a.size(1, "centre")?, a.length(2, "drop")?),
    },
    Function {
        name: "moment",
        takes: "weight, arm",
        about: "The turning moment of a weight whose middle stands so far away from what holds it, as a bracket, a hinge or the screws of a ledge feel it, in newton metres and pound-feet. Source: 9.80665 m/s², 3rd CGPM 1901; the foot-pound is 1.355 818 J (NIST SP 811; read in pages that give it).",
        example: "moment(28.lb, 2.inch).newton_metres",
        call: |a| Ok(Found::stated(Thing::new(Moment::new(a.mass(0, "weight")?, a.length(1, "arm")?)?))),
    },
    Function {
        name: "hang_row",
        takes: "frame or size, count, gap",
        about: "Pieces of one outside size hung in a row: the width of all, and where the middle and the left edge of each stands from the left edge of the first. Source: arithmetic (identity).",
        example: "hang_row([24.inch, 36.inch], 3, 2.inch).centres",
        call: |a| {
            Ok(Found::stated(Thing::new(Row::new(outside_at(a, 0)?, a.count(1, "count")?, a.length(2, "gap")?)?)))
        },
    },
];
