//! True size: lines of the drawings read back from the file and laid to a rule.

use crate::desk::Desk;
use crate::reader::read;
use crate::shipped::pdf;

const INCH: f64 = 25.4;

/// The check rule and the frame at full size, within a twentieth of a millimetre, on both papers. The sizes are the plan's
/// own: 3/4 in face, 3/8 in gap, 1.52 in deep, 0.77 in of piece (25.4 mm to the inch: international yard and pound, 1959).
#[tokio::test]
async fn the_check_rule_and_the_frame_are_of_true_size_on_both_papers() {
    let desk = Desk::shipped();
    let page = desk.get("/plan/causeway-first-light?units=metric").await.is(200);
    let metric = page.text().replace(['\u{a0}', '\u{202f}'], " ");
    for paper in ["letter", "a4"] {
        let mut files = Vec::new();
        for path in ["ticket/framer/paper.pdf", "paper.pdf"] {
            let made = pdf(&desk, &format!("/plan/causeway-first-light/{path}?paper={paper}")).await;
            files.push((format!("{path} on {paper}"), made));
        }
        for (what, found) in read(&files) {
            assert!(found.has(100.0), "{what}: no rule of 100 mm among {:?}", found.lengths());
            assert!(found.has(0.75 * INCH), "{what}: no face of 3/4 in");
            // What the plan says of its depth in metric: the stick's 1 3/4 in are 44.5 mm, and the line is as long.
            assert!(metric.contains("44.5 mm") && found.has(1.75 * INCH), "{what}: no depth of 44.5 mm");
            // The gap is the room between the inner face of the frame and the edge of the piece.
            let upright = |line: &&[f64; 4]| (line[0] - line[2]).abs() < 1e-3 && (line[1] - line[3]).abs() > 5.0;
            let edges: Vec<f64> = found.lines.iter().flatten().filter(upright).map(|line| line[0]).collect();
            let apart = edges.iter().any(|a| edges.iter().any(|b| (b - a - 0.375 * INCH).abs() <= 0.05));
            assert!(apart, "{what}: no gap of 3/8 in");
        }
    }
}

/// A rabbeted frame too, and a rule that was stretched would be found: 1 % more is not 100 mm.
#[tokio::test]
async fn a_rabbeted_section_is_of_true_size_too() {
    let desk = Desk::shipped();
    let mut seen = 0;
    for (plan, shops) in crate::shipped::plans() {
        for role in shops.iter().filter(|role| *role == "framer") {
            let made = pdf(&desk, &format!("/plan/{plan}/ticket/{role}/paper.pdf")).await;
            for (what, found) in read(&[(format!("{plan} for {role}"), made)]) {
                if found.figures.iter().any(|figure| figure.contains("rule of 100 millimetres")) {
                    assert!(found.has(100.0), "{what}");
                    assert!(!found.has(101.0) && !found.has(97.384), "{what}");
                    seen += 1;
                }
            }
        }
    }
    assert!(seen >= 3, "{seen} sheets have a rule");
}
