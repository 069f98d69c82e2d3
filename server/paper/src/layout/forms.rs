//! What only the head and the foot of a sheet have: the title, boxes to tick, lines to sign on, the title block.

use std::rc::Rc;

use krilla::tagging::{ListNumbering, Tag};

use super::{GREY, LINE, Layout, MM, Mark, Piece, Room, THIN, clip, heading_tag, tick_tag, title};
use crate::bounds::Unset;
use crate::content::{Code, Run, Side};
use crate::lettering::{Base, CAPITALS, TEXT, Text, clean};
use crate::tags::{Node, ROOT};

/// The longest title and the longest value of a field that are shown whole, in letters.
const TITLE: usize = 320;

impl<'a> Layout<'a, '_> {
    /// All lines of a text as marks, from a height down. Gives where the last baseline stands.
    fn stack(
        &mut self,
        marks: &mut Vec<Mark<'a>>,
        text: &Rc<Text>,
        node: Node,
        x: f32,
        top: f32,
    ) -> Result<f32, Unset> {
        self.gauge.lines(text.lines.len())?;
        let mut y = top;
        for (at, line) in text.lines.iter().enumerate() {
            y += line.rise + if at > 0 { text.leading } else { 0.0 };
            marks.push(Mark::Text { node, text: text.clone(), line: at as u32, x, y });
        }
        Ok(y)
    }

    pub(super) fn head(&mut self, words: &str, subtitle: &str, beside: &'a [Vec<Run>]) -> Result<(), Unset> {
        let mut right = Vec::new();
        for runs in beside {
            right.push(Rc::new(self.setter.set(runs, Base::TEXT, Some(self.wide * 0.45), Side::Start)));
        }
        let right_wide = right.iter().map(|text| text.wide()).fold(0.0, f32::max);
        let left = self.wide - right_wide - 8.0 * MM;
        let runs = [Run::plain(clip(words, TITLE))];
        let named = title(&runs);
        let node = self.tags.add(ROOT, heading_tag(1, &named));
        let base = Base { bold: true, leading: 0.4, ..Base::of(20.0) };
        let text = Rc::new(self.setter.set(&runs, base, Some(left), Side::Start));
        let mut marks = Vec::new();
        let mut bottom = self.stack(&mut marks, &text, node, 0.0, 0.0)?;
        if !subtitle.is_empty() {
            let node = self.tags.add(ROOT, Tag::P);
            let text =
                Rc::new(self.setter.set(&[Run::italic(clip(subtitle, 1200))], Base::TEXT, Some(left), Side::Start));
            bottom = self.stack(&mut marks, &text, node, 0.0, bottom + 2.8 * MM)?;
        }
        let mut down = 0.0;
        for (at, text) in right.iter().enumerate() {
            let node = self.tags.add(ROOT, Tag::P);
            let x = self.wide - text.wide();
            down = self.stack(&mut marks, text, node, x, if at == 0 { 0.0 } else { down + 2.0 * MM })?;
        }
        let high = bottom.max(down) + 3.0 * MM;
        marks.push(Mark::Rule { from: (0.0, high), to: (self.wide, high), width: LINE, grey: 0 });
        self.headings.push((1, named));
        self.push(Piece {
            height: high,
            glued: true,
            heading: Some(self.headings.len() as u32 - 1),
            marks,
            ..Piece::default()
        })?;
        self.gap = 3.0 * MM;
        Ok(())
    }

    /// Boxes in two columns, read down the first and then down the second.
    pub(super) fn checks(&mut self, all: &'a [String], room: Room) -> Result<(), Unset> {
        let list = self.tags.add(room.node, Tag::L(ListNumbering::None));
        let half = all.len().div_ceil(2).max(1);
        let wide = (room.wide - 8.0 * MM) / 2.0;
        let (mut marks, mut high) = (Vec::new(), 0.0_f32);
        for (column, part) in all.chunks(half).enumerate() {
            let x = room.x + column as f32 * (wide + 8.0 * MM);
            let mut y = 0.0;
            for words in part {
                let item = self.tags.add(list, Tag::LI);
                let label = self.tags.add(item, tick_tag(false));
                let body = self.tags.add(item, Tag::LBody);
                let text = Rc::new(self.setter.set(
                    &[Run::plain(words.as_str())],
                    Base::TEXT,
                    Some(wide - 5.4 * MM),
                    Side::Start,
                ));
                marks.push(Mark::Tick { node: label, x, y: y + CAPITALS * TEXT, done: false });
                y = self.stack(&mut marks, &text, body, x + 5.4 * MM, y)? + 2.4 * MM;
            }
            high = high.max(y - 2.4 * MM);
        }
        let above = self.above(super::GAP);
        self.push(Piece { above, height: high, marks, ..Piece::default() })?;
        self.gap = super::GAP;
        Ok(())
    }

    pub(super) fn sign(
        &mut self,
        agreed: Option<&str>,
        lines: &'a [String],
        code: Option<&'a Code>,
        room: Room,
    ) -> Result<(), Unset> {
        const CODE: f32 = 27.0 * MM;
        let left = room.wide - if code.is_some() { CODE + 6.0 * MM } else { 0.0 };
        let mut marks = Vec::new();
        let mut y = 0.0;
        if let Some(agreed) = agreed {
            let node = self.tags.add(room.node, Tag::P);
            let text =
                Rc::new(self.setter.set(&[Run::plain(clip(agreed, TITLE))], Base::TEXT, Some(left), Side::Start));
            y = self.stack(&mut marks, &text, node, room.x, 0.0)? + 16.0 * MM;
        }
        let shares: &[f32] = &[2.2, 1.6, 1.0];
        let whole: f32 = shares.iter().take(lines.len()).sum();
        let free = left - 5.0 * MM * lines.len().saturating_sub(1) as f32;
        let (mut x, mut bottom) = (room.x, y);
        for (line, share) in lines.iter().zip(shares) {
            let wide = free * share / whole;
            marks.push(Mark::Rule { from: (x, y), to: (x + wide, y), width: LINE, grey: 0 });
            let node = self.tags.add(room.node, Tag::P);
            let text = Rc::new(self.setter.set(&[Run::label(clip(line, TITLE))], Base::TEXT, Some(wide), Side::Start));
            bottom = self.stack(&mut marks, &text, node, x, y + 1.0 * MM)?.max(bottom);
            x += wide + 5.0 * MM;
        }
        let mut high = bottom + 0.8 * MM;
        if let Some(code) = code {
            let x = room.x + left + 6.0 * MM;
            let figure =
                self.tags.add(room.node, Tag::Figure(Some(clean(&format!("Code to read by camera: {}", code.words)))));
            let node = self.tags.add(room.node, Tag::P);
            let base = Base { leading: 0.35, ..Base::of(7.4) };
            let text =
                Rc::new(self.setter.set(&[Run::plain(clip(&code.words, TITLE))], base, Some(CODE), Side::Middle));
            let own = CODE + 0.6 * MM + text.height() + 0.8 * MM;
            // Both stand on one line at their feet.
            let down = (own - high).max(0.0);
            for mark in &mut marks {
                match mark {
                    Mark::Text { y, .. } => *y += down,
                    Mark::Rule { from, to, .. } => (from.1, to.1) = (from.1 + down, to.1 + down),
                    _ => {}
                }
            }
            high = high.max(own);
            let top = high - own;
            marks.push(Mark::Code { node: figure, x, y: top, wide: CODE, code });
            self.stack(&mut marks, &text, node, x, top + CODE + 0.6 * MM)?;
        }
        let above = self.above(super::GAP);
        self.push(Piece { above, height: high, marks, ..Piece::default() })?;
        self.gap = super::GAP;
        Ok(())
    }

    pub(super) fn room_to_write(&mut self, lines: u8, room: Room) -> Result<(), Unset> {
        const EACH: f32 = 8.5 * MM;
        let rule = |at: u8| {
            let y = f32::from(at + 1) * EACH;
            Mark::Rule { from: (room.x, y), to: (room.x + room.wide, y), width: THIN, grey: GREY }
        };
        let piece =
            Piece { height: f32::from(lines) * EACH, marks: (0..lines).map(rule).collect(), ..Piece::default() };
        self.gap = 4.0 * MM;
        self.push(piece)
    }

    /// Cells side by side in rows of four places, a long one over two; the last of a row takes what is left.
    pub(super) fn fields(&mut self, fields: &'a [(String, String)], room: Room) -> Result<(), Unset> {
        let mut rows: Vec<Vec<(usize, u8)>> = vec![Vec::new()];
        let mut left = 4_u8;
        for (at, (_, value)) in fields.iter().enumerate() {
            let span = if value.chars().count() > 26 { 2 } else { 1 };
            if span > left {
                if let Some((_, last)) = rows.last_mut().and_then(|row| row.last_mut()) {
                    *last += left;
                }
                left = 0;
            }
            if left == 0 {
                rows.push(Vec::new());
                left = 4;
            }
            if let Some(row) = rows.last_mut() {
                row.push((at, span));
            }
            left -= span;
        }
        if let Some((_, last)) = rows.last_mut().and_then(|row| row.last_mut()) {
            *last += left;
        }
        let (mut marks, mut top) = (Vec::new(), 0.0);
        for row in rows.iter().filter(|row| !row.is_empty()) {
            let (mut x, mut high, mut boxes) = (room.x, 0.0_f32, Vec::new());
            for (at, span) in row {
                let Some((label, value)) = fields.get(*at) else { continue };
                let wide = room.wide * f32::from(*span) / 4.0;
                let node = self.tags.add(room.node, Tag::P);
                let base = Base { leading: 0.45, ..Base::of(9.2) };
                let runs = [Run::label(format!("{label}\n")), Run::plain(clip(value, TITLE))];
                let text = Rc::new(self.setter.set(&runs, base, Some(wide - 3.2 * MM), Side::Start));
                let bottom = self.stack(&mut marks, &text, node, x + 1.6 * MM, top + 1.2 * MM)?;
                high = high.max(bottom + 1.5 * MM - top);
                boxes.push((x, wide));
                x += wide;
            }
            marks.extend(boxes.into_iter().map(|(x, wide)| Mark::Outline { x, y: top, wide, high }));
            top += high;
        }
        let above = self.above(2.0 * MM);
        self.push(Piece { above, height: top, marks, ..Piece::default() })?;
        self.gap = super::GAP;
        Ok(())
    }
}
