//! Colour differences and densities.

use super::number_or;
use crate::script::args::{Args, Function};
use crate::trade::colour::{self, Lab, Patches, TOLERANCE};
use crate::{Found, Message, Thing, Value};

fn lab_at(a: &Args<'_>, place: usize) -> Result<Lab, Message> {
    match a.values.get(place) {
        Some(Value::List(all)) if all.len() == 3 => {
            let inner = Args { function: a.function, values: all };
            Lab::new(inner.number(0, "lightness")?, inner.number(1, "a")?, inner.number(2, "b")?)
        }
        _ => Err(a.wrong(place, "colour", "three plain numbers L*, a*, b*", "[50, 2.5, 0]")),
    }
}

fn srgb_at(a: &Args<'_>) -> Result<[u8; 3], Message> {
    let byte = |place, name| {
        u8::try_from(a.count(place, name)?).map_err(|_| a.wrong(place, name, "a whole number from 0 to 255", "128"))
    };
    Ok([byte(0, "red")?, byte(1, "green")?, byte(2, "blue")?])
}

fn labs_at(a: &Args<'_>, place: usize, name: &str) -> Result<Vec<Lab>, Message> {
    let Some(Value::List(all)) = a.values.get(place) else {
        return Err(a.wrong(place, name, "a list of colours", "[[50, 2.5, 0], [60, 0, 1]]"));
    };
    let inner = Args { function: a.function, values: all };
    (0..all.len()).map(|at| lab_at(&inner, at)).collect()
}

fn numbers(all: impl IntoIterator<Item = f64>) -> Found {
    Found::stated(Value::List(all.into_iter().map(Value::from).collect()))
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
            let lab = Lab::of_srgb(srgb_at(a)?);
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
    Function {
        name: "xyz_of_srgb",
        takes: "red, green, blue",
        about: "X, Y and Z of an sRGB pixel of 8 bits, 0 to 255 each, white at Y = 1. Source: IEC 61966-2-1 (from memory).",
        example: "xyz_of_srgb(255, 0, 0)",
        call: |a| srgb_at(a).map(|rgb| numbers(colour::to_xyz(colour::linear(rgb)))),
    },
    Function {
        name: "linear_srgb",
        takes: "red, green, blue",
        about: "The light of an sRGB pixel of 8 bits, 0 to 255 each, as shares from 0 to 1. Source: IEC 61966-2-1 (from memory).",
        example: "linear_srgb(128, 128, 128)",
        call: |a| srgb_at(a).map(|rgb| numbers(colour::linear(rgb))),
    },
    Function {
        name: "white_point",
        takes: "white",
        about: "The chromaticity x, y of \"D50\", the light prints are judged by, or \"D65\", the white of sRGB, for the 2° observer. Source: CIE 15, ISO 3664 and IEC 61966-2-1 (read in the documentation of a colour science library).",
        example: "white_point(\"D50\")",
        call: |a| colour::white_point(a.text(0, "white")?).map(|(x, y)| numbers([x, y])),
    },
    Function {
        name: "compare_patches",
        takes: "measured, wanted, [tolerance]",
        about: "Patches of a proof as measured against those wanted, each three numbers L*, a*, b*: mean and worst difference of 2000, and whether none is further off than the tolerance, 2 by default (common practice, no source). Source: CIE 142-2001, ISO/CIE 11664-6.",
        example: "compare_patches([[50, 2.5, 0], [60, 1, 1]], [[50, 3.2, 0.3], [60, 0.5, 1]]).worst",
        call: |a| {
            let (measured, wanted) = (labs_at(a, 0, "measured patches")?, labs_at(a, 1, "wanted patches")?);
            Ok(Found::stated(Thing::new(Patches::new(&measured, &wanted, number_or(a, 2, "tolerance", TOLERANCE)?)?)))
        },
    },
];
