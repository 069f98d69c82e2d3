//! Prints: how large, from how many pixels, on how large a sheet.

use super::{film_at, size_at};
use crate::script::args::{Args, Function};
use crate::trade::print::{Print, Resampled, largest, with_border};
use crate::trade::scan::Scan;
use crate::{Found, Thing, Trouble};

const SCAN: (&str, &str) = ("a scan", "scan(film(\"6x17\"), 4000.ppi)");

fn border(a: &Args<'_>, name: &str) -> Result<Found, Trouble> {
    let (width, height) = size_at(a, 0, "image")?;
    with_border(width, height, a.length(1, name)?)
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "enlarge",
        takes: "scan or film, width",
        about: "A print of the whole scan, film or crop at that width; its height follows. From a scan it also knows its pixels to the inch, with no resampling.",
        example: "enlarge(scan(film(\"6x17\"), 4000.ppi), 72.inch).ppi",
        call: |a| {
            let width = a.size(1, "width")?;
            let print = match a.is::<Scan>(0) {
                Some(scan) => Print::of_scan(scan, width)?,
                None => Print::of_film(film_at(a, 0)?, width)?,
            };
            Ok(Found::stated(Thing::new(print)))
        },
    },
    Function {
        name: "largest",
        takes: "scan, resolution",
        about: "The largest width a scan gives at so many pixels to the inch, without resampling.",
        example: "largest(scan(film(\"6x17\"), 4000.ppi), 300.ppi)",
        call: |a| largest(a.thing::<Scan>(0, "scan", SCAN.0, SCAN.1)?, a.resolution(1, "resolution")?),
    },
    Function {
        name: "resample",
        takes: "print, resolution",
        about: "The same print brought to another number of pixels to the inch, such as the printer's own: the factor along a side, and the pixels.",
        example: "resample(enlarge(scan(film(\"6x17\"), 4000.ppi), 72.inch), 300.ppi).factor",
        call: |a| {
            let print = a.thing::<Print>(0, "print", "a print", "enlarge(scan(film(\"6x17\"), 4000.ppi), 72.inch)")?;
            Ok(Found::stated(Thing::new(Resampled::new(print, a.resolution(1, "resolution")?)?)))
        },
    },
    Function {
        name: "with_border",
        takes: "print or size, border",
        about: "The sheet an image needs with the same white border on all four sides.",
        example: "with_border([72.inch, 24.inch], 1.inch)",
        call: |a| border(a, "border"),
    },
    Function {
        name: "bleed",
        takes: "print or size, bleed",
        about: "The size to print when so much is trimmed off on all four sides. Common practice, no source: 1/4 in, and 1 in for murals.",
        example: "bleed([72.inch, 24.inch], 0.25.inch)",
        call: |a| border(a, "bleed"),
    },
];
