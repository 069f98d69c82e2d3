//! Prices: cost, profit, commission and tax, exact to the last digit and rounded only where they are shown.

use rust_decimal::Decimal;

use crate::measure::Money;
use crate::{Found, Message, Value};

/// What a gallery keeps, from and to. Source: common practice, no source.
pub const COMMISSION: (&str, &str) = ("0.40", "0.50");

pub(super) fn too_large() -> Message {
    Message::new("the amount has more digits than money has", "check the digits of the amounts")
}

fn two_currencies() -> Message {
    Message::new("the amounts are in two currencies", "write both in one currency, converted at a rate you state")
}

pub(super) fn share(what: &str, share: Decimal) -> Result<(), Message> {
    if share >= Decimal::ZERO && share < Decimal::ONE {
        return Ok(());
    }
    Err(Message::new(format!("a {what} of {share} is not a share below 1"), "write 40 percent as `0.4`"))
}

pub(super) fn not_negative(what: &str, money: Money) -> Result<(), Message> {
    if money.amount >= Decimal::ZERO {
        return Ok(());
    }
    Err(Message::new(format!("the {what} is {money}"), format!("the {what} must be zero or more")))
}

/// A decimal as a plain number of a working.
pub(super) fn number(value: Decimal) -> Value {
    Value::Text(value.normalize().to_string())
}

/// The price that leaves cost and profit after commission: (cost + profit) ÷ (1 − commission).
///
/// # Errors
/// When an amount is below zero, the currencies differ, or the commission is not a share below 1.
pub fn price(cost: Money, profit: Money, commission: Decimal) -> Result<Found, Message> {
    not_negative("cost", cost)?;
    not_negative("profit", profit)?;
    share("commission", commission)?;
    if cost.currency != profit.currency {
        return Err(two_currencies());
    }
    let price = cost.plus(profit).and_then(|both| both.over(Decimal::ONE - commission)).ok_or_else(too_large)?;
    Ok(Found::by(price, "({} + {}) ÷ (1 − {})", [cost.into(), profit.into(), number(commission)]))
}

/// Cost with a markup: cost × (1 + markup).
///
/// # Errors
/// When the cost or the markup is below zero.
pub fn markup(cost: Money, markup: Decimal) -> Result<Found, Message> {
    not_negative("cost", cost)?;
    if markup < Decimal::ZERO {
        return Err(Message::new(format!("a markup of {markup} is below zero"), "write 150 percent as `1.5`"));
    }
    let price = Decimal::ONE.checked_add(markup).and_then(|by| cost.times(by)).ok_or_else(too_large)?;
    Ok(Found::by(price, "{} × (1 + {})", [cost.into(), number(markup)]))
}

/// The share of a price that is not cost: (price − cost) ÷ price, a plain number.
///
/// # Errors
/// When the price is zero or less or the currencies differ.
pub fn margin(cost: Money, price: Money) -> Result<Found, Message> {
    not_negative("cost", cost)?;
    if price.amount <= Decimal::ZERO {
        return Err(Message::new(format!("the price is {price}"), "give a price above zero"));
    }
    if cost.currency != price.currency {
        return Err(two_currencies());
    }
    let left = price.minus(cost).ok_or_else(too_large)?;
    let margin = left.amount.checked_div(price.amount).and_then(as_number).ok_or_else(too_large)?;
    Ok(Found::by(margin, "({} − {}) ÷ {}", [price.into(), cost.into(), price.into()]))
}

/// Sales tax on a price, to the minor unit, a half away from zero.
///
/// Source: Streamlined Sales and Use Tax Agreement, section 324, as in R.I. Gen. Laws 44-18.1-25 and K.S.A. 79-3676
/// (read): carried to the third decimal, rounded up when that is greater than four; by item or by invoice, as the seller
/// elects.
///
/// # Errors
/// When the price is below zero or the rate not a share from 0 to 1.
pub fn tax(price: Money, rate: Decimal) -> Result<Found, Message> {
    not_negative("price", price)?;
    share("tax rate", rate)?;
    let tax = price.times(rate).ok_or_else(too_large)?.rounded();
    Ok(Found::by(tax, "{} × {}, to the nearest cent", [price.into(), number(rate)]))
}

/// What the gallery keeps of a price. State whether discount and framing are in the price.
///
/// # Errors
/// When the price is below zero or the commission no share below 1.
pub fn commission(price: Money, of: Decimal) -> Result<Found, Message> {
    not_negative("price", price)?;
    share("commission", of)?;
    let kept = price.times(of).ok_or_else(too_large)?;
    Ok(Found::by(kept, "{} × {}", [price.into(), number(of)]))
}

/// An amount shared out by weights, to the minor unit, so that the parts add up to it: largest remainders first.
///
/// # Errors
/// When the total is below zero, there are no weights or too many, one is below zero, or all are zero.
pub fn split(total: Money, weights: &[Decimal]) -> Result<Vec<Money>, Message> {
    not_negative("total", total)?;
    let sum = weights.iter().try_fold(Decimal::ZERO, |sum, one| sum.checked_add(*one)).ok_or_else(too_large)?;
    if weights.is_empty()
        || weights.len() > 1000
        || sum <= Decimal::ZERO
        || weights.iter().any(|one| *one < Decimal::ZERO)
    {
        return Err(Message::new("these parts cannot share an amount", "give 1 to 1000 parts or weights above zero"));
    }
    let unit = Decimal::new(1, total.currency.places);
    let total = total.rounded();
    let mut parts = Vec::with_capacity(weights.len());
    for (place, weight) in weights.iter().enumerate() {
        let exact = total.amount.checked_mul(*weight).and_then(|by| by.checked_div(sum)).ok_or_else(too_large)?;
        let floor = exact.trunc_with_scale(total.currency.places);
        parts.push((place, floor, exact - floor));
    }
    let mut left = total.amount - parts.iter().map(|part| part.1).sum::<Decimal>();
    parts.sort_by(|a, b| b.2.cmp(&a.2).then(a.0.cmp(&b.0)));
    for part in &mut parts {
        if left >= unit {
            part.1 += unit;
            left -= unit;
        }
    }
    parts.sort_by_key(|part| part.0);
    Ok(parts.into_iter().map(|(_, amount, _)| Money::new(amount, total.currency)).collect())
}

/// How many prints must sell before fixed costs are paid: fixed ÷ (price × (1 − commission) − variable), rounded up.
///
/// # Errors
/// When an amount is below zero, currencies differ, or a sale leaves nothing.
pub fn break_even(fixed: Money, price: Money, commission: Decimal, variable: Money) -> Result<Found, Message> {
    not_negative("fixed cost", fixed)?;
    not_negative("price", price)?;
    not_negative("cost of one print", variable)?;
    share("commission", commission)?;
    if fixed.currency != price.currency || price.currency != variable.currency {
        return Err(two_currencies());
    }
    let each = price.times(Decimal::ONE - commission).and_then(|net| net.minus(variable)).ok_or_else(too_large)?;
    if each.amount <= Decimal::ZERO {
        return Err(Message::new(
            format!("at {price} each sale leaves {each} after commission and cost"),
            "raise the price or lower the cost; no number of sales pays for the rest",
        ));
    }
    let count = fixed.amount.checked_div(each.amount).ok_or_else(too_large)?.ceil();
    let count = i64::try_from(count).map_err(|_| too_large())?;
    Ok(Found::by(
        count,
        "{} ÷ ({} × (1 − {}) − {}), rounded up",
        [fixed.into(), price.into(), number(commission), variable.into()],
    ))
}

/// A step of an edition's prices: from this number to that, each at this price.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tier {
    /// First number at this price.
    pub from: u32,
    /// Last number at this price.
    pub to: u32,
    /// The price of each.
    pub each: Money,
}

/// The prices of an edition that rise as it sells.
#[derive(Clone, Debug, PartialEq)]
pub struct Tiers(Vec<Tier>, Money);

impl Tiers {
    /// Steps in order, without gap or overlap, from number 1.
    ///
    /// # Errors
    /// When there are none, they do not follow on each other, a price is below zero, or currencies differ.
    pub fn new(tiers: &[Tier]) -> Result<Self, Message> {
        let Some(first) = tiers.first() else {
            return Err(Message::new(
                "an edition with no prices",
                "list its steps: `[[1, 10, 4000.usd], [11, 25, 4800.usd]]`",
            ));
        };
        let mut next = 1;
        let mut gross = Money::zero(first.each.currency);
        for tier in tiers {
            not_negative("price", tier.each)?;
            if tier.from != next || tier.to < tier.from {
                return Err(Message::new(
                    format!("the step from {} to {} does not follow on number {}", tier.from, tier.to, next - 1),
                    format!("let it begin at {next} and end there or later"),
                ));
            }
            if tier.each.currency != gross.currency {
                return Err(two_currencies());
            }
            let step = tier.each.times(Decimal::from(tier.to - tier.from + 1)).ok_or_else(too_large)?;
            gross = gross.plus(step).ok_or_else(too_large)?;
            next = tier.to.checked_add(1).ok_or_else(too_large)?;
        }
        Ok(Self(tiers.to_vec(), gross))
    }

    /// What the whole edition brings.
    pub fn gross(&self) -> Money {
        self.1
    }

    /// The price of one number.
    ///
    /// # Errors
    /// When the number is not in the edition.
    pub fn price_of(&self, number: u32) -> Result<Money, Message> {
        let found = self.0.iter().find(|tier| (tier.from..=tier.to).contains(&number));
        found.map(|tier| tier.each).ok_or_else(|| {
            let last = self.0.last().map_or(0, |tier| tier.to);
            Message::new(format!("number {number} has no price"), format!("ask for 1 to {last}"))
        })
    }
}

thing!(Tiers, "edition prices", |tiers| vec![
    i64::try_from(tiers.0.len()).unwrap_or(i64::MAX).into(), " steps, ".into(), tiers.1.into(), " in total".into(),
], {
    gross "What the whole edition brings before commission and tax." => Found::stated(tiers.1),
    numbers "How many numbers have a price." => Found::stated(tiers.0.last().map_or(0, |tier| tier.to)),
    first "The price of number 1." => tiers.0.first().map(|tier| Found::stated(tier.each)),
    last "The price of the last number." => tiers.0.last().map(|tier| Found::stated(tier.each)),
});

fn as_number(value: Decimal) -> Option<f64> {
    value.to_string().parse().ok()
}

/// The price at which so much of it is not cost: cost ÷ (1 − margin).
///
/// # Errors
/// When the cost is below zero or the margin no share below 1.
pub fn at_margin(cost: Money, margin: Decimal) -> Result<Found, Message> {
    not_negative("cost", cost)?;
    share("margin", margin)?;
    let price = cost.over(Decimal::ONE - margin).ok_or_else(too_large)?;
    Ok(Found::by(price, "{} ÷ (1 − {})", [cost.into(), number(margin)]))
}

/// A price with a share taken off.
///
/// # Errors
/// When the price is below zero or the discount no share below 1.
pub fn discount(price: Money, off: Decimal) -> Result<Found, Message> {
    not_negative("price", price)?;
    share("discount", off)?;
    let left = price.times(Decimal::ONE - off).ok_or_else(too_large)?;
    Ok(Found::by(left, "{} × (1 − {})", [price.into(), number(off)]))
}

/// Who bears a discount.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Borne {
    /// Both: the commission is taken of the discounted price.
    Shared,
    /// The artist alone: the commission is taken of the full price.
    Artist,
    /// The gallery alone: the artist is paid as without a discount.
    Gallery,
}

/// What is left to the artist of a price after a discount and the gallery's commission, by who bears the discount.
///
/// # Errors
/// When the price is below zero, a share is none below 1, or nothing would be left.
pub fn net(price: Money, off: Decimal, commission: Decimal, borne: Borne) -> Result<Found, Message> {
    not_negative("price", price)?;
    share("discount", off)?;
    share("commission", commission)?;
    let (keeps, pattern) = match borne {
        Borne::Shared => ((Decimal::ONE - off) * (Decimal::ONE - commission), "{} × (1 − {}) × (1 − {})"),
        Borne::Artist => (Decimal::ONE - off - commission, "{} × (1 − {} − {})"),
        Borne::Gallery if off > commission => {
            return Err(Message::new(
                format!("a discount of {off} is more than the gallery's {commission}"),
                "the gallery can bear no more than its own share",
            ));
        }
        Borne::Gallery => (Decimal::ONE - commission, "{} × (1 − {}), the discount of {} borne by the gallery"),
    };
    if keeps < Decimal::ZERO {
        return Err(Message::new(
            format!("a discount of {off} and a commission of {commission} are more than the price"),
            "take less off, or share the discount",
        ));
    }
    let left = price.times(keeps).ok_or_else(too_large)?;
    let (off, commission) = (number(off), number(commission));
    let from = if borne == Borne::Gallery { [price.into(), commission, off] } else { [price.into(), off, commission] };
    Ok(Found::by(left, pattern, from))
}

/// A price for each from a quantity on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Break {
    /// The least quantity.
    pub from: Decimal,
    /// The price of each at that quantity or more.
    pub each: Money,
}

/// What a shop charges by the quantity: the price of the last break reached, times the quantity, and no less than its
/// least charge.
///
/// # Errors
/// When there are no breaks, they do not rise, none is reached, an amount is below zero, or currencies differ.
pub fn quantity_price(quantity: Decimal, breaks: &[Break], least: Option<Money>) -> Result<Found, Message> {
    if quantity < Decimal::ZERO {
        return Err(Message::new(format!("a quantity of {quantity}"), "give a quantity of zero or more"));
    }
    let Some(first) = breaks.first() else {
        return Err(Message::new("a price list without a price", "list its breaks: `[[1, 48.usd], [5, 42.usd]]`"));
    };
    let mut reached = None;
    let mut before: Option<Decimal> = None;
    for one in breaks {
        not_negative("price", one.each)?;
        same_currency(first.each, one.each)?;
        if before.is_some_and(|before| one.from <= before) {
            return Err(Message::new(
                format!("the break at {} does not follow on the one before", one.from),
                "list the breaks from the smallest quantity to the largest",
            ));
        }
        before = Some(one.from);
        if quantity >= one.from {
            reached = Some(*one);
        }
    }
    let Some(reached) = reached else {
        return Err(Message::new(
            format!("a quantity of {quantity} is below {}, where the price list begins", first.from),
            "let the first break begin at the smallest quantity the shop takes",
        ));
    };
    let exact = reached.each.times(quantity).ok_or_else(too_large)?;
    let from = [number(quantity), reached.each.into()];
    let Some(least) = least else { return Ok(Found::by(exact, "{} × {}", from)) };
    not_negative("least charge", least)?;
    same_currency(first.each, least)?;
    let charged = if exact.amount < least.amount { least } else { exact };
    let [quantity, each] = from;
    Ok(Found::by(charged, "{} × {}, at least {}", [quantity, each, least.into()]))
}

/// Sales tax on an invoice of several items, rounded item by item or once for all.
///
/// Source: as [`tax`]; the seller elects which.
///
/// # Errors
/// When there are no items, a price is below zero, currencies differ, or the rate is not a share below 1.
pub fn tax_on(prices: &[Money], rate: Decimal, by_item: bool) -> Result<Found, Message> {
    share("tax rate", rate)?;
    let Some(first) = prices.first() else {
        return Err(Message::new("an invoice without an item", "list its prices: `[49.99.usd, 12.usd]`"));
    };
    let mut sum = Money::zero(first.currency);
    for price in prices {
        not_negative("price", *price)?;
        let part = price.times(rate).ok_or_else(too_large)?;
        sum = sum.plus(if by_item { part.rounded() } else { part }).ok_or_else(two_currencies)?;
    }
    let count = Value::Whole(i64::try_from(prices.len()).unwrap_or(i64::MAX));
    let how = if by_item {
        "{} items × {}, each to the nearest cent"
    } else {
        "{} items together × {}, to the nearest cent"
    };
    Ok(Found::by(sum.rounded(), how, [count, number(rate)]))
}

/// The prices of an edition that rise by the same share from step to step: `in_step` numbers at `first`, the next at so much
/// more, and so on; each to the nearest `to`, when it is told.
///
/// Source: arithmetic (identity); stepped prices are common practice, no source.
///
/// # Errors
/// When the edition or a step has no numbers, there would be over 100 steps, the rise is below zero or above ten, or a price
/// is below zero or in another currency.
pub fn ladder(size: u32, in_step: u32, first: Money, rise: Decimal, to: Option<Money>) -> Result<Tiers, Message> {
    not_negative("first price", first)?;
    if size == 0 || in_step == 0 || size.div_ceil(in_step) > 100 {
        return Err(Message::new(
            format!("an edition of {size} in steps of {in_step}"),
            "give an edition of 1 or more in at most 100 steps",
        ));
    }
    if rise < Decimal::ZERO || rise > Decimal::TEN {
        return Err(Message::new(format!("a rise of {rise} from step to step"), "write 20 percent as `0.2`"));
    }
    let mut tiers = Vec::new();
    let mut exact = first;
    let mut from = 1;
    while from <= size {
        let each = match to {
            None => exact.rounded(),
            Some(to) => exact.to_step(crate::measure::rounding::Rounding::Nearest, to).ok_or_else(|| {
                Message::new(
                    format!("prices cannot be rounded to {to}"),
                    "give an amount above zero in the same currency, such as `50.usd`",
                )
            })?,
        };
        let last = from.saturating_add(in_step - 1).min(size);
        tiers.push(Tier { from, to: last, each });
        exact = exact.times(Decimal::ONE + rise).ok_or_else(too_large)?;
        from = last + 1;
    }
    Tiers::new(&tiers)
}

/// An amount in the wrong currency, said once for all.
pub(super) fn same_currency(a: Money, b: Money) -> Result<(), Message> {
    if a.currency == b.currency {
        return Ok(());
    }
    Err(Message::new("the amounts are in two currencies", "write both in one currency, converted at a rate you state"))
}
