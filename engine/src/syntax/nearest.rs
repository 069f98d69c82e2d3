//! The name that was probably meant.

/// The candidate nearest to a misspelt name: at most two letters off, one for names of less than six letters, swapped
/// neighbours counting as one. A short word two letters off is another word.
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = if name.chars().count() < 6 { 1 } else { 2 };
    candidates
        .into_iter()
        .filter(|candidate| *candidate != name)
        .map(|candidate| (distance(name, candidate), candidate))
        .filter(|(distance, candidate)| *distance <= limit || close_stem(name, candidate))
        .min_by_key(|(distance, candidate)| (*distance, candidate.len()))
        .map(|(_, candidate)| candidate)
}

/// One name is the other cut short, as in `dept` for `depth_of_panel`.
fn close_stem(name: &str, candidate: &str) -> bool {
    name.len() >= 4 && candidate.starts_with(name)
}

/// Letters to change, add or take away, without regard to case.
fn distance(a: &str, b: &str) -> usize {
    // Of a very long name the beginning is enough: the time goes with the product of both lengths.
    let short = |name: &str| name.chars().take(64).flat_map(char::to_lowercase).collect::<String>();
    strsim::osa_distance(&short(a), &short(b))
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_swapped_letter_is_found() {
        assert_eq!(nearest("widht", ["height", "width", "weight"]), Some("width"));
    }

    #[test]
    fn nothing_near_is_nothing() {
        assert_eq!(nearest("moulding", ["width", "ppi"]), None);
        assert_eq!(nearest("crate", ["date"]), None);
        assert_eq!(nearest("phone", ["whole"]), None);
    }
}
