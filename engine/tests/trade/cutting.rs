//! Cut lists.

use engine::measure::Length;
use engine::trade::cutting::CutList;

use super::{inch, near};

fn cut(stock: f64, pieces: &[f64], kerf: f64, trim: f64) -> CutList {
    let pieces: Vec<_> = pieces.iter().copied().map(Length::inch).collect();
    let list = CutList::new(inch(stock), &pieces, inch(kerf), inch(trim)).unwrap();
    // Whatever is found is feasible: every piece once, no stick overfull.
    let mut cut: Vec<_> = list.pieces().concat().iter().map(|one| one.to_inch()).collect();
    let mut asked: Vec<_> = pieces.iter().map(|one| one.to_inch()).collect();
    cut.sort_by(f64::total_cmp);
    asked.sort_by(f64::total_cmp);
    assert_eq!(cut, asked);
    for bar in list.pieces() {
        let cuts = (bar.len() - 1) as f64;
        assert!(trim + bar.iter().map(|one| one.to_inch()).sum::<f64>() + cuts * kerf <= stock + 1e-9);
    }
    list
}

#[test]
fn a_frame_comes_out_of_two_sticks() {
    // G08. Identity: one trim cut an end, a kerf after each piece.
    let list = cut(120.0, &[74.0, 74.0, 26.0, 26.0], 0.125, 1.0);
    assert_eq!((list.bars(), list.fewest()), (2, true));
    for (used, left) in list.used().into_iter().zip(list.left()) {
        near("G08 used", used.to_inch(), 101.25, 1e-12);
        near("G08 left", left.to_inch(), 18.75, 1e-12);
    }
    // K11. Identity: no trim.
    let list = cut(120.0, &[74.0, 74.0, 26.0, 26.0], 0.125, 0.0);
    assert_eq!(list.bars(), 2);
    near("K11 used", list.used()[0].to_inch(), 100.25, 1e-12);
    near("K11 left", list.left()[0].to_inch(), 19.75, 1e-12);
}

#[test]
fn a_kerf_can_cost_a_stick() {
    // K12. Identity: 74 + 26 in and one kerf exceed 100 in.
    assert_eq!(cut(100.0, &[74.0, 26.0], 0.125, 0.0).bars(), 2);
    assert_eq!(cut(100.0, &[74.0, 26.0], 0.0, 0.0).bars(), 1);
    // Identity: the last piece ends with the stick and needs no cut.
    assert_eq!(cut(100.125, &[74.0, 26.0], 0.125, 0.0).bars(), 1);
    // Identity: sixteenths and tenths of a millimetre are exact.
    assert_eq!(cut(96.0, &[15.9375; 6], 0.075, 0.0).bars(), 1);
    assert_eq!(cut(96.0, &[15.9375; 6], 0.075_01, 0.0).bars(), 2);
}

#[test]
fn a_published_list_is_cut_from_the_fewest_sticks() {
    // K03. Source: Scholl, Klein, Jürgens 1997, data set 1 (read); 16 proved with a constraint solver. Longest first into
    // the first stick with room takes 17.
    let pieces = [
        100.0, 100.0, 96.0, 94.0, 90.0, 88.0, 87.0, 85.0, 83.0, 81.0, 80.0, 80.0, 77.0, 74.0, 65.0, 62.0, 62.0, 62.0,
        61.0, 59.0, 59.0, 57.0, 54.0, 51.0, 45.0, 45.0, 40.0, 38.0, 37.0, 37.0, 37.0, 36.0, 29.0, 29.0, 27.0, 26.0,
        22.0, 22.0, 21.0, 17.0, 14.0, 14.0, 8.0, 7.0, 6.0, 5.0, 5.0, 3.0, 3.0, 1.0,
    ];
    let list = cut(150.0, &pieces, 0.0, 0.0);
    assert_eq!((list.bars(), list.fewest()), (16, true));
}

#[test]
fn small_lists_are_as_short_as_trying_everything() {
    // Identity: every way to share out up to seven pieces, tried one by one.
    fn fewest(pieces: &[u32], bars: &mut Vec<u32>, room: u32, best: usize) -> usize {
        let Some((first, rest)) = pieces.split_first() else { return bars.len().min(best) };
        let mut best = best;
        for index in 0..bars.len() {
            if bars[index] + first <= room {
                bars[index] += first;
                best = fewest(rest, bars, room, best);
                bars[index] -= first;
            }
        }
        bars.push(*first);
        best = fewest(rest, bars, room, best);
        bars.pop();
        best
    }
    let mut seed = 7_u32;
    for _ in 0..60 {
        let pieces: Vec<u32> = (0..7)
            .map(|_| {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                10 + (seed >> 16) % 60
            })
            .collect();
        let lengths: Vec<f64> = pieces.iter().map(|one| f64::from(*one)).collect();
        let list = cut(100.0, &lengths, 0.0, 0.0);
        assert_eq!(list.bars(), fewest(&pieces, &mut Vec::new(), 100, 7), "{pieces:?}");
        assert!(list.fewest());
    }
}

#[test]
fn a_piece_longer_than_a_stick_is_refused() {
    let refused = |stock: f64, pieces: &[f64], kerf: f64, trim: f64| {
        let pieces: Vec<_> = pieces.iter().copied().map(Length::inch).collect();
        CutList::new(inch(stock), &pieces, inch(kerf), inch(trim)).unwrap_err()
    };
    assert!(refused(72.0, &[74.0], 0.0, 0.0).what.contains("74"));
    assert!(refused(74.5, &[74.0], 0.0, 1.0).what.contains("74"));
    refused(72.0, &[], 0.0, 0.0);
    refused(72.0, &[0.0], 0.0, 0.0);
    refused(72.0, &[10.0], -1.0, 0.0);
    refused(72.0, &[f64::NAN], 0.0, 0.0);
    refused(f64::INFINITY, &[1.0], 0.0, 0.0);
    refused(72.0, &[1.0; 201], 0.0, 0.0);
}
