//! Plain words lead to functions: measured on the names a photographer would try, on as many more that were written down before
//! there was a table of plain words, and on names for which there is nothing.

use std::collections::BTreeMap;

use engine::syntax::plain_words::meaning;

use super::{blocks, problems};

const TRIED: &str = include_str!("words/tried.txt");
const UNSEEN: &str = include_str!("words/unseen.txt");
const NOWHERE: &str = include_str!("words/nowhere.txt");

/// What a name that is called leads to: the names in the message's advice.
fn led_to(name: &str) -> Vec<String> {
    if name.starts_with(|first: char| first.is_ascii_digit()) {
        // No name of a plan; the reference is asked for it.
        return meaning(name).unwrap_or_default().iter().map(|one| (*one).to_owned()).collect();
    }
    let plan = blocks(&[&format!("let a = {name}(1.inch);")]);
    let told = problems(&plan).join(" ");
    let advice = told.split_once("; ").map(|(_, next)| next.to_owned()).unwrap_or_default();
    let all: Vec<_> = advice.split('`').skip(1).step_by(2).map(str::to_owned).collect();
    if advice.contains("meant?") { all } else { Vec::new() }
}

/// How many of a list are right, wrong and nowhere, and which are not right.
fn measured(list: &str) -> (usize, Vec<String>, Vec<String>) {
    let wanted: BTreeMap<&str, Vec<&str>> = list
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split_once(" = ").unwrap())
        .map(|(name, right)| (name, right.split(' ').collect()))
        .collect();
    let (mut right, mut wrong, mut nowhere) = (0, Vec::new(), Vec::new());
    for (name, wanted) in &wanted {
        let led = led_to(name);
        if led.is_empty() {
            nowhere.push((*name).to_owned());
        } else if led.iter().all(|one| wanted.contains(&one.as_str())) {
            right += 1;
        } else {
            wrong.push(format!("{name}: {}", led.join(", ")));
        }
    }
    eprintln!("{right} of {} right; wrong {wrong:?}; nowhere {nowhere:?}", wanted.len());
    (right, wrong, nowhere)
}

#[test]
fn the_names_a_photographer_tries_lead_to_the_right_function() {
    let (right, wrong, nowhere) = measured(TRIED);
    assert_eq!(wrong, Vec::<String>::new());
    assert!(right >= 90, "{right} right; nowhere: {nowhere:?}");
}

#[test]
fn names_the_table_was_not_made_for_lead_to_no_wrong_function() {
    let (right, wrong, nowhere) = measured(UNSEEN);
    assert_eq!(wrong, Vec::<String>::new());
    assert!(right >= 90, "{right} right; nowhere: {nowhere:?}");
}

#[test]
fn a_name_for_which_there_is_nothing_leads_nowhere() {
    for name in NOWHERE.lines().filter(|line| !line.starts_with('#')) {
        assert_eq!(led_to(name), Vec::<String>::new(), "{name}");
    }
}
