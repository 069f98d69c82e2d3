//! Light on the wall.

use engine::Value;
use engine::measure::{Angle, Exposure, Illuminance, Length, Time};
use engine::trade::light::{AIM, Beam, Sensitivity, dose, illuminance, lamp_offset, viewing};

use super::{inch, inches, near, number, part};

#[test]
fn light_falls_with_the_square_of_the_distance() {
    // L04. Source: inverse-square law, CIE S 017 (identity).
    let lux = |distance: f64, angle: f64| {
        number(&illuminance(900.0, Length::m(distance), Angle::degrees(angle)).unwrap().value)
    };
    near("L04", lux(1.5, 0.0), 400.0, 1e-12);
    near("twice as far", lux(3.0, 0.0), 100.0, 1e-12);
    near("at 60°", lux(1.5, 60.0), 200.0, 1e-12);
    assert!(illuminance(900.0, Length::m(1.5), Angle::degrees(90.0)).is_err());
    assert!(illuminance(-1.0, Length::m(1.5), Angle::degrees(0.0)).is_err());
}

#[test]
fn a_beam_throws_its_spot() {
    // L08, L09. Solid-angle geometry; computed.
    for (row, degrees, spot, candela) in
        [("L08", 36.0, 0.974_759_088_7, 1_625.905_341), ("L09", 60.0, 1.732_050_808, 593.974_333_9)]
    {
        let beam = Beam::new(Angle::degrees(degrees), Length::m(1.5), Some(500.0)).unwrap();
        near(row, beam.spot().to_m(), spot, 1e-9);
        near(row, beam.candela().unwrap(), candela, 1e-9);
    }
    assert!(Beam::new(Angle::degrees(180.0), Length::m(1.5), None).is_err());
}

#[test]
fn a_work_may_get_so_much_light() {
    // L01. Source: CIE 157:2004, section 3 (categories, and R2's numbers, read; the others from memory).
    for (name, lux, hours) in [("R1", 200.0, 600_000.0), ("R2", 50.0, 150_000.0), ("r3", 50.0, 15_000.0)] {
        let most = Sensitivity::named(name).unwrap().most().unwrap();
        assert_eq!(most, (Illuminance::lux(lux), Exposure::lux_hours(hours)), "{name}");
    }
    assert_eq!(Sensitivity::named("R0").unwrap().most(), None);
    assert!(Sensitivity::named("R4").is_err());
    // Identity: 150 000 lx h at 50 lx are 3000 hours.
    let Value::Quantity(hours) = part(&Sensitivity::named("R2").unwrap(), "hours").value else { panic!("hours") };
    near("hours", Time::of(hours).unwrap().to_hours(), 3000.0, 1e-12);
}

#[test]
fn a_dose_is_light_times_time() {
    // Identity: 50 lx × 10 h × 300 days = 150 000 lx h.
    let Value::Quantity(found) = dose(Illuminance::lux(50.0), Time::hours(10.0), 300.0).unwrap().value else {
        panic!("dose")
    };
    near("dose", Exposure::of(found).unwrap().to_lux_hours(), 150_000.0, 1e-12);
    assert!(dose(Illuminance::lux(50.0), Time::hours(25.0), 300.0).is_err());
}

#[test]
fn prints_are_judged_by_2000_and_500_lux() {
    // L10. Source: ISO 3664:2009, 4.2, 4.3 (values read in secondary pages).
    assert_eq!(viewing("P1"), Ok(Illuminance::lux(2000.0)));
    assert_eq!(viewing("P2"), Ok(Illuminance::lux(500.0)));
    assert!(viewing("P3").is_err());
}

#[test]
fn a_lamp_is_aimed_at_30_degrees_from_the_vertical() {
    // Q13, common practice, no source; the offset is an identity: 50 in × tan 30°.
    near("offset", inches(&lamp_offset(inch(108.0), inch(58.0), AIM).unwrap()), 50.0 / 3.0_f64.sqrt(), 1e-12);
    assert!(lamp_offset(inch(58.0), inch(58.0), AIM).is_err());
}
