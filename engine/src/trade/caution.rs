//! What to beware of where weight, glass, lifting and hanging can hurt someone.
//!
//! The usual cautions of the trade (common practice, no single source).

/// Beside every load on a hook, a wire or a cleat.
pub const HANGING: &str = "Arithmetic, not an inspection. Use hardware rated for the load, fixed into structure and not into \
     plasterboard alone; two people hang a large piece; where a licensed installer is required, use one. Local codes rule.";

/// Beside every weight that someone will carry or hang.
pub const WEIGHT: &str = "Calculated from listed values: weigh a piece of your own material. Two people carry a large piece, \
     and hardware is chosen by its rating.";

/// Beside every weight of glass.
pub const GLASS: &str = "Large panes of annealed glass break into long splinters: carry on edge, two people, gloves and eye \
     protection; where people pass below, ask a glazier for safety glazing. Local codes rule.";

/// Beside every recommended lift.
pub const LIFTING: &str = "A guide for healthy adults lifting with two hands on a firm floor, not a legal limit and not medical \
     advice. When the index is above 1, share or divide the load or use lifting gear.";

/// Beside every statement on doors, corners and lift cars.
pub const PASSAGE: &str = "Geometry of bare openings: handles, closers, handrails and hands take room. Measure on site and \
     keep a finger's width on every side; two people carry a large piece.";
