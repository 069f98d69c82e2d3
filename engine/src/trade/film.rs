//! The piece of film a photograph starts from: its format and the part of it that is used.

use super::{above_zero, on_film};
use crate::measure::Length;
use crate::{Found, Message, Value};

/// The exposed image on a piece of film, or the part of it that is kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Film {
    name: String,
    width: Length,
    height: Length,
}

/// One named format, nominal, lying on its long side.
struct Format {
    name: &'static str,
    width: Length,
    height: Length,
}

const fn mm(name: &'static str, width: f64, height: f64) -> Format {
    Format { name, width: Length::mm(width), height: Length::mm(height) }
}

const fn inch(name: &'static str, width: f64, height: f64) -> Format {
    Format { name, width: Length::inch(width), height: Length::inch(height) }
}

// Source: roll film, nominal images as listed in an encyclopedia table that cites ISO 732 (read); the standard fixes
// the film and the camera's gate fixes the image, so measure your own. 135: ISO 1007 (from memory). Sheet film: nominal
// inches (identity); ISO 1012 cuts the sheet, and the holder hides, a few millimetres more.
const FORMATS: &[Format] = &[
    mm("135", 36.0, 24.0),
    mm("135 panorama", 65.0, 24.0),
    mm("6x4.5", 56.0, 41.5),
    mm("6x6", 56.0, 56.0),
    mm("6x7", 70.0, 56.0),
    mm("6x8", 77.0, 56.0),
    mm("6x9", 84.0, 56.0),
    mm("6x12", 118.0, 56.0),
    mm("6x17", 168.0, 56.0),
    mm("6x24", 224.0, 56.0),
    inch("4x5", 5.0, 4.0),
    inch("5x7", 7.0, 5.0),
    inch("8x10", 10.0, 8.0),
    inch("11x14", 14.0, 11.0),
];

impl Film {
    /// A format by its name, lying on its long side; spaces, capitals and `×` do not matter.
    ///
    /// # Errors
    /// When no format has that name.
    pub fn named(name: &str) -> Result<Self, Message> {
        let plain = |name: &str| name.to_lowercase().replace('×', "x").replace(' ', "");
        let found = FORMATS.iter().find(|one| plain(one.name) == plain(name));
        let Some(format) = found else {
            let names: Vec<_> = Self::names().collect();
            return Err(Message::new(
                format!("no film format is called `{name}`"),
                format!("use one of {}, or give its width and height: `film(168.mm, 56.mm)`", names.join(", ")),
            ));
        };
        Ok(Self { name: format.name.into(), width: format.width, height: format.height })
    }

    /// An image of measured size: width first, then height.
    ///
    /// # Errors
    /// When a side is zero or less.
    pub fn measured(width: Length, height: Length) -> Result<Self, Message> {
        above_zero("width of the film", width)?;
        above_zero("height of the film", height)?;
        Ok(Self { name: "film".into(), width, height })
    }

    /// The names of all formats, smallest first.
    pub fn names() -> impl Iterator<Item = &'static str> {
        FORMATS.iter().map(|one| one.name)
    }

    /// The same film turned by a quarter: width and height trade places.
    #[must_use]
    pub fn turned(&self) -> Self {
        Self { name: self.name.clone(), width: self.height, height: self.width }
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Width of the image on film.
    pub fn width(&self) -> Length {
        self.width
    }

    /// Height of the image on film.
    pub fn height(&self) -> Length {
        self.height
    }

    /// Width and height, in millimetres whatever a plan's units are.
    pub fn size(&self) -> Value {
        Value::List(vec![on_film(self.width), on_film(self.height)])
    }

    /// Width over height.
    pub fn ratio(&self) -> f64 {
        self.width / self.height
    }
}

thing!(Film, "a film", |film| vec![film.name.as_str().into(), " film, ".into(), film.size()], {
    width "Width of the image on the film." => Found::stated(on_film(film.width)),
    height "Height of the image on the film." => Found::stated(on_film(film.height)),
    size "Width and height together." => Found::stated(film.size()),
    ratio "Width divided by height, a plain number." =>
        Found::by(film.ratio(), "{} ÷ {}", [on_film(film.width), on_film(film.height)]),
});

/// The middle of a film in another shape, as large as it goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Crop {
    whole: Film,
    kept: Film,
}

impl Crop {
    /// The largest middle part of `film` whose width divided by its height is `ratio`.
    ///
    /// # Errors
    /// When the ratio is zero, less, or no number.
    pub fn to_ratio(film: &Film, ratio: f64) -> Result<Self, Message> {
        above_zero("ratio of width to height", crate::measure::Quantity::plain(ratio))?;
        let (width, height) =
            if ratio < film.ratio() { (film.height * ratio, film.height) } else { (film.width, film.width / ratio) };
        let kept = Film { name: format!("cropped {}", film.name), width, height };
        above_zero("width of the crop", width)?;
        above_zero("height of the crop", height)?;
        Ok(Self { whole: film.clone(), kept })
    }

    /// All of the film.
    pub fn whole(&self) -> &Film {
        &self.whole
    }

    /// The part that is kept; it stands wherever a film does.
    pub fn kept(&self) -> &Film {
        &self.kept
    }

    /// The share of the film's area that is cut away, 0 to 1.
    pub fn lost(&self) -> f64 {
        1.0 - (self.kept.width * self.kept.height) / (self.whole.width * self.whole.height)
    }

    /// What falls away at each of two opposite sides, at the ends or at top and bottom.
    pub fn lost_each_side(&self) -> Length {
        ((self.whole.width - self.kept.width) / 2.0).max((self.whole.height - self.kept.height) / 2.0)
    }
}

thing!(Crop, "a crop", |crop| vec![
    crop.whole.name.as_str().into(), " film cropped to ".into(), crop.kept.size()
], {
    width "Width that is kept on the film." => if crop.kept.width < crop.whole.width {
        Found::by(on_film(crop.kept.width), "{} × {}", [on_film(crop.whole.height), crop.kept.ratio().into()])
    } else {
        Found::stated(on_film(crop.kept.width))
    },
    height "Height that is kept on the film." => if crop.kept.height < crop.whole.height {
        Found::by(on_film(crop.kept.height), "{} ÷ {}", [on_film(crop.whole.width), crop.kept.ratio().into()])
    } else {
        Found::stated(on_film(crop.kept.height))
    },
    size "Width and height that are kept, together." => Found::stated(crop.kept.size()),
    ratio "Width divided by height of what is kept." => Found::stated(crop.kept.ratio()),
    lost "The share of the film's area that is cut away, 0 to 1." =>
        Found::by(crop.lost(), "1 − ({}) ÷ ({})", [crop.kept.size(), crop.whole.size()]),
    lost_each_side "What falls away at each of two opposite sides of the film." => Found::stated(on_film(crop.lost_each_side())),
});
