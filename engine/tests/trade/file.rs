//! File sizes, what formats hold, and sending.

use engine::Value;
use engine::measure::{Data, DataRate, Pixels, Resolution, Time};
use engine::trade::file::{Container, ImageFile, TIFF_LIMIT, upload};
use engine::trade::film::Film;
use engine::trade::scan::Scan;

use super::{near, part};

fn file(width: f64, height: f64, bits: u32, channels: u32) -> ImageFile {
    ImageFile::new(Pixels::px(width), Pixels::px(height), bits, channels).unwrap()
}

#[test]
fn a_file_is_as_large_as_its_pixels() {
    // Identity; prefixes of IEC 80000-13 (clause from memory).
    let rows = [
        ("B01", (7200.0, 21_600.0, 16, 3), 933_120_000.0, 889.892_578_1),
        ("B03", (7200.0, 21_600.0, 16, 1), 311_040_000.0, 296.630_859_4),
        ("B04", (7200.0, 21_600.0, 16, 4), 1_244_160_000.0, 1_186.523_438),
        ("B05", (8819.0, 26_457.0, 16, 3), 1_399_945_698.0, 1_335.092_257),
        ("B06", (1800.0, 5400.0, 16, 3), 58_320_000.0, 55.618_286_13),
        // B13. Computed with a TIFF writer: the pixel part of a 24 × 72 RGB image of 16 bits.
        ("B13", (24.0, 72.0, 16, 3), 10_368.0, 10_368.0 / 1_048_576.0),
    ];
    for (row, (width, height, bits, channels), bytes, mib) in rows {
        let size = file(width, height, bits, channels).size();
        assert_eq!(size.to_bytes(), bytes, "{row}");
        near(row, size.to_mib(), mib, 1e-9);
        near(row, size.to_mb(), bytes / 1e6, 1e-12);
    }
}

#[test]
fn binary_prefixes_are_powers_of_1024() {
    // B15. Source: IEC 80000-13 (from memory).
    assert_eq!(
        [Data::kib(1.0), Data::mib(1.0), Data::gib(1.0)].map(Data::to_bytes),
        [1_024.0, 1_048_576.0, 1_073_741_824.0]
    );
}

#[test]
fn a_tiff_ends_at_two_to_the_thirty_second() {
    // B07. Source: TIFF 6.0, section 2: 'The largest possible TIFF file is 2**32 bytes in length' (read).
    assert_eq!(TIFF_LIMIT.to_bytes(), 2.0_f64.powi(32));
    // B10. TIFF 6.0 and ITU-T T.81 limits.
    let large = file(24_000.0, 72_000.0, 16, 3);
    assert_eq!(large.size().to_bytes(), 10_368_000_000.0);
    assert!(large.needs_bigtiff() && !large.jpeg_ok());
    // The pixels alone fill it to the last byte and leave no room for a header.
    assert!(file(65_536.0, 65_536.0, 8, 1).needs_bigtiff());
    assert!(!file(65_536.0, 65_535.0, 8, 1).needs_bigtiff());
}

#[test]
fn a_jpeg_ends_at_65535_pixels() {
    // B11. Source: ITU-T T.81, B.2.2: 16 bits a side (from memory).
    assert!(file(65_535.0, 65_535.0, 8, 3).jpeg_ok());
    assert!(!file(65_536.0, 1.0, 8, 3).jpeg_ok());
    // B12. Derived: 168 mm at 10 000 samples to the inch is 66 141.73 pixels, here to the nearest whole one.
    let scan = Scan::new(&Film::named("6x17").unwrap(), Resolution::ppi(10_000.0), None).unwrap();
    assert_eq!(scan.width().to_px(), 66_142.0);
    assert!(!ImageFile::new(scan.width(), scan.height(), 16, 3).unwrap().jpeg_ok());
    assert!(matches!(part(&file(10.0, 10.0, 8, 3), "jpeg_ok").value, Value::Truth(true)));
}

#[test]
fn sending_takes_eight_bits_to_the_byte() {
    // B17, B20, B21. Identity: a megabit is 10^6 bits.
    let rows = [
        ("B17", DataRate::mbit_s(20.0), 1.0, 373.248),
        ("B20", DataRate::mbit_s(1000.0), 1.0, 7.464_96),
        ("B21", DataRate::mb_s(150.0), 1.0, 6.2208),
        ("half of B17 arrives", DataRate::mbit_s(20.0), 0.5, 746.496),
    ];
    for (row, rate, efficiency, want) in rows {
        let found = upload(Data::bytes(933_120_000.0), rate, efficiency).unwrap();
        let Value::Quantity(time) = found.value else { panic!("{row}") };
        near(row, Time::of(time).unwrap().to_s(), want, 1e-9);
    }
    for efficiency in [0.0, -1.0, 1.5, f64::NAN] {
        assert!(upload(Data::mb(1.0), DataRate::mbit_s(20.0), efficiency).is_err(), "{efficiency}");
    }
}

#[test]
fn a_broken_pixel_is_no_pixel() {
    for (width, bits, channels) in [(0.5, 16, 3), (0.0, 16, 3), (f64::NAN, 16, 3), (100.0, 0, 3), (100.0, 16, 0)] {
        assert!(
            ImageFile::new(Pixels::px(width), Pixels::px(100.0), bits, channels).is_err(),
            "{width} {bits} {channels}"
        );
    }
}

#[test]
fn a_tiff_is_known_by_its_first_bytes() {
    // B13, B14. Computed with a TIFF writer, little-endian, 32-bit and 64-bit offsets; TIFF 6.0, section 2 (read).
    let bytes = |hex: &str| -> Vec<u8> {
        (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
    };
    assert_eq!(Container::of_header(&bytes("49492a00")), Some(Container::Tiff), "B13");
    assert_eq!(Container::of_header(&bytes("49492b0008000000")), Some(Container::BigTiff), "B14");
    // From memory: ITU-T T.81, ISO/IEC 15948.
    assert_eq!(Container::of_header(&bytes("ffd8ffe0")), Some(Container::Jpeg));
    assert_eq!(Container::of_header(&bytes("89504e470d0a1a0a")), Some(Container::Png));
    for other in ["", "4949", "49492c00", "4d4d2a00", "49492b00"] {
        assert_eq!(Container::of_header(&bytes(other)), None, "{other}");
    }
}
