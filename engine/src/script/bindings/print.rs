//! Prints: how large, from how many pixels, on how large a sheet.

use super::{film_at, length_or, number_or, size_at};
use crate::script::args::{Args, Function};
use crate::trade::print::{Print, Resampled, VIEWED_FROM_DIAGONALS, largest_print, trimmed, viewed_from, with_border};
use crate::trade::proof_sheet::{GAP, ProofSheet, Strips};
use crate::trade::scan::Scan;
use crate::{Found, Message, Thing};

const SCAN: (&str, &str) = ("a scan", "scan(film(\"6x17\"), 4000.ppi)");

fn border(a: &Args<'_>, name: &str) -> Result<Found, Message> {
    let (width, height) = size_at(a, 0, "image")?;
    with_border(width, height, a.length(1, name)?)
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "enlarge",
        takes: "scan or film, width",
        about: "A print of the whole scan, film or crop at that width; its height follows. From a scan it also knows its pixels to the inch, with no resampling: `ppi` by what the scanner's lens saw, `file_ppi` by what the file holds. Source: arithmetic (identity).",
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
        name: "largest_print",
        takes: "scan, resolution",
        about: "The largest width a scan gives at so many pixels to the inch that its lens saw, without resampling. Source: arithmetic (identity).",
        example: "largest_print(scan(film(\"6x17\"), 4000.ppi), 300.ppi)",
        call: |a| largest_print(a.thing::<Scan>(0, "scan", SCAN.0, SCAN.1)?, a.resolution(1, "resolution")?),
    },
    Function {
        name: "resample",
        takes: "print, resolution",
        about: "The same print brought to another number of pixels to the inch, such as the printer's own: the factor along a side over what the scanner's lens saw, and the pixels. Source: arithmetic (identity).",
        example: "resample(enlarge(scan(film(\"6x17\"), 4000.ppi), 72.inch), 300.ppi).factor",
        call: |a| {
            let print = a.thing::<Print>(0, "print", "a print", "enlarge(scan(film(\"6x17\"), 4000.ppi), 72.inch)")?;
            Ok(Found::stated(Thing::new(Resampled::new(print, a.resolution(1, "resolution")?)?)))
        },
    },
    Function {
        name: "with_border",
        takes: "print or size, border",
        about: "The sheet an image needs with the same white border on all four sides. Source: arithmetic (identity).",
        example: "with_border([72.inch, 24.inch], 1.inch)",
        call: |a| border(a, "border"),
    },
    Function {
        name: "bleed",
        takes: "print or size, bleed",
        about: "The size to print when so much is trimmed off on all four sides. Common practice, no source: 1/4 in, and 1 in for murals. Source: arithmetic (identity).",
        example: "bleed([72.inch, 24.inch], 0.25.inch)",
        call: |a| border(a, "bleed"),
    },
    Function {
        name: "enlarge_to_height",
        takes: "scan or film, height",
        about: "As `enlarge`, by the height of the print; its width follows. Source: arithmetic (identity).",
        example: "enlarge_to_height(scan(film(\"6x17\"), 4000.ppi), 24.inch).width",
        call: |a| {
            let height = a.size(1, "height")?;
            let print = match a.is::<Scan>(0) {
                Some(scan) => Print::to_height(scan.film(), Some(scan), height)?,
                None => Print::to_height(film_at(a, 0)?, None, height)?,
            };
            Ok(Found::stated(Thing::new(print)))
        },
    },
    Function {
        name: "viewing_distance",
        takes: "print or size, [diagonals]",
        about: "How far away a print of that size is looked at: 1.5 diagonals by default. Source: common practice (1.5 to 2 diagonals), no source.",
        example: "viewing_distance([72.inch, 24.inch])",
        call: |a| {
            let (width, height) = size_at(a, 0, "size")?;
            viewed_from(width, height, number_or(a, 1, "number of diagonals", VIEWED_FROM_DIAGONALS)?)
        },
    },
    Function {
        name: "trimmed",
        takes: "print or size, trim",
        about: "What is left when so much is trimmed off all four sides; also the part of a print where nothing that matters is cut: keep the signature an inch in (common practice, no source). Source: arithmetic (identity).",
        example: "trimmed([72.5.inch, 24.5.inch], 0.25.inch)",
        call: |a| {
            let (width, height) = size_at(a, 0, "sheet")?;
            trimmed(width, height, a.length(1, "trim")?)
        },
    },
    Function {
        name: "proof_sheet",
        takes: "print or size, sheet, strips, strip, [gap]",
        about: "One sheet that proves a print: so many strips of it at full scale in rows, and above them the whole picture as large as there is room; 1/2 in between and around by default. Source: arithmetic (identity); to prove both on one sheet is common practice, no source.",
        example: "proof_sheet([72.inch, 24.inch], [24.inch, 20.inch], 3, [7.inch, 8.inch]).picture",
        call: |a| {
            let strips = Strips { count: a.count(2, "number of strips")?, size: size_at(a, 3, "strip")? };
            let gap = length_or(a, 4, "gap", GAP)?;
            Ok(Found::stated(Thing::new(ProofSheet::new(
                size_at(a, 0, "print")?,
                size_at(a, 1, "sheet")?,
                strips,
                gap,
            )?)))
        },
    },
];
