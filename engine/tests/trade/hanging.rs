//! Loads on hooks, wires and cleats.

use engine::Found;
use engine::measure::{Angle, Length, Mass, Quantity};
use engine::trade::hanging::{Cleat, FACTOR, TwoHooks, Wire, hook_height, rating};

use super::{inch, inches, near, part};

fn pounds(found: &Found) -> f64 {
    let engine::Value::Quantity(quantity) = found.value else { panic!("no weight") };
    Mass::of(quantity).expect("a weight").to_lb()
}

#[test]
fn two_hooks_share_a_load_by_their_distance() {
    // S09. Identity: balance of moments.
    let hooks = TwoHooks::new(Mass::lb(24.0), inch(20.0), inch(28.0), FACTOR).unwrap();
    near("S09", hooks.first().to_lb(), 14.0, 1e-12);
    near("S09", hooks.second().to_lb(), 10.0, 1e-12);
    // Both are rated for the larger load.
    near("rating", pounds(&part(&hooks, "rating")), 56.0, 1e-12);
}

#[test]
fn a_hook_is_rated_for_four_times_its_load() {
    // S11, Q11. Common practice, no source: a factor of 4.
    near("S11", pounds(&rating(Mass::lb(28.0), 2, FACTOR).unwrap()), 56.0, 1e-12);
    assert!(rating(Mass::lb(28.0), 0, FACTOR).is_err());
    for factor in [0.5, 0.0, -4.0, f64::NAN, f64::INFINITY] {
        assert!(rating(Mass::lb(28.0), 2, factor).is_err(), "{factor}");
    }
}

#[test]
fn a_flat_wire_pulls_many_times_its_load() {
    // S01, S03, S07. Source: statics of two ropes (identity).
    for (row, degrees, want) in
        [("S01", 5.0, 5.736_856_623), ("S03", 15.0, 1.931_851_653), ("S07", 60.0, 0.577_350_269_2)]
    {
        let wire = Wire::at_angle(Mass::kg(1.0), Angle::degrees(degrees), FACTOR).unwrap();
        near(row, wire.tension().to_kg(), want, 1e-9);
    }
    // S08. Statics; U08, U09: 9.80665 N to the kilogram (exact, from memory).
    let wire = Wire::new(Mass::kg(10.0), Length::mm(600.0), Length::mm(75.0), FACTOR).unwrap();
    near("S08", wire.angle().to_degrees(), 14.036_243_47, 1e-9);
    near("S08", wire.tension().to_kg(), 20.615_528_13, 1e-9);
    near("S08", wire.newtons(), 202.169_268_9, 1e-9);
    near("U09", Wire::at_angle(Mass::lb(2.0), Angle::degrees(90.0), FACTOR).unwrap().newtons(), 4.448_221_615, 1e-9);
    assert!(Wire::at_angle(Mass::kg(1.0), Angle::degrees(0.0), FACTOR).is_err());
    assert!(Wire::at_angle(Mass::kg(1.0), Angle::degrees(91.0), FACTOR).is_err());
}

#[test]
fn a_cleat_is_pulled_off_the_wall_as_much_as_the_piece_stands_out() {
    // Identity: balance of moments, 30 lb × 1 in ÷ 20 in.
    let cleat = Cleat::new(Mass::lb(30.0), inch(1.0), inch(20.0), FACTOR).unwrap();
    near("pull", cleat.pull().to_lb(), 1.5, 1e-12);
    near("rated", pounds(&part(&cleat, "rating")), 120.0, 1e-12);
    near("rated", pounds(&part(&cleat, "pull_rating")), 6.0, 1e-12);
}

#[test]
fn a_hook_sits_half_a_piece_above_its_centre_less_the_drop() {
    // L13. Identity: 58 + 26 ÷ 2 − 4. A centre of 57 to 60 in is common practice (Q10).
    near("L13", inches(&hook_height(inch(26.0), inch(58.0), inch(4.0)).unwrap()), 67.0, 1e-12);
    assert!(hook_height(inch(26.0), inch(58.0), inch(100.0)).is_err());
}

#[test]
fn every_load_carries_its_caution() {
    let hooks = TwoHooks::new(Mass::lb(24.0), inch(20.0), inch(28.0), FACTOR).unwrap();
    let wire = Wire::at_angle(Mass::lb(24.0), Angle::degrees(30.0), FACTOR).unwrap();
    let cleat = Cleat::new(Mass::lb(30.0), inch(1.0), inch(20.0), FACTOR).unwrap();
    let all = [
        part(&hooks, "first_load"),
        part(&hooks, "second_load"),
        part(&hooks, "rating"),
        part(&wire, "tension"),
        part(&wire, "rating"),
        part(&wire, "hook"),
        part(&cleat, "pull"),
        part(&cleat, "rating"),
        part(&cleat, "pull_rating"),
        rating(Mass::lb(28.0), 2, FACTOR).unwrap(),
        hook_height(inch(26.0), inch(58.0), inch(4.0)).unwrap(),
    ];
    for found in all {
        assert!(found.caution.unwrap().contains("licensed installer"));
    }
}

#[test]
fn a_load_of_nothing_is_no_load() {
    for weight in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let weight = Mass::of(Quantity::new(weight, Mass::DIMS)).unwrap();
        assert!(rating(weight, 2, FACTOR).is_err());
        assert!(TwoHooks::new(weight, inch(1.0), inch(1.0), FACTOR).is_err());
        assert!(Wire::new(weight, inch(1.0), inch(1.0), FACTOR).is_err());
        assert!(Cleat::new(weight, inch(1.0), inch(1.0), FACTOR).is_err());
    }
}
