//! What changed between a ticket as it was handed over and the ticket as it is now.

use std::collections::{HashMap, HashSet};

/// Lines on each side in which a fellow is looked for; further ones each stand alone.
const COMPARED: usize = 200;

/// One line that changed.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub(crate) struct Change {
    /// As it was handed over; nothing when it is new.
    pub(crate) was: Option<String>,
    /// As it is now; nothing when it is gone.
    pub(crate) is: Option<String>,
}

/// The lines of each list that the other does not have, paired where both say the same thing of another value. A line in
/// another place says nothing new to a shop and is no change; one that stands once less often is.
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
    use super::{Change, changes};

    fn check(old: &[&str], new: &[&str], wanted: &[(Option<&str>, Option<&str>)]) {
        let own = |all: &[&str]| all.iter().map(|one| (*one).to_owned()).collect::<Vec<_>>();
        let wanted: Vec<_> =
            wanted.iter().map(|(was, is)| Change { was: was.map(str::to_owned), is: is.map(str::to_owned) }).collect();
        assert_eq!(changes(&own(old), &own(new)), wanted);
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
