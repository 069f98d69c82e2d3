//! Between the script engine's values and the plan's.

use std::sync::{Arc, Mutex, PoisonError};

use rhai::{Array, Dynamic, FLOAT, INT, ImmutableString, Map};

use super::operators;
use crate::measure::{Dims, Quantity};
use crate::{Found, Value, Working};

/// What is known of values that the script holds as its own numbers, texts, truths and lists: how each was found, and
/// what to beware of. A value carries the number of its note with it, as long as it is not changed.
#[derive(Default)]
pub(crate) struct Notes(Mutex<Vec<Note>>);

struct Note {
    value: Value,
    working: Option<Arc<Working>>,
    caution: Option<&'static str>,
}

/// Notes one plan may make; values after that go without.
const NOTES: usize = 10_000;

/// The longest list or text that gets a note.
const SHORT: usize = 64;

impl Notes {
    /// A plan's value as a script value: plain numbers, texts, truths and lists become the script's own, so that its
    /// arithmetic, its conditions, its loops and its comparisons work on them.
    pub(crate) fn dynamic(&self, found: Found) -> Dynamic {
        let Some(mut native) = native(&found.value) else { return Dynamic::from(found) };
        let short = match &found.value {
            Value::List(all) => all.len() <= SHORT,
            Value::Text(text) => text.len() <= SHORT,
            _ => true,
        };
        if short
            && (found.working.is_some() || found.caution.is_some())
            && let Some(number) = self.take(found)
        {
            native.set_tag(number);
        }
        native
    }

    /// A script value as a plan's value with how it was found. What has no meaning in a plan becomes words.
    pub(crate) fn found(&self, value: &Dynamic) -> Found {
        if let Some(found) = value.read_lock::<Found>() {
            return found.clone();
        }
        let plain = plain(value);
        let number = usize::try_from(value.tag()).unwrap_or(0);
        if number > 0
            && let Some(note) = self.lock().get(number - 1)
            // A value that was changed in place keeps its number and no longer its working.
            && operators::same(&note.value, &plain).unwrap_or(false)
        {
            return Found { value: plain, working: note.working.clone(), caution: note.caution };
        }
        Found::stated(plain)
    }

    /// Takes a note and gives its number; none when there are too many.
    fn take(&self, found: Found) -> Option<i32> {
        let mut notes = self.lock();
        if notes.len() >= NOTES {
            return None;
        }
        let number = i32::try_from(notes.len() + 1).ok()?;
        notes.push(Note { value: found.value, working: found.working, caution: found.caution });
        Some(number)
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Vec<Note>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// How many notes there are.
    pub(crate) fn count(&self) -> usize {
        self.lock().len()
    }

    /// Takes back all notes but the first so many.
    pub(crate) fn forget(&self, after: usize) {
        self.lock().truncate(after);
    }

    /// The value as it is once it has a name: further arithmetic on it goes on from the value.
    pub(crate) fn named(&self, value: Dynamic) -> (Dynamic, Found) {
        let found = self.found(&value);
        match &found.working {
            Some(working) if !working.is_told() => {
                let found = Found { working: Some(working.named()), ..found };
                let value = self.dynamic(found.clone());
                let found = if value.is::<Found>() { found } else { self.found(&value) };
                (value, found)
            }
            _ => (value, found),
        }
    }
}

fn native(value: &Value) -> Option<Dynamic> {
    Some(match value {
        Value::Nothing => Dynamic::UNIT,
        Value::Truth(truth) => (*truth).into(),
        Value::Whole(whole) => (*whole as INT).into(),
        Value::Quantity(Quantity { value, dims: Dims::NONE, .. }) => (*value as FLOAT).into(),
        Value::Text(text) => text.into(),
        Value::List(all) => Dynamic::from_array(all.iter().map(stated).collect()),
        _ => return None,
    })
}

/// A value without a working, as a script value.
pub(crate) fn stated(value: &Value) -> Dynamic {
    native(value).unwrap_or_else(|| Dynamic::from(Found::stated(value.clone())))
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
    Value::Text("a value with no meaning in a plan".into())
}
