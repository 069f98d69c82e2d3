//! Tables: how wide their columns are, and their rows.

use std::rc::Rc;

use krilla::tagging::{TableHeaderScope, Tag};

use super::{Head, LINE, Layout, MM, Mark, Piece, Room, THIN};
use crate::bounds::Unset;
use crate::content::{Row, Run, Side, Table};
use crate::faces;
use crate::lettering::{Base, Text};
use crate::tags::Node;

/// A table of no more rows than this stays on one page.
const SHORT: usize = 12;
/// Above and below the words of a cell.
const INSET: f32 = 1.15 * MM;
/// The grey of the lines between rows.
const PALE: u8 = 153;

/// How the columns of a table stand.
struct Columns {
    /// From the left of the table, and how wide the words may be.
    at: Vec<(f32, f32, Side)>,
    wide: f32,
    base: Base,
    /// Where bars stand.
    bars: (f32, f32),
}

impl<'a> Layout<'a, '_> {
    pub(super) fn table(&mut self, table: &'a Table, room: Room) -> Result<(), Unset> {
        if table.columns.is_empty() || (table.rows.is_empty() && table.head.is_empty()) {
            return Ok(());
        }
        let columns = columns(table, table.widest.map_or(room.wide, |mm| room.wide.min(f32::from(mm) * MM)));
        let node = self.tags.add(room.node, Tag::Table);
        let count = table.rows.len() + usize::from(table.total.is_some());
        let from = self.pieces.len();
        let above = self.above(super::GAP);
        let mut head = None;
        if !table.head.is_empty() {
            head = Some(self.heads.len() as u32);
            let group = self.tags.add(node, Tag::THead);
            let row = self.tags.add(group, Tag::TR);
            let nodes: Vec<Node> = (0..table.columns.len())
                .map(|at| {
                    // A head cell that says nothing names nothing.
                    if is_empty(table.head.get(at)) {
                        self.tags.add(row, Tag::TD)
                    } else {
                        self.tags.add(row, Tag::TH(TableHeaderScope::Column))
                    }
                })
                .collect();
            let cells: Vec<&[Run]> = table.head.iter().map(Vec::as_slice).collect();
            let base = Base { bold: true, ..columns.base };
            let mut piece = self.row(&cells, &columns, base, room, &nodes)?;
            piece.marks.push(under(room.x, columns.wide, piece.height, LINE, 0));
            self.heads.push(Head { height: piece.height, marks: piece.marks.clone() });
            piece.above = above;
            piece.glued = true;
            self.push(piece)?;
        }
        let is_named = table.is_named || table.head.is_empty() || is_empty(table.head.first());
        let body = self.tags.add(node, Tag::TBody);
        for row in &table.rows {
            let tr = self.tags.add(body, Tag::TR);
            let mut nodes = Vec::with_capacity(table.columns.len());
            for at in 0..table.columns.len() {
                nodes.push(if at == 0 && is_named && !is_empty(row.cells.first()) {
                    self.tags.add(tr, Tag::TH(TableHeaderScope::Row))
                } else {
                    self.tags.add(tr, Tag::TD)
                });
            }
            self.body_row(row, &columns, room, &nodes, head)?;
        }
        if let Some((label, sum)) = &table.total {
            let foot = self.tags.add(node, Tag::TFoot);
            let tr = self.tags.add(foot, Tag::TR);
            let span = std::num::NonZeroU32::new(table.columns.len().saturating_sub(1) as u32);
            let th = self.tags.add(tr, Tag::TH(TableHeaderScope::Row).with_col_span(span));
            let td = self.tags.add(tr, Tag::TD);
            let base = Base { bold: true, ..columns.base };
            let mut cells: Vec<&[Run]> = vec![&[]; table.columns.len()];
            let mut nodes = vec![th; table.columns.len()];
            if let Some(cell) = cells.first_mut() {
                *cell = label;
            }
            if let (Some(cell), Some(node)) = (cells.last_mut(), nodes.last_mut()) {
                (*cell, *node) = (sum, td);
            }
            let mut piece = self.row(&cells, &columns, base, room, &nodes)?;
            piece.marks.push(under(room.x, columns.wide, piece.height, THIN, PALE));
            piece.head = head;
            self.push(piece)?;
        }
        if head.is_none()
            && let Some(first) = self.pieces.get_mut(from)
        {
            first.above = above;
        }
        self.keep_rows(from, count);
        self.gap = super::GAP;
        Ok(())
    }

    /// Short tables stay whole; of long ones the head stays with two rows, and the last row is not alone.
    fn keep_rows(&mut self, from: usize, rows: usize) {
        if rows <= SHORT {
            self.glue(from);
            return;
        }
        let (first, last) = (from + 2, self.pieces.len().saturating_sub(2));
        for (at, piece) in self.pieces.iter_mut().enumerate().skip(from) {
            piece.glued = piece.glued || at < first || at == last;
        }
        if let Some(last) = self.pieces.last_mut() {
            last.glued = false;
        }
    }

    /// A row of the body; one that is higher than half a page is divided between its lines.
    fn body_row(
        &mut self,
        row: &'a Row,
        columns: &Columns,
        room: Room,
        nodes: &[Node],
        head: Option<u32>,
    ) -> Result<(), Unset> {
        let cells: Vec<&[Run]> = row.cells.iter().map(Vec::as_slice).collect();
        let mut piece = self.row(&cells, columns, columns.base, room, nodes)?;
        piece.head = head;
        if let Some((from, long)) = row.bar {
            let (x, wide) = columns.bars;
            let share = |thousandths: u16| f32::from(thousandths) / 1000.0 * wide;
            let long = share(long.max(12)).min(wide - share(from));
            piece.marks.push(Mark::Filled {
                x: room.x + x + share(from),
                y: (piece.height - 2.4 * MM) / 2.0,
                wide: long.max(LINE),
                high: 2.4 * MM,
                grey: 89,
            });
        }
        let rule = under(room.x, columns.wide, piece.height, THIN, PALE);
        if piece.height <= self.high / 2.0 {
            piece.marks.push(rule);
            return self.push(piece);
        }
        // One piece for each line that begins at the same height.
        let mut parts: Vec<Piece<'a>> = Vec::new();
        let mut marks: Vec<(f32, Mark<'a>)> = piece.marks.into_iter().map(|mark| (baseline(&mark), mark)).collect();
        marks.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut top = 0.0;
        for (y, mut mark) in marks {
            let is_next = y - top > columns.base.size * crate::lettering::CAPITALS + 0.5 || parts.is_empty();
            if is_next {
                let begins = if parts.is_empty() { 0.0 } else { y - columns.base.size * crate::lettering::CAPITALS };
                if let Some(last) = parts.last_mut() {
                    last.height = begins - top;
                }
                parts.push(Piece { head, ..Piece::default() });
                top = begins;
            }
            if let Mark::Text { y, .. } = &mut mark {
                *y -= top;
            }
            if let Some(last) = parts.last_mut() {
                last.marks.push(mark);
            }
        }
        let count = parts.len();
        for (at, mut part) in parts.into_iter().enumerate() {
            if at + 1 == count {
                part.height = piece.height - top;
                part.marks.push(under(room.x, columns.wide, part.height, THIN, PALE));
            }
            part.glued = at == 0 || at + 2 == count;
            self.push(part)?;
        }
        Ok(())
    }

    fn row(
        &mut self,
        cells: &[&[Run]],
        columns: &Columns,
        base: Base,
        room: Room,
        nodes: &[Node],
    ) -> Result<Piece<'a>, Unset> {
        let mut marks = Vec::new();
        let mut high: f32 = 0.0;
        for ((cell, (x, wide, side)), node) in cells.iter().zip(&columns.at).zip(nodes) {
            self.gauge.cell()?;
            let text: Rc<Text> = self.setter.again(cell, base, *wide, *side);
            self.gauge.lines(text.lines.len())?;
            let mut y = INSET;
            for (at, line) in text.lines.iter().enumerate() {
                y += line.rise;
                marks.push(Mark::Text { node: *node, text: text.clone(), line: at as u32, x: room.x + x, y });
                y += text.leading;
            }
            high = high.max(text.height());
        }
        let high = high.max(base.size * crate::lettering::CAPITALS);
        Ok(Piece { height: high + 2.0 * INSET, marks, ..Piece::default() })
    }
}

fn baseline(mark: &Mark<'_>) -> f32 {
    if let Mark::Text { y, .. } = mark { *y } else { 0.0 }
}

fn is_empty(cell: Option<&Vec<Run>>) -> bool {
    cell.is_none_or(|runs| runs.iter().all(|run| run.text.trim().is_empty()))
}

/// The line under a row.
fn under<'a>(x: f32, wide: f32, y: f32, width: f32, grey: u8) -> Mark<'a> {
    Mark::Rule { from: (x, y), to: (x + wide, y), width, grey }
}

/// As wide as their words where there is room; else the wider ones give way, no narrower than their longest word.
fn columns(table: &Table, room: f32) -> Columns {
    let count = table.columns.len();
    let has_bars = table.rows.iter().any(|row| row.bar.is_some());
    let crowd = (8.0 / count as f32).clamp(0.62, 1.0);
    let base = Base::of(crate::lettering::TEXT * crowd);
    let pad = (5.0 * MM).min(room * 0.25 / count as f32);
    let bar = if has_bars { room * 0.2 } else { 0.0 };
    let inner = room - bar - pad * count as f32;
    let mut most = vec![0.0_f32; count];
    let mut least = vec![0.0_f32; count];
    let rows = table.rows.iter().map(|row| (&row.cells, false)).chain([(&table.head, true)]);
    for (cells, bold) in rows {
        for ((cell, most), least) in cells.iter().zip(&mut most).zip(&mut least) {
            measure(cell, bold, base.size, most, least);
        }
    }
    if let Some((label, sum)) = &table.total {
        if count == 2
            && let (Some(most), Some(least)) = (most.first_mut(), least.first_mut())
        {
            measure(label, true, base.size, most, least);
        }
        if let (Some(most), Some(least)) = (most.last_mut(), least.last_mut()) {
            measure(sum, true, base.size, most, least);
        }
    }
    let shares: f32 = table.columns.iter().map(|column| f32::from(column.share)).sum();
    let sum = |all: &[f32]| all.iter().sum::<f32>();
    let mut wide = most.clone();
    let of_words: f32 =
        table.columns.iter().zip(&most).filter(|(column, _)| column.share == 0).map(|(_, most)| most).sum();
    if shares > 0.0 && of_words < inner * 0.6 {
        for (column, wide) in table.columns.iter().zip(&mut wide).filter(|(column, _)| column.share > 0) {
            *wide = (inner - of_words) * f32::from(column.share) / shares;
        }
    } else if sum(&most) > inner {
        let cap = (inner / count as f32).max(30.0).min(inner);
        least.iter_mut().for_each(|least| *least = least.min(cap));
        wide = shrunk(&least, &most, inner);
    }
    let mut at = Vec::with_capacity(count);
    let mut x = 0.0;
    for (column, wide) in table.columns.iter().zip(wide) {
        at.push((x, wide.max(4.0), column.side));
        x += wide + pad;
    }
    Columns { at, wide: x + bar, base, bars: (x, bar) }
}

/// Columns made to fit: those no wider than an even share of what is left keep their width, the others give way to them.
fn shrunk(least: &[f32], most: &[f32], room: f32) -> Vec<f32> {
    let low = least.iter().sum::<f32>();
    if low >= room {
        return least.iter().map(|least| room * least / low).collect();
    }
    let mut keeps = vec![false; most.len()];
    let (mut left, mut count) = (room, most.len());
    loop {
        // What the others need at least is not given away.
        let needed: f32 = least.iter().zip(&keeps).filter(|(_, keeps)| !**keeps).map(|(least, _)| least).sum();
        let even = left / count.max(1) as f32;
        let next = most
            .iter()
            .zip(least)
            .zip(&mut keeps)
            .find(|((most, least), keeps)| !**keeps && **most <= even && needed - **least <= left - **most);
        let Some(((most, _), keeps)) = next else { break };
        *keeps = true;
        left -= most;
        count -= 1;
    }
    let of = |all: &[f32]| all.iter().zip(&keeps).filter(|(_, keeps)| !**keeps).map(|(one, _)| one).sum::<f32>();
    let (low, high) = (of(least), of(most));
    let share = ((left - low) / (high - low).max(1.0)).clamp(0.0, 1.0);
    let one = |((least, most), keeps): ((&f32, &f32), &bool)| {
        if *keeps { *most } else { least + (most - least) * share }
    };
    least.iter().zip(most).zip(&keeps).map(one).collect()
}

/// How wide a cell is in one line, and how wide its longest word.
fn measure(cell: &[Run], bold: bool, size: f32, most: &mut f32, least: &mut f32) {
    let mut line = 0.0_f32;
    for run in cell {
        let bold = bold || run.look.bold;
        for (at, part) in run.text.split('\n').enumerate() {
            if at > 0 {
                line = 0.0;
            }
            line += faces::width(part, bold, run.look.italic) * size;
            *most = most.max(line + 1.0);
        }
        for word in run.text.split([' ', '\n']) {
            *least = least.max(faces::width(word, bold, run.look.italic) * size + 1.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::shrunk;

    fn points(least: &[f32], most: &[f32], room: f32) -> Vec<i32> {
        shrunk(least, most, room).into_iter().map(|wide| wide.round() as i32).collect()
    }

    #[test]
    fn narrow_columns_keep_their_width_and_wide_ones_give_way() {
        assert_eq!(points(&[40.0, 50.0, 30.0], &[120.0, 900.0, 90.0], 480.0), [120, 270, 90]);
        // Where even the longest words have no room, all give way alike.
        assert_eq!(points(&[100.0, 300.0], &[100.0, 900.0], 200.0), [50, 150]);
        // A narrow one does not take what the longest word of another needs.
        assert_eq!(points(&[10.0, 85.0], &[20.0, 200.0], 100.0), [10, 90]);
    }
}
