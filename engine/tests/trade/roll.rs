//! Prints laid on a roll.

use engine::measure::Length;
use engine::trade::roll::{Layout, MARGIN, Roll};

use super::{inch, near, part};

#[test]
fn prints_lie_in_rows_on_a_roll() {
    // F09, F10, F11. Identity: rows of equal prints, none turned.
    let rows = [
        ("F09", 30.0, MARGIN, (24.0, 72.0), 1, (1, 1, 73.0, 0.789_041_095_9)),
        ("F10", 50.0, MARGIN, (24.0, 72.0), 3, (2, 2, 145.5, 0.712_577_319_6)),
        ("F11", 72.0, Length::ZERO, (72.0, 24.0), 3, (1, 3, 74.0, 0.972_972_973)),
        // Identity: three of 24 in with nothing between them just fill 72 in.
        ("just fits", 72.0, Length::ZERO, (24.0, 72.0), 3, (2, 2, 145.5, 3.0 * 24.0 * 72.0 / (72.0 * 145.5))),
    ];
    for (row, width, side, (across, along), count, (in_row, lines, length, used)) in rows {
        let roll = Roll::new(inch(width), side, inch(0.5), inch(0.5)).unwrap();
        let layout = Layout::new(inch(across), inch(along), &roll, count, false).unwrap();
        assert_eq!((layout.in_row(), layout.rows()), (in_row, lines), "{row}");
        near(row, layout.length().to_inch(), length, 1e-12);
        near(row, layout.used(), used, 1e-9);
    }
    let roll = Roll::new(inch(72.0), Length::ZERO, Length::ZERO, Length::ZERO).unwrap();
    assert_eq!(Layout::new(inch(24.0), inch(72.0), &roll, 3, false).unwrap().in_row(), 3);
}

#[test]
fn a_print_turns_only_where_it_may_and_saves_paper() {
    let roll = Roll::new(inch(50.0), MARGIN, MARGIN, MARGIN).unwrap();
    let lay = |width: f64, height: f64, turn: bool| Layout::new(inch(width), inch(height), &roll, 1, turn);
    // Identity: 24 in of paper are less than 40 in.
    assert_eq!(lay(24.0, 40.0, true).unwrap().length(), inch(25.0));
    assert_eq!(lay(24.0, 40.0, false).unwrap().length(), inch(41.0));
    let message = lay(72.0, 24.0, false).unwrap_err();
    assert!(
        message.what.contains("72\u{a0}in") && message.what.contains("49\u{a0}in") && message.next.contains("turned"),
        "{message}"
    );
    assert_eq!(lay(72.0, 24.0, true).unwrap().length(), inch(73.0));
    assert!(lay(72.0, 60.0, true).is_err());
}

#[test]
fn used_and_waste_are_all_the_paper() {
    // Identity.
    let roll = Roll::new(inch(44.0), MARGIN, MARGIN, MARGIN).unwrap();
    let layout = Layout::new(inch(13.0), inch(19.0), &roll, 7, false).unwrap();
    near("all", super::number(&part(&layout, "used").value) + super::number(&part(&layout, "waste").value), 1.0, 1e-12);
}
