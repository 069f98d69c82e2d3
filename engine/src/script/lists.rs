//! Lists put in order: of any values of one kind, and never quietly wrong.
//!
//! The language's own `sort` goes on when the function that compares two values fails, and knows only plain numbers and
//! texts by itself.

use std::cmp::Ordering;

use rhai::{Array, Dynamic, EvalAltResult, FnPtr, Module, NativeCallContext};

use super::sandbox::raise;
use super::{convert, operators};
use crate::Trouble;

type Compared = Result<Ordering, Box<EvalAltResult>>;

pub(crate) fn module() -> Module {
    let mut module = Module::new();
    module.set_native_fn("sort", |list: &mut Array| put(list, &mut plainly));
    module.set_native_fn("sort", |context: NativeCallContext<'_>, list: &mut Array, by: FnPtr| {
        put(list, &mut |a, b| asked(&context, &by, a, b))
    });
    module.set_native_fn("order", |list: &mut Array| {
        let mut ordered = list.clone();
        put(&mut ordered, &mut plainly).map(|()| Dynamic::from_array(ordered))
    });
    module.set_native_fn("order", |context: NativeCallContext<'_>, list: &mut Array, by: FnPtr| {
        let mut ordered = list.clone();
        put(&mut ordered, &mut |a, b| asked(&context, &by, a, b)).map(|()| Dynamic::from_array(ordered))
    });
    module.build_index();
    module
}

fn plainly(a: &Dynamic, b: &Dynamic) -> Compared {
    operators::order(&convert::plain(a), &convert::plain(b)).map_err(raise)
}

/// What a plan's own function says of two values: a number below, at or above nought, or whether the first goes first.
fn asked(context: &NativeCallContext<'_>, by: &FnPtr, a: &Dynamic, b: &Dynamic) -> Compared {
    let said: Dynamic = by.call_within_context(context, (a.clone(), b.clone()))?;
    if let Ok(number) = said.as_int() {
        return Ok(number.cmp(&0));
    }
    match said.as_bool() {
        Ok(true) => Ok(Ordering::Less),
        Ok(false) => Ok(Ordering::Greater),
        Err(_) => Err(raise(Trouble::new(
            "a list is put in order by a function that gives neither a whole number nor a yes or no",
            "write it like `list.sort(|a, b| a.width < b.width)`",
        ))),
    }
}

/// Merges runs until one is left. A comparison that contradicts itself gives some order, and a failed one none.
fn put(list: &mut Array, compare: &mut dyn FnMut(&Dynamic, &Dynamic) -> Compared) -> Result<(), Box<EvalAltResult>> {
    let mut runs: Vec<Array> = list.iter().cloned().map(|one| vec![one]).collect();
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
    if let Some(ordered) = runs.pop() {
        *list = ordered;
    }
    Ok(())
}

fn merge(
    left: Array,
    right: Array,
    compare: &mut dyn FnMut(&Dynamic, &Dynamic) -> Compared,
) -> Result<Array, Box<EvalAltResult>> {
    let mut out = Array::with_capacity(left.len() + right.len());
    let (mut left, mut right) = (left.into_iter().peekable(), right.into_iter().peekable());
    while let (Some(a), Some(b)) = (left.peek(), right.peek()) {
        let next = if compare(b, a)?.is_lt() { right.next() } else { left.next() };
        out.extend(next);
    }
    out.extend(left);
    out.extend(right);
    Ok(out)
}
