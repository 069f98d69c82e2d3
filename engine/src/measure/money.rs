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

// Source: ISO 4217, minor units (read in tables made from its list).
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
/// they are shown, half away from nought (the rule of sales tax: Streamlined Sales and Use Tax Agreement, section 324).
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

    /// A number as it was typed, as an exact decimal: `0.1` is a tenth. Fails when it is no finite number of at most
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

    /// A share of the amount; nothing when divided by nought.
    pub fn over(self, by: Decimal) -> Option<Self> {
        Some(Self::new(self.amount.checked_div(by)?, self.currency))
    }

    /// To the minor unit, the way told.
    pub fn towards(self, way: Rounding) -> Self {
        Self::new(self.amount.round_dp_with_strategy(self.currency.places, strategy(way)), self.currency)
    }

    /// To a whole number of steps; nothing when the step is nought or less, of another currency, or leaves 28 digits.
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

    /// To the minor unit, half away from nought.
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
