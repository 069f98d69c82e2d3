//! Amounts of money as a person writes them.

use engine::Message;
use engine::measure::{Currency, Money};

/// Digits before the point: more are a slip of the finger.
const LONGEST: usize = 12;

/// An amount in one currency: `430`, `$1,430.50`.
///
/// # Errors
/// When it is none, is less than zero, or has more digits after the point than the currency.
pub(crate) fn amount(text: &str, currency: Currency) -> Result<Money, Message> {
    number(without_sign(text.trim(), currency), currency).ok_or_else(|| wrong(text, currency))
}

/// A price in the currency it names, else in this one: `4200`, `4,200 EUR`, `GBP 3,100`.
///
/// # Errors
/// As [`amount`].
pub(crate) fn price(text: &str, currency: Currency) -> Result<Money, Message> {
    let plain = text.trim();
    let all = std::iter::once(currency).chain(Currency::all().iter().copied());
    all.into_iter().find_map(|one| number(marked(plain, one, currency)?, one)).ok_or_else(|| wrong(text, currency))
}

fn wrong(text: &str, currency: Currency) -> Message {
    let cents = if currency.places == 0 { "" } else { " or 1250.50" };
    Message::new(
        format!("`{text}` is not an amount of money"),
        format!("write it in digits, like 1250{cents}, in {} unless it says otherwise", currency.code),
    )
}

fn without_sign(text: &str, currency: Currency) -> &str {
    text.strip_prefix(currency.sign.trim()).unwrap_or(text).trim_start()
}

/// What is left of an amount without the code or sign of a currency; without either it is in the one it is asked in.
fn marked(text: &str, currency: Currency, own: Currency) -> Option<&str> {
    let code = |part: Option<&str>| part.is_some_and(|part| part.eq_ignore_ascii_case(currency.code));
    if code(text.get(..3)) {
        return text.get(3..).map(str::trim_start);
    }
    if let Some(before) = text.len().checked_sub(3).filter(|at| code(text.get(*at..))) {
        return text.get(..before).map(str::trim_end);
    }
    let signs = [currency.sign.trim(), if currency == own && own.sign.ends_with('$') { "$" } else { "" }];
    let signed = signs.into_iter().filter(|sign| !sign.is_empty()).find_map(|sign| {
        text.strip_prefix(sign).map(str::trim_start).or_else(|| text.strip_suffix(sign).map(str::trim_end))
    });
    signed.or((currency == own).then_some(text))
}

/// Digits, in groups of three where they are grouped, and after a point no more than the currency has.
fn number(text: &str, currency: Currency) -> Option<Money> {
    let (whole, rest) = text.split_once('.').map_or((text, None), |(whole, rest)| (whole, Some(rest)));
    let groups: Vec<&str> = whole.split([',', ' ', '\u{a0}', '\u{202f}']).collect();
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let grouped = groups.iter().skip(1).all(|group| group.len() == 3);
    let plain = groups.concat();
    let rest_fits = rest.is_none_or(|rest| digits(rest) && rest.len() <= currency.places as usize);
    if !(groups.iter().all(|group| digits(group)) && grouped && plain.len() <= LONGEST && rest_fits) {
        return None;
    }
    let value = format!("{plain}.{}", rest.unwrap_or("0")).parse().ok()?;
    Some(Money::new(Money::exactly(value)?, currency))
}

#[cfg(test)]
mod tests {
    use engine::measure::Currency;

    use super::{amount, price};

    #[test]
    fn a_price_is_in_the_currency_it_names_else_in_that_of_the_plan() {
        let (usd, cad, jpy) =
            (Currency::of("USD").unwrap(), Currency::of("CAD").unwrap(), Currency::of("JPY").unwrap());
        for (text, own, wanted) in [
            ("4200", usd, "$4,200.00"),
            (" 4,200 ", usd, "$4,200.00"),
            ("$4,200.50", usd, "$4,200.50"),
            ("$4,200.50", cad, "CA$4,200.50"),
            ("4200 EUR", usd, "€4,200.00"),
            ("eur 4 200", usd, "€4,200.00"),
            ("€99.90", usd, "€99.90"),
            ("3100£", usd, "£3,100.00"),
            ("120000", jpy, "¥120,000"),
            ("0", usd, "$0.00"),
        ] {
            assert_eq!(price(text, own).unwrap().to_string(), wanted, "{text}");
        }
        for text in [
            "lots",
            "-500",
            "\u{2212}500",
            "1e9999",
            "1e3",
            "",
            "$",
            "4.200,50",
            "4,50",
            "4.205",
            "1.2.3",
            ".5",
            "5.",
            "12,34,567",
            "inf",
            "NaN",
            "0x10",
            "9999999999999",
            "4200 XYZ",
            "4200 USD EUR",
            "٤٢",
        ] {
            assert!(price(text, usd).is_err(), "{text} was taken");
        }
        assert!(price("4200.5", jpy).is_err());
        assert_eq!(amount("$1,430.50", usd).unwrap().to_string(), "$1,430.50");
        assert!(amount("1430 EUR", usd).is_err());
    }
}
