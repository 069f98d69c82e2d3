//! Rounding, and the smaller and larger of two.

use super::{block, blocks, problems, shown, working};

#[test]
fn numbers_lengths_weights_and_money_round_and_compare() {
    // Source: identity; a half away from zero as in ISO 80000-1 annex B rule B (from memory).
    for (written, wanted) in [
        ("max(3, 4)", "4"),
        ("max(3, 4.5)", "4.5"),
        ("min(3.5, 4)", "3.5"),
        ("max(63.inch, 5.ft)", "63 in"),
        ("min(63.inch, 5.ft)", "60 in"),
        ("max(18.lb, 9.kg)", "19.8 lb"),
        ("min(40.usd, 45.usd)", "$40.00"),
        ("max([1.inch, 3.inch, 2.inch])", "3 in"),
        ("min([date(\"2026-05-11\"), date(\"2026-05-10\")])", "10 May 2026"),
        ("smaller(40.usd, 45.usd)", "$40.00"),
        ("larger(40.usd, 45.usd)", "$45.00"),
        ("round(2.5)", "3"),
        ("round(-2.5)", "\u{2212}3"),
        ("round(7)", "7"),
        ("round(29.87.inch, 0.25.inch)", "29 3/4 in"),
        ("floor(29.87.inch, 1.inch)", "29 in"),
        ("ceiling(29.87.inch, 0.5.inch)", "30 in"),
        ("ceil(4.2)", "5"),
        ("floor(-4.2)", "\u{2212}5"),
        ("ceil(0.1 * 3, 0.1)", "0.3"),
        ("round(12.344.usd)", "$12.34"),
        ("floor(12.349.usd)", "$12.34"),
        ("ceil(12.341.usd)", "$12.35"),
        ("ceil(12.341.usd, 5.usd)", "$15.00"),
        ("round(18.4.lb, 1.lb)", "18 lb"),
        ("abs(2.inch - 5.inch)", "3 in"),
        ("abs(-3)", "3"),
        ("abs(2.usd - 5.usd)", "$3.00"),
        ("sqrt(4)", "2"),
        ("whole(2.6)", "3"),
    ] {
        let plan = block(&format!("let a = {written};"));
        assert_eq!(shown(&plan, "a"), wanted, "{written}");
    }
}

#[test]
fn what_cannot_be_rounded_says_why() {
    for (written, said) in [
        ("max(3.inch, 4.lb)", "cannot be compared"),
        ("max(3.inch)", "two values of one kind"),
        ("round(3.7.inch)", "does not say to what a length is rounded"),
        ("round(3.7.inch, 1.lb)", "does not say to what a length is rounded"),
        ("ceil(3.usd, 0.usd)", "above zero"),
        ("sqrt(-1)", "zero or more"),
        ("sqrt(-1.0)", "zero or more"),
        ("ln(-1.0)", "no number one can count with"),
    ] {
        let plan = blocks(&[&format!("let a = {written};")]);
        assert!(problems(&plan).join(" ").contains(said), "{written}: {:?}", problems(&plan));
        assert!(!plan.names.contains_key("a"), "{written}");
    }
}

#[test]
fn the_larger_of_two_says_so() {
    let plan = block("let a = max(63.inch, 5.ft);");
    assert_eq!(working(&plan, "a").as_deref(), Some("the larger of 63 in and 60 in"));
}

#[test]
fn a_value_joined_to_a_text_reads_as_on_a_page() {
    for (written, wanted) in [
        ("\"print \" + 4", "print 4"),
        ("\"at \" + 12.5.inch", "at 12 1/2 in"),
        ("63.inch + \" wide\"", "63 in wide"),
        ("4 + \" of \" + 10", "4 of 10"),
        ("\"a\" + \"b\"", "ab"),
        ("\"kept: \" + true", "kept: yes"),
        ("\"for \" + 14.usd", "for $14.00"),
    ] {
        let plan = block(&format!("let a = {written};"));
        assert_eq!(shown(&plan, "a"), wanted, "{written}");
    }
}

#[test]
fn a_list_is_put_in_order_whatever_it_holds() {
    let plan = block(
        "let a = [3.inch, 1.ft, 2.inch];\na.sort();\nlet b = [3, 1, 2];\nb.sort(|x, y| x > y);\nlet c = [2.5, 1, 2];\nc.sort();\nlet d = [[1.lb, \"b\"], [8.oz, \"a\"]];\nd.sort(|x, y| x[0] < y[0]);\nlet e = d[0][1];",
    );
    assert_eq!(shown(&plan, "a"), "2 × 3 × 12 in");
    assert_eq!(shown(&plan, "b"), "3, 2, 1");
    assert_eq!(shown(&plan, "c"), "1, 2, 2.5");
    assert_eq!(shown(&plan, "e"), "a");
    let plan = blocks(&["let a = [3, 1, 2];\na.sort(|x, y| { throw 1 });"]);
    assert_eq!(problems(&plan).len(), 1);
}
