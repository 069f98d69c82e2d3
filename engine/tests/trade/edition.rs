//! Numbers of an edition.

use engine::trade::edition::{Edition, Entry, Event, Rule, proofs};

use super::number;

fn sold(numbers: &[u32]) -> Vec<Entry> {
    numbers.iter().map(|number| Entry { number: *number, what: Event::Sold }).collect()
}

#[test]
fn an_edition_and_its_proofs_make_the_total() {
    // E02. Identity; the total as in Md. Com. Law 14-504(a)(2)(iv) (read): 10 and three proofs.
    let edition = Edition::new(10, 3, &sold(&[1, 2, 3, 4, 5, 6, 7, 8, 9, 10])).unwrap();
    assert_eq!((edition.total(), edition.remaining(), edition.next(), edition.label()), (13, 0, None, None));
    assert!(engine::Trade::part(&edition, "next").is_none());
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
    let entry = |number, what| Entry { number, what };
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
    let entry = |number, what| Entry { number, what };
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
