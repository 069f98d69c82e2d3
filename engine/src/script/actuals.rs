//! What really happened: `finished`, `quoted`, `invoiced`, `snag`. They re-date and re-total the plan round them.
//!
//! A plan that states any is calculated twice: once to read them and to learn what was planned, and once with them known
//! from the first line on, so that it makes no difference where in the text they stand.

use rhai::{Dynamic, ImmutableString, Module, NativeCallContext};

use super::run::{Outcome, Run, raise, run_of};
use super::statements::STATEMENTS;
use super::{Args, convert};
use crate::measure::{Day, Money};
use crate::record::actuals::{Asked, Finished, Snag};
use crate::{Message, Value};

/// The statements as functions of the script.
pub(crate) fn module() -> Module {
    let mut module = Module::new();
    let m = &mut module;
    for name in ["finished", "quoted", "invoiced", "snag"] {
        m.set_native_fn(name, move |c: NativeCallContext<'_>, what: ImmutableString| state(&c, name, &what, &[]));
        m.set_native_fn(name, move |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic| {
            state(&c, name, &what, &[a])
        });
        m.set_native_fn(name, move |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic, b: Dynamic| {
            state(&c, name, &what, &[a, b])
        });
    }
    module.build_index();
    module
}

fn state(context: &NativeCallContext<'_>, name: &'static str, what: &str, rest: &[Dynamic]) -> Outcome {
    let run = run_of(context)
        .ok_or_else(|| raise(Message::new("this statement stands outside a plan", "move it into a plan")))?;
    let within = context.call_position().line().unwrap_or(1);
    let values: Vec<_> = rest.iter().map(convert::plain).collect();
    run.state(name, |state, _| {
        let line = state.line + within - 1;
        let actuals = &mut state.record.actuals;
        if actuals.count() >= 1000 {
            return Err(Message::new(
                "a plan may state 1000 things that happened, and this is one more",
                "look for a loop",
            ));
        }
        match name {
            "finished" => {
                let [day] = values.as_slice() else { return Err(takes(name)) };
                let day = day_of(name, day)?;
                if day > run.today {
                    return Err(Message::new(
                        format!("`{what}` is said to be finished on {day}, and that is still to come"),
                        "state it on the day; until then the plan reckons with its own dates",
                    ));
                }
                actuals.finished.push(Finished { step: what.to_owned(), day, line });
            }
            "snag" => {
                let mut snag = Snag { what: what.to_owned(), cost: None, step: None, line };
                for value in &values {
                    match value {
                        Value::Text(step) if snag.step.is_none() => snag.step = Some(step.clone()),
                        value => snag.cost = Some(money(&run, name, what, value)?),
                    }
                }
                if let Some(cost) = snag.cost {
                    let shop =
                        snag.step.as_ref().and_then(|step| state.record.who(step)).or_else(|| state.shop.clone());
                    state.record.add_snag(what, cost, shop, (state.block.unwrap_or(0), line));
                }
                state.record.actuals.snags.push(snag);
            }
            _ => {
                let (amount, day) = match values.as_slice() {
                    [amount] => (amount, None),
                    [amount, day] => (amount, Some(day_of(name, day)?)),
                    _ => return Err(takes(name)),
                };
                let asked = Asked { what: what.to_owned(), amount: money(&run, name, what, amount)?, day, line };
                if name == "quoted" { actuals.quoted.push(asked) } else { actuals.invoiced.push(asked) }
            }
        }
        Ok(Dynamic::UNIT)
    })
    .map_err(raise)
}

fn takes(name: &str) -> Message {
    let takes = STATEMENTS.iter().find(|(one, ..)| *one == name).map_or("", |(_, takes, _)| takes);
    Message::new(format!("`{name}` is given too much or too little"), format!("write `{name}({takes})`"))
}

fn day_of(name: &str, value: &Value) -> Result<Day, Message> {
    let day = match value {
        Value::Day(day) => Some(*day),
        Value::Text(text) => Day::parse(text),
        _ => None,
    };
    day.ok_or_else(|| {
        Message::new(
            format!("`{name}` is given {} where its day belongs", value.kind()),
            "write the day in quotes, like \"2026-12-02\"",
        )
    })
}

fn money(run: &Run, name: &'static str, what: &str, value: &Value) -> Result<Money, Message> {
    let values = [Value::Text(what.to_owned()), value.clone()];
    let money = Args { function: name, values: &values }.money(1, "amount")?;
    if money.currency == run.currency {
        return Ok(money);
    }
    Err(Message::new(
        format!("`{what}` is {money}, and this plan counts in {}", run.currency.code),
        "bring it into the plan's currency with a rate you write down: `euros / 1.eur * 1.08.usd`",
    ))
}
