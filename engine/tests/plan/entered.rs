//! What a person types into a given on the page.

use engine::document::{Document, change};

use super::{facts, plan};

fn entered(written: &str, typed: &str) -> Result<String, String> {
    let text = format!("```workings\nlet wide = given(\"Wide\", {written});\n```\n");
    let document = Document::read(&text);
    let worked = plan(&text, &facts(&[]));
    let new = change::set_given(&document, &worked.record.givens[0], typed).map_err(|message| message.to_string())?;
    let after = plan(&new, &facts(&[]));
    assert!(after.problems.is_empty(), "{typed}: {:?}", after.problems);
    let literal = new.split("\"Wide\", ").nth(1).unwrap().split(");\n").next().unwrap().to_owned();
    Ok(format!("{literal} = {}", super::shown(&after, "wide")))
}

#[test]
fn a_length_is_read_as_people_write_it() {
    for (typed, wanted) in [
        ("63", "63.inch = 63 in"),
        ("63 1/2 in", "(63 + 1/2).inch = 63 1/2 in"),
        ("63 1/2\"", "(63 + 1/2).inch = 63 1/2 in"),
        ("1.6 m", "1.6.m = 62.99 in"),
        ("1600 mm", "1600.mm = 62.99 in"),
        // Source: identity; row U32 of the project's list of outside values: 5' 11 1/2" is 71.5 in.
        ("5' 11 1/2\"", "(5 * 12 + 11 + 1/2).inch = 71 1/2 in"),
        ("5′ 11 1/2″", "(5 * 12 + 11 + 1/2).inch = 71 1/2 in"),
        ("5 ft 3 in", "(5 * 12 + 3).inch = 63 in"),
        ("5ft 3in", "(5 * 12 + 3).inch = 63 in"),
        ("5 feet 3 inches", "(5 * 12 + 3).inch = 63 in"),
        ("5' 3.25\"", "(5 * 12 + 3.25).inch = 63 1/4 in"),
        ("5'3\"", "(5 * 12 + 3).inch = 63 in"),
        ("5' 3", "(5 * 12 + 3).inch = 63 in"),
        ("5' 3/4\"", "(5 * 12 + 3/4).inch = 60 3/4 in"),
        ("5'", "5.ft = 60 in"),
        // Source: identity; row U31: 23 15/16 in is 23.9375 in.
        ("23 15/16 in", "(23 + 15/16).inch = 23 15/16 in"),
    ] {
        assert_eq!(entered("24.inch", typed).as_deref(), Ok(wanted), "{typed}");
    }
}

#[test]
fn what_is_no_length_is_refused_in_words() {
    for (typed, said) in [
        ("5' 11 1/0\"", "is not a number"),
        ("5' x\"", "is no"),
        ("5' 3' 2\"", "is no"),
        ("", "is not a number"),
        ("5 lb", "is not a unit of `Wide`"),
    ] {
        let refused = entered("24.inch", typed).unwrap_err();
        assert!(refused.contains(said), "{typed}: {refused}");
    }
}

#[test]
fn a_given_in_feet_and_inches_can_be_entered_again() {
    assert_eq!(entered("(5 * 12 + 11 + 1/2).inch", "63 1/2 in").as_deref(), Ok("(63 + 1/2).inch = 63 1/2 in"));
    assert_eq!(entered("(5 * 12 + 3).inch", "64").as_deref(), Ok("64.inch = 64 in"));
}

#[test]
fn an_amount_is_taken_while_all_its_digits_are_kept() {
    for (typed, literal) in [("1,250.50", "1250.50.usd = "), ("$ 999999999999.25", "999999999999.25.usd = ")] {
        let came = entered("12.50.usd", typed).unwrap_or_else(|why| panic!("{typed}: {why}"));
        assert!(came.starts_with(literal), "{typed}: {came}");
    }
    for typed in ["1234567890123456", "12121212121212121212121212121212121212121212", "0.00000000000000000001"] {
        let why = entered("12.50.usd", typed).unwrap_err();
        assert!(why.contains("digits"), "{typed}: {why}");
    }
}

#[test]
fn a_length_without_its_unit_that_jumps_tenfold_is_asked_about() {
    // 60 1/2 in typed where metres stand: 38 times as long (identity).
    let refused = entered("1.6.m", "60 1/2").unwrap_err();
    assert!(refused.contains("60 1/2 m is 38 times what stood there"), "{refused}");
    assert!(refused.contains("write its unit, `60 1/2 m` or another"), "{refused}");
    let refused = entered("60.inch", "1.6").unwrap_err();
    assert!(refused.contains("1.6 in is one part in 38 of what stood there"), "{refused}");
    for (written, typed, wanted) in [
        ("1.6.m", "60 1/2 in", "(60 + 1/2).inch = 60 1/2 in"),
        ("1.6.m", "60.5 m", "60.5.m = 2381.89 in"),
        ("60.inch", "6", "6.inch = 6 in"),
        ("6.inch", "60", "60.inch = 60 in"),
        ("0.inch", "60", "60.inch = 60 in"),
        ("4.days", "60", "60.days = 60 working days"),
    ] {
        let given = entered(written, typed);
        assert_eq!(
            given.as_deref().map(|one| one.replace(['\u{a0}', '\u{202f}'], " ")),
            Ok(wanted.to_owned()),
            "{written} {typed}"
        );
    }
}
