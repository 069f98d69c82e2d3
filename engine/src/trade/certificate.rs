//! What goes on the certificate of a print of an edition, and what the statutes ask for. No legal advice.

use crate::measure::{Currency, Money};
use crate::{Found, Message, Value};

/// Beside everything said of a statute.
pub const NO_ADVICE: &str =
    "No legal advice: statutes change, and others may apply. Read the text in force, or ask a lawyer.";

/// What one statute on prints and photographs in editions asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Statute {
    /// The state it is of.
    pub state: &'static str,
    /// How it is cited.
    pub law: &'static str,
    /// The price without frame, in dollars, from or above which it applies; none where that was not read.
    pub threshold_usd: Option<u32>,
    /// Days after receipt within which a buyer may give the print back when the facts came with it.
    pub return_days: Option<u32>,
    /// How many times the price is owed when a false certificate was given knowingly.
    pub wilful_multiple: Option<u32>,
    /// Years after the fault was found within which a buyer must sue.
    pub years_after_discovery: Option<u32>,
    /// Years after the sale within which a buyer must sue.
    pub years_after_sale: Option<u32>,
}

const NONE: Statute = Statute {
    state: "",
    law: "",
    threshold_usd: None,
    return_days: None,
    wilful_multiple: None,
    years_after_discovery: None,
    years_after_sale: None,
};

// Source: California: Civil Code 1741 (the 100 dollars, read in a law firm's article: from 100 dollars, exclusive of any frame), 1742(a), 1744 (the facts, from memory), 1745(b)
// and (c) (read). New York: Arts and Cultural Affairs Law 15.01 (read), 15.03. Maryland: Commercial Law 14-504 (read).
// Georgia: O.C.G.A. 10-1-430 to 432 (read). Hawaii: Revised Statutes 481F-4 (read).
/// The statutes known here.
pub const STATUTES: &[Statute] = &[
    Statute {
        state: "California",
        law: "California Civil Code 1740 to 1745.5",
        threshold_usd: Some(100),
        wilful_multiple: Some(3),
        years_after_discovery: Some(1),
        years_after_sale: Some(3),
        ..NONE
    },
    Statute {
        state: "New York",
        law: "New York Arts and Cultural Affairs Law, article 15",
        threshold_usd: Some(100),
        return_days: Some(30),
        ..NONE
    },
    Statute { state: "Maryland", law: "Maryland Commercial Law 14-501 to 14-504", ..NONE },
    Statute { state: "Georgia", law: "Official Code of Georgia 10-1-430 to 10-1-437", ..NONE },
    Statute { state: "Hawaii", law: "Hawaii Revised Statutes 481F", ..NONE },
];

impl Statute {
    /// The statute of a state.
    ///
    /// # Errors
    /// When none of that state is known here.
    pub fn of(state: &str) -> Result<Self, Message> {
        STATUTES.iter().find(|one| one.state.eq_ignore_ascii_case(state.trim())).copied().ok_or_else(|| {
            let known: Vec<_> = STATUTES.iter().map(|one| one.state).collect();
            Message::new(
                format!("no statute of `{state}` is known here"),
                format!("ask for {}; that a state is missing does not mean that it has none", known.join(", ")),
            )
        })
    }
}

fn told(value: Option<u32>) -> Option<Found> {
    value.map(|value| Found::stated(value).beware(NO_ADVICE))
}

thing!(Statute, "a statute", |statute| vec![statute.law.into(), " (no legal advice)".into()], {
    law "How it is cited." => Found::stated(statute.law).beware(NO_ADVICE),
    threshold "The price without frame from or above which it applies; only where that was read." =>
        statute.threshold_usd.zip(Currency::of("USD")).map(|(dollars, usd)| {
            Found::stated(Money::new(dollars.into(), usd)).beware(NO_ADVICE)
        }),
    return_days "Days after receipt within which a buyer may give the print back." => told(statute.return_days),
    wilful_multiple "How many times the price is owed for a certificate that was knowingly false." => told(statute.wilful_multiple),
    years_after_discovery "Years after the fault was found within which a buyer must sue." => told(statute.years_after_discovery),
    years_after_sale "Years after the sale within which a buyer must sue." => told(statute.years_after_sale),
});

/// The facts of a certificate that meet all of these statutes together, in the order they are written.
///
/// Source: the union of the facts named in the statutes of [`Statute`] (those of California from memory).
pub const FACTS: &[&str] = &[
    "artist",
    "title",
    "year of the picture",
    "year of the print",
    "process, paper, laminate and mount",
    "sizes of image, sheet and outside",
    "signature: where, and how it was made",
    "number of the print and of the edition",
    "proofs besides: artist's, printer's, out of commerce, others",
    "total of numbers and proofs",
    "other sizes and editions from the same negative or file",
    "whether it reproduces a work in another medium",
    "whether the negative or file is kept, altered or destroyed",
    "printer or workshop",
    "whether the artist was living when it was printed",
    "seller",
    "date, and signature of who issues it",
];

/// [`FACTS`] as a list.
pub fn facts() -> Found {
    Found::stated(Value::List(FACTS.iter().map(|one| Value::from(*one)).collect())).beware(NO_ADVICE)
}
