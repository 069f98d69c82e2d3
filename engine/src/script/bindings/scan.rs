//! Scans, and what a resolution is good for.

use super::film_at;
use crate::script::args::Function;
use crate::trade::scan::{self, Scan};
use crate::{Found, Thing};

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "scan",
        takes: "film, resolution, [optical]",
        about: "A scan of a film or crop: pixels are its size times the resolution, to the nearest whole pixel. With the resolution the scanner's lens really has, it says how many pixels are interpolated. Source: ISO 16067-2 measures that resolution.",
        example: "scan(film(\"6x17\"), 4000.ppi, 3200.ppi).pixels",
        call: |a| {
            let optical = if a.has(2) { Some(a.resolution(2, "optical resolution")?) } else { None };
            Ok(Found::stated(Thing::new(Scan::new(film_at(a, 0)?, a.resolution(1, "resolution")?, optical)?)))
        },
    },
    Function {
        name: "density_range",
        takes: "bits",
        about: "The most that so many bits can tell apart, as a density: log10(2^bits − 1). A bound, not a measurement. Source: ISO 5-1 for density; ISO 21550 measures a scanner's own.",
        example: "density_range(16)",
        call: |a| scan::density_range(a.count(0, "bits")?),
    },
    Function {
        name: "ppi_for_distance",
        takes: "distance",
        about: "The pixels to the inch at which a sharp eye just stops seeing pixels from that far: one to a minute of arc. Source: ISO 8596, normal sight.",
        example: "ppi_for_distance(48.inch)",
        call: |a| scan::ppi_for_distance(a.length(0, "distance")?),
    },
    Function {
        name: "distance_for_ppi",
        takes: "resolution",
        about: "The distance from which a sharp eye no longer sees pixels of that size: one to a minute of arc. Source: ISO 8596, normal sight.",
        example: "distance_for_ppi(150.ppi)",
        call: |a| scan::distance_for_ppi(a.resolution(0, "resolution")?),
    },
    Function {
        name: "scan_needed",
        takes: "film, width, resolution",
        about: "The resolution a film must be scanned at for a print of that width to hold so many pixels to the inch: resolution × width ÷ width of the film. Source: arithmetic (identity).",
        example: "scan_needed(film(\"6x17\"), 72.inch, 300.ppi)",
        call: |a| scan::needed(film_at(a, 0)?, a.size(1, "width")?, a.resolution(2, "resolution")?),
    },
    Function {
        name: "flatbed_or_drum",
        takes: "resolution, [flatbed]",
        about: "Whether a flatbed will do for a scan of that resolution, or a drum is asked for; the flatbed's lens resolves 2400 ppi by default. A saying of the trade and no law: dense film, curled film and fine grain ask for a drum sooner. Source: common practice, no source.",
        example: "flatbed_or_drum(3200.ppi)",
        call: |a| {
            let flatbed = if a.has(1) { a.resolution(1, "resolution of the flatbed")? } else { scan::FLATBED };
            scan::machine(a.resolution(0, "resolution")?, flatbed)
        },
    },
    Function {
        name: "nyquist",
        takes: "resolution",
        about: "The finest line pairs to the millimetre that a resolution can hold, two samples a pair: resolution ÷ 50.8. Source: sampling theorem; ISO 16067-2 and ISO 12233 use half the sampling frequency (from memory).",
        example: "nyquist(3200.ppi)",
        call: |a| scan::nyquist(a.resolution(0, "resolution")?),
    },
    Function {
        name: "bits_for",
        takes: "density_range",
        about: "The fewest bits a sample needs to tell a density range apart: the least b with log10(2^b − 1) no smaller. A bound: noise asks for more. Source: ISO 5-1 for density (from memory).",
        example: "bits_for(3.6)",
        call: |a| scan::bits_for(a.number(0, "density range")?),
    },
];
