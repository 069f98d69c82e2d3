//! What changed between a ticket as it was issued and the ticket as it is now.

use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hash as _, Hasher as _};

/// Words in a row by which a text is known again.
const RUN: usize = 3;

/// Lines on each side in which a fellow is looked for; further ones each stand alone.
const COMPARED: usize = 200;

/// One line that changed.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub(crate) struct Change {
    /// As it was issued; nothing when it is new, or what it said is kept from the shop now.
    pub(crate) was: Option<String>,
    /// As it is now; nothing when it is gone.
    pub(crate) is: Option<String>,
}

/// What a plan says now that is kept from a shop: hashes of its runs of a few words, but of those the shop reads anyway.
#[derive(Debug, Default)]
pub(crate) struct KeptBack(HashSet<u64>);

impl KeptBack {
    /// Of the lines kept back, and those the shop reads.
    pub(crate) fn of(kept_back: &[String], shown: &[String]) -> Self {
        let mut all = HashSet::new();
        for words in kept_back.iter().flat_map(|line| sentences(line)) {
            (1..=RUN).for_each(|long| all.extend(runs(&words, long)));
        }
        for words in shown.iter().flat_map(|line| sentences(line)) {
            (1..=RUN).flat_map(|long| runs(&words, long)).for_each(|run| _ = all.remove(&run));
        }
        Self(all)
    }

    /// Whether a line repeats any of it.
    fn is_in(&self, line: &str) -> bool {
        sentences(line).iter().any(|words| runs(words, RUN.min(words.len())).any(|run| self.0.contains(&run)))
    }

    /// What changed, without words the shop was told once and that are kept from it now.
    pub(crate) fn left_out(&self, changes: Vec<Change>) -> Vec<Change> {
        let visible = |line: Option<String>| line.filter(|line| !self.is_in(line));
        changes.into_iter().map(|change| Change { was: visible(change.was), is: visible(change.is) }).collect()
    }
}

/// The words of each sentence of a line.
fn sentences(line: &str) -> Vec<Vec<String>> {
    let mut all = vec![Vec::new()];
    for word in line.split_whitespace() {
        let parts = word.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty());
        if let Some(last) = all.last_mut() {
            last.extend(parts.map(str::to_lowercase));
        }
        if word.ends_with(['.', ':', ';', '!', '?', '|']) {
            all.push(Vec::new());
        }
    }
    all.retain(|words| !words.is_empty());
    all
}

/// Hashes of so many words in a row, from each of them.
fn runs(words: &[String], long: usize) -> impl Iterator<Item = u64> {
    words.windows(long.max(1)).map(|run| {
        let mut hasher = DefaultHasher::new();
        run.hash(&mut hasher);
        hasher.finish()
    })
}

/// The lines of each list that the other does not have, paired where both say the same thing of another value. A line in
/// another place says nothing new to a shop and is not a change; one that stands once less often is.
pub(crate) fn changes(old: &[String], new: &[String]) -> Vec<Change> {
    let gone = beyond(old, new);
    let come = beyond(new, old);
    let mut left: Vec<Option<&String>> = gone.into_iter().map(Some).collect();
    let mut out = Vec::new();
    for (number, line) in come.into_iter().enumerate() {
        let near = if number < COMPARED { COMPARED } else { 0 };
        let pair = left.iter_mut().take(near).find(|was| {
            was.is_some_and(|was| match (subject(was), subject(line)) {
                (Some(was), Some(is)) => was == is,
                _ => alike(was, line),
            })
        });
        let was = pair.and_then(Option::take).cloned();
        out.push(Change { was, is: Some(line.clone()) });
    }
    out.extend(left.into_iter().flatten().map(|was| Change { was: Some(was.clone()), is: None }));
    out
}

/// The lines of one list that are not in the other, each as often as it is there more often.
fn beyond<'a>(lines: &'a [String], others: &[String]) -> Vec<&'a String> {
    let mut counted: HashMap<&str, usize> = HashMap::new();
    for other in others {
        *counted.entry(other).or_default() += 1;
    }
    let is_beyond = |line: &&String| match counted.get_mut(line.as_str()).filter(|count| **count > 0) {
        Some(count) => {
            *count -= 1;
            false
        }
        None => true,
    };
    lines.iter().filter(is_beyond).collect()
}

/// What a line is about, when it says so before a colon.
fn subject(line: &str) -> Option<&str> {
    line.split_once(": ").map(|(subject, _)| subject)
}

/// Whether two sentences share more than half of their words.
fn alike(a: &str, b: &str) -> bool {
    let words: HashSet<&str> = a.split_whitespace().collect();
    let (mut same, mut all) = (0_usize, 0_usize);
    for word in b.split_whitespace() {
        all += 1;
        same += usize::from(words.contains(word));
    }
    same * 2 > all.max(words.len())
}

#[cfg(test)]
mod tests {
    use super::{Change, KeptBack, changes};

    fn check(old: &[&str], new: &[&str], wanted: &[(Option<&str>, Option<&str>)]) {
        let own = |all: &[&str]| all.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>();
        let wanted: Vec<_> =
            wanted.iter().map(|(was, is)| Change { was: was.map(str::to_owned), is: is.map(str::to_owned) }).collect();
        assert_eq!(changes(&own(old), &own(new)), wanted);
    }

    #[test]
    fn what_is_kept_back_now_is_not_repeated_whole_in_part_or_within_a_longer_line() {
        let own = |all: &[&str]| all.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>();
        let shown = own(&["The frame is oak.", "Bumpers on all corners."]);
        let kept_back = own(&["The collector pays 9000 for it, and says so to nobody.", "Pay late.", "Frame: $777.00"]);
        let kept_back = KeptBack::of(&kept_back, &shown);
        for secret in [
            "The collector pays 9000 for it.",
            "Oak. The collector pays well.",
            "Pay late.",
            "Bumpers on all corners. Pay late.",
            "Frame: $777.00",
        ] {
            assert!(kept_back.is_in(secret), "{secret}");
        }
        for plain in ["The frame is ash.", "Bumpers on two corners.", "gap: 1/4 in", ""] {
            assert!(!kept_back.is_in(plain), "{plain}");
        }
    }

    #[test]
    fn a_value_that_moved_stands_beside_the_one_before_it() {
        check(
            &["gap: 1/4 in", "face: 1 in"],
            &["gap: 3/8 in", "face: 1 in"],
            &[(Some("gap: 1/4 in"), Some("gap: 3/8 in"))],
        );
    }

    #[test]
    fn a_line_that_is_gone_and_one_that_is_new_stand_alone() {
        check(
            &["no wire"],
            &["bumpers on all corners"],
            &[(None, Some("bumpers on all corners")), (Some("no wire"), None)],
        );
    }

    #[test]
    fn nothing_changed_is_no_change() {
        check(&["a: 1", "b"], &["a: 1", "b"], &[]);
        check(&["a: 1", "b"], &["b", "a: 1"], &[]);
    }

    #[test]
    fn a_line_that_stands_once_less_often_is_gone_once() {
        check(&["corner", "corner", "b"], &["b", "corner"], &[(Some("corner"), None)]);
    }
}
