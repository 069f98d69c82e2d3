//! A value of a plan and how it was found.

use std::fmt;
use std::sync::Arc;

use crate::measure::{Day, Money, Quantity, Units, digits};

/// Anything a plan can name or ask for.
#[derive(Clone, Debug)]
pub enum Value {
    /// Nothing, as of a block that only states things.
    Nothing,
    /// Yes or no.
    Truth(bool),
    /// A plain whole number.
    Whole(i64),
    /// A number with its unit, or a plain ratio.
    Quantity(Quantity),
    /// An exact amount.
    Money(Money),
    /// A civil day.
    Day(Day),
    /// Words.
    Text(String),
    /// Two or three lengths that belong together, or any other list.
    List(Vec<Value>),
    /// Something of the trade: a film, a scan, a frame.
    Thing(Thing),
}

/// A value together with how it was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// The value.
    pub value: Value,
    /// The working shown beside it, when there is one.
    pub working: Option<Arc<Working>>,
    /// What to beware of where this number is used, when it can hurt someone.
    pub caution: Option<&'static str>,
}

impl Found {
    /// A value that was stated, not found.
    pub fn stated(value: impl Into<Value>) -> Self {
        Self { value: value.into(), working: None, caution: None }
    }

    /// A value and its working: a pattern with `{}` for each of the values it was found from.
    ///
    /// The pattern is the right-hand side only: `"{} ÷ {}"`.
    pub fn by(value: impl Into<Value>, pattern: &'static str, from: impl IntoIterator<Item = Value>) -> Self {
        let working = Working { how: How::Told { pattern, from: from.into_iter().collect() }, named: false };
        Self { value: value.into(), working: Some(Arc::new(working)), caution: None }
    }

    /// The same value with the usual caution beside it.
    #[must_use]
    pub fn beware(mut self, caution: &'static str) -> Self {
        self.caution = Some(caution);
        self
    }
}

/// How a value was found. Kept as what it was made from, and written out only where it is shown.
#[derive(Clone, Debug)]
pub struct Working {
    how: How,
    /// Whether its value has a name, from which further arithmetic goes on.
    named: bool,
}

#[derive(Clone, Debug)]
enum How {
    /// The trade tells it: a pattern and the values in it.
    Told { pattern: &'static str, from: Vec<Value> },
    /// A plan's own arithmetic: two sides, the mark between them, how strongly it binds, and how many values it shows.
    Reckoned { sides: [Side; 2], mark: &'static str, binds: u8, values: usize },
}

/// One side of a step of arithmetic.
#[derive(Clone, Debug)]
enum Side {
    Value(Value),
    Step(Arc<Working>),
}

/// Values in a reckoned working; with more of them, the step before is shown by its value.
const MOST_VALUES: usize = 6;

impl Working {
    /// The working in words and numbers, without the result: `7 200 px ÷ 24 in`.
    pub fn shown(&self, units: Units) -> String {
        let mut out = String::new();
        self.write(&mut out, units);
        out
    }

    fn write(&self, out: &mut String, units: Units) {
        match &self.how {
            How::Told { pattern, from } => {
                let mut values = from.iter();
                let mut rest: &str = pattern;
                while let Some((before, after)) = rest.split_once("{}") {
                    out.push_str(before);
                    if let Some(value) = values.next() {
                        value.push(out, units);
                    }
                    rest = after;
                }
                out.push_str(rest);
            }
            How::Reckoned { sides: [left, right], mark, binds, .. } => {
                left.write(out, units, *binds);
                out.push_str(mark);
                // Equal strength on the right needs brackets: a − (b − c).
                right.write(out, units, *binds + 1);
            }
        }
    }

    /// The values it was found from, where the trade tells it.
    pub(crate) fn from(&self) -> &[Value] {
        if let How::Told { from, .. } = &self.how { from } else { &[] }
    }

    /// Whether the trade tells this working, rather than the plan's own arithmetic.
    pub(crate) fn is_told(&self) -> bool {
        matches!(self.how, How::Told { .. })
    }

    /// One step of a plan's arithmetic. A step before it without a name is written out, in brackets where it binds less
    /// than `mark`.
    pub(crate) fn step(mark: &'static str, binds: u8, a: &Found, b: &Found) -> Arc<Self> {
        let mut sides = [Side::of(a), Side::of(b)];
        for index in [1, 0] {
            let count: usize = sides.iter().map(Side::values).sum();
            if count > MOST_VALUES
                && let Some((side, found)) = sides.get_mut(index).zip([a, b].get(index))
            {
                *side = Side::Value(found.value.clone());
            }
        }
        let values = sides.iter().map(Side::values).sum();
        Arc::new(Self { how: How::Reckoned { sides, mark, binds, values }, named: false })
    }

    /// The same once the value has a name.
    pub(crate) fn named(self: &Arc<Self>) -> Arc<Self> {
        if self.is_told() || self.named { self.clone() } else { Arc::new(Self { named: true, ..(**self).clone() }) }
    }
}

impl Side {
    fn of(found: &Found) -> Self {
        match &found.working {
            Some(working) if !working.is_told() && !working.named => Self::Step(working.clone()),
            _ => Self::Value(found.value.clone()),
        }
    }

    fn values(&self) -> usize {
        match self {
            Self::Step(working) => match working.how {
                How::Reckoned { values, .. } => values,
                How::Told { .. } => 1,
            },
            Self::Value(_) => 1,
        }
    }

    /// Writes the side, in brackets when it binds less than `least`.
    fn write(&self, out: &mut String, units: Units, least: u8) {
        match self {
            Self::Value(value) => value.push(out, units),
            Self::Step(working) if matches!(working.how, How::Reckoned { binds, .. } if binds < least) => {
                out.push('(');
                working.write(out, units);
                out.push(')');
            }
            Self::Step(working) => working.write(out, units),
        }
    }
}

/// Something the trade talks about, with named parts that can be asked for.
///
/// Implemented by the plain types of [`crate::trade`]; the script engine reads it through this one door.
pub trait Trade: fmt::Debug + Send + Sync + 'static {
    /// What a photographer calls it, with its article: `a scan`.
    fn kind(&self) -> &'static str;
    /// One line that says what it is: pieces of text and values, joined by nothing.
    fn summary(&self) -> Vec<Value>;
    /// The names of its parts, in reading order, each with one sentence for the reference.
    fn parts(&self) -> &'static [(&'static str, &'static str)];
    /// One part by name; nothing when there is none of that name.
    fn part(&self, name: &str) -> Option<Found>;
    /// The type behind it, for functions that need just this kind.
    fn as_any(&self) -> &dyn std::any::Any;
}

/// A shared [`Trade`] value.
#[derive(Clone, Debug)]
pub struct Thing(Arc<dyn Trade>);

impl Thing {
    /// Wraps something of the trade.
    pub fn new(thing: impl Trade) -> Self {
        Self(Arc::new(thing))
    }

    /// Something of the trade that others hold too.
    pub(crate) fn shared(thing: Arc<impl Trade>) -> Self {
        Self(thing)
    }

    /// The thing as its own type, when it is one.
    pub fn get<T: Trade>(&self) -> Option<&T> {
        self.0.as_any().downcast_ref()
    }
}

impl std::ops::Deref for Thing {
    type Target = dyn Trade;
    fn deref(&self) -> &Self::Target {
        &*self.0
    }
}

impl Value {
    /// The value as written in a sentence.
    pub fn shown(&self, units: Units) -> String {
        match self {
            Self::Text(text) => text.clone(),
            _ => {
                let mut out = String::new();
                self.push(&mut out, units);
                out
            }
        }
    }

    /// The same, after what is written already.
    pub(crate) fn push(&self, out: &mut String, units: Units) {
        match self {
            Self::Nothing => out.push_str("nothing"),
            Self::Truth(true) => out.push_str("yes"),
            Self::Truth(false) => out.push_str("no"),
            Self::Whole(value) => {
                if *value < 0 {
                    out.push('\u{2212}');
                }
                digits::push_whole(out, value.unsigned_abs());
            }
            Self::Quantity(quantity) => quantity.push(out, units),
            Self::Money(money) => out.push_str(&money.to_string()),
            Self::Day(day) => out.push_str(&day.to_string()),
            Self::Text(text) => out.push_str(text),
            Self::List(all) => listed(out, all, units),
            Self::Thing(thing) => thing.summary().iter().for_each(|part| part.push(out, units)),
        }
    }

    /// What a photographer calls a value of this kind: `a length`, `an amount of money`.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Truth(_) => "a yes or no",
            Self::Whole(_) => "a plain number",
            Self::Quantity(quantity) => quantity.dims.name(),
            Self::Money(_) => "an amount of money",
            Self::Day(_) => "a date",
            Self::Text(_) => "a piece of text",
            Self::List(_) => "a list",
            Self::Thing(thing) => thing.kind(),
        }
    }

    /// The number in the unit it is shown in, unrounded, and the unit's name. Text has an empty unit.
    pub fn number_and_unit(&self, units: Units) -> Option<(f64, &'static str)> {
        match self {
            #[expect(clippy::cast_precision_loss, reason = "shown numbers are far below 2^53")]
            Self::Whole(value) => Some((*value as f64, "")),
            Self::Quantity(quantity) => Some(quantity.plainly(units)),
            _ => None,
        }
    }
}

/// `63 × 29.9 in` for two or three lengths or pixels alike, `12, 36, 60 in` for those that are not size together or more than
/// three, and anything else joined by commas.
fn listed(out: &mut String, all: &[Value], units: Units) {
    let unit_of = |one: &Value| if let Value::Quantity(one) = one { one.unit(units) } else { "" };
    let unit = all.first().map_or("", unit_of);
    let alike = !unit.is_empty() && all.len() > 1 && all.iter().all(|one| unit_of(one) == unit);
    let listed = all.len() > 3 || matches!(all.first(), Some(Value::Quantity(one)) if one.listed);
    let between = if listed { ", " } else { "\u{a0}×\u{a0}" };
    for (index, one) in all.iter().enumerate() {
        match one {
            Value::Quantity(one) if alike => {
                if index > 0 {
                    out.push_str(between);
                }
                one.push_figure(out, units);
            }
            one => {
                if index > 0 {
                    out.push_str(", ");
                }
                one.push(out, units);
            }
        }
    }
    if alike {
        out.push('\u{a0}');
        out.push_str(unit);
    }
}

macro_rules! value_from {
    ($( $from:ty => $into:ident ),*) => { $( impl From<$from> for Value { fn from(value: $from) -> Self { Self::$into(value.into()) } } )* };
}
value_from!(bool => Truth, i64 => Whole, u32 => Whole, Quantity => Quantity, Money => Money, Day => Day, String => Text, &str => Text, Thing => Thing, Vec<Value> => List);

impl From<f64> for Value {
    fn from(value: f64) -> Self {
        Self::Quantity(Quantity::plain(value))
    }
}

macro_rules! value_from_kind {
    ($( $kind:ident ),*) => { $( impl From<crate::measure::$kind> for Value { fn from(value: crate::measure::$kind) -> Self { Self::Quantity(value.quantity()) } } )* };
}
value_from_kind!(
    Angle,
    Area,
    Data,
    DataRate,
    Days,
    Density,
    Exposure,
    Grammage,
    Illuminance,
    Length,
    LinePairs,
    LinearDensity,
    Mass,
    Pixels,
    Resolution,
    Time,
    Volume
);
