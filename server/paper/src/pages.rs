//! Which pieces stand on which page: what belongs together stays together, and nothing that only closes a sheet stands alone on
//! its last page.

use crate::layout::{Head, MM, Piece};

/// Kept free above the foot of the last page.
const CLEAR: f32 = 3.0 * MM;
/// What is taken over with a foot that needs a page of its own: at least so much.
const COMPANY: f32 = 30.0 * MM;
/// Less room than this is not begun with something that fills more than a page.
const SCANT: f32 = 25.0 * MM;
/// Differences too small to be seen.
const NIL: f32 = 0.01;

/// The pieces of a sheet, and how high a page is.
pub(crate) struct Pages<'p, 'a> {
    pub(crate) pieces: &'p [Piece<'a>],
    pub(crate) heads: &'p [Head<'a>],
    pub(crate) high: f32,
}

impl Pages<'_, '_> {
    /// How high the repeated head above a piece is.
    fn head(&self, at: usize) -> f32 {
        let head = self.pieces.get(at).and_then(|piece| piece.head);
        head.and_then(|head| self.heads.get(head as usize)).map_or(0.0, |head| head.height)
    }

    /// How high some pieces are at the top of a page.
    fn height(&self, from: usize, to: usize) -> f32 {
        let pieces = self.pieces.get(from..to).unwrap_or_default();
        let first = pieces.first().map_or(0.0, |piece| piece.above);
        self.head(from) + pieces.iter().map(|piece| piece.above + piece.height).sum::<f32>() - first
    }

    /// Whether a page may begin with a piece.
    fn may_begin(&self, at: usize) -> bool {
        at.checked_sub(1).and_then(|before| self.pieces.get(before)).is_none_or(|before| !before.glued)
    }

    /// Whether some pieces are more than what closes a sheet.
    fn has_body(&self, from: usize, to: usize) -> bool {
        self.pieces.get(from..to).unwrap_or_default().iter().any(|piece| !piece.closing)
    }

    /// With which piece each page begins. The foot, so high, goes to the foot of the last.
    pub(crate) fn begins(&self, foot: f32) -> Vec<usize> {
        let count = self.pieces.len();
        let mut begins = vec![0];
        let (mut top, mut y, mut at) = (0, 0.0_f32, 0);
        while at < count {
            let mut end = at + 1;
            while end < count && !self.may_begin(end) {
                end += 1;
            }
            let more = self.height(at, end) - self.head(at)
                + if at > top { self.pieces.get(at).map_or(0.0, |one| one.above) } else { 0.0 };
            if y + more <= self.high + NIL {
                y += more;
            } else if at > top && self.height(at, end) <= self.high + NIL {
                (top, y) = (at, self.height(at, end));
                begins.push(at);
            } else {
                if at > top && self.high - y < SCANT {
                    (top, y) = (at, self.head(at));
                    begins.push(at);
                }
                for (one, piece) in self.pieces.iter().enumerate().take(end).skip(at) {
                    let own = piece.height + if one > top { piece.above } else { 0.0 };
                    if one > top && y + own > self.high + NIL {
                        (top, y) = (one, self.head(one) + piece.height);
                        begins.push(one);
                    } else {
                        y += own;
                    }
                }
            }
            at = end;
        }
        self.close(&mut begins, foot);
        begins
    }

    /// Sees to the last page.
    fn close(&self, begins: &mut Vec<usize>, foot: f32) {
        let count = self.pieces.len();
        let under = if foot > 0.0 { foot + CLEAR } else { 0.0 };
        let last = begins.last().copied().unwrap_or(0);
        let fits = |from: usize| self.height(from, count) + under <= self.high + NIL;
        if !fits(last) {
            let may = |from: &usize| self.may_begin(*from) && self.has_body(*from, count) && fits(*from);
            let company = |from: &usize| may(from) && self.height(*from, count) >= COMPANY;
            let own = (last + 1..count).rev().find(company).or_else(|| (last + 1..count).rev().find(may));
            begins.push(own.unwrap_or(count));
        } else if begins.len() > 1 && !self.has_body(last, count) {
            let before = begins.iter().rev().nth(1).copied().unwrap_or(0);
            let may = |from: &usize| self.may_begin(*from) && self.has_body(*from, last) && fits(*from);
            if let Some(from) = (before + 1..last).rev().find(may) {
                begins.pop();
                begins.push(from);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Pages;
    use crate::layout::Piece;

    fn pieces(all: &[(f32, bool, bool)]) -> Vec<Piece<'static>> {
        all.iter()
            .map(|(height, glued, closing)| Piece {
                height: *height,
                glued: *glued,
                closing: *closing,
                ..Piece::default()
            })
            .collect()
    }

    fn check(all: &[(f32, bool, bool)], foot: f32, wanted: &[usize]) {
        let pieces = pieces(all);
        assert_eq!(Pages { pieces: &pieces, heads: &[], high: 700.0 }.begins(foot), wanted);
    }

    #[test]
    fn what_is_glued_goes_to_the_next_page_together() {
        check(&[(300.0, false, false), (300.0, false, false), (50.0, true, false), (80.0, false, false)], 0.0, &[0, 2]);
        check(&[(300.0, true, false), (300.0, true, false), (300.0, true, false), (80.0, false, false)], 0.0, &[0, 2]);
    }

    #[test]
    fn a_foot_takes_something_of_the_body_with_it() {
        check(&[(300.0, false, false), (200.0, false, false), (100.0, false, false)], 200.0, &[0, 2]);
        check(
            &[(300.0, false, false), (250.0, false, false), (20.0, false, false), (20.0, false, true)],
            200.0,
            &[0, 1],
        );
        check(&[(300.0, false, false), (200.0, false, false)], 150.0, &[0]);
    }

    #[test]
    fn cautions_are_not_alone_on_the_last_page() {
        check(&[(400.0, false, false), (250.0, false, false), (60.0, false, true)], 100.0, &[0, 1]);
    }
}
