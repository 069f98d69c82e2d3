//! Units against the tables of the metrology institutes.

use engine::measure::{Area, Currency, Density, Grammage, Length, Mass, Sixteenths};

use super::{near, within};

#[test]
fn a_unit_is_as_long_and_heavy_as_its_definition() {
    // Source: NIST SP 811 appendix B.8, exact unless marked (from memory; computed too with a general units library).
    let rows = [
        ("U01 inch in mm", Length::inch(1.0).to_mm(), 25.4),
        ("U02 foot in mm", Length::foot(1.0).to_mm(), 304.8),
        ("U04 square foot in m²", Area::foot2(1.0).to_m2(), 0.092_903_04),
        // The avoirdupois pound: 'exactly 0.45359237 kg' (read).
        ("U06 pound in kg", Mass::lb(1.0).to_kg(), 0.453_592_37),
        ("U10 lb/ft³ in kg/m³", Density::lb_ft3(1.0).to_kg_m3(), 16.018_463_37),
        ("U12 lb/ft² in kg/m²", Grammage::lb_ft2(1.0).to_gsm() / 1000.0, 4.882_427_636),
        ("U16 mil in mm", Length::mil(1.0).to_mm(), 0.0254),
        ("U17 point in mm", Length::point(1.0).to_mm(), 0.352_777_777_8),
        // Arithmetic (identity).
        ("U18 12 lb 3.5 oz in kg", (Mass::lb(12.0) + Mass::oz(3.5)).to_kg(), 5.542_331_771),
        ("U19 24 × 72 in in m²", (Length::inch(24.0) * Length::inch(72.0)).to_m2(), 1.114_836_48),
        ("U19 24 × 72 in in ft²", (Length::inch(24.0) * Length::inch(72.0)).to_foot2(), 12.0),
    ];
    for (row, got, want) in rows {
        near(row, got, want, 1e-9);
    }
    // A tape reads 610 mm as 24 in to the nearest sixteenth.
    within("U22", Length::mm(610.0).to_inch(), 24.0, 1.0 / 32.0);
}

#[test]
fn an_inch_and_a_foot_are_exact_to_the_last_bit() {
    // Source: NIST SP 811 appendix B.8 (exact; from memory).
    assert_eq!(Length::inch(1.0), Length::mm(25.4));
    assert_eq!(Length::inch(24.0), Length::mm(609.6));
    assert_eq!(Length::foot(1.0), Length::inch(12.0));
}

#[test]
fn a_tape_shows_the_nearest_sixteenth_half_upwards() {
    let rows = [
        // Arithmetic (identity).
        ("U22", Length::mm(610.0), "24 in"),
        ("U24", Length::inch(23.968), "23 15/16 in"),
        ("U25", Length::inch(23.99), "24 in"),
        // Source: ISO 80000-1 annex B, rule B, applied to a sixteenth (rule from memory).
        ("U28", Length::inch(0.03125), "1/16 in"),
        ("U29", Length::inch(0.09375), "1/8 in"),
        // Arithmetic (identity): the length shown is the length read.
        ("U31", Length::mm(608.0125), "23 15/16 in"),
        ("U32", Length::mm(1816.1), "71 1/2 in"),
    ];
    for (row, length, want) in rows {
        assert_eq!(Sixteenths::nearest(length).to_string(), want, "{row}");
    }
}

#[test]
fn a_currency_has_its_minor_unit() {
    // U33. Source: ISO 4217 minor units (from memory).
    for (code, places) in [("USD", 2), ("EUR", 2), ("GBP", 2), ("JPY", 0), ("KWD", 3)] {
        assert_eq!(Currency::of(code).unwrap().places, places, "{code}");
    }
}

#[test]
fn every_currency_of_the_list_has_its_minor_unit() {
    // CY01. Source: ISO 4217 list one, published 2026-01-01, as the package iso4217 1.16.20260101 carries it (read).
    for (places, codes) in [
        (0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"),
        (3, "BHD IQD JOD KWD LYD OMR TND"),
        (4, "CLF UYW"),
    ] {
        for code in codes.split(' ') {
            assert_eq!(engine::measure::Currency::of(code).map(|one| one.places), Some(places), "{code}");
        }
        let count = engine::measure::Currency::all().iter().filter(|one| one.places == places).count();
        assert_eq!(count, codes.split(' ').count(), "{places}");
    }
    assert_eq!(engine::measure::Currency::all().len(), 165);
    // CY03. Locale data shows these without digits; the list gives two, and the dinar three (computed: Babel 2.19.0).
    for (code, places) in [("HUF", 2), ("COP", 2), ("IDR", 2), ("LAK", 2), ("IQD", 3)] {
        assert_eq!(engine::measure::Currency::of(code).map(|one| one.places), Some(places), "{code}");
    }
    for gone in ["ANG", "BGN", "HRK", "ZWL", "XAU", "XXX"] {
        assert!(engine::measure::Currency::of(gone).is_none(), "{gone}");
    }
}
