//! Errors of the script engine in the trade's words: what is wrong with which value, and what to do next.

use std::collections::HashMap;

use rhai::{EvalAltResult, LexError, ParseErrorType, Position};

pub(crate) use super::explained::Explained;
use super::sandbox::TOO_MANY_WORDS;
use super::{bindings, mistakes, statements};
use crate::Message;
use crate::syntax::nearest::nearest;
use crate::syntax::{former, plain_words, units};

/// What was known where an error happened.
pub(crate) struct Known<'a> {
    /// Names among which a misspelt one is looked for.
    pub(crate) names: &'a [&'a str],
    /// Names of blocks that could not be calculated, and the line of the message.
    pub(crate) waiting: &'a HashMap<String, usize>,
    /// The text that failed.
    pub(crate) text: &'a str,
    /// What a rate sheet of that name gives and defines, as it is used: `least_ppi`, `priced(wide)`.
    pub(crate) sheet: &'a dyn Fn(&str) -> Vec<String>,
}

/// Whether the workings were stopped for what they piled up, or for going on too long.
pub(crate) fn is_stopped(error: &EvalAltResult) -> bool {
    use EvalAltResult as E;
    matches!(
        error.unwrap_inner(),
        E::ErrorTerminated(..) | E::ErrorTooManyVariables(_) | E::ErrorTooManyOperations(_) | E::ErrorDataTooLarge(..)
    )
}

/// Explains an error met in a calculation.
pub(crate) fn failed(error: &EvalAltResult, known: &Known<'_>) -> Explained {
    let outer = error.position();
    let inner = error.unwrap_inner();
    let own = inner.position();
    // Inside a module the inner place is in another document: the place of the call is shown instead.
    let refused = refusal(error);
    let is_elsewhere = matches!(error, EvalAltResult::ErrorInModule(..)) || refused.is_some();
    let place = if is_elsewhere || own.is_none() { outer } else { own };
    if let Some(message) = refused {
        return at(place, message);
    }
    let told = if is_elsewhere { None } else { mistakes::failed(inner, place, known.text) };
    told.unwrap_or_else(|| at(place, message(inner, known)))
}

/// Explains an error met while reading the text of workings.
pub(crate) fn unread(error: &ParseErrorType, place: Position, text: &str) -> Explained {
    mistakes::unread(error, place, text).unwrap_or_else(|| at(place, reading(error)))
}

/// What a function of a rate sheet says by `throw`: the shop refuses what it was asked for.
fn refusal(error: &EvalAltResult) -> Option<Message> {
    let EvalAltResult::ErrorInFunctionCall(function, sheet, inner, _) = error else { return None };
    match inner.unwrap_inner() {
        EvalAltResult::ErrorRuntime(value, _) if !sheet.is_empty() && value.read_lock::<Message>().is_none() => {
            let said = super::convert::plain(value).shown(crate::measure::Units::Inch);
            let function = function.rsplit("::").next().unwrap_or(function);
            Some(Message::new(
                format!("`{sheet}` refuses this: {said}"),
                format!("give `{function}` something the shop makes, or ask another shop"),
            ))
        }
        _ => refusal(inner),
    }
}

fn at(place: Position, message: Message) -> Explained {
    Explained { line: place.line().unwrap_or(1), column: place.position().unwrap_or(1).max(1), message }
}

fn message(error: &EvalAltResult, known: &Known<'_>) -> Message {
    use EvalAltResult as E;
    let say = |what: &str, next: &str| Message::new(what, next);
    match error {
        E::ErrorRuntime(value, _) | E::ErrorTerminated(value, _) => value.read_lock::<Message>().map_or_else(
            || {
                let said = super::convert::plain(value).shown(crate::measure::Units::Inch);
                Message::new(format!("the workings stop here: `{said}`"), "take out the `throw` when it is not wanted")
            },
            |message| message.clone(),
        ),
        E::ErrorParsing(kind, _) => reading(kind),
        E::ErrorVariableNotFound(name, _) => missing(name, known),
        E::ErrorForbiddenVariable(name, _) | E::ErrorVariableExists(name, _) => {
            Message::new(format!("`{name}` already has a value"), "give this one another name")
        }
        E::ErrorFunctionNotFound(signature, _) => no_function(signature, known),
        E::ErrorDotExpr(text, _) => {
            let name = text.split('\'').nth(1).or_else(|| text.split('`').nth(1)).unwrap_or(text);
            let known = || units::UNITS.iter().map(|unit| unit.name);
            let near = plain_words::unit(&name.to_lowercase()).or_else(|| nearest(name, known()));
            let next = near.map_or_else(
                || "write one of the units of the reference, like `63.inch`, `18.lb`, `4000.ppi`".to_owned(),
                |near| format!("was `{near}` meant?"),
            );
            Message::new(format!("there is no unit or part called `{name}`"), next)
        }
        E::ErrorPropertyNotFound(name, _) => Message::new(
            format!("there is no part called `{name}`"),
            "look at the names listed under the block that made it",
        ),
        E::ErrorIndexNotFound(index, _) => {
            Message::new(format!("there is nothing at `{index}`"), "look at what the table holds")
        }
        E::ErrorModuleNotFound(name, _) => no_sheet(name),
        E::ErrorMismatchDataType(wanted, given, _) | E::ErrorMismatchOutputType(wanted, given, _) => {
            Message::new(format!("this needs {} and got {}", kind(wanted), kind(given)), "compare or convert it first")
        }
        E::ErrorIndexingType(..) => say("this has no numbered parts", "leave out the square brackets"),
        E::ErrorArrayBounds(count, index, _) => {
            Message::new(format!("the list has {count} parts, and number {index} is asked for"), "count from 0")
        }
        E::ErrorStringBounds(count, index, _) => {
            Message::new(format!("the text has {count} letters, and number {index} is asked for"), "count from 0")
        }
        E::ErrorBitFieldBounds(..) => say("a number has no such bit", "leave out the square brackets"),
        E::ErrorFor(_) => say(
            "a `for` goes through a list or a span of numbers, and this is neither",
            "write it like `for n in 1..5 { … }`",
        ),
        E::ErrorDataRace(..) => say("a value is changed while it is being gone through", "build a new list instead"),
        E::ErrorNonPureMethodCallOnConstant(..) | E::ErrorAssignmentToConstant(..) => say(
            "a value from above cannot be changed here",
            "give the changed value a name of its own: `let wider = wide + 2.inch;`",
        ),
        E::ErrorUnboundThis(_) => say("`this` means nothing here", "name the value instead"),
        E::ErrorArithmetic(text, _) => arithmetic(text),
        E::ErrorTooManyOperations(_) => {
            say("these workings take more than 100 000 steps", "look for a loop that never ends")
        }
        E::ErrorTooManyVariables(_) => say(
            "these workings use more than 500 names at once",
            "look for a function that calls itself for ever, or split the plan",
        ),
        E::ErrorTooManyModules(_) => say("more than 32 rate sheets are drawn on", "draw on fewer"),
        E::ErrorStackOverflow(_) => {
            say("functions call one another more than 128 deep", "look for a function that calls itself for ever")
        }
        E::ErrorDataTooLarge(..) => say(
            "a text or list here grows too large (4 kB of text, 1000 in a list)",
            "look for a loop that keeps adding to it",
        ),
        E::ErrorInFunctionCall(_, _, inner, _) | E::ErrorInModule(_, inner, _) => message(inner, known),
        E::LoopBreak(..) => say("`break` stands outside a loop", "take it out"),
        E::Return(..) => say("`return` stands outside a function", "take it out"),
        _ => {
            Message::new("these workings cannot be calculated here", "write this line more simply, or split it in two")
        }
    }
}

/// A calculation with plain numbers that has no result: the language's words, a colon, and the calculation.
fn arithmetic(text: &str) -> Message {
    let (words, calculation) = text.split_once(": ").unwrap_or((text, ""));
    let words = words.to_lowercase();
    if words.starts_with("error parsing") {
        let written = text.split('\'').nth(1).unwrap_or_default();
        return Message::new(format!("`{written}` is not a number"), "write it in digits, like 63 or 63.5");
    }
    if words.contains("by zero") {
        return Message::new(
            format!("`{calculation}` divides by zero, or is too large to count with"),
            "give the right-hand number a value other than 0",
        );
    }
    if words.contains("negative power") {
        return Message::new(
            format!("`{calculation}` raises a whole number to a power below zero"),
            "write the number with a point: `2.0 ** -1`",
        );
    }
    let what = if calculation.is_empty() {
        "a number here is too large to count with".to_owned()
    } else {
        format!("`{calculation}` is too large to count with")
    };
    Message::new(what, "look for a number with zeros too many")
}

fn no_sheet(name: &str) -> Message {
    Message::new(
        format!("there is no rate sheet called `{name}` here"),
        format!("name one above: `import \"shops/…\" as {name};`, with its path in the quotes"),
    )
}

/// Something that a rate sheet does not give or define, or that is called otherwise there.
fn not_on_sheet(sheet: &str, name: &str, known: &Known<'_>) -> Message {
    let all = (known.sheet)(sheet);
    let bare = |one: &str| one.split('(').next().unwrap_or_default().to_owned();
    let written = |one: &String| format!("`{sheet}::{one}`");
    if let Some(there) = all.iter().find(|one| bare(one) == name) {
        let what = format!("`{sheet}::{name}` is there, and is used another way");
        return Message::new(what, format!("write it like {}", written(there)));
    }
    let what = format!("the rate sheet `{sheet}` has no `{name}`");
    let names: Vec<_> = all.iter().map(|one| bare(one)).collect();
    let near = nearest(name, names.iter().map(String::as_str));
    let near = near.and_then(|near| all.iter().find(|one| bare(one) == near));
    let next = match near {
        Some(near) => format!("was {} meant?", written(near)),
        None if all.is_empty() => "it has no names yet".to_owned(),
        None => format!("it has {}", all.iter().map(written).collect::<Vec<_>>().join(", ")),
    };
    Message::new(what, next)
}

/// What was probably meant by a name: one of the plan's own, what a plain word stands for, or what is spelt nearly so.
fn meant(name: &str, own: &[&str]) -> Option<String> {
    let functions = || bindings::all().map(|one| one.name).chain(statements::STATEMENTS.iter().map(|one| one.0));
    if let Some(near) = nearest(name, own.iter().copied()) {
        return Some(format!("was `{near}` meant?"));
    }
    let words = plain_words::meaning(name).map(<[_]>::to_vec);
    let near = words.or_else(|| nearest(name, functions()).map(|one| vec![one]));
    let all = near.or_else(|| plain_words::nearly(name).map(<[_]>::to_vec))?;
    let all: Vec<_> = all.iter().map(|one| format!("`{one}`")).collect();
    Some(format!("was {} meant?", all.join(" or ")))
}

/// A name without a value: not known yet, misspelt, or never given.
fn missing(name: &str, known: &Known<'_>) -> Message {
    if let Some((sheet, name)) = name.split_once("::") {
        return not_on_sheet(sheet, name, known);
    }
    if let Some(line) = known.waiting.get(name) {
        return Message::new(
            format!("`{name}` is not known yet: line {line} could not be calculated"),
            format!("put line {line} right first"),
        );
    }
    if bindings::listed(name).is_some() {
        return Message::new(
            format!("`{name}` is a function and stands here without its brackets"),
            format!("write `{name}(…)`"),
        );
    }
    if units::Unit::of(name).is_some() {
        return Message::new(
            format!("`{name}` is a unit and stands here alone"),
            format!("write it after a number with a point: `24.{name}`"),
        );
    }
    let next = meant(name, known.names).unwrap_or_else(|| format!("give it a value above: `let {name} = …;`"));
    Message::new(format!("nothing here is called `{name}`"), next)
}

/// A call nothing answers to: misspelt, or with the wrong number of values.
fn no_function(signature: &str, known: &Known<'_>) -> Message {
    let (name, given) = signature.split_once(" (").unwrap_or((signature, ""));
    let given = given.trim_end_matches(')');
    if let Some((sheet, name)) = name.split_once("::") {
        return not_on_sheet(sheet, name, known);
    }
    if let Some(operator) = operator(name) {
        let kinds: Vec<_> = given.split(", ").map(kind).collect();
        return Message::new(
            format!("{} cannot be {operator}", kinds.join(" and ")),
            "use two values that go together, like two lengths, or a price and a number",
        );
    }
    if let Some(function) = bindings::named(name) {
        let (fewest, most) = function.arity();
        let count = if given.is_empty() { 0 } else { given.split(", ").count() };
        let wanted = if fewest == most { fewest.to_string() } else { format!("{fewest} to {most}") };
        return Message::new(
            format!("`{name}` takes {wanted} values and was given {count}"),
            format!("write `{}({})`", function.name, function.takes),
        );
    }
    if let Some((now, takes, _)) = statements::STATEMENTS.iter().find(|one| one.0 == former::function(name)) {
        let hint = if matches!(name, "must" | "should") && !given.starts_with("bool") {
            "; the condition has to be a comparison, like `piece.ppi >= 200.ppi`"
        } else {
            ""
        };
        return Message::new(format!("`{name}` was not given what it takes"), format!("write `{now}({takes})`{hint}"));
    }
    let next = meant(name, &[]).unwrap_or_else(|| "look in the reference for what there is".to_owned());
    Message::new(format!("there is no function called `{name}`"), next)
}

fn operator(name: &str) -> Option<&'static str> {
    Some(match name {
        "+" | "+=" => "added",
        "-" | "-=" => "taken one from the other",
        "*" | "*=" => "multiplied",
        "÷" => "divided",
        "<" | ">" | "<=" | ">=" | "==" | "!=" | "≟" | "≠" | "≺" | "≼" | "≻" | "≽" => "compared",
        "%" | "**" | "&" | "|" | "^" | "<<" | ">>" => "combined by this mark",
        "!" => "turned into its opposite",
        _ => return None,
    })
}

/// A type of the script engine as a photographer would say it.
fn kind(name: &str) -> &'static str {
    let name = name.rsplit(" | ").next().unwrap_or(name);
    let name = name.rsplit("::").next().unwrap_or(name).trim_start_matches('&').trim_start_matches("mut ");
    match name {
        "i64" | "f64" => "a plain number",
        "bool" => "a yes or no",
        "string" | "ImmutableString" | "&str" | "String" | "char" => "a piece of text",
        "array" | "Array" => "a list",
        "map" | "Map" => "a table",
        "()" => "nothing",
        "Fn" | "FnPtr" => "a function",
        "range" | "RangeInclusive<i64>" | "Range<i64>" | "range=" => "a span of numbers",
        _ => "a value with a unit",
    }
}

fn reading(error: &ParseErrorType) -> Message {
    use ParseErrorType as P;
    match error {
        P::UnexpectedEOF => {
            Message::new("these workings end in the middle of something", "close the last bracket or quote")
        }
        P::BadInput(LexError::ImproperSymbol(symbol, next)) if symbol == "/=" => {
            Message::new("`/=` is not used here", next.clone())
        }
        P::BadInput(LexError::ImproperSymbol(symbol, _)) if symbol == TOO_MANY_WORDS => Message::new(
            "there are more than 1 000 different words in these workings, names, units and functions together",
            "split them into several blocks",
        ),
        P::BadInput(LexError::UnexpectedInput(input)) => {
            let next = match input.as_str() {
                ";" | ")" | "]" | "}" | "," => {
                    return Message::new(
                        format!("a value is missing before `{input}`"),
                        "write a number with its unit, a name, or a calculation",
                    );
                }
                "\"" | "”" | "“" => "write straight quotes around text: \"6x17\"",
                "$" | "€" | "£" => "write money after its number: `1250.usd`",
                "′" | "″" => "write feet and inches as `2.ft + 6.inch`",
                "×" => "write `*` to multiply",
                _ => "take it out; names use the letters a to z, digits and `_`",
            };
            Message::new(format!("`{input}` has no meaning in workings"), next)
        }
        P::BadInput(LexError::UnterminatedString) => {
            Message::new("a piece of text begins here and never ends", "close it with a quote on the same line")
        }
        P::BadInput(LexError::MalformedNumber(text)) => {
            Message::new(format!("`{text}` is not a number"), "write it like `63`, `63.5` or `63.inch`")
        }
        P::BadInput(LexError::MalformedEscapeSequence(text)) => Message::new(
            format!("`{text}` in a piece of text stands for no letter"),
            "write a backslash twice, `\\\\`, or leave it out",
        ),
        P::BadInput(LexError::StringTooLong(_)) => {
            Message::new("a piece of text written here is longer than 4 kB", "shorten it")
        }
        P::BadInput(LexError::MalformedIdentifier(text)) => {
            Message::new(format!("`{text}` is not a name"), "names use the letters a to z, digits and `_`")
        }
        P::BadInput(LexError::MalformedChar(text)) => Message::new(
            format!("`'{text}'` is not a single letter"),
            "write text in straight double quotes, and feet and inches as `2.ft + 6.inch`",
        ),
        P::BadInput(LexError::ImproperSymbol(symbol, _)) => {
            Message::new(format!("`{symbol}` has no meaning here"), "take it out, or write it another way")
        }
        P::BadInput(_) => Message::new("this cannot be read", "write it another way"),
        P::UnknownOperator(mark) => Message::new(
            format!("`{mark}` has no meaning in workings"),
            "use + - * / and the comparisons < <= == != >= >",
        ),
        P::MissingToken(token, _) if token == ";" => Message::new(
            "a statement ends here without its `;`, or a unit stands apart from its number",
            "end each statement with `;` and join a unit to its number with a point: `63.inch`",
        ),
        P::MissingToken(token, _) => Message::new(format!("`{token}` is missing here"), format!("write `{token}`")),
        P::VariableExpected => Message::new("a name is missing here", "write `let a_name = …;`"),
        P::Reserved(word) => Message::new(
            format!("`{word}` is a word the language keeps for itself"),
            "choose another name, like `piece` or `the_print`",
        ),
        P::ForbiddenVariable(name) | P::VariableExists(name) => {
            Message::new(format!("`{name}` already has a value"), "give this one another name")
        }
        P::ExprExpected(_) => {
            Message::new("a value is missing here", "write a number with its unit, a name, or a calculation")
        }
        P::TooManyFunctions => Message::new("more than 200 functions are defined in one block", "split the block"),
        P::ExprTooDeep => Message::new("this expression is nested too deep", "name the parts one by one with `let`"),
        P::LiteralTooLarge(..) => {
            Message::new("a text or list written here is too long (4 kB of text, 1000 in a list)", "shorten it")
        }
        P::AssignmentToConstant(name) => Message::new(
            format!("`{name}` is constant and cannot be changed"),
            "give the changed value a name of its own",
        ),
        P::PropertyExpected => Message::new(
            "a unit or the name of a part is missing after the point",
            "write it like `63.inch` or `piece.width`",
        ),
        P::LoopBreak => Message::new("`break` stands outside a loop", "take it out"),
        P::WrongFnDefinition => Message::new(
            "a function can be defined only at the left margin of the workings",
            "move it out of the brackets",
        ),
        P::FnMissingName | P::FnMissingParams(_) | P::FnMissingBody(_) => Message::new(
            "a function is not finished here",
            "write it like `fn price(size) { size.area / 1.ft2 * 14.usd }`",
        ),
        P::FnDuplicatedDefinition(name, _) => {
            Message::new(format!("the function `{name}` is defined twice"), "give one of the two another name")
        }
        P::FnDuplicatedParam(function, name) => Message::new(
            format!("the function `{function}` takes two values called `{name}`"),
            "give one of the two another name",
        ),
        P::DuplicatedProperty(name) | P::DuplicatedVariable(name) => {
            Message::new(format!("`{name}` stands here twice"), "give one of the two another name")
        }
        P::AssignmentToInvalidLHS(_) => Message::new(
            "something is set here that is not a name",
            "set a name: `let wider = wide + 2.inch;`, and compare with `==`",
        ),
        P::MismatchedType(..) | P::MalformedIndexExpr(_) => {
            Message::new("a value of another kind is needed here", "count the parts of a list from 0, as in `size[0]`")
        }
        P::WrongSwitchIntegerCase | P::WrongSwitchDefaultCase | P::WrongSwitchCaseCondition => Message::new(
            "a case of this `switch` cannot be told from the others",
            "write it like `switch kind { \"ash\" => 14.usd, _ => 12.usd }`, with `_` last",
        ),
        P::ModuleUndefined(name) => no_sheet(name),
        P::VariableUndefined(name) => Message::new(
            format!("nothing here is called `{name}`"),
            format!("give it a value above: `let {name} = …;`"),
        ),
        // Given by us for a call of too many values.
        P::MalformedCapture(name) => Message::new(
            format!("`{name}` is called with more than 12 values"),
            "put values that belong together into a list: `[63.inch, 24.inch]`",
        ),
        P::WrongDocComment => Message::new("this remark stands where none can", "begin it with two strokes, `//`"),
        P::WrongExport | P::MissingSymbol(_) => Message::new("this is not used in workings", "take it out"),
        _ => Message::new("this cannot be read", "write it another way"),
    }
}
