//! Both spellings of a word of the trade are one name: aluminum and aluminium, molding and moulding, center and centre.

/// Spellings of the reference, after the others.
const SPELLINGS: &[(&str, &str)] = &[
    ("aluminum", "aluminium"),
    ("centered", "centred"),
    ("center", "centre"),
    ("color", "colour"),
    ("gray", "grey"),
    ("miter", "mitre"),
    ("molding", "moulding"),
];

/// Whether a name as it was written is the listed one, in whichever spelling, capitals and apostrophe.
pub fn is_same(listed: &str, written: &str) -> bool {
    let plain = written.trim();
    plain.eq_ignore_ascii_case(listed) || folded(plain) == folded(listed)
}

/// A name in small letters and in the spelling of the reference.
pub fn folded(name: &str) -> String {
    let name = name.to_lowercase().replace('’', "'");
    SPELLINGS.iter().fold(name, |name, (other, ours)| name.replace(other, ours))
}

#[cfg(test)]
mod tests {
    use super::is_same;

    #[test]
    fn both_spellings_are_one_name() {
        for (listed, written) in [
            ("aluminium composite", " Aluminum Composite "),
            ("off-centre", "off-center"),
            ("centred", "centered"),
            ("mitre waste", "miter waste"),
            ("artist's proofs", "Artist’s proofs"),
        ] {
            assert!(is_same(listed, written), "{written}");
        }
        assert!(!is_same("aluminium", "aluminum composite"));
    }
}
