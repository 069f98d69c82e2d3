//! One sheet that proves a print: the whole picture small, and strips of it at full scale.

use super::{above_zero, pair, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// Between what stands on the sheet, and round it. Source: common practice, no source.
pub const GAP: Length = Length::inch(0.5);

/// The strips of a proof sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strips {
    /// How many.
    pub count: u32,
    /// Width and height of each.
    pub size: (Length, Length),
}

/// A sheet with the whole picture small above rows of strips at full scale.
#[derive(Clone, Debug, PartialEq)]
pub struct ProofSheet {
    print: (Length, Length),
    sheet: (Length, Length),
    strips: Strips,
    gap: Length,
    rows: u32,
}

impl ProofSheet {
    /// The picture as large as the sheet leaves room for above the strips, which lie in as few rows as they go.
    ///
    /// # Errors
    /// When a length is zero or less, there are no strips, a strip is larger than the print or does not fit the sheet, or
    /// the strips leave no room for the picture.
    pub fn new(print: (Length, Length), sheet: (Length, Length), strips: Strips, gap: Length) -> Result<Self, Message> {
        for (what, side) in [
            ("width of the print", print.0),
            ("height of the print", print.1),
            ("width of the sheet", sheet.0),
            ("height of the sheet", sheet.1),
            ("width of a strip", strips.size.0),
            ("height of a strip", strips.size.1),
        ] {
            above_zero(what, side)?;
        }
        zero_or_more("gap", gap)?;
        if !strips.size.0.fits(print.0) || !strips.size.1.fits(print.1) {
            return Err(Message::new(
                format!("a strip {} by {} is larger than the print", said(strips.size.0), said(strips.size.1)),
                "give a smaller strip",
            ));
        }
        let room = sheet.0 - gap * 2.0;
        let in_row = strips.size.0.count_in(room, gap, 100);
        if strips.count == 0 || strips.count > 100 || in_row == 0 {
            return Err(Message::new(
                format!(
                    "{} strips {} wide are not for a sheet {} wide",
                    strips.count,
                    said(strips.size.0),
                    said(sheet.0)
                ),
                "give 1 to 100 strips no wider than the sheet",
            ));
        }
        let rows = strips.count.div_ceil(in_row);
        let sheet = Self { print, sheet, strips, gap, rows };
        if sheet.room().is_positive() && sheet.picture().0.is_positive() {
            return Ok(sheet);
        }
        Err(Message::new(
            format!("the strips leave no room for the picture on a sheet {} high", said(sheet.sheet.1)),
            "take fewer or lower strips, or a larger sheet",
        ))
    }

    fn room(&self) -> Length {
        self.sheet.1 - self.gap * 2.0 - (self.strips.size.1 + self.gap) * f64::from(self.rows)
    }

    /// The whole picture, as large as it goes, and never larger than the print.
    pub fn picture(&self) -> (Length, Length) {
        let ratio = self.print.0 / self.print.1;
        let width = (self.sheet.0 - self.gap * 2.0).min(self.room() * ratio).min(self.print.0);
        (width, width / ratio)
    }

    /// The share of the print that is seen at full scale.
    pub fn seen(&self) -> f64 {
        let strip = self.strips.size.0 * self.strips.size.1;
        (strip * f64::from(self.strips.count)) / (self.print.0 * self.print.1)
    }
}

thing!(ProofSheet, "a proof sheet", |sheet| vec![
    "proof, picture ".into(), pair(sheet.picture().0, sheet.picture().1), ", ".into(), sheet.strips.count.into(), " strips ".into(),
    pair(sheet.strips.size.0, sheet.strips.size.1),
], {
    picture "The whole picture, as large as the sheet leaves room for." => Found::stated(pair(sheet.picture().0, sheet.picture().1)),
    scale "Width of that picture divided by width of the print." =>
        Found::by(sheet.picture().0 / sheet.print.0, "{} ÷ {}", [sheet.picture().0.into(), sheet.print.0.into()]),
    strips "How many strips at full scale." => Found::stated(sheet.strips.count),
    rows "Rows of strips below the picture." => Found::stated(sheet.rows),
    seen "The share of the print that is seen at full scale, 0 to 1 where strips do not repeat." => Found::by(
        sheet.seen(), "{} × {} ÷ {}",
        [
            sheet.strips.count.into(),
            (sheet.strips.size.0 * sheet.strips.size.1).into(),
            (sheet.print.0 * sheet.print.1).into(),
        ],
    ),
});
