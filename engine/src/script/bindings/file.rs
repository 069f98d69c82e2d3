//! Files and sending them.

use crate::measure::Pixels;
use crate::script::args::{Args, Function};
use crate::trade::file::{Checksum, ImageFile, WORK, file_format, upload};
use crate::trade::print::Resampled;
use crate::trade::scan::Scan;
use crate::{Found, Message, Thing, Value};

/// Width and height in pixels, of a scan, a resampled print, or a list of two counts.
fn pixels_at(a: &Args<'_>, place: usize) -> Result<(Pixels, Pixels), Message> {
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
        about: "An uncompressed image file: pixels × channels × bits ÷ 8, header left out; 3 channels by default. MB and GB count in thousands (IEC 80000-13). It says whether TIFF 6.0 (2³² bytes) and JPEG (65 535 pixels a side, ITU-T T.81) can hold it. Source: IEC 80000-13, TIFF 6.0 section 2 (read), ITU-T T.81 (from memory).",
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
        about: "How long it takes to send a file or an amount of data: 8 bits to the byte, a megabit is a million bits. The efficiency is the share of the speed that arrives, 1 by default. Source: arithmetic (identity).",
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
    Function {
        name: "file_format",
        takes: "first bytes",
        about: "What a picture file is by its first bytes, written in hexadecimal: TIFF, BigTIFF, JPEG or PNG; a name proves nothing. Source: TIFF 6.0 section 2 (read), BigTIFF, ITU-T T.81, ISO/IEC 15948 (from memory).",
        example: "file_format(\"49 49 2a 00 08 00 00 00\")",
        call: |a| file_format(a.text(0, "first bytes")?),
    },
    Function {
        name: "checksum",
        takes: "text",
        about: "A checksum as it is written beside a file, and which one it is by its length: CRC-32, MD5, SHA-1, SHA-256 or SHA-512. Source: RFC 1321, FIPS 180-4 (from memory).",
        example: "checksum(\"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855\").name",
        call: |a| Ok(Found::stated(Thing::new(Checksum::new(a.text(0, "checksum")?)?))),
    },
    Function {
        name: "same_checksum",
        takes: "sent, received",
        about: "Whether the checksum of what arrived is that of what was sent; capitals and spaces do not matter. Source: FIPS 180-4, RFC 1321 (from memory).",
        example: "same_checksum(\"D41D8CD98F00B204E9800998ECF8427E\", \"d41d8cd9 8f00b204 e9800998 ecf8427e\")",
        call: |a| Checksum::new(a.text(0, "checksum sent")?)?.same(&Checksum::new(a.text(1, "checksum received")?)?),
    },
    Function {
        name: "file_work",
        takes: "",
        about: "The order in which a file is worked on, as a list to tick off: what is done to every pixel first, what depends on the size last. Source: common practice, no source.",
        example: "file_work()",
        call: |_| Ok(Found::stated(Value::List(WORK.iter().map(|one| Value::from(*one)).collect()))),
    },
];
