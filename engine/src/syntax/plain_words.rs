//! Plain words for what a plan can use: what a photographer or framer would look for, and the functions, statements, units and
//! parts it is found under. None of them is a name: a plan that uses one is told what was meant.

use std::sync::LazyLock;

use crate::trade::spelling;

/// What is meant, and the words for it. A part of a thing begins with a point.
const WORDS: &[(&[&str], &[&str])] = &[
    (
        &["film"],
        &[
            "35mm",
            "135 film",
            "120 film",
            "medium format",
            "large format",
            "4x5",
            "5x7",
            "8x10",
            "6x6",
            "6x7",
            "6x9",
            "6x17",
            "film format",
            "film size",
            "sheet film",
            "roll film",
            "negative",
            "neg",
            "slide",
            "transparency",
            "chrome",
            "frame size",
            "format",
        ],
    ),
    (&["upright"], &["portrait", "vertical", "rotate", "turn", "rotated"]),
    (&["crop"], &["aspect", "aspect ratio", "ratio", "cropping", "crop ratio"]),
    (&["scan"], &["scanning", "megapixel", "scan size", "digitise", "digitize", "pixels", "pixel size"]),
    (&["scan_needed"], &["scan resolution", "scan ppi", "scan dpi", "scanning resolution", "resolution needed"]),
    (&["flatbed_or_drum"], &["flatbed", "drum", "scanner", "scanner type", "drum scanner"]),
    (&["scan", "flatbed_or_drum"], &["drum scan", "flatbed scan"]),
    (&["density_range"], &["dynamic range", "dmax", "density max", "tonal range", "contrast range"]),
    (&["bits_for"], &["bit depth", "bits", "colour depth", "bits per channel"]),
    (&["nyquist"], &["line pairs", "lens resolution", "resolving power", "sampling"]),
    (&["ppi_for_distance"], &["visible pixels", "resolution for distance", "sharp enough", "sharpness", "acuity"]),
    (&["distance_for_ppi"], &["nearest distance", "distance for resolution"]),
    (&["ppi"], &["dpi", "pixels per inch", "dots per inch", "pixel density"]),
    (
        &["enlarge"],
        &[
            "print size",
            "picture size",
            "image size",
            "enlargement",
            "enlarged",
            "magnify",
            "magnification",
            "scale",
            "scale up",
            "scaling",
            "blow up",
            "make print",
            "new print",
            "print width",
            "width of print",
            "print from",
        ],
    ),
    (&["enlarge_to_height"], &["print height", "height of print"]),
    (&["enlarge", "resample"], &["resize", "resizing"]),
    (
        &["largest_print"],
        &[
            "max print",
            "maximum print",
            "max size",
            "max print size",
            "biggest print",
            "how large",
            "how big",
            "largest size",
            "maximum size",
            "max width",
        ],
    ),
    (
        &["resample"],
        &[
            "upsample",
            "downsample",
            "upres",
            "uprez",
            "interpolate",
            "interpolation",
            "upscale",
            "downscale",
            "resampling",
        ],
    ),
    (
        &["with_border"],
        &[
            "border",
            "white border",
            "white edge",
            "white margin",
            "paper border",
            "print border",
            "add border",
            "margins",
        ],
    ),
    (&["bleed"], &["bleed area", "bleed edge", "full bleed", "overprint"]),
    (&["trimmed"], &["trim size", "cut down", "cropped print"]),
    (&["bleed", "trimmed"], &["trim", "trimming"]),
    (
        &["viewing_distance"],
        &[
            "viewing dist",
            "viewer distance",
            "viewing angle",
            "view distance",
            "viewing",
            "look distance",
            "how far",
            "stand back",
        ],
    ),
    (&["proof_sheet"], &["test strip", "hard proof", "proof", "test print", "proofing", "strips"]),
    (&["delta_e_2000"], &["delta e", "color difference", "color distance", "de2000", "ciede2000", "colour error"]),
    (&["compare_patches"], &["color match", "color check", "color accuracy", "patches", "soft proof", "color patches"]),
    (&["lab_of_srgb"], &["rgb to lab", "rgb", "srgb", "color convert"]),
    (
        &["file"],
        &["file size", "disk space", "storage", "megabytes", "gigabytes", "tiff size", "psd size", "scan file"],
    ),
    (&["file_format"], &["file type", "format of file", "magic bytes", "is tiff"]),
    (&["file", "file_format"], &["tiff", "tif"]),
    (
        &["upload"],
        &["send", "send file", "transfer", "transfer time", "download", "upload time", "wetransfer time", "ftp"],
    ),
    (&["checksum"], &["md5", "sha256", "crc", "hash", "file hash", "fingerprint"]),
    (&["same_checksum"], &["verify file", "compare files", "verify"]),
    (&["file_work"], &["workflow", "file prep", "retouching", "sharpening"]),
    (&["sheet_size"], &["paper size", "a4", "a3", "a2", "a1", "a0", "arch d", "paper sheet", "paper format"]),
    (&["roll"], &["paper roll", "roll paper", "roll of paper", "roll media"]),
    (
        &["roll_for", "roll_widths"],
        &[
            "inkjet",
            "giclee",
            "giclée",
            "c print",
            "chromogenic",
            "pigment print",
            "paper width",
            "roll width",
            "roll size",
            "lambda",
            "lightjet",
            "media width",
        ],
    ),
    (&["on_roll"], &["roll length", "paper length", "paper needed", "prints per roll", "print run"]),
    (&["nest"], &["layout", "gang", "gang up", "ganging", "nesting", "imposition", "pack prints", "fit on roll"]),
    (
        &["sheet", "compare_glazing"],
        &[
            "acrylic",
            "plexi",
            "plexiglas",
            "plexiglass",
            "perspex",
            "glass",
            "lucite",
            "glazing",
            "museum glass",
            "uv glass",
        ],
    ),
    (
        &["sheet"],
        &[
            "aluminium",
            "aluminium panel",
            "aluminium sheet",
            "dibond",
            "acm",
            "backing",
            "backing board",
            "backer",
            "foam board",
            "foam core",
            "gatorboard",
            "mdf",
            "plywood",
            "panel",
            "board",
            "material",
            "substrate",
            "thickness",
        ],
    ),
    (&["stack"], &["layers", "sandwich", "face mount", "diasec", "mounted", "laminate", "build up"]),
    (&["sheet", "stack"], &["mount", "mounting", "mount board"]),
    (&["weight"], &["how heavy", "heavy", "weigh", "mass", "weights", "total weight", "kilos", "pounds of"]),
    (&["grammage_of"], &["gsm", "grammage", "paper weight", "weight per area"]),
    (&["boards_for"], &["boards needed", "sheets needed", "how many sheets", "yield"]),
    (&["cut_from"], &["blank", "cut blank", "cut board", "offcut"]),
    (&["wood"], &["timber", "lumber", "species", "hardwood", "ash", "oak", "maple", "walnut"]),
    (&["moulding"], &["stick", "frame stock", "profile", "frame profile", "frame moulding", "moulding profile"]),
    (
        &["moulding_to_buy"],
        &["moulding length", "length of moulding", "frame length", "moulding needed", "moulding footage", "perimeter"],
    ),
    (&["cut_list"], &["chop", "chop list", "cutting list", "cuts", "cutting", "saw list", "cut sheet"]),
    (
        &["float_frame", "rabbet_frame"],
        &["frame", "framing", "picture frame", "framed", "wood frame", "frame size outside", "outside size"],
    ),
    (
        &["float_frame"],
        &["floater", "floater frame", "float", "float mount", "floating frame", "shadow gap", "tray frame"],
    ),
    (&["rabbet_frame"], &["rabbet", "rebate frame", "glazed frame", "closed corner frame", "shadow box"]),
    (
        &["mat"],
        &[
            "matte",
            "matboard",
            "window mat",
            "overmat",
            "passe partout",
            "window mount",
            "bevel",
            "mat border",
            "window",
        ],
    ),
    (&["mat_windows"], &["multi opening", "multi opening mat", "multiple windows", "multi mat", "openings"]),
    (
        &["mitre"],
        &[
            "mitre angle",
            "mitre joint",
            "mitre cut",
            "corner angle",
            "corner cut",
            "corner",
            "saw angle",
            "mitred corner",
        ],
    ),
    (&["mitre_gap"], &["corner gap", "gap at corner", "mitre error", "open mitre"]),
    (&[".united"], &["united inches", "united inch", "united", "ui", "united size", "width plus height"]),
    (
        &["rating", "hang_two_hooks"],
        &["hanger", "hook", "picture hook", "picture hanger", "hook load", "two hooks", "load per hook"],
    ),
    (&["rating"], &["hook rating", "safety factor", "screw", "anchor", "wall anchor", "wall plug", "load rating"]),
    (&["back_of", "rating"], &["d ring", "strap hanger", "ring hanger"]),
    (&["back_of"], &["back", "hardware", "rear", "back side", "hanging hardware"]),
    (&["wire"], &["hanging wire", "picture wire", "wire tension", "cable", "picture cord"]),
    (&["cleat"], &["french cleat", "z bar", "z clip", "split batten", "z cleat", "wall cleat", "batten"]),
    (
        &["hook_height"],
        &["hanging height", "hang height", "hook position", "nail height", "centre height", "eye level"],
    ),
    (&["moment"], &["torque", "leverage", "bending", "bracket load"]),
    (
        &["hang_row"],
        &["spacing", "gallery wall", "row", "row of prints", "gap between", "hanging plan", "triptych", "diptych"],
    ),
    (&["elevation"], &["wall drawing", "wall view", "sketch", "draw wall", "mockup"]),
    (&["on_the_wall"], &["wall", "preview"]),
    (&["lamp", "lamps", "beam"], &["spot light", "spot", "track light", "lighting", "light fixture"]),
    (&["lamps"], &["how many lamps", "number of lamps", "wall washer"]),
    (&["lamp_offset"], &["lamp distance", "light position", "track distance"]),
    (&["beam"], &["beam angle", "beam width", "spread"]),
    (&["illuminance"], &["brightness", "lux level", "light level", "lumens", "candela"]),
    (&["light_dose", "light_limit"], &["fading", "fade", "light damage", "lightfastness", "uv", "permanence"]),
    (&["light_limit"], &["lux limit", "max lux", "museum light"]),
    (&["viewing_light"], &["d50", "light booth", "viewing booth", "proof light", "daylight"]),
    (&["fc"], &["foot candle"]),
    (&["stops"], &["f stop", "ev", "stop"]),
    (&["white_point"], &["white balance", "colour temperature", "kelvin"]),
    (&["lift"], &["lifting", "lift weight", "carry", "lift limit", "safe lift", "can lift", "carrying"]),
    (&["team_lift"], &["two person lift", "two people", "team carry", "helpers", "carriers", "people needed"]),
    (
        &["crate_for"],
        &[
            "crate",
            "box",
            "shipping crate",
            "wooden crate",
            "crating",
            "packing",
            "case",
            "travel frame",
            "packing box",
            "carton",
        ],
    ),
    (&["tube_for"], &["mailing tube", "tube", "shipping tube", "postal tube", "rolled print", "core"]),
    (
        &["dim_weight"],
        &[
            "dimensional weight",
            "dimension weight",
            "volumetric weight",
            "volume weight",
            "billable weight",
            "ship weight",
            "chargeable weight",
            "parcel",
            "courier",
            "postage",
        ],
    ),
    (&["freight_class"], &["freight", "ltl", "pallet", "nmfc", "truck freight", "haulage"]),
    (&["dim_weight", "freight_class"], &["shipping", "shipping cost", "shipment", "ship", "delivery", "transport"]),
    (&["passes_door"], &["door", "door width", "doorway", "fits door", "through door", "door size"]),
    (&["longest_round_corner"], &["hallway", "corridor", "hallway corner", "round corner", "around corner", "hall"]),
    (&["passes_landing"], &["stairs", "staircase", "landing", "stairwell", "steps and stairs"]),
    (&["passes_car"], &["elevator", "elevator size", "lift car", "fits elevator", "elevator cab"]),
    (&["passes_van"], &["van", "truck", "car fit", "fits van", "vehicle", "van size"]),
    (&["passes_side_door"], &["side door", "door in corridor"]),
    (&["customs_facts"], &["customs", "customs form", "import duty", "export", "hs code", "carnet", "duty"]),
    (
        &["add_working_days", "count_working_days"],
        &["business days", "workdays", "working day", "weekdays", "office days"],
    ),
    (&["start_by", "latest_start"], &["deadline", "due date", "due", "latest date", "back plan", "when to start"]),
    (&["start_by"], &["opening day", "opening date", "count back", "order by", "days before"]),
    (&["schedule"], &["critical path", "gantt", "timeline", "time plan", "plan dates", "calendar", "project plan"]),
    (&["spare_days"], &["float time", "slack", "slack time", "spare time", "buffer", "slack days"]),
    (&["calendar_text"], &["ical", "ics", "calendar file", "calendar entry"]),
    (&["week_of"], &["week number", "calendar week", "kw"]),
    (&["holidays"], &["bank holiday", "public holiday", "federal holiday", "days off", "vacation"]),
    (&["lead_time"], &["turnaround", "turnaround time", "delivery time", "waiting time", "lead"]),
    (
        &["total"],
        &["sum", "grand total", "subtotal", "total cost", "total price", "add up", "sum of costs", "sum costs"],
    ),
    (&["cost"], &["expense", "cost line", "line item", "charge for", "add cost", "fee", "item"]),
    (&["costs"], &["cost table", "budget", "cost list"]),
    (&["given"], &["input", "parameter", "variable", "setting", "ask user", "choice", "field"]),
    (&["must"], &["require", "requirement", "assert", "rule", "constraint", "ensure", "make sure"]),
    (&["should"], &["recommend", "prefer", "ought", "warn", "warning"]),
    (&["step"], &["task", "stage", "to do", "job", "activity", "milestone"]),
    (&["steps"], &["step table", "task list", "dates table"]),
    (&["snag"], &["problem", "trouble", "failure", "mishap", "damage", "reprint", "redo"]),
    (&["finished"], &["done", "complete", "completed"]),
    (&["invoiced"], &["invoice", "bill", "billed", "paid"]),
    (&["quoted"], &["quotation", "estimate", "offer"]),
    (&["shop"], &["vendor", "supplier", "lab shop", "printer", "framer", "laboratory"]),
    (&["today"], &["now", "current date"]),
    (&["date"], &["day of", "on date"]),
    (&["tax", "tax_on"], &["sales tax", "vat", "gst", "value added tax", "taxes", "mwst", "tax rate"]),
    (
        &["commission"],
        &[
            "gallery commission",
            "gallery share",
            "gallery cut",
            "gallery percent",
            "gallery fee",
            "dealer share",
            "commission rate",
        ],
    ),
    (
        &["net_after"],
        &["wholesale", "net", "artist share", "take home", "payout", "my share", "net price", "after commission"],
    ),
    (
        &["price", "price_at_margin"],
        &["selling price", "retail price", "retail", "sell price", "sale price", "list price", "asking price"],
    ),
    (&["margin"], &["profit margin", "gross margin", "margin percent"]),
    (&["margin", "price"], &["profit", "earnings"]),
    (&["markup"], &["mark up", "multiplier", "uplift"]),
    (&["rabbet_frame", "discount"], &["rebate"]),
    (&["discount"], &["sale", "reduction", "percent off", "price reduction", "friends price"]),
    (
        &["quantity_price"],
        &[
            "price break",
            "bulk price",
            "tiered price",
            "volume discount",
            "quantity discount",
            "bulk discount",
            "price by size",
            "staffel",
            "price tier",
            "unit price",
        ],
    ),
    (&["break_even"], &["break even point", "even point", "how many to sell", "payback"]),
    (&["split"], &["divide", "share out", "instalments", "installments", "split payment", "deposit"]),
    (
        &["edition_prices", "price_ladder"],
        &["price steps", "edition price", "rising price", "price list edition", "stepped price"],
    ),
    (
        &["insurance"],
        &["insure", "insured value", "insurance cost", "premium", "transit insurance", "shipping insurance"],
    ),
    (&["edition_total"], &["edition", "edition size", "limited edition", "print run total"]),
    (&["artist_proofs"], &["ap", "aps", "artist proof"]),
    (&["number_label"], &["numbering", "edition number", "print number", "numbered"]),
    (&["next_number"], &["next print", "next free number"]),
    (&["certificate_facts"], &["coa", "certificate", "authenticity", "certificate of authenticity"]),
    (&["statute"], &["law", "legal", "disclosure", "state law"]),
    (&["panels"], &["mural", "wallpaper", "wall mural", "tile", "tiling", "panelling", "drops"]),
    (&["practice"], &["usual", "standard", "typical", "rule of thumb", "best practice", "default"]),
    (&["within_limits"], &["shop limit", "max dimensions", "limits", "fits shop"]),
    (&["ceiling"], &["round up", "upwards"]),
    (&["floor"], &["round down", "truncate", "trunc", "downwards"]),
    (&["round"], &["rounding", "rounded", "nearest"]),
    (&["round_even"], &["bankers rounding", "half even"]),
    (&["sqrt"], &["square root", "root"]),
    (&["abs"], &["absolute", "absolute value"]),
    (&["max"], &["greater", "maximum", "biggest", "highest", "greatest"]),
    (&["min"], &["smallest", "minimum", "lesser", "lowest"]),
    (&["whole"], &["int", "integer", "to int"]),
];

/// What units are called besides: the word, and the unit. None of them is a unit; a plan that writes one is told which was meant.
const UNITS: &[(&str, &str)] = &[
    ("in", "inch"),
    ("ins", "inch"),
    ("inches", "inch"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("yard", "yd"),
    ("yards", "yd"),
    ("millimeter", "mm"),
    ("millimeters", "mm"),
    ("millimetre", "mm"),
    ("millimetres", "mm"),
    ("centimeter", "cm"),
    ("centimeters", "cm"),
    ("centimetre", "cm"),
    ("centimetres", "cm"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("kilo", "kg"),
    ("kilos", "kg"),
    ("kilogram", "kg"),
    ("kilograms", "kg"),
    ("gram", "g"),
    ("grams", "g"),
    ("pixel", "px"),
    ("pixels", "px"),
    ("dpi", "ppi"),
    ("sqft", "ft2"),
    ("sqm", "m2"),
    ("sec", "seconds"),
    ("second", "seconds"),
    ("min", "minutes"),
    ("mins", "minutes"),
    ("minute", "minutes"),
    ("hour", "hours"),
    ("hr", "hours"),
    ("hrs", "hours"),
    ("wk", "weeks"),
    ("wks", "weeks"),
    ("dollar", "usd"),
    ("dollars", "usd"),
    ("bucks", "usd"),
    ("euro", "eur"),
    ("euros", "eur"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("pct", "percent"),
];

/// Letters and digits alone, in one spelling, without the `s` of several.
fn bare(word: &str) -> String {
    let one = |part: &str| {
        let part: String = part.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
        let part = spelling::folded(&part);
        match part.strip_suffix('s') {
            Some(single) if part.len() > 3 && !single.ends_with('s') => single.to_owned(),
            _ => part,
        }
    };
    word.split([' ', '_', '-']).map(one).collect()
}

/// Every plain word by its letters and digits, and what it stands for.
static BARE: LazyLock<Vec<(String, &[&str])>> = LazyLock::new(|| {
    let each = |(names, words): &'static (&'static [&'static str], &'static [&'static str])| {
        words.iter().map(move |word| (bare(word), *names))
    };
    WORDS.iter().flat_map(each).collect()
});

/// What a plain word stands for; nothing when it is none.
#[must_use]
pub fn meaning(word: &str) -> Option<&'static [&'static str]> {
    let wanted = bare(word);
    BARE.iter().find(|(one, _)| *one == wanted).map(|(_, names)| *names)
}

/// What is found under a plain word, one letter of it wrong at most.
#[must_use]
pub fn nearly(word: &str) -> Option<&'static [&'static str]> {
    let wanted = bare(word);
    if !(6..=40).contains(&wanted.len()) {
        return None;
    }
    let is_near = |one: &str| one.len().abs_diff(wanted.len()) < 2 && strsim::osa_distance(one, &wanted) < 2;
    BARE.iter().find(|(one, _)| is_near(one)).map(|(_, names)| *names)
}

/// The unit a word stands for, such as `inch` for `in`.
#[must_use]
pub fn unit(word: &str) -> Option<&'static str> {
    UNITS.iter().find(|(one, _)| *one == word).map(|(_, unit)| *unit)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::{UNITS, WORDS, bare};
    use crate::measure::Currency;
    use crate::script::bindings;
    use crate::syntax::units::Unit;

    #[test]
    fn each_plain_word_stands_once_and_for_something_there_is() {
        let mut met: BTreeMap<String, &str> = BTreeMap::new();
        for (names, words) in WORDS {
            for name in *names {
                let is_there = bindings::listed(name).is_some() || Unit::of(name).is_some() || name.starts_with('.');
                assert!(is_there, "{name}");
            }
            for word in *words {
                assert!(bindings::listed(word).is_none(), "`{word}` is a name itself");
                assert_eq!(met.insert(bare(word), word), None, "`{word}` stands twice");
            }
        }
        for (word, unit) in UNITS {
            assert!(Unit::of(word).is_none() && (Unit::of(unit).is_some() || Currency::of(unit).is_some()), "{word}");
        }
    }
}
