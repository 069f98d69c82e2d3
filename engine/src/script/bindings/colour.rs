//! Colour differences and densities.

use crate::script::args::{Args, Function};
use crate::trade::colour::{self, Lab};
use crate::{Found, Trouble, Value};

fn lab_at(a: &Args<'_>, place: usize) -> Result<Lab, Trouble> {
    match a.values.get(place) {
        Some(Value::List(all)) if all.len() == 3 => {
            let inner = Args { function: a.function, values: all };
            Lab::new(inner.number(0, "lightness")?, inner.number(1, "a")?, inner.number(2, "b")?)
        }
        _ => Err(a.wrong(place, "colour", "three plain numbers L*, a*, b*", "[50, 2.5, 0]")),
    }
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "delta_e_76",
        takes: "lab, lab",
        about: "How far two colours are apart in L*a*b*, by plain distance. Source: ISO/CIE 11664-4.",
        example: "delta_e_76([50, 2.5, 0], [58, 24, 15])",
        call: |a| Ok(Found::stated(lab_at(a, 0)?.difference_76(lab_at(a, 1)?))),
    },
    Function {
        name: "delta_e_2000",
        takes: "lab, lab",
        about: "How far two colours look apart; about 1 is just seen side by side (common practice, no source). Source: CIE 142-2001, ISO/CIE 11664-6.",
        example: "delta_e_2000([50, 2.5, 0], [58, 24, 15])",
        call: |a| Ok(Found::stated(lab_at(a, 0)?.difference_2000(lab_at(a, 1)?))),
    },
    Function {
        name: "lab_of_srgb",
        takes: "red, green, blue",
        about: "L*, a* and b* of an sRGB pixel of 8 bits, 0 to 255 each, seen under D65. Source: IEC 61966-2-1, ISO/CIE 11664-4.",
        example: "lab_of_srgb(255, 0, 0)",
        call: |a| {
            let byte = |place, name| {
                u8::try_from(a.count(place, name)?)
                    .map_err(|_| a.wrong(place, name, "a whole number from 0 to 255", "128"))
            };
            let lab = Lab::of_srgb([byte(0, "red")?, byte(1, "green")?, byte(2, "blue")?]);
            Ok(Found::stated(Value::List(lab.numbers().into_iter().map(Value::from).collect())))
        },
    },
    Function {
        name: "density",
        takes: "reflectance",
        about: "Density of a print from the share of light it throws back: −log10 R. Source: ISO 5-1, ISO 5-4.",
        example: "density(0.18)",
        call: |a| colour::density(a.number(0, "reflectance")?),
    },
    Function {
        name: "reflectance",
        takes: "density",
        about: "The share of light a print throws back, from its density: 10 to the power of −D. Source: ISO 5-1.",
        example: "reflectance(2.3)",
        call: |a| colour::reflectance(a.number(0, "density")?),
    },
    Function {
        name: "lightness",
        takes: "reflectance",
        about: "Lightness L*, 0 to 100, from the share of light thrown back. Source: ISO/CIE 11664-4.",
        example: "lightness(0.18)",
        call: |a| colour::lightness(a.number(0, "reflectance")?),
    },
];
