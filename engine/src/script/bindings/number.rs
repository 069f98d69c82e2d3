//! Rounding, and the smaller or larger of two values.

use std::cmp::Ordering;

use crate::measure::rounding::Rounding;
use crate::measure::{Money, Quantity};
use crate::script::args::{Args, Function};
use crate::script::operators;
use crate::{Found, Message, Value};

/// A value rounded: a plain number to the whole, money to its minor unit, anything to a step of its own kind.
fn rounded(a: &Args<'_>, way: Rounding) -> Result<Found, Message> {
    let value = a.values.first().ok_or_else(|| a.wrong(0, "value", "a number", "round(4.6)"))?;
    match (value, a.values.get(1)) {
        (Value::Whole(whole), None) => Ok(Found::stated(*whole)),
        (Value::Money(money), None) => Ok(Found::stated(money.towards(way))),
        (Value::Money(money), Some(Value::Money(step))) => {
            let nearest = money.to_step(way, *step);
            let nearest = nearest.ok_or_else(|| a.wrong(1, "step", "an amount above zero in one currency", "5.usd"))?;
            Ok(Found::by(nearest, to(way), [value.clone(), (*step).into()]))
        }
        _ => {
            let quantity = quantity(value).ok_or_else(|| a.wrong(0, "value", "a number", "round(4.6)"))?;
            let step = match a.values.get(1) {
                Some(step) => step.clone(),
                None => Value::from(1.0),
            };
            let nearest = self::quantity(&step).and_then(|step| quantity.rounded(way, step));
            let nearest = nearest.ok_or_else(|| {
                Message::new(
                    format!("`{}` does not say to what {} is rounded", a.function, quantity.dims.name()),
                    format!("give a step of the same kind, above zero, like `{}(wide, 0.5.inch)`", a.function),
                )
            })?;
            Ok(match a.values.get(1) {
                Some(step) => Found::by(nearest, to(way), [value.clone(), step.clone()]),
                None => Found::stated(nearest),
            })
        }
    }
}

/// The arguments, when none of them is a number no one can count with.
fn finite(a: &Args<'_>, call: impl FnOnce(&Args<'_>) -> Result<Found, Message>) -> Result<Found, Message> {
    fn counts(value: &Value) -> bool {
        match value {
            Value::Quantity(quantity) => quantity.value.is_finite(),
            Value::List(all) => all.iter().all(counts),
            _ => true,
        }
    }
    let found = if a.values.iter().all(counts) { call(a)? } else { Found::stated(f64::NAN) };
    if counts(&found.value) {
        return Ok(found);
    }
    Err(Message::new(
        format!("`{}` is given a number no one can count with, or gives one", a.function),
        "look for a number with zeros too many, or a root of one below zero",
    ))
}

fn to(way: Rounding) -> &'static str {
    match way {
        Rounding::Nearest => "{}, to the nearest {}",
        Rounding::Down => "{}, down to steps of {}",
        Rounding::Up => "{}, up to steps of {}",
    }
}

fn quantity(value: &Value) -> Option<Quantity> {
    match value {
        Value::Quantity(quantity) => Some(*quantity),
        #[expect(clippy::cast_precision_loss, reason = "numbers above 2^53 have no meaning in a plan")]
        Value::Whole(whole) => Some(Quantity::plain(*whole as f64)),
        _ => None,
    }
}

/// The first of several values of one kind, of which none is `beaten` by another.
fn extreme(a: &Args<'_>, beaten: Ordering, words: &'static str) -> Result<Found, Message> {
    let all = match a.values {
        [Value::List(all)] => all.as_slice(),
        all => all,
    };
    let wanted = || a.wrong(0, "values", "two values of one kind, or a list of them", "max(63.inch, 5.ft)");
    let mut best = all.first().ok_or_else(wanted)?;
    if all.len() == 1 && !matches!(a.values, [Value::List(_)]) {
        return Err(wanted());
    }
    for one in all {
        if operators::order(one, best)? == beaten.reverse() {
            best = one;
        }
    }
    match all {
        [first, second] => Ok(Found::by(best.clone(), words, [first.clone(), second.clone()])),
        _ => Ok(Found::stated(best.clone())),
    }
}

fn smallest(a: &Args<'_>) -> Result<Found, Message> {
    finite(a, |a| extreme(a, Ordering::Greater, "the smaller of {} and {}"))
}

fn largest(a: &Args<'_>) -> Result<Found, Message> {
    finite(a, |a| extreme(a, Ordering::Less, "the larger of {} and {}"))
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "round",
        takes: "value, [step]",
        about: "A plain number to the nearest whole, money to the nearest cent (its currency's minor unit), or any value to the nearest step of its own kind; a half goes away from zero. Source: ISO 80000-1 annex B, rule B; for money the Streamlined Sales and Use Tax Agreement, section 324.",
        example: "round(29.87.inch, 0.25.inch)",
        call: |a| finite(a, |a| rounded(a, Rounding::Nearest)),
    },
    Function {
        name: "floor",
        takes: "value, [step]",
        about: "A plain number to the whole number below, money to the cent below, or any value to a step of its own kind below. Source: arithmetic (identity).",
        example: "floor(29.87.inch, 1.inch)",
        call: |a| finite(a, |a| rounded(a, Rounding::Down)),
    },
    Function {
        name: "ceiling",
        takes: "value, [step]",
        about: "A plain number to the whole number above, money to the cent above, or any value to a step of its own kind above. Source: arithmetic (identity).",
        example: "ceiling(29.87.inch, 0.5.inch)",
        call: |a| finite(a, |a| rounded(a, Rounding::Up)),
    },
    Function {
        name: "abs",
        takes: "value",
        about: "A value without its sign. Source: arithmetic (identity).",
        example: "abs(2.inch - 5.inch)",
        call: |a| match a.values.first() {
            Some(Value::Whole(whole)) => whole
                .checked_abs()
                .map(Found::stated)
                .ok_or_else(|| Message::new(format!("{whole} is too large to lose its sign"), "use a smaller number")),
            Some(Value::Money(money)) => Ok(Found::stated(Money::new(money.amount.abs(), money.currency))),
            Some(Value::Quantity(one)) => finite(a, |_| Ok(Found::stated(Quantity { value: one.value.abs(), ..*one }))),
            _ => Err(a.wrong(0, "value", "a number", "abs(2.inch - 5.inch)")),
        },
    },
    Function {
        name: "sqrt",
        takes: "number",
        about: "The square root of a plain number of zero or more. Source: arithmetic (identity).",
        example: "sqrt(2)",
        call: |a| {
            let number = a.number(0, "number")?;
            if number < 0.0 {
                return Err(a.wrong(0, "number", "a plain number of zero or more", "sqrt(2)"));
            }
            Ok(Found::by(number.sqrt(), "√{}", [number.into()]))
        },
    },
    Function {
        name: "whole",
        takes: "number",
        about: "A plain number as the nearest whole number, to count with: a half goes away from zero. Source: ISO 80000-1 annex B, rule B (from memory).",
        example: "whole(2.6)",
        call: |a| {
            let near = a.number(0, "number")?.round();
            if near.abs() >= 9e15 {
                return Err(a.wrong(0, "number", "a number below nine million thousand millions", "whole(2.6)"));
            }
            #[expect(clippy::cast_possible_truncation, reason = "checked to lie within 9e15")]
            Ok(Found::stated(near as i64))
        },
    },
    Function {
        name: "min",
        takes: "value, [value]",
        about: "The smaller of two values of one kind, or the smallest of a list: numbers, lengths, weights, money, dates. Source: arithmetic (identity).",
        example: "min(63.inch, 5.ft)",
        call: smallest,
    },
    Function {
        name: "max",
        takes: "value, [value]",
        about: "The larger of two values of one kind, or the largest of a list: numbers, lengths, weights, money, dates. Source: arithmetic (identity).",
        example: "max([18.lb, 9.kg, 300.oz])",
        call: largest,
    },
];
