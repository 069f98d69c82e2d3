//! A finished drawing: what it shows, its scale, and its lines and words in millimetres of paper.

use std::fmt::Write as _;

use super::{lettering, n};
use crate::document::html::escape;

/// A place on the paper, in millimetres, right and down.
pub type Place = (f64, f64);

/// A drawing to scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// What it is, in a few words.
    pub title: String,
    /// What it shows, for someone who does not see it.
    pub says: String,
    /// What stands under it.
    pub caption: String,
    /// Paper to real.
    pub scale: Scale,
    pub(super) left: f64,
    pub(super) top: f64,
    /// How wide it is on paper, in millimetres.
    pub width: f64,
    /// How high it is on paper, in millimetres.
    pub height: f64,
    pub(super) shapes: Vec<Shape>,
}

/// So many millimetres of paper for so many real ones. Source: ISO 5455, recommended scales (from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    /// On paper.
    pub paper: u32,
    /// In truth.
    pub real: u32,
}

impl Scale {
    /// Full size.
    pub const FULL: Self = Self { paper: 1, real: 1 };

    const ALL: [Self; 16] = [
        Self { paper: 10, real: 1 },
        Self { paper: 5, real: 1 },
        Self { paper: 2, real: 1 },
        Self::FULL,
        Self { paper: 1, real: 2 },
        Self { paper: 1, real: 5 },
        Self { paper: 1, real: 10 },
        Self { paper: 1, real: 20 },
        Self { paper: 1, real: 50 },
        Self { paper: 1, real: 100 },
        Self { paper: 1, real: 200 },
        Self { paper: 1, real: 500 },
        Self { paper: 1, real: 1000 },
        Self { paper: 1, real: 2000 },
        Self { paper: 1, real: 5000 },
        Self { paper: 1, real: 10_000 },
    ];

    /// The largest scale at which something of this size, in real millimetres, fits the room on paper.
    #[must_use]
    pub fn fit(size: Place, room: Place) -> Self {
        let fits = |scale: &Self| size.0 * scale.factor() <= room.0 && size.1 * scale.factor() <= room.1;
        Self::ALL.into_iter().find(fits).unwrap_or(Self { paper: 1, real: 10_000 })
    }

    /// As [`Scale::fit`], but never larger than `most`.
    #[must_use]
    pub fn fit_below(size: Place, room: Place, most: Self) -> Self {
        let found = Self::fit(size, room);
        if found.factor() > most.factor() { most } else { found }
    }

    /// Millimetres of paper to a real millimetre.
    #[must_use]
    pub fn factor(self) -> f64 {
        f64::from(self.paper) / f64::from(self.real)
    }
}

impl std::fmt::Display for Scale {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}", self.paper, self.real)
    }
}

/// How a line is drawn. Source: ISO 128, line types and the widths 0.5 and 0.25 of group 0.5 (from memory).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Line {
    /// A visible edge, 0.5 mm.
    Edge,
    /// A thin edge, 0.25 mm.
    Thin,
    /// A dimension, 0.18 mm.
    Size,
    /// A hidden edge, dashed.
    Hidden,
    /// A centre line, long dash and dot.
    Axis,
    /// Hatching.
    Hatch,
    /// What a rule is laid to.
    Rule,
}

/// What fills an outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fill {
    None,
    Paper,
    Tone,
    Deep,
    Solid,
}

/// Where words stand from their place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shape {
    Lines { points: Vec<Place>, closed: bool, line: Line, fill: Fill },
    Person { feet: Place, tall: f64 },
    Words { at: Place, anchor: Anchor, turned: bool, words: String },
}

/// Where a drawing is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// On the page, in the page's own colours.
    Page,
    /// On paper, black on white, standing alone.
    Paper,
}

/// A person's outline, 170 cm tall, feet at the origin.
pub(crate) const PERSON: &str = "M0 -170 C5 -170 8 -165 8 -159 C8 -153 5 -148 2.6 -147 V-143 C8 -141 17 -141 20 -133 C22.5 -121 24 -105 24.2 -88 C24 -82 20.5 -82 19.6 -88 C18.8 -100 17 -112 15 -121 C14.4 -112 14 -104 15 -94 C16 -80 15.6 -62 14 -44 C13 -28 12 -14 11.4 -5 L14.6 -1.2 C14.8 -.4 14.4 0 13.4 0 H4.6 L4 -6 C3.8 -30 2.8 -52 .8 -74 H-.8 C-2.8 -52 -3.8 -30 -4 -6 L-4.6 0 H-13.4 C-14.4 0 -14.8 -.4 -14.6 -1.2 L-11.4 -5 C-12 -14 -13 -28 -14 -44 C-15.6 -62 -16 -80 -15 -94 C-14 -104 -14.4 -112 -15 -121 C-17 -112 -18.8 -100 -19.6 -88 C-20.5 -82 -24 -82 -24.2 -88 C-24 -105 -22.5 -121 -20 -133 C-17 -141 -8 -141 -2.6 -143 V-147 C-5 -148 -8 -153 -8 -159 C-8 -165 -5 -170 0 -170 Z";

impl Line {
    fn word(self) -> &'static str {
        match self {
            Self::Edge => "edge",
            Self::Thin => "thin",
            Self::Size => "size",
            Self::Hidden => "hidden",
            Self::Axis => "axis",
            Self::Hatch => "hatch",
            Self::Rule => "rule",
        }
    }

    fn ink(self) -> &'static str {
        match self {
            Self::Edge => " stroke=\"#000\" stroke-width=\"0.5\"",
            Self::Thin | Self::Rule => " stroke=\"#000\" stroke-width=\"0.25\"",
            Self::Size => " stroke=\"#3a3a3a\" stroke-width=\"0.18\"",
            Self::Hidden => " stroke=\"#000\" stroke-width=\"0.25\" stroke-dasharray=\"2 1\"",
            Self::Axis => " stroke=\"#3a3a3a\" stroke-width=\"0.18\" stroke-dasharray=\"6 1 0.6 1\"",
            Self::Hatch => " stroke=\"#6a6a6a\" stroke-width=\"0.18\"",
        }
    }
}

impl Fill {
    fn word(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Paper => " in-paper",
            Self::Tone => " in-tone",
            Self::Deep => " in-deep",
            Self::Solid => " in-solid",
        }
    }

    fn ink(self) -> &'static str {
        match self {
            Self::None => " fill=\"none\"",
            Self::Paper => " fill=\"#fff\"",
            Self::Tone => " fill=\"#ececec\"",
            Self::Deep => " fill=\"#cfcfcf\"",
            Self::Solid => " fill=\"#000\"",
        }
    }
}

impl Drawing {
    /// The drawing as SVG, one unit to a millimetre of paper.
    #[must_use]
    pub fn svg(&self, ground: Ground) -> String {
        let name = escape(&format!("{}. {}", self.title, self.says));
        let mut out = String::with_capacity(self.shapes.len() * 80);
        let head = match ground {
            Ground::Page => format!("class=\"draw\" role=\"img\" aria-label=\"{name}\""),
            Ground::Paper => "xmlns=\"http://www.w3.org/2000/svg\"".to_owned(),
        };
        let _ = write!(
            out,
            "<svg {head} viewBox=\"{} {} {} {}\" width=\"{}mm\" height=\"{}mm\">",
            n(self.left),
            n(self.top),
            n(self.width),
            n(self.height),
            n(self.width),
            n(self.height)
        );
        if ground == Ground::Paper {
            let _ = write!(out, "<title>{}</title><desc>{}</desc>", escape(&self.title), escape(&self.says));
        }
        for shape in &self.shapes {
            shape.write(&mut out, ground);
        }
        out.push_str("</svg>");
        out
    }

    /// The drawing with its caption, for a page.
    #[must_use]
    pub fn figure(&self) -> String {
        format!(
            "<figure class=\"wide drawing\"><div class=\"onpaper\" tabindex=\"0\" role=\"group\" aria-label=\"{}\">{}</div><figcaption>{}</figcaption></figure>\n",
            escape(&self.title),
            self.svg(Ground::Page),
            escape(&self.caption)
        )
    }
}

/// For a sheet of paper: the drawing as an image that stands alone, with what it says in words.
impl serde::Serialize for Drawing {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct as _;
        let mut out = serializer.serialize_struct("Drawing", 5)?;
        out.serialize_field("svg", &self.svg(Ground::Paper))?;
        out.serialize_field("alt", &format!("{}. {}", self.title, self.says))?;
        out.serialize_field("caption", &self.caption)?;
        out.serialize_field("width", &self.width)?;
        out.serialize_field("height", &self.height)?;
        out.end()
    }
}

impl Shape {
    fn write(&self, out: &mut String, ground: Ground) {
        match self {
            Self::Lines { points, closed, line, fill } => {
                let mut path = String::new();
                for (index, (x, y)) in points.iter().enumerate() {
                    let _ = write!(path, "{}{} {}", if index == 0 { "M" } else { "L" }, n(*x), n(*y));
                }
                if *closed {
                    path.push('Z');
                }
                let look = match ground {
                    Ground::Page => format!(" class=\"l-{}{}\"", line.word(), fill.word()),
                    Ground::Paper => format!("{}{}", line.ink(), fill.ink()),
                };
                let _ = write!(out, "<path d=\"{path}\"{look}/>");
            }
            Self::Person { feet, tall } => {
                let look = if ground == Ground::Page { "class=\"l-no in-shade\"" } else { "fill=\"#9a9a9a\"" };
                let _ = write!(
                    out,
                    "<path {look} transform=\"translate({} {}) scale({:.4})\" d=\"{PERSON}\"/>",
                    n(feet.0),
                    n(feet.1),
                    tall / 170.0
                );
            }
            Self::Words { at, anchor, turned, words } => {
                let anchor = match anchor {
                    Anchor::Start => "start",
                    Anchor::Middle => "middle",
                    Anchor::End => "end",
                };
                let place = if *turned {
                    format!("transform=\"translate({} {}) rotate(-90)\"", n(at.0), n(at.1))
                } else {
                    format!("x=\"{}\" y=\"{}\"", n(at.0), n(at.1))
                };
                let look = if ground == Ground::Page {
                    String::new()
                } else {
                    " font-family=\"Libertinus Serif\" fill=\"#000\"".to_owned()
                };
                let _ = write!(
                    out,
                    "<text {place} text-anchor=\"{anchor}\" font-size=\"{}\"{look}>{}</text>",
                    lettering::SIZE,
                    escape(words)
                );
            }
        }
    }
}
