//! Scans and what the eye sees of them.

use engine::measure::{Length, Resolution};
use engine::trade::film::Film;
use engine::trade::scan::{Scan, density_range, distance_for_ppi, ppi_for_distance};

use super::{near, number, part, within};

fn scan(ppi: f64, optical: Option<f64>) -> Scan {
    Scan::new(&Film::named("6x17").unwrap(), Resolution::ppi(ppi), optical.map(Resolution::ppi)).unwrap()
}

#[test]
fn a_scan_has_the_pixels_of_its_film() {
    // R01. Identity: 56 × 168 mm at 2000 samples to the inch is 4409.4488 × 13228.3465, to the nearest pixel.
    let scan = scan(2000.0, None);
    assert_eq!((scan.width().to_px(), scan.height().to_px()), (13_228.0, 4_409.0));
    near("megapixels", scan.megapixels(), 13_228.0 * 4_409.0 / 1e6, 1e-12);
}

#[test]
fn half_a_pixel_rounds_up() {
    // Identity: 1 in at 1000.5 samples to the inch.
    let film = Film::measured(Length::inch(1.0), Length::inch(2.0)).unwrap();
    let scan = Scan::new(&film, Resolution::ppi(1000.5), None).unwrap();
    assert_eq!((scan.width().to_px(), scan.height().to_px()), (1001.0, 2001.0));
}

#[test]
fn two_samples_hold_one_line_pair() {
    // R11, R13, R15. Source: sampling theorem; ISO 16067-2 uses half the sampling frequency (clause from memory).
    for (row, ppi, want) in
        [("R11", 300.0, 5.905_511_811), ("R13", 3200.0, 62.992_125_98), ("R15", 6400.0, 125.984_252)]
    {
        near(row, scan(ppi, None).nyquist().to_lp_mm(), want, 1e-9);
    }
}

#[test]
fn pixels_the_lens_did_not_see_are_interpolated() {
    // Identity: useful samples are the smaller of the two.
    for (ppi, optical, interpolated, useful) in
        [(6400.0, Some(3200.0), true, 3200.0), (3200.0, Some(6400.0), false, 3200.0), (3200.0, None, false, 3200.0)]
    {
        let scan = scan(ppi, optical);
        assert_eq!(scan.interpolated(), interpolated, "{ppi} {optical:?}");
        near("useful", scan.useful().to_ppi(), useful, 1e-12);
        near("line pairs", scan.nyquist().to_lp_mm(), useful / 50.8, 1e-12);
    }
    let shown = part(&scan(6400.0, Some(3200.0)), "optical_pixels").value.shown(engine::measure::Units::Inch);
    assert!(shown.contains("21\u{202f}165") && shown.contains("7055"), "{shown}");
}

#[test]
fn bits_bound_the_density_range() {
    // R20, R21. Source: D = log10(1/T), ISO 5-1 (from memory); a bound only.
    for (row, bits, want) in [("R20", 12, 3.612_253_906), ("R21", 14, 4.214_393_431)] {
        within(row, number(&density_range(bits).unwrap().value), want, 1e-6);
    }
    for bits in [0, 33, 1_000_000] {
        assert!(density_range(bits).is_err(), "{bits}");
    }
}

#[test]
fn a_sharp_eye_sees_one_minute_of_arc() {
    // R23, R27, R28. Source: one minute of arc, ISO 8596 (from memory; a stored article says 'normal vision = 1/60 degree').
    for (row, inches, want) in
        [("R23", 10.0, 343.774_667_4), ("R27", 48.0, 71.619_722_37), ("R28", 72.0, 47.746_481_58)]
    {
        let found = ppi_for_distance(Length::inch(inches)).unwrap();
        let engine::Value::Quantity(ppi) = found.value else { panic!("{row}") };
        let ppi = Resolution::of(ppi).unwrap();
        within(row, ppi.to_ppi(), want, 0.001);
        // And back again (identity).
        near(row, super::inches(&distance_for_ppi(ppi).unwrap()), inches, 1e-9);
    }
}
