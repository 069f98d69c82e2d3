//! Prices, commission and tax.

use rust_decimal::Decimal;

use crate::measure::Money;
use crate::script::args::{Args, Function};
use crate::trade::price::{self, Tier, Tiers};
use crate::{Found, Thing, Trouble, Value};

/// A plain number as it was typed.
fn exactly(a: &Args<'_>, place: usize, name: &str) -> Result<Decimal, Trouble> {
    let number = a.number(place, name)?;
    Money::exactly(number).ok_or_else(|| a.wrong(place, name, "a plain number of at most 28 digits", "0.4"))
}

fn weights(a: &Args<'_>, place: usize) -> Result<Vec<Decimal>, Trouble> {
    let Some(Value::List(all)) = a.values.get(place) else {
        let count = a.count(place, "parts")?.min(1001);
        return Ok(vec![Decimal::ONE; usize::try_from(count).unwrap_or(0)]);
    };
    let inner = Args { function: a.function, values: all };
    (0..all.len()).map(|one| exactly(&inner, one, "weight")).collect()
}

fn tier(a: &Args<'_>, step: &Value) -> Result<Tier, Trouble> {
    let Value::List(all) = step else {
        return Err(a.wrong(
            0,
            "steps",
            "a list of steps, each from, to and price",
            "[[1, 10, 4000.usd], [11, 25, 4800.usd]]",
        ));
    };
    let inner = Args { function: a.function, values: all };
    Ok(Tier {
        from: inner.count(0, "first number")?,
        to: inner.count(1, "last number")?,
        each: inner.money(2, "price")?,
    })
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "price",
        takes: "cost, profit, commission",
        about: "The price that leaves cost and profit after the gallery's share: (cost + profit) ÷ (1 − commission). A commission of 0.4 to 0.5 is usual (common practice, no source).",
        example: "price(1115.50.usd, 1500.usd, 0.5)",
        call: |a| price::price(a.money(0, "cost")?, a.money(1, "profit")?, exactly(a, 2, "commission")?),
    },
    Function {
        name: "markup",
        takes: "cost, markup",
        about: "Cost with a markup on it: cost × (1 + markup).",
        example: "markup(1000.usd, 1.5)",
        call: |a| price::markup(a.money(0, "cost")?, exactly(a, 1, "markup")?),
    },
    Function {
        name: "margin",
        takes: "cost, price",
        about: "The share of a price that is not cost: (price − cost) ÷ price.",
        example: "margin(1000.usd, 2500.usd)",
        call: |a| price::margin(a.money(0, "cost")?, a.money(1, "price")?),
    },
    Function {
        name: "tax",
        takes: "price, rate",
        about: "Sales tax, to the nearest cent, a half upwards; by item or by invoice as the seller elects. The rate is yours to look up: `0.08875` is 8.875 percent. Source: Streamlined Sales and Use Tax Agreement, section 324.",
        example: "tax(4850.usd, 0.08875)",
        call: |a| price::tax(a.money(0, "price")?, exactly(a, 1, "rate")?),
    },
    Function {
        name: "commission",
        takes: "price, share",
        about: "What the gallery keeps of a price: price × share. State whether discount and framing are in the price.",
        example: "commission(4850.usd, 0.5)",
        call: |a| price::commission(a.money(0, "price")?, exactly(a, 1, "share")?),
    },
    Function {
        name: "split",
        takes: "total, parts or weights",
        about: "An amount shared out evenly or by weights, to the cent, so that the parts add up to it: the largest remainders get the cents left over.",
        example: "split(100.usd, 3)",
        call: |a| {
            let parts = price::split(a.money(0, "total")?, &weights(a, 1)?)?;
            Ok(Found::stated(Value::List(parts.into_iter().map(Value::from).collect())))
        },
    },
    Function {
        name: "break_even",
        takes: "fixed, price, commission, variable",
        about: "How many prints must sell before fixed costs are paid: fixed ÷ (price × (1 − commission) − variable), rounded up, where variable is the cost of making one.",
        example: "break_even(6200.usd, 4850.usd, 0.5, 1115.50.usd)",
        call: |a| {
            price::break_even(
                a.money(0, "fixed cost")?,
                a.money(1, "price")?,
                exactly(a, 2, "commission")?,
                a.money(3, "cost of one")?,
            )
        },
    },
    Function {
        name: "edition_prices",
        takes: "steps",
        about: "Prices that rise as an edition sells: steps of first number, last number and price, from number 1 without a gap. Stepped prices are common practice, no source.",
        example: "edition_prices([[1, 10, 4000.usd], [11, 20, 4800.usd], [21, 25, 6000.usd]]).gross",
        call: |a| {
            let Some(Value::List(steps)) = a.values.first() else {
                return Err(a.wrong(0, "steps", "a list of steps", "[[1, 10, 4000.usd], [11, 25, 4800.usd]]"));
            };
            let tiers: Vec<Tier> = steps.iter().map(|step| tier(a, step)).collect::<Result<_, _>>()?;
            Ok(Found::stated(Thing::new(Tiers::new(&tiers)?)))
        },
    },
    Function {
        name: "price_of",
        takes: "prices, number",
        about: "The price of one number of an edition whose prices rise.",
        example: "price_of(edition_prices([[1, 10, 4000.usd], [11, 25, 4800.usd]]), 11)",
        call: |a| {
            let tiers = a.thing::<Tiers>(0, "prices", "edition prices", "edition_prices([[1, 10, 4000.usd]])")?;
            tiers.price_of(a.count(1, "number")?).map(Found::stated)
        },
    },
];
