//! A finished drawing: what it shows, its scale, and its lines and words in millimetres of paper.

use super::{lettering, n};
use crate::markup::{Html, Name, Tag};

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
pub enum Line {
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
pub enum Fill {
    /// Nothing.
    None,
    /// The paper's white, over what is behind.
    Paper,
    /// A light grey.
    Tone,
    /// A darker grey.
    Deep,
    /// Black.
    Solid,
}

/// Where words stand from their place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// They begin there.
    Start,
    /// Their middle is there.
    Middle,
    /// They end there.
    End,
}

/// Something drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Straight lines from place to place.
    Lines {
        /// The places.
        points: Vec<Place>,
        /// Whether they end where they began.
        closed: bool,
        /// How they are drawn.
        line: Line,
        /// What is within.
        fill: Fill,
    },
    /// The outline of a person.
    Person {
        /// Where the feet stand.
        feet: Place,
        /// How tall it is on paper.
        tall: f64,
    },
    /// Words.
    Words {
        /// Where they stand.
        at: Place,
        /// Which part of them stands there.
        anchor: Anchor,
        /// Whether they read upwards.
        turned: bool,
        /// The words.
        words: String,
    },
}

/// A piece of an outline: to a place, or curved to the last of three by way of the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// Begins there.
    Move(Place),
    /// Straight there.
    Line(Place),
    /// Curved to the last. Source: cubic Bézier curve.
    Curve(Place, Place, Place),
    /// Back to where it began.
    Close,
}

/// The outline of a person with the feet at a place, so tall.
#[must_use]
pub fn person(feet: Place, tall: f64) -> Vec<Step> {
    let scale = tall / 170.0;
    let (mut at, mut steps) = ((0.0, 0.0), Vec::new());
    let mut rest = PERSON;
    while let Some(letter) = rest.chars().next() {
        let end = rest
            .get(1..)
            .and_then(|after| after.find(|c: char| c.is_ascii_alphabetic()))
            .map_or(rest.len(), |end| end + 1);
        let numbers: Vec<f64> =
            rest.get(1..end).unwrap_or_default().split_whitespace().filter_map(|one| one.parse().ok()).collect();
        rest = rest.get(end..).unwrap_or_default();
        let on_paper = |(x, y): Place| (feet.0 + x * scale, feet.1 + y * scale);
        let place = |first: usize| numbers.get(first).copied().zip(numbers.get(first + 1).copied());
        match (letter, place(0), place(2), place(4), numbers.first()) {
            ('M', Some(to), ..) => (at, _) = (to, steps.push(Step::Move(on_paper(to)))),
            ('L', Some(to), ..) => (at, _) = (to, steps.push(Step::Line(on_paper(to)))),
            ('H', _, _, _, Some(x)) => {
                at.0 = *x;
                steps.push(Step::Line(on_paper(at)));
            }
            ('V', _, _, _, Some(y)) => {
                at.1 = *y;
                steps.push(Step::Line(on_paper(at)));
            }
            ('C', Some(a), Some(b), Some(to), _) => {
                at = to;
                steps.push(Step::Curve(on_paper(a), on_paper(b), on_paper(to)));
            }
            ('Z', ..) => steps.push(Step::Close),
            _ => {}
        }
    }
    steps
}

/// A person's outline, 170 cm tall, feet at the origin.
pub(crate) const PERSON: &str = "M0 -170 C5 -170 8 -165 8 -159 C8 -153 5 -148 2.6 -147 V-143 C8 -141 17 -141 20 -133 C22.5 -121 24 -105 24.2 -88 C24 -82 20.5 -82 19.6 -88 C18.8 -100 17 -112 15 -121 C14.4 -112 14 -104 15 -94 C16 -80 15.6 -62 14 -44 C13 -28 12 -14 11.4 -5 L14.6 -1.2 C14.8 -.4 14.4 0 13.4 0 H4.6 L4 -6 C3.8 -30 2.8 -52 .8 -74 H-.8 C-2.8 -52 -3.8 -30 -4 -6 L-4.6 0 H-13.4 C-14.4 0 -14.8 -.4 -14.6 -1.2 L-11.4 -5 C-12 -14 -13 -28 -14 -44 C-15.6 -62 -16 -80 -15 -94 C-14 -104 -14.4 -112 -15 -121 C-17 -112 -18.8 -100 -19.6 -88 C-20.5 -82 -24 -82 -24.2 -88 C-24 -105 -22.5 -121 -20 -133 C-17 -141 -8 -141 -2.6 -143 V-147 C-5 -148 -8 -153 -8 -159 C-8 -165 -5 -170 0 -170 Z";

impl Line {
    /// What it looks like on the page, filled or not.
    fn class(self, fill: Fill) -> &'static str {
        macro_rules! filled {
            ($line:literal) => {
                match fill {
                    Fill::None => $line,
                    Fill::Paper => concat!($line, " in-paper"),
                    Fill::Tone => concat!($line, " in-tone"),
                    Fill::Deep => concat!($line, " in-deep"),
                    Fill::Solid => concat!($line, " in-solid"),
                }
            };
        }
        match self {
            Self::Edge => filled!("l-edge"),
            Self::Thin => filled!("l-thin"),
            Self::Size => filled!("l-size"),
            Self::Hidden => filled!("l-hidden"),
            Self::Axis => filled!("l-axis"),
            Self::Hatch => filled!("l-hatch"),
            Self::Rule => filled!("l-rule"),
        }
    }

    /// On paper: width in hundredths of a millimetre, grey from 0 for black, dashes and gaps in tenths of a millimetre.
    #[must_use]
    pub fn on_paper(self) -> (u16, u8, &'static [u16]) {
        match self {
            Self::Edge => (50, 0, &[]),
            Self::Thin | Self::Rule => (25, 0, &[]),
            Self::Size => (18, 0x3a, &[]),
            Self::Hidden => (25, 0, &[20, 10]),
            Self::Axis => (18, 0x3a, &[60, 10, 6, 10]),
            Self::Hatch => (18, 0x6a, &[]),
        }
    }
}

impl Fill {
    /// On paper: the grey, 0 for black; nothing when it is left open.
    #[must_use]
    pub fn on_paper(self) -> Option<u8> {
        match self {
            Self::None => None,
            Self::Paper => Some(0xff),
            Self::Tone => Some(0xec),
            Self::Deep => Some(0xcf),
            Self::Solid => Some(0),
        }
    }
}

impl Drawing {
    /// What is drawn, in order, in millimetres of paper from a corner of its own.
    #[must_use]
    pub fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// Where the upper left corner of the drawing stands.
    #[must_use]
    pub fn corner(&self) -> Place {
        (self.left, self.top)
    }

    /// How high its letters are, in millimetres of paper.
    #[must_use]
    pub fn letters(&self) -> f64 {
        lettering::SIZE
    }

    /// The drawing as SVG, one unit to a millimetre of paper.
    #[must_use]
    pub fn svg(&self) -> String {
        let mut out = Html::with_capacity(self.shapes.len() * 80);
        self.write(&mut out);
        out.into_parts().0
    }

    fn write(&self, out: &mut Html) {
        let (width, height) = (n(self.width), n(self.height));
        out.open(Tag::Svg)
            .class("draw")
            .attr(Name::Role, "img")
            .attr(Name::AriaLabel, format_args!("{}. {}", self.title, self.says))
            .attr(Name::ViewBox, format_args!("{} {} {width} {height}", n(self.left), n(self.top)))
            .attr(Name::Width, format_args!("{width}mm"))
            .attr(Name::Height, format_args!("{height}mm"))
            .holds(|out| self.shapes.iter().for_each(|shape| shape.write(out)));
    }

    /// The drawing with its caption, for a page.
    pub(crate) fn figure(&self, out: &mut Html) {
        out.open(Tag::Figure).class("wide drawing").holds(|out| {
            let paper = out.open(Tag::Div).class("onpaper").attr(Name::Tabindex, 0).attr(Name::Role, "group");
            paper.attr(Name::AriaLabel, &self.title).holds(|out| self.write(out));
            out.open(Tag::Figcaption).says(&self.caption);
        });
        out.text("\n");
    }
}

impl Shape {
    fn write(&self, out: &mut Html) {
        match self {
            Self::Lines { points, closed, line, fill } => {
                let mut path = String::new();
                for (index, (x, y)) in points.iter().enumerate() {
                    path.push(if index == 0 { 'M' } else { 'L' });
                    path.push_str(&n(*x));
                    path.push(' ');
                    path.push_str(&n(*y));
                }
                if *closed {
                    path.push('Z');
                }
                out.open(Tag::Path).attr(Name::D, path).class(line.class(*fill)).empty();
            }
            Self::Person { feet, tall } => {
                let place = format!("translate({} {}) scale({:.4})", n(feet.0), n(feet.1), tall / 170.0);
                let start = out.open(Tag::Path).class("l-no in-shade");
                start.attr(Name::Transform, place).attr(Name::D, PERSON).empty();
            }
            Self::Words { at, anchor, turned, words } => {
                let anchor = match anchor {
                    Anchor::Start => "start",
                    Anchor::Middle => "middle",
                    Anchor::End => "end",
                };
                let (x, y) = (n(at.0), n(at.1));
                let start = out.open(Tag::Text);
                let start = if *turned {
                    start.attr(Name::Transform, format_args!("translate({x} {y}) rotate(-90)"))
                } else {
                    start.attr(Name::X, x).attr(Name::Y, y)
                };
                start.attr(Name::TextAnchor, anchor).attr(Name::FontSize, lettering::SIZE).says(words);
            }
        }
    }
}
