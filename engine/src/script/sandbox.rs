//! The engine workings run in, built from nothing: arithmetic, texts, lists, the units and the functions of the trade.

use std::any::TypeId;
use std::sync::atomic::Ordering;
use std::sync::{Arc, LazyLock};

use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage, BasicStringPackage,
    LogicPackage, Package,
};
use rhai::{
    Dynamic, Engine, EvalAltResult, FLOAT, FuncRegistration, INT, ImmutableString, LexError, Module, NativeCallContext,
    OptimizationLevel, RhaiFunc, Shared, Token,
};

use super::args::{Args, Function};
use super::run::{Moment, Outcome, Run, raise, run_of};
use super::{actuals, bindings, convert, lists, mistakes, operators, shops, statements};
use crate::measure::{Currency, Money, Units};
use crate::syntax::{former, units};
use crate::trade::price_list::{self, ToCome};
use crate::trade::spelling;
use crate::{Found, Message, Thing, Value, Working};

/// Steps of calculation one block may take; a plan takes a few hundred.
const OPERATIONS: u64 = 100_000;
/// Steps with those of the functions that lists call, as for each comparison of a sort: the language counts each of these calls
/// by itself.
const WITH_CALLS: u64 = 1_000_000;
/// How deep functions may call one another.
const CALL_LEVELS: usize = 128;
/// How deep an expression may nest, outside and inside functions: a sum of three hundred terms on one line still passes. Three
/// levels are one bracket in another.
const DEPTH: usize = 320;
/// How much of the stack workings may take, in bytes: expressions as deep as they may be in functions that call one another
/// as deep as they may would take fifty times that. Reading the deepest text takes another 0.6 MB.
const STACK: usize = 1 << 20;
/// The longest text, in bytes.
const TEXT: usize = 4 << 10;
/// The longest list.
const LIST: usize = 1_000;
/// The largest table of names.
const TABLE: usize = 200;
/// Functions one block may define.
const FUNCTIONS: usize = 200;
/// Names in use at once.
const NAMES: usize = 500;
/// Rate sheets one block may draw on, each of which may draw on more.
const SHEETS: usize = 32;
/// Different words of the language one block or ask may hold: names, units, functions. Reading a name takes longer the more
/// there are above it.
const WORDS: usize = 1_000;
/// Texts longer than this many bytes have their words counted, and are read only while there is time.
const LONG: usize = 1 << 10;
/// What a text with more of them ends at.
pub(crate) const TOO_MANY_WORDS: &str = "words";

/// A value as a script value, with how it was found noted in the evaluation it belongs to.
fn noted(context: &NativeCallContext<'_>, found: Found) -> Dynamic {
    match run_of(context) {
        Some(run) => run.notes.dynamic(found),
        None => convert::stated(&found.value),
    }
}

/// A script value as a plan's value, with how it was found.
fn found_of(context: &NativeCallContext<'_>, value: &Dynamic) -> Found {
    run_of(context).map_or_else(|| Found::stated(convert::plain(value)), |run| run.notes.found(value))
}

fn units_of(context: &NativeCallContext<'_>) -> Units {
    run_of(context).map_or(Units::Inch, |run| run.units)
}

/// An engine for one evaluation. Cheap: all functions live in shared modules.
pub(crate) fn engine(run: Arc<Run>) -> Engine {
    static SHARED: LazyLock<Vec<Shared<Module>>> = LazyLock::new(|| {
        vec![
            ArithmeticPackage::new().as_shared_module(),
            LogicPackage::new().as_shared_module(),
            BasicMathPackage::new().as_shared_module(),
            BasicStringPackage::new().as_shared_module(),
            BasicIteratorPackage::new().as_shared_module(),
            BasicArrayPackage::new().as_shared_module(),
            BasicMapPackage::new().as_shared_module(),
            // One for all that is ours: a function is looked for in each of them in turn.
            Shared::new(ours()),
        ]
    });
    let mut engine = Engine::new_raw();
    for module in SHARED.iter() {
        engine.register_global_module(module.clone());
    }
    engine.set_optimization_level(OptimizationLevel::None);
    limit(&mut engine, 1);
    engine.set_default_tag(Dynamic::from(run.clone()));
    marks(&mut engine, run.clone());
    let bottom = stack_here();
    engine.on_progress(move |steps| {
        if stack_here().abs_diff(bottom) > STACK {
            let why = Message::new(
                "functions that call one another are nested too deep here",
                "look for a function that calls itself for ever, or name the parts of what it gives one by one with `let`",
            );
            return Some(Dynamic::from(why));
        }
        let steps = run.taken.load(Ordering::Relaxed) + steps;
        run.last.store(steps, Ordering::Relaxed);
        if steps > OPERATIONS {
            let why = Message::new("these workings take more than 100 000 steps", "look for a loop that never ends");
            return Some(Dynamic::from(why));
        }
        let all = run.all.load(Ordering::Relaxed) + 1;
        run.all.store(all, Ordering::Relaxed);
        if all > WITH_CALLS {
            let why = "these workings take more than a million steps, with those of the functions their lists call";
            return Some(Dynamic::from(Message::new(why, "put shorter lists in order, or by a shorter function")));
        }
        run.is_stopped(Moment::Step(all)).map(Dynamic::from)
    });
    engine
}

/// Sets the limits of the language, or a part of each.
pub(crate) fn limit(engine: &mut Engine, part: usize) {
    engine.set_max_operations(OPERATIONS / part as u64);
    engine.set_max_call_levels(CALL_LEVELS / part);
    engine.set_max_expr_depths(DEPTH / part, DEPTH / part);
    engine.set_max_string_size(TEXT / part);
    engine.set_max_array_size(LIST / part);
    engine.set_max_map_size(TABLE / part);
    engine.set_max_functions(FUNCTIONS / part);
    engine.set_max_variables(NAMES / part);
    engine.set_max_modules(SHEETS / part);
}

/// Where the stack is now.
#[inline(never)]
fn stack_here() -> usize {
    let here = 0_u8;
    std::ptr::from_ref(std::hint::black_box(&here)).addr()
}

/// From here on functions see the names above them. Asked for every name a script uses, so only where there are functions.
pub(crate) fn let_functions_see(engine: &mut Engine, run: Arc<Run>) {
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
}

/// Stands between a rate sheet and a name in it.
pub(crate) const SEPARATOR: char = '\u{1}';

/// Marks that become operators of our own, so that other arithmetic stays fast: the language's mark, ours, and how
/// strongly it binds there.
///
/// `3/4` is 0.75, where the language would give 0; and two values of different kinds are refused by a comparison, where
/// the language would quietly call them unlike.
const MARKS: &[(Token, &str, u8)] = &[
    (Token::Divide, "÷", 180),
    (Token::EqualsTo, "≟", 90),
    (Token::NotEqualsTo, "≠", 90),
    (Token::LessThan, "≺", 130),
    (Token::LessThanEqualsTo, "≼", 130),
    (Token::GreaterThan, "≻", 130),
    (Token::GreaterThanEqualsTo, "≽", 130),
];

/// Words of the language that no workings know. They are met here, and not listed with the language, which would look every
/// mark and every word up in the list.
const UNKNOWN: &[&str] = &["eval", "print", "debug", "Fn", "call", "curry", "is_def_fn", "is_def_var", "type_of"];

/// Reads a text; when it is long its different words are counted as they are met.
///
/// # Errors
/// When it is long and there is no time or memory left for it.
pub(crate) fn read<T>(engine: &Engine, text: &str, read: impl FnOnce() -> T) -> Result<T, Message> {
    let run = engine.default_tag().read_lock::<Arc<Run>>().filter(|_| text.len() > LONG).map(|run| run.clone());
    let Some(run) = run else { return Ok(read()) };
    if let Some(message) = run.is_stopped(Moment::Reads) {
        return Err(message);
    }
    run.words.begin(WORDS);
    let read = read();
    run.words.end();
    Ok(read)
}

fn marks(engine: &mut Engine, run: Arc<Run>) {
    #[expect(
        deprecated,
        reason = "marked volatile; the only way to give whole numbers a true division without slowing all arithmetic"
    )]
    engine.on_parse_token(move |token, _, _| match token {
        Token::Identifier(word) if !run.words.has_room_for(&word) => {
            Token::LexError(Box::new(LexError::ImproperSymbol(TOO_MANY_WORDS.into(), String::new())))
        }
        // The language keeps the word for itself; here nothing is written out, and it is the first name for a print.
        Token::Reserved(word) if word.as_str() == "print" => Token::Identifier(word),
        Token::Reserved(word) if UNKNOWN.contains(&word.as_str()) => {
            Token::LexError(Box::new(LexError::ImproperSymbol(word.to_string(), String::new())))
        }
        Token::Export => Token::Reserved(Box::new("export".into())),
        Token::DivideAssign => {
            Token::LexError(Box::new(LexError::ImproperSymbol("/=".into(), "write it out, as `x = x / 2`".into())))
        }
        Token::Divide
        | Token::EqualsTo
        | Token::NotEqualsTo
        | Token::LessThan
        | Token::LessThanEqualsTo
        | Token::GreaterThan
        | Token::GreaterThanEqualsTo => MARKS
            .iter()
            .find(|(theirs, ..)| *theirs == token)
            .map_or(token, |(_, ours, _)| Token::Custom(Box::new((*ours).into()))),
        token => token,
    });
    for (_, ours, binds) in MARKS {
        let _ = engine.register_custom_operator(*ours, *binds);
    }
}

/// Everything of ours.
fn ours() -> Module {
    let mut all = Module::new();
    for module in
        [words(), numbers(), trade(), statements::module(), lists::module(), actuals::module(), shops::module()]
    {
        all.combine(module);
    }
    all.build_index();
    all
}

/// Units after a number, arithmetic with units, and comparisons.
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
                    raise(Message::new(
                        format!("{number} is not an amount of money"),
                        "write at most 28 digits, like `1250.50.usd`",
                    ))
                })
        });
    }
    indexing(&mut module);
    arithmetic(&mut module);
    comparisons(&mut module);
    module.build_index();
    module
}

fn measured(number: FLOAT, unit: &units::Unit) -> Dynamic {
    convert::stated(&Value::Quantity(unit.times(number)))
}

/// `frame.weight`, and `frame.weight.kg` for the plain number.
fn indexing(module: &mut Module) {
    module.set_indexer_get_fn(|context: NativeCallContext<'_>, found: &mut Found, name: ImmutableString| {
        part(found, &name).map(|part| noted(&context, part)).map_err(raise)
    });
    module.set_indexer_get_fn(|found: &mut Found, _: INT| -> Outcome {
        Err(raise(Message::new(format!("{} is not a list", found.value.kind()), "leave out the square brackets")))
    });
}

/// A part of a thing by name, or a quantity as a plain number of a unit.
pub(crate) fn part(found: &Found, name: &str) -> Result<Found, Message> {
    match &found.value {
        Value::Thing(thing) => thing.part(name).or_else(|| former_part(thing, name)).ok_or_else(|| {
            let names = || thing.parts().iter().map(|(name, _)| *name);
            if names().any(|one| one == former::part(thing.kind(), name)) {
                return Message::new(
                    format!("this {} has no {name} yet", bare(thing.kind())),
                    "its `about` in the reference says what it needs first",
                );
            }
            let hint = crate::syntax::nearest::nearest(name, names())
                .map_or_else(|| format!("it has {}", list(names())), |near| format!("was `{near}` meant?"));
            Message::new(format!("{} has no part called `{name}`", thing.kind()), hint)
        }),
        Value::Quantity(quantity) => match units::Unit::of(name) {
            Some(unit) if quantity.dims == crate::measure::Dims::NONE => Ok(Found::stated(unit.times(quantity.value))),
            Some(unit) => unit.count(*quantity).map(Found::stated).ok_or_else(|| {
                Message::new(
                    format!("{} is not measured in {}", found.value.kind(), unit.words),
                    "ask for it in a unit of its own kind",
                )
            }),
            None => {
                let near = crate::syntax::nearest::nearest(
                    name,
                    units::UNITS.iter().filter(|unit| unit.one.dims == quantity.dims).map(|unit| unit.name),
                );
                let hint = near.map_or_else(
                    || "a number has only its units after it".to_owned(),
                    |near| format!("was `{near}` meant?"),
                );
                Err(Message::new(format!("{} has no part called `{name}`", found.value.kind()), hint))
            }
        },
        other => Err(Message::new(format!("{} has no part called `{name}`", other.kind()), "leave the part out")),
    }
}

/// A part by a name it had before, or in the other spelling.
fn former_part(thing: &Thing, name: &str) -> Option<Found> {
    let now = former::part(thing.kind(), name);
    thing
        .parts()
        .iter()
        .find(|(one, _)| *one != name && spelling::is_same(one, now))
        .and_then(|(one, _)| thing.part(one))
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
        $module
            .set_native_fn($name, move |c: NativeCallContext<'_>, a: Found, b: Found| -> Outcome { act(&c, &a, &b) });
        $module.set_native_fn($name, move |c: NativeCallContext<'_>, a: Found, b: INT| -> Outcome {
            act(&c, &a, &Found::stated(b))
        });
        $module.set_native_fn($name, move |c: NativeCallContext<'_>, a: INT, b: Found| -> Outcome {
            act(&c, &Found::stated(a), &b)
        });
        $module.set_native_fn($name, move |c: NativeCallContext<'_>, a: Found, b: Dynamic| -> Outcome {
            act(&c, &a, &found_of(&c, no_function(&b)?))
        });
        $module.set_native_fn($name, move |c: NativeCallContext<'_>, a: Dynamic, b: Found| -> Outcome {
            act(&c, &found_of(&c, no_function(&a)?), &b)
        });
    }};
}

/// A value, when it is one that can be counted with or compared.
fn no_function(value: &Dynamic) -> Result<&Dynamic, Box<EvalAltResult>> {
    if value.is_fnptr() {
        return Err(raise(Message::new(
            "a function stands here where a value is needed",
            "call it with its values in brackets, by the name it was defined with by `fn`",
        )));
    }
    Ok(value)
}

/// A step of arithmetic with its working. A caution goes on with a value of the same kind: a weight added to a weight
/// stays a weight someone carries.
fn step(
    context: &NativeCallContext<'_>,
    mark: &'static str,
    binds: u8,
    a: &Found,
    b: &Found,
    act: fn(&Value, &Value) -> Result<Value, Message>,
) -> Outcome {
    let value = act(&a.value, &b.value).map_err(raise)?;
    let kind = |value: &Value| if let Value::Quantity(quantity) = value { Some(quantity.dims) } else { None };
    let caution = [a, b].iter().filter(|one| kind(&one.value) == kind(&value)).find_map(|one| one.caution);
    Ok(noted(context, Found { value, working: Some(Working::step(mark, binds, a, b)), caution }))
}

fn arithmetic(module: &mut Module) {
    fn plus(a: &Value, b: &Value) -> Result<Value, Message> {
        operators::add(a, b, false)
    }
    fn minus(a: &Value, b: &Value) -> Result<Value, Message> {
        operators::add(a, b, true)
    }
    type Context<'a> = NativeCallContext<'a>;
    both_ways!(module, "+", |c: &Context<'_>, a: &Found, b: &Found| match (&a.value, &b.value) {
        (Value::Text(a), b) => Ok(format!("{a}{}", b.shown(units_of(c))).into()),
        (a, Value::Text(b)) => Ok(format!("{}{b}", a.shown(units_of(c))).into()),
        _ => step(c, " + ", 1, a, b, plus),
    });
    both_ways!(module, "-", |c: &Context<'_>, a: &Found, b: &Found| step(c, " − ", 1, a, b, minus));
    both_ways!(module, "*", |c: &Context<'_>, a: &Found, b: &Found| step(c, " × ", 2, a, b, operators::times));
    both_ways!(module, "÷", |c: &Context<'_>, a: &Found, b: &Found| step(c, " ÷ ", 2, a, b, operators::over));
    let plainly = |a: FLOAT, b: FLOAT| -> Outcome {
        operators::over(&a.into(), &b.into()).map(|value| convert::stated(&value)).map_err(raise)
    };
    module.set_native_fn("÷", move |a: INT, b: INT| plainly(a as FLOAT, b as FLOAT));
    module.set_native_fn("÷", move |a: INT, b: FLOAT| plainly(a as FLOAT, b));
    module.set_native_fn("÷", move |a: FLOAT, b: INT| plainly(a, b as FLOAT));
    module.set_native_fn("÷", move |a: FLOAT, b: FLOAT| plainly(a, b));
    module.set_native_fn("-", |c: NativeCallContext<'_>, a: Found| -> Outcome {
        operators::negative(&a.value)
            .map(|value| noted(&c, Found { value, working: None, caution: a.caution }))
            .map_err(raise)
    });
}

/// Comparisons of any two values: of one kind, or refused.
fn comparisons(module: &mut Module) {
    use std::cmp::Ordering as Order;
    type Compare = fn(&Value, &Value) -> Result<bool, Message>;
    let all: [(&str, &str, &'static str, Compare); 6] = [
        ("≟", "==", " = ", |a, b| operators::same(a, b)),
        ("≠", "!=", " ≠ ", |a, b| operators::same(a, b).map(|same| !same)),
        ("≺", "<", " < ", |a, b| operators::order(a, b).map(Order::is_lt)),
        ("≼", "<=", " ≤ ", |a, b| operators::order(a, b).map(Order::is_le)),
        ("≻", ">", " > ", |a, b| operators::order(a, b).map(Order::is_gt)),
        ("≽", ">=", " ≥ ", |a, b| operators::order(a, b).map(Order::is_ge)),
    ];
    for (ours, theirs, mark, compare) in all {
        let act = move |context: Option<NativeCallContext<'_>>, args: &mut [&mut Dynamic]| -> Outcome {
            let [a, b] = args else { return Ok(false.into()) };
            let kept = compare(&convert::plain(no_function(a)?), &convert::plain(no_function(b)?)).map_err(raise)?;
            // Counting in a loop needs no workings.
            let counted = |one: &Dynamic| one.is_int() && one.tag() == 0;
            match context {
                Some(context) if !(counted(a) && counted(b)) => {
                    let working = Working::step(mark, 0, &found_of(&context, a), &found_of(&context, b));
                    Ok(noted(&context, Found { value: kept.into(), working: Some(working), caution: None }))
                }
                _ => Ok(kept.into()),
            }
        };
        register(module, ours, &[TypeId::of::<Dynamic>(); 2], act);
        // What lists are searched with.
        module.set_native_fn(theirs, move |a: Found, b: Found| -> Outcome {
            compare(&a.value, &b.value).map(Dynamic::from).map_err(raise)
        });
    }
}

/// Registers a function that is called with its values as they stand.
fn register(
    module: &mut Module,
    name: &str,
    kinds: &[TypeId],
    act: impl Fn(Option<NativeCallContext<'_>>, &mut [&mut Dynamic]) -> Outcome + Send + Sync + 'static,
) {
    let act = RhaiFunc::Pure { func: Shared::new(act), has_context: true, is_pure: true, is_volatile: false };
    FuncRegistration::new(name).in_global_namespace().set_into_module_raw(module, kinds, act);
}

/// Texts: how a value reads in one, and the few changes a plan needs, each with its size checked first.
fn words() -> Module {
    let mut module = Module::new();
    let silent =
        || Err(raise(Message::new("`print` writes nothing here", "ask for the value in the text, like `? wide`")));
    module.set_native_fn("print", move |_: Dynamic| -> Outcome { silent() });
    module.set_native_fn("print", move |_: ImmutableString| -> Outcome { silent() });
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
    // A value joined to a text reads as on a page.
    module.set_native_fn("+", |c: NativeCallContext<'_>, a: ImmutableString, b: Dynamic| -> Outcome {
        Ok(format!("{a}{}", convert::plain(no_function(&b)?).shown(units_of(&c))).into())
    });
    module.set_native_fn("+", |c: NativeCallContext<'_>, a: Dynamic, b: ImmutableString| -> Outcome {
        Ok(format!("{}{b}", convert::plain(no_function(&a)?).shown(units_of(&c))).into())
    });
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

/// The functions of the trade, each for as many arguments as it takes, under every name it has or had.
fn trade() -> Module {
    let mut module = Module::new();
    let named = bindings::all().flat_map(|function| former::names(function.name).map(move |name| (name, function)));
    for (name, function) in named {
        let (fewest, most) = function.arity();
        for count in fewest..=most {
            let act = move |context: Option<NativeCallContext<'_>>, args: &mut [&mut Dynamic]| -> Outcome {
                if let Some(message) = context.as_ref().and_then(run_of).and_then(|run| run.calls(function.name)) {
                    return Err(raise(message));
                }
                let values: Vec<_> = args.iter().map(|one| convert::plain(one)).collect();
                // What is counted from a price to come is to come too.
                let found = match values.iter().any(price_list::is_open) {
                    true => Found::stated(Thing::new(ToCome)),
                    false => call(function, name, &values).map_err(|message| {
                        raise(changed_over(context.as_ref(), function, name, &values).unwrap_or(message))
                    })?,
                };
                Ok(match context {
                    Some(context) => noted(&context, found),
                    None => convert::stated(&found.value),
                })
            };
            register(&mut module, name, &vec![TypeId::of::<Dynamic>(); count], act);
            // The language has some of its own for plain numbers, which would be found first.
            if bindings::has_plain_kin(function) {
                for kinds in plain_kinds(count) {
                    register(&mut module, name, &kinds, act);
                }
            }
        }
    }
    module.build_index();
    module
}

/// What to say of a call that works with two of its values, of different kinds, changed over.
fn changed_over(
    context: Option<&NativeCallContext<'_>>,
    function: &'static Function,
    name: &'static str,
    values: &[Value],
) -> Option<Message> {
    // These two may look long for the best of many ways, and are not tried again.
    if matches!(function.name, "nest" | "cut_list") {
        return None;
    }
    let pairs = (0..values.len()).flat_map(|one| (one + 1..values.len()).map(move |other| (one, other)));
    let works = |(one, other): &(usize, usize)| {
        let kinds = values.get(*one).zip(values.get(*other)).map(|(a, b)| (a.kind(), b.kind()));
        let mut changed = values.to_vec();
        changed.swap(*one, *other);
        kinds.is_some_and(|(a, b)| a != b) && call(function, name, &changed).is_ok()
    };
    let (one, other) = pairs.take(PAIRS).find(works)?;
    let (first, second) = (values.get(one)?.kind(), values.get(other)?.kind());
    let context = context?;
    let text = run_of(context)?.read(|state| state.block.map(|_| state.calls.clone()));
    let good = text.and_then(|calls| {
        mistakes::changed_over(calls.whole(), context.call_position(), name, values.len(), (one, other))
    });
    let good = good.unwrap_or_else(|| format!("{name}({})", function.takes));
    Some(Message::new(
        format!("`{name}` is given {first} before {second}, and takes them the other way round"),
        format!("write `{good}`"),
    ))
}

/// Pairs of values tried the other way round.
const PAIRS: usize = 10;

/// Every way of giving so many plain numbers.
fn plain_kinds(count: usize) -> Vec<Vec<TypeId>> {
    (0..count).fold(vec![Vec::new()], |all, _| {
        let one = |kinds: &Vec<TypeId>, kind| kinds.iter().copied().chain([kind]).collect();
        all.iter().flat_map(|kinds| [one(kinds, TypeId::of::<INT>()), one(kinds, TypeId::of::<FLOAT>())]).collect()
    })
}

/// Calls a function of the trade by one of its names; a result no one can count with is an error, not a number.
pub(crate) fn call(function: &'static Function, name: &'static str, values: &[Value]) -> Result<Found, Message> {
    let found = (function.call)(&Args { function: name, values })?;
    match &found.value {
        Value::Quantity(quantity) if !quantity.value.is_finite() => Err(Message::new(
            format!("`{name}` gives no number one can count with"),
            "look for a value of zero, or one with zeros too many, among what it was given",
        )),
        _ => Ok(found),
    }
}
