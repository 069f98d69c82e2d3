//! From what a sheet says to pieces that are not divided: lines, rows, drawings. Each knows its height, what it holds, and
//! whether it must stay with the next.
//!
//! [`tables`] columns and rows, [`forms`] what only the head and the foot of a sheet have.

mod forms;
mod tables;

use std::rc::Rc;

use krilla::tagging::{ListNumbering, Tag};

use crate::bounds::{Gauge, Unset};
use crate::content::{Block, Code, Drawing, Item, Look, Picture, Run, Scale, Shape, Side};
use crate::lettering::{Base, CAPITALS, Setter, TEXT, Text, clean};
use crate::pictures::Shown;
use crate::tags::{Node, ROOT, Tags, figure};

/// Points in a millimetre.
pub(crate) const MM: f32 = 72.0 / 25.4;

/// The gap between two blocks.
const GAP: f32 = 3.0 * MM;
/// The grey of labels and of what stands back.
pub(crate) const GREY: u8 = 59;
/// A thin line, a common one and the frame's.
pub(crate) const THIN: f32 = 0.18 * MM;
pub(crate) const LINE: f32 = 0.25 * MM;

/// Something that is not divided over two pages.
#[derive(Debug, Default)]
pub(crate) struct Piece<'a> {
    /// The gap above it, left out at the top of a page.
    pub(crate) above: f32,
    pub(crate) height: f32,
    /// Whether it must stay with the next.
    pub(crate) glued: bool,
    /// Whether it closes the sheet, and so never stands alone on the last page.
    pub(crate) closing: bool,
    /// The head of a table that is repeated when this stands first on a page.
    pub(crate) head: Option<u32>,
    /// The heading in the outline that leads here.
    pub(crate) heading: Option<u32>,
    pub(crate) bars: Vec<Bar>,
    pub(crate) marks: Vec<Mark<'a>>,
}

/// An upright bar at the side of a piece, over the gap above it too unless it begins there.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bar {
    pub(crate) x: f32,
    pub(crate) width: f32,
    pub(crate) grey: u8,
    pub(crate) begins: bool,
}

/// Something drawn in a piece, at a place from its upper left corner.
#[derive(Clone, Debug)]
pub(crate) enum Mark<'a> {
    /// A line of text; `y` is its baseline.
    Text { node: Node, text: Rc<Text>, line: u32, x: f32, y: f32 },
    /// A straight line.
    Rule { from: (f32, f32), to: (f32, f32), width: f32, grey: u8 },
    /// A filled box.
    Filled { x: f32, y: f32, wide: f32, high: f32, grey: u8 },
    /// An empty box.
    Outline { x: f32, y: f32, wide: f32, high: f32 },
    /// A box to tick.
    Tick { node: Node, x: f32, y: f32, done: bool },
    /// A drawing, so many times its size.
    Drawing { node: Node, x: f32, y: f32, drawing: &'a Drawing, words: Rc<Vec<Text>>, scale: f32 },
    /// A picture.
    Picture { node: Node, x: f32, y: f32, wide: f32, high: f32, at: usize, alt: &'a str },
    /// A square code.
    Code { node: Node, x: f32, y: f32, wide: f32, code: &'a Code },
}

/// The head of a table, for the pages after its first.
#[derive(Debug)]
pub(crate) struct Head<'a> {
    pub(crate) height: f32,
    pub(crate) marks: Vec<Mark<'a>>,
}

/// Where a block stands: from the left of the text, so wide, under which tag.
#[derive(Clone, Copy, Debug)]
struct Room {
    x: f32,
    wide: f32,
    node: Node,
}

/// Lays a sheet out.
pub(crate) struct Layout<'a, 'g> {
    pub(crate) setter: Setter,
    pub(crate) tags: Tags,
    pub(crate) pieces: Vec<Piece<'a>>,
    pub(crate) heads: Vec<Head<'a>>,
    /// How deep each heading stands and what it says.
    pub(crate) headings: Vec<(u8, String)>,
    gauge: &'g mut Gauge<'g>,
    pictures: &'a [Shown],
    wide: f32,
    high: f32,
    gap: f32,
    next_picture: usize,
}

impl<'a, 'g> Layout<'a, 'g> {
    pub(crate) fn new(
        setter: Setter,
        gauge: &'g mut Gauge<'g>,
        pictures: &'a [Shown],
        (wide, high): (f32, f32),
    ) -> Self {
        Self {
            setter,
            tags: Tags::new(),
            pieces: Vec::new(),
            heads: Vec::new(),
            headings: Vec::new(),
            gauge,
            pictures,
            wide,
            high,
            gap: 0.0,
            next_picture: 0,
        }
    }

    pub(crate) fn pages(&self, count: usize) -> Result<(), Unset> {
        self.gauge.pages(count)
    }

    /// Lays blocks out over the whole width.
    pub(crate) fn blocks(&mut self, blocks: &'a [Block]) -> Result<(), Unset> {
        let room = Room { x: 0.0, wide: self.wide, node: ROOT };
        self.within(blocks, room)
    }

    /// A small paragraph of the composer's own, at the end.
    pub(crate) fn note(&mut self, words: String) -> Result<(), Unset> {
        let look = Look { label: true, italic: true, scale: Scale::Small, ..Look::default() };
        let room = Room { x: 0.0, wide: self.wide, node: ROOT };
        self.paragraph(&[Run { text: words, look, to: None }], room)?;
        if let Some(last) = self.pieces.last_mut() {
            last.closing = true;
        }
        Ok(())
    }

    /// What was laid out so far, as one block for the foot of the last page.
    pub(crate) fn take(&mut self) -> Vec<Piece<'a>> {
        self.gap = 0.0;
        std::mem::take(&mut self.pieces)
    }

    fn within(&mut self, blocks: &'a [Block], room: Room) -> Result<(), Unset> {
        for block in blocks {
            self.block(block, room)?;
        }
        Ok(())
    }

    fn block(&mut self, block: &'a Block, room: Room) -> Result<(), Unset> {
        match block {
            Block::Head { title, subtitle, beside } => self.head(title, subtitle, beside),
            Block::Heading { level, runs } => self.heading(*level, runs, room),
            Block::Paragraph(runs) => self.paragraph(runs, room),
            Block::List { first, items } => self.list(*first, items, room),
            Block::Checks(all) => self.checks(all, room),
            Block::Table(table) => self.table(table, room),
            Block::Quote(blocks) => {
                let node = self.tags.add(room.node, Tag::BlockQuote);
                self.barred(blocks, room, node, (4.0 * MM, LINE), GREY)
            }
            Block::Code(text) => {
                let node = self.tags.add(room.node, Tag::P);
                let node = self.tags.add(node, Tag::Code);
                let room = Room { x: room.x + 4.0 * MM, wide: room.wide - 4.0 * MM, node };
                self.words(&[Run::plain(text.trim_end_matches('\n'))], Base::TEXT, room, GAP)
            }
            Block::Rule => {
                let (above, wide) = (self.above(GAP), room.wide);
                let rule = Mark::Rule { from: (room.x, 0.0), to: (room.x + wide, 0.0), width: LINE, grey: 0 };
                self.push(Piece { above, marks: vec![rule], ..Piece::default() })
            }
            Block::Drawing(drawing) => self.drawing(drawing, room),
            Block::Picture(picture) => self.picture(picture, room),
            Block::Marked(blocks) => {
                let from = self.pieces.len();
                self.barred(blocks, room, room.node, (3.0 * MM, 0.7 * MM), 0)?;
                self.glue(from);
                Ok(())
            }
            Block::Revised { revision, block } => self.revised(revision, block, room),
            Block::Closing(blocks) => {
                let from = self.pieces.len();
                self.within(blocks, room)?;
                self.pieces.iter_mut().skip(from).for_each(|piece| piece.closing = true);
                Ok(())
            }
            Block::Sign { agreed, lines, code } => self.sign(agreed.as_deref(), lines, code.as_ref(), room),
            Block::Room(lines) => self.room_to_write(*lines, room),
            Block::Fields(fields) => self.fields(fields, room),
            Block::Space(mm) => {
                self.gap = 0.0;
                self.push(Piece { height: f32::from(*mm) * MM, ..Piece::default() })
            }
        }
    }

    /// The gap above a block that wants so much, given what the one before wants below.
    fn above(&mut self, wanted: f32) -> f32 {
        std::mem::take(&mut self.gap).max(wanted)
    }

    fn push(&mut self, piece: Piece<'a>) -> Result<(), Unset> {
        self.gauge.piece()?;
        self.pieces.push(piece);
        Ok(())
    }

    /// Keeps everything from a piece on together.
    fn glue(&mut self, from: usize) {
        let last = self.pieces.len().saturating_sub(1);
        self.pieces.iter_mut().take(last).skip(from).for_each(|piece| piece.glued = true);
    }

    fn paragraph(&mut self, runs: &[Run], room: Room) -> Result<(), Unset> {
        let node = self.tags.add(room.node, Tag::P);
        self.words(runs, Base::TEXT, Room { node, ..room }, GAP)
    }

    /// Words in lines, two at least on either side of a break.
    fn words(&mut self, runs: &[Run], base: Base, room: Room, above: f32) -> Result<(), Unset> {
        let text = Rc::new(self.setter.set(runs, base, Some(room.wide), Side::Start));
        let above = self.above(above);
        self.lines(&text, room, above)
    }

    fn lines(&mut self, text: &Rc<Text>, room: Room, above: f32) -> Result<(), Unset> {
        let count = text.lines.len();
        self.gauge.lines(count)?;
        for (at, line) in text.lines.iter().enumerate() {
            let mark = Mark::Text { node: room.node, text: text.clone(), line: at as u32, x: room.x, y: line.rise };
            self.push(Piece {
                above: if at == 0 { above } else { text.leading },
                height: line.rise,
                glued: at + 1 < count && (count <= 3 || at == 0 || at + 2 == count),
                marks: vec![mark],
                ..Piece::default()
            })?;
        }
        Ok(())
    }

    fn heading(&mut self, level: u8, runs: &[Run], room: Room) -> Result<(), Unset> {
        let (size, above, below) = match level {
            1 => (20.0, 0.0, 2.8 * MM),
            2 => (13.0, 5.0 * MM, 2.2 * MM),
            3 => (11.4, 4.0 * MM, 1.4 * MM),
            _ => (TEXT, 4.0 * MM, 1.4 * MM),
        };
        let title = title(runs);
        let node = self.tags.add(room.node, heading_tag(level, &title));
        let from = self.pieces.len();
        let base = Base { bold: true, leading: 0.4, ..Base::of(size) };
        self.words(runs, base, Room { node, ..room }, above)?;
        self.pieces.iter_mut().skip(from).for_each(|piece| piece.glued = true);
        if let Some(first) = self.pieces.get_mut(from) {
            first.heading = Some(self.headings.len() as u32);
            self.headings.push((level, title));
        }
        self.gap = below;
        Ok(())
    }

    fn list(&mut self, first: Option<u64>, items: &'a [Item], room: Room) -> Result<(), Unset> {
        let has_ticks = items.iter().any(|item| item.tick.is_some());
        let numbering = match first {
            Some(_) => ListNumbering::Decimal,
            None if has_ticks => ListNumbering::None,
            None => ListNumbering::Disc,
        };
        let node = self.tags.add(room.node, Tag::L(numbering));
        let label = |at: usize| match first {
            Some(first) => format!("{}.", first.saturating_add(at as u64)),
            None => "•".to_owned(),
        };
        let indent = MM;
        // Boxes need more room between them than words.
        let between = if has_ticks { 2.2 * MM } else { 1.4 * MM };
        let widest = if has_ticks && first.is_none() {
            5.4 * MM
        } else {
            crate::faces::width(&label(items.len().saturating_sub(1)), false, false) * TEXT + 2.0 * MM
        };
        for (at, item) in items.iter().enumerate() {
            let li = self.tags.add(node, Tag::LI);
            let mark = match item.tick {
                None if has_ticks && first.is_none() => None,
                None => {
                    let lbl = self.tags.add(li, Tag::Lbl);
                    let text = self.setter.again(&[Run::plain(label(at))], Base::TEXT, widest - 1.6 * MM, Side::End);
                    let x = room.x + indent - if first.is_some() { 0.0 } else { widest - 2.0 * MM - text.wide() };
                    Some(Mark::Text { node: lbl, text, line: 0, x, y: CAPITALS * TEXT })
                }
                Some(done) => {
                    let lbl = self.tags.add(li, tick_tag(done));
                    Some(Mark::Tick { node: lbl, x: room.x + indent, y: CAPITALS * TEXT, done })
                }
            };
            let body = self.tags.add(li, Tag::LBody);
            let inner = Room { x: room.x + indent + widest, wide: (room.wide - indent - widest).max(MM), node: body };
            self.gap = 0.0;
            let from = self.pieces.len();
            match item.blocks.as_slice() {
                [Block::Paragraph(runs)] => self.words(runs, Base::TEXT, inner, 0.0)?,
                blocks => self.within(blocks, inner)?,
            }
            if self.pieces.len() == from {
                self.push(Piece { height: CAPITALS * TEXT, ..Piece::default() })?;
            }
            if let Some(first) = self.pieces.get_mut(from) {
                first.above = if at == 0 { GAP } else { between };
                first.marks.splice(0..0, mark);
            }
            // Neither the first item nor the last stands alone on its side of a break.
            let is_ended = at == 0 || at + 2 == items.len();
            if let Some(last) = self.pieces.last_mut().filter(|_| is_ended && at + 1 < items.len()) {
                last.glued = true;
            }
        }
        self.gap = GAP;
        Ok(())
    }

    /// Blocks with a bar at their left.
    fn barred(
        &mut self,
        blocks: &'a [Block],
        room: Room,
        node: Node,
        (inset, width): (f32, f32),
        grey: u8,
    ) -> Result<(), Unset> {
        let from = self.pieces.len();
        self.within(blocks, Room { x: room.x + inset, wide: (room.wide - inset).max(MM), node })?;
        for (at, piece) in self.pieces.iter_mut().skip(from).enumerate() {
            piece.bars.push(Bar { x: room.x, width, grey, begins: at == 0 });
        }
        Ok(())
    }

    /// The bar of a change stands in the margin, with the revision that made it.
    fn revised(&mut self, revision: &'a str, block: &'a Block, room: Room) -> Result<(), Unset> {
        let from = self.pieces.len();
        let said = Tag::P.with_actual_text(Some(format!("changed at revision {revision}:")));
        let node = self.tags.add(room.node, said);
        self.block(block, room)?;
        for (at, piece) in self.pieces.iter_mut().skip(from).enumerate() {
            piece.bars.push(Bar { x: -3.0 * MM, width: 0.8 * MM, grey: 0, begins: at == 0 });
        }
        let text = self.setter.again(&[Run::plain(revision)], Base::of(7.4), 2.8 * MM, Side::End);
        if let Some(first) = self.pieces.get_mut(from) {
            let y = first.marks.iter().find_map(|mark| match mark {
                Mark::Text { y, .. } => Some(*y),
                _ => None,
            });
            let mark = Mark::Text { node, text, line: 0, x: -6.4 * MM, y: y.unwrap_or(2.0 * MM) };
            first.marks.insert(0, mark);
        }
        Ok(())
    }

    fn drawing(&mut self, drawing: &'a Drawing, room: Room) -> Result<(), Unset> {
        if !drawing.is_drawable() {
            return self.paragraph(&[Run::italic(format!("drawing: {}", drawing.alt))], room);
        }
        let (wide, high) = (drawing.size.0 as f32 * MM, drawing.size.1 as f32 * MM);
        // Drawings are made for the width of a sheet; one that is larger is told to be out of scale.
        let scale = (room.wide / wide.max(1.0)).min((self.high - 20.0 * MM) / high.max(1.0)).min(1.0);
        let mut words = Vec::new();
        for shape in &drawing.shapes {
            if let Shape::Words { size, words: said, .. } = shape {
                let base = Base::of(f32::from(*size) / 100.0 * MM * scale);
                self.gauge.lines(1)?;
                words.push(self.setter.set(&[Run::plain(said.as_str())], base, None, Side::Start));
            }
        }
        let node = self.tags.add(room.node, figure(&drawing.alt));
        let above = self.above(3.4 * MM);
        let caption = if scale < 1.0 {
            format!("{} (reduced to fit the sheet: not to scale)", drawing.caption)
        } else {
            drawing.caption.clone()
        };
        let mark = Mark::Drawing { node, x: room.x, y: 0.0, drawing, words: Rc::new(words), scale };
        self.push(Piece {
            above,
            height: high * scale,
            glued: !caption.is_empty(),
            marks: vec![mark],
            ..Piece::default()
        })?;
        if !caption.is_empty() {
            let from = self.pieces.len();
            let node = self.tags.add(room.node, Tag::Caption);
            self.words(&[Run::plain(caption)], Base::of(9.2), Room { node, ..room }, 1.6 * MM)?;
            self.glue(from);
        }
        self.gap = 4.0 * MM;
        Ok(())
    }

    fn picture(&mut self, picture: &'a Picture, room: Room) -> Result<(), Unset> {
        let at = self.next_picture;
        self.next_picture += 1;
        let Some(Some((wide, high))) = self.pictures.get(at).map(Shown::size) else {
            let alt = if picture.alt.is_empty() { "a picture" } else { picture.alt.as_str() };
            return self.paragraph(&[Run::italic(format!("picture: {alt}"))], room);
        };
        let scale = (room.wide / wide).min(120.0 * MM / high).min(1.0);
        let alt = picture.alt.as_str();
        let node = self.tags.add(room.node, figure(alt));
        let above = self.above(3.4 * MM);
        let mark = Mark::Picture { node, x: room.x, y: 0.0, wide: wide * scale, high: high * scale, at, alt };
        self.push(Piece { above, height: high * scale, marks: vec![mark], ..Piece::default() })?;
        self.gap = 4.0 * MM;
        Ok(())
    }
}

/// The words of a heading, as the outline has them.
fn title(runs: &[Run]) -> String {
    let words: String = runs.iter().map(|run| run.text.as_str()).collect();
    let words = clean(&words);
    if words.trim().is_empty() { "untitled".to_owned() } else { clip(words.trim(), 300) }
}

/// As much of a text as is shown at all.
fn clip(text: &str, most: usize) -> String {
    if text.chars().count() <= most { text.to_owned() } else { text.chars().take(most).chain(['…']).collect() }
}

fn heading_tag(level: u8, title: &str) -> Tag<krilla::tagging::kind::Hn> {
    let level = std::num::NonZeroU16::new(u16::from(level)).unwrap_or(std::num::NonZeroU16::MIN);
    Tag::Hn(level, Some(title.to_owned()))
}

/// The label of a box says in words whether it is ticked.
fn tick_tag(done: bool) -> Tag<krilla::tagging::kind::Lbl> {
    Tag::Lbl.with_actual_text(Some(tick_words(done).to_owned()))
}

pub(crate) fn tick_words(done: bool) -> &'static str {
    if done { "done:" } else { "to do:" }
}
