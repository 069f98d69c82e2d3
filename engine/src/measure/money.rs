//! Exact amounts of money: decimal digits, never binary fractions.

use std::fmt;

use rust_decimal::{Decimal, RoundingStrategy};

use super::rounding::Rounding;
use super::show::push_grouped;

/// A currency of the plan, by its three-letter code.
///
/// Source: ISO 4217 (codes and minor units, read in tables made from its list).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Currency {
    /// The three-letter code.
    pub code: &'static str,
    /// What stands before the amount.
    pub sign: &'static str,
    /// Digits after the point.
    pub places: u32,
}

// Source: ISO 4217, list one as published on 2026-01-01 by its maintenance agency (read as the package iso4217 carries it): every
// code with a minor unit. Digits that locale data shows differ for fifteen of them and are not taken. Those first that plans
// name most.
const CURRENCIES: &[Currency] = &[
    Currency { code: "USD", sign: "$", places: 2 },
    Currency { code: "EUR", sign: "€", places: 2 },
    Currency { code: "GBP", sign: "£", places: 2 },
    Currency { code: "CAD", sign: "CA$", places: 2 },
    Currency { code: "AUD", sign: "A$", places: 2 },
    Currency { code: "NZD", sign: "NZ$", places: 2 },
    Currency { code: "CHF", sign: "CHF\u{a0}", places: 2 },
    Currency { code: "SEK", sign: "SEK\u{a0}", places: 2 },
    Currency { code: "NOK", sign: "NOK\u{a0}", places: 2 },
    Currency { code: "DKK", sign: "DKK\u{a0}", places: 2 },
    Currency { code: "PLN", sign: "PLN\u{a0}", places: 2 },
    Currency { code: "CZK", sign: "CZK\u{a0}", places: 2 },
    Currency { code: "MXN", sign: "MX$", places: 2 },
    Currency { code: "BRL", sign: "R$", places: 2 },
    Currency { code: "INR", sign: "₹", places: 2 },
    Currency { code: "JPY", sign: "¥", places: 0 },
    Currency { code: "KRW", sign: "₩", places: 0 },
    Currency { code: "KWD", sign: "KWD\u{a0}", places: 3 },
    Currency { code: "AED", sign: "AED\u{a0}", places: 2 },
    Currency { code: "AFN", sign: "AFN\u{a0}", places: 2 },
    Currency { code: "ALL", sign: "ALL\u{a0}", places: 2 },
    Currency { code: "AMD", sign: "AMD\u{a0}", places: 2 },
    Currency { code: "AOA", sign: "AOA\u{a0}", places: 2 },
    Currency { code: "ARS", sign: "ARS\u{a0}", places: 2 },
    Currency { code: "AWG", sign: "AWG\u{a0}", places: 2 },
    Currency { code: "AZN", sign: "AZN\u{a0}", places: 2 },
    Currency { code: "BAM", sign: "BAM\u{a0}", places: 2 },
    Currency { code: "BBD", sign: "BBD\u{a0}", places: 2 },
    Currency { code: "BDT", sign: "BDT\u{a0}", places: 2 },
    Currency { code: "BHD", sign: "BHD\u{a0}", places: 3 },
    Currency { code: "BIF", sign: "BIF\u{a0}", places: 0 },
    Currency { code: "BMD", sign: "BMD\u{a0}", places: 2 },
    Currency { code: "BND", sign: "BND\u{a0}", places: 2 },
    Currency { code: "BOB", sign: "BOB\u{a0}", places: 2 },
    Currency { code: "BOV", sign: "BOV\u{a0}", places: 2 },
    Currency { code: "BSD", sign: "BSD\u{a0}", places: 2 },
    Currency { code: "BTN", sign: "BTN\u{a0}", places: 2 },
    Currency { code: "BWP", sign: "BWP\u{a0}", places: 2 },
    Currency { code: "BYN", sign: "BYN\u{a0}", places: 2 },
    Currency { code: "BZD", sign: "BZD\u{a0}", places: 2 },
    Currency { code: "CDF", sign: "CDF\u{a0}", places: 2 },
    Currency { code: "CHE", sign: "CHE\u{a0}", places: 2 },
    Currency { code: "CHW", sign: "CHW\u{a0}", places: 2 },
    Currency { code: "CLF", sign: "CLF\u{a0}", places: 4 },
    Currency { code: "CLP", sign: "CLP\u{a0}", places: 0 },
    Currency { code: "CNY", sign: "CNY\u{a0}", places: 2 },
    Currency { code: "COP", sign: "COP\u{a0}", places: 2 },
    Currency { code: "COU", sign: "COU\u{a0}", places: 2 },
    Currency { code: "CRC", sign: "CRC\u{a0}", places: 2 },
    Currency { code: "CUP", sign: "CUP\u{a0}", places: 2 },
    Currency { code: "CVE", sign: "CVE\u{a0}", places: 2 },
    Currency { code: "DJF", sign: "DJF\u{a0}", places: 0 },
    Currency { code: "DOP", sign: "DOP\u{a0}", places: 2 },
    Currency { code: "DZD", sign: "DZD\u{a0}", places: 2 },
    Currency { code: "EGP", sign: "EGP\u{a0}", places: 2 },
    Currency { code: "ERN", sign: "ERN\u{a0}", places: 2 },
    Currency { code: "ETB", sign: "ETB\u{a0}", places: 2 },
    Currency { code: "FJD", sign: "FJD\u{a0}", places: 2 },
    Currency { code: "FKP", sign: "FKP\u{a0}", places: 2 },
    Currency { code: "GEL", sign: "GEL\u{a0}", places: 2 },
    Currency { code: "GHS", sign: "GHS\u{a0}", places: 2 },
    Currency { code: "GIP", sign: "GIP\u{a0}", places: 2 },
    Currency { code: "GMD", sign: "GMD\u{a0}", places: 2 },
    Currency { code: "GNF", sign: "GNF\u{a0}", places: 0 },
    Currency { code: "GTQ", sign: "GTQ\u{a0}", places: 2 },
    Currency { code: "GYD", sign: "GYD\u{a0}", places: 2 },
    Currency { code: "HKD", sign: "HKD\u{a0}", places: 2 },
    Currency { code: "HNL", sign: "HNL\u{a0}", places: 2 },
    Currency { code: "HTG", sign: "HTG\u{a0}", places: 2 },
    Currency { code: "HUF", sign: "HUF\u{a0}", places: 2 },
    Currency { code: "IDR", sign: "IDR\u{a0}", places: 2 },
    Currency { code: "ILS", sign: "ILS\u{a0}", places: 2 },
    Currency { code: "IQD", sign: "IQD\u{a0}", places: 3 },
    Currency { code: "IRR", sign: "IRR\u{a0}", places: 2 },
    Currency { code: "ISK", sign: "ISK\u{a0}", places: 0 },
    Currency { code: "JMD", sign: "JMD\u{a0}", places: 2 },
    Currency { code: "JOD", sign: "JOD\u{a0}", places: 3 },
    Currency { code: "KES", sign: "KES\u{a0}", places: 2 },
    Currency { code: "KGS", sign: "KGS\u{a0}", places: 2 },
    Currency { code: "KHR", sign: "KHR\u{a0}", places: 2 },
    Currency { code: "KMF", sign: "KMF\u{a0}", places: 0 },
    Currency { code: "KPW", sign: "KPW\u{a0}", places: 2 },
    Currency { code: "KYD", sign: "KYD\u{a0}", places: 2 },
    Currency { code: "KZT", sign: "KZT\u{a0}", places: 2 },
    Currency { code: "LAK", sign: "LAK\u{a0}", places: 2 },
    Currency { code: "LBP", sign: "LBP\u{a0}", places: 2 },
    Currency { code: "LKR", sign: "LKR\u{a0}", places: 2 },
    Currency { code: "LRD", sign: "LRD\u{a0}", places: 2 },
    Currency { code: "LSL", sign: "LSL\u{a0}", places: 2 },
    Currency { code: "LYD", sign: "LYD\u{a0}", places: 3 },
    Currency { code: "MAD", sign: "MAD\u{a0}", places: 2 },
    Currency { code: "MDL", sign: "MDL\u{a0}", places: 2 },
    Currency { code: "MGA", sign: "MGA\u{a0}", places: 2 },
    Currency { code: "MKD", sign: "MKD\u{a0}", places: 2 },
    Currency { code: "MMK", sign: "MMK\u{a0}", places: 2 },
    Currency { code: "MNT", sign: "MNT\u{a0}", places: 2 },
    Currency { code: "MOP", sign: "MOP\u{a0}", places: 2 },
    Currency { code: "MRU", sign: "MRU\u{a0}", places: 2 },
    Currency { code: "MUR", sign: "MUR\u{a0}", places: 2 },
    Currency { code: "MVR", sign: "MVR\u{a0}", places: 2 },
    Currency { code: "MWK", sign: "MWK\u{a0}", places: 2 },
    Currency { code: "MXV", sign: "MXV\u{a0}", places: 2 },
    Currency { code: "MYR", sign: "MYR\u{a0}", places: 2 },
    Currency { code: "MZN", sign: "MZN\u{a0}", places: 2 },
    Currency { code: "NAD", sign: "NAD\u{a0}", places: 2 },
    Currency { code: "NGN", sign: "NGN\u{a0}", places: 2 },
    Currency { code: "NIO", sign: "NIO\u{a0}", places: 2 },
    Currency { code: "NPR", sign: "NPR\u{a0}", places: 2 },
    Currency { code: "OMR", sign: "OMR\u{a0}", places: 3 },
    Currency { code: "PAB", sign: "PAB\u{a0}", places: 2 },
    Currency { code: "PEN", sign: "PEN\u{a0}", places: 2 },
    Currency { code: "PGK", sign: "PGK\u{a0}", places: 2 },
    Currency { code: "PHP", sign: "PHP\u{a0}", places: 2 },
    Currency { code: "PKR", sign: "PKR\u{a0}", places: 2 },
    Currency { code: "PYG", sign: "PYG\u{a0}", places: 0 },
    Currency { code: "QAR", sign: "QAR\u{a0}", places: 2 },
    Currency { code: "RON", sign: "RON\u{a0}", places: 2 },
    Currency { code: "RSD", sign: "RSD\u{a0}", places: 2 },
    Currency { code: "RUB", sign: "RUB\u{a0}", places: 2 },
    Currency { code: "RWF", sign: "RWF\u{a0}", places: 0 },
    Currency { code: "SAR", sign: "SAR\u{a0}", places: 2 },
    Currency { code: "SBD", sign: "SBD\u{a0}", places: 2 },
    Currency { code: "SCR", sign: "SCR\u{a0}", places: 2 },
    Currency { code: "SDG", sign: "SDG\u{a0}", places: 2 },
    Currency { code: "SGD", sign: "SGD\u{a0}", places: 2 },
    Currency { code: "SHP", sign: "SHP\u{a0}", places: 2 },
    Currency { code: "SLE", sign: "SLE\u{a0}", places: 2 },
    Currency { code: "SOS", sign: "SOS\u{a0}", places: 2 },
    Currency { code: "SRD", sign: "SRD\u{a0}", places: 2 },
    Currency { code: "SSP", sign: "SSP\u{a0}", places: 2 },
    Currency { code: "STN", sign: "STN\u{a0}", places: 2 },
    Currency { code: "SVC", sign: "SVC\u{a0}", places: 2 },
    Currency { code: "SYP", sign: "SYP\u{a0}", places: 2 },
    Currency { code: "SZL", sign: "SZL\u{a0}", places: 2 },
    Currency { code: "THB", sign: "THB\u{a0}", places: 2 },
    Currency { code: "TJS", sign: "TJS\u{a0}", places: 2 },
    Currency { code: "TMT", sign: "TMT\u{a0}", places: 2 },
    Currency { code: "TND", sign: "TND\u{a0}", places: 3 },
    Currency { code: "TOP", sign: "TOP\u{a0}", places: 2 },
    Currency { code: "TRY", sign: "TRY\u{a0}", places: 2 },
    Currency { code: "TTD", sign: "TTD\u{a0}", places: 2 },
    Currency { code: "TWD", sign: "TWD\u{a0}", places: 2 },
    Currency { code: "TZS", sign: "TZS\u{a0}", places: 2 },
    Currency { code: "UAH", sign: "UAH\u{a0}", places: 2 },
    Currency { code: "UGX", sign: "UGX\u{a0}", places: 0 },
    Currency { code: "USN", sign: "USN\u{a0}", places: 2 },
    Currency { code: "UYI", sign: "UYI\u{a0}", places: 0 },
    Currency { code: "UYU", sign: "UYU\u{a0}", places: 2 },
    Currency { code: "UYW", sign: "UYW\u{a0}", places: 4 },
    Currency { code: "UZS", sign: "UZS\u{a0}", places: 2 },
    Currency { code: "VED", sign: "VED\u{a0}", places: 2 },
    Currency { code: "VES", sign: "VES\u{a0}", places: 2 },
    Currency { code: "VND", sign: "VND\u{a0}", places: 0 },
    Currency { code: "VUV", sign: "VUV\u{a0}", places: 0 },
    Currency { code: "WST", sign: "WST\u{a0}", places: 2 },
    Currency { code: "XAD", sign: "XAD\u{a0}", places: 2 },
    Currency { code: "XAF", sign: "XAF\u{a0}", places: 0 },
    Currency { code: "XCD", sign: "XCD\u{a0}", places: 2 },
    Currency { code: "XCG", sign: "XCG\u{a0}", places: 2 },
    Currency { code: "XOF", sign: "XOF\u{a0}", places: 0 },
    Currency { code: "XPF", sign: "XPF\u{a0}", places: 0 },
    Currency { code: "YER", sign: "YER\u{a0}", places: 2 },
    Currency { code: "ZAR", sign: "ZAR\u{a0}", places: 2 },
    Currency { code: "ZMW", sign: "ZMW\u{a0}", places: 2 },
    Currency { code: "ZWG", sign: "ZWG\u{a0}", places: 2 },
];

impl Currency {
    /// The currency of a code, in either case.
    pub fn of(code: &str) -> Option<Self> {
        CURRENCIES.iter().find(|one| one.code.eq_ignore_ascii_case(code)).copied()
    }

    /// All currencies a plan may use.
    pub fn all() -> &'static [Self] {
        CURRENCIES
    }
}

/// An exact amount in one currency.
///
/// Amounts keep every digit while they are added and multiplied and are rounded to the currency's minor unit only where
/// they are shown, half away from zero (the rule of sales tax: Streamlined Sales and Use Tax Agreement, section 324).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Money {
    /// The exact amount.
    pub amount: Decimal,
    /// The currency.
    pub currency: Currency,
}

impl Money {
    /// An exact amount.
    pub fn new(amount: Decimal, currency: Currency) -> Self {
        Self { amount, currency }
    }

    /// Nothing.
    pub fn zero(currency: Currency) -> Self {
        Self::new(Decimal::ZERO, currency)
    }

    /// A number as it was typed, as an exact decimal: `0.1` is a tenth. Fails when it is not a finite number of at most
    /// 28 digits.
    pub fn exactly(value: f64) -> Option<Decimal> {
        value.is_finite().then(|| value.to_string()).and_then(|text| text.parse().ok())
    }

    /// The sum; nothing when the currencies differ or the sum leaves 28 digits.
    pub fn plus(self, other: Self) -> Option<Self> {
        let amount = self.amount.checked_add(other.amount)?;
        (self.currency == other.currency).then_some(Self::new(amount, self.currency))
    }

    /// The difference; nothing when the currencies differ or it leaves 28 digits.
    pub fn minus(self, other: Self) -> Option<Self> {
        self.plus(Self::new(-other.amount, other.currency))
    }

    /// The amount so many times; nothing when it leaves 28 digits.
    pub fn times(self, by: Decimal) -> Option<Self> {
        Some(Self::new(self.amount.checked_mul(by)?, self.currency))
    }

    /// A share of the amount; nothing when divided by zero.
    pub fn over(self, by: Decimal) -> Option<Self> {
        Some(Self::new(self.amount.checked_div(by)?, self.currency))
    }

    /// To the minor unit, the way told.
    pub fn towards(self, way: Rounding) -> Self {
        Self::new(self.amount.round_dp_with_strategy(self.currency.places, strategy(way)), self.currency)
    }

    /// To a whole number of steps; nothing when the step is zero or less, of another currency, or leaves 28 digits.
    pub fn to_step(self, way: Rounding, step: Self) -> Option<Self> {
        if self.currency != step.currency || step.amount <= Decimal::ZERO {
            return None;
        }
        let steps = self.amount.checked_div(step.amount)?.round_dp_with_strategy(0, strategy(way));
        step.times(steps)
    }

    /// To the minor unit, a half to the even one. Source: ISO 80000-1 annex B, rule A (from memory).
    #[must_use]
    pub fn to_even(self) -> Self {
        let amount = self.amount.round_dp_with_strategy(self.currency.places, RoundingStrategy::MidpointNearestEven);
        Self::new(amount, self.currency)
    }

    /// To the minor unit, half away from zero.
    pub fn rounded(self) -> Self {
        let amount = self.amount.round_dp_with_strategy(self.currency.places, RoundingStrategy::MidpointAwayFromZero);
        Self::new(amount, self.currency)
    }
}

fn strategy(way: Rounding) -> RoundingStrategy {
    match way {
        Rounding::Nearest => RoundingStrategy::MidpointAwayFromZero,
        Rounding::Down => RoundingStrategy::ToNegativeInfinity,
        Rounding::Up => RoundingStrategy::ToPositiveInfinity,
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = self.currency.places as usize;
        let amount = self.rounded().amount;
        let text = format!("{:.places$}", amount.abs());
        let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
        let mut grouped = String::with_capacity(text.len() + 4);
        push_grouped(&mut grouped, whole, ',', 4);
        let sign = if amount.is_sign_negative() && !amount.is_zero() { "\u{2212}" } else { "" };
        write!(f, "{sign}{}{grouped}{rest}", self.currency.sign)
    }
}
