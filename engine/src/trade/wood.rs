//! Woods that frames are made of, and their density.

use crate::measure::{Density, Quantity};
use crate::{Found, Message};

/// Moisture of wood kept indoors, percent, unless the plan says otherwise. Source: the basis of the table below.
pub const MOISTURE: f64 = 12.0;

/// One species: its name and its specific gravity at 12 percent moisture.
struct Species {
    name: &'static str,
    gravity: f64,
}

const fn species(name: &'static str, gravity: f64) -> Species {
    Species { name, gravity }
}

// Source: USDA Wood Handbook (FPL-GTR-282), Table 5-3b, specific gravity from oven-dry mass and volume at 12 percent
// moisture (read in tables that cite it; eastern white pine from memory). Douglas-fir of the coast and western hemlock: read
// in a state university's table of western woods that names the handbook.
const SPECIES: &[Species] = &[
    species("American basswood", 0.37),
    species("American beech", 0.64),
    species("black cherry", 0.50),
    species("black walnut", 0.55),
    species("Douglas-fir", 0.48),
    species("eastern white pine", 0.35),
    species("northern red oak", 0.63),
    species("ponderosa pine", 0.40),
    species("red maple", 0.54),
    species("sugar maple", 0.63),
    species("western hemlock", 0.45),
    species("white ash", 0.60),
    species("white oak", 0.68),
    species("yellow birch", 0.62),
    species("yellow-poplar", 0.42),
];

/// Specific gravity of a species, by its full name or its last words where only one species has them.
///
/// # Errors
/// When no species, or more than one, is meant.
pub fn specific_gravity(name: &str) -> Result<f64, Message> {
    let wanted = name.trim().to_lowercase();
    let exact = SPECIES.iter().find(|one| one.name.to_lowercase() == wanted);
    let mut close = SPECIES.iter().filter(|one| !wanted.is_empty() && one.name.to_lowercase().ends_with(&wanted));
    let only = match (close.next(), close.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    };
    exact.or(only).map(|one| one.gravity).ok_or_else(|| {
        let names: Vec<_> = SPECIES.iter().map(|one| one.name).collect();
        Message::new(
            format!("no wood is called `{name}`"),
            format!("use one of {}, or give a density: `700.kg_m3`", names.join(", ")),
        )
    })
}

/// Density of a wood at a moisture: 1000 kg/m³ × specific gravity × (1 + moisture ÷ 100).
///
/// Source: USDA Wood Handbook, chapter 4 (from memory).
///
/// # Errors
/// When the species is unknown or the moisture is not from 0 to 30 percent, where wood is saturated.
pub fn density(name: &str, moisture: f64) -> Result<Density, Message> {
    let gravity = specific_gravity(name)?;
    if !(0.0..=30.0).contains(&moisture) {
        return Err(Message::new(
            format!(
                "a moisture of {} percent is outside 0 to 30",
                Quantity::plain(moisture).shown(crate::measure::Units::Inch)
            ),
            "give the moisture in percent, about 6 to 12 indoors",
        ));
    }
    Ok(Density::kg_m3(1000.0 * gravity * (1.0 + moisture / 100.0)))
}

/// As [`density`], with the working.
///
/// # Errors
/// As [`density`].
pub fn found_density(name: &str, moisture: f64) -> Result<Found, Message> {
    let gravity = specific_gravity(name)?;
    Ok(Found::by(density(name, moisture)?, "1000 kg/m³ × {} × (1 + {} ÷ 100)", [gravity.into(), moisture.into()]))
}
