//! Sheets of paper and rolls of it.

use super::{length_or, size_at};
use crate::script::args::{Args, Function};
use crate::trade::nesting::Nest;
use crate::trade::paper::found_size;
use crate::trade::roll::{Layout, MARGIN, Roll, narrowest, widths};
use crate::{Found, Message, Thing, Value};

fn turn_at(a: &Args<'_>, place: usize) -> Result<bool, Message> {
    match a.values.get(place) {
        None => Ok(false),
        Some(Value::Truth(turn)) => Ok(*turn),
        Some(_) => Err(a.wrong(place, "turn", "a yes or no", "true")),
    }
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "sheet_size",
        takes: "name",
        about: "Short and long side of a sheet: A0 to A10, B0 to B10 (ISO 216), ANSI A to E, ARCH A to E1 (ANSI/ASME Y14.1). Source: ISO 216 (tables read), ANSI/ASME Y14.1 (tables read).",
        example: "sheet_size(\"ARCH D\")",
        call: |a| found_size(a.text(0, "name")?),
    },
    Function {
        name: "roll",
        takes: "width, [side_margin], [gap], [end_margin]",
        about: "A roll of paper with a margin along each edge, a gap between prints and a margin at each end, each 1/2 in by default (common practice, no source). Source: common practice, no source.",
        example: "roll(50.inch).printable",
        call: |a| {
            let roll = Roll::new(
                a.size(0, "width")?,
                length_or(a, 1, "side margin", MARGIN)?,
                length_or(a, 2, "gap", MARGIN)?,
                length_or(a, 3, "end margin", MARGIN)?,
            )?;
            Ok(Found::stated(Thing::new(roll)))
        },
    },
    Function {
        name: "on_roll",
        takes: "print or size, roll, [count], [turn]",
        about: "So many prints of one size in rows on a roll, width across it; with `true` last they may be turned where that takes less paper. Says how many lie side by side, the length taken, and the share that falls away. Source: arithmetic (identity).",
        example: "on_roll([24.inch, 72.inch], roll(50.inch), 3).length",
        call: |a| {
            let (width, height) = size_at(a, 0, "size")?;
            let roll = a.thing::<Roll>(1, "roll", "a roll", "roll(50.inch)")?;
            let count = if a.has(2) { a.count(2, "count")? } else { 1 };
            let turn = turn_at(a, 3)?;
            Ok(Found::stated(Thing::new(Layout::new(width, height, roll, count, turn)?)))
        },
    },
    Function {
        name: "nest",
        takes: "prints or sizes, roll, [turn]",
        about: "Prints of several sizes on one length of roll, each at the lowest place it fits, tried in many orders, and up to six in every way there is; with `true` last they may be turned. Never longer than twice the area over the width and the highest print besides; `proved` says when none can be shorter. Says the length taken, the share that falls away, and where each print lies. Source: arithmetic (identity); held against published strip-packing instances.",
        example: "nest([[24.inch, 36.inch], [16.inch, 20.inch], [16.inch, 20.inch]], roll(44.inch), true).length",
        call: |a| {
            let Some(Value::List(all)) = a.values.first() else {
                return Err(a.wrong(
                    0,
                    "prints",
                    "a list of prints or sizes",
                    "[[24.inch, 36.inch], [16.inch, 20.inch]]",
                ));
            };
            let inner = Args { function: a.function, values: all };
            let sizes = (0..all.len()).map(|place| size_at(&inner, place, "size")).collect::<Result<Vec<_>, _>>()?;
            let roll = a.thing::<Roll>(1, "roll", "a roll", "roll(50.inch)")?;
            Ok(Found::stated(Thing::new(Nest::new(&sizes, roll, turn_at(a, 2)?)?)))
        },
    },
    Function {
        name: "roll_widths",
        takes: "process",
        about: "The usual widths of rolls for \"chromogenic\" or \"pigment\" printing; each lab has its own. Source: common practice, no source.",
        example: "roll_widths(\"pigment\")",
        call: |a| {
            let all = widths(a.text(0, "process")?)?;
            Ok(Found::stated(Value::List(all.into_iter().map(Value::from).collect())))
        },
    },
    Function {
        name: "roll_for",
        takes: "width, process, [margin]",
        about: "The narrowest usual roll that takes a print of that width between its side margins, 1/2 in each by default. Source: common practice, no source.",
        example: "roll_for(30.5.inch, \"chromogenic\")",
        call: |a| narrowest(a.size(0, "width")?, a.text(1, "process")?, length_or(a, 2, "margin", MARGIN)?),
    },
];
