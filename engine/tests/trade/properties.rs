//! What must hold whatever is asked: parts add up, what is mirrored stays the same, and nothing gets more than there is.

use engine::measure::{Angle, Calendar, Currency, Day, Length, Mass, Money, Quantity, Time};
use engine::trade::boards::Boards;
use engine::trade::lifting::{Coupling, Lift, Team};
use engine::trade::price::{self, Borne};
use engine::trade::proof_sheet::{ProofSheet, Strips};
use engine::trade::row::Row;
use engine::trade::schedule::{Schedule, Step};
use engine::trade::tube::Tube;
use engine::{Found, Value};
use proptest::prelude::*;
use rust_decimal::Decimal;

use super::{inch, number, part};

fn days(found: &Found) -> f64 {
    number(&found.value)
}

/// Steps that each wait for some of those above them.
fn steps() -> impl Strategy<Value = Vec<Step>> {
    prop::collection::vec((0_u32..12, prop::collection::vec(any::<prop::sample::Index>(), 0..3)), 1..12).prop_map(
        |all| {
            all.iter()
                .enumerate()
                .map(|(at, (days, waits))| {
                    let mut after: Vec<String> =
                        waits.iter().filter(|_| at > 0).map(|one| one.index(at).to_string()).collect();
                    after.dedup();
                    Step { name: at.to_string(), days: *days, after }
                })
                .collect()
        },
    )
}

fn schedule(steps: Vec<Step>) -> Schedule {
    Schedule::new(steps, Day::parse("2027-01-04").unwrap(), None, Calendar::default()).unwrap()
}

fn dollars(cents: i64) -> Money {
    Money::new(Decimal::new(cents, 2), Currency::of("USD").unwrap())
}

fn amount(found: Found) -> Decimal {
    match found.value {
        Value::Money(money) => money.amount,
        other => panic!("no money: {other:?}"),
    }
}

proptest! {
    #[test]
    fn blanks_never_cover_more_than_their_boards(w in 2.0..60.0_f64, h in 2.0..60.0_f64, count in 1_u32..200, kerf in 0.0..0.3_f64) {
        let (stock, kerf) = ((inch(96.0), inch(48.0)), inch(kerf));
        let Ok(order) = Boards::new((inch(w), inch(h)), stock, count, kerf) else {
            // Only what is larger than the board either way is refused.
            prop_assert!(w.max(h) > 96.0 || w.min(h) > 48.0);
            return Ok(());
        };
        let on_one = number(&part(&order, "on_one").value);
        prop_assert!(on_one * w * h <= 96.0 * 48.0 + 1e-6);
        prop_assert!(on_one * f64::from(order.boards()) >= f64::from(count));
        prop_assert!(on_one * f64::from(order.boards() - 1) < f64::from(count));
        let turned = Boards::new((inch(h), inch(w)), (stock.1, stock.0), count, kerf).unwrap();
        prop_assert_eq!(turned.boards(), order.boards());
    }

    #[test]
    fn a_day_more_on_a_step_moves_the_end_by_what_it_cannot_spare(steps in steps(), which in any::<prop::sample::Index>()) {
        let before = schedule(steps.clone());
        let at = which.index(steps.len());
        let spare = days(&before.spare(&at.to_string()).unwrap());
        prop_assert!(spare >= 0.0);
        prop_assert!(!before.critical().is_empty());
        let mut longer = steps;
        longer[at].days += 1;
        let after = schedule(longer);
        let moved = after.length().to_days() - before.length().to_days();
        prop_assert!((moved - if spare >= 1.0 { 0.0 } else { 1.0 }).abs() < 1e-9, "{} {}", moved, spare);
    }

    #[test]
    fn a_row_is_its_own_mirror(w in 1.0..100.0_f64, count in 1_u32..20, gap in 0.0..10.0_f64) {
        let row = Row::new((inch(w), inch(20.0)), count, inch(gap)).unwrap();
        let centres = row.centres();
        for (one, other) in centres.iter().zip(centres.iter().rev()) {
            prop_assert!(((*one + *other).to_inch() - row.width().to_inch()).abs() < 1e-6);
        }
    }

    #[test]
    fn whoever_bears_a_discount_the_other_is_paid_no_less(cents in 1_i64..10_000_000, off in 0_i64..50, share in 50_i64..100) {
        let (off, share) = (Decimal::new(off, 2), Decimal::new(share - 1, 2));
        prop_assume!(off + share <= Decimal::ONE && off <= share);
        let net = |borne| amount(price::net(dollars(cents), off, share, borne).unwrap());
        prop_assert!(net(Borne::Artist) <= net(Borne::Shared));
        prop_assert!(net(Borne::Shared) <= net(Borne::Gallery));
    }

    #[test]
    fn tax_by_item_and_by_invoice_differ_by_less_than_half_a_cent_an_item(cents in prop::collection::vec(1_i64..1_000_000, 1..12), rate in 1_i64..2000) {
        let prices: Vec<Money> = cents.iter().map(|one| dollars(*one)).collect();
        let rate = Decimal::new(rate, 4);
        let by = |item| amount(price::tax_on(&prices, rate, item).unwrap());
        let apart = (by(true) - by(false)).abs();
        let count = Decimal::from(u32::try_from(prices.len()).unwrap());
        prop_assert!(apart <= (count + Decimal::ONE) * Decimal::new(5, 3), "{}", apart);
    }

    #[test]
    fn a_half_to_the_even_step_is_never_further_off_than_half_a_step(value in -1e6..1e6_f64, step in 0.001..100.0_f64) {
        let rounded = Quantity::plain(value).to_even(Quantity::plain(step)).unwrap().value;
        prop_assert!((rounded - value).abs() <= step / 2.0 + 1e-6);
    }

    #[test]
    fn a_proof_sheet_holds_what_is_on_it(w in 20.0..90.0_f64, h in 10.0..40.0_f64, count in 1_u32..6, sw in 2.0..9.0_f64, sh in 2.0..8.0_f64) {
        let strips = Strips { count, size: (inch(sw), inch(sh)) };
        let Ok(sheet) = ProofSheet::new((inch(w), inch(h)), (inch(24.0), inch(20.0)), strips, inch(0.5)) else { return Ok(()) };
        let (pw, ph) = sheet.picture();
        let rows = number(&part(&sheet, "rows").value);
        prop_assert!(pw.to_inch() <= 23.0 + 1e-9);
        prop_assert!(ph.to_inch() + rows * (sh + 0.5) <= 19.0 + 1e-6);
        prop_assert!((pw / ph - w / h).abs() < 1e-9);
        prop_assert!(pw <= Length::inch(w + 1e-9));
    }

    #[test]
    fn a_ladder_of_prices_never_falls_and_adds_up(size in 1_u32..60, in_step in 1_u32..20, cents in 0_i64..1_000_000, rise in 0_i64..40) {
        let ladder = price::ladder(size, in_step, dollars(cents), Decimal::new(rise, 2), None).unwrap();
        let all: Vec<Decimal> = (1..=size).map(|number| ladder.price_of(number).unwrap().amount).collect();
        prop_assert!(all.windows(2).all(|two| two[0] <= two[1]));
        prop_assert_eq!(all.iter().sum::<Decimal>(), ladder.gross().amount);
        prop_assert!(ladder.price_of(size + 1).is_err());
    }

    #[test]
    fn a_tube_is_longer_than_the_print_is_high_and_turns_as_often_as_it_is_long(w in 7.0..120.0_f64, h in 7.0..120.0_f64, core in 2.0..7.0_f64) {
        let tube = Tube::new((inch(w), inch(h)), inch(core), inch(0.75), inch(2.0)).unwrap();
        let turned = Tube::new((inch(h), inch(w)), inch(core), inch(0.75), inch(2.0)).unwrap();
        prop_assert!(tube.length() >= inch(w.min(h)));
        prop_assert_eq!(tube.sides(), turned.sides());
        prop_assert!((tube.turns() * core * std::f64::consts::PI - w.max(h)).abs() < 1e-6);
    }

    #[test]
    fn a_team_lifts_more_than_one_and_less_than_the_sum(reach in 10.0..25.0_f64, height in 0.0..70.0_f64, people in 2_u32..=3) {
        let one = Lift {
            load: Mass::lb(40.0),
            reach: inch(reach),
            height: inch(height),
            start_height: inch(height),
            travel: inch(20.0),
            twist: Angle::ZERO,
            per_minute: 0.2,
            lasts: Time::hours(1.0),
            coupling: Coupling::Fair,
        };
        let team = Team::new(one, people).unwrap().limit();
        prop_assert!(team > one.limit() && team < one.limit() * f64::from(people));
    }
}
