//! What a plan states rather than calculates: `given`, `must`, `should`, `cost`, `step`, `hangs`.

use std::sync::Arc;

use rhai::{Array, Dynamic, ImmutableString, Module, NativeCallContext};

use super::run::{After, Outcome, Run, State, StepValue, raise, run_of};
use super::{Args, convert};
use crate::measure::{Day, Days, Money};
use crate::record::{CostLine, Firm, Given, GivenPlace, Hung, MOST, OpenCost, Rule, Step};
use crate::syntax::former;
use crate::syntax::trace::{Piece, Trace};
use crate::trade::price_list::{OpenSum, ToCome};
use crate::{Found, Message, Thing, Value};

type Stated = Result<Dynamic, Message>;

/// How the reference tells of each statement: name, what it takes, what it does.
pub const STATEMENTS: &[(&str, &str, &str)] = &[
    (
        "given",
        "label, value, [choices]",
        "A value a person may change on the page: `given(\"Print width\", 63.inch)`. With a list of choices it becomes a choice.",
    ),
    ("must", "condition, words", "A rule the plan has to keep; the page rings it when it is broken."),
    ("should", "condition, words", "A rule the plan had better keep."),
    (
        "cost",
        "what, amount, [shop]",
        "A line of what the piece costs, rounded to the cent, a half away from zero, so that the lines shown add up to the total shown; without a shop it belongs to the shop of its section. Gives the rounded amount.",
    ),
    (
        "step",
        "what, days, [after(...)], [who], [not before]",
        "One thing to be done, in working days. Gives its first and last day as `.start` and `.end`.",
    ),
    (
        "shop",
        "trade",
        "The shop of the head that does this: `shop(\"lab\")`. Its price list is a table of its rate sheet; what stands on it is `.items`. While the head names none, its prices are to come.",
    ),
    (
        "quote",
        "shop, item, [size, how many or time]",
        "What the shop's price list asks: `shop(\"lab\").quote(\"Chromogenic, gloss\", piece.size)`. A size beyond what the shop makes is a broken rule. A price that is not there yet stays open, and so does every sum with it.",
    ),
    (
        "lead_time",
        "shop, item, usual",
        "The working days the shop's price list gives for an item, or the usual ones where it gives none.",
    ),
    ("after", "step, ...", "The steps another one waits for."),
    ("hangs", "size, [weight]", "The finished piece: what hangs on the wall of the first page."),
    ("total", "", "The sum of the costs stated so far."),
    (
        "finished",
        "step, day",
        "A step was done on a day: `finished(\"Proof\", \"2026-12-02\")`. The steps that wait for it are dated again.",
    ),
    (
        "quoted",
        "what, amount, [day]",
        "What a shop asks for a line of cost; it stands in the place of the planned amount.",
    ),
    (
        "invoiced",
        "what, amount, [day]",
        "The invoice for a line of cost; its amount stands in the place of the planned or quoted one. Several for one line add up.",
    ),
    (
        "snag",
        "what happened, [cost], [step]",
        "Something went wrong: its cost becomes a line of its own, and the step it names is repeated after the first time.",
    ),
    (
        "add_working_days",
        "date, days",
        "The date so many working days after another, through weekends and the plan's holidays.",
    ),
    ("date", "text", "A day, written `date(\"2027-01-25\")`."),
    ("today", "", "The day the plan is calculated from."),
    ("costs", "", "Alone in a paragraph: the table of costs."),
    (
        "steps",
        "",
        "Alone in a paragraph: the steps with their dates, and where some can wait, the working days each may be put off.",
    ),
    ("on_the_wall", "", "Alone in a paragraph: the finished piece on a wall beside a person, to scale."),
];

/// The statements as functions of the script.
pub(crate) fn module() -> Module {
    let mut module = Module::new();
    let m = &mut module;
    m.set_native_fn("given", |c: NativeCallContext<'_>, label: ImmutableString, value: Dynamic| {
        out(&c, |run| given(run, &c, &label, value, Array::new()))
    });
    m.set_native_fn("given", |c: NativeCallContext<'_>, label: ImmutableString, value: Dynamic, choices: Array| {
        out(&c, |run| given(run, &c, &label, value, choices))
    });
    m.set_native_fn("must", |c: NativeCallContext<'_>, kept: Dynamic, text: ImmutableString| {
        out(&c, |run| rule(run, &c, true, &kept, &text))
    });
    m.set_native_fn("should", |c: NativeCallContext<'_>, kept: Dynamic, text: ImmutableString| {
        out(&c, |run| rule(run, &c, false, &kept, &text))
    });
    m.set_native_fn("cost", |c: NativeCallContext<'_>, what: ImmutableString, amount: Dynamic| {
        out(&c, |run| cost(run, &c, &what, (&amount, None)))
    });
    m.set_native_fn(
        "cost",
        |c: NativeCallContext<'_>, what: ImmutableString, amount: Dynamic, shop: ImmutableString| {
            out(&c, |run| cost(run, &c, &what, (&amount, Some(&shop))))
        },
    );
    m.set_native_fn("step", |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic| {
        out(&c, |run| step(run, &c, &what, &[a]))
    });
    m.set_native_fn("step", |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic, b: Dynamic| {
        out(&c, |run| step(run, &c, &what, &[a, b]))
    });
    m.set_native_fn("step", |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic, b: Dynamic, d: Dynamic| {
        out(&c, |run| step(run, &c, &what, &[a, b, d]))
    });
    m.set_native_fn(
        "step",
        |c: NativeCallContext<'_>, what: ImmutableString, a: Dynamic, b: Dynamic, d: Dynamic, e: Dynamic| {
            out(&c, |run| step(run, &c, &what, &[a, b, d, e]))
        },
    );
    let wait = |names: &[&ImmutableString]| {
        Dynamic::from(Found::stated(Thing::new(After(names.iter().map(|one| one.to_string()).collect()))))
    };
    m.set_native_fn("after", move |a: ImmutableString| -> Outcome { Ok(wait(&[&a])) });
    m.set_native_fn("after", move |a: ImmutableString, b: ImmutableString| -> Outcome { Ok(wait(&[&a, &b])) });
    m.set_native_fn("after", move |a: ImmutableString, b: ImmutableString, c: ImmutableString| -> Outcome {
        Ok(wait(&[&a, &b, &c]))
    });
    m.set_native_fn("hangs", |c: NativeCallContext<'_>, size: Dynamic| out(&c, |run| hangs(run, &size, None)));
    m.set_native_fn("hangs", |c: NativeCallContext<'_>, size: Dynamic, weight: Dynamic| {
        out(&c, |run| hangs(run, &size, Some(&weight)))
    });
    m.set_native_fn("total", |c: NativeCallContext<'_>| out(&c, total));
    m.set_native_fn("today", |c: NativeCallContext<'_>| out(&c, |run| Ok(Dynamic::from(Found::stated(run.today)))));
    m.set_native_fn("costs", |c: NativeCallContext<'_>| {
        out(&c, |_| Ok(Dynamic::from(Found::stated(Thing::new(Shown::Costs)))))
    });
    m.set_native_fn("on_the_wall", |c: NativeCallContext<'_>| {
        out(&c, |_| Ok(Dynamic::from(Found::stated(Thing::new(Shown::Wall)))))
    });
    m.set_native_fn("steps", |c: NativeCallContext<'_>| {
        out(&c, |_| Ok(Dynamic::from(Found::stated(Thing::new(Shown::Steps)))))
    });
    m.set_native_fn("date", |text: ImmutableString| -> Outcome {
        Day::parse(&text).map(|day| Dynamic::from(Found::stated(day))).ok_or_else(|| {
            raise(Message::new(
                format!("`{text}` is not a day of the calendar"),
                "write year, month and day like `date(\"2027-01-25\")`",
            ))
        })
    });
    for name in former::names("add_working_days") {
        m.set_native_fn(name, move |c: NativeCallContext<'_>, from: Dynamic, days: Dynamic| {
            out(&c, |run| add_working_days(run, name, &from, &days))
        });
    }
    module.build_index();
    module
}

fn out(context: &NativeCallContext<'_>, act: impl FnOnce(&Run) -> Stated) -> Outcome {
    let run = run_of(context)
        .ok_or_else(|| raise(Message::new("this statement stands outside a plan", "move it into a plan")))?;
    act(&run).map_err(raise)
}

fn given(run: &Run, context: &NativeCallContext<'_>, label: &str, value: Dynamic, choices: Array) -> Stated {
    run.state("given", |state, block| {
        if state.record.givens.len() >= MOST {
            return Err(Message::new(
                format!("a plan may have {MOST} givens, and this is one more"),
                "look for a `given` inside a loop",
            ));
        }
        let position = context.call_position();
        let call = state.calls.at(position.line().unwrap_or(0), position.position().unwrap_or(0));
        let place = call.and_then(|call| {
            let value = call.arguments.get(1)?.clone();
            let map = |range: std::ops::Range<usize>| {
                offset(state, range.start)..offset(state, range.end.saturating_sub(1)) + 1
            };
            let choices = call.arguments.get(2).map(|list| state.calls.elements(list)).unwrap_or_default();
            Some(GivenPlace {
                name: call.name.clone(),
                value: map(value),
                choices: choices.into_iter().map(map).collect(),
            })
        });
        let plain = convert::plain(&value);
        let choices: Vec<_> = choices.iter().map(convert::plain).collect();
        let among = choices.is_empty()
            || choices.iter().any(|one| super::operators::order(one, &plain).is_ok_and(std::cmp::Ordering::is_eq));
        // Choices that are calculated, such as what a shop makes, change under the plan: its blank stays, and what asks for
        // the value tells what is wrong with it.
        let is_listed = place.as_ref().is_some_and(|place| place.choices.len() == choices.len());
        if !among && is_listed {
            let all: Vec<_> = choices.iter().map(|one| one.shown(run.units)).collect();
            return Err(Message::new(
                format!("`{label}` is {}, which is none of its choices", plain.shown(run.units)),
                format!("choose one of {}", all.join(", ")),
            ));
        }
        state.record.givens.push(Given { label: label.to_owned(), value: plain, choices, block, place });
        Ok(value)
    })
}

/// The document offset of an offset in the block.
fn offset(state: &State, within: usize) -> usize {
    let index = state.offsets.partition_point(|(start, _)| *start <= within).saturating_sub(1);
    state.offsets.get(index).map_or(0, |(start, at)| at + within.saturating_sub(*start))
}

/// The line of the document a statement stands on.
fn line_of(state: &State, context: &NativeCallContext<'_>) -> usize {
    state.line + context.call_position().line().unwrap_or(1) - 1
}

fn rule(run: &Run, context: &NativeCallContext<'_>, must: bool, kept: &Dynamic, text: &str) -> Stated {
    let name = if must { "must" } else { "should" };
    let found = run.notes.found(kept);
    let Value::Truth(truth) = found.value else {
        let shown: String = found.value.shown(run.units).chars().take(60).collect();
        return Err(Message::new(
            format!("`{name}` needs a condition, and `{shown}` is {}", found.value.kind()),
            "compare two values, like `piece.ppi >= 200.ppi`",
        ));
    };
    let reckoned = || found.working.filter(|working| !working.is_told()).map(|working| working.shown(run.units));
    run.state(name, |state, block| {
        if state.record.rules.len() >= MOST {
            return Err(Message::new(
                format!("a plan may have {MOST} rules, and this is one more"),
                "look for a rule inside a loop",
            ));
        }
        let position = context.call_position();
        let line = position.line().unwrap_or(1);
        let because = state
            .calls
            .at(line, position.position().unwrap_or(0))
            .and_then(|call| state.calls.condition(call).cloned())
            .or_else(|| reckoned().map(|text| Arc::new(Trace(vec![Piece::Text(text)]))));
        let line = state.line + line - 1;
        state.record.rules.push(Rule { text: text.to_owned(), must, kept: truth, because, block, line });
        Ok(truth.into())
    })
}

fn cost(run: &Run, context: &NativeCallContext<'_>, what: &str, (amount, shop): (&Dynamic, Option<&str>)) -> Stated {
    let values = [Value::Text(what.to_owned()), convert::plain(amount)];
    if let [_, Value::Thing(thing)] = &values
        && thing.get::<ToCome>().is_some()
    {
        return cost_to_come(run, context, what, shop);
    }
    let money = Args { function: "cost", values: &values }.money(1, "amount")?.rounded();
    if money.currency != run.currency {
        return Err(Message::new(
            format!("`{what}` costs {money}, and this plan counts in {}", run.currency.code),
            "bring it into the plan's currency with a rate you write down: `euros / 1.eur * 1.08.usd`",
        ));
    }
    run.state("cost", |state, block| {
        if state.record.costs.len() >= MOST {
            return Err(Message::new(
                format!("a plan may have {MOST} lines of cost, and this is one more"),
                "look for a `cost` inside a loop",
            ));
        }
        let shop = shop.map(str::to_owned).or_else(|| state.shop.clone());
        // What really happened to a line of cost happened to the first of its name.
        let first = state.record.costs.iter().all(|line| line.what != what);
        let asked =
            |planned| if first { run.known.actuals.cost(what, planned) } else { (planned, Firm::Planned, None) };
        let (amount, firm, day) = asked(money);
        state.record.costs.push(CostLine {
            what: what.to_owned(),
            amount,
            shop,
            block,
            line: line_of(state, context),
            planned: Some(money),
            firm,
            day,
        });
        Ok(Dynamic::from(Found::stated(amount)))
    })
}

/// A line of cost whose price is to come, until it is quoted or invoiced.
fn cost_to_come(run: &Run, context: &NativeCallContext<'_>, what: &str, shop: Option<&str>) -> Stated {
    let (amount, firm, day) = run.known.actuals.cost(what, Money::zero(run.currency));
    run.state("cost", |state, block| {
        let shop = shop.map(str::to_owned).or_else(|| state.shop.clone());
        let line = line_of(state, context);
        let what = what.to_owned();
        if state.record.open.len() >= MOST {
            return Err(Message::new(
                format!("a plan may have {MOST} lines of cost, and this is one more"),
                "look for a `cost` inside a loop",
            ));
        }
        if firm == Firm::Planned {
            state.record.open.push(OpenCost { what, shop, line, broken: false });
            return Ok(Dynamic::from(Found::stated(Thing::new(ToCome))));
        }
        state.record.costs.push(CostLine { what, amount, shop, block, line, planned: None, firm, day });
        Ok(Dynamic::from(Found::stated(amount)))
    })
}

fn step(run: &Run, context: &NativeCallContext<'_>, what: &str, rest: &[Dynamic]) -> Stated {
    let values: Vec<_> = rest.iter().map(convert::plain).collect();
    let args = Args { function: "step", values: &values };
    let wanted = args.days(0, "time")?.to_days();
    if !(0.0..=1000.0).contains(&wanted) {
        return Err(Message::new(
            format!("`{what}` takes {} working days", crate::measure::show::number(wanted, 1)),
            "give it from 0 to 1000 working days",
        ));
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in 0..=1000")]
    let days = wanted.ceil() as u32;
    let (mut who, mut earliest, mut waits) = (None, None, Vec::new());
    for (place, value) in values.iter().enumerate().skip(1) {
        match value {
            Value::Text(name) => who = Some(name.clone()),
            Value::Day(day) => earliest = Some(*day),
            Value::Thing(thing) if thing.get::<After>().is_some() => {
                waits.extend(thing.get::<After>().into_iter().flat_map(|after| after.0.clone()))
            }
            Value::Thing(thing) if thing.get::<StepValue>().is_some() => {
                waits.extend(thing.get::<StepValue>().map(|step| step.0.what.clone()))
            }
            _ => {
                return Err(args.wrong(
                    place,
                    "wait or person",
                    "`after(\"an earlier step\")`, a date or a name",
                    "step(\"Proof\", 3.days, after(\"Upload\"), \"lab\")",
                ));
            }
        }
    }
    run.state("step", |state, block| {
        if state.record.steps.len() >= MOST {
            return Err(Message::new(
                format!("a plan may have {MOST} steps, and this is one more"),
                "look for a `step` inside a loop",
            ));
        }
        let end = Message::new(format!("`{what}` would end past the year 9999"), "shorten the steps before it");
        let (mut start, mut after) = (run.start, Vec::new());
        for name in &waits {
            let named = |one: &Step| one.of == *name || one.what == *name;
            let place = state.record.steps.iter().rposition(named);
            let Some(before) = place.and_then(|place| state.record.steps.get(place)) else {
                let near =
                    crate::syntax::nearest::nearest(name, state.record.steps.iter().map(|one| one.what.as_str()));
                let next = near.map_or_else(
                    || "a step can wait only for steps stated above it".to_owned(),
                    |near| format!("was `{near}` meant? A step can wait only for steps stated above it"),
                );
                return Err(Message::new(format!("`{what}` waits for `{name}`, and no step above is called so"), next));
            };
            let free = if before.days == 0 { Some(before.end) } else { before.end.plus(1) };
            start = start.max(free.ok_or_else(|| end.clone())?);
            after.extend(place);
        }
        let start = run.calendar.on_or_after(start.max(earliest.unwrap_or(start))).ok_or_else(|| end.clone())?;
        let who = who.or_else(|| state.shop.clone());
        let known = &run.known;
        let times = known.actuals.times(what, start, days, &run.calendar, run.today).ok_or_else(|| end.clone())?;
        let nth = state.record.steps.iter().filter(|one| one.what == *what).count();
        let mut planned =
            known.steps.iter().filter(|(name, ..)| name == what).nth(nth).map(|(_, from, to)| (*from, *to));
        let (mut first, mut whole) = (None, None);
        for time in times {
            let step = Step {
                what: time.what,
                who: who.clone(),
                days,
                start: *first.get_or_insert(time.start),
                end: time.end,
                block,
                line: line_of(state, context),
                of: what.to_owned(),
                planned,
                done: time.done,
                late: time.late,
                // The time after a snag waits for the time before it.
                after: std::mem::replace(&mut after, vec![state.record.steps.len()]),
                spare: None,
            };
            // As a value a step lasts from its first day to the last time it is done, wherever it stands.
            whole = Some(Step { what: what.to_owned(), block: 0, line: 0, after: Vec::new(), ..step.clone() });
            state.record.steps.push(Step { start: time.start, ..step });
            planned = None;
        }
        whole.map(|step| Dynamic::from(Found::stated(Thing::new(StepValue(step))))).ok_or(end)
    })
}

fn hangs(run: &Run, size: &Dynamic, weight: Option<&Dynamic>) -> Stated {
    let mut values = vec![convert::plain(size)];
    values.extend(weight.map(convert::plain));
    let args = Args { function: "hangs", values: &values };
    let (width, height) = args.width_and_height(0, "size")?;
    let weight = if args.has(1) { Some(args.mass(1, "weight")?) } else { None };
    run.state("hangs", |state, _| {
        state.record.hung = Some(Hung { width, height, weight });
        Ok(Dynamic::UNIT)
    })
}

fn total(run: &Run) -> Stated {
    if let Some(open) = run.read(|state| state.record.total(None).filter(|_| !state.record.open.is_empty())) {
        return Ok(run.notes.dynamic(Found::stated(Thing::new(OpenSum(open)))));
    }
    let sum = run
        .read(|state| state.record.costs.iter().try_fold(Money::zero(run.currency), |sum, line| sum.plus(line.amount)));
    let sum =
        sum.ok_or_else(|| Message::new("the costs add up past 28 digits", "look for an amount with zeros too many"))?;
    let lines = run.read(|state| state.record.costs.iter().map(|line| Value::Money(line.amount)).collect::<Vec<_>>());
    let found = match lines.len() {
        0 | 1 => Found::stated(sum),
        2 => Found::by(sum, "{} + {}", lines),
        3 => Found::by(sum, "{} + {} + {}", lines),
        4 => Found::by(sum, "{} + {} + {} + {}", lines),
        count => {
            Found::by(sum, "the sum of {} lines of cost", [Value::Whole(i64::try_from(count).unwrap_or(i64::MAX))])
        }
    };
    Ok(run.notes.dynamic(found))
}

fn add_working_days(run: &Run, name: &'static str, from: &Dynamic, days: &Dynamic) -> Stated {
    let values = [convert::plain(from), convert::plain(days)];
    let args = Args { function: name, values: &values };
    let [Value::Day(from), _] = &values else {
        return Err(args.wrong(0, "first day", "a date", "date(\"2027-01-25\")"));
    };
    let days: Days = args.days(1, "number of days")?;
    if !(0.0..=10_000.0).contains(&days.to_days()) {
        return Err(args.wrong(1, "number of days", "from 0 to 10000 working days", "5.days"));
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in 0..=10000")]
    let count = days.to_days().round() as u32;
    let day = run
        .calendar
        .plus(*from, count)
        .ok_or_else(|| Message::new("that day lies past the year 9999", "use fewer days"))?;
    Ok(run.notes.dynamic(Found::by(day, "{} and {}", [(*from).into(), days.into()])))
}

/// What stands alone in a paragraph and becomes a table there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// All costs.
    Costs,
    /// All steps.
    Steps,
    /// The piece on the wall.
    Wall,
}

impl crate::Trade for Shown {
    fn kind(&self) -> &'static str {
        "a table"
    }
    fn summary(&self) -> Vec<Value> {
        vec![Value::Text(match self {
            Self::Costs => "the table of costs (ask for it alone in a paragraph)".into(),
            Self::Steps => "the table of steps (ask for it alone in a paragraph)".into(),
            Self::Wall => "the piece on the wall (ask for it alone in a paragraph)".into(),
        })]
    }
    fn parts(&self) -> &'static [(&'static str, &'static str)] {
        &[]
    }
    fn part(&self, _: &str) -> Option<Found> {
        None
    }
    fn as_any(&self) -> &dyn std::any::Any {
        self
    }
}
