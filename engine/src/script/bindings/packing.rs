//! Lifting, packing and carrying.

use super::{length_or, number_or, size_at};
use crate::measure::{Angle, Dims, Length, Mass, Quantity, Time};
use crate::script::args::{Args, Function};
use crate::trade::crating::{Crate, WALL};
use crate::trade::customs;
use crate::trade::freight::{self, Parcel, Tariff};
use crate::trade::lifting::{Coupling, Lift, Team};
use crate::trade::passage::{Car, DOOR, DOOR_HEIGHT, Doorway, JAMB, LeastCar, Ride, longest_round_corner};
use crate::trade::route::{Load, Place, Route, Van};
use crate::trade::tube::{CORE, ENDS, PADDING, Tube};
use crate::{Found, Message, Thing, Value};

/// Three lengths: width, height and depth.
fn three_at(a: &Args<'_>, place: usize, name: &str) -> Result<[Length; 3], Message> {
    let all = match a.values.get(place) {
        Some(Value::List(all)) => all.as_slice(),
        Some(Value::Thing(thing)) => {
            if let Some(crate_) = thing.get::<Crate>() {
                return Ok(crate_.outside());
            }
            if let Some(tube) = thing.get::<Tube>() {
                return Ok(tube.sides());
            }
            &[]
        }
        _ => &[],
    };
    let inner = Args { function: a.function, values: all };
    if all.len() != 3 {
        return Err(a.wrong(place, name, "three lengths", "[80.inch, 32.inch, 6.inch]"));
    }
    Ok([inner.size(0, "width")?, inner.size(1, "height")?, inner.size(2, "depth")?])
}

fn coupling_at(a: &Args<'_>, place: usize) -> Result<Coupling, Message> {
    if !a.has(place) {
        return Ok(Coupling::Fair);
    }
    match a.text(place, "hold")?.to_lowercase().as_str() {
        "good" => Ok(Coupling::Good),
        "fair" => Ok(Coupling::Fair),
        "poor" => Ok(Coupling::Poor),
        _ => Err(a.wrong(place, "hold", "\"good\", \"fair\" or \"poor\"", "\"fair\"")),
    }
}

/// A volume over a weight, as carriers state their factor.
const FACTOR: Dims = Dims([3, -1, 0, 0, 0, 0, 0, 0]);

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "lift",
        takes: "load, reach, height, travel, [twist], [per_minute], [time], [hold]",
        about: "The weight one person should lift at most: 51 lb times six multipliers for reach from the ankles, height of the hands, travel, twist (0° by default), lifts a minute (0.2), time (1 hour) and hold (\"fair\"). A guide, not a legal limit. Source: Revised NIOSH Lifting Equation, DHHS (NIOSH) 94-110.",
        example: "lift(35.lb, 15.inch, 27.inch, 17.inch, 0.deg, 0.2, 1.hours, \"poor\").limit",
        call: |a| {
            let height = a.length(2, "height of the hands")?;
            let lift = Lift {
                load: a.mass(0, "load")?,
                reach: a.length(1, "reach")?,
                height,
                start_height: height,
                travel: a.length(3, "travel")?,
                twist: if a.has(4) { a.angle(4, "twist")? } else { Angle::ZERO },
                per_minute: number_or(a, 5, "number of lifts a minute", 0.2)?,
                lasts: if a.has(6) { a.time(6, "time")? } else { Time::hours(1.0) },
                coupling: coupling_at(a, 7)?,
            };
            Ok(Found::stated(Thing::new(lift.checked()?)))
        },
    },
    Function {
        name: "crate_for",
        takes: "piece, depth, padding, [wall]",
        about: "A crate round a piece with padding on all six sides and walls of plywood, 1/2 in by default (common practice, no source). Source: arithmetic (identity).",
        example: "crate_for([74.inch, 26.inch], 2.inch, 2.inch).outside",
        call: |a| {
            let (width, height) = size_at(a, 0, "piece")?;
            let piece = [width, height, a.size(1, "depth")?];
            Ok(Found::stated(Thing::new(Crate::new(piece, a.length(2, "padding")?, length_or(a, 3, "wall", WALL)?)?)))
        },
    },
    Function {
        name: "dim_weight",
        takes: "crate or tube or sides, tariff, [actual], [step]",
        about: "The weight a carrier charges for: real or by size, whichever is more, rounded up to the step. The tariff is \"postal\" or \"postal ground\" (166 in³/lb above 1 ft³), \"air\" (6000 cm³/kg), \"courier\" (139 in³/lb, each side up to the whole inch, `surcharge` says what is added), \"courier metric\" (5000 cm³/kg, sides up to the centimetre), or the carrier's own factor, a volume over a weight. Tariffs change: check the current one. A parcel not weighed yet is charged by its size. Sources: USPS Domestic Mail Manual, IATA; parcelindustry.com article 6567 and carriers' surcharge pages for January 2026 (read).",
        example: "dim_weight([80.inch, 32.inch, 6.inch], \"postal\").charged",
        call: |a| {
            let mut tariff = match a.values.get(1) {
                Some(Value::Text(name)) => Tariff::named(name)?,
                Some(Value::Quantity(factor @ Quantity { dims: FACTOR, .. })) => Tariff::own(*factor)?,
                _ => return Err(a.wrong(1, "tariff", "a tariff by name or a volume over a weight", "\"postal\"")),
            };
            if a.has(3) {
                tariff.step = a.mass(3, "step")?;
            }
            let actual = if a.has(2) { a.mass(2, "weight")? } else { Mass::ZERO };
            let parcel = Parcel::new(three_at(a, 0, "sides")?, tariff, actual)?;
            Ok(Found::stated(Thing::new(match a.is::<Tube>(0) {
                Some(tube) => parcel.measured_round(tube.length() + tube.girth()),
                None => parcel,
            })))
        },
    },
    Function {
        name: "freight_class",
        takes: "crate or sides, weight",
        about: "The freight class of a crate by its density with its pallet, an estimate: framed glass and art often carry a note of their own. Source: NMFC 13-step density scale, Docket 2025-1, from 19 July 2025 (read).",
        example: "freight_class([80.inch, 12.inch, 42.inch], 240.lb)",
        call: |a| freight::class(three_at(a, 0, "sides")?, a.mass(1, "weight")?),
    },
    Function {
        name: "passes_door",
        takes: "panel, thickness, [door]",
        about: "Whether a panel goes through a door of that clear width and height, 32 × 80 in by default (least of the 2010 ADA Standards 404.2.3, from memory), carried on edge, upright or tilted. Bare geometry: handles and hands take room. Source: Carver, American Mathematical Monthly 64 (1957).",
        example: "passes_door([84.inch, 120.inch], 2.inch, [32.inch, 80.inch]).passes",
        call: |a| {
            let door = if a.has(2) { size_at(a, 2, "door")? } else { (DOOR, DOOR_HEIGHT) };
            Ok(Found::stated(Thing::new(Doorway::new(size_at(a, 0, "panel")?, a.size(1, "thickness")?, door)?)))
        },
    },
    Function {
        name: "longest_round_corner",
        takes: "thickness, corridor, [second_corridor]",
        about: "The longest piece of that thickness that is carried level round a corner between two corridors, the second as wide as the first by default. Bare geometry. Source: ladder round a corner, with thickness (identity).",
        example: "longest_round_corner(4.inch, 36.inch)",
        call: |a| {
            let first = a.size(1, "corridor")?;
            longest_round_corner(a.size(0, "thickness")?, first, length_or(a, 2, "second corridor", first)?)
        },
    },
    Function {
        name: "least_car",
        takes: "kind",
        about: "The least lift car the accessibility standard allows with its door \"centred\" or \"off-centre\", one \"deep\" or \"square\" with its door anywhere, or one of \"limited use\". Cars differ: measure yours. Source: 2010 ADA Standards 407.4.1 (in part read in secondary pages, in part from memory) and 408.4.1 (read where it is copied).",
        example: "least_car(\"centred\").depth",
        call: |a| Ok(Found::stated(Thing::new(LeastCar::named(a.text(0, "kind")?)?))),
    },
    Function {
        name: "passes_car",
        takes: "panel, thickness, car, door, [place], [hall], [jamb]",
        about: "Whether a panel can be brought into a lift car, upright on edge or on end, until the door closes behind it: places and turns are swept, and only a motion that was found is a yes. The car by inside width, depth and height, the door by clear width and height, and its place: \"side\", \"middle\", or how far from the left wall; in the middle by default, which `assumed` says. The hall before it is open and the jamb 3 in by default. What fits inside may not get in: `fits_inside` and `longest_on_floor` are bare geometry of the car, and `tipped` says whether it lies there on one corner. Source: cell decomposition of positions and turns (own sweep, held against closed forms); Carver 1957 for what fits.",
        example: "passes_car([84.inch, 48.inch], 4.inch, [51.inch, 80.inch, 90.inch], [36.inch, 84.inch]).passes",
        call: |a| {
            let door_from = match a.values.get(4) {
                None => None,
                Some(Value::Text(place)) if place.trim().eq_ignore_ascii_case("side") => Some(Length::ZERO),
                Some(Value::Text(place)) if place.trim().eq_ignore_ascii_case("middle") => {
                    Some((three_at(a, 2, "car")?[0] - size_at(a, 3, "door")?.0) / 2.0)
                }
                Some(Value::Text(_)) => {
                    return Err(a.wrong(
                        4,
                        "place of the door",
                        "\"side\", \"middle\" or a length from the left wall",
                        "\"side\"",
                    ));
                }
                Some(_) => Some(a.length(4, "place of the door")?),
            };
            let car = Car {
                door: size_at(a, 3, "door")?,
                inside: three_at(a, 2, "car")?,
                door_from,
                hall: if a.has(5) { Some(a.size(5, "depth of the hall")?) } else { None },
                jamb: length_or(a, 6, "jamb", JAMB)?,
            };
            Ok(Found::stated(Thing::new(Ride::new(size_at(a, 0, "panel")?, a.size(1, "thickness")?, car)?)))
        },
    },
    Function {
        name: "passes_side_door",
        takes: "length, thickness, corridor, door, [wall], [room]",
        about: "Whether a piece carried level on edge gets from a corridor through a door in its side into a room: places and turns are swept, and only a motion that was found is a yes. The wall is 5 in thick and the room 120 in deep by default (common practice, no source). Source: cell decomposition of positions and turns (own sweep, held against closed forms).",
        example: "passes_side_door(60.inch, 3.inch, 44.inch, 36.inch).passes",
        call: |a| {
            let wall = length_or(a, 4, "thickness of the wall", Length::inch(5.0))?;
            let room = length_or(a, 5, "depth of the room", Length::inch(120.0))?;
            let place = Place::SideDoor([a.size(2, "corridor")?, a.size(3, "door")?, wall, room]);
            Ok(Found::stated(Thing::new(Route::new(a.size(0, "length")?, a.size(1, "thickness")?, place)?)))
        },
    },
    Function {
        name: "passes_landing",
        takes: "length, thickness, flight, landing, [well]",
        about: "Whether a piece carried level on edge gets from one flight of stairs to the other beside it over a half landing, the flights so wide, the landing so deep, the well between them 4 in by default (common practice, no source): places and turns are swept, and only a motion that was found is a yes. Along the pitch a longer piece may pass. Source: cell decomposition of positions and turns (own sweep).",
        example: "passes_landing(60.inch, 4.inch, 36.inch, 42.inch).passes",
        call: |a| {
            let well = length_or(a, 4, "well", Length::inch(4.0))?;
            let place = Place::Landing([a.size(2, "width of a flight")?, well, a.size(3, "depth of the landing")?]);
            Ok(Found::stated(Thing::new(Route::new(a.size(0, "length")?, a.size(1, "thickness")?, place)?)))
        },
    },
    Function {
        name: "passes_van",
        takes: "panel, thickness, van, arches, door",
        about: "Whether a panel slides straight into a van from behind, upright, flat or leaning at one angle: the van by inside width, length and height, the arches by the room between them and their height, the rear door by clear width and height. Only what was found is a yes. Source: geometry (identity), own sweep of angles.",
        example: "passes_van([80.inch, 50.inch], 4.inch, [68.inch, 120.inch, 66.inch], [48.inch, 12.inch], [60.inch, 62.inch]).passes",
        call: |a| {
            let van =
                Van { inside: three_at(a, 2, "van")?, arches: size_at(a, 3, "arches")?, door: size_at(a, 4, "door")? };
            Ok(Found::stated(Thing::new(Load::new(size_at(a, 0, "panel")?, a.size(1, "thickness")?, van)?)))
        },
    },
    Function {
        name: "lift_end",
        takes: "lift, reach, height",
        about: "The other end of a lift, where the hands come to, judged at its own reach and height: the smaller limit of the two counts when the load must be set down with care. Source: Revised NIOSH Lifting Equation, DHHS (NIOSH) 94-110.",
        example: "lift_end(lift(35.lb, 15.inch, 27.inch, 17.inch, 0.deg, 0.2, 1.hours, \"poor\"), 20.inch, 10.inch).limit",
        call: |a| {
            let from = a.thing::<Lift>(0, "lift", "a lift", "lift(35.lb, 15.inch, 27.inch, 17.inch)")?;
            Ok(Found::stated(Thing::new((*from).to(a.length(1, "reach")?, a.length(2, "height of the hands")?)?)))
        },
    },
    Function {
        name: "team_lift",
        takes: "lift, people",
        about: "What two or three people should lift together at most, each standing as in the lift, whose load is the whole load: what each should lift × people × 2/3 for two, × 1/2 for three. A guide, not a legal limit. Source: HSE guidance L23 to the Manual Handling Operations Regulations 1992 (read where it is quoted) on the limit of DHHS (NIOSH) 94-110.",
        example: "team_lift(lift(48.lb, 14.inch, 30.inch, 20.inch, 0.deg, 0.2, 1.hours, \"poor\"), 2).limit",
        call: |a| {
            let one = a.thing::<Lift>(0, "lift", "a lift", "lift(48.lb, 14.inch, 30.inch, 20.inch)")?;
            Ok(Found::stated(Thing::new(Team::new(*one, a.count(1, "number of people")?)?)))
        },
    },
    Function {
        name: "tube_for",
        takes: "print or size, [core], [padding], [ends]",
        about: "A round tube for a print rolled along its longer side: a core of 6 in, 3/4 in of wrapping and wall all round and 2 in at each end by default (common practice, no source). Carriers measure the girth round it. It stands wherever a parcel does. Source for the girth: the price calculator of the US postal service (read).",
        example: "tube_for([40.inch, 30.inch]).length_and_girth",
        call: |a| {
            let core = if a.has(1) { a.size(1, "core")? } else { CORE };
            let (padding, ends) = (length_or(a, 2, "padding", PADDING)?, length_or(a, 3, "room at the ends", ENDS)?);
            Ok(Found::stated(Thing::new(Tube::new(size_at(a, 0, "print")?, core, padding, ends)?)))
        },
    },
    Function {
        name: "customs_facts",
        takes: "",
        about: "What a customs office asks about a print that leaves the country, as a list to fill in for the shop that ships it. No legal advice: ask the office or a broker. Source: 19 CFR 141.86 (read in a broker's list of it); what a print adds is common practice, no source.",
        example: "customs_facts()",
        call: |_| Ok(customs::facts()),
    },
];
