//! Quantities as they are written down for another time and read back: days as in ISO 8601, money as an exact decimal and the
//! currency's code after ISO 4217, lengths in tenths of a millimetre, systems of units by their word.

use std::fmt::Display;

use rust_decimal::Decimal;
use serde::de::{Error, Unexpected};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Currency, Day, Length, Money, Units};

impl Serialize for Day {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.iso())
    }
}

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        read(deserializer, "a day like 2026-11-26", Self::parse)
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&format_args!("{} {}", self.amount, self.currency.code))
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        read(deserializer, "an amount and a currency like 12.50 USD", |text| {
            let (amount, code) = text.split_once(' ')?;
            Some(Self::new(amount.parse::<Decimal>().ok()?, Currency::of(code)?))
        })
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.to_tenth_mm())
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        f64::deserialize(deserializer).map(Self::tenth_mm)
    }
}

impl Serialize for Units {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

impl<'de> Deserialize<'de> for Units {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        read(deserializer, "inch or metric", |word| {
            [Self::Inch, Self::Metric].into_iter().find(|one| one.word() == word)
        })
    }
}

fn read<'de, D: Deserializer<'de>, T>(
    deserializer: D,
    wanted: &'static str,
    parse: impl FnOnce(&str) -> Option<T>,
) -> Result<T, D::Error> {
    let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
    parse(&text).ok_or_else(|| D::Error::invalid_value(Unexpected::Str(&text), &Wanted(wanted)))
}

struct Wanted(&'static str);

impl serde::de::Expected for Wanted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check<T: Serialize + serde::de::DeserializeOwned + PartialEq + std::fmt::Debug>(value: &T, wanted: &str) {
        let text = serde_json::to_string(value).unwrap();
        assert_eq!(text, wanted);
        assert_eq!(&serde_json::from_str::<T>(&text).unwrap(), value);
    }

    #[test]
    fn what_is_written_down_is_read_back_to_the_last_digit() {
        check(&Day::parse("2026-11-26").unwrap(), "\"2026-11-26\"");
        check(
            &Money::new("12.5000000000000001".parse().unwrap(), Currency::of("USD").unwrap()),
            "\"12.5000000000000001 USD\"",
        );
        check(&Length::inch(24.0), "6096.0");
        check(&Units::Metric, "\"metric\"");
        for wrong in ["\"2026-13-01\"", "7"] {
            assert!(serde_json::from_str::<Day>(wrong).is_err());
        }
        assert!(serde_json::from_str::<Money>("\"12.50\"").is_err());
    }
}
