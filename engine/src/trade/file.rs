//! The file an image makes: how large, which formats can hold it, and how long it takes to send.

use super::{above_zero, pair};
use crate::measure::{Data, DataRate, Pixels, Quantity};
use crate::{Found, Message, Value};

/// Bytes that a TIFF file with 32-bit offsets can be long. Source: TIFF 6.0, section 2 (read).
pub const TIFF_LIMIT: Data = Data::bytes(4_294_967_296.0);

/// Pixels that a JPEG image can have along a side. Source: ITU-T T.81 (ISO/IEC 10918-1), B.2.2 (from memory).
pub const JPEG_LIMIT: Pixels = Pixels::px(65_535.0);

/// What a picture file is, by its first bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Container {
    /// A TIFF with offsets of 32 bits.
    Tiff,
    /// A TIFF with offsets of 64 bits.
    BigTiff,
    /// A JPEG.
    Jpeg,
    /// A PNG.
    Png,
}

impl Container {
    /// The kind of file that begins so; nothing for any other.
    ///
    /// Source: TIFF 6.0, section 2 (`II` or `MM` and 42; read); BigTIFF (43, size of an offset 8, zero; from memory);
    /// ITU-T T.81 (FF D8 FF) and ISO/IEC 15948 (from memory).
    pub fn of_header(bytes: &[u8]) -> Option<Self> {
        const HEADERS: &[(&[u8], Container)] = &[
            (b"II\x2a\x00", Container::Tiff),
            (b"MM\x00\x2a", Container::Tiff),
            (b"II\x2b\x00\x08\x00\x00\x00", Container::BigTiff),
            (b"MM\x00\x2b\x00\x08\x00\x00", Container::BigTiff),
            (b"\xff\xd8\xff", Container::Jpeg),
            (b"\x89PNG\r\n\x1a\n", Container::Png),
        ];
        HEADERS.iter().find(|(header, _)| bytes.starts_with(header)).map(|(_, kind)| *kind)
    }
}

impl Container {
    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Tiff => "TIFF",
            Self::BigTiff => "BigTIFF",
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
        }
    }
}

/// The kind of picture file whose first bytes, written in hexadecimal, are these.
///
/// Source: as [`Container::of_header`].
///
/// # Errors
/// When the text is not hexadecimal of 3 to 64 bytes, or no picture file begins so.
pub fn file_format(hex: &str) -> Result<Found, Message> {
    let digits = digits_of(hex);
    let bytes = (digits.len().is_multiple_of(2) && (6..=128).contains(&digits.len()))
        .then(|| digits.as_bytes().chunks(2).map(byte).collect::<Option<Vec<u8>>>())
        .flatten()
        .ok_or_else(|| {
            Message::new(
                "the first bytes of a file are written as pairs of hexadecimal digits",
                "give at least the first eight: `\"49 49 2a 00 08 00 00 00\"`",
            )
        })?;
    Container::of_header(&bytes).map(|kind| Found::stated(kind.name())).ok_or_else(|| {
        Message::new(
            "no picture file a lab takes begins so",
            "a TIFF begins with 49 49 2a 00 or 4d 4d 00 2a, a JPEG with ff d8 ff",
        )
    })
}

fn digits_of(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_whitespace()).collect::<String>().to_lowercase()
}

fn byte(pair: &[u8]) -> Option<u8> {
    std::str::from_utf8(pair).ok().and_then(|pair| u8::from_str_radix(pair, 16).ok())
}

/// Checksums by the number of their hexadecimal digits.
///
/// Source: RFC 1321 (MD5, 128 bits; from memory), FIPS 180-4 (SHA-1, SHA-256, SHA-512; from memory), CRC-32 of ISO/IEC 15948
/// (from memory). Of these only the two long ones tell a changed file from a forged one.
const CHECKSUMS: &[(usize, &str, bool)] =
    &[(8, "CRC-32", false), (32, "MD5", false), (40, "SHA-1", false), (64, "SHA-256", true), (128, "SHA-512", true)];

/// A checksum as it is written beside a file: which one it is, and whether two are the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checksum {
    digits: String,
    name: &'static str,
    forged: bool,
}

impl Checksum {
    /// Reads a checksum written in hexadecimal; capitals and spaces do not matter.
    ///
    /// # Errors
    /// When it is not hexadecimal or of no known length.
    pub fn new(text: &str) -> Result<Self, Message> {
        let digits = digits_of(text);
        let known = CHECKSUMS.iter().find(|(length, ..)| *length == digits.len());
        match known {
            Some((_, name, safe)) if digits.bytes().all(|byte| byte.is_ascii_hexdigit()) => {
                Ok(Self { digits, name, forged: !safe })
            }
            _ => Err(Message::new(
                format!("a checksum of {} letters is none that is known here", digits.chars().count()),
                "copy the whole of it: 64 hexadecimal digits for SHA-256, 32 for MD5",
            )),
        }
    }

    /// Whether two checksums are the same.
    ///
    /// # Errors
    /// When they are of two kinds.
    pub fn same(&self, other: &Self) -> Result<Found, Message> {
        if self.name != other.name {
            return Err(Message::new(
                format!("one is {} and the other {}", self.name, other.name),
                "ask for the same kind on both sides, SHA-256 for choice",
            ));
        }
        Ok(Found::stated(self.digits == other.digits))
    }
}

thing!(Checksum, "a checksum", |sum| vec![sum.name.into(), " ".into(), sum.digits.as_str().into()], {
    name "Which checksum it is, by its length." => Found::stated(sum.name),
    digits "Its hexadecimal digits, small and without spaces." => Found::stated(sum.digits.as_str()),
    short "Its first eight digits, to read out on the telephone." => Found::stated(sum.digits.chars().take(8).collect::<String>()),
    shows_forgery "Whether it also tells a forged file from the true one; every one tells a damaged file." => Found::stated(!sum.forged),
});

/// The order in which a file is worked on. What is done early is done to every pixel; what is done late depends on the size.
///
/// Source: common practice, no source.
pub const WORK: &[&str] = &[
    "look over the scan at one pixel to a pixel, all of it",
    "keep the scan as it came, twice, on two disks, with its checksum",
    "clean dust and hairs by hand",
    "set colour and tone, with the profile the print is judged under",
    "export the master: 16-bit TIFF, RGB, profile embedded, flattened",
    "resize a copy to the print, at the printer's own pixels to the inch",
    "sharpen that copy for its size and paper, and look at strips at full size",
    "add bleed or border",
    "send it with its checksum and its name: title, size, bleed",
    "ask for the checksum of what arrived, and compare",
    "judge the proof, write what changes, and keep the proof",
];

/// An image as plain pixels, without header and without compression.
#[derive(Clone, Debug, PartialEq)]
pub struct ImageFile {
    width: Pixels,
    height: Pixels,
    bits: u32,
    channels: u32,
}

impl ImageFile {
    /// So many pixels across and down, with `bits` in each of `channels`.
    ///
    /// # Errors
    /// When a side has no whole number of pixels, or bits or channels are none or not ones a file holds.
    pub fn new(width: Pixels, height: Pixels, bits: u32, channels: u32) -> Result<Self, Message> {
        for (what, side) in [("width in pixels", width), ("height in pixels", height)] {
            above_zero(what, side)?;
            if side.to_px().fract() != 0.0 {
                return Err(Message::new(format!("the {what} is {}", side.to_px()), "give whole pixels"));
            }
        }
        if ![1, 2, 4, 8, 12, 14, 16, 24, 32, 64].contains(&bits) {
            return Err(Message::new(
                format!("a channel of {bits} bits is not one an image file holds"),
                "give 8, 16 or 32 bits a channel",
            ));
        }
        if !(1..=64).contains(&channels) {
            return Err(Message::new(
                format!("an image with {channels} channels is not one a file holds"),
                "give 1 for grey, 3 for RGB, 4 for CMYK",
            ));
        }
        Ok(Self { width, height, bits, channels })
    }

    /// Pixels across × down × channels × bits ÷ 8.
    pub fn size(&self) -> Data {
        let samples = self.width.to_px() * self.height.to_px() * f64::from(self.channels);
        Data::bytes((samples * f64::from(self.bits) / 8.0).ceil())
    }

    /// Whether a TIFF of 32-bit offsets is too small for it, its header left out of account.
    pub fn needs_bigtiff(&self) -> bool {
        self.size() >= TIFF_LIMIT
    }

    /// Whether both sides are short enough for a JPEG.
    pub fn jpeg_ok(&self) -> bool {
        self.width.max(self.height) <= JPEG_LIMIT
    }

    fn found_size(&self, value: impl Into<Value>) -> Found {
        Found::by(
            value,
            "{} × {} × {} channels × {} bits ÷ 8",
            [self.width.into(), self.height.into(), self.channels.into(), self.bits.into()],
        )
    }
}

thing!(ImageFile, "a file", |file| vec![
    "file of ".into(), file.size().into(), ", ".into(), pair(file.width, file.height), ", ".into(),
    file.channels.into(), " × ".into(), file.bits.into(), " bits".into(),
], {
    size "Its size, uncompressed, without header; MB and GB count in thousands (IEC 80000-13)." => file.found_size(file.size()),
    bytes "Its size in bytes, a plain number." => file.found_size(file.size().to_bytes()),
    mib "Its size in MiB of 1024 × 1024 bytes, as many computers show it." =>
        Found::by(format!("{:.1} MiB", file.size().to_mib()), "{} bytes ÷ 1024²", [file.size().to_bytes().into()]),
    pixels "Pixels across and down." => Found::stated(pair(file.width, file.height)),
    fits_tiff "Whether a TIFF 6.0 file, at most 2³² bytes long, can hold it." => Found::stated(!file.needs_bigtiff()),
    needs_bigtiff "Whether it needs a BigTIFF, of 64-bit offsets." => Found::stated(file.needs_bigtiff()),
    jpeg_ok "Whether both sides are within the 65 535 pixels of a JPEG." => Found::stated(file.jpeg_ok()),
});

/// How long it takes to send so much at `rate`, of which the share `efficiency` arrives.
///
/// # Errors
/// When the size or rate is zero or less, or the efficiency no share above zero.
pub fn upload(size: Data, rate: DataRate, efficiency: f64) -> Result<Found, Message> {
    above_zero("amount of data", size)?;
    above_zero("speed", rate)?;
    above_zero("efficiency", Quantity::plain(efficiency))?;
    if efficiency > 1.0 {
        return Err(Message::new(
            format!("an efficiency of {efficiency} is more than all"),
            "give a share up to 1, such as 0.8",
        ));
    }
    let seconds = crate::measure::Time::s(size.to_bytes() / (rate.to_mb_s() * 1e6 * efficiency));
    Ok(if efficiency < 1.0 {
        Found::by(seconds, "{} ÷ ({} × {})", [size.into(), rate.into(), efficiency.into()])
    } else {
        Found::by(seconds, "{} ÷ {}", [size.into(), rate.into()])
    })
}
