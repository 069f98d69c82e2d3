//! What a sheet of paper holds, from its title to its title block.

use engine::document::plain::{Block, CostRow, StepRow};
use engine::document::ticket::{Close, Field, Size};
use serde::Serialize;

/// The paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 8 1/2 by 11 in.
    #[default]
    Letter,
    /// 210 by 297 mm.
    A4,
}

/// A sheet, or as many as it takes.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Sheet {
    /// The paper.
    pub paper: Paper,
    /// The language of its words, as in BCP 47: `en`.
    pub language: String,
    /// The title of the piece.
    pub title: String,
    /// What this sheet is of it.
    pub subtitle: String,
    /// Who made it.
    pub author: String,
    /// Year, month and day of the revision.
    pub date: (i32, u8, u8),
    /// What stands at the upper right: label and value.
    pub corner: Vec<(String, String)>,
    /// The fields of the title block.
    pub fields: Vec<Field>,
    /// The parts, in order.
    pub parts: Vec<Part>,
}

/// A piece of prose or a drawing, and whether it changed since the last issue.
#[derive(Clone, Debug, Serialize)]
pub struct Passage {
    /// The piece.
    #[serde(flatten)]
    pub block: Block,
    /// Set with a revision bar beside it.
    pub revised: bool,
}

/// One part of a sheet.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "part", rename_all = "lowercase")]
pub enum Part {
    /// Sizes and weights in both units.
    Sizes {
        /// Its heading.
        title: String,
        /// The rows.
        rows: Vec<Size>,
        /// Which of them changed since the last issue.
        revised: Vec<bool>,
    },
    /// The plan's own words and drawings.
    Prose {
        /// In order.
        passages: Vec<Passage>,
    },
    /// A list.
    Lines {
        /// Its heading.
        title: String,
        /// The items.
        items: Vec<String>,
    },
    /// How close things have to be.
    Close {
        /// Its heading.
        title: String,
        /// The rows.
        rows: Vec<Close>,
    },
    /// Steps with bars.
    Steps {
        /// Its heading.
        title: String,
        /// The rows.
        rows: Vec<StepRow>,
    },
    /// The shop's own price.
    Price {
        /// Its heading.
        title: String,
        /// The lines.
        rows: Vec<CostRow>,
        /// The sum.
        total: String,
    },
    /// Boxes to tick.
    Ticks {
        /// Its heading.
        title: String,
        /// The items.
        items: Vec<String>,
    },
    /// What to beware of.
    Cautions {
        /// Its heading.
        title: String,
        /// In sentences.
        items: Vec<String>,
    },
    /// Earlier issues: number, date, what changed.
    Revisions {
        /// Its heading.
        title: String,
        /// The rows, newest first.
        rows: Vec<(String, String, String)>,
    },
    /// Room to write.
    Room {
        /// Its heading.
        title: String,
        /// How many lines.
        lines: u8,
    },
    /// Where it is signed, with a code to find the plan by.
    Sign {
        /// What is agreed.
        words: String,
        /// What each line is for.
        lines: Vec<String>,
        /// The code as SVG, and what it says in words.
        code: Option<(String, String)>,
    },
}
