//! Film formats, paper sizes, crops.

use engine::measure::Length;
use engine::trade::film::{Crop, Film};
use engine::trade::paper::sheet_size;

use super::{near, number, part};

#[test]
fn a_roll_film_frame_has_its_nominal_image() {
    // F01. Source: an encyclopedia's table that cites ISO 732 (read in two copies); the gate sets the image.
    let rows = [
        ("6x4.5", 41.5),
        ("6x6", 56.0),
        ("6x7", 70.0),
        ("6x8", 77.0),
        ("6x9", 84.0),
        ("6x12", 118.0),
        ("6x17", 168.0),
        ("6x24", 224.0),
    ];
    for (name, other) in rows {
        let film = Film::named(name).unwrap();
        assert_eq!(
            (film.width().to_mm(), film.height().to_mm()),
            (f64::max(56.0, other), f64::min(56.0, other)),
            "{name}"
        );
    }
}

#[test]
fn sheet_film_is_named_by_its_inches() {
    // F03. Source: ISO 1012 nominal sizes (identity from inches; cut sizes not read).
    for (name, short, long) in
        [("4x5", 101.6, 127.0), ("8x10", 203.2, 254.0), ("5x7", 127.0, 177.8), ("11x14", 279.4, 355.6)]
    {
        let film = Film::named(name).unwrap();
        near(name, film.width().to_mm(), long, 1e-12);
        near(name, film.height().to_mm(), short, 1e-12);
    }
}

#[test]
fn a_format_is_so_many_times_longer_than_high() {
    // F04. Identity.
    let rows =
        [("6x17", 3.0), ("6x12", 2.107_142_857), ("6x9", 1.5), ("6x7", 1.25), ("6x8", 1.375), ("6x4.5", 1.349_397_59)];
    for (name, ratio) in rows {
        near(name, Film::named(name).unwrap().ratio(), ratio, 1e-9);
        near(name, Film::named(name).unwrap().turned().ratio(), 1.0 / ratio, 1e-9);
    }
}

#[test]
fn a_format_is_found_however_it_is_written() {
    for name in ["6x17", "6X17", "6×17", " 6 x 17 "] {
        assert_eq!(Film::named(name).unwrap().name(), "6x17", "{name}");
    }
    let message = Film::named("6x16").unwrap_err();
    assert!(
        message.what.contains("6x16") && message.next.contains("6x17") && message.next.contains("11x14"),
        "{message}"
    );
}

#[test]
fn a_crop_keeps_the_middle() {
    // R33. Identity: 168 × 56 mm for a print of 24 × 70 in.
    let film = Film::named("6x17").unwrap();
    let crop = Crop::to_ratio(&film, 70.0 / 24.0).unwrap();
    near("R33 kept", crop.kept().width().to_mm(), 163.333_333_3, 1e-9);
    near("R33 lost", (film.width() - crop.kept().width()).to_mm(), 4.666_666_667, 1e-9);
    near("R33 share", crop.lost(), 0.027_777_777_78, 1e-9);
    near("R33 each side", crop.lost_each_side().to_mm(), 4.666_666_667 / 2.0, 1e-9);
    // The other way round height is lost.
    let wide = Crop::to_ratio(&film, 4.0).unwrap();
    near("height", wide.kept().height().to_mm(), 42.0, 1e-12);
    near("share", number(&part(&wide, "lost").value), 0.25, 1e-12);
    assert_eq!(wide.kept().width(), Length::mm(168.0));
}

#[test]
fn an_iso_sheet_is_half_the_one_before() {
    // F05. Source: ISO 216, A series (table read).
    let a = [
        (841, 1189),
        (594, 841),
        (420, 594),
        (297, 420),
        (210, 297),
        (148, 210),
        (105, 148),
        (74, 105),
        (52, 74),
        (37, 52),
        (26, 37),
    ];
    // F06. Source: ISO 216, B series (from memory).
    let b = [
        (1000, 1414),
        (707, 1000),
        (500, 707),
        (353, 500),
        (250, 353),
        (176, 250),
        (125, 176),
        (88, 125),
        (62, 88),
        (44, 62),
        (31, 44),
    ];
    for (series, rows) in [("A", a), ("B", b)] {
        for (halvings, (short, long)) in rows.into_iter().enumerate() {
            let name = format!("{series}{halvings}");
            let size = sheet_size(&name).unwrap();
            assert_eq!(size, (Length::mm(short.into()), Length::mm(long.into())), "{name}");
        }
    }
}

#[test]
fn an_iso_sheet_keeps_the_shape_of_the_root_of_two() {
    // F05, F06. Source: ISO 216: A n is 2^(-1/4 - n/2) by 2^(1/4 - n/2) m, B n 2^(-n/2) by 2^(1/2 - n/2) m (from memory).
    for n in 0..=10_u8 {
        let half = f64::from(n) / 2.0;
        for (series, short, long) in [("A", -0.25 - half, 0.25 - half), ("B", -half, 0.5 - half)] {
            let size = sheet_size(&format!("{series}{n}")).unwrap();
            super::within(series, size.0.to_mm(), short.exp2() * 1000.0, 1.0);
            super::within(series, size.1.to_mm(), long.exp2() * 1000.0, 1.0);
        }
    }
}

#[test]
fn an_inch_sheet_has_its_listed_size() {
    let rows = [
        // F07. Source: ANSI/ASME Y14.1 (read in a web table).
        ("ANSI A", 8.5, 11.0),
        ("ANSI B", 11.0, 17.0),
        ("ANSI C", 17.0, 22.0),
        ("ANSI D", 22.0, 34.0),
        ("ANSI E", 34.0, 44.0),
        // F08. Source: ANSI/ASME Y14.1, architectural (D and E1 read in a table, the others from memory).
        ("ARCH A", 9.0, 12.0),
        ("ARCH B", 12.0, 18.0),
        ("ARCH C", 18.0, 24.0),
        ("arch d", 24.0, 36.0),
        ("ARCH E", 36.0, 48.0),
        ("ARCH E1", 30.0, 42.0),
    ];
    for (name, short, long) in rows {
        assert_eq!(sheet_size(name).unwrap(), (Length::inch(short), Length::inch(long)), "{name}");
    }
    for unknown in ["A11", "C4", "", "A", "É4", "ARCH Z"] {
        assert!(sheet_size(unknown).unwrap_err().next.contains("ARCH D"), "{unknown}");
    }
}
