//! Arithmetic on what a plan names: kinds are checked, and a mistake is told in the trade's words.

use rust_decimal::Decimal;

use crate::measure::{Dims, Money, Quantity, Units};
use crate::trade::price_list::{self, ToCome};
use crate::{Message, Thing, Value};

/// Adds, or with `minus` takes away.
pub(crate) fn add(a: &Value, b: &Value, minus: bool) -> Result<Value, Message> {
    if let Some(open) = to_come(a, b) {
        return Ok(open);
    }
    let (verb, joined) = if minus { ("taken from", "from") } else { ("added to", "to") };
    match (a, b) {
        (Value::Money(x), Value::Money(y)) => {
            let sum = if minus { x.minus(*y) } else { x.plus(*y) };
            sum.map(Value::Money).ok_or_else(|| currencies(*x, *y))
        }
        (Value::Day(x), Value::Day(y)) if minus => Ok(Value::Whole(y.until(*x))),
        (Value::Day(x), _) if count(b).is_some() => {
            let days = count(b).unwrap_or_default();
            x.plus(if minus { -days } else { days }).map(Value::Day).ok_or_else(|| {
                Message::new(format!("{x} and {days} days lead past the end of the calendar"), "use fewer days")
            })
        }
        (Value::Day(_), Value::Quantity(days)) if days.dims == crate::measure::Days::DIMS => Err(Message::new(
            "working days are counted with the plan's holidays, which `+` does not know",
            "write `add_working_days(the date, 3.days)`",
        )),
        _ => match (quantity(a), quantity(b)) {
            (Some(x), Some(y)) if x.dims == y.dims => {
                let value = if minus { x.value - y.value } else { x.value + y.value };
                let always = if x.always == y.always { x.always } else { None };
                checked(Quantity { always, ..Quantity::new(value, x.dims) })
            }
            _ => Err(Message::new(
                format!("{} cannot be {verb} {}: {} {joined} {}", b.kind(), a.kind(), shown(b), shown(a)),
                unit_hint(a, b).unwrap_or_else(|| {
                    "use two values of one kind; a part of a thing is asked for by name, like `frame.weight`".into()
                }),
            )),
        },
    }
}

/// A price to come, when one of the two is: what is counted from it is to come too.
fn to_come(a: &Value, b: &Value) -> Option<Value> {
    [a, b].into_iter().any(price_list::is_open).then(|| Thing::new(ToCome).into())
}

/// Multiplies.
pub(crate) fn times(a: &Value, b: &Value) -> Result<Value, Message> {
    if let Some(open) = to_come(a, b) {
        return Ok(open);
    }
    match (a, b) {
        (Value::Money(money), by) | (by, Value::Money(money)) => {
            let by = decimal(by).ok_or_else(|| {
                Message::new(
                    format!("{} cannot be multiplied by {}: {} × {}", a.kind(), b.kind(), shown(a), shown(b)),
                    "multiply money by a plain number; for a price per area divide first: `size.area / 1.ft2 * 14.usd`",
                )
            })?;
            money.times(by).map(Value::Money).ok_or_else(|| too_large(*money))
        }
        _ => match (quantity(a), quantity(b)) {
            (Some(x), Some(y)) => {
                let dims = x.dims.times(y.dims).ok_or_else(|| {
                    Message::new("this product has too many units in it", "calculate it in two steps")
                })?;
                checked(Quantity::new(x.value * y.value, dims))
            }
            _ => Err(cannot("multiplied by", a, b)),
        },
    }
}

/// Divides.
pub(crate) fn over(a: &Value, b: &Value) -> Result<Value, Message> {
    if let Some(open) = to_come(a, b) {
        return Ok(open);
    }
    let zero =
        || Message::new(format!("{} is divided by zero", shown(a)), "give the lower number a value other than 0");
    match (a, b) {
        (Value::Money(x), Value::Money(y)) if x.currency == y.currency => {
            let share = x.amount.checked_div(y.amount).ok_or_else(zero)?;
            Ok(Value::from(f64::try_from(share).unwrap_or_default()))
        }
        (Value::Money(x), Value::Money(y)) => Err(currencies(*x, *y)),
        (Value::Money(money), by) => {
            let by = decimal(by).ok_or_else(|| {
                Message::new(
                    format!("{} cannot be divided by {}: {} ÷ {}", a.kind(), b.kind(), shown(a), shown(b)),
                    "divide money by a plain number; for a price per area write `size.area / 1.ft2 * 14.usd`",
                )
            })?;
            money.over(by).map(Value::Money).ok_or_else(zero)
        }
        _ => match (quantity(a), quantity(b)) {
            (Some(_), Some(y)) if y.value == 0.0 => Err(zero()),
            (Some(x), Some(y)) if x.dims == Dims::NONE && y.dims != Dims::NONE => Err(Message::new(
                format!("a plain number is divided by {}: {} ÷ {}", y.dims.name(), shown(a), shown(b)),
                "for a fraction with a unit write the fraction in brackets: `(3/4).inch`",
            )),
            (Some(x), Some(y)) => {
                let dims = x.dims.over(y.dims).ok_or_else(|| {
                    Message::new("this quotient has too many units in it", "calculate it in two steps")
                })?;
                checked(Quantity::new(x.value / y.value, dims))
            }
            _ => Err(cannot("divided by", a, b)),
        },
    }
}

/// Compares, for `<` and its kin and for `==`: lengths with lengths, money with money.
pub(crate) fn order(a: &Value, b: &Value) -> Result<std::cmp::Ordering, Message> {
    use std::cmp::Ordering;
    match (a, b) {
        (Value::Money(x), Value::Money(y)) if x.currency == y.currency => Ok(x.amount.cmp(&y.amount)),
        (Value::Money(x), Value::Money(y)) => Err(currencies(*x, *y)),
        (Value::Day(x), Value::Day(y)) => Ok(x.cmp(y)),
        (Value::Text(x), Value::Text(y)) => Ok(x.cmp(y)),
        (Value::Truth(x), Value::Truth(y)) => Ok(x.cmp(y)),
        _ => match (quantity(a), quantity(b)) {
            (Some(x), Some(y)) if x.dims == y.dims => {
                Ok(if x.agrees(y) { Ordering::Equal } else { x.value.total_cmp(&y.value) })
            }
            _ => Err(Message::new(
                format!("{} cannot be compared with {}: {} and {}", a.kind(), b.kind(), shown(a), shown(b)),
                unit_hint(a, b).unwrap_or_else(|| "compare two values of one kind".into()),
            )),
        },
    }
}

/// Whether two values are the same, for `==` and `!=`: also of lists, part by part, and of nothing.
pub(crate) fn same(a: &Value, b: &Value) -> Result<bool, Message> {
    match (a, b) {
        (Value::Nothing, Value::Nothing) => Ok(true),
        (Value::Nothing, _) | (_, Value::Nothing) => Ok(false),
        (Value::List(x), Value::List(y)) => {
            if x.len() != y.len() {
                return Ok(false);
            }
            x.iter().zip(y).try_fold(true, |all, (x, y)| Ok(all & same(x, y)?))
        }
        (Value::Thing(x), Value::Thing(_)) => Err(Message::new(
            format!("{} cannot be compared as a whole", x.kind()),
            "compare one of its parts, like `frame.width`",
        )),
        _ => order(a, b).map(std::cmp::Ordering::is_eq),
    }
}

/// The other way round: minus the value.
pub(crate) fn negative(a: &Value) -> Result<Value, Message> {
    match a {
        Value::Money(money) => Ok(Value::Money(Money::new(-money.amount, money.currency))),
        _ => quantity(a).map(|x| Value::Quantity(Quantity::new(-x.value, x.dims))).ok_or_else(|| {
            Message::new(
                format!("{} has no opposite: {}", a.kind(), shown(a)),
                "take it from another value of its kind",
            )
        }),
    }
}

fn quantity(value: &Value) -> Option<Quantity> {
    match value {
        Value::Quantity(quantity) => Some(*quantity),
        #[expect(clippy::cast_precision_loss, reason = "whole numbers of a plan are far below 2^53")]
        Value::Whole(whole) => Some(Quantity::plain(*whole as f64)),
        _ => None,
    }
}

fn decimal(value: &Value) -> Option<Decimal> {
    match value {
        Value::Whole(whole) => Some(Decimal::from(*whole)),
        Value::Quantity(quantity) if quantity.dims == Dims::NONE => Money::exactly(quantity.value),
        _ => None,
    }
}

#[expect(clippy::cast_possible_truncation, reason = "checked to be whole and in range")]
fn count(value: &Value) -> Option<i64> {
    match value {
        Value::Whole(whole) => Some(*whole),
        Value::Quantity(x) if x.dims == Dims::NONE && x.value.fract() == 0.0 && x.value.abs() < 1e9 => {
            Some(x.value as i64)
        }
        _ => None,
    }
}

fn checked(quantity: Quantity) -> Result<Value, Message> {
    if quantity.value.is_finite() {
        Ok(Value::Quantity(quantity))
    } else {
        Err(Message::new(
            "the result is too large to be a number",
            "look for a value with a zero too many, or a division by almost nothing",
        ))
    }
}

fn cannot(verb: &str, a: &Value, b: &Value) -> Message {
    Message::new(
        format!("{} cannot be {verb} {}: {} and {}", a.kind(), b.kind(), shown(a), shown(b)),
        "use numbers here; a part of a thing is asked for by name, like `frame.weight`",
    )
}

fn currencies(a: Money, b: Money) -> Message {
    if a.currency == b.currency {
        return too_large(a);
    }
    Message::new(
        format!("{a} and {b} are in two currencies"),
        "bring one into the other first, with a rate you write down: `euros / 1.eur * 1.08.usd`",
    )
}

fn too_large(a: Money) -> Message {
    Message::new(format!("an amount grew past 28 digits, from {a}"), "look for a number with zeros too many")
}

fn unit_hint(a: &Value, b: &Value) -> Option<String> {
    let plain = |value: &Value| quantity(value).is_some_and(|x| x.dims == Dims::NONE);
    let (bare, other) = if plain(a) {
        (a, b)
    } else if plain(b) {
        (b, a)
    } else {
        return None;
    };
    let unit = match other {
        Value::Money(money) => money.currency.code.to_lowercase(),
        Value::Quantity(x) => crate::syntax::units::UNITS.iter().find(|unit| unit.one.dims == x.dims)?.name.to_owned(),
        _ => return None,
    };
    let number = shown(bare).replace('\u{202f}', "_").replace('\u{2212}', "-");
    Some(format!("give the plain number a unit: `{number}.{unit}`"))
}

fn shown(value: &Value) -> String {
    value.shown(Units::Inch).chars().take(60).collect()
}
