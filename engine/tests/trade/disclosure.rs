//! What statutes ask of a photograph sold as a multiple.

use engine::trade::disclosure::{Certificate, FACTS, Taken, keys};

#[test]
fn every_fact_the_statutes_ask_for_has_its_place() {
    // Md. Com. Law 14-504 (read in full): year, artist, numbered or signed, unnumbered or unsigned, proofs, total, plate
    // destroyed or not, earlier editions, posthumous, workshop. Ga. Code 10-1-432 items 1 to 7 (read): artist, signature,
    // medium, reproduction, posthumous, master, edition.
    for key in [
        "artist",
        "year",
        "number",
        "edition",
        "unnumbered",
        "other_editions",
        "process",
        "reproduction",
        "signature",
        "lifetime",
        "master",
        "workshop",
    ] {
        assert!(FACTS.iter().any(|fact| fact.key == key), "{key}");
    }
    assert!(keys().all(|key| FACTS.iter().any(|fact| fact.key == key && fact.taken == Taken::Head)));
}

#[test]
fn what_is_not_known_is_missing_and_not_made_up() {
    let nothing = Certificate::of(|_| None);
    assert_eq!((nothing.says.len(), nothing.missing.len()), (0, FACTS.len()));
    let one = Certificate::of(|key| {
        (key == "artist").then(|| "A. Verrill".to_owned()).or(Some(" ".to_owned()).filter(|_| key == "year"))
    });
    assert_eq!(one.says, [("artist", "A. Verrill".to_owned())]);
    assert_eq!(one.missing.len(), FACTS.len() - 1);
}
