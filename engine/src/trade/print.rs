//! The finished image: how large, how much larger than its film, and how many pixels to the inch.

use super::film::Film;
use super::scan::{Scan, whole};
use super::{above_zero, on_film, pair, said, zero_or_more};
use crate::measure::{Area, Length, Pixels, Resolution};
use crate::{Found, Message, Value};

/// How far away a print is looked at, in diagonals. Source: common practice (1.5 to 2 diagonals), no source.
pub const VIEWED_FROM_DIAGONALS: f64 = 1.5;

/// The longest side of a print that is not taken for a slip. Source: own rule; presses are up to 5 m wide (common practice, no
/// source) and a roll of paper is seldom longer than this.
const LONGEST: Length = Length::m(100.0);

/// An image enlarged to a size, without border.
#[derive(Clone, Debug, PartialEq)]
pub struct Print {
    film: Film,
    scan: Option<Scan>,
    width: Length,
    height: Length,
}

impl Print {
    /// All of a film enlarged to `width`; the height follows from the film.
    ///
    /// # Errors
    /// When the width is zero or less, or a side is longer than anything printed in one piece.
    pub fn of_film(film: &Film, width: Length) -> Result<Self, Message> {
        above_zero("width of the print", width)?;
        let height = width / film.ratio();
        above_zero("height of the print", height)?;
        if width.max(height) > LONGEST {
            return Err(Message::new(
                format!("a print {} wide and {} high is beyond any press", said(width), said(height)),
                "check its digits and its unit; a wall larger than 100 m is printed in parts",
            ));
        }
        Ok(Self { film: film.clone(), scan: None, width, height })
    }

    /// All of a scan enlarged to `width`.
    ///
    /// # Errors
    /// When the width is zero or less.
    pub fn of_scan(scan: &Scan, width: Length) -> Result<Self, Message> {
        Ok(Self { scan: Some(scan.clone()), ..Self::of_film(scan.film(), width)? })
    }

    /// All of a film, or of its scan, enlarged to `height`; the width follows from the film.
    ///
    /// # Errors
    /// When the height is zero or less.
    pub fn to_height(film: &Film, scan: Option<&Scan>, height: Length) -> Result<Self, Message> {
        above_zero("height of the print", height)?;
        Ok(Self { scan: scan.cloned(), height, ..Self::of_film(film, height * film.ratio())? })
    }

    /// Width of the image.
    pub fn width(&self) -> Length {
        self.width
    }

    /// Height of the image.
    pub fn height(&self) -> Length {
        self.height
    }

    /// How many times wider than the film.
    pub fn enlargement(&self) -> f64 {
        self.width / self.film.width()
    }

    /// Pixels to the inch of print that the scanner's lens saw; nothing when it comes from film without a scan.
    pub fn ppi(&self) -> Option<Resolution> {
        self.scan.as_ref().map(|scan| scan.seen() / self.width)
    }

    /// Corner to corner.
    pub fn diagonal(&self) -> Length {
        Length::mm(self.width.to_mm().hypot(self.height.to_mm()))
    }

    fn area(&self) -> Area {
        self.width * self.height
    }

    fn size(&self) -> Value {
        pair(self.width, self.height)
    }
}

thing!(Print, "a print", |print| vec!["print, ".into(), print.size()], {
    width "Width of the image." => Found::stated(print.width),
    height "Height of the image; it follows from the film." =>
        Found::by(print.height, "{} × {} ÷ {}", [print.width.into(), on_film(print.film.height()), on_film(print.film.width())]),
    size "Width and height of the image together." => Found::stated(print.size()),
    area "Area of the image." => Found::by(print.area(), "{} × {}", [print.width.into(), print.height.into()]),
    enlargement "How many times wider than the film, a plain number." =>
        Found::by(print.enlargement(), "{} ÷ {}", [print.width.into(), on_film(print.film.width())]),
    ppi "Pixels to the inch that the scanner's lens saw, with no resampling; only a print from a scan has it." => print.scan.as_ref().map(|scan| {
        Found::by(scan.seen() / print.width, "{} ÷ {}", [scan.seen().into(), print.width.into()])
    }),
    file_ppi "Pixels to the inch in the scan's file, those it made up among them; only a print from a scan has it." => print.scan.as_ref().map(|scan| {
        Found::by(scan.width() / print.width, "{} ÷ {}", [scan.width().into(), print.width.into()])
    }),
    diagonal "From corner to corner." =>
        Found::by(print.diagonal(), "√({}² + {}²)", [print.width.into(), print.height.into()]),
    viewing_distance "How far away it is looked at: 1.5 diagonals (common practice, no source)." =>
        Found::by(print.diagonal() * VIEWED_FROM_DIAGONALS, "{} × {}", [VIEWED_FROM_DIAGONALS.into(), print.diagonal().into()]),
    united "Width plus height, the size by which frames are priced." =>
        Found::by(print.width + print.height, "{} + {}", [print.width.into(), print.height.into()]),
});

/// The largest width a scan gives at `ppi` without resampling, by the pixels that the lens saw.
///
/// # Errors
/// When the resolution is zero or less.
pub fn largest_print(scan: &Scan, ppi: Resolution) -> Result<Found, Message> {
    above_zero("resolution", ppi)?;
    let width = Length::inch(scan.seen().to_px() / ppi.to_ppi());
    Ok(Found::by(width, "{} ÷ {}", [scan.seen().into(), ppi.into()]))
}

/// A print brought to another number of pixels to the inch.
#[derive(Clone, Debug, PartialEq)]
pub struct Resampled {
    size: (Length, Length),
    from: Resolution,
    ppi: Resolution,
}

impl Resampled {
    /// The pixels a printer wants at `ppi` for this print.
    ///
    /// # Errors
    /// When the print comes from no scan, or the resolution is zero or less.
    pub fn new(print: &Print, ppi: Resolution) -> Result<Self, Message> {
        above_zero("resolution", ppi)?;
        let from = print.ppi().ok_or_else(|| {
            Message::new(
                "a print from film alone has no pixels to resample",
                "enlarge a scan: `enlarge(scan(film, 4000.ppi), 24.inch)`",
            )
        })?;
        Ok(Self { size: (print.width, print.height), from, ppi })
    }

    /// How many times more pixels along a side.
    pub fn factor(&self) -> f64 {
        self.ppi / self.from
    }

    /// Pixels across, to the nearest whole pixel.
    pub fn width(&self) -> Pixels {
        whole(self.size.0 * self.ppi)
    }

    /// Pixels from top to bottom.
    pub fn height(&self) -> Pixels {
        whole(self.size.1 * self.ppi)
    }
}

thing!(Resampled, "a resampled image", |image| vec![
    pair(image.width(), image.height()), " at ".into(), image.ppi.into(), ", × ".into(), image.factor().into()
], {
    factor "New pixels divided by those the scanner's lens saw along a side; above 1 the software makes pixels up." =>
        Found::by(image.factor(), "{} ÷ {}", [image.ppi.into(), image.from.into()]),
    pixels "Pixels across and down." => Found::by(pair(image.width(), image.height()), "{} × {}", [
        pair(image.size.0, image.size.1), image.ppi.into()
    ]),
    width_px "Pixels across." => Found::by(image.width(), "{} × {}", [image.size.0.into(), image.ppi.into()]),
    height_px "Pixels from top to bottom." => Found::by(image.height(), "{} × {}", [image.size.1.into(), image.ppi.into()]),
    ppi "Pixels to the inch of print." => Found::stated(image.ppi),
});

/// The sheet an image needs with the same border, or the same bleed, on all four sides.
///
/// # Errors
/// When a side is zero or less or the border below zero.
pub fn with_border(width: Length, height: Length, border: Length) -> Result<Found, Message> {
    above_zero("width of the image", width)?;
    above_zero("height of the image", height)?;
    zero_or_more("border", border)?;
    let sheet = pair(width + border * 2.0, height + border * 2.0);
    Ok(Found::by(sheet, "{} + 2 × {}", [pair(width, height), border.into()]))
}

/// What is left of a sheet when the same is trimmed off all four sides.
///
/// # Errors
/// When a side is zero or less, the trim below zero, or nothing is left.
pub fn trimmed(width: Length, height: Length, trim: Length) -> Result<Found, Message> {
    above_zero("width of the sheet", width)?;
    above_zero("height of the sheet", height)?;
    zero_or_more("trim", trim)?;
    above_zero("width left", width - trim * 2.0)?;
    above_zero("height left", height - trim * 2.0)?;
    let left = pair(width - trim * 2.0, height - trim * 2.0);
    Ok(Found::by(left, "{} − 2 × {}", [pair(width, height), trim.into()]))
}

/// How far away a print of that size is looked at: so many diagonals.
///
/// Source: common practice (1.5 to 2 diagonals), no source.
///
/// # Errors
/// When a side or the number of diagonals is zero or less.
pub fn viewed_from(width: Length, height: Length, diagonals: f64) -> Result<Found, Message> {
    above_zero("width of the print", width)?;
    above_zero("height of the print", height)?;
    above_zero("number of diagonals", crate::measure::Quantity::plain(diagonals))?;
    let diagonal = Length::mm(width.to_mm().hypot(height.to_mm()));
    above_zero("viewing distance", diagonal * diagonals)?;
    Ok(Found::by(diagonal * diagonals, "{} × √({}² + {}²)", [diagonals.into(), width.into(), height.into()]))
}
