//! No word of a drawing lies on another word or on a line, and nothing leaves its sheet, for pieces from 4 × 5 in to 4 × 12 m.
//!
//! The drawing is read back from its SVG by another reader, and its words are measured with the typeface itself.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop at once"
)]

use engine::drawing::{self, Drawing};
use engine::measure::{Length, Units};
use engine::trade::backside::{Backside, Hardware};
use engine::trade::blank::Blank;
use engine::trade::crating::Crate;
use engine::trade::cutting::CutList;
use engine::trade::elevation::Elevation;
use engine::trade::film::{Crop, Film};
use engine::trade::frame::{FloatFrame, FloatFrameSizes, RabbetFrame};
use engine::trade::mat::Mat;
use engine::trade::moulding::{WOOD, Weight};
use engine::trade::mural::Mural;
use engine::trade::nesting::Nest;
use engine::trade::roll::{Layout, Roll};
use engine::{Thing, Trade};
use proptest::prelude::*;

static FACE: &[u8] = include_bytes!("../../static/fonts/LibertinusSerif-Regular.otf");

#[derive(Clone, Copy, Debug)]
struct Room {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

#[derive(Debug)]
struct ReadBack {
    sheet: Room,
    words: Vec<(String, Room)>,
    segments: Vec<((f64, f64), (f64, f64))>,
}

fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().unwrap())
        .collect()
}

fn advance(face: &ttf_parser::Face<'_>, words: &str, size: f64) -> f64 {
    let units: u32 = words
        .chars()
        .map(|c| face.glyph_index(c).and_then(|glyph| face.glyph_hor_advance(glyph)).map_or(1000, u32::from))
        .sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}

fn read_back(drawing: &Drawing) -> ReadBack {
    let svg = drawing.svg();
    let tree = roxmltree::Document::parse(&svg).unwrap();
    let face = ttf_parser::Face::parse(FACE, 0).unwrap();
    let view = numbers(tree.root_element().attribute("viewBox").unwrap());
    let sheet = Room { left: view[0], top: view[1], right: view[0] + view[2], bottom: view[1] + view[3] };
    // One unit is one millimetre.
    assert_eq!(tree.root_element().attribute("width").unwrap(), format!("{}mm", view[2]));
    let (mut words, mut segments) = (Vec::new(), Vec::new());
    for node in tree.descendants() {
        match node.tag_name().name() {
            "text" => {
                let text = node.text().unwrap();
                let size: f64 = node.attribute("font-size").unwrap().parse().unwrap();
                let long = advance(&face, text, size);
                let before = match node.attribute("text-anchor").unwrap() {
                    "start" => 0.0,
                    "middle" => long / 2.0,
                    _ => long,
                };
                // Capitals and the tallest letters of this face reach 0.70 of its size up, the deepest 0.24 down.
                let (up, down) = (size * 0.70, size * 0.24);
                let room = match node.attribute("transform") {
                    Some(turned) => {
                        let at = numbers(turned);
                        assert_eq!(at[2], -90.0);
                        Room {
                            left: at[0] - up,
                            right: at[0] + down,
                            top: at[1] - (long - before),
                            bottom: at[1] + before,
                        }
                    }
                    None => {
                        let x: f64 = node.attribute("x").unwrap().parse().unwrap();
                        let y: f64 = node.attribute("y").unwrap().parse().unwrap();
                        Room { left: x - before, right: x - before + long, top: y - up, bottom: y + down }
                    }
                };
                words.push((text.to_owned(), room));
            }
            "path" => {
                let d = node.attribute("d").unwrap();
                if d.contains('C') {
                    continue;
                }
                let at: Vec<(f64, f64)> =
                    numbers(&d.replace(['M', 'L', 'Z'], " ")).chunks(2).map(|pair| (pair[0], pair[1])).collect();
                for pair in at.windows(2) {
                    segments.push((pair[0], pair[1]));
                }
                if d.ends_with('Z') {
                    segments.push((at[at.len() - 1], at[0]));
                }
            }
            _ => {}
        }
    }
    ReadBack { sheet, words, segments }
}

fn crosses(room: Room, (a, b): ((f64, f64), (f64, f64))) -> bool {
    // Sampled densely: another way than the one the draughtsman uses.
    let steps = ((a.0 - b.0).hypot(a.1 - b.1) / 0.05).ceil().clamp(1.0, 8000.0);
    let mut at = 0.0;
    while at <= steps {
        let (x, y) = (a.0 + (b.0 - a.0) * at / steps, a.1 + (b.1 - a.1) * at / steps);
        if x > room.left && x < room.right && y > room.top && y < room.bottom {
            return true;
        }
        at += 1.0;
    }
    false
}

/// Where a drawing is wrong, in words.
fn faults(drawing: &Drawing) -> Vec<String> {
    let back = read_back(drawing);
    let mut out = Vec::new();
    for (index, (text, room)) in back.words.iter().enumerate() {
        let sheet = back.sheet;
        if room.left < sheet.left || room.right > sheet.right || room.top < sheet.top || room.bottom > sheet.bottom {
            out.push(format!("`{text}` leaves the sheet"));
        }
        for (other, theirs) in &back.words[index + 1..] {
            if room.left < theirs.right
                && theirs.left < room.right
                && room.top < theirs.bottom
                && theirs.top < room.bottom
            {
                out.push(format!("`{text}` lies on `{other}`"));
            }
        }
        if let Some(line) = back.segments.iter().find(|line| crosses(*room, **line)) {
            out.push(format!("`{text}` lies on the line {line:?}"));
        }
    }
    for (a, b) in &back.segments {
        for (x, y) in [a, b] {
            if *x < back.sheet.left || *x > back.sheet.right || *y < back.sheet.top || *y > back.sheet.bottom {
                out.push(format!("a line leaves the sheet at {x}, {y}"));
            }
        }
    }
    if drawing.width > 162.0 {
        out.push(format!("it is {} mm wide, and the sheet holds 165", drawing.width));
    }
    if drawing.height > 225.0 {
        out.push(format!("it is {} mm high, and the sheet holds 230", drawing.height));
    }
    if back.words.is_empty() {
        out.push("it has no words".to_owned());
    }
    out
}

fn check(thing: impl Trade) -> Result<(), TestCaseError> {
    let thing = Thing::new(thing);
    for units in [Units::Inch, Units::Metric] {
        let drawing = drawing::of(&thing, units).expect("it has a drawing");
        let faults = faults(&drawing);
        prop_assert!(faults.is_empty(), "{}: {faults:#?}\n{}", drawing.title, drawing.svg());
    }
    Ok(())
}

/// From 4 in to 12 m, as often small as large.
fn side() -> impl Strategy<Value = Length> {
    (101.6_f64.ln()..12_000.0_f64.ln()).prop_map(|mm| Length::mm(mm.exp()))
}

/// From 5 in to 4 m.
fn short_side() -> impl Strategy<Value = Length> {
    (127.0_f64.ln()..4_000.0_f64.ln()).prop_map(|mm| Length::mm(mm.exp()))
}

fn size() -> impl Strategy<Value = (Length, Length)> {
    prop_oneof![(side(), short_side()), (short_side(), side())]
}

fn mm(from: f64, to: f64) -> impl Strategy<Value = Length> {
    (from..to).prop_map(Length::mm)
}

fn settled() -> ProptestConfig {
    ProptestConfig {
        cases: 160,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(1706),
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(settled())]

    #[test]
    fn a_float_frame_is_lettered_clearly(art in size(), gap in mm(0.0, 20.0), face in mm(4.0, 60.0), board in mm(1.0, 40.0), ledge in mm(0.0, 40.0), setback in mm(0.0, 20.0), behind in prop::option::of(mm(0.0, 40.0))) {
        let stick = behind.map(|behind| board + ledge + setback + behind);
        let sizes = FloatFrameSizes { art, gap, face, stick, board, ledge, setback, weight: Weight::Solid(WOOD), ledge_stick: None };
        check(FloatFrame::new(sizes).unwrap())?;
    }

    #[test]
    fn a_rabbeted_frame_is_lettered_clearly(art in size(), face in mm(8.0, 80.0), share in 0.0..0.9_f64, depth in mm(10.0, 80.0)) {
        let lip = face * share * 0.5;
        if let Ok(frame) = RabbetFrame::new(art, face, lip, depth, Length::mm(3.0), Weight::Solid(WOOD)) {
            check(frame)?;
        }
    }

    #[test]
    fn a_crop_is_lettered_clearly(width in mm(24.0, 360.0), height in mm(24.0, 280.0), ratio in 0.2..5.0_f64) {
        check(Crop::to_ratio(&Film::measured(width, height).unwrap(), ratio).unwrap())?;
    }

    #[test]
    fn prints_on_a_roll_are_lettered_clearly(size in size(), more in mm(30.0, 900.0), count in 1..12_u32) {
        let roll = Roll::new(size.0 + more, Length::mm(12.0), Length::mm(12.0), Length::mm(12.0)).unwrap();
        check(Layout::new(size.0, size.1, &roll, count, false).unwrap())?;
    }

    #[test]
    fn nested_prints_are_lettered_clearly(sizes in prop::collection::vec((mm(100.0, 1000.0), mm(100.0, 2500.0)), 1..9)) {
        let roll = Roll::new(Length::mm(1118.0), Length::mm(12.0), Length::mm(12.0), Length::mm(12.0)).unwrap();
        check(Nest::new(&sizes, &roll, true).unwrap())?;
    }

    #[test]
    fn a_mat_is_lettered_clearly(image in size(), border in mm(10.0, 150.0), bottom in mm(0.0, 25.0)) {
        check(Mat::new(image, border, bottom, Length::mm(3.0)).unwrap())?;
    }

    #[test]
    fn a_blank_on_its_sheet_is_lettered_clearly(size in size(), wide in 1.0..3.0_f64, high in 1.0..3.0_f64, trim in mm(0.0, 10.0)) {
        check(Blank::new(size, (size.0 * wide + trim, size.1 * high + trim), trim).unwrap())?;
    }

    #[test]
    fn a_cut_list_is_lettered_clearly(pieces in prop::collection::vec(mm(60.0, 3600.0), 1..24), kerf in mm(0.0, 5.0), trim in mm(0.0, 40.0)) {
        check(CutList::new(Length::mm(3660.0), &pieces, kerf, trim).unwrap())?;
    }

    #[test]
    fn a_piece_on_its_wall_is_lettered_clearly(outside in size(), over in mm(0.0, 1500.0), share in 0.05..0.95_f64, apart in 0.0..1.0_f64, hung in any::<bool>()) {
        let centre = outside.1 / 2.0 + over;
        let hooks = hung.then(|| (centre - outside.1 / 2.0 + outside.1 * share + Length::mm(0.01), outside.0 * apart));
        check(Elevation::new(outside, centre, hooks).unwrap())?;
    }

    #[test]
    fn the_back_of_a_piece_is_lettered_clearly(outside in size(), inset in 0.0..0.45_f64, drop in 0.0..0.9_f64, which in 0..3_usize) {
        let hardware = [Hardware::Straps, Hardware::Wire, Hardware::Cleat][which];
        check(Backside::new(outside, hardware, outside.0 * inset, outside.1 * drop).unwrap())?;
    }

    #[test]
    fn a_crate_is_lettered_clearly(piece in size(), depth in mm(15.0, 200.0), padding in mm(0.0, 120.0), wall in mm(0.0, 25.0)) {
        check(Crate::new([piece.0, piece.1, depth], padding, wall).unwrap())?;
    }

    #[test]
    fn a_mural_is_lettered_clearly(size in size(), widest in mm(300.0, 1500.0), overlap in mm(0.0, 40.0)) {
        check(Mural::new(size, widest, overlap).unwrap())?;
    }
}

/// A stick of 1 3/4 in is drawn 1 3/4 in deep, and the ledge is a piece of its own inside it, as wide as its own stick.
#[test]
fn a_deep_stick_and_its_ledge_are_two_pieces_at_full_size() {
    let inch = Length::inch;
    let sizes = FloatFrameSizes {
        art: (inch(72.0), inch(24.0)),
        gap: inch(0.25),
        face: inch(0.75),
        stick: Some(inch(1.75)),
        board: inch(0.13),
        ledge: inch(0.5),
        setback: inch(0.25),
        weight: Weight::Solid(WOOD),
        ledge_stick: Some((inch(1.5), Weight::Solid(WOOD))),
    };
    let drawn = drawing::of(&Thing::new(FloatFrame::new(sizes).unwrap()), Units::Inch).unwrap();
    assert_eq!(faults(&drawn), [""; 0]);
    let svg = drawn.svg();
    let tree = roxmltree::Document::parse(&svg).unwrap();
    let closed: Vec<_> = tree
        .descendants()
        .filter_map(|node| node.attribute("d").filter(|d| d.ends_with('Z')))
        .map(|d| {
            let at = numbers(&d.replace(['M', 'L', 'Z'], " "));
            let span = |start: usize| {
                let all = || at.iter().skip(start).step_by(2).copied();
                all().fold(f64::MIN, f64::max) - all().fold(f64::MAX, f64::min)
            };
            (span(0), span(1))
        })
        .collect();
    // An inch is 25.4 mm (international yard, 1959), at full size.
    for (what, wide, high) in [("stick", 0.75 * 25.4, 1.75 * 25.4), ("ledge", 1.5 * 25.4, 0.5 * 25.4)] {
        let is = |(w, h): &&(f64, f64)| (w - wide).abs() < 0.02 && (h - high).abs() < 0.02;
        assert!(closed.iter().any(|one| is(&one)), "no {what} of {wide} by {high} mm among {closed:?}");
    }
}

#[test]
fn words_on_a_line_are_found() {
    // The check itself can fail: a word is put on a line by hand.
    let room = Room { left: 0.0, top: 0.0, right: 10.0, bottom: 3.0 };
    assert!(crosses(room, ((-5.0, 1.5), (15.0, 1.5))));
    assert!(!crosses(room, ((-5.0, 3.5), (15.0, 3.5))));
}
