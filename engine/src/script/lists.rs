//! Lists put in order: of any values of one kind, and never quietly wrong.
//!
//! The language's own `sort` goes on when the function that compares two values fails, and knows only plain numbers and
//! texts by itself.

use std::cmp::Ordering;

use rhai::{Array, Dynamic, EvalAltResult, FnPtr, Module, NativeCallContext};

use super::run::{Moment, raise, run_of};
use super::{convert, operators};
use crate::{Message, Value};

type Failed = Box<EvalAltResult>;

pub(crate) fn module() -> Module {
    let mut module = Module::new();
    module.set_native_fn("sort", |context: NativeCallContext<'_>, list: &mut Array| {
        *list = plainly(&context, list)?;
        Ok(())
    });
    module.set_native_fn("sort", |context: NativeCallContext<'_>, list: &mut Array, by: FnPtr| {
        *list = put(list.clone(), &mut |a, b| asked(&context, &by, a, b))?;
        Ok(())
    });
    module.set_native_fn("order", |context: NativeCallContext<'_>, list: &mut Array| {
        plainly(&context, list).map(Dynamic::from_array)
    });
    module.set_native_fn("order", |context: NativeCallContext<'_>, list: &mut Array, by: FnPtr| {
        put(list.clone(), &mut |a, b| asked(&context, &by, a, b)).map(Dynamic::from_array)
    });
    module.build_index();
    module
}

/// In the order of the values. For the language it is one step, however long the list, so time is asked for first.
fn plainly(context: &NativeCallContext<'_>, list: &Array) -> Result<Array, Failed> {
    if let Some(message) = run_of(context).and_then(|run| run.is_stopped(Moment::Long)) {
        return Err(raise(message));
    }
    let values: Vec<(Value, Dynamic)> = list.iter().map(|one| (convert::plain(one), one.clone())).collect();
    let ordered = put(values, &mut |(a, _), (b, _)| operators::order(a, b).map_err(raise))?;
    Ok(ordered.into_iter().map(|(_, one)| one).collect())
}

/// What a plan's own function says of two values: a number below, at or above zero, or whether the first goes first.
fn asked(context: &NativeCallContext<'_>, by: &FnPtr, a: &Dynamic, b: &Dynamic) -> Result<Ordering, Failed> {
    let said: Dynamic = by.call_within_context(context, (a.clone(), b.clone()))?;
    if let Ok(number) = said.as_int() {
        return Ok(number.cmp(&0));
    }
    match said.as_bool() {
        Ok(true) => Ok(Ordering::Less),
        Ok(false) => Ok(Ordering::Greater),
        Err(_) => Err(raise(Message::new(
            "a list is put in order by a function that gives neither a whole number nor a yes or no",
            "write it like `list.sort(|a, b| a.width < b.width)`",
        ))),
    }
}

/// Merges runs until one is left. A comparison that contradicts itself gives some order, and a failed one none.
fn put<T>(list: Vec<T>, compare: &mut dyn FnMut(&T, &T) -> Result<Ordering, Failed>) -> Result<Vec<T>, Failed> {
    let mut runs: Vec<Vec<T>> = list.into_iter().map(|one| vec![one]).collect();
    while runs.len() > 1 {
        let mut merged = Vec::with_capacity(runs.len() / 2 + 1);
        let mut rest = runs.into_iter();
        while let Some(left) = rest.next() {
            merged.push(match rest.next() {
                Some(right) => merge(left, right, compare)?,
                None => left,
            });
        }
        runs = merged;
    }
    Ok(runs.pop().unwrap_or_default())
}

fn merge<T>(
    left: Vec<T>,
    right: Vec<T>,
    compare: &mut dyn FnMut(&T, &T) -> Result<Ordering, Failed>,
) -> Result<Vec<T>, Failed> {
    let mut out = Vec::with_capacity(left.len() + right.len());
    let (mut left, mut right) = (left.into_iter().peekable(), right.into_iter().peekable());
    while let (Some(a), Some(b)) = (left.peek(), right.peek()) {
        let next = if compare(b, a)?.is_lt() { right.next() } else { left.next() };
        out.extend(next);
    }
    out.extend(left);
    out.extend(right);
    Ok(out)
}
