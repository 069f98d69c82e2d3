//! Key numbers of the shipped plans, as a person reads them. A change here is a change to what somebody orders.
//!
//! Beside a number that can be had from outside the program: where from. The others follow from them and from the rate
//! sheets, whose arithmetic is in their own text.

use super::check;

#[test]
fn causeway_first_light() {
    check(
        "causeway-first-light",
        &[
            // 168 mm × 4000 / 25.4 = 26 456.7; 56 mm × 4000 / 25.4 = 8 818.9 (an inch is 25.4 mm).
            ("scan.pixels", "26 457 × 8819 px"),
            // 90 in × 56 / 168 = 30 in.
            ("piece.size", "90 × 30 in"),
            // 90 in × 25.4 / 168 mm = 13.607.
            ("piece.enlargement", "13.61"),
            // 26 457 px / 90 in = 293.97.
            ("piece.ppi", "294 ppi"),
            // 26 457 × 8819 × 3 × 2 bytes = 1.39995 × 10⁹.
            ("scanned.size", "1.4 GB"),
            // 90 in × 300 and 30 in × 300.
            ("ready.pixels", "27 000 × 9000 px"),
            ("ready_file.size", "1.46 GB"),
            // 27 000 × 9000 × 6 bytes × 8 / (20 × 10⁶ × 0.8) = 729 s.
            ("sending", "12.2 minutes"),
            // A quarter inch on every side.
            ("printed", "90 1/2 × 30 1/2 in"),
            ("mounted_weight", "12.6 lb"),
            // 90 + 2 × (3/8 + 3/4) and 30 + 2 × (3/8 + 3/4).
            ("frame.outside", "92 1/4 × 32 1/4 in"),
            // Twice the sides together: 2 × (92 1/4 + 32 1/4) = 249.
            ("frame.moulding_length", "249 in"),
            ("whole_weight", "24.8 lb"),
            // Half of 24.8 lb each, the hooks standing alike on both sides; rated four times that.
            ("hooks.first_load", "12.4 lb"),
            // 58 + 32 1/4 / 2 − 4.
            ("high", "70 1/8 in"),
            // The stick is 1 3/4 in deep, with 2 in of padding and 3/8 in of wall on both sides 6 1/2 in.
            ("packed.outside", "97 × 37 × 6 1/2 in"),
            ("hanging.end", "1 February 2027"),
            ("scan_cost", "$165.20"),
            ("each", "$1,788.90"),
            // 4 × 5400 + 4 × 6200 + 2 × 7800 = 62 000.
            ("prices.gross", "$62,000.00"),
            // 5400 − half of it − 1788.90.
            ("mine", "$911.10"),
        ],
    );
}

#[test]
fn quarry_upper_bench() {
    check(
        "quarry-upper-bench",
        &[
            // Two to one out of 56 mm: 112 mm.
            ("kept.size", "112 × 56 mm"),
            // 112 mm × 3200 / 25.4 = 14 110.2.
            ("flatbed_scan.pixels", "14 110 × 7055 px"),
            // What the lens sees at 2400 to the inch: 112 × 2400 / 25.4 = 10 582.7.
            ("flatbed_scan.optical_pixels", "10 583 × 5291 px"),
            ("piece.size", "1600 × 800 mm"),
            // 10 582.7 px over 1600 mm, to the inch: 10 582.7 × 25.4 / 1600 = 168.0.
            ("flatbed_optical_ppi", "168 ppi"),
            // 17 638 × 25.4 / 1600 = 280.0.
            ("drum_optical_ppi", "280 ppi"),
            ("worst", "1.365"),
            // 1600 / 25.4 × 360 = 22 677.2.
            ("ready.pixels", "22 677 × 11 339 px"),
            ("printed", "1612 × 812 mm"),
            ("mounted_weight", "5.57 kg"),
            // 1600 + 2 × (8 + 18) and 800 + 2 × (8 + 18).
            ("frame.outside", "1652 × 852 mm"),
            ("whole_weight", "9.28 kg"),
            // 1480 + 852 / 2 − 30.
            ("rail_height", "1876 mm"),
            // 52 + 14 + 2 × 16 − half of 128.
            ("lost_money", "€34.00"),
            ("lost_days", "11 working days"),
            ("wasted", "€96.00"),
            ("planned", "27 November 2026"),
            ("hanging.end", "14 December 2026"),
        ],
    );
}

#[test]
fn grain_elevator_noon() {
    check(
        "grain-elevator-noon",
        &[
            ("scan.pixels", "26 457 × 8819 px"),
            // 72 in × 56 / 168 = 24 in.
            ("piece.size", "72 × 24 in"),
            // 26 456.7 / 72 = 367.5.
            ("piece.ppi", "367.5 ppi"),
            ("ready.pixels", "21 600 × 7200 px"),
            // 21 600 × 7200 × 6 bytes = 933.12 × 10⁶.
            ("ready_file.size", "933 MB"),
            ("mounted_weight", "8 lb"),
            // 72 + 2 × (1/4 + 3/4) and 24 + 2 × (1/4 + 3/4).
            ("frame.outside", "74 × 26 in"),
            // 72 + 24: framers count the two sides of what is framed (common practice, no source).
            ("frame.united", "96 in"),
            ("whole_weight", "17.7 lb"),
            ("high", "67 in"),
            ("hanging.end", "17 June 2026"),
            ("scanned", "$158.20"),
        ],
    );
}

#[test]
fn boathouse_window() {
    check(
        "boathouse-window",
        &[
            // 56 mm × 3200 / 25.4 = 7055.1.
            ("scan.pixels", "7055 × 7055 px"),
            ("piece.size", "20 × 20 in"),
            // 7055.1 / 20 = 352.8.
            ("piece.ppi", "352.8 ppi"),
            ("sheet_of", "23 × 23 in"),
            ("window.outside", "26 3/4 × 27 1/4 in"),
            ("frame.outside", "27 7/8 × 28 3/8 in"),
            ("pane.glass", "7.8 lb"),
            ("pane.acrylic", "3.7 lb"),
            ("whole_weight", "9.4 lb"),
            // 50 lux × 8 hours × 300 days.
            ("lit", "120 000 lux hours"),
            ("done.end", "28 January 2027"),
        ],
    );
}

#[test]
fn first_plan() {
    check(
        "first-plan",
        &[
            // 60 in × 56 / 118 = 28.47 in.
            ("piece.size", "60 × 28.47 in"),
            // 118 mm × 4000 / 25.4 / 60 = 309.7.
            ("piece.ppi", "309.7 ppi"),
            // 60 in × 25.4 / 118 mm = 12.915.
            ("piece.enlargement", "12.92"),
        ],
    );
}

#[test]
fn mill_race_three_windows() {
    check(
        "mill-race-three-windows",
        &[
            // 240 ppi × 24 in × 25.4 / 56 mm = 2612.6.
            ("needed", "2612.6 ppi"),
            ("piece.size", "24 × 24 in"),
            // 7055 px / 24 in = 293.96.
            ("piece.ppi", "294 ppi"),
            ("sheet_of", "27 × 27 in"),
            // Two on 63 in, so two rows: 2 × 27 + 1/2 + 2 × 1/2.
            ("laid.length", "55 1/2 in"),
            // 24 − 1/4 + 2 × 3 and the bottom half an inch wider.
            ("window.outside", "29 3/4 × 30 1/4 in"),
            // Two of 29 3/4 in on 60 in.
            ("mats.on_one", "2"),
            ("mats.boards", "3"),
            // 29 3/4 + 1/8 − 1/2 + 2 and 30 1/4 + 1/8 − 1/2 + 2.
            ("frame.outside", "31 3/8 × 31 7/8 in"),
            // 3 × 31 3/8 + 2 × 2.
            ("row.width", "98 1/8 in"),
            ("one_weight", "13.4 lb"),
            // 58 + 31 7/8 / 2 − 4.
            ("high", "69 15/16 in"),
            // log2(500 / 120).
            ("darker", "2.059"),
            ("hanging.end", "13 January 2027"),
            ("at_once.end", "13 January 2027"),
            // 14 to 28 January less the 18th, a holiday.
            ("at_once.to_spare", "10 working days"),
            // 5400 × 0.9 × 0.5.
            ("kept_less", "$2,430.00"),
        ],
    );
}

#[test]
fn long_wall_flood_tide() {
    check(
        "long-wall-flood-tide",
        &[
            // 168 and 56 mm × 8000 / 25.4 = 52 913.4 and 17 637.8.
            ("scan.pixels", "52 913 × 17 638 px"),
            // 4000 mm / 168 mm.
            ("piece.enlargement", "23.81"),
            // One minute of arc at 800 mm is 0.2327 mm: 25.4 / 0.2327 = 109.1.
            ("asked", "109.1 ppi"),
            // 52 913 × 17 638 × 6 bytes; a TIFF ends at 2³² (TIFF 6.0).
            ("scanned.needs_bigtiff", "yes"),
            // (4000 − 20) / (1068.6 − 20) = 3.8: four, (4000 + 3 × 20) / 4 wide.
            ("mural.count", "4"),
            ("mural.panel", "1015 × 1333.3 mm"),
            // One across, 4 × 1384.13 + 3 × 12 + 2 × 12.
            ("laid.length", "5596.5 mm"),
            // 260 g/m² × 5.333 m².
            ("paper_weight", "1.39 kg"),
            // 1550 − 1333.3 / 2.
            ("lower", "883.3 mm"),
            ("hanging.end", "12 January 2027"),
        ],
    );
}

#[test]
fn ferry_ramp_thaw() {
    check(
        "ferry-ramp-thaw",
        &[
            ("piece.size", "27 × 18 in"),
            ("sheet_of", "30 × 21 in"),
            // Two of 30 in and a gap on 63 in: three rows, 3 × 21 + 2 × 1/2 + 2 × 1/2.
            ("laid.length", "65 in"),
            // 21 + 2 × 2 and 6 + 2 × 3/4.
            ("tube.length", "25 in"),
            ("tube.diameter", "7 1/2 in"),
            // 25 + π × 7.5.
            ("tube.length_and_girth", "48.56 in"),
            // 25 × 7.5² in³ = 23 044 cm³; ÷ 6000 = 3.84 kg, up to the next half kilogram 4 kg = 8.8 lb.
            ("by_air.charged", "8.8 lb"),
            // 4 kg at 24 dollars.
            ("freight", "$96.00"),
            // 1150 × 0.014 = 16.10, and 18 at the least.
            ("premium", "$18.00"),
            // 5 × 850 + 5 × 1000 + 5 × 1250.
            ("prices.gross", "$15,500.00"),
            ("sent.end", "4 January 2027"),
        ],
    );
}
