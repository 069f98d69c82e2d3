//! Crates and what carriers charge for.

use engine::Value;
use engine::measure::{Length, Mass, Volume};
use engine::trade::crating::Crate;
use engine::trade::freight::{Parcel, Tariff};

use super::{inch, near, part};

#[test]
fn a_carrier_charges_for_size() {
    // P03. Source: USPS Domestic Mail Manual: 166 in³/lb above 1728 in³ (read in a secondary page); length and girth at
    // most 108 or 130 in (read in Quick Service Guide 201e, 2021 archive).
    let sides = [80.0, 32.0, 6.0].map(Length::inch);
    let parcel = Parcel::new(sides, Tariff::named("postal").unwrap(), Mass::lb(30.0)).unwrap();
    near("P03", parcel.volume().to_inch3(), 15_360.0, 1e-12);
    near("P03", parcel.by_size().to_lb(), 92.530_120_48, 1e-9);
    near("P03", parcel.charged().to_lb(), 93.0, 1e-12);
    near("P03", parcel.length_and_girth().to_inch(), 156.0, 1e-12);
    for name in ["postal", "postal ground"] {
        let parcel = Parcel::new(sides, Tariff::named(name).unwrap(), Mass::ZERO).unwrap();
        assert!(matches!(part(&parcel, "too_long").value, Value::Truth(true)), "{name}");
    }
    // Up to a cubic foot only the real weight counts.
    let small = Parcel::new([inch(12.0); 3], Tariff::named("postal").unwrap(), Mass::lb(2.2)).unwrap();
    near("small", small.charged().to_lb(), 3.0, 1e-12);
}

#[test]
fn air_freight_counts_6000_cubic_centimetres_to_the_kilogram() {
    // P06. Source: a freight fact sheet citing the IATA factor (read): worked example.
    let air = Tariff::named("air").unwrap();
    let parcel = Parcel::new([30.0, 45.0, 65.0].map(Length::cm), air, Mass::kg(14.0)).unwrap();
    near("P06", parcel.volume().to_cm3(), 87_750.0, 1e-12);
    near("P06", parcel.by_size().to_kg(), 14.625, 1e-12);
    near("P06", parcel.charged().to_kg(), 15.0, 1e-12);
    // P07. Factor read in an airport authority's page; computed.
    let parcel = Parcel::new([203.2, 81.28, 15.24].map(Length::cm), air, Mass::ZERO).unwrap();
    near("P07", parcel.by_size().to_kg(), 41.950_883_84, 1e-9);
    // A heavy parcel is charged by its real weight.
    let heavy = Parcel::new([30.0, 45.0, 65.0].map(Length::cm), air, Mass::kg(20.2)).unwrap();
    near("heavy", heavy.charged().to_kg(), 20.5, 1e-12);
}

#[test]
fn a_factor_of_your_own_is_a_volume_over_a_weight() {
    // Identity: 139 in³ to the pound.
    let factor = engine::measure::Quantity {
        value: Volume::inch3(139.0).quantity().value / Mass::lb(1.0).quantity().value,
        dims: engine::measure::Dims([3, -1, 0, 0, 0, 0, 0, 0]),
        always: None,
        listed: false,
    };
    let own = Parcel::new([10.0, 10.0, 13.9].map(Length::inch), Tariff::own(factor).unwrap(), Mass::ZERO).unwrap();
    near("own", own.by_size().to_lb(), 10.0, 1e-12);
    near("own", own.charged().to_lb(), 10.0, 1e-12);
    assert!(Tariff::named("pigeon").unwrap_err().next.contains("courier"));
}

#[test]
fn a_crate_is_the_piece_the_padding_and_the_walls() {
    // Identity.
    let packed = Crate::new([74.0, 26.0, 2.0].map(Length::inch), inch(2.0), inch(0.5)).unwrap();
    assert_eq!(packed.inside(), [78.0, 30.0, 6.0].map(Length::inch));
    assert_eq!(packed.outside(), [79.0, 31.0, 7.0].map(Length::inch));
    near("volume", packed.volume().to_inch3(), 79.0 * 31.0 * 7.0, 1e-12);
    // Identity, with plywood of 680 kg/m³ (handbook range 650 to 700, from memory).
    let shell = (79.0 * 31.0 * 7.0 - 78.0 * 30.0 * 6.0) * 16.387_064 * 0.68 / 1000.0;
    near("empty", packed.empty().unwrap().to_kg(), shell, 1e-9);
    assert!(Crate::new([74.0, 0.0, 2.0].map(Length::inch), inch(2.0), inch(0.5)).is_err());
}
