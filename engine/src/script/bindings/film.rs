//! Film and crops of it.

use super::{film_at, size_at};
use crate::script::args::Function;
use crate::trade::film::{Crop, Film};
use crate::{Found, Thing, Value};

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "film",
        takes: "format or width, [height]",
        about: "A piece of film: a format by name, lying on its long side (135, 6x4.5 to 6x24, 4x5, 5x7, 8x10, 11x14, all nominal), or the measured width and height of its image. The camera's gate fixes the image: measure your own. Source: ISO 732, ISO 1007, ISO 1012 fix the film.",
        example: "film(\"6x17\").size",
        call: |a| {
            let film = if a.has(1) {
                Film::measured(a.size(0, "width")?, a.size(1, "height")?)?
            } else {
                Film::named(a.text(0, "format")?)?
            };
            Ok(Found::stated(Thing::new(film)))
        },
    },
    Function {
        name: "upright",
        takes: "film",
        about: "The same film turned by a quarter, so that it stands on its short side. Source: arithmetic (identity).",
        example: "upright(film(\"6x17\")).ratio",
        call: |a| Ok(Found::stated(Thing::new(film_at(a, 0)?.turned()))),
    },
    Function {
        name: "crop",
        takes: "film, shape",
        about: "The largest middle part of a film in another shape: a plain number, width divided by height, or a width and a height such as `[24.inch, 70.inch]`. It stands wherever a film does. Source: arithmetic (identity).",
        example: "crop(film(\"6x17\"), 2.5).lost_each_side",
        call: |a| {
            let film = film_at(a, 0)?;
            let ratio = match a.values.get(1) {
                Some(Value::List(_) | Value::Thing(_)) => {
                    let (width, height) = size_at(a, 1, "shape")?;
                    width / height
                }
                _ => a.number(1, "shape")?,
            };
            Ok(Found::stated(Thing::new(Crop::to_ratio(film, ratio)?)))
        },
    },
];
