//! Numbers of an edition.

use engine::trade::edition::{Edition, Entry, Event, Print, Rule, proofs};
use proptest::prelude::*;

use super::number;

fn sold(numbers: &[u32]) -> Vec<Entry> {
    numbers.iter().map(|number| Entry { print: Print::Number(*number), what: Event::Sold }).collect()
}

#[test]
fn an_edition_and_its_proofs_make_the_total() {
    // E02. Identity; the total as in Md. Com. Law 14-504(a)(2)(iv) (read): 10 and three proofs.
    let edition = Edition::new(10, 3, &sold(&[1, 2, 3, 4, 5, 6, 7, 8, 9, 10])).unwrap();
    assert_eq!((edition.total(), edition.remaining(), edition.next(), edition.label()), (13, 0, None, None));
    assert_eq!(
        engine::Trade::part(&edition, "label").unwrap().value.shown(engine::measure::Units::Inch),
        "none, the edition is sold out"
    );
    assert!(matches!(super::part(&edition, "sold_out").value, engine::Value::Truth(true)));
}

#[test]
fn the_next_number_is_the_lowest_free_one() {
    // E09. Identity: no number is used again and none skipped silently.
    let edition = Edition::new(10, 0, &sold(&[1, 2, 3, 5])).unwrap();
    assert_eq!((edition.next(), edition.label().as_deref(), edition.remaining()), (Some(4), Some("4/10"), 6));
}

#[test]
fn an_entry_that_is_voided_never_happened() {
    let entry = |number, what| Entry { print: Print::Number(number), what };
    let edition = |entries: &[Entry]| Edition::new(5, 1, entries);
    let after = edition(&[entry(1, Event::Sold), entry(1, Event::Voided)]).unwrap();
    assert_eq!((after.next(), after.remaining(), after.state(1)), (Some(1), 5, None));
    // Only the last entry of a number is undone: a reservation stands after its sale is voided.
    let after = edition(&[entry(2, Event::Reserved), entry(2, Event::Sold), entry(2, Event::Voided)]).unwrap();
    assert_eq!((after.state(2), after.count(Event::Reserved), after.count(Event::Sold)), (Some(Event::Reserved), 1, 0));
    assert!(edition(&[entry(3, Event::Voided)]).unwrap_err().what.contains("3"));
}

#[test]
fn a_number_is_never_used_twice() {
    let entry = |number, what| Entry { print: Print::Number(number), what };
    let events = [Event::Sold, Event::Reserved, Event::Given, Event::Destroyed];
    for first in events {
        for second in events {
            let twice = Edition::new(5, 0, &[entry(1, first), entry(1, second)]);
            let may = matches!(
                (first, second),
                (Event::Reserved, Event::Sold | Event::Given | Event::Destroyed)
                    | (Event::Sold | Event::Given, Event::Destroyed)
            );
            assert_eq!(twice.is_ok(), may, "{first:?} then {second:?}");
            assert!(twice.is_err() || twice.unwrap().remaining() == 4);
        }
    }
    let destroyed = Edition::new(5, 0, &[entry(1, Event::Destroyed)]).unwrap();
    assert_eq!((destroyed.next(), destroyed.remaining()), (Some(2), 4));
    assert!(
        Edition::new(5, 0, &sold(&[6])).is_err()
            && Edition::new(5, 0, &sold(&[0])).is_err()
            && Edition::new(0, 0, &[]).is_err()
    );
    assert!(Edition::new(u32::MAX, 1, &[]).is_err());
}

#[test]
fn a_tenth_of_an_edition_are_its_proofs() {
    // E05, E06, Q08. Common practice, no source: 10 percent; the rounding is stated.
    for (row, size, down, nearest, up) in
        [("E05", 10, 1, 1, 1), ("E06", 15, 1, 2, 2), ("25", 25, 2, 3, 3), ("30", 30, 3, 3, 3)]
    {
        for (rule, want) in [(Rule::Down, down), (Rule::Nearest, nearest), (Rule::Up, up)] {
            assert_eq!(number(&proofs(size, 0.1, rule).unwrap().value), f64::from(want), "{row} {rule:?}");
        }
    }
    assert!(proofs(10, 1.5, Rule::Up).is_err() && proofs(10, f64::NAN, Rule::Up).is_err());
}

#[test]
fn a_statute_is_told_as_it_was_read() {
    use engine::trade::certificate::{FACTS, NO_ADVICE, Statute};

    let told = |state: &str, name: &str| {
        let found = super::part(&Statute::of(state).unwrap(), name);
        assert_eq!(found.caution, Some(NO_ADVICE));
        found.value.shown(engine::measure::Units::Inch)
    };
    // E11. Source: N.Y. Arts & Cult. Aff. Law 15.01 (the section's notice text read).
    assert_eq!((told("New York", "threshold"), told("New York", "return_days")), ("$100.00".into(), "30".into()));
    // E12. Source: Cal. Civ. Code 1745(b), (c) (read).
    let california =
        ["wilful_multiple", "years_after_discovery", "years_after_sale"].map(|name| told("California", name));
    assert_eq!(california, ["3", "1", "3"]);
    // E13. Source: Cal. Civ. Code 1741 (from memory).
    assert_eq!(told("california", "threshold"), "$100.00");
    assert!(Statute::of("Atlantis").is_err());
    // The union of the statutes' facts as listed in the project's outside values, by what each is about.
    for fact in [
        "artist",
        "title",
        "picture",
        "year of the print",
        "process",
        "sizes",
        "signature",
        "number",
        "proofs",
        "total",
        "other sizes",
        "reproduces",
        "negative or file is kept",
        "workshop",
        "living",
        "seller",
        "date",
    ] {
        assert!(FACTS.iter().any(|one| one.contains(fact)), "{fact}");
    }
}

fn story(events: &[Event]) -> Result<Edition, engine::Message> {
    let all: Vec<_> = events.iter().map(|what| Entry { print: Print::Number(1), what: *what }).collect();
    Edition::new(3, 1, &all)
}

#[test]
fn a_print_crushed_in_carriage_is_destroyed_and_printed_again_for_its_owner() {
    use Event::*;
    // Remaining = N - sold - given - reserved - destroyed (not replaced); a number is never reused (identity).
    let sold = [Printed, Signed, Numbered, Framed, Sold, Damaged, Destroyed];
    let destroyed = story(&sold).unwrap();
    assert_eq!((destroyed.state(1), destroyed.remaining(), destroyed.next()), (Some(Destroyed), 2, Some(2)));
    let again = story(&[sold.as_slice(), &[Replaced]].concat()).unwrap();
    let standing = again.standing(Print::Number(1));
    assert_eq!((again.state(1), again.remaining()), (Some(Sold), 2));
    assert!(standing.made && !standing.signed && !standing.damaged && !standing.framed);
    assert!(story(&[Printed, Damaged, Replaced]).unwrap_err().what.contains("is not destroyed"));
    assert!(story(&[Printed, Printed]).is_err() && story(&[Printed, Destroyed, Printed]).is_err());
}

#[test]
fn a_consigned_print_comes_back_or_is_sold_there_but_is_not_with_two_galleries() {
    use Event::*;
    assert!(story(&[Printed, Consigned]).unwrap().standing(Print::Number(1)).away);
    assert!(story(&[Printed, Consigned, Consigned]).is_err() && story(&[Consigned]).is_err());
    let back = story(&[Printed, Consigned, Returned]).unwrap();
    assert_eq!((back.remaining(), back.standing(Print::Number(1)).away), (3, false));
    assert_eq!(story(&[Printed, Consigned, Sold]).unwrap().remaining(), 2);
    assert!(story(&[Printed, Consigned, Sold, Sold]).is_err() && story(&[Printed, Sold, Consigned]).is_err());
}

#[test]
fn what_its_owner_sends_back_is_free_again() {
    use Event::*;
    let back = story(&[Printed, Sold, Returned]).unwrap();
    assert_eq!((back.remaining(), back.next()), (3, Some(1)));
    assert_eq!(story(&[Printed, Sold, Returned, Sold]).unwrap().remaining(), 2);
    assert!(story(&[Printed, Returned]).is_err());
}

#[test]
fn proofs_have_a_story_of_their_own_and_take_no_number() {
    let proof = |number, what| Entry { print: Print::Proof(number), what };
    let edition = Edition::new(5, 2, &[proof(1, Event::Printed), proof(1, Event::Sold)]).unwrap();
    assert_eq!((edition.remaining(), edition.next(), edition.count(Event::Sold)), (5, Some(1), 0));
    assert!(edition.standing(Print::Proof(1)).made);
    assert!(Edition::new(5, 2, &[proof(3, Event::Printed)]).unwrap_err().what.contains("AP 3"));
    assert_eq!(
        (Print::parse("AP 1"), Print::parse(" 4 "), Print::parse("AP"), Print::parse("-1"), Print::parse("4a")),
        (Some(Print::Proof(1)), Some(Print::Number(4)), None, None, None)
    );
}

/// A line of a ledger, right or not.
fn any_entry() -> impl Strategy<Value = Entry> {
    let print = prop_oneof![(0_u32..=6).prop_map(Print::Number), (1_u32..=2).prop_map(Print::Proof)];
    (print, prop::sample::select(Event::ALL.to_vec())).prop_map(|(print, what)| Entry { print, what })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(10_000))]

    #[test]
    fn no_ledger_ever_gives_a_number_two_owners_or_more_prints_than_the_edition(entries in prop::collection::vec(any_entry(), 0..60)) {
        // Lines are offered one by one, as shops and buyers do; those refused are not written.
        let mut kept: Vec<Entry> = Vec::new();
        for entry in entries {
            kept.push(entry);
            if Edition::new(5, 2, &kept).is_err() {
                kept.pop();
            }
        }
        let edition = Edition::new(5, 2, &kept).unwrap();
        // Owners counted by hand, from the lines that stand once voided ones are struck out.
        let mut struck: std::collections::BTreeMap<Print, Vec<Event>> = std::collections::BTreeMap::new();
        for entry in &kept {
            let lines = struck.entry(entry.print).or_default();
            if entry.what == Event::Voided { lines.pop(); } else { lines.push(entry.what); }
        }
        let mut gone = 0;
        for (print, lines) in &struck {
            let (mut owners, mut copies, mut most_owners, mut most_copies) = (0_i32, 0_i32, 0, 0);
            let (mut away, mut promised, mut dead) = (false, false, false);
            for line in lines {
                match line {
                    Event::Sold | Event::Given => { owners += 1; away = false; promised = false; }
                    Event::Returned if away => away = false,
                    Event::Returned => owners -= 1,
                    Event::Consigned => away = true,
                    Event::Reserved => promised = true,
                    Event::Printed => copies += 1,
                    Event::Replaced => { copies += 1; dead = false; }
                    Event::Destroyed => { copies = 0; dead = true; }
                    _ => {}
                }
                most_owners = most_owners.max(owners);
                most_copies = most_copies.max(copies);
            }
            prop_assert!(most_owners <= 1 && most_copies <= 1, "{print} {lines:?}");
            if matches!(print, Print::Number(_)) && (owners > 0 || promised || dead) { gone += 1; }
        }
        prop_assert_eq!(edition.remaining(), 5 - gone);
        let counted: u32 = [Event::Sold, Event::Given, Event::Reserved, Event::Destroyed].map(|what| edition.count(what)).iter().sum();
        prop_assert_eq!(counted, gone);
    }

    #[test]
    fn a_ledger_cut_off_at_any_line_is_a_ledger(entries in prop::collection::vec(any_entry(), 0..40), cut in 0_usize..40) {
        let mut kept: Vec<Entry> = Vec::new();
        for entry in entries {
            kept.push(entry);
            if Edition::new(5, 2, &kept).is_err() { kept.pop(); }
        }
        kept.truncate(cut);
        prop_assert!(Edition::new(5, 2, &kept).is_ok());
    }
}
