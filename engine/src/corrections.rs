//! Calculations whose meaning was corrected: what an earlier version took them to mean, so that a revision which gives
//! something else now can say why. What a revision recorded stays as it was.

use crate::syntax::former;

/// One correction of meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Correction {
    /// The first version that has it.
    pub since: &'static str,
    /// The words of a plan or rate sheet that it touches: functions, and names a plan has without stating them.
    pub words: &'static [&'static str],
    /// What was wrong, and what is meant now.
    pub what: &'static str,
}

/// Every correction, oldest first. A row is added with the change it is about, and never edited once released.
pub const ALL: &[Correction] = &[
    Correction {
        since: "0.2.0",
        words: &["float_frame", "rabbet_frame"],
        what: "a frame is as deep as the stick it is cut from, and weighs as much; the stick's depth was not read",
    },
    Correction {
        since: "0.2.0",
        words: &["scan"],
        what: "`ppi`, `largest` and `resample` go by what the scanner's lens saw; interpolated pixels counted as real",
    },
    Correction {
        since: "0.2.0",
        words: &["passes_car"],
        what: "a piece passes where a motion into the car was found; whether it would lie inside was asked, not whether it gets in",
    },
    Correction {
        since: "0.2.0",
        words: &["dim_weight"],
        what: "sides are rounded up, limits and least weights counted, as the tariffs read say; a tube's girth is measured round it",
    },
    Correction {
        since: "0.2.0",
        words: &["holidays"],
        what: "New Year's Day of the next year counts in the year where it is kept on 31 December",
    },
    Correction {
        since: "0.2.0",
        words: &["light_dose"],
        what: "days of light are a plain number; weeks were taken as five days, and days with a unit are working days",
    },
    Correction {
        since: "0.2.0",
        words: &["hook_height", "grammage_of", "enlarge", "enlarge_to_height"],
        what: "a drop longer than the piece, a piece that would stand in the floor, a weight below zero and a print beyond any press are refused",
    },
    Correction {
        since: "0.2.0",
        words: &["edition", "next_number"],
        what: "a sold-out edition says so; its next number was an error",
    },
    Correction {
        since: "0.2.0",
        words: &["total"],
        what: "a sum that misses a line of cost whose workings are broken says so; it looked final",
    },
];

/// The corrections made after version `by` that touch one of these texts.
pub fn since<'a>(by: &str, texts: impl Iterator<Item = &'a str> + Clone) -> Vec<&'static Correction> {
    let touched = |one: &&Correction| {
        texts.clone().any(|text| one.words.iter().flat_map(|word| former::names(word)).any(|word| has(text, word)))
    };
    ALL.iter().filter(|one| number(by) < number(one.since)).filter(touched).collect()
}

/// Whether a text has a word of a script, whole.
fn has(text: &str, word: &str) -> bool {
    let part = |c: char| c.is_alphanumeric() || c == '_';
    text.match_indices(word).any(|(at, _)| {
        let (before, after) = (text.get(..at).unwrap_or_default(), text.get(at + word.len()..).unwrap_or_default());
        !before.ends_with(part) && !after.starts_with(part)
    })
}

/// A version as numbers that compare: `0.10.2` is after `0.9.9`.
fn number(version: &str) -> Vec<u32> {
    version.split('.').map(|part| part.parse().unwrap_or(0)).collect()
}

#[cfg(test)]
mod tests {
    use super::since;

    fn count(by: &str, text: &str) -> usize {
        since(by, [text].into_iter()).len()
    }

    #[test]
    fn a_correction_is_named_for_results_of_an_older_version_with_its_words() {
        assert_eq!(count("0.1.0", "let frame = float_frame(piece, gap, ash, board);"), 1);
        assert_eq!(count("0.0.12", "let frame = rabbet_frame (size, oak, lip, deep);"), 1);
        for (by, text) in [
            ("0.2.0", "float_frame(piece)"),
            ("0.10.0", "float_frame(piece)"),
            ("0.1.0", "my_float_frame(piece)"),
            ("0.1.0", "float_frames(piece)"),
            ("0.1.0", "frame(piece)"),
        ] {
            assert_eq!(count(by, text), 0, "{by}: {text}");
        }
    }
}
