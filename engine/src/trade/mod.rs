//! What the trade talks about, in the order a photograph goes: film, scan, print, paper, mount, frame, wall, sale.
//!
//! Each module is one thing or one question of the trade and knows no plan and no script. The thing is a plain struct
//! with its parts named; where a part is calculated, its working stands with it. Weights, glass, lifting and hanging
//! carry a [`caution`].

use crate::measure::{Length, Quantity, Units};
use crate::{Message, Value};

/// Says what a thing of the trade is called, what its one line says, and its parts: name, meaning, value.
macro_rules! thing {
    ($type:ty, $kind:literal, |$me:ident| $summary:expr, { $( $part:ident $doc:literal => $found:expr ),* $(,)? }) => {
        impl crate::Trade for $type {
            fn kind(&self) -> &'static str {
                $kind
            }
            fn summary(&self) -> Vec<crate::Value> {
                let $me = self;
                $summary
            }
            fn parts(&self) -> &'static [(&'static str, &'static str)] {
                &[$( (stringify!($part), $doc) ),*]
            }
            fn part(&self, name: &str) -> Option<crate::Found> {
                let $me = self;
                match name {
                    $( stringify!($part) => ($found).into(), )*
                    _ => None,
                }
            }
            fn as_any(&self) -> &dyn std::any::Any {
                self
            }
        }
    };
}

pub mod caution;
pub mod spelling;

pub mod colour;
pub mod file;
pub mod film;
pub mod print;
pub mod proof_sheet;
pub mod scan;

pub mod blank;
pub mod boards;
pub mod mount;
pub mod mural;
pub mod nesting;
pub mod paper;
pub mod roles;
pub mod roll;

pub mod cutting;
pub mod frame;
pub mod mat;
pub mod moulding;
pub mod wood;

pub mod backside;
pub mod crating;
pub mod elevation;
pub mod freight;
pub mod hanging;
pub mod lifting;
pub mod light;
pub mod motion;
pub mod passage;
pub mod route;
pub mod row;
pub mod tube;

pub mod calendar_text;
pub mod certificate;
pub mod customs;
pub mod disclosure;
pub mod edition;
pub mod holidays;
pub mod practice;
pub mod price;
pub mod price_list;
pub mod schedule;
pub mod usual_items;

/// Two values that belong together, such as a width and a height.
fn pair(first: impl Into<Value>, second: impl Into<Value>) -> Value {
    Value::List(vec![first.into(), second.into()])
}

/// Lengths that stand one beside the other, such as positions, and are not size together.
fn each(all: impl IntoIterator<Item = Length>) -> Value {
    Value::List(all.into_iter().map(|one| Value::Quantity(one.quantity().among_others())).collect())
}

/// A size of film, which is spoken of in millimetres whatever the plan's units are.
fn on_film(length: Length) -> Value {
    Value::Quantity(length.quantity().shown_always(Units::Metric))
}

/// A length in inches and millimetres, for a message.
fn said(length: Length) -> String {
    format!("{} ({})", length.quantity().shown(Units::Inch), length.quantity().shown(Units::Metric))
}

/// Any quantity a thing is built from must be above zero and within reach of arithmetic.
fn above_zero(what: &str, value: impl Into<Quantity>) -> Result<(), Message> {
    let value = value.into();
    if value.value > 0.0 { in_reach(what, value) } else { Err(too_small(what, value, "above zero")) }
}

/// An allowance may be zero, but not less.
fn zero_or_more(what: &str, value: impl Into<Quantity>) -> Result<(), Message> {
    let value = value.into();
    if value.value >= 0.0 { in_reach(what, value) } else { Err(too_small(what, value, "zero or more")) }
}

fn in_reach(what: &str, value: Quantity) -> Result<(), Message> {
    if value.value == 0.0 || (1e-30..=1e30).contains(&value.value) {
        return Ok(());
    }
    Err(Message::new(format!("the {what} is far outside anything that can be made"), "check its digits and its unit"))
}

fn too_small(what: &str, value: Quantity, wanted: &str) -> Message {
    let shown = value.shown(Units::Inch);
    Message::new(format!("the {what} is {shown}"), format!("the {what} must be {wanted}"))
}

/// Whole nanometres, so that sums of sixty-fourths of an inch and of tenths of a millimetre are exact.
#[expect(clippy::cast_possible_truncation, reason = "checked to lie far inside i64")]
fn nanometres(length: Length) -> Result<i64, Message> {
    let nanometres = length.to_um() * 1e3;
    if nanometres.abs() < 1e13 {
        return Ok(nanometres.round() as i64);
    }
    Err(Message::new(
        format!("a length of {} is longer than anything cut in a shop", said(length)),
        "check its digits and its unit",
    ))
}
