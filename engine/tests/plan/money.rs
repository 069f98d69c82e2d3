//! Lines of cost and their total.

use engine::measure::Money;

use super::{block, shown};

#[test]
fn the_lines_shown_add_up_to_the_total_shown() {
    // Three lines of a third of a cent too much each: 10.005 → 10.01 (half away from zero), so 30.03, where the exact
    // sum would be shown as 30.02. Source: Streamlined Sales and Use Tax Agreement, section 324 (a half upwards).
    let plan = block(
        "cost(\"a\", 10.005.usd);\ncost(\"b\", 10.005.usd);\nlet c = cost(\"c\", 10.005.usd);\nlet all = total();",
    );
    let lines: Vec<_> = plan.record.costs.iter().map(|line| line.amount.to_string()).collect();
    assert_eq!(lines, ["$10.01", "$10.01", "$10.01"]);
    assert_eq!(shown(&plan, "all"), "$30.03");
    assert_eq!(shown(&plan, "c"), "$10.01");
    assert_eq!(plan.cost(None).unwrap().to_string(), "$30.03");
    let sum = plan.record.costs.iter().map(|line| line.amount.amount).sum();
    assert_eq!(Money::new(sum, plan.record.costs[0].amount.currency), plan.cost(None).unwrap());
}

#[test]
fn a_half_cent_goes_away_from_zero() {
    // Source: ISO 80000-1 annex B, rule B (from memory), computed there with a decimal library for rows D08 to D11: the
    // half-even and binary results beside it would be 0.14, 2.66, 2.68 (binary 2.67) and -0.12.
    for (row, written, wanted) in [
        ("D08", "0.135", "$0.14"),
        ("D09", "2.665", "$2.67"),
        ("D10", "2.675", "$2.68"),
        ("D11", "(0 - 0.125)", "\u{2212}$0.13"),
    ] {
        let plan = block(&format!("let a = round({written} * 1.usd);\nlet b = cost(\"a\", {written} * 1.usd);"));
        assert_eq!(shown(&plan, "a"), wanted, "{row}");
        assert_eq!(shown(&plan, "b"), wanted, "{row}");
    }
}

#[test]
fn currencies_round_to_their_own_minor_unit() {
    // Source: ISO 4217 minor units: 0 for yen, 3 for Kuwaiti dinars (from memory).
    for (head, amount, wanted) in [("JPY", "10.5.jpy", "¥11"), ("KWD", "1.0005.kwd", "KWD 1.001")] {
        let text = format!("+++\ncurrency = \"{head}\"\n+++\n\n```workings\nlet a = cost(\"a\", {amount});\n```\n");
        let plan = super::plan(&text, &super::facts(&[]));
        assert_eq!(shown(&plan, "a"), wanted);
    }
}
