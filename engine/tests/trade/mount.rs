//! Materials, woods and their weight.

use engine::measure::{Grammage, Length};
use engine::trade::mount::{Glazing, Sheet};
use engine::trade::wood;

use super::{inch, near, part};

#[test]
fn a_wood_is_as_heavy_as_the_handbook_says() {
    // M01. Source: USDA Wood Handbook (FPL-GTR-282), Table 5-3b, 12 percent moisture (read in tables that cite it; black
    // walnut, yellow-poplar and eastern white pine from memory).
    let rows = [
        ("white ash", 0.60),
        ("sugar maple", 0.63),
        ("red maple", 0.54),
        ("northern red oak", 0.63),
        ("white oak", 0.68),
        ("black cherry", 0.50),
        ("American basswood", 0.37),
        ("black walnut", 0.55),
        ("yellow-poplar", 0.42),
        ("eastern white pine", 0.35),
        ("ponderosa pine", 0.40),
        ("American beech", 0.64),
        ("yellow birch", 0.62),
    ];
    for (name, gravity) in rows {
        assert_eq!(wood::specific_gravity(name), Ok(gravity), "{name}");
    }
}

#[test]
fn wood_weighs_its_gravity_and_its_water() {
    // M03 to M05. Source: USDA Wood Handbook, chapter 4, density equation (from memory).
    for (row, name, want) in
        [("M03", "sugar maple", 705.6), ("M04", "Black Walnut", 616.0), ("M05", "yellow-poplar", 470.4)]
    {
        near(row, wood::density(name, 12.0).unwrap().to_kg_m3(), want, 1e-9);
    }
    near("dry", wood::density("white ash", 0.0).unwrap().to_kg_m3(), 600.0, 1e-12);
    for (name, moisture) in
        [("white ash", -1.0), ("white ash", 31.0), ("white ash", f64::NAN), ("maple", 12.0), ("", 12.0)]
    {
        assert!(wood::density(name, moisture).is_err(), "{name} {moisture}");
    }
}

#[test]
fn a_sheet_weighs_area_times_weight_per_area() {
    let size = (inch(24.0), inch(72.0));
    let own = |gsm: f64| Sheet::own("own", Length::mm(1.0), Grammage::gsm(gsm)).unwrap();
    let rows = [
        // Source: EN 572-1, 2500 kg/m³ (read in a page that cites it).
        ("M08", Sheet::of("float glass", Some(Length::mm(3.0))).unwrap(), 8.361_273_6, 18.433_452_93),
        // Source: ISO 7823-1 typical, 1190 kg/m³ (from memory).
        ("M10", Sheet::of("acrylic", Some(Length::mm(6.0))).unwrap(), 7.959_932_467, 17.548_647_19),
        // Common practice, no source.
        ("M13", Sheet::of("RC paper", None).unwrap(), 0.284_283_302_4, 0.626_737_399_5),
        // Source: vinyl of 1.38 g/cm³, 80 µm (handbook value, from memory), and 25 g/m² of adhesive (practice).
        ("M15", Sheet::of("laminate film", None).unwrap(), 0.150_948_859_4, 0.332_785_270_2),
        // Identity.
        ("own", own(255.0), 0.284_283_302_4, 0.626_737_399_5),
    ];
    for (row, sheet, kg, lb) in rows {
        near(row, sheet.weight(size.0, size.1).to_kg(), kg, 1e-9);
        near(row, sheet.weight(size.0, size.1).to_lb(), lb, 1e-9);
    }
}

#[test]
fn a_built_up_board_weighs_its_layers() {
    // Identity, from 2700 kg/m³ for aluminium (EN 1999-1-1, from memory) and 920 for polyethylene (practice).
    for (thickness, skin, core) in [(3.0, 0.3, 2.4), (4.0, 0.5, 3.0)] {
        let board = Sheet::of("aluminium composite", Some(Length::mm(thickness))).unwrap();
        near("composite", board.grammage().to_gsm(), 2.0 * skin * 2700.0 + core * 920.0, 1e-9);
    }
}

#[test]
fn a_stack_adds_up() {
    // Identity. G07's print, laminate and board stand in the frame's rows.
    let (paper, board) = (Sheet::of("RC paper", None).unwrap(), Sheet::of("rigid foam board", None).unwrap());
    let stack = Sheet::stack(&[&paper, &board]).unwrap();
    near("thickness", stack.thickness().to_mm(), 0.24 + 19.05, 1e-12);
    near("grammage", stack.grammage().to_gsm(), 255.0 + 2650.0, 1e-12);
    assert!(Sheet::stack(&[]).is_err());
    // Q03. Common practice, no source: 3/4 in.
    near("Q03", board.thickness().to_inch(), 0.75, 1e-12);
}

#[test]
fn a_missing_thickness_is_asked_for() {
    assert!(Sheet::of("float glass", None).unwrap_err().next.contains("3.mm"));
    assert!(Sheet::of("foam board", Some(Length::mm(10.0))).unwrap_err().next.contains("weigh"));
    assert!(Sheet::of("marble", None).unwrap_err().next.contains("float glass"));
    assert!(Sheet::of("float glass", Some(Length::mm(-3.0))).is_err());
}

#[test]
fn every_weight_carries_its_caution() {
    let glass = Sheet::of("float glass", Some(Length::mm(3.0))).unwrap();
    let stack = Sheet::stack(&[&glass, &Sheet::of("RC paper", None).unwrap()]).unwrap();
    for sheet in [&glass, &stack] {
        assert!(sheet.found_weight(inch(24.0), inch(72.0)).unwrap().caution.unwrap().contains("two people"));
    }
    let all = Glazing::new((inch(24.0), inch(72.0)), Length::mm(3.0), Length::mm(3.0)).unwrap();
    for name in ["glass", "acrylic", "laminate", "saved"] {
        assert!(part(&all, name).caution.is_some(), "{name}");
    }
    // Identity: M08 less M15.
    near("saved", super::number(&part(&all, "saved").value), 8_361.273_6 - 150.948_859_4, 1e-9);
}
