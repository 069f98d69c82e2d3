//! The lifting equation against its manual.
//!
//! Source: DHHS (NIOSH) Publication 94-110, revised 9/2021 (tables read in a transcription of the manual).

use engine::measure::{Angle, Length, Mass, Time};
use engine::trade::lifting::{Coupling, LOAD_CONSTANT, Lift};

use super::{inch, near, part, within};

/// A perfect lift: all multipliers are 1.
fn perfect() -> Lift {
    Lift {
        load: Mass::lb(51.0),
        reach: inch(10.0),
        height: inch(30.0),
        start_height: inch(30.0),
        travel: inch(10.0),
        twist: Angle::degrees(0.0),
        per_minute: 0.2,
        lasts: Time::hours(1.0),
        coupling: Coupling::Good,
    }
}

#[test]
fn a_perfect_lift_is_51_pounds() {
    // S26. Source: p. 7 (read): 51 lb or 23 kg; the two forms differ slightly.
    near("S26", perfect().limit().to_lb(), 51.0, 1e-12);
    within("S26", LOAD_CONSTANT.to_kg(), 23.0, 0.2);
    near("index", perfect().index().unwrap(), 1.0, 1e-12);
}

#[test]
fn a_reach_counts_as_in_table_1() {
    // S14. Source: Table 1, pp. 8-9 (read). The rows of 22 and 23 in print differ from 10 ÷ H by more than rounding.
    let inches = [
        (10.0, 1.0),
        (11.0, 0.91),
        (12.0, 0.83),
        (13.0, 0.77),
        (14.0, 0.71),
        (15.0, 0.67),
        (16.0, 0.63),
        (17.0, 0.59),
        (18.0, 0.56),
        (19.0, 0.53),
        (20.0, 0.50),
        (21.0, 0.48),
        (22.0, 0.46),
        (23.0, 0.44),
        (24.0, 0.42),
        (25.0, 0.40),
    ];
    for (reach, want) in inches {
        within("S14", Lift { reach: inch(reach), ..perfect() }.horizontal(), want, 0.0105);
    }
    // S18. Source: Table 1, metric (read), whose 25 cm is not quite 10 in.
    let centimetres = [
        (25.0, 1.0),
        (28.0, 0.89),
        (30.0, 0.83),
        (32.0, 0.78),
        (34.0, 0.74),
        (36.0, 0.69),
        (38.0, 0.66),
        (40.0, 0.63),
        (42.0, 0.60),
        (44.0, 0.57),
        (46.0, 0.54),
        (48.0, 0.52),
        (50.0, 0.50),
        (52.0, 0.48),
        (54.0, 0.46),
        (56.0, 0.45),
        (58.0, 0.43),
        (60.0, 0.42),
        (63.0, 0.40),
    ];
    for (reach, want) in centimetres {
        within("S18", Lift { reach: Length::cm(reach), ..perfect() }.horizontal(), want, 0.005 + 0.016 * want);
    }
    near("near", Lift { reach: inch(3.0), ..perfect() }.horizontal(), 1.0, 1e-12);
    assert_eq!(Lift { reach: inch(25.1), ..perfect() }.horizontal(), 0.0);
}

#[test]
fn a_height_counts_as_in_table_2() {
    // S15. Source: Table 2, p. 10 (read).
    let rows = [
        (0.0, 0.78),
        (5.0, 0.81),
        (10.0, 0.85),
        (15.0, 0.89),
        (20.0, 0.93),
        (25.0, 0.96),
        (30.0, 1.0),
        (35.0, 0.96),
        (40.0, 0.93),
        (45.0, 0.89),
        (50.0, 0.85),
        (55.0, 0.81),
        (60.0, 0.78),
        (65.0, 0.74),
        (70.0, 0.70),
    ];
    for (height, want) in rows {
        within("S15", Lift { height: inch(height), ..perfect() }.vertical(), want, 0.005_001);
    }
    assert_eq!(Lift { height: inch(70.1), ..perfect() }.vertical(), 0.0);
}

#[test]
fn a_travel_counts_as_in_table_3() {
    // S16. Source: Table 3, p. 11 (read).
    let rows = [
        (10.0, 1.0),
        (15.0, 0.94),
        (20.0, 0.91),
        (25.0, 0.89),
        (30.0, 0.88),
        (35.0, 0.87),
        (40.0, 0.87),
        (45.0, 0.86),
        (50.0, 0.86),
        (55.0, 0.85),
        (60.0, 0.85),
        (70.0, 0.85),
    ];
    for (travel, want) in rows {
        within("S16", Lift { travel: inch(travel), ..perfect() }.distance(), want, 0.005_001);
    }
    assert_eq!(Lift { travel: inch(70.1), ..perfect() }.distance(), 0.0);
    near("short", Lift { travel: inch(2.0), ..perfect() }.distance(), 1.0, 1e-12);
}

#[test]
fn a_twist_counts_as_in_table_4() {
    // S17. Source: Table 4, p. 13 (read).
    let rows = [
        (0.0, 1.0),
        (15.0, 0.95),
        (30.0, 0.90),
        (45.0, 0.86),
        (60.0, 0.81),
        (75.0, 0.76),
        (90.0, 0.71),
        (105.0, 0.66),
        (120.0, 0.62),
        (135.0, 0.57),
    ];
    for (twist, want) in rows {
        within("S17", Lift { twist: Angle::degrees(twist), ..perfect() }.asymmetry(), want, 0.005_001);
    }
    // S25. Source: section 1.3.4.2, p. 12 (read): past 135° no lift at all.
    let far = Lift { twist: Angle::degrees(140.0), ..perfect() };
    assert_eq!((far.asymmetry(), far.limit().to_lb(), far.index()), (0.0, 0.0, None));
    assert!(engine::Trade::part(&far, "index").is_none());
}

#[test]
fn a_frequency_counts_as_in_table_5() {
    // S12. Source: Table 5, p. 15 (read): up to 1, 2, 8 hours, each below and from 30 in.
    let rows: [(f64, [f64; 6]); 17] = [
        (0.2, [1.0, 1.0, 0.95, 0.95, 0.85, 0.85]),
        (0.5, [0.97, 0.97, 0.92, 0.92, 0.81, 0.81]),
        (1.0, [0.94, 0.94, 0.88, 0.88, 0.75, 0.75]),
        (2.0, [0.91, 0.91, 0.84, 0.84, 0.65, 0.65]),
        (3.0, [0.88, 0.88, 0.79, 0.79, 0.55, 0.55]),
        (4.0, [0.84, 0.84, 0.72, 0.72, 0.45, 0.45]),
        (5.0, [0.80, 0.80, 0.60, 0.60, 0.35, 0.35]),
        (6.0, [0.75, 0.75, 0.50, 0.50, 0.27, 0.27]),
        (7.0, [0.70, 0.70, 0.42, 0.42, 0.22, 0.22]),
        (8.0, [0.60, 0.60, 0.35, 0.35, 0.18, 0.18]),
        (9.0, [0.52, 0.52, 0.30, 0.30, 0.0, 0.15]),
        (10.0, [0.45, 0.45, 0.26, 0.26, 0.0, 0.13]),
        (11.0, [0.41, 0.41, 0.0, 0.23, 0.0, 0.0]),
        (12.0, [0.37, 0.37, 0.0, 0.21, 0.0, 0.0]),
        (13.0, [0.0, 0.34, 0.0, 0.0, 0.0, 0.0]),
        (14.0, [0.0, 0.31, 0.0, 0.0, 0.0, 0.0]),
        (15.0, [0.0, 0.28, 0.0, 0.0, 0.0, 0.0]),
    ];
    for (per_minute, columns) in rows {
        for (column, want) in columns.into_iter().enumerate() {
            let lasts = Time::hours([1.0, 2.0, 8.0][column / 2]);
            let start_height = inch([29.0, 30.0][column % 2]);
            let got = Lift { per_minute, lasts, start_height, ..perfect() }.frequency();
            assert_eq!(got, want, "{per_minute} a minute, column {column}");
        }
    }
    // S24. Rule: p. 7 (read), linear between rows; computed.
    within("S24", Lift { per_minute: 2.4, ..perfect() }.frequency(), 0.898, 1e-9);
    assert_eq!(Lift { per_minute: 0.0, ..perfect() }.frequency(), 1.0);
    assert_eq!(Lift { per_minute: 15.1, ..perfect() }.frequency(), 0.0);
}

#[test]
fn a_hold_counts_as_in_table_7() {
    // S13. Source: Table 7, p. 18 (read): below and from 30 in.
    for (coupling, low, high) in [(Coupling::Good, 1.0, 1.0), (Coupling::Fair, 0.95, 1.0), (Coupling::Poor, 0.9, 0.9)] {
        assert_eq!(Lift { coupling, height: inch(29.9), ..perfect() }.coupling(), low);
        assert_eq!(Lift { coupling, height: inch(30.0), ..perfect() }.coupling(), high);
    }
}

#[test]
fn a_worked_example_of_the_manual_comes_out() {
    // Load, reach, height, start height, travel, twist, lifts a minute, hold; limit in the manual, index, limit in full.
    // The manual multiplies multipliers rounded to two places (p. 29): so rounded, they give its limit. Both ends where
    // there are two.
    let rows = [
        // S20. Example 2, loading supply rolls (from memory).
        ("S20 start", (35.0, 15.0, 27.0, 27.0, 17.0, 0.0, 0.2, Coupling::Poor), (28.0, 1.3, 27.694_53)),
        ("S20 end", (35.0, 20.0, 10.0, 27.0, 17.0, 0.0, 0.2, Coupling::Poor), (18.1, 1.9, 18.061_65)),
        // S21. Example 3, loading bags into a hopper (from memory).
        ("S21", (40.0, 18.0, 15.0, 15.0, 21.0, 45.0, 0.2, Coupling::Fair), (18.9, 2.1, 18.520_581_6)),
        // S22. Example 4, package inspection (multipliers, heights, travel and limits read; load and reach from memory).
        ("S22 start", (26.0, 10.0, 22.0, 22.0, 37.0, 0.0, 3.0, Coupling::Fair), (34.9, 0.7, 34.813_561_56)),
        ("S22 end", (26.0, 20.0, 59.0, 22.0, 37.0, 0.0, 3.0, Coupling::Fair), (15.2, 1.7, 15.252_862_22)),
    ];
    for (row, (load, reach, height, start, travel, twist, per_minute, coupling), (limit, index, full)) in rows {
        let lift = Lift {
            load: Mass::lb(load),
            reach: inch(reach),
            height: inch(height),
            start_height: inch(start),
            travel: inch(travel),
            twist: Angle::degrees(twist),
            per_minute,
            lasts: Time::hours(1.0),
            coupling,
        };
        let lift = lift.checked().unwrap();
        let places =
            [lift.horizontal(), lift.vertical(), lift.distance(), lift.asymmetry(), lift.frequency(), lift.coupling()];
        let printed: f64 = places.into_iter().map(|one| (one * 100.0 + 1e-9).round() / 100.0).product();
        within(row, 51.0 * printed, limit, 0.06);
        near(row, lift.limit().to_lb(), full, 1e-6);
        within(row, lift.index().unwrap(), index, 0.06);
        assert!(part(&lift, "limit").caution.is_some());
    }
}
