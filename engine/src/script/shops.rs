//! The shops of the plan's head by what they do: `shop("lab").quote("Chromogenic, gloss", piece.size)`.

use rhai::{Dynamic, ImmutableString, Module, NativeCallContext};

use super::run::{Outcome, Run, State, raise, run_of};
use super::{Args, bindings, convert};
use crate::measure::{Length, Time};
use crate::record::{OF_A_SHEET, Rule};
use crate::syntax::nearest::nearest;
use crate::trade::price_list::{Amount, Line, Shop, ToCome, working_days};
use crate::trade::roles;
use crate::{Found, Message, Thing, Value};

/// The statements as functions of the script.
pub(crate) fn module() -> Module {
    let mut module = Module::new();
    let m = &mut module;
    m.set_native_fn("shop", |c: NativeCallContext<'_>, role: ImmutableString| act(&c, |run| shop(run, &role)));
    m.set_native_fn("quote", |c: NativeCallContext<'_>, shop: Dynamic, item: ImmutableString| {
        act(&c, |run| quote(run, &shop, &item, None))
    });
    m.set_native_fn("quote", |c: NativeCallContext<'_>, shop: Dynamic, item: ImmutableString, amount: Dynamic| {
        act(&c, |run| quote(run, &shop, &item, Some(&amount)))
    });
    m.set_native_fn("lead_time", |c: NativeCallContext<'_>, shop: Dynamic, item: ImmutableString, usual: Dynamic| {
        act(&c, |_| lead_time(&shop, &item, &usual))
    });
    module.build_index();
    module
}

fn act(context: &NativeCallContext<'_>, act: impl FnOnce(&Run) -> Result<Found, Message>) -> Outcome {
    let run =
        run_of(context).ok_or_else(|| raise(Message::new("this stands outside a plan", "move it into a plan")))?;
    act(&run).map(|found| run.notes.dynamic(found)).map_err(raise)
}

fn shop(run: &Run, role: &str) -> Result<Found, Message> {
    let named = |name: &str| run.shops.iter().find(|shop| shop.role == name);
    if let Some(shop) = named(role) {
        return Ok(Found::stated(Thing::shared(shop.clone())));
    }
    if roles::role(role).is_some() {
        let shop = Shop { role: role.to_owned(), name: None, lines: Vec::new() };
        return Ok(Found::stated(Thing::new(shop)));
    }
    let known = || run.shops.iter().map(|shop| shop.role.as_str()).chain(roles::ROLES.iter().map(|role| role.name));
    let next = nearest(role, known()).map_or_else(
        || format!("write one of {}", known().collect::<Vec<_>>().join(", ")),
        |near| format!("was `{near}` meant?"),
    );
    Err(Message::new(format!("no shop of this plan is its `{role}`, and no trade is called so"), next))
}

fn shop_at<'a>(args: &'a Args<'_>) -> Result<&'a Shop, Message> {
    args.thing(0, "shop", "a shop", "shop(\"lab\")")
}

fn quote(run: &Run, shop: &Dynamic, item: &str, amount: Option<&Dynamic>) -> Result<Found, Message> {
    let values: Vec<_> = [Some(shop), amount].into_iter().flatten().map(convert::plain).collect();
    let args = Args { function: "quote", values: &values };
    let shop = shop_at(&args)?;
    let to_come = || Found::stated(Thing::new(ToCome));
    let Some(line) = shop.line(item)? else { return Ok(to_come()) };
    let amount = match args.values.get(1) {
        None => Amount::One,
        Some(Value::Whole(_)) => Amount::Count(args.number(1, "how many")?),
        Some(Value::Quantity(one)) if one.dims == Time::DIMS => Amount::Lasts(args.time(1, "time")?),
        Some(Value::Quantity(_)) => Amount::Count(args.number(1, "how many")?),
        Some(_) => {
            let (width, height) = bindings::outside_at(&args, 1)?;
            Amount::Size(width, height)
        }
    };
    if let Amount::Size(width, height) = amount {
        hold(run, shop, line, (width, height));
    }
    Ok(line.price_of(amount)?.unwrap_or_else(to_come))
}

/// What is larger than the shop makes it is a broken rule, told once, and no error: its price is still the best guess.
fn hold(run: &Run, shop: &Shop, line: &Line, size: (Length, Length)) {
    let Some((limit, over)) = line.limit(size, run.units) else { return };
    let text = match &over {
        Some(over) => format!("{}, {}: {over}", shop.called(), line.item),
        None => format!("{}, {}: at most {limit}", shop.called(), line.item),
    };
    let _ = run.state("quote", |state: &mut State, _| {
        let is_told = state.record.rules.iter().any(|rule| rule.block == OF_A_SHEET && rule.text == text);
        if !is_told && state.record.rules.len() < crate::record::MOST {
            let line = state.line;
            state.record.rules.push(Rule {
                text,
                must: true,
                kept: over.is_none(),
                because: None,
                block: OF_A_SHEET,
                line,
            });
        }
        Ok(())
    });
}

fn lead_time(shop: &Dynamic, item: &str, usual: &Dynamic) -> Result<Found, Message> {
    let values = [convert::plain(shop), convert::plain(usual)];
    let args = Args { function: "lead_time", values: &values };
    let usual = args.days(1, "usual time")?;
    let line = shop_at(&args)?.line(item)?;
    Ok(line.and_then(|line| line.days).map_or_else(|| Found::stated(usual), working_days))
}
