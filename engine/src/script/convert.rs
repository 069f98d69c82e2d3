//! Between the script engine's values and the plan's.

use rhai::{Array, Dynamic, FLOAT, INT, ImmutableString, Map};

use crate::measure::{Dims, Quantity};
use crate::{Found, Value};

/// A script value as a plan's value with its working. What has no meaning in a plan becomes words.
pub(crate) fn found(value: &Dynamic) -> Found {
    if let Some(found) = value.read_lock::<Found>() {
        return found.clone();
    }
    Found::stated(plain(value))
}

/// A script value as a plan's value.
pub(crate) fn plain(value: &Dynamic) -> Value {
    if let Some(found) = value.read_lock::<Found>() {
        return found.value.clone();
    }
    if let Ok(whole) = value.as_int() {
        return Value::Whole(whole);
    }
    if let Ok(number) = value.as_float() {
        return Value::Quantity(Quantity::plain(number));
    }
    if let Ok(truth) = value.as_bool() {
        return Value::Truth(truth);
    }
    if let Some(text) = value.read_lock::<ImmutableString>() {
        return Value::Text(text.to_string());
    }
    if let Some(all) = value.read_lock::<Array>() {
        return Value::List(all.iter().map(plain).collect());
    }
    if let Some(map) = value.read_lock::<Map>() {
        return Value::List(
            map.iter().map(|(key, one)| Value::List(vec![Value::Text(key.to_string()), plain(one)])).collect(),
        );
    }
    if value.is_unit() {
        return Value::Nothing;
    }
    if value.is_char() {
        return Value::Text(value.to_string());
    }
    if value.is_fnptr() {
        return Value::Text("a function".into());
    }
    Value::Text(value.type_name().into())
}

/// A plan's value as a script value: plain numbers, texts and truths become the script's own, so that its arithmetic,
/// its loops and its comparisons work on them.
pub(crate) fn dynamic(found: Found) -> Dynamic {
    match found {
        Found { value: Value::Nothing, .. } => Dynamic::UNIT,
        Found { value: Value::Truth(truth), working: None, caution: None } => truth.into(),
        Found { value: Value::Whole(whole), working: None, caution: None } => (whole as INT).into(),
        Found { value: Value::Quantity(Quantity { value, dims: Dims::NONE }), working: None, caution: None } => {
            (value as FLOAT).into()
        }
        Found { value: Value::Text(text), working: None, .. } => text.into(),
        Found { value: Value::List(all), working: None, caution: None } => {
            Dynamic::from_array(all.into_iter().map(|one| dynamic(Found::stated(one))).collect())
        }
        found => Dynamic::from(found),
    }
}
