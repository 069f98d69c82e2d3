//! Doors, corners and lift cars.

use engine::measure::Length;
use engine::trade::motion::Shown;
use engine::trade::passage::{Car, DOOR, Doorway, LeastCar, Ride, goes_through, longest_round_corner, longest_through};
use engine::trade::route::{Place, Route};

use super::{inch, inches, part, within};

#[test]
fn a_door_is_at_least_32_inches_clear() {
    // P19. Source: 2010 ADA Standards 404.2.3 (from memory; 32 in and 815 mm read in a state code that copies it).
    within("P19", DOOR.to_mm(), 815.0, 3.0);
}

#[test]
fn a_tilted_panel_goes_through_a_door() {
    // P09 to P13. Source: Carver, American Mathematical Monthly 64 (1957) (formula from memory), checked by turning step by
    // step; computed.
    let rows = [
        ("P09", (32.0, 80.0), 1e-9, 86.162_636_91),
        ("P10", (32.0, 80.0), 2.0, 84.821_441_2),
        ("P11", (32.0, 80.0), 3.0, 84.181_295_69),
        ("P13", (51.0, 80.0), 4.0, 91.297_435_51),
    ];
    for (row, (width, height), thickness, want) in rows {
        let longest = longest_through(inch(thickness), (inch(width), inch(height))).unwrap();
        within(row, longest.to_inch(), want, 0.001);
    }
    assert_eq!(longest_through(inch(33.0), (inch(32.0), inch(80.0))), None);
}

#[test]
fn carvers_rule_agrees_with_turning_step_by_step() {
    // Identity: a section turned by θ takes p cos θ + q sin θ by p sin θ + q cos θ.
    let turned = |p: f64, q: f64, a: f64, b: f64| {
        (0..=9000).any(|step| {
            let (sin, cos) = (f64::from(step) / 100.0).to_radians().sin_cos();
            p * cos + q * sin <= a && p * sin + q * cos <= b
        })
    };
    for (a, b) in [(80.0, 32.0), (80.0, 51.0), (54.0, 42.0), (60.0, 60.0)] {
        for q in [0.5, 2.0, 6.0, 20.0] {
            for p in 20..110 {
                let p = f64::from(p) + 0.313;
                let rule = goes_through((inch(p), inch(q)), (inch(a), inch(b)));
                assert_eq!(rule, turned(p, q, a, b), "{p} × {q} through {a} × {b}");
            }
        }
    }
}

#[test]
fn a_doorway_says_whether_a_panel_must_be_tilted() {
    let door = (inch(32.0), inch(80.0));
    for (short, passes, tilted) in [(79.0, true, false), (84.0, true, true), (85.0, false, false)] {
        let way = Doorway::new((inch(120.0), inch(short)), inch(2.0), door).unwrap();
        assert_eq!((way.passes(), way.tilted()), (passes, tilted), "{short}");
        assert!(part(&way, "passes").caution.is_some());
    }
    assert!(Doorway::new((inch(1.0), inch(0.0)), inch(2.0), door).is_err());
}

#[test]
fn a_long_piece_goes_round_a_corner() {
    // P16. Identity at 45°: 72 √2 − 8. P17. Ladder problem with thickness; computed.
    for (row, a, b, thickness, want) in
        [("P16", 36.0, 36.0, 4.0, 93.823_376_49), ("P17", 36.0, 48.0, 6.0, 106.323_981_8)]
    {
        within(row, inches(&longest_round_corner(inch(thickness), inch(a), inch(b)).unwrap()), want, 0.001);
    }
    // Identity: a thin rod, (a^⅔ + b^⅔)^(3/2).
    let rod = (36.0_f64.powf(2.0 / 3.0) + 48.0_f64.powf(2.0 / 3.0)).powf(1.5);
    within("rod", inches(&longest_round_corner(inch(1e-9), inch(36.0), inch(48.0)).unwrap()), rod, 0.001);
    assert!(longest_round_corner(inch(36.0), inch(36.0), inch(48.0)).is_err());
}

#[test]
fn a_panel_stands_in_a_lift_car() {
    // P21. Source: 2010 ADA Standards 408.4.1, a car of 42 × 54 in with a door of 32 in (read in two state codes); the
    // heights are ours.
    let inside = [42.0, 54.0, 84.0].map(Length::inch);
    let car = Car { door: (inch(32.0), inch(80.0)), inside, door_from: None, jamb: inch(3.0), hall: None };
    let stands = |width: f64, height: f64| Ride::new((inch(width), inch(height)), inch(2.0), car).unwrap().stands();
    // Identity: straight along the floor; 65 in lie corner to corner of it and are not brought in by a door in the middle;
    // neither way.
    assert!(stands(53.0, 80.0));
    assert!(!stands(80.0, 65.0));
    assert!(!stands(70.0, 86.0));
    // Identity: √(42² + 54² + 84²).
    let ride = Ride::new((inch(10.0), inch(10.0)), inch(2.0), car).unwrap();
    within("rod", ride.rod().to_inch(), (42.0_f64 * 42.0 + 54.0 * 54.0 + 84.0 * 84.0).sqrt(), 1e-9);
}

#[test]
fn the_least_cars_are_those_of_the_standard() {
    // P20. Source: 2010 ADA Standards, Table 407.4.1 (from memory; not read: both sides of this test are recalled, so it
    // guards the table against slips only). P21. 408.4.1 (read in two state codes).
    for (row, kind, want) in [
        ("P20", "centred", [42.0, 80.0, 51.0, 54.0]),
        ("P20", "off-centre", [36.0, 68.0, 51.0, 54.0]),
        ("P20", "deep", [36.0, 54.0, 80.0, 80.0]),
        ("P20", "square", [36.0, 60.0, 60.0, 60.0]),
        ("P21", "limited use", [32.0, 42.0, 54.0, 54.0]),
    ] {
        let car = LeastCar::named(kind).unwrap();
        let got = ["door", "width", "depth", "depth_to_door"].map(|name| super::inches(&super::part(&car, name)));
        assert_eq!(got, want, "{row} {kind}");
        assert!(super::part(&car, "door").caution.is_some());
    }
    assert!(LeastCar::named("round").is_err());
}

/// A row of the table of cases, the car, where its door is, the hall before it, the piece, what passes and what does not.
type InACar = (&'static str, [f64; 2], (f64, f64), Option<f64>, f64, [f64; 2]);

/// Longest shown to pass and shortest shown not to, by an independent brute force with a grid of positions and turns.
/// Source: own Python with numpy 2.4.6, both bounds proved with the piece enlarged and shrunk by half a step (computed).
const CARS: &[InACar] = &[
    ("MV09", [68.0, 51.0], (0.0, 36.0), None, 3.0, [81.5, 83.0]),
    ("MV11", [80.0, 51.0], (19.0, 61.0), None, 4.0, [76.7, 77.9]),
    ("MV12", [54.0, 80.0], (9.0, 45.0), None, 4.0, [89.3, 90.5]),
    ("MV16", [68.0, 51.0], (0.0, 36.0), Some(72.0), 3.0, [81.5, 83.0]),
    ("MV17", [40.0, 48.0], (0.0, 30.0), None, 3.0, [58.8, 60.4]),
];

#[test]
fn what_gets_in_a_car_lies_between_what_brute_force_shows() {
    for (row, [wide, deep], (from, to), hall, thick, [passes, not]) in CARS {
        let car = Car {
            door: (inch(to - from), inch(50.0)),
            inside: [inch(*wide), inch(*deep), inch(50.0)],
            door_from: Some(inch(*from)),
            jamb: inch(3.0),
            hall: hall.map(inch),
        };
        let gets_in = |long: f64| Ride::new((inch(long), inch(40.0)), inch(*thick), car).unwrap().stands();
        assert!(gets_in(*passes), "{row}: {passes} gets in");
        assert!(!gets_in(*not), "{row}: {not} does not");
        assert!(!gets_in(not + 4.0) && gets_in(passes - 4.0), "{row}");
    }
}

#[test]
fn what_lies_in_a_car_may_not_get_in() {
    // MV30. Brute force of MV11: 80 to 90 in lie inside and cannot be brought in (computed).
    let car = Car {
        door: (inch(42.0), inch(50.0)),
        inside: [inch(80.0), inch(51.0), inch(50.0)],
        door_from: None,
        jamb: inch(3.0),
        hall: None,
    };
    for (long, gets_in, lies) in [
        (51.0, true, true),
        (70.0, true, true),
        (76.0, true, true),
        (80.0, false, true),
        (84.0, false, true),
        (90.0, false, true),
        (92.0, false, false),
    ] {
        let ride = Ride::new((inch(long), inch(40.0)), inch(4.0), car).unwrap();
        let inside = super::part(&ride, "fits_inside").value.shown(engine::measure::Units::Inch);
        assert_eq!((ride.stands(), inside == "yes"), (gets_in, lies), "{long}");
    }
}

#[test]
fn a_way_with_a_turn_lies_between_what_brute_force_shows() {
    // MV01, MV04: closed forms 95.823 and 123.765. MV05, MV08, MV18, MV20: brute force as above (computed).
    let all = |sides: &[f64]| sides.iter().copied().map(inch).collect::<Vec<_>>();
    for (row, sides, thick, [passes, not]) in [
        ("MV01", &[36.0, 36.0][..], 3.0, [94.3, 95.9]),
        ("MV04", &[48.0, 48.0], 6.0, [122.1, 123.9]),
        ("MV05", &[44.0, 36.0, 5.0, 100.0], 16.0, [84.9, 90.3]),
        ("MV08", &[60.0, 34.0, 5.0, 120.0], 20.0, [91.0, 96.2]),
        ("MV18", &[36.0, 6.0, 42.0], 4.0, [77.6, 78.3]),
        ("MV20", &[48.0, 4.0, 48.0], 6.0, [99.3, 100.3]),
    ] {
        let sides = all(sides);
        let place = match sides[..] {
            [a, b] => Place::Corner([a, b]),
            [flight, well, deep] => Place::Landing([flight, well, deep]),
            [corridor, door, wall, room] => Place::SideDoor([corridor, door, wall, room]),
            _ => unreachable!(),
        };
        let shown = |long: f64| Route::new(inch(long), inch(thick), place).unwrap().shown();
        assert_eq!(shown(passes), Shown::Passes, "{row}: {passes}");
        assert_ne!(shown(not), Shown::Passes, "{row}: {not}");
        assert_eq!(shown(not + 3.0), Shown::DoesNot, "{row}");
    }
}
