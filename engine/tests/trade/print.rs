//! Prints: enlargement, pixels to the inch, viewing distance.

use engine::measure::{Length, Resolution};
use engine::trade::film::Film;
use engine::trade::print::{Print, Resampled, largest_print, with_border};
use engine::trade::scan::Scan;

use super::{all_inches, inch, inches, near, number, part, within};

fn scan(ppi: f64) -> Scan {
    Scan::new(&Film::named("6x17").unwrap(), Resolution::ppi(ppi), None).unwrap()
}

#[test]
fn an_enlargement_divides_the_resolution() {
    // R08. Identity: 3200 samples to the inch, enlarged 10.88571429 times, is 293.9632546 ppi; the scan counts whole
    // pixels, so that half a pixel of 21 165 is the tolerance.
    let print = Print::of_scan(&scan(3200.0), inch(72.0)).unwrap();
    near("enlargement", print.enlargement(), 10.885_714_29, 1e-9);
    near("R08", print.ppi().unwrap().to_ppi(), 293.963_254_6, 0.5 / 21_165.0);
    near("height", print.height().to_inch(), 24.0, 1e-12);
}

#[test]
fn a_print_from_film_alone_has_no_pixels() {
    let print = Print::of_film(&Film::named("6x17").unwrap(), inch(72.0)).unwrap();
    assert!(print.ppi().is_none());
    assert!(engine::Trade::part(&print, "ppi").is_none());
    let message = Resampled::new(&print, Resolution::ppi(300.0)).unwrap_err();
    assert!(message.next.contains("scan"), "{message}");
}

#[test]
fn a_print_is_seen_from_one_and_a_half_diagonals() {
    // R32, Q12. Common practice, no source; the diagonal is an identity: 24 × 72 in.
    let print = Print::of_film(&Film::named("6x17").unwrap(), inch(72.0)).unwrap();
    within("R32 diagonal", print.diagonal().to_inch(), 75.894_663_84, 1e-6);
    within("R32 distance", inches(&part(&print, "viewing_distance")), 113.841_995_8, 1e-6);
    near("G05 united", inches(&part(&print, "united")), 96.0, 1e-12);
}

#[test]
fn a_large_print_at_300_ppi_has_its_practised_pixels() {
    // Q01. Common practice, no source: 24 × 72 in is 7200 × 21 600 px.
    let print = Print::of_scan(&scan(4000.0), inch(72.0)).unwrap();
    let image = Resampled::new(&print, Resolution::ppi(300.0)).unwrap();
    assert_eq!((image.width().to_px(), image.height().to_px()), (21_600.0, 7_200.0));
    // Identity: the factor brings the scan's pixels to the print's.
    near("factor", image.factor() * scan(4000.0).width().to_px(), 21_600.0, 1e-9);
}

#[test]
fn the_largest_print_has_just_the_pixels_asked_for() {
    // Identity.
    let width = inches(&largest_print(&scan(4000.0), Resolution::ppi(300.0)).unwrap());
    let print = Print::of_scan(&scan(4000.0), Length::inch(width)).unwrap();
    near("ppi", print.ppi().unwrap().to_ppi(), 300.0, 1e-12);
}

#[test]
fn a_border_is_added_on_both_sides() {
    // Identity.
    assert_eq!(all_inches(&with_border(inch(72.0), inch(24.0), inch(0.25)).unwrap()), [72.5, 24.5]);
    assert!(with_border(inch(72.0), inch(24.0), inch(-0.25)).is_err());
}

#[test]
fn the_working_beside_a_number_gives_the_number() {
    let print = Print::of_scan(&scan(4000.0), inch(72.0)).unwrap();
    let found = part(&print, "ppi");
    assert_eq!(found.working.unwrap().shown(engine::measure::Units::Inch), "26\u{202f}457\u{a0}px ÷ 72\u{a0}in");
    near("ppi", number(&found.value) * 254.0, 26_457.0 / 72.0, 1e-12);
}
