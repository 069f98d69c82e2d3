//! Boards, glazing and laminate, and what they weigh.

use super::{length_or, size_at};
use crate::measure::{Density, Grammage, Length, Quantity};
use crate::script::args::Function;
use crate::trade::boards::Boards;
use crate::trade::mount::{Glazing, Sheet};
use crate::{Found, Thing, Value};

const SHEET: (&str, &str) = ("a sheet or a stack", "sheet(\"float glass\", 3.mm)");

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "sheet",
        takes: "name, [thickness], [weight per area or density]",
        about: "A sheet material by name: float glass, acrylic, polycarbonate, aluminium, MDF, birch plywood in any thickness; aluminium composite (3 or 4 mm), foam board (5 mm), rigid foam board (3/4 in), RC paper, polyester gloss, cotton rag, laminate film, adhesive as usually sold. With a weight per area or a density it is a sheet of your own, and that wins: read the data sheet or weigh a piece. Source: EN 572-1 for glass (read); others typical values of the standards named in the table, or common practice.",
        example: "sheet(\"float glass\", 3.mm).grammage",
        call: |a| {
            let name = a.text(0, "name")?;
            let sheet = match a.values.get(2) {
                Some(Value::Quantity(Quantity { dims: Density::DIMS, .. })) => {
                    let thickness = a.size(1, "thickness")?;
                    Sheet::own(name, thickness, thickness * a.density(2, "density")?)?
                }
                Some(_) => Sheet::own(name, a.size(1, "thickness")?, a.grammage(2, "weight per area")?)?,
                None if a.has(1) => Sheet::of(name, Some(a.size(1, "thickness")?))?,
                None => Sheet::of(name, None)?,
            };
            Ok(Found::stated(Thing::new(sheet)))
        },
    },
    Function {
        name: "stack",
        takes: "sheets",
        about: "Sheets one on another: thicknesses and weights per area add up. Source: arithmetic (identity).",
        example: "stack([sheet(\"RC paper\"), sheet(\"adhesive\"), sheet(\"rigid foam board\")]).thickness",
        call: |a| {
            let wanted = ("a list of sheets", "[sheet(\"RC paper\"), sheet(\"foam board\")]");
            let all = a.things(0, "sheets", wanted.0, wanted.1)?;
            let sheets: Option<Vec<&Sheet>> = all.iter().map(|one| one.get::<Sheet>()).collect();
            let sheets = sheets.ok_or_else(|| a.wrong(0, "sheets", wanted.0, wanted.1))?;
            Ok(Found::stated(Thing::new(Sheet::stack(&sheets)?)))
        },
    },
    Function {
        name: "weight",
        takes: "sheet or stack, size",
        about: "What a piece of a sheet or a stack weighs: its area times its weight per area. Source: arithmetic (identity).",
        example: "weight(sheet(\"float glass\", 3.mm), [24.inch, 72.inch])",
        call: |a| {
            let sheet = a.thing::<Sheet>(0, "material", SHEET.0, SHEET.1)?;
            let (width, height) = size_at(a, 1, "size")?;
            sheet.found_weight(width, height)
        },
    },
    Function {
        name: "compare_glazing",
        takes: "size, [glass], [acrylic]",
        about: "What float glass, acrylic and a laminate film over one size weigh; glass and acrylic 3 mm thick by default. Source: EN 572-1 for glass (read), ISO 7823-1 for acrylic (from memory); reflection by Fresnel's formula (read).",
        example: "compare_glazing([24.inch, 72.inch]).glass",
        call: |a| {
            let usual = Length::mm(3.0);
            let (glass, acrylic) = (
                length_or(a, 1, "thickness of the glass", usual)?,
                length_or(a, 2, "thickness of the acrylic", usual)?,
            );
            Ok(Found::stated(Thing::new(Glazing::new(size_at(a, 0, "size")?, glass, acrylic)?)))
        },
    },
    Function {
        name: "grammage_of",
        takes: "weight, size",
        about: "The weight per area of a piece you weighed, for a sheet of your own. Source: arithmetic (identity).",
        example: "grammage_of(12.lb, [24.inch, 36.inch])",
        call: |a| {
            let (width, height) = size_at(a, 1, "size")?;
            let (weight, area) = (a.mass(0, "weight")?, width * height);
            if !weight.is_positive() {
                return Err(a.wrong(0, "weight", "a weight above zero", "12.lb"));
            }
            let per_area = Grammage::gsm(weight.to_g() / area.to_m2());
            Ok(Found::by(per_area, "{} ÷ {}", [weight.into(), area.into()]))
        },
    },
    Function {
        name: "boards_for",
        takes: "piece or size, count, stock, [kerf]",
        about: "How many boards to order for so many equal blanks: what comes out of one board, in rows, turned where that gives more, the saw taking the kerf between two, none by default. Source: arithmetic (identity).",
        example: "boards_for([30.inch, 40.inch], 5, [96.inch, 48.inch], 0.125.inch).boards",
        call: |a| {
            let kerf = length_or(a, 3, "kerf", Length::ZERO)?;
            let (size, stock) = (size_at(a, 0, "size")?, size_at(a, 2, "stock")?);
            Ok(Found::stated(Thing::new(Boards::new(size, stock, a.count(1, "count")?, kerf)?)))
        },
    },
];
