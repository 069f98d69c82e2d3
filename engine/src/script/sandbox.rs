//! The engine workings run in, built from nothing: arithmetic, texts, lists, the units and the functions of the trade.

use std::any::TypeId;
use std::sync::{Arc, LazyLock};

use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage, BasicStringPackage,
    LogicPackage, Package,
};
use rhai::{
    Dynamic, Engine, EvalAltResult, FLOAT, FuncRegistration, INT, ImmutableString, LexError, Module, NativeCallContext,
    OptimizationLevel, Position, RhaiFunc, Shared, Token,
};

use super::args::{Args, Function};
use super::record::Run;
use super::{bindings, convert, operators, statements, units};
use crate::measure::{Currency, Money, Units};
use crate::{Found, Trouble, Value};

/// Steps of calculation one block may take; a plan takes a few hundred.
const OPERATIONS: u64 = 100_000;
/// How deep functions may call one another.
const CALL_LEVELS: usize = 16;
/// How deep an expression may nest, outside and inside functions; a sum of sixty terms on one line still passes.
const DEPTHS: (usize, usize) = (64, 32);
/// The longest text, in bytes.
const TEXT: usize = 4 << 10;
/// The longest list.
const LIST: usize = 1_000;
/// The largest table of names.
const TABLE: usize = 200;
/// Functions one block may define.
const FUNCTIONS: usize = 32;
/// Names in use at once.
const NAMES: usize = 400;
/// Rate sheets one plan may draw on, each of which may draw on more.
const SHEETS: usize = 16;

/// What stops a calculation that goes on too long or takes too much memory: given the steps taken so far, it says why to
/// stop. The engine has no clock of its own.
pub type Stop = Arc<dyn Fn(u64) -> Option<&'static str> + Send + Sync>;

/// A result of a script function.
pub(crate) type Outcome = Result<Dynamic, Box<EvalAltResult>>;

/// Raises a trouble where the script stands.
pub(crate) fn raise(trouble: Trouble) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(Dynamic::from(trouble), Position::NONE).into()
}

/// The evaluation a call belongs to.
pub(crate) fn run_of(context: &NativeCallContext<'_>) -> Option<Arc<Run>> {
    context.tag().and_then(|tag| tag.read_lock::<Arc<Run>>().map(|run| run.clone()))
}

fn units_of(context: &NativeCallContext<'_>) -> Units {
    run_of(context).map_or(Units::Inch, |run| run.units)
}

/// An engine for one evaluation. Cheap: all functions live in shared modules.
pub(crate) fn engine(run: Arc<Run>, stop: Option<Stop>) -> Engine {
    static SHARED: LazyLock<Vec<Shared<Module>>> = LazyLock::new(|| {
        vec![
            ArithmeticPackage::new().as_shared_module(),
            LogicPackage::new().as_shared_module(),
            BasicMathPackage::new().as_shared_module(),
            BasicStringPackage::new().as_shared_module(),
            BasicIteratorPackage::new().as_shared_module(),
            BasicArrayPackage::new().as_shared_module(),
            BasicMapPackage::new().as_shared_module(),
            Shared::new(words()),
            Shared::new(numbers()),
            Shared::new(trade()),
            Shared::new(statements::module()),
        ]
    });
    let mut engine = Engine::new_raw();
    for module in SHARED.iter() {
        engine.register_global_module(module.clone());
    }
    engine.set_optimization_level(OptimizationLevel::None);
    engine.set_max_operations(OPERATIONS);
    engine.set_max_call_levels(CALL_LEVELS);
    engine.set_max_expr_depths(DEPTHS.0, DEPTHS.1);
    engine.set_max_string_size(TEXT);
    engine.set_max_array_size(LIST);
    engine.set_max_map_size(TABLE);
    engine.set_max_functions(FUNCTIONS);
    engine.set_max_variables(NAMES);
    engine.set_max_modules(SHEETS);
    for symbol in ["eval", "export", "print", "debug", "Fn", "call", "curry", "is_def_fn", "is_def_var", "type_of"] {
        engine.disable_symbol(symbol);
    }
    engine.set_default_tag(Dynamic::from(run.clone()));
    division(&mut engine);
    #[expect(deprecated, reason = "marked volatile; the only way for a function to see the names above it")]
    engine.on_var(move |name, _, context| {
        if context.call_level() == 0 || context.scope().contains(name) {
            return Ok(None);
        }
        let source = context.global_runtime_state().source().unwrap_or_default();
        Ok(run.read(|state| {
            state.names.get(&format!("{source}{SEPARATOR}{name}")).or_else(|| state.names.get(name)).cloned()
        }))
    });
    if let Some(stop) = stop {
        engine.on_progress(move |steps| {
            stop(steps).map(|why| {
                Dynamic::from(Trouble::new(why, "look for a loop that never ends, or a list that keeps growing"))
            })
        });
    }
    engine
}

/// Stands between a rate sheet and a name in it.
pub(crate) const SEPARATOR: char = '\u{1}';

/// `3/4` is 0.75: the division mark becomes an operator of our own, so that other arithmetic stays fast.
fn division(engine: &mut Engine) {
    #[expect(
        deprecated,
        reason = "marked volatile; the only way to give whole numbers a true division without slowing all arithmetic"
    )]
    engine.on_parse_token(|token, _, _| match token {
        Token::Divide => Token::Custom(Box::new("÷".into())),
        Token::DivideAssign => {
            Token::LexError(Box::new(LexError::ImproperSymbol("/=".into(), "write it out, as `x = x / 2`".into())))
        }
        other => other,
    });
    // Just below the strength of multiplication's own, which is 180 in the language.
    let _ = engine.register_custom_operator("÷", 180);
}

/// Units after a number, arithmetic with units, and rounding.
fn numbers() -> Module {
    let mut module = Module::new();
    for unit in units::UNITS {
        module.set_getter_fn(unit.name, move |number: &mut INT| Ok(measured(*number as FLOAT, unit)));
        module.set_getter_fn(unit.name, move |number: &mut FLOAT| Ok(measured(*number, unit)));
    }
    for currency in Currency::all() {
        let code = currency.code.to_lowercase();
        module.set_getter_fn(code.as_str(), move |number: &mut INT| {
            Ok(Dynamic::from(Found::stated(Money::new((*number).into(), *currency))))
        });
        module.set_getter_fn(code.as_str(), move |number: &mut FLOAT| {
            Money::exactly(*number)
                .map(|amount| Dynamic::from(Found::stated(Money::new(amount, *currency))))
                .ok_or_else(|| {
                    raise(Trouble::new(
                        format!("{number} is no amount of money"),
                        "write at most 28 digits, like `1250.50.usd`",
                    ))
                })
        });
    }
    indexing(&mut module);
    arithmetic(&mut module);
    rounding(&mut module);
    module.build_index();
    module
}

fn measured(number: FLOAT, unit: &units::Unit) -> Dynamic {
    convert::dynamic(Found::stated(unit.times(number)))
}

/// `frame.weight`, and `frame.weight.kg` for the plain number.
fn indexing(module: &mut Module) {
    module.set_indexer_get_fn(|found: &mut Found, name: ImmutableString| {
        part(found, &name).map(convert::dynamic).map_err(raise)
    });
    module.set_indexer_get_fn(|found: &mut Found, index: INT| match &found.value {
        Value::List(all) => usize::try_from(index)
            .ok()
            .and_then(|index| all.get(index))
            .map(|one| convert::dynamic(Found::stated(one.clone())))
            .ok_or_else(|| {
                raise(Trouble::new(format!("there is no number {index} in this list of {}", all.len()), "count from 0"))
            }),
        other => Err(raise(Trouble::new(format!("{} is no list", other.kind()), "leave out the square brackets"))),
    });
}

/// A part of a thing by name, or a quantity as a plain number of a unit.
pub(crate) fn part(found: &Found, name: &str) -> Result<Found, Trouble> {
    match &found.value {
        Value::Thing(thing) => thing.part(name).ok_or_else(|| {
            let names = || thing.parts().iter().map(|(name, _)| *name);
            if names().any(|one| one == name) {
                return Trouble::new(
                    format!("this {} has no {name} yet", bare(thing.kind())),
                    "its `about` in the reference says what it needs first",
                );
            }
            let hint = super::nearest::nearest(name, names())
                .map_or_else(|| format!("it has {}", list(names())), |near| format!("was `{near}` meant?"));
            Trouble::new(format!("{} has no part called `{name}`", thing.kind()), hint)
        }),
        Value::Quantity(quantity) => match units::Unit::of(name) {
            Some(unit) if quantity.dims == crate::measure::Dims::NONE => Ok(Found::stated(unit.times(quantity.value))),
            Some(unit) => unit.count(*quantity).map(Found::stated).ok_or_else(|| {
                Trouble::new(
                    format!("{} is not measured in {}", found.value.kind(), unit.words),
                    "ask for it in a unit of its own kind",
                )
            }),
            None => {
                let near = super::nearest::nearest(
                    name,
                    units::UNITS.iter().filter(|unit| unit.one.dims == quantity.dims).map(|unit| unit.name),
                );
                let hint = near.map_or_else(
                    || "a number has only its units after it".to_owned(),
                    |near| format!("was `{near}` meant?"),
                );
                Err(Trouble::new(format!("{} has no part called `{name}`", found.value.kind()), hint))
            }
        },
        other => Err(Trouble::new(format!("{} has no part called `{name}`", other.kind()), "leave the part out")),
    }
}

fn bare(kind: &str) -> &str {
    kind.trim_start_matches("an ").trim_start_matches("a ")
}

fn list<'a>(names: impl Iterator<Item = &'a str>) -> String {
    names.collect::<Vec<_>>().join(", ")
}

macro_rules! both_ways {
    ($module:ident, $name:literal, $act:expr) => {{
        let act = $act;
        $module.set_native_fn($name, move |a: Found, b: Found| -> Outcome { act(&a.value, &b.value) });
        $module.set_native_fn($name, move |a: Found, b: INT| -> Outcome { act(&a.value, &Value::Whole(b)) });
        $module.set_native_fn($name, move |a: INT, b: Found| -> Outcome { act(&Value::Whole(a), &b.value) });
        $module.set_native_fn($name, move |a: Found, b: FLOAT| -> Outcome { act(&a.value, &Value::from(b)) });
        $module.set_native_fn($name, move |a: FLOAT, b: Found| -> Outcome { act(&Value::from(a), &b.value) });
    }};
}

fn arithmetic(module: &mut Module) {
    let give = |result: Result<Value, Trouble>| -> Outcome {
        result.map(|value| convert::dynamic(Found { value, working: None, caution: None })).map_err(raise)
    };
    both_ways!(module, "+", move |a: &Value, b: &Value| give(operators::add(a, b, false)));
    both_ways!(module, "-", move |a: &Value, b: &Value| give(operators::add(a, b, true)));
    both_ways!(module, "*", move |a: &Value, b: &Value| give(operators::times(a, b)));
    both_ways!(module, "÷", move |a: &Value, b: &Value| give(operators::over(a, b)));
    let whole = |a: FLOAT, b: FLOAT| -> Outcome {
        if b == 0.0 {
            return Err(raise(Trouble::new(
                format!("{a} is divided by nought"),
                "give the lower number a value other than 0",
            )));
        }
        Ok((a / b).into())
    };
    module.set_native_fn("÷", move |a: INT, b: INT| whole(a as FLOAT, b as FLOAT));
    module.set_native_fn("÷", move |a: INT, b: FLOAT| whole(a as FLOAT, b));
    module.set_native_fn("÷", move |a: FLOAT, b: INT| whole(a, b as FLOAT));
    module.set_native_fn("÷", move |a: FLOAT, b: FLOAT| whole(a, b));
    module.set_native_fn("-", move |a: Found| -> Outcome { give(operators::negative(&a.value)) });
    let tell = |result: Result<bool, Trouble>| -> Outcome { result.map(Dynamic::from).map_err(raise) };
    both_ways!(module, "==", move |a: &Value, b: &Value| tell(operators::order(a, b).map(std::cmp::Ordering::is_eq)));
    both_ways!(module, "!=", move |a: &Value, b: &Value| tell(operators::order(a, b).map(std::cmp::Ordering::is_ne)));
    both_ways!(module, "<", move |a: &Value, b: &Value| tell(operators::order(a, b).map(std::cmp::Ordering::is_lt)));
    both_ways!(module, "<=", move |a: &Value, b: &Value| tell(operators::order(a, b).map(std::cmp::Ordering::is_le)));
    both_ways!(module, ">", move |a: &Value, b: &Value| tell(operators::order(a, b).map(std::cmp::Ordering::is_gt)));
    both_ways!(module, ">=", move |a: &Value, b: &Value| tell(operators::order(a, b).map(std::cmp::Ordering::is_ge)));
}

/// `round`, `floor`, `ceiling`, `abs`, `whole`, `smaller`, `larger` for whatever has a number.
fn rounding(module: &mut Module) {
    for (name, act) in [
        ("round", f64::round as fn(f64) -> f64),
        ("floor", f64::floor),
        ("ceiling", f64::ceil),
        ("abs", f64::abs),
        ("sqrt", f64::sqrt),
    ] {
        module.set_native_fn(name, move |a: Found| -> Outcome {
            match &a.value {
                Value::Quantity(x) if x.dims == crate::measure::Dims::NONE => Ok(act(x.value).into()),
                other => Err(raise(Trouble::new(
                    format!("`{name}` works on a plain number, and this is {}", other.kind()),
                    "say in which unit: `round(wide.inch)`",
                ))),
            }
        });
        module.set_native_fn(name, move |a: FLOAT| -> Outcome { Ok(act(a).into()) });
        module.set_native_fn(name, move |a: INT| -> Outcome { Ok(act(a as FLOAT).into()) });
    }
    #[expect(clippy::cast_possible_truncation, reason = "out of range saturates, and is refused below")]
    module.set_native_fn("whole", |a: FLOAT| -> Outcome {
        let near = a.round();
        if near.abs() < 9e15 {
            Ok((near as INT).into())
        } else {
            Err(raise(Trouble::new(format!("{a} is too large for a whole number"), "use a smaller one")))
        }
    });
    module.set_native_fn("whole", |a: INT| -> Outcome { Ok(a.into()) });
    both_ways!(module, "smaller", |a: &Value, b: &Value| operators::order(a, b)
        .map(|order| convert::dynamic(Found::stated(if order.is_le() { a.clone() } else { b.clone() })))
        .map_err(raise));
    both_ways!(module, "larger", |a: &Value, b: &Value| operators::order(a, b)
        .map(|order| convert::dynamic(Found::stated(if order.is_ge() { a.clone() } else { b.clone() })))
        .map_err(raise));
}

/// Texts: how a value reads in one, and the few changes a plan needs, each with its size checked first.
fn words() -> Module {
    let mut module = Module::new();
    let say = |context: &NativeCallContext<'_>, found: &Found| found.value.shown(units_of(context));
    module.set_native_fn(
        "to_string",
        move |context: NativeCallContext<'_>, a: &mut Found| -> Result<String, Box<EvalAltResult>> {
            Ok(say(&context, a))
        },
    );
    module.set_native_fn(
        "to_debug",
        move |context: NativeCallContext<'_>, a: &mut Found| -> Result<String, Box<EvalAltResult>> {
            Ok(say(&context, a))
        },
    );
    module.set_native_fn(
        "+",
        move |context: NativeCallContext<'_>, a: ImmutableString, b: Found| -> Result<String, Box<EvalAltResult>> {
            Ok(format!("{a}{}", say(&context, &b)))
        },
    );
    module.set_native_fn(
        "+",
        move |context: NativeCallContext<'_>, a: Found, b: ImmutableString| -> Result<String, Box<EvalAltResult>> {
            Ok(format!("{}{b}", say(&context, &a)))
        },
    );
    module
        .set_native_fn("trim", |a: ImmutableString| -> Result<String, Box<EvalAltResult>> { Ok(a.trim().to_owned()) });
    #[expect(clippy::cast_possible_wrap, reason = "texts are at most a few kB")]
    module.set_native_fn("length", |a: ImmutableString| -> Result<INT, Box<EvalAltResult>> {
        Ok(a.chars().count() as INT)
    });
    module.set_native_fn("upper", |a: ImmutableString| -> Result<String, Box<EvalAltResult>> { Ok(a.to_uppercase()) });
    module.set_native_fn("lower", |a: ImmutableString| -> Result<String, Box<EvalAltResult>> { Ok(a.to_lowercase()) });
    module.build_index();
    module
}

/// The functions of the trade, each for as many arguments as it takes.
fn trade() -> Module {
    let mut module = Module::new();
    for function in bindings::all() {
        let (fewest, most) = function.arity();
        for count in fewest..=most {
            let act = move |_: Option<NativeCallContext<'_>>, args: &mut [&mut Dynamic]| -> Outcome {
                let values: Vec<_> = args.iter().map(|one| convert::plain(one)).collect();
                call(function, &values).map(convert::dynamic).map_err(raise)
            };
            let act = RhaiFunc::Pure { func: Shared::new(act), has_context: false, is_pure: true, is_volatile: false };
            let kinds = vec![TypeId::of::<Dynamic>(); count];
            FuncRegistration::new(function.name).in_global_namespace().set_into_module_raw(&mut module, kinds, act);
        }
    }
    module.build_index();
    module
}

/// Calls a function of the trade; a result no one can count with is an error, not a number.
pub(crate) fn call(function: &'static Function, values: &[Value]) -> Result<Found, Trouble> {
    let found = (function.call)(&Args { function: function.name, values })?;
    match &found.value {
        Value::Quantity(quantity) if !quantity.value.is_finite() => Err(Trouble::new(
            format!("`{}` gives no number one can count with", function.name),
            "look for a value of nought, or one with noughts too many, among what it was given",
        )),
        _ => Ok(found),
    }
}
