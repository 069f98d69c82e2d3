//! Files and sending them.

use crate::measure::Pixels;
use crate::script::args::{Args, Function};
use crate::trade::file::{ImageFile, upload};
use crate::trade::print::Resampled;
use crate::trade::scan::Scan;
use crate::{Found, Thing, Trouble, Value};

/// Width and height in pixels, of a scan, a resampled print, or a list of two counts.
fn pixels_at(a: &Args<'_>, place: usize) -> Result<(Pixels, Pixels), Trouble> {
    if let Some(scan) = a.is::<Scan>(place) {
        return Ok((scan.width(), scan.height()));
    }
    if let Some(image) = a.is::<Resampled>(place) {
        return Ok((image.width(), image.height()));
    }
    let both = match a.values.get(place) {
        Some(Value::List(all)) => match all.as_slice() {
            [Value::Quantity(width), Value::Quantity(height)] => Pixels::of(*width).zip(Pixels::of(*height)),
            _ => None,
        },
        _ => None,
    };
    both.ok_or_else(|| {
        a.wrong(place, "image", "a scan, a resampled print, or pixels across and down", "[21600.px, 7200.px]")
    })
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "file",
        takes: "scan or pixels, bits, [channels]",
        about: "An uncompressed image file: pixels × channels × bits ÷ 8, header left out; 3 channels unless told. MB and GB count in thousands (IEC 80000-13). It says whether TIFF 6.0 (2³² bytes) and JPEG (65 535 pixels a side, ITU-T T.81) can hold it.",
        example: "file([21600.px, 7200.px], 16).size",
        call: |a| {
            let (width, height) = pixels_at(a, 0)?;
            let channels = if a.has(2) { a.count(2, "channels")? } else { 3 };
            Ok(Found::stated(Thing::new(ImageFile::new(width, height, a.count(1, "bits")?, channels)?)))
        },
    },
    Function {
        name: "upload",
        takes: "file or data, speed, [efficiency]",
        about: "How long it takes to send a file or an amount of data: 8 bits to the byte, a megabit is a million bits. The efficiency is the share of the speed that arrives, 1 unless told.",
        example: "upload(933.mb, 20.mbit_s)",
        call: |a| {
            let size = match a.is::<ImageFile>(0) {
                Some(file) => file.size(),
                None => a.data(0, "file")?,
            };
            let efficiency = if a.has(2) { a.share(2, "efficiency")? } else { 1.0 };
            upload(size, a.data_rate(1, "speed")?, efficiency)
        },
    },
];
