//! What is usual where no standard speaks, and a piece held against what shops can do.

use super::size_at;
use crate::script::args::{Args, Function};
use crate::trade::practice::{self, Bound, Limits};
use crate::{Found, Message, Thing, Value};

const LIMITS: (&str, &str) = (
    "a list of limits, each a name and a length, or a name and two lengths",
    "[[\"laminator\", 61.inch], [\"board\", 96.inch, 48.inch], [\"stick\", 132.inch, \"long\"]]",
);

/// The limits a list states.
pub(crate) fn bounds(a: &Args<'_>, limits: &Value) -> Result<Vec<(String, Bound)>, Message> {
    let Value::List(all) = limits else { return Err(a.wrong(1, "limits", LIMITS.0, LIMITS.1)) };
    all.iter().map(|one| bound(a, one)).collect()
}

fn bound(a: &Args<'_>, limit: &Value) -> Result<(String, Bound), Message> {
    let Value::List(all) = limit else { return Err(a.wrong(1, "limits", LIMITS.0, LIMITS.1)) };
    let inner = Args { function: a.function, values: all };
    let name = inner.text(0, "name of the limit")?.to_owned();
    let first = inner.size(1, "limit")?;
    let bound = match all.get(2) {
        None => Bound::Short(first),
        Some(Value::Text(side)) if side.trim().eq_ignore_ascii_case("long") => Bound::Long(first),
        Some(Value::Text(side)) if side.trim().eq_ignore_ascii_case("short") => Bound::Short(first),
        Some(Value::Text(_)) => return Err(inner.wrong(2, "side", "\"long\" or \"short\"", "\"long\"")),
        Some(_) => Bound::Both(first, inner.size(2, "second limit")?),
    };
    Ok((name, bound))
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "practice",
        takes: "name",
        about: "What is usual in the trade where no standard speaks, one value or from and to: print resolution, large print, export, board thickness, surface, frame, float gap, proof, framing time, artist's proofs, gallery commission, hanging centre, safety factor, viewing distance (in diagonals), aiming angle, mat bottom, frame allowance, mitre waste (in faces), core, bleed, mural bleed, roll margin. A shop that says otherwise is right. Source: common practice, no source.",
        example: "practice(\"gallery commission\")",
        call: |a| practice::usual(a.text(0, "name")?),
    },
    Function {
        name: "within_limits",
        takes: "piece or size, limits",
        about: "A piece held against what shops can do, each limit with its name: one length bounds the shorter side (a roll, a laminator, a press), with \"long\" the longer (a stick, a van), two lengths are a board or a table on which it may be turned. Says which are not kept and by how much. A rate sheet that names its own list `limits` (or `lab_limits` and so on, where one shop does several things) is held against the plan without being asked: the scanner's against the film, the lab's and the mounter's against the print, the framer's and the installer's against the piece, the carrier's against the crate. Source: the shops' own rate sheets.",
        example: "within_limits([90.inch, 30.inch], [[\"laminator\", 61.inch], [\"board\", 96.inch, 48.inch], [\"stick\", 132.inch, \"long\"]]).all",
        call: |a| {
            let size = size_at(a, 0, "size")?;
            let bounds = bounds(a, a.values.get(1).unwrap_or(&Value::Nothing))?;
            Ok(Found::stated(Thing::new(Limits::new(size, bounds)?)))
        },
    },
];
