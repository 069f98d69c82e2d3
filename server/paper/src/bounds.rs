//! How much one sheet may hold. Everything is counted while it is set, so that no plan takes more than its share of memory and
//! time, and what is too much ends with a plain sentence.

use crate::content::{Block, Sheet};

/// What one sheet may hold. A plan of a book's length stays far below each.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Pages.
    pub pages: usize,
    /// Cells of all tables.
    pub cells: usize,
    /// Columns of one table: more have no room for letters.
    pub columns: usize,
    /// Pieces: paragraphs, items of lists, rows, drawings.
    pub pieces: usize,
    /// Bytes of text.
    pub bytes: usize,
    /// Lines of text, those in cells too.
    pub lines: usize,
    /// Shapes of all drawings.
    pub shapes: usize,
    /// Bytes of all pictures.
    pub pictures: usize,
}

impl Default for Bounds {
    fn default() -> Self {
        Self {
            pages: 500,
            cells: 40_000,
            columns: 40,
            pieces: 60_000,
            bytes: 1_500_000,
            lines: 80_000,
            shapes: 50_000,
            pictures: 16 << 20,
        }
    }
}

/// Why a sheet could not be set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unset {
    /// There is more on it than a sheet may hold.
    TooMuch {
        /// Of what.
        what: &'static str,
        /// How many there may be.
        most: usize,
    },
    /// It took longer than it may.
    TooLong,
    /// The writer of the file refused it, in its own words.
    Refused(String),
}

impl std::fmt::Display for Unset {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooMuch { what, most } => {
                write!(f, "there is more on it than a PDF here may hold: over {most} {what}")
            }
            Self::TooLong => f.write_str("setting it took longer than a sheet may take"),
            Self::Refused(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for Unset {}

/// Counts while a sheet is set.
pub(crate) struct Gauge<'a> {
    bounds: &'a Bounds,
    goes_on: &'a dyn Fn() -> bool,
    lines: usize,
    cells: usize,
    pieces: usize,
    since: usize,
}

/// How many lines are set between two looks at the time.
const LOOK: usize = 64;

impl<'a> Gauge<'a> {
    pub(crate) fn new(bounds: &'a Bounds, goes_on: &'a dyn Fn() -> bool) -> Self {
        Self { bounds, goes_on, lines: 0, cells: 0, pieces: 0, since: 0 }
    }

    /// So many lines more.
    pub(crate) fn lines(&mut self, more: usize) -> Result<(), Unset> {
        self.lines += more;
        self.since += more.max(1);
        if self.since >= LOOK {
            self.since = 0;
            self.time()?;
        }
        within(self.lines, self.bounds.lines, "lines")
    }

    /// One cell more.
    pub(crate) fn cell(&mut self) -> Result<(), Unset> {
        self.cells += 1;
        within(self.cells, self.bounds.cells, "cells of tables")
    }

    /// One piece more.
    pub(crate) fn piece(&mut self) -> Result<(), Unset> {
        self.pieces += 1;
        within(self.pieces, self.bounds.pieces, "pieces")
    }

    /// So many pages.
    pub(crate) fn pages(&self, count: usize) -> Result<(), Unset> {
        self.time()?;
        within(count, self.bounds.pages, "pages")
    }

    fn time(&self) -> Result<(), Unset> {
        if (self.goes_on)() { Ok(()) } else { Err(Unset::TooLong) }
    }
}

fn within(count: usize, most: usize, what: &'static str) -> Result<(), Unset> {
    if count > most { Err(Unset::TooMuch { what, most }) } else { Ok(()) }
}

/// Refuses by counts alone what could not be set anyway.
///
/// # Errors
/// When there is more on the sheet than it may hold.
pub(crate) fn check(sheet: &Sheet, bounds: &Bounds) -> Result<(), Unset> {
    let mut sum = Sum::default();
    for block in sheet.body.iter().chain(&sheet.foot) {
        sum.block(block, bounds)?;
    }
    within(sum.cells, bounds.cells, "cells of tables")?;
    within(sum.shapes, bounds.shapes, "shapes in drawings")?;
    within(sum.pictures, bounds.pictures, "bytes of pictures")?;
    within(sum.bytes, bounds.bytes, "bytes of text")
}

#[derive(Default)]
struct Sum {
    cells: usize,
    bytes: usize,
    shapes: usize,
    pictures: usize,
}

impl Sum {
    fn runs(&mut self, runs: &[crate::content::Run]) {
        self.bytes += runs.iter().map(|run| run.text.len()).sum::<usize>();
    }

    fn block(&mut self, block: &Block, bounds: &Bounds) -> Result<(), Unset> {
        match block {
            Block::Heading { runs, .. } | Block::Paragraph(runs) => self.runs(runs),
            Block::Code(text) => self.bytes += text.len(),
            Block::Table(table) => {
                within(table.columns.len(), bounds.columns, "columns in one table")?;
                self.cells += (table.rows.len() + 1) * table.columns.len();
                for cell in table.head.iter().chain(table.rows.iter().flat_map(|row| &row.cells)) {
                    self.runs(cell);
                }
            }
            Block::List { items, .. } => {
                for inner in items.iter().flat_map(|item| &item.blocks) {
                    self.block(inner, bounds)?;
                }
            }
            Block::Quote(all) | Block::Marked(all) | Block::Closing(all) => {
                for inner in all {
                    self.block(inner, bounds)?;
                }
            }
            Block::Revised { block, .. } => self.block(block, bounds)?,
            Block::Drawing(drawing) => self.shapes += drawing.shapes.len(),
            Block::Picture(picture) => self.pictures += picture.file.len(),
            Block::Head { .. }
            | Block::Checks(_)
            | Block::Rule
            | Block::Sign { .. }
            | Block::Room(_)
            | Block::Fields(_)
            | Block::Space(_) => {}
        }
        Ok(())
    }
}
