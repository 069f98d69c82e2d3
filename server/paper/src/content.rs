//! What stands on a sheet, as plain data. Words are words: no text here is ever read as a command.

use std::hash::{Hash, Hasher};
use std::sync::Arc;

/// The size of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Size {
    /// 8.5 x 11 in.
    Letter,
    /// 210 x 297 mm. Source: ISO 216.
    A4,
}

/// A sheet to be set.
#[derive(Clone, Debug, Hash)]
pub struct Sheet {
    /// Its size.
    pub size: Size,
    /// Its title, for the reader's window.
    pub title: String,
    /// Whose it is.
    pub author: String,
    /// The day it is of, year, month and day: not the day it is set.
    pub day: (u16, u8, u8),
    /// The line at the foot of every page.
    pub running: String,
    /// What tells this sheet from all others, the same whenever it is set again.
    pub ident: String,
    /// What it says, from top to bottom.
    pub body: Vec<Block>,
    /// What stands at the foot of its last page, in one piece.
    pub foot: Vec<Block>,
}

/// A piece of a sheet.
#[derive(Clone, Debug, Hash)]
pub enum Block {
    /// The head of the first page: title, a sentence under it, and lines at the right.
    Head {
        /// The title of the sheet.
        title: String,
        /// The sentence under it.
        subtitle: String,
        /// Lines at the right.
        beside: Vec<Vec<Run>>,
    },
    /// A heading; 1 is the title.
    Heading {
        /// How deep it stands.
        level: u8,
        /// Its words.
        runs: Vec<Run>,
    },
    /// A paragraph.
    Paragraph(Vec<Run>),
    /// A list.
    List {
        /// The number of the first item, when it is numbered.
        first: Option<u64>,
        /// Its items.
        items: Vec<Item>,
    },
    /// Boxes to tick, in two columns.
    Checks(Vec<String>),
    /// A table.
    Table(Table),
    /// Words of someone else.
    Quote(Vec<Block>),
    /// Text as typed.
    Code(String),
    /// A line across.
    Rule,
    /// A drawing to scale.
    Drawing(Drawing),
    /// A picture.
    Picture(Picture),
    /// Pieces with a thick line at their left.
    Marked(Vec<Block>),
    /// A piece that changed, with a bar in the margin and the revision that changed it.
    Revised {
        /// The revision.
        revision: String,
        /// What changed.
        block: Box<Block>,
    },
    /// What comes last, such as cautions: it never stands alone on the last page.
    Closing(Vec<Block>),
    /// Lines to sign on, with a square code beside them.
    Sign {
        /// What is agreed.
        agreed: Option<String>,
        /// What stands under each line.
        lines: Vec<String>,
        /// The code.
        code: Option<Code>,
    },
    /// Room for remarks by hand: so many ruled lines.
    Room(u8),
    /// The title block: labels and values. Source: ISO 7200 (from memory).
    Fields(Vec<(String, String)>),
    /// Empty space, in millimetres.
    Space(u8),
}

/// One item of a list.
#[derive(Clone, Debug, Hash)]
pub struct Item {
    /// Ticked or not, when it has a box.
    pub tick: Option<bool>,
    /// What it says.
    pub blocks: Vec<Block>,
}

/// A table.
#[derive(Clone, Debug, Default, Hash)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// The cells of its head; none when it has no head.
    pub head: Vec<Vec<Run>>,
    /// Its rows.
    pub rows: Vec<Row>,
    /// The last row: a label over all columns but the last, and a sum.
    pub total: Option<(Vec<Run>, Vec<Run>)>,
    /// Whether the first cell of a row names it.
    pub is_named: bool,
    /// How wide the table may be, in millimetres; the whole width when nothing is said.
    pub widest: Option<u8>,
}

/// A row of a table.
#[derive(Clone, Debug, Hash)]
pub struct Row {
    /// Its cells.
    pub cells: Vec<Vec<Run>>,
    /// A bar behind the last cell, drawn only: where it begins and how long it is, in thousandths of its room.
    pub bar: Option<(u16, u16)>,
}

/// How a column is set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Column {
    /// On which side its words stand.
    pub side: Side,
    /// Its share of the width that is left, in tenths; as wide as its words when it is 0.
    pub share: u8,
}

/// On which side of their room words stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Side {
    /// Where reading begins.
    #[default]
    Start,
    /// In the middle.
    Middle,
    /// At the right.
    End,
}

/// Words set alike.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Run {
    /// The words; a line break ends a line.
    pub text: String,
    /// How they look.
    pub look: Look,
    /// Where they lead.
    pub to: Option<String>,
}

/// How words look.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Look {
    /// Bold.
    pub bold: bool,
    /// Italic.
    pub italic: bool,
    /// Struck through.
    pub struck: bool,
    /// Grey, a little smaller: a label.
    pub label: bool,
    /// Larger or smaller than the text.
    pub scale: Scale,
}

/// How large words are beside the text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Scale {
    /// As the text.
    #[default]
    Text,
    /// Smaller, for captions.
    Small,
    /// Larger.
    Large,
}

impl Run {
    /// Plain words.
    #[must_use]
    pub fn plain(text: impl Into<String>) -> Self {
        Self { text: text.into(), ..Self::default() }
    }

    /// Bold words.
    #[must_use]
    pub fn bold(text: impl Into<String>) -> Self {
        Self { text: text.into(), look: Look { bold: true, ..Look::default() }, to: None }
    }

    /// Italic words.
    #[must_use]
    pub fn italic(text: impl Into<String>) -> Self {
        Self { text: text.into(), look: Look { italic: true, ..Look::default() }, to: None }
    }

    /// A label, grey and a little smaller.
    #[must_use]
    pub fn label(text: impl Into<String>) -> Self {
        Self { text: text.into(), look: Look { label: true, ..Look::default() }, to: None }
    }
}

/// A place on a drawing, in millimetres of paper, right and down from its upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place(pub f64, pub f64);

impl Hash for Place {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.to_bits().hash(state);
        self.1.to_bits().hash(state);
    }
}

/// A drawing to scale.
#[derive(Clone, Debug, Hash)]
pub struct Drawing {
    /// What it shows, in words.
    pub alt: String,
    /// What stands under it.
    pub caption: String,
    /// How wide and how high it is.
    pub size: Place,
    /// What is drawn, in order.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    /// Whether every number of it is one that paper has room for: one infinite length would move all that follows off the sheet.
    pub(crate) fn is_drawable(&self) -> bool {
        let fits = |place: &Place| place.0.abs() < FARTHEST && place.1.abs() < FARTHEST;
        fits(&self.size)
            && self.shapes.iter().all(|shape| match shape {
                Shape::Path { steps, .. } => steps.iter().all(|step| match step {
                    Step::Move(to) | Step::Line(to) => fits(to),
                    Step::Curve(a, b, to) => fits(a) && fits(b) && fits(to),
                    Step::Close => true,
                }),
                Shape::Words { at, .. } => fits(at),
            })
    }
}

/// Farther from a drawing's corner than this many millimetres nothing is drawn.
const FARTHEST: f64 = 1e5;

/// Something drawn.
#[derive(Clone, Debug, Hash)]
pub enum Shape {
    /// An outline.
    Path {
        /// Its pieces.
        steps: Vec<Step>,
        /// How it is drawn.
        stroke: Option<Stroke>,
        /// With which grey it is filled, 0 black.
        fill: Option<u8>,
    },
    /// Words.
    Words {
        /// Where their baseline begins, ends or has its middle.
        at: Place,
        /// Which of the three.
        anchor: Side,
        /// Whether they read upwards.
        turned: bool,
        /// How high their letters are, in hundredths of a millimetre.
        size: u16,
        /// The words.
        words: String,
    },
}

/// A piece of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Hash)]
pub enum Step {
    /// Begins at a place.
    Move(Place),
    /// Straight to a place.
    Line(Place),
    /// Curved to the last place, by way of the first two. Source: cubic Bézier curve.
    Curve(Place, Place, Place),
    /// Back to where it began.
    Close,
}

/// How a line is drawn.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Stroke {
    /// Its width in hundredths of a millimetre.
    pub width: u16,
    /// Its grey, 0 black.
    pub grey: u8,
    /// Dashes and gaps in tenths of a millimetre; none when it is whole.
    pub dash: Vec<u16>,
}

/// A picture of the plan.
#[derive(Clone, Debug, Hash)]
pub struct Picture {
    /// The file, JPEG or PNG.
    pub file: Arc<Vec<u8>>,
    /// What it shows, in words.
    pub alt: String,
}

/// A square code a camera reads.
#[derive(Clone, Debug, Hash)]
pub struct Code {
    /// How many modules it is wide and high, quiet zone included.
    pub wide: u16,
    /// Dark runs: column, row, length.
    pub dark: Vec<(u16, u16, u16)>,
    /// What it says.
    pub words: String,
}
