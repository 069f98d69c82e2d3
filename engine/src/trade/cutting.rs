//! Cutting sticks: which pieces come out of which length of moulding, and what is left.

use super::{above_zero, each, nanometres, said, zero_or_more};
use crate::measure::Length;
use crate::{Found, Message, Value};

/// Most pieces in one list. A frame shop's week is far below it.
const MOST: usize = 200;
/// How many partly filled sticks are looked at before the best list found so far is taken.
const BUDGET: u32 = 200_000;

/// A list of pieces shared out over sticks of one length.
#[derive(Clone, Debug, PartialEq)]
pub struct CutList {
    stock: Length,
    kerf: Length,
    trim: Length,
    bars: Vec<Vec<Length>>,
    fewest: bool,
}

impl CutList {
    /// Shares `pieces` out over as few sticks of `stock` as it can; the saw takes `kerf` after each piece and `trim` is
    /// cut off one end of each stick first.
    ///
    /// Pieces are counted in nanometres, so that sixty-fourths of an inch and tenths of a millimetre are exact. The last
    /// piece of a stick may end with it and then needs no cut.
    ///
    /// # Errors
    /// When a length is zero or less, there are no pieces or too many, or a piece is longer than a trimmed stick.
    pub fn new(stock: Length, pieces: &[Length], kerf: Length, trim: Length) -> Result<Self, Message> {
        above_zero("length of a stick", stock)?;
        zero_or_more("kerf", kerf)?;
        zero_or_more("trim", trim)?;
        if pieces.is_empty() || pieces.len() > MOST {
            return Err(Message::new(
                format!("a cut list of {} pieces", pieces.len()),
                format!("list 1 to {MOST} pieces"),
            ));
        }
        for piece in pieces {
            above_zero("length of a piece", *piece)?;
            if nanometres(*piece)? > nanometres(stock)? - nanometres(trim)? {
                return Err(Message::new(
                    format!("a piece of {} does not come out of a stick of {}", said(*piece), said(stock)),
                    "take longer sticks, or join the side from two pieces",
                ));
            }
        }
        let room = nanometres(stock)? - nanometres(trim)? + nanometres(kerf)?;
        let mut items: Vec<(i64, Length)> = Vec::new();
        for piece in pieces {
            items.push((nanometres(*piece)? + nanometres(kerf)?, *piece));
        }
        items.sort_by_key(|item| std::cmp::Reverse(item.0));
        let (bars, fewest) = share_out(&items, room);
        Ok(Self { stock, kerf, trim, bars, fewest })
    }

    /// Length of a stick.
    pub fn stock(&self) -> Length {
        self.stock
    }

    /// What the saw takes after each piece.
    pub fn kerf(&self) -> Length {
        self.kerf
    }

    /// What is cut off one end of each stick first.
    pub fn trim(&self) -> Length {
        self.trim
    }

    /// Sticks needed.
    pub fn bars(&self) -> usize {
        self.bars.len()
    }

    /// The pieces of each stick.
    pub fn pieces(&self) -> &[Vec<Length>] {
        &self.bars
    }

    /// Whether fewer sticks are proved impossible.
    pub fn fewest(&self) -> bool {
        self.fewest
    }

    /// What is left of each stick.
    pub fn left(&self) -> Vec<Length> {
        self.bars.iter().map(|bar| (self.stock - self.used_of(bar)).max(Length::ZERO)).collect()
    }

    /// What is taken of each stick: trim, pieces, and a kerf after each.
    pub fn used(&self) -> Vec<Length> {
        self.bars.iter().map(|bar| self.used_of(bar).min(self.stock)).collect()
    }

    #[expect(clippy::cast_precision_loss, reason = "at most 200 pieces")]
    fn used_of(&self, bar: &[Length]) -> Length {
        self.trim + bar.iter().copied().sum() + self.kerf * bar.len() as f64
    }
}

thing!(CutList, "a cut list", |list| vec![
    i64::try_from(list.bars.len()).unwrap_or(i64::MAX).into(), " × ".into(), list.stock.into(),
    if list.fewest { "".into() } else { ", perhaps not the fewest".into() },
], {
    bars "Sticks to buy." => Found::stated(i64::try_from(list.bars.len()).unwrap_or(i64::MAX)),
    pieces "The pieces of each stick, longest first." => Found::stated(Value::List(
        list.bars.iter().map(|bar| each(bar.iter().copied())).collect(),
    )),
    offcuts "What is left of each stick." => Found::stated(each(list.left())),
    used "What is taken of each stick: trim, pieces, and a kerf after each." =>
        Found::stated(each(list.used())),
    fewest "Whether fewer sticks are proved impossible." => Found::stated(list.fewest),
    bought "Length of all sticks together." => {
        let count = u32::try_from(list.bars.len()).unwrap_or(u32::MAX);
        Found::by(list.stock * f64::from(count), "{} × {}", [count.into(), list.stock.into()])
    },
});

type Bars = Vec<Vec<Length>>;

/// Longest first into the first stick with room; then, while fewer sticks are not ruled out, a search stick by stick.
fn share_out(items: &[(i64, Length)], room: i64) -> (Bars, bool) {
    let simple = first_fit(items, room);
    let total: i64 = items.iter().map(|item| item.0).sum();
    let bound = usize::try_from((total + room - 1) / room).unwrap_or(1).max(1);
    let mut proved = true;
    for target in bound..simple.len() {
        let spare = i64::try_from(target).unwrap_or(i64::MAX).saturating_mul(room) - total;
        let mut search = StickSearch { room, budget: BUDGET };
        let mut bars = Vec::new();
        match search.fill(items.to_vec(), spare, &mut bars) {
            Some(true) => return (bars, proved),
            Some(false) => {}
            None => proved = false,
        }
    }
    (simple, proved)
}

fn first_fit(items: &[(i64, Length)], room: i64) -> Bars {
    let mut bars: Vec<(i64, Vec<Length>)> = Vec::new();
    for (need, piece) in items {
        match bars.iter_mut().find(|(left, _)| need <= left) {
            Some((left, bar)) => {
                *left -= need;
                bar.push(*piece);
            }
            None => bars.push((room - need, vec![*piece])),
        }
    }
    bars.into_iter().map(|(_, bar)| bar).collect()
}

struct StickSearch {
    room: i64,
    budget: u32,
}

impl StickSearch {
    /// Fills sticks so that all together waste at most `spare`: yes, no, or nothing when the budget ran out.
    fn fill(&mut self, items: Vec<(i64, Length)>, spare: i64, bars: &mut Bars) -> Option<bool> {
        let Some((first, rest)) = items.split_first() else { return Some(true) };
        let mut ways = Vec::new();
        let whole = self.ways(rest, self.room - first.0, spare, &mut Vec::new(), 0, &mut ways);
        ways.sort_by_key(|(waste, _)| *waste);
        let mut sure = whole.is_some();
        for (waste, taken) in ways {
            self.budget = self.budget.checked_sub(1)?;
            let mut bar = vec![first.1];
            let mut others = Vec::with_capacity(rest.len());
            for (index, item) in rest.iter().enumerate() {
                if taken.contains(&index) { bar.push(item.1) } else { others.push(*item) }
            }
            bars.push(bar);
            match self.fill(others, spare - waste, bars) {
                Some(true) => return Some(true),
                Some(false) => {}
                None => sure = false,
            }
            bars.pop();
        }
        sure.then_some(false)
    }

    /// Every choice from `rest`, from `from` on, that leaves at most `spare` of `left`; of equal pieces the first stands
    /// for all. Nothing when the budget ran out.
    fn ways(
        &mut self,
        rest: &[(i64, Length)],
        left: i64,
        spare: i64,
        taken: &mut Vec<usize>,
        from: usize,
        ways: &mut Vec<(i64, Vec<usize>)>,
    ) -> Option<()> {
        self.budget = self.budget.checked_sub(1)?;
        if left <= spare {
            ways.push((left, taken.clone()));
        }
        let mut skipped = None;
        for (index, item) in rest.iter().enumerate().skip(from) {
            if item.0 > left || skipped == Some(item.0) {
                continue;
            }
            skipped = Some(item.0);
            taken.push(index);
            self.ways(rest, left - item.0, spare, taken, index + 1, ways)?;
            taken.pop();
        }
        Some(())
    }
}
