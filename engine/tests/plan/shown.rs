//! How lengths are written.

use engine::Facts;
use engine::measure::Units;

use super::{block, facts, plan, shown, working};

#[test]
fn an_inch_length_that_is_a_fraction_is_written_as_one() {
    // Source: identity; fractions as on a tape measure.
    for (written, wanted) in [
        ("0.375.inch", "3/8 in"),
        ("70.125.inch", "70 1/8 in"),
        ("24.inch", "24 in"),
        ("0.5.inch", "1/2 in"),
        ("(1/16).inch", "1/16 in"),
        ("(5/32).inch", "5/32 in"),
        ("(3 + 7/64).inch", "3 7/64 in"),
        ("-1.5.inch", "\u{2212}1 1/2 in"),
        ("1.ft / 32", "3/8 in"),
        ("0.4.inch - 0.025.inch", "3/8 in"),
        ("90.inch * 56.mm / 168.mm", "30 in"),
        ("0.inch", "0 in"),
        // No fraction of a sixty-fourth, so decimals as before.
        ("0.38.inch", "0.38 in"),
        ("29.9.inch", "29.9 in"),
        ("(1/128).inch", "0.0078 in"),
        ("10.mm", "0.39 in"),
        ("(1/3).inch", "0.33 in"),
    ] {
        let plan = block(&format!("let a = {written};"));
        assert_eq!(shown(&plan, "a"), wanted, "{written}");
    }
}

#[test]
fn a_size_is_written_with_its_fractions() {
    let plan = block("let a = [70.125.inch, 24.inch];");
    assert_eq!(shown(&plan, "a"), "70 1/8 × 24 in");
}

#[test]
fn metric_has_no_fractions() {
    let metric = Facts { units: Some(Units::Metric), ..facts(&[]) };
    let plan = plan("```workings\nlet a = 0.375.inch;\n```\n", &metric);
    assert_eq!(shown(&plan, "a"), "9.5 mm");
}

#[test]
fn workings_have_fractions_too() {
    let plan = block("let gap = 0.375.inch;\nlet out = 72.inch + 2 * gap;");
    assert_eq!(working(&plan, "out").as_deref(), Some("72 in + 2 × 3/8 in"));
    assert_eq!(shown(&plan, "out"), "72 3/4 in");
}

#[test]
fn film_is_in_millimetres_whatever_the_plan_is_in() {
    let plan = block(
        "let f = film(\"6x12\");
let size = f.size;
let wide = f.width;
let piece = enlarge(f, 63.inch);
let times = piece.enlargement;
let high = piece.height;
let kept = crop(f, 2);
let crop_width = kept.width;
let lost = kept.lost_each_side;
let s = scan(f, 4000.ppi);
let pixels = s.pixels;
let sheet = film(\"4x5\");
let sheet_size = sheet.size;
let own = film(5.inch, 4.inch).width;",
    );
    // Source: 118 × 56 mm, nominal, of an encyclopedia table that cites ISO 732 (read); the rest by arithmetic.
    assert_eq!(shown(&plan, "size"), "118 × 56 mm");
    assert_eq!(shown(&plan, "wide"), "118 mm");
    assert_eq!(shown(&plan, "f"), "6x12 film, 118 × 56 mm");
    assert_eq!(shown(&plan, "times"), "13.56");
    assert_eq!(working(&plan, "times").as_deref(), Some("63 in ÷ 118 mm"));
    assert_eq!(working(&plan, "high").as_deref(), Some("63 in × 56 mm ÷ 118 mm"));
    assert_eq!(shown(&plan, "crop_width"), "112 mm");
    assert_eq!(working(&plan, "crop_width").as_deref(), Some("56 mm × 2"));
    assert_eq!(shown(&plan, "lost"), "3 mm");
    assert_eq!(working(&plan, "pixels").as_deref(), Some("118 × 56 mm × 4000 ppi"));
    assert_eq!(shown(&plan, "sheet_size"), "127 × 101.6 mm");
    assert_eq!(shown(&plan, "own"), "127 mm");
}
