//! Prices, commission and tax.

use rust_decimal::Decimal;

use super::exactly;
use crate::measure::{Money, Quantity};
use crate::script::args::{Args, Function};
use crate::trade::price::{self, Borne, Break, Tier, Tiers};
use crate::trade::{customs, practice};
use crate::{Found, Message, Thing, Value};

fn weights(a: &Args<'_>, place: usize) -> Result<Vec<Decimal>, Message> {
    let Some(Value::List(all)) = a.values.get(place) else {
        let count = a.count(place, "parts")?.min(1001);
        return Ok(vec![Decimal::ONE; usize::try_from(count).unwrap_or(0)]);
    };
    let inner = Args { function: a.function, values: all };
    (0..all.len()).map(|one| exactly(&inner, one, "weight")).collect()
}

fn tier(a: &Args<'_>, step: &Value) -> Result<Tier, Message> {
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

const BREAKS: (&str, &str) = ("a list of breaks, each from a quantity on, at a price", "[[1, 48.usd], [5, 42.usd]]");

fn price_break(a: &Args<'_>, one: &Value) -> Result<Break, Message> {
    let Value::List(all) = one else { return Err(a.wrong(1, "breaks", BREAKS.0, BREAKS.1)) };
    let inner = Args { function: a.function, values: all };
    Ok(Break { from: exactly(&inner, 0, "quantity")?, each: inner.money(1, "price")? })
}

fn money_or_none(a: &Args<'_>, place: usize, name: &str) -> Result<Option<Money>, Message> {
    if a.has(place) { a.money(place, name).map(Some) } else { Ok(None) }
}

fn borne_at(a: &Args<'_>, place: usize) -> Result<Borne, Message> {
    if !a.has(place) {
        return Ok(Borne::Shared);
    }
    match a.text(place, "who bears it")?.to_lowercase().as_str() {
        "both" => Ok(Borne::Shared),
        "artist" => Ok(Borne::Artist),
        "gallery" => Ok(Borne::Gallery),
        _ => Err(a.wrong(place, "who bears it", "\"both\", \"artist\" or \"gallery\"", "\"both\"")),
    }
}

/// To a step, a half to the even one.
fn to_even(a: &Args<'_>) -> Result<Found, Message> {
    let wrong = || a.wrong(0, "value", "a number", "round_even(2.5)");
    let none = || a.wrong(1, "step", "a step of the same kind, above zero", "0.01");
    match (a.values.first(), a.values.get(1)) {
        (Some(Value::Money(money)), None) => Ok(Found::stated(money.to_even())),
        (Some(value), step) => {
            let quantity = |value: &Value| match value {
                Value::Quantity(quantity) => Some(*quantity),
                #[expect(clippy::cast_precision_loss, reason = "numbers above 2^53 have no meaning in a plan")]
                Value::Whole(whole) => Some(Quantity::plain(*whole as f64)),
                _ => None,
            };
            let value = quantity(value).filter(|one| one.value.abs() <= 1e30).ok_or_else(wrong)?;
            let step = step.map_or(Some(Quantity::plain(1.0)), quantity).ok_or_else(none)?;
            value.to_even(step).map(Found::stated).ok_or_else(none)
        }
        (None, _) => Err(wrong()),
    }
}

pub(super) static FUNCTIONS: &[Function] = &[
    Function {
        name: "price",
        takes: "cost, profit, commission",
        about: "The price that leaves cost and profit after the gallery's share: (cost + profit) ÷ (1 − commission). A commission of 0.4 to 0.5 is usual (common practice, no source). Source: arithmetic (identity).",
        example: "price(1115.50.usd, 1500.usd, 0.5)",
        call: |a| price::price(a.money(0, "cost")?, a.money(1, "profit")?, exactly(a, 2, "commission")?),
    },
    Function {
        name: "markup",
        takes: "cost, markup",
        about: "Cost with a markup on it: cost × (1 + markup). Source: arithmetic (identity).",
        example: "markup(1000.usd, 1.5)",
        call: |a| price::markup(a.money(0, "cost")?, exactly(a, 1, "markup")?),
    },
    Function {
        name: "margin",
        takes: "cost, price",
        about: "The share of a price that is not cost: (price − cost) ÷ price. Source: arithmetic (identity).",
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
        about: "What the gallery keeps of a price: price × share. State whether discount and framing are in the price. Source: arithmetic (identity); 40 to 50 percent is common practice, no source.",
        example: "commission(4850.usd, 0.5)",
        call: |a| price::commission(a.money(0, "price")?, exactly(a, 1, "share")?),
    },
    Function {
        name: "split",
        takes: "total, parts or weights",
        about: "An amount shared out evenly or by weights, to the cent, so that the parts add up to it: the largest remainders get the cents left over. Source: largest remainder method (identity).",
        example: "split(100.usd, 3)",
        call: |a| {
            let parts = price::split(a.money(0, "total")?, &weights(a, 1)?)?;
            Ok(Found::stated(Value::List(parts.into_iter().map(Value::from).collect())))
        },
    },
    Function {
        name: "break_even",
        takes: "fixed, price, commission, variable",
        about: "How many prints must sell before fixed costs are paid: fixed ÷ (price × (1 − commission) − variable), rounded up, where variable is the cost of making one. Source: arithmetic (identity).",
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
        about: "Prices that rise as an edition sells: steps of first number, last number and price, from number 1 without a gap. Stepped prices are common practice, no source. Source: arithmetic (identity).",
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
        name: "price_ladder",
        takes: "edition, numbers in a step, first price, rise, [to]",
        about: "Prices that rise by the same share from step to step of an edition, each to the nearest amount told, such as 50 dollars, or to the cent. It stands wherever edition prices do. Source: arithmetic (identity); stepped prices are common practice, no source.",
        example: "price_ladder(25, 10, 4000.usd, 0.2, 50.usd).gross",
        call: |a| {
            let (size, in_step) = (a.count(0, "size of the edition")?, a.count(1, "numbers in a step")?);
            let (first, rise) = (a.money(2, "first price")?, exactly(a, 3, "rise")?);
            let tiers = price::ladder(size, in_step, first, rise, money_or_none(a, 4, "amount to round to")?)?;
            Ok(Found::stated(Thing::new(tiers)))
        },
    },
    Function {
        name: "price_of",
        takes: "prices, number",
        about: "The price of one number of an edition whose prices rise. Source: arithmetic (identity).",
        example: "price_of(edition_prices([[1, 10, 4000.usd], [11, 25, 4800.usd]]), 11)",
        call: |a| {
            let tiers = a.thing::<Tiers>(0, "prices", "edition prices", "edition_prices([[1, 10, 4000.usd]])")?;
            tiers.price_of(a.count(1, "number")?).map(Found::stated)
        },
    },
    Function {
        name: "price_at_margin",
        takes: "cost, margin",
        about: "The price of which the margin is not cost: cost ÷ (1 − margin). A markup is reckoned on the cost, a margin on the price. Source: arithmetic (identity).",
        example: "price_at_margin(1000.usd, 0.6)",
        call: |a| price::at_margin(a.money(0, "cost")?, exactly(a, 1, "margin")?),
    },
    Function {
        name: "discount",
        takes: "price, share",
        about: "A price with a share taken off: price × (1 − share). Source: arithmetic (identity).",
        example: "discount(4850.usd, 0.1)",
        call: |a| price::discount(a.money(0, "price")?, exactly(a, 1, "share")?),
    },
    Function {
        name: "net_after",
        takes: "price, discount, commission, [who]",
        about: "What is left to the artist of a price after a discount and the gallery's commission. Who bears the discount is a matter of agreement: \"both\" by default (commission of the lower price), the \"artist\" alone (commission of the full price), or the \"gallery\" alone. Source: arithmetic (identity); the three ways are common practice, no source.",
        example: "net_after(4850.usd, 0.1, 0.5, \"both\")",
        call: |a| {
            let (off, commission) = (exactly(a, 1, "discount")?, exactly(a, 2, "commission")?);
            price::net(a.money(0, "price")?, off, commission, borne_at(a, 3)?)
        },
    },
    Function {
        name: "quantity_price",
        takes: "quantity, breaks, [least charge]",
        about: "What a shop charges by the quantity: the price of the last break reached, times the quantity, and no less than the least charge. Each break is a quantity and the price of each from there on. Source: arithmetic (identity); the breaks are the shop's own.",
        example: "quantity_price(6, [[1, 48.usd], [5, 42.usd], [10, 38.usd]], 95.usd)",
        call: |a| {
            let Some(Value::List(all)) = a.values.get(1) else { return Err(a.wrong(1, "breaks", BREAKS.0, BREAKS.1)) };
            let breaks = all.iter().map(|one| price_break(a, one)).collect::<Result<Vec<_>, _>>()?;
            price::quantity_price(exactly(a, 0, "quantity")?, &breaks, money_or_none(a, 2, "least charge")?)
        },
    },
    Function {
        name: "tax_on",
        takes: "prices, rate, by",
        about: "Sales tax on several items, to the nearest cent, by \"item\" or by \"invoice\": the two may differ by a cent or more, and the seller elects which. Source: Streamlined Sales and Use Tax Agreement, section 324.",
        example: "tax_on([49.99.usd, 49.99.usd, 49.99.usd], 0.0725, \"item\")",
        call: |a| {
            let wrong = || a.wrong(0, "prices", "a list of prices", "[49.99.usd, 12.usd]");
            let Some(Value::List(all)) = a.values.first() else { return Err(wrong()) };
            let prices: Option<Vec<Money>> =
                all.iter().map(|one| if let Value::Money(money) = one { Some(*money) } else { None }).collect();
            let by_item = match a.text(2, "way")?.to_lowercase().as_str() {
                "item" => true,
                "invoice" => false,
                _ => return Err(a.wrong(2, "way", "\"item\" or \"invoice\"", "\"invoice\"")),
            };
            price::tax_on(&prices.ok_or_else(wrong)?, exactly(a, 1, "rate")?, by_item)
        },
    },
    Function {
        name: "insurance",
        takes: "value, rate, [least premium]",
        about: "What insuring a piece on its way costs: its value times the insurer's rate, to the cent, and no less than the least premium. Source: arithmetic (identity); the rate is the insurer's own.",
        example: "insurance(4200.usd, 0.012, 35.usd)",
        call: |a| {
            customs::insurance(a.money(0, "value")?, exactly(a, 1, "rate")?, money_or_none(a, 2, "least premium")?)
        },
    },
    Function {
        name: "round_even",
        takes: "value, [step]",
        about: "As `round`, but a half goes to the even step: a plain number to the whole, money to its minor unit, or any value to a step of its own kind. Some books are kept so. Source: ISO 80000-1 annex B, rule A (from memory).",
        example: "round_even(2.665, 0.01)",
        call: to_even,
    },
    Function {
        name: "minor_units",
        takes: "currency",
        about: "Digits after the point of a currency: 2 for dollars and euros, 0 for yen, 3 for Kuwaiti dinars. Source: ISO 4217 (read in tables made from its list).",
        example: "minor_units(\"JPY\")",
        call: |a| practice::minor_units(a.text(0, "currency")?),
    },
];
