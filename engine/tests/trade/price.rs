//! Money: tax, commission, prices, sharing out.

use engine::measure::{Currency, Money};
use engine::trade::price::{Tier, Tiers, break_even, commission, margin, markup, price, split, tax};
use engine::{Found, Value};
use rust_decimal::Decimal;

use super::{near, number};

fn dec(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn usd(text: &str) -> Money {
    Money::new(dec(text), Currency::of("USD").unwrap())
}

fn amount(found: &Found) -> Decimal {
    match found.value {
        Value::Money(money) => money.amount,
        _ => panic!("no money"),
    }
}

#[test]
fn tax_rounds_the_third_decimal() {
    // D01, D04, D05. Source: Streamlined Sales and Use Tax Agreement section 324, as in R.I. Gen. Laws 44-18.1-25 and
    // K.S.A. 79-3676 (read, same text).
    for (row, of, rate, want) in [
        ("D01", "4850.00", "0.08875", "430.44"),
        ("D04", "10.00", "0.0625", "0.63"),
        ("D05", "0.50", "0.07", "0.04"),
        // D06. By item 3 × 3.62 = 10.86; by invoice 10.87; either is allowed.
        ("D06 item", "49.99", "0.0725", "3.62"),
        ("D06 invoice", "149.97", "0.0725", "10.87"),
    ] {
        assert_eq!(amount(&tax(usd(of), dec(rate)).unwrap()), dec(want), "{row}");
    }
    assert!(tax(usd("1"), dec("1.5")).is_err() && tax(usd("-1"), dec("0.1")).is_err());
}

#[test]
fn an_amount_is_rounded_half_away_from_zero() {
    // D08 to D11. Source: ISO 80000-1 annex B rule B, IEEE 754 4.3.1 roundTiesToAway (clauses from memory); computed with
    // exact decimals. Binary fractions would give 2.67 for D10 and −0.12 for D11.
    for (row, exact, want) in
        [("D08", "0.135", "0.14"), ("D09", "2.665", "2.67"), ("D10", "2.675", "2.68"), ("D11", "-0.125", "-0.13")]
    {
        assert_eq!(usd(exact).rounded().amount, dec(want), "{row}");
    }
    // D14. ISO 80000-1 annex B, both rules: 12.35 to a tenth is 12.4 (from memory). Here to a tenth of a hundred yen.
    let yen = Money::new(dec("12.35") * dec("10"), Currency::of("JPY").unwrap());
    assert_eq!(yen.rounded().amount, dec("124"), "D14");
}

#[test]
fn a_gallery_keeps_its_share() {
    // D15. Identity (50 percent is common practice, no source; Q09).
    let kept = amount(&commission(usd("4850.00"), dec("0.50")).unwrap());
    assert_eq!((kept, dec("4850.00") - kept), (dec("2425.00"), dec("2425.00")));
    // D18. Identity: P = (C + profit) ÷ (1 − c).
    assert_eq!(amount(&price(usd("1115.50"), usd("1500.00"), dec("0.50")).unwrap()), dec("5231.00"));
    assert!(price(usd("1"), usd("1"), dec("1")).is_err());
}

#[test]
fn a_markup_is_no_margin() {
    // D16. Identity: m = k ÷ (1 + k).
    let price = markup(usd("1000.00"), dec("1.50")).unwrap();
    assert_eq!(amount(&price), dec("2500.00"));
    near("D16", number(&margin(usd("1000.00"), usd("2500.00")).unwrap().value), 0.6, 1e-12);
}

#[test]
fn sales_pay_the_fixed_cost_from_so_many_on() {
    // D19. Break-even identity: 6200 ÷ (4850 × 0.5 − 1115.50) = 4.7346.
    let found = break_even(usd("6200.00"), usd("4850.00"), dec("0.5"), usd("1115.50")).unwrap();
    assert!(matches!(found.value, Value::Whole(5)));
    // Exactly so many need no more.
    let found = break_even(usd("5000"), usd("2000"), dec("0.5"), usd("0")).unwrap();
    assert!(matches!(found.value, Value::Whole(5)));
    let message = break_even(usd("6200"), usd("2000"), dec("0.5"), usd("1115.50")).unwrap_err();
    assert!(message.what.contains("115.50"), "{message}");
}

#[test]
fn parts_add_up_to_what_was_split() {
    // D20, D21. Identity: largest remainders, ties by order.
    let rows: [(&str, &str, &[&str], &[&str]); 4] = [
        ("D20", "100.00", &["1", "1", "1"], &["33.34", "33.33", "33.33"]),
        ("D21", "0.05", &["70", "30"], &["0.04", "0.01"]),
        ("all to one", "9.99", &["0", "1"], &["0", "9.99"]),
        ("too little to share", "0.01", &["1", "1", "1"], &["0.01", "0", "0"]),
    ];
    for (row, total, weights, want) in rows {
        let weights: Vec<_> = weights.iter().copied().map(dec).collect();
        let parts: Vec<_> = split(usd(total), &weights).unwrap().iter().map(|one| one.amount).collect();
        assert_eq!(parts, want.iter().copied().map(dec).collect::<Vec<_>>(), "{row}");
        assert_eq!(parts.iter().sum::<Decimal>(), dec(total), "{row}");
    }
    assert!(
        split(usd("1"), &[]).is_err()
            && split(usd("1"), &[dec("0")]).is_err()
            && split(usd("1"), &[dec("-1"), dec("2")]).is_err()
    );
}

#[test]
fn prices_rise_as_an_edition_sells() {
    // E10. Identity: 10 × 4000 + 10 × 4800 + 5 × 6000 (stepped prices are common practice).
    let tier = |from, to, each| Tier { from, to, each: usd(each) };
    let all = [tier(1, 10, "4000.00"), tier(11, 20, "4800.00"), tier(21, 25, "6000.00")];
    let tiers = Tiers::new(&all).unwrap();
    assert_eq!(tiers.gross().amount, dec("118000.00"));
    assert_eq!(tiers.price_of(10).unwrap().amount, dec("4000"));
    assert_eq!(tiers.price_of(11).unwrap().amount, dec("4800"));
    assert!(tiers.price_of(26).is_err() && tiers.price_of(0).is_err());
    assert!(Tiers::new(&[tier(1, 10, "1"), tier(12, 20, "1")]).unwrap_err().next.contains("11"));
    assert!(Tiers::new(&[tier(1, 10, "1"), tier(10, 20, "1")]).is_err());
    assert!(Tiers::new(&[]).is_err());
}

#[test]
fn two_currencies_are_never_added() {
    let yen = Money::new(dec("100"), Currency::of("JPY").unwrap());
    assert!(price(usd("1"), yen, dec("0.5")).unwrap_err().what.contains("two currencies"));
    assert!(margin(yen, usd("2")).is_err());
    assert!(break_even(yen, usd("2"), dec("0"), usd("1")).is_err());
}

#[test]
fn an_amount_past_28_digits_is_refused() {
    let huge = usd("79228162514264337593543950335");
    assert!(markup(huge, dec("1")).is_err());
    assert!(price(huge, huge, dec("0.5")).is_err());
    assert!(split(huge, &[dec("70000000000"), dec("1")]).is_err());
    let tiers = Tiers::new(&[Tier { from: 1, to: 2, each: huge }]);
    assert!(tiers.is_err());
}
