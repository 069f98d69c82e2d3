//! Light on a print.

use crate::measure::Angle;
use crate::script::args::Function;
use crate::trade::light::{self, AIM, Beam, Lamp, Lamps, Sensitivity};
use crate::{Found, Message, Thing, Value};

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "illuminance",
        takes: "candela, distance or lamp, [angle]",
        about: "Light on the wall from one lamp: candela, a plain number, times the cosine of the angle from straight on (0° by default), divided by the square of the distance; a `lamp` brings its own distance and angle. Source: inverse-square law.",
        example: "illuminance(900, 1500.mm)",
        call: |a| {
            if let Some(lamp) = a.is::<Lamp>(1) {
                return light::illuminance(a.number(0, "candela")?, lamp.distance(), lamp.falls());
            }
            let angle = if a.has(2) { a.angle(2, "angle")? } else { Angle::ZERO };
            light::illuminance(a.number(0, "candela")?, a.length(1, "distance")?, angle)
        },
    },
    Function {
        name: "light_dose",
        takes: "light, time_a_day, days",
        about: "Light over time: illuminance × hours a day × days, the days a plain number; `52.weeks` are 260 working days and are refused. Source: arithmetic (identity).",
        example: "light_dose(200.lux, 8.hours, 300)",
        call: |a| {
            if a.days(2, "days").is_ok() {
                return Err(Message::new(
                    "light falls on Sundays too: days and weeks with a unit are working days, five to the week",
                    "write the days of light as a plain number, such as `364` for 52 weeks",
                ));
            }
            let days = a.number(2, "number of days")?;
            light::dose(a.illuminance(0, "light")?, a.time(1, "time a day")?, days)
        },
    },
    Function {
        name: "beam",
        takes: "angle, distance, [lumens]",
        about: "The spot a lamp of this full beam angle throws, 2 × distance × tan(angle ÷ 2), and with its lumens, a plain number, the mean candela in the cone. Source: solid angle of a cone.",
        example: "beam(36.deg, 1500.mm, 500).spot",
        call: |a| {
            let lumens = if a.has(2) { Some(a.number(2, "lumens")?) } else { None };
            Ok(Found::stated(Thing::new(Beam::new(a.angle(0, "angle")?, a.length(1, "distance")?, lumens)?)))
        },
    },
    Function {
        name: "lamp_offset",
        takes: "lamp_height, centre, [angle]",
        about: "How far from the wall a lamp hangs that is aimed at the middle of a print: (lamp − centre) × tan(angle from the vertical), 30° by default (common practice, no source). Source: geometry (identity).",
        example: "lamp_offset(108.inch, 58.inch)",
        call: |a| {
            let angle = if a.has(2) { a.angle(2, "angle")? } else { AIM };
            light::lamp_offset(a.length(0, "height of the lamp")?, a.length(1, "centre")?, angle)
        },
    },
    Function {
        name: "lamp",
        takes: "lamp_height, centre, [aim]",
        about: "A lamp aimed at the middle of a print by that angle from the vertical, 30° by default: how far from the wall it hangs, how far its light goes, and at which angle from straight on it falls; `illuminance` and `lamps` take it. Source: geometry (identity); the 30° in Interior Lighting for Designers, p. 239 (read).",
        example: "illuminance(900, lamp(108.inch, 58.inch))",
        call: |a| {
            let aim = if a.has(2) { a.angle(2, "aim")? } else { AIM };
            let lamp = Lamp::new(a.length(0, "height of the lamp")?, a.length(1, "centre")?, aim)?;
            Ok(Found::stated(Thing::new(lamp)))
        },
    },
    Function {
        name: "lamps",
        takes: "print or size, lamp, count, [candela], [beam]",
        about: "So many like lamps in a row over a print: how far apart, how many it takes that none hangs farther from the next than from the wall, and how evenly they light the print. 1000 candela each and alike every way by default; the beam is the full angle at which half is left. Source: inverse-square law; spacing and aim in Interior Lighting for Designers, p. 239 (read).",
        example: "lamps([90.inch, 30.inch], lamp(108.inch, 58.inch), 3, 1000, 60.deg).least_over_mean",
        call: |a| {
            let lamp = a.thing::<Lamp>(1, "lamp", "a lamp", "lamp(108.inch, 58.inch)")?;
            let beam = if a.has(4) { Some(a.angle(4, "beam")?) } else { None };
            let candela = super::number_or(a, 3, "number of candela", 1000.0)?;
            let row = Lamps::new(super::size_at(a, 0, "print")?, *lamp, a.count(2, "number of lamps")?, candela, beam)?;
            Ok(Found::stated(Thing::new(row)))
        },
    },
    Function {
        name: "light_limit",
        takes: "category",
        about: "The most light at once and in a year for a work of this sensitivity: R0 none, R1 200 lux, R2 and R3 50 lux; colour photographs are R2 or R3 by process. Source: CIE 157:2004.",
        example: "light_limit(\"R2\").yearly",
        call: |a| Ok(Found::stated(Thing::new(Sensitivity::named(a.text(0, "category")?)?))),
    },
    Function {
        name: "viewing_light",
        takes: "condition",
        about: "The light prints are judged by, D50: P1, 2000 lux, to compare them closely; P2, 500 lux, to judge them as they hang. Source: ISO 3664:2009.",
        example: "viewing_light(\"P2\")",
        call: |a| light::viewing(a.text(0, "condition")?).map(|light| Found::stated(Value::from(light))),
    },
    Function {
        name: "stops",
        takes: "light, other light",
        about: "How many stops one light is brighter than another, as of the proof under the viewing light against the print on its wall: log2(light ÷ other). Below zero it is darker. Source: a stop is a factor of two (identity).",
        example: "stops(500.lux, 125.lux)",
        call: |a| light::stops(a.illuminance(0, "light")?, a.illuminance(1, "other light")?),
    },
];
