//! The plan's own pictures: JPEG and PNG, looked into before anything is made of them.

use krilla::image::Image;

use crate::content::{Block, Picture, Sheet};

/// How many points of a picture go on an inch of paper before it is made smaller.
const DOTS: f32 = 200.0;
/// The widest and highest picture, in its own points.
const WIDEST: u32 = 20_000;
/// How many points of all PNG pictures of a sheet are unpacked; JPEG goes into the file as it is.
const UNPACKED: u64 = 8_000_000;
/// The largest colour profile a PNG may bring, packed.
const PROFILE: usize = 16 << 10;

/// A picture ready for paper; nothing where it cannot be shown.
pub(crate) struct Shown(Option<Ready>);

pub(crate) struct Ready {
    pub(crate) image: Image,
    wide: u32,
    high: u32,
    /// Turned by so many quarters to the right, as its camera says, and mirrored before.
    pub(crate) turns: u8,
    pub(crate) mirrored: bool,
}

impl Shown {
    /// How large it would be on paper, in points of the sheet.
    pub(crate) fn size(&self) -> Option<(f32, f32)> {
        let ready = self.0.as_ref()?;
        let (wide, high) = (ready.wide as f32 * 72.0 / DOTS, ready.high as f32 * 72.0 / DOTS);
        Some(if ready.turns % 2 == 1 { (high, wide) } else { (wide, high) })
    }

    pub(crate) fn ready(&self) -> Option<&Ready> {
        self.0.as_ref()
    }
}

/// Every picture of a sheet, in order; `with` says whether pictures are shown at all.
pub(crate) fn all(sheet: &Sheet, with: bool) -> Vec<Shown> {
    let mut found = Vec::new();
    sheet.body.iter().for_each(|block| collect(block, &mut found));
    let mut left = UNPACKED;
    found.into_iter().map(|picture| Shown(if with { ready(picture, &mut left) } else { None })).collect()
}

fn collect<'a>(block: &'a Block, out: &mut Vec<&'a Picture>) {
    match block {
        Block::Picture(picture) => out.push(picture),
        Block::Quote(all) | Block::Marked(all) | Block::Closing(all) => all.iter().for_each(|one| collect(one, out)),
        Block::List { items, .. } => items.iter().flat_map(|item| &item.blocks).for_each(|one| collect(one, out)),
        Block::Revised { block, .. } => collect(block, out),
        _ => {}
    }
}

fn ready(picture: &Picture, left: &mut u64) -> Option<Ready> {
    let file = picture.file.as_slice();
    let fits = |wide: u32, high: u32| wide > 0 && high > 0 && wide <= WIDEST && high <= WIDEST;
    if file.starts_with(&[0xff, 0xd8]) {
        let read = jpeg(file).filter(|read| fits(read.wide, read.high))?;
        let image = Image::from_jpeg(picture.file.clone().into(), false).ok()?;
        let (turns, mirrored) = turned(read.orientation);
        return Some(Ready { image, wide: read.wide, high: read.high, turns, mirrored });
    }
    let (packed, wide, high, deep) = png(file).filter(|(_, wide, high, _)| fits(*wide, *high))?;
    let cost = u64::from(wide) * u64::from(high) * if deep > 8 { 2 } else { 1 };
    *left = left.checked_sub(cost)?;
    let image = Image::from_png(packed.into(), false).ok()?;
    Some(Ready { image, wide, high, turns: 0, mirrored: false })
}

/// Quarters to the right and whether mirrored. Source: Exif 2.32, tag 0112, Orientation (from memory).
fn turned(orientation: u16) -> (u8, bool) {
    match orientation {
        2 => (0, true),
        3 => (2, false),
        4 => (2, true),
        5 => (3, true),
        6 => (1, false),
        7 => (1, true),
        8 => (3, false),
        _ => (0, false),
    }
}

struct Jpeg {
    wide: u32,
    high: u32,
    orientation: u16,
}

fn two(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]))
}

/// Size and orientation of a JPEG with one or three colours of eight bits. Source: ITU-T T.81, annex B (from memory).
fn jpeg(file: &[u8]) -> Option<Jpeg> {
    let (mut at, mut orientation, mut frame) = (2, 1, None);
    loop {
        if *file.get(at)? != 0xff {
            return None;
        }
        let marker = *file.get(at + 1)?;
        if marker == 0xff {
            at += 1;
            continue;
        }
        let long = usize::from(two(file, at + 2)?);
        let body = file.get(at + 4..at + 2 + long)?;
        match marker {
            // Frames that every reader knows: baseline, extended and progressive.
            0xc0..=0xc2 => {
                let colours = *body.get(5)?;
                let (high, wide) = (two(body, 1)?, two(body, 3)?);
                let known = *body.first()? == 8 && (colours == 1 || colours == 3);
                if !known {
                    return None;
                }
                frame = Some((u32::from(wide), u32::from(high)));
            }
            // The picture itself: whole when its end is there, which stands nowhere within it.
            0xda => {
                let (wide, high) = frame.filter(|_| file.get(at..).is_some_and(ends))?;
                return Some(Jpeg { wide, high, orientation });
            }
            0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf | 0xd9 => return None,
            0xe1 => orientation = exif(body).unwrap_or(orientation),
            _ => {}
        }
        at += 2 + long;
    }
}

fn ends(picture: &[u8]) -> bool {
    picture.windows(2).any(|pair| pair == [0xff, 0xd9])
}

fn exif(body: &[u8]) -> Option<u16> {
    let tiff = body.strip_prefix(b"Exif\0\0")?;
    let little = tiff.starts_with(b"II");
    let two = |at: usize| {
        let pair = [*tiff.get(at)?, *tiff.get(at + 1)?];
        Some(if little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    };
    let four = |at: usize| {
        let (a, b) = (u32::from(two(at)?), u32::from(two(at + 2)?));
        Some(if little { b << 16 | a } else { a << 16 | b })
    };
    let table = four(4)? as usize;
    let count = usize::from(two(table)?);
    (0..count.min(64))
        .map(|entry| table + 2 + entry * 12)
        .find(|at| two(*at) == Some(0x0112))
        .and_then(|at| two(at + 8))
}

/// A PNG with nothing in it but what its picture needs, and its size and depth. Source: ISO/IEC 15948, clause 5 (from memory).
fn png(file: &[u8]) -> Option<(Vec<u8>, u32, u32, u8)> {
    const SIGN: &[u8] = b"\x89PNG\r\n\x1a\n";
    let four = |at: usize| {
        Some(u32::from_be_bytes([*file.get(at)?, *file.get(at + 1)?, *file.get(at + 2)?, *file.get(at + 3)?]))
    };
    if !file.starts_with(SIGN) || file.get(12..16)? != b"IHDR" {
        return None;
    }
    let (wide, high, deep) = (four(16)?, four(20)?, *file.get(24)?);
    let mut out = SIGN.to_vec();
    let mut at = SIGN.len();
    while let Some(long) = four(at) {
        let end = at.checked_add(12)?.checked_add(long as usize)?;
        let chunk = file.get(at..end)?;
        let kind = chunk.get(4..8)?;
        let is_kept = matches!(kind, b"IHDR" | b"PLTE" | b"IDAT" | b"IEND" | b"tRNS")
            || (kind == b"iCCP" && long as usize <= PROFILE);
        if is_kept {
            out.extend_from_slice(chunk);
        }
        if kind == b"IEND" {
            return Some((out, wide, high, deep));
        }
        at = end;
    }
    None
}
