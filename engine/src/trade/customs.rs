//! What a customs office asks about a print that leaves the country.

use super::certificate::NO_ADVICE;
use crate::measure::Money;
use crate::{Found, Message, Value};

/// The facts of a commercial invoice and of the print, in the order they are asked for.
///
/// Source: what 19 CFR 141.86 asks of an invoice (read in a broker's list of it), and what a print adds to it (common
/// practice, no source). The heading is from memory: the office decides.
pub const FACTS: &[&str] = &[
    "seller and buyer: names, addresses, telephone, tax numbers where they have one",
    "place and date of the sale, or that nothing is sold: on loan, for exhibition, returned",
    "what it is in plain words: photograph, printed on paper from a file, unframed, signed and numbered",
    "number of the print and size of the edition, proofs included",
    "commercial heading: printed photographs are usually entered under 4911 91; ask the office or a broker",
    "country of origin: where it was printed",
    "how many pieces, and what each weighs",
    "price of each in the currency of the sale; a gift has a value too",
    "freight, insurance and packing, each by itself",
    "who pays duty and tax on arrival, by the trade term agreed",
    "marks and numbers of the tube or crate, its outside size and gross weight",
    "name, date and signature of who answers for it",
    "for the European Union: whether it was taken by the artist, printed by the artist or under supervision, signed, \
     numbered, and one of at most 30 of all sizes and mounts, which its tax law counts as a work of art",
];

/// [`FACTS`] as a list.
pub fn facts() -> Found {
    Found::stated(Value::List(FACTS.iter().map(|one| Value::from(*one)).collect())).beware(NO_ADVICE)
}

/// What insuring a value costs: value × rate, and no less than the least premium.
///
/// # Errors
/// When an amount is below zero, the currencies differ, or the rate is not a share below 1.
pub fn insurance(value: Money, rate: rust_decimal::Decimal, least: Option<Money>) -> Result<Found, Message> {
    super::price::not_negative("value", value)?;
    super::price::share("rate", rate)?;
    let premium = value.times(rate).ok_or_else(super::price::too_large)?.rounded();
    let from = [value.into(), super::price::number(rate)];
    let Some(least) = least else { return Ok(Found::by(premium, "{} × {}", from)) };
    super::price::not_negative("least premium", least)?;
    super::price::same_currency(value, least)?;
    let charged = if premium.amount < least.amount { least } else { premium };
    let [value, rate] = from;
    Ok(Found::by(charged, "{} × {}, at least {}", [value, rate, least.into()]))
}
