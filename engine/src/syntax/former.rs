//! Names that functions and parts had before, and other spellings of functions: understood for ever, because a saved revision
//! must evaluate to the same digit, and shown nowhere.

/// Functions and statements: what one was called, and what it is called. A line is added with a renaming and never taken out.
pub const FUNCTIONS: &[(&str, &str)] = &[
    ("back_from", "start_by"),
    ("ceil", "ceiling"),
    ("charge", "quantity_price"),
    ("container", "file_format"),
    ("larger", "max"),
    ("largest", "largest_print"),
    ("miter", "mitre"),
    ("miter_gap", "mitre_gap"),
    ("molding", "moulding"),
    ("molding_to_buy", "moulding_to_buy"),
    ("passes_corner", "longest_round_corner"),
    ("scan_machine", "flatbed_or_drum"),
    ("smaller", "min"),
    ("working_days", "add_working_days"),
];

/// Parts of things: the kind of thing, what the part was called, and what it is called.
pub const PARTS: &[(&str, &str, &str)] = &[
    ("a crate", "empty", "empty_weight"),
    ("a cut list", "left", "offcuts"),
    ("a float frame", "art", "piece"),
    ("a float frame", "needs", "depth_needed"),
    ("a float frame", "well", "opening"),
    ("a lamp", "falls", "incidence"),
    ("a piece cut from a sheet", "left", "offcuts"),
    ("a piece on two hooks", "r1", "first_load"),
    ("a piece on two hooks", "r2", "second_load"),
    ("a wall cleat", "carries", "load"),
];

/// The name a function or statement has now.
pub fn function(name: &str) -> &str {
    FUNCTIONS.iter().find(|(former, _)| *former == name).map_or(name, |(_, now)| now)
}

/// Every name a function or statement answers to: its own first.
pub fn names(now: &'static str) -> impl Iterator<Item = &'static str> {
    let former = FUNCTIONS.iter().filter(move |(_, one)| *one == now);
    std::iter::once(now).chain(former.map(|(former, _)| *former))
}

/// The name a part of this kind of thing has now.
pub fn part<'a>(kind: &str, name: &'a str) -> &'a str {
    PARTS.iter().find(|(thing, former, _)| *thing == kind && *former == name).map_or(name, |(.., now)| now)
}

/// The path of a part, `hooks.r1`, as it is called now, whatever kind of thing it belongs to; nothing when it is called so now.
pub fn path(path: &str) -> Option<String> {
    let now = |part| PARTS.iter().find(|(_, former, _)| *former == part).map(|(.., now)| *now);
    let (name, parts) = path.split_once('.')?;
    parts
        .split('.')
        .any(|part| now(part).is_some())
        .then(|| parts.split('.').fold(name.to_owned(), |path, part| format!("{path}.{}", now(part).unwrap_or(part))))
}
