//! Frames, mats and mitres.

use engine::Value;
use engine::measure::{Angle, Density, Length, LinearDensity};
use engine::trade::frame::{FloatFrame, FloatFrameSizes, RabbetFrame, mitre, mitre_gap};
use engine::trade::mat::{Mat, PH, PLIES};
use engine::trade::moulding::{Moulding, Weight};

use super::{all_inches, inch, inches, near, number, part, within};

fn float(weight: Weight) -> FloatFrame {
    FloatFrame::new(FloatFrameSizes {
        art: (inch(24.0), inch(72.0)),
        gap: inch(0.25),
        face: inch(0.75),
        board: inch(0.77),
        ledge: inch(0.5),
        setback: inch(0.25),
        weight,
        stick: None,
        ledge_stick: None,
    })
    .unwrap()
}

#[test]
fn a_float_frame_is_the_piece_the_gaps_and_the_faces() {
    let frame = float(Weight::Solid(Density::kg_m3(600.0)));
    // Identity: 24 × 72 in, gap 1/4 in, face 3/4 in.
    assert_eq!(frame.well(), (inch(24.5), inch(72.5)));
    assert_eq!(frame.outside(), (inch(26.0), inch(74.0)));
    // G07. Identity: ledge + board + print + set-back.
    near("G07", frame.depth().to_inch(), 1.52, 1e-12);
    // G05. Identity.
    near("G05", inches(&part(&frame, "united")), 96.0, 1e-12);
    // Q16. Identity: 2 (w + h) + 8 faces is the sum of the four long points.
    let cuts: f64 = all_inches(&part(&frame, "cuts")).iter().sum();
    near("Q16", frame.moulding_length().to_inch(), cuts, 1e-12);
    near("Q16", cuts, 2.0 * (24.5 + 72.5) + 8.0 * 0.75, 1e-12);
}

#[test]
fn a_frame_weighs_its_true_volume() {
    // Identity: the volume is the outside block less the block of the well; corners are not counted twice.
    let frame = float(Weight::Solid(Density::kg_m3(600.0)));
    let cubic_inches = (26.0 * 74.0 - 24.5 * 72.5) * 1.52;
    near("volume", number(&part(&frame, "weight").value), cubic_inches * 16.387_064 * 0.6, 1e-9);
    // The same wood, listed by length, weighs the same.
    let stick = Moulding::new("ash", inch(0.75), inch(1.52), Weight::Solid(Density::kg_m3(600.0))).unwrap();
    let listed = float(Weight::Listed(stick.per_length()));
    near("listed", number(&part(&listed, "weight").value), number(&part(&frame, "weight").value), 1e-9);
    assert!(part(&frame, "weight").caution.is_some());
    near("per length", LinearDensity::kg_m(1.0).to_kg_m(), 1.0, 1e-12);
}

#[test]
fn a_rabbeted_frame_hides_its_lip() {
    // Identity, allowance of 1/8 in (Q15, common practice, no source).
    let frame = RabbetFrame::new(
        (inch(30.0), inch(40.0)),
        inch(1.0),
        inch(0.25),
        inch(1.25),
        inch(0.125),
        Weight::Solid(Density::kg_m3(600.0)),
    )
    .unwrap();
    assert_eq!(frame.rabbet(), (inch(30.125), inch(40.125)));
    assert_eq!(frame.sight(), (inch(29.625), inch(39.625)));
    assert_eq!(frame.outside(), (inch(31.625), inch(41.625)));
    let cuts: f64 = all_inches(&part(&frame, "cuts")).iter().sum();
    near("length", inches(&part(&frame, "moulding_length")), cuts, 1e-12);
    let wide = |face: f64, lip: f64| {
        RabbetFrame::new(
            (inch(4.0), inch(4.0)),
            inch(face),
            inch(lip),
            inch(1.0),
            Length::ZERO,
            Weight::Solid(Density::kg_m3(600.0)),
        )
    };
    assert!(wide(1.0, 1.0).is_err());
    assert!(wide(3.0, 2.0).is_err());
}

#[test]
fn a_mitre_is_half_a_turn_shared_out() {
    // G06. Identity: 180° ÷ sides.
    for (sides, want) in [(4, 45.0), (6, 30.0), (8, 22.5)] {
        near("G06", number(&mitre(sides).unwrap().value), want, 1e-12);
    }
    for sides in 0..3 {
        assert!(mitre(sides).is_err());
    }
}

#[test]
fn a_wrong_mitre_opens_twice() {
    // G10. Geometry identity: two cuts, the error doubled.
    within("G10", inches(&mitre_gap(Angle::degrees(0.1), inch(0.75)).unwrap()), 0.002_618_004_511, 1e-6);
    assert!(mitre_gap(Angle::degrees(45.0), inch(0.75)).is_err());
}

#[test]
fn a_mat_keeps_a_print_off_the_glass() {
    // G09. Source: Library of Congress, Guide to Preservation Matting and Framing (read).
    assert_eq!((PLIES, PH), (4, (7.0, 8.5)));
    // Identity: overlap 1/8 in, bottom 1/2 in wider (Q14, common practice, no source).
    let mat = Mat::new((inch(20.0), inch(16.0)), inch(4.0), inch(0.5), inch(0.125)).unwrap();
    assert_eq!(mat.opening(), (inch(19.75), inch(15.75)));
    assert_eq!(mat.outside(), (inch(27.75), inch(24.25)));
    let Value::Text(note) = part(&mat, "note").value else { panic!("a note") };
    assert!(note.contains("must not touch the glazing"), "{note}");
    assert!(Mat::new((inch(1.0), inch(1.0)), inch(4.0), inch(0.5), inch(0.5)).is_err());
}
