//! The window mat that keeps a print off the glass.

use super::{above_zero, pair, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message};

/// How much wider the bottom border is. Source: common practice, no source (1/4 to 1 in).
pub const BOTTOM: Length = Length::inch(0.5);
/// How much of the image the mat covers on each side. Source: common practice, no source (1/8 to 1/4 in).
pub const OVERLAP: Length = Length::inch(0.125);
/// Thinnest mat board, in plies. Source: Library of Congress, Guide to Preservation Matting and Framing (read).
pub const PLIES: u32 = 4;
/// Least and greatest pH of mat board. Source: Library of Congress, Guide to Preservation Matting and Framing (read).
pub const PH: (f64, f64) = (7.0, 8.5);

/// A mat with one window.
#[derive(Clone, Debug, PartialEq)]
pub struct Mat {
    image: (Length, Length),
    border: Length,
    bottom: Length,
    overlap: Length,
}

impl Mat {
    /// A mat with `border` on three sides and `bottom` more below, covering `overlap` of the image on each side.
    ///
    /// # Errors
    /// When the image or the border is zero or less, or the overlap covers the image.
    pub fn new(image: (Length, Length), border: Length, bottom: Length, overlap: Length) -> Result<Self, Message> {
        above_zero("width of the image", image.0)?;
        above_zero("height of the image", image.1)?;
        above_zero("border", border)?;
        zero_or_more("bottom weight", bottom)?;
        zero_or_more("overlap", overlap)?;
        let mat = Self { image, border, bottom, overlap };
        if mat.opening().0.is_positive() && mat.opening().1.is_positive() {
            return Ok(mat);
        }
        Err(Message::new(format!("an overlap of {} covers the whole image", said(overlap)), "give a smaller overlap"))
    }

    /// The image under it.
    pub fn image(&self) -> (Length, Length) {
        self.image
    }

    /// The border at the top and both sides, and the one below.
    pub fn borders(&self) -> (Length, Length) {
        (self.border, self.border + self.bottom)
    }

    /// The window: the image less the overlap on each side.
    pub fn opening(&self) -> (Length, Length) {
        (self.image.0 - self.overlap * 2.0, self.image.1 - self.overlap * 2.0)
    }

    fn opening_found(&self) -> Found {
        Found::by(
            pair(self.opening().0, self.opening().1),
            "{} − 2 × {}",
            [pair(self.image.0, self.image.1), self.overlap.into()],
        )
    }

    /// Outside of the mat, which is the size of the pane.
    pub fn outside(&self) -> (Length, Length) {
        let (width, height) = self.opening();
        (width + self.border * 2.0, height + self.border * 2.0 + self.bottom)
    }
}

thing!(Mat, "a mat", |mat| vec![
    "mat, ".into(), pair(mat.outside().0, mat.outside().1), ", window ".into(), pair(mat.opening().0, mat.opening().1),
], {
    opening "The window." => mat.opening_found(),
    outside "Outside of the mat." => Found::stated(pair(mat.outside().0, mat.outside().1)),
    width "Outside width." => Found::by(mat.outside().0, "{} + 2 × {}", [mat.opening().0.into(), mat.border.into()]),
    height "Outside height." =>
        Found::by(mat.outside().1, "{} + 2 × {} + {}", [mat.opening().1.into(), mat.border.into(), mat.bottom.into()]),
    bottom "The bottom border." => Found::by(mat.border + mat.bottom, "{} + {}", [mat.border.into(), mat.bottom.into()]),
    plies "Thinnest mat board, in plies (Library of Congress, Guide to Preservation Matting and Framing)." => Found::stated(PLIES),
    ph "Least and greatest pH of mat board (Library of Congress, Guide to Preservation Matting and Framing)." =>
        Found::stated(pair(PH.0, PH.1)),
    note "What the mat is for." => Found::stated(
        "The print must not touch the glazing: a window mat of at least four plies or a spacer stands between. Board of cotton \
         or purified pulp, pH 7 to 8.5, that passes the photographic activity test.",
    ),
});

/// Between two windows of one mat. Source: common practice, no source.
pub const BETWEEN: Length = Length::inch(2.0);

/// A mat with several windows of one size side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Windows {
    one: Mat,
    count: u32,
    between: Length,
}

impl Windows {
    /// As [`Mat::new`], with so many windows and so much mat between each and the next.
    ///
    /// # Errors
    /// As [`Mat::new`], or when there are not 1 to 20 windows or the mat between them is zero or less.
    pub fn new(one: Mat, count: u32, between: Length) -> Result<Self, Message> {
        above_zero("mat between two windows", between)?;
        if (1..=20).contains(&count) {
            return Ok(Self { one, count, between });
        }
        Err(Message::new(format!("a mat of {count} windows"), "give 1 to 20 windows"))
    }

    /// Outside of the mat, which is the size of the pane.
    pub fn outside(&self) -> (Length, Length) {
        let (width, height) = self.one.outside();
        (width + (self.one.opening().0 + self.between) * f64::from(self.count - 1), height)
    }
}

thing!(Windows, "a mat of several windows", |mat| vec![
    "mat of ".into(), mat.count.into(), " windows, ".into(), pair(mat.outside().0, mat.outside().1),
], {
    opening "Each window." => mat.one.opening_found(),
    outside "Outside of the mat." => Found::stated(pair(mat.outside().0, mat.outside().1)),
    width "Outside width." => Found::by(mat.outside().0, "{} × {} + {} × {} + 2 × {}", [
        mat.count.into(), mat.one.opening().0.into(), (mat.count - 1).into(), mat.between.into(), mat.one.border.into(),
    ]),
    height "Outside height." => Found::stated(mat.outside().1),
    lefts "From the left edge of the mat to the left edge of each window." => Found::stated(crate::Value::List(
        (0..mat.count).map(|at| (mat.one.border + (mat.one.opening().0 + mat.between) * f64::from(at)).into()).collect(),
    )),
    count "How many windows." => Found::stated(mat.count),
    plies "Thinnest mat board, in plies (Library of Congress, Guide to Preservation Matting and Framing)." => Found::stated(PLIES),
    ph "Least and greatest pH of mat board (Library of Congress, Guide to Preservation Matting and Framing)." =>
        Found::stated(pair(PH.0, PH.1)),
});
