//! What a print is mounted on and covered with: sheets, stacks of sheets, and their weight.

use super::{above_zero, caution, pair, said, spelling};
use crate::measure::{Area, Density, Grammage, Length, Mass};
use crate::{Found, Message, Value};

/// How a material is listed.
#[derive(Clone, Copy, Debug)]
enum Listed {
    /// Sold in any thickness.
    Solid(Density),
    /// Sold in this thickness and no other under the name.
    Board(Length, Grammage),
}

struct Material {
    name: &'static str,
    listed: Listed,
}

const fn solid(name: &'static str, kg_m3: f64) -> Material {
    Material { name, listed: Listed::Solid(Density::kg_m3(kg_m3)) }
}

const fn board(name: &'static str, mm: f64, gsm: f64) -> Material {
    Material { name, listed: Listed::Board(Length::mm(mm), Grammage::gsm(gsm)) }
}

// The sheet's own data sheet wins over every row: give a thickness and a weight per area or a density.
const MATERIALS: &[Material] = &[
    // Source: EN 572-1, 2500 kg/m³ (read in a page that cites it).
    solid("float glass", 2500.0),
    // Source: ISO 7823-1, ISO 1183, typical (from memory).
    solid("acrylic", 1190.0),
    // Source: ISO 7391, typical (from memory).
    solid("polycarbonate", 1200.0),
    // Source: EN 1999-1-1, design value (from memory).
    solid("aluminium", 2700.0),
    // Source: EN 316, EN 622-5, 700 to 800 kg/m³ (from memory).
    solid("MDF", 750.0),
    // Source: handbook range 650 to 700 kg/m³ (from memory).
    solid("birch plywood", 680.0),
    // Source: built up from 2 × 0.3 mm aluminium 2700 and 2.4 mm polyethylene 920; makers quote 3.8 kg/m² (practice).
    board("aluminium composite", 3.0, 3828.0),
    // Source: built up from 2 × 0.5 mm aluminium 2700 and 3 mm polyethylene 920; makers quote 5.5 kg/m² (practice).
    board("aluminium composite", 4.0, 5460.0),
    // Source: common practice, no source: 0.6 to 0.9 kg/m².
    board("foam board", 5.0, 750.0),
    // Source: common practice, no source: 1.8 to 3.5 kg/m². Weigh a piece.
    board("rigid foam board", 19.05, 2650.0),
    // Source: common practice, no source: 250 to 290 g/m².
    board("RC paper", 0.24, 255.0),
    // Source: common practice, no source: 260 to 290 g/m².
    board("polyester gloss", 0.19, 275.0),
    // Source: common practice, no source: 308 g/m².
    board("cotton rag", 0.46, 308.0),
    // Source: 80 µm of vinyl at 1.38 g/cm³ (handbook value, from memory) and 25 g/m² of adhesive (practice).
    board("laminate film", 0.1, 135.4),
    // Source: common practice, no source: 20 to 30 g/m² a layer.
    board("adhesive", 0.025, 25.0),
];

/// A sheet, or sheets one on another, known by thickness and weight per area.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    name: String,
    thickness: Length,
    grammage: Grammage,
    glass: bool,
}

/// The longest name of a stack that is made of the names in it.
const LONGEST_NAME: usize = 240;

impl Sheet {
    /// A material from the table in the thickness asked for, or in its usual one.
    ///
    /// # Errors
    /// When the name is unknown, a thickness is needed and missing, or the material is not listed that thick.
    pub fn of(name: &str, thickness: Option<Length>) -> Result<Self, Message> {
        let named: Vec<_> = MATERIALS.iter().filter(|one| spelling::is_same(one.name, name)).collect();
        let Some(first) = named.first() else { return Err(unknown(name)) };
        if let Some(thickness) = thickness {
            above_zero("thickness", thickness)?;
        }
        let found = named.iter().find_map(|one| match (one.listed, thickness) {
            (Listed::Solid(density), Some(thickness)) => Some((thickness, thickness * density)),
            (Listed::Solid(_), None) => None,
            (Listed::Board(usual, grammage), asked) => {
                (asked.is_none_or(|asked| asked.quantity().agrees(usual.quantity()))).then_some((usual, grammage))
            }
        });
        let Some((thickness, grammage)) = found else {
            return Err(match thickness {
                None => Message::new(
                    format!("`{}` comes in many thicknesses", first.name),
                    format!("say which: `sheet(\"{}\", 3.mm)`", first.name),
                ),
                Some(thickness) => Message::new(
                    format!("`{}` is not listed {} thick", first.name, said(thickness)),
                    "weigh a piece and give its weight per area: `sheet(\"name\", 10.mm, 1500.gsm)`",
                ),
            });
        };
        Ok(Self { name: first.name.into(), thickness, grammage, glass: first.name == "float glass" })
    }

    /// A sheet of your own, by its thickness and weight per area.
    ///
    /// # Errors
    /// When either is zero or less.
    pub fn own(name: &str, thickness: Length, grammage: Grammage) -> Result<Self, Message> {
        above_zero("thickness", thickness)?;
        above_zero("weight per area", grammage)?;
        Ok(Self { name: name.into(), thickness, grammage, glass: name.to_lowercase().contains("glass") })
    }

    /// Sheets one on another.
    ///
    /// # Errors
    /// When there is none.
    pub fn stack(sheets: &[&Self]) -> Result<Self, Message> {
        if sheets.is_empty() {
            return Err(Message::new("a stack of no sheets has no weight", "list its sheets: `stack([paper, board])`"));
        }
        let names: Vec<_> = sheets.iter().map(|one| one.name.as_str()).collect();
        let (name, thickness): (_, Length) = (names.join(" on "), sheets.iter().map(|one| one.thickness).sum());
        let grammage: Grammage = sheets.iter().map(|one| one.grammage).sum();
        above_zero("thickness of the stack", thickness)?;
        above_zero("weight per area of the stack", grammage)?;
        Ok(Self {
            // Stacks of stacks have no name that can be read.
            name: if name.len() > LONGEST_NAME { format!("stack of {}", sheets.len()) } else { name },
            thickness,
            grammage,
            glass: sheets.iter().any(|one| one.glass),
        })
    }

    /// The names in the table, each once.
    pub fn names() -> Vec<&'static str> {
        let mut names: Vec<_> = MATERIALS.iter().map(|one| one.name).collect();
        names.dedup();
        names
    }

    /// Its thickness.
    pub fn thickness(&self) -> Length {
        self.thickness
    }

    /// Its weight per area.
    pub fn grammage(&self) -> Grammage {
        self.grammage
    }

    /// What a piece of it weighs: area times weight per area.
    pub fn weight(&self, width: Length, height: Length) -> Mass {
        width * height * self.grammage
    }

    /// As [`Sheet::weight`], with the working and the caution.
    ///
    /// # Errors
    /// When a side is zero or less.
    pub fn found_weight(&self, width: Length, height: Length) -> Result<Found, Message> {
        above_zero("width", width)?;
        above_zero("height", height)?;
        let area: Area = width * height;
        let found = Found::by(area * self.grammage, "{} × {}", [area.into(), self.grammage.into()]);
        Ok(found.beware(if self.glass { caution::GLASS } else { caution::WEIGHT }))
    }
}

fn unknown(name: &str) -> Message {
    Message::new(
        format!("no sheet material is called `{name}`"),
        format!(
            "use one of {}, or give its thickness and weight: `sheet(\"{name}\", 3.mm, 3800.gsm)`",
            Sheet::names().join(", ")
        ),
    )
}

thing!(Sheet, "a sheet", |sheet| vec![
    sheet.name.as_str().into(), ", ".into(), sheet.thickness.into(), ", ".into(), sheet.grammage.into(),
], {
    name "What it is called." => Found::stated(sheet.name.as_str()),
    thickness "Its thickness; of a stack, all thicknesses together." => Found::stated(sheet.thickness),
    grammage "Its weight per area; of a stack, all together." => Found::stated(sheet.grammage),
});

/// Glass, acrylic and a laminate film over one print, by weight.
#[derive(Clone, Debug, PartialEq)]
pub struct Glazing {
    size: (Length, Length),
    glass: Sheet,
    acrylic: Sheet,
    laminate: Sheet,
}

impl Glazing {
    /// The three covers for one size, glass and acrylic in these thicknesses.
    ///
    /// # Errors
    /// When a length is zero or less.
    pub fn new(size: (Length, Length), glass: Length, acrylic: Length) -> Result<Self, Message> {
        above_zero("width", size.0)?;
        above_zero("height", size.1)?;
        Ok(Self {
            size,
            glass: Sheet::of("float glass", Some(glass))?,
            acrylic: Sheet::of("acrylic", Some(acrylic))?,
            laminate: Sheet::of("laminate film", None)?,
        })
    }

    /// The share of light both faces of a clear sheet throw back, seen straight on: 2R ÷ (1 + R), R = ((n − 1) ÷ (n + 1))².
    ///
    /// Source: Fresnel's formula at normal incidence with both faces (read in a page on the optics of glass, which gives
    /// about 8 percent for window glass). Index 1.52 for float glass (EN 572; from memory), 1.49 for acrylic (ISO 489, maker's
    /// sheets; from memory).
    fn throws_back(index: f64) -> Found {
        let one = ((index - 1.0) / (index + 1.0)).powi(2);
        Found::by(2.0 * one / (1.0 + one), "both faces of a sheet of index {}, seen straight on", [index.into()])
    }

    fn weight(&self, sheet: &Sheet) -> Option<Found> {
        sheet.found_weight(self.size.0, self.size.1).ok()
    }

    fn shown(&self, sheet: &Sheet) -> Value {
        sheet.weight(self.size.0, self.size.1).into()
    }
}

thing!(Glazing, "a comparison of glazing", |all| vec![
    "glass ".into(), all.shown(&all.glass), ", acrylic ".into(), all.shown(&all.acrylic),
    ", laminate ".into(), all.shown(&all.laminate),
], {
    size "The size that is covered." => Found::stated(pair(all.size.0, all.size.1)),
    glass "Weight of float glass over it." => all.weight(&all.glass),
    acrylic "Weight of acrylic sheet over it." => all.weight(&all.acrylic),
    laminate "Weight of a laminate film on it, which takes the place of glazing (common practice, no source)." => all.weight(&all.laminate),
    glass_throws_back "The share of light that plain glass throws back, seen straight on." => Self::throws_back(1.52),
    acrylic_throws_back "The share of light that plain acrylic throws back, seen straight on." => Self::throws_back(1.49),
    reflection "What is seen in each, in words." => Found::stated(
        "Plain glass and plain acrylic mirror a lamp as a clear picture of it; coated ones leave a faint tint of it; a luster \
         laminate spreads it into a dull patch and mirrors nothing.",
    ),
    saved "What the laminate saves against glass." => Found::by(
        all.glass.weight(all.size.0, all.size.1) - all.laminate.weight(all.size.0, all.size.1), "{} − {}",
        [all.shown(&all.glass), all.shown(&all.laminate)],
    ).beware(caution::WEIGHT),
});
