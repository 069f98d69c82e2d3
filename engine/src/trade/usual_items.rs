//! What a shop of each trade usually makes, with which its new price list begins. The prices are the shop's own.
//!
//! Source of every line: common practice, no source.

use super::price_list::Per;
use super::roles;
use crate::measure::Units;

/// The items of one trade, in the order a piece meets them.
struct Usual {
    trade: &'static str,
    items: &'static [(&'static str, Per)],
}

const USUAL: &[Usual] = &[
    Usual {
        trade: "scanner",
        items: &[("Drum scan", Per::Piece), ("Flatbed scan", Per::Piece), ("Return post", Per::Piece)],
    },
    Usual { trade: "retoucher", items: &[("File work", Per::Hour), ("Print file", Per::Piece)] },
    Usual {
        trade: "lab",
        items: &[
            ("Small proof", Per::Piece),
            ("Chromogenic, gloss", Per::SquareFoot),
            ("Chromogenic, matte", Per::SquareFoot),
            ("Pigment on rag", Per::SquareFoot),
            ("Tube and packing", Per::Piece),
        ],
    },
    Usual {
        trade: "mounter",
        items: &[
            ("Laminate and mount", Per::SquareFoot),
            ("Rigid foam board, 3/4 in", Per::SquareFoot),
            ("Aluminium composite, 3 mm", Per::SquareFoot),
            ("Luster laminate", Per::SquareFoot),
            ("Gloss laminate", Per::SquareFoot),
            ("Trimming", Per::Piece),
        ],
    },
    Usual {
        trade: "framer",
        items: &[
            ("Float frame, ash", Per::RunningFoot),
            ("Float frame, walnut", Per::RunningFoot),
            ("Joining a float frame", Per::Frame),
            ("Rabbeted frame", Per::UnitedInch),
            ("Acrylic", Per::SquareFoot),
            ("Window mat", Per::Piece),
            ("Hangers and fixing", Per::Frame),
            ("Crate", Per::Piece),
        ],
    },
    Usual { trade: "installer", items: &[("Hanging, two people", Per::Hour), ("Way there and back", Per::Piece)] },
    Usual { trade: "carrier", items: &[("Van, local", Per::Piece), ("Insurance", Per::Piece)] },
];

/// What a shop of this trade usually makes, and what each is priced by in a notebook of these units; nothing for a trade that
/// is not known.
#[must_use]
pub fn usual(trade: &str, units: Units) -> Vec<(&'static str, Per)> {
    let items =
        roles::role(trade).and_then(|role| USUAL.iter().find(|one| one.trade == role.name)).map(|one| one.items);
    let per = |per: Per| match (units, per) {
        (Units::Metric, Per::SquareFoot) => Per::SquareMetre,
        (Units::Metric, Per::RunningFoot | Per::UnitedInch) => Per::RunningMetre,
        (_, per) => per,
    };
    items.unwrap_or_default().iter().map(|(item, by)| (*item, per(*by))).collect()
}

#[cfg(test)]
mod tests {
    use super::{USUAL, usual};
    use crate::measure::Units;
    use crate::trade::price_list::Per;
    use crate::trade::roles::ROLES;

    #[test]
    fn every_trade_has_its_usual_items_each_once() {
        assert!(ROLES.iter().map(|role| role.name).eq(USUAL.iter().map(|one| one.trade)));
        for one in USUAL {
            let mut names: Vec<_> = one.items.iter().map(|(item, _)| item.to_lowercase()).collect();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), one.items.len(), "{}", one.trade);
        }
        assert!(usual("baker", Units::Inch).is_empty());
    }

    #[test]
    fn a_metric_list_counts_in_metres() {
        assert!(usual("printer", Units::Inch).contains(&("Pigment on rag", Per::SquareFoot)));
        assert!(usual("printer", Units::Metric).contains(&("Pigment on rag", Per::SquareMetre)));
        assert!(usual("framer", Units::Metric).contains(&("Float frame, ash", Per::RunningMetre)));
    }
}
