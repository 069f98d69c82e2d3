//! Colour differences, sRGB and density.

use engine::trade::colour::{Lab, density, lightness, linear, reflectance, to_xyz};

use super::{near, number, within};

type Pair = (u8, [f64; 3], [f64; 3], f64);

// C02 to C34. Source: Sharma, Wu, Dalal, Color Research and Application 30 (2005), Table 1, four decimals (these pairs
// read in the test suite of a colour library).
const READ: &[Pair] = &[
    (2, [50.0, 3.1571, -77.2803], [50.0, 0.0, -82.7485], 2.8615),
    (3, [50.0, 2.8361, -74.02], [50.0, 0.0, -82.7485], 3.4412),
    (4, [50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
    (5, [50.0, -1.1848, -84.8006], [50.0, 0.0, -82.7485], 1.0),
    (7, [50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
    (8, [50.0, -1.0, 2.0], [50.0, 0.0, 0.0], 2.3669),
    (9, [50.0, 2.49, -0.001], [50.0, -2.49, 0.0009], 7.1792),
    (10, [50.0, 2.49, -0.001], [50.0, -2.49, 0.001], 7.1792),
    (12, [50.0, 2.49, -0.001], [50.0, -2.49, 0.0012], 7.2195),
    (13, [50.0, -0.001, 2.49], [50.0, 0.0009, -2.49], 4.8045),
    (15, [50.0, -0.001, 2.49], [50.0, 0.0011, -2.49], 4.7461),
    (17, [50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
    (20, [50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
    (22, [50.0, 2.5, 0.0], [50.0, 3.2972, 0.0], 1.0),
    (24, [50.0, 2.5, 0.0], [50.0, 3.2592, 0.335], 1.0),
    (25, [60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644),
    (26, [63.0109, -31.0961, -5.8663], [62.8187, -29.7946, -4.0864], 1.263),
    (28, [35.0831, -44.1164, 3.7933], [35.0232, -40.0716, 1.5901], 1.8645),
    (29, [22.7233, 20.0904, -46.694], [23.0331, 14.973, -42.5619], 2.0373),
    (30, [36.4612, 47.858, 18.3852], [36.2715, 50.5065, 21.2231], 1.4146),
    (31, [90.8027, -2.0831, 1.441], [91.1528, -1.6435, 0.0447], 1.4441),
    (33, [6.7747, -0.2908, -2.4247], [5.8714, -0.0985, -2.2286], 0.6377),
    (34, [2.0776, 0.0795, -1.135], [0.9033, -0.0636, -0.5514], 0.9082),
];

// The pairs of the same table that were not read: from memory. Pair 14 has hues just 180° apart, where rounding decides
// between 4.8045 and 4.7461.
const RECALLED: &[Pair] = &[
    (1, [50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
    (6, [50.0, -0.9009, -85.5211], [50.0, 0.0, -82.7485], 1.0),
    (11, [50.0, 2.49, -0.001], [50.0, -2.49, 0.0011], 7.2195),
    (14, [50.0, -0.001, 2.49], [50.0, 0.001, -2.49], 4.8045),
    (16, [50.0, 2.5, 0.0], [50.0, 0.0, -2.5], 4.3065),
    (18, [50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
    (19, [50.0, 2.5, 0.0], [56.0, -27.0, -3.0], 31.903),
    (21, [50.0, 2.5, 0.0], [50.0, 3.1736, 0.5854], 1.0),
    (23, [50.0, 2.5, 0.0], [50.0, 1.8634, 0.5757], 1.0),
    (27, [61.2901, 3.7196, -5.3901], [61.4292, 2.248, -4.962], 1.8731),
    (32, [90.9257, -0.5406, -0.9208], [88.6381, -0.8985, -0.7239], 1.5381),
];

fn lab([lightness, a, b]: [f64; 3]) -> Lab {
    Lab::new(lightness, a, b).unwrap()
}

#[test]
fn a_difference_of_2000_is_that_of_the_published_pairs() {
    for (pair, one, other, want) in READ.iter().chain(RECALLED) {
        let row = format!("pair {pair}");
        within(&row, lab(*one).difference_2000(lab(*other)), *want, 0.0001);
        within(&row, lab(*other).difference_2000(lab(*one)), *want, 0.0001);
    }
    assert_eq!(READ.len() + RECALLED.len(), 34);
}

#[test]
fn a_difference_of_1976_is_a_distance() {
    // Source: ISO/CIE 11664-4 (from memory); values computed with two colour libraries.
    let rows = [
        (2, 6.314150113),
        (3, 9.1776999),
        (9, 4.980000362),
        (17, 36.868007812),
        (20, 27.408940147),
        (25, 3.181923802),
        (34, 1.319108434),
    ];
    for (pair, want) in rows {
        let (_, one, other, _) = READ.iter().find(|row| row.0 == pair).unwrap();
        near(&format!("pair {pair}"), lab(*one).difference_76(lab(*other)), want, 1e-8);
    }
}

#[test]
fn a_pixel_of_srgb_has_its_colour_in_daylight() {
    // C35, C37, C39. Source: IEC 61966-2-1, ISO/CIE 11664-4 (constants from memory); computed with a colour library.
    let rows = [
        ("C35", [255, 0, 0], [53.232_881_79, 80.111_177_74, 67.223_703_67]),
        ("C37", [0, 0, 255], [32.302_586_67, 79.198_080_23, -107.850_355_7]),
        ("C39", [128, 128, 128], [53.585_013_45, 0.004_635_962_179, 0.002_120_708_303]),
        // Identity: white is the reference itself, up to the four decimals of the matrix.
        ("white", [255, 255, 255], [100.0, 0.0, 0.0]),
        ("black", [0, 0, 0], [0.0, 0.0, 0.0]),
    ];
    for (row, rgb, want) in rows {
        for (got, want) in Lab::of_srgb(rgb).numbers().into_iter().zip(want) {
            within(row, got, want, 0.05);
        }
    }
}

#[test]
fn a_pixel_of_srgb_goes_by_linear_light_and_xyz() {
    // C35, C37, C39: the steps. Source: IEC 61966-2-1 (constants from memory); computed with a colour library.
    let rows = [
        ("C35", [255, 0, 0], [1.0, 0.0, 0.0], [0.4124, 0.2126, 0.0193]),
        ("C37", [0, 0, 255], [0.0, 0.0, 1.0], [0.1805, 0.0722, 0.9505]),
        ("C39", [128, 128, 128], [0.215_860_500_1; 3], [0.205_175_405_4, 0.215_860_500_1, 0.235_072_084_6]),
    ];
    for (row, rgb, light, xyz) in rows {
        for (got, want) in linear(rgb).into_iter().zip(light) {
            within(row, got, want, 1e-9);
        }
        for (got, want) in to_xyz(linear(rgb)).into_iter().zip(xyz) {
            within(row, got, want, 1e-4);
        }
    }
}

#[test]
fn density_counts_powers_of_ten_of_lost_light() {
    // C46 to C50. Source: D = −log10 R, ISO 5-1, ISO 5-4 (from memory); computed.
    for (row, share, want) in [
        ("C46", 1.0, 0.0),
        ("C47", 0.9, 0.045_757_490_56),
        ("C48", 0.18, 0.744_727_494_9),
        ("C49", 0.05, 1.301_029_996),
        ("C50", 0.01, 2.0),
    ] {
        within(row, number(&density(share).unwrap().value), want, 1e-6);
    }
    // C52. Source: ISO 5-1, ISO/CIE 11664-4; computed.
    let dark = number(&reflectance(2.3).unwrap().value);
    near("C52", dark, 0.005_011_872_336, 1e-6);
    near("C52", number(&lightness(dark).unwrap().value), 4.527_205_719, 1e-6);
    // C44. Source: ISO/CIE 11664-4; computed.
    within("C44", number(&lightness(0.005).unwrap().value), 4.516_481_481, 0.0001);
    for share in [0.0, -0.1, 1.1, f64::NAN] {
        assert!(density(share).is_err(), "{share}");
    }
}
