//! What a function of the trade is called with, read with an error that names the place and the way out.

use crate::measure::{
    Angle, Area, Data, DataRate, Days, Density, Dims, Grammage, Illuminance, Length, LinearDensity, Mass, Money,
    Pixels, Quantity, Resolution, Time,
};
use crate::{Found, Message, Thing, Trade, Value};

/// One function a plan can call, as its author reads about it.
#[derive(Debug)]
pub struct Function {
    /// Its name in a plan.
    pub name: &'static str,
    /// What it takes, each with its kind; what may be left out stands last, in brackets: `film, resolution, [optical]`.
    pub takes: &'static str,
    /// What it gives and by which rule, with units, defaults and source. One or more sentences.
    pub about: &'static str,
    /// A call that works, and is tested.
    pub example: &'static str,
    /// The function itself.
    pub call: fn(&Args<'_>) -> Result<Found, Message>,
}

impl Function {
    /// How few and how many arguments it takes: everything inside square brackets may be left out, also several
    /// arguments in one pair of them, `width, [gap, margin]`.
    ///
    /// ```
    /// let roll = engine::script::bindings::all().find(|one| one.name == "roll").unwrap();
    /// assert_eq!(roll.arity(), (1, 4));
    /// ```
    pub fn arity(&self) -> (usize, usize) {
        let (mut depth, mut fewest, mut most) = (0_usize, 0, 0);
        for one in self.takes.split(',').filter(|one| !one.trim().is_empty()) {
            let opened = depth + one.matches('[').count();
            most += 1;
            fewest += usize::from(opened == 0);
            depth = opened.saturating_sub(one.matches(']').count());
        }
        (fewest, most)
    }
}

/// The arguments of one call.
#[derive(Debug)]
pub struct Args<'a> {
    /// The function called, for messages.
    pub function: &'static str,
    /// The values, in order.
    pub values: &'a [Value],
}

macro_rules! of_kind {
    ($( $method:ident $kind:ident $example:literal ),* $(,)?) => { $(
        #[doc = concat!("The argument at `place` (counted from zero), called `name`, as ", $example, ".")]
        ///
        /// # Errors
        /// When it is missing or of another kind.
        pub fn $method(&self, place: usize, name: &str) -> Result<$kind, Message> {
            match self.values.get(place) {
                Some(Value::Quantity(quantity)) => $kind::of(*quantity).filter(|one| in_reach(one.quantity().value)),
                _ => None,
            }.ok_or_else(|| self.wrong(place, name, $kind::DIMS.name(), $example))
        }
    )* };
}

impl Args<'_> {
    of_kind! {
        length Length "24.inch", area Area "12.ft2", mass Mass "18.lb", grammage Grammage "255.gsm",
        density Density "700.kg_m3", linear_density LinearDensity "0.5.lb_ft", pixels Pixels "7200.px",
        resolution Resolution "4000.ppi", data Data "933.mb", data_rate DataRate "20.mbit_s", time Time "8.hours",
        days Days "3.days", angle Angle "30.deg", illuminance Illuminance "200.lux",
    }

    /// A length above zero.
    ///
    /// # Errors
    /// When it is missing, no length, zero or less.
    pub fn size(&self, place: usize, name: &str) -> Result<Length, Message> {
        let length = self.length(place, name)?;
        if length.is_positive() {
            return Ok(length);
        }
        let shown = |length: Length| Value::from(length).shown(crate::measure::Units::Inch);
        let what =
            format!("`{}` needs a length above zero as its {name}, and here stands `{}`", self.function, shown(length));
        let next = match length.quantity().value {
            0.0 => "write it like `24.inch`".to_owned(),
            _ => "take the minus sign away".to_owned(),
        };
        Err(Message::new(what, next))
    }

    /// A plain number.
    ///
    /// # Errors
    /// When it is missing or has a unit.
    pub fn number(&self, place: usize, name: &str) -> Result<f64, Message> {
        match self.values.get(place) {
            #[expect(clippy::cast_precision_loss, reason = "numbers above 2^53 have no meaning in a plan")]
            Some(Value::Whole(value)) => Ok(*value as f64),
            Some(Value::Quantity(Quantity { value, dims: Dims::NONE, .. })) if in_reach(*value) => Ok(*value),
            _ => Err(self.wrong(place, name, "a plain number", "4")),
        }
    }

    /// A plain number from zero to one, as a share: `0.4` is 40 percent.
    ///
    /// # Errors
    /// When it is missing, has a unit, or lies outside zero to one.
    pub fn share(&self, place: usize, name: &str) -> Result<f64, Message> {
        let share = self.number(place, name)?;
        if (0.0..=1.0).contains(&share) {
            Ok(share)
        } else {
            Err(self.wrong(place, name, "a share from 0 to 1", "0.4"))
        }
    }

    /// A whole number from zero to a million.
    ///
    /// # Errors
    /// When it is missing, broken or out of range.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked to lie in 0..=1e6 and be whole"
    )]
    pub fn count(&self, place: usize, name: &str) -> Result<u32, Message> {
        let number = self.number(place, name)?;
        let near = number.round();
        if (0.0..=1e6).contains(&near) && (number - near).abs() < 1e-9 {
            Ok(near as u32)
        } else {
            Err(self.wrong(place, name, "a whole number up to a million", "12"))
        }
    }

    /// An amount of money.
    ///
    /// # Errors
    /// When it is missing or no money.
    pub fn money(&self, place: usize, name: &str) -> Result<Money, Message> {
        match self.values.get(place) {
            Some(Value::Money(money)) => Ok(*money),
            _ => Err(self.wrong(place, name, "an amount of money", "1250.usd")),
        }
    }

    /// A piece of text.
    ///
    /// # Errors
    /// When it is missing or no text.
    pub fn text(&self, place: usize, name: &str) -> Result<&str, Message> {
        match self.values.get(place) {
            Some(Value::Text(text)) => Ok(text),
            _ => Err(self.wrong(place, name, "a piece of text in quotes", "\"6x17\"")),
        }
    }

    /// Something of the trade, of just this kind; `wanted` says which, with a call that makes one.
    ///
    /// # Errors
    /// When it is missing or something else.
    pub fn thing<T: Trade>(&self, place: usize, name: &str, wanted: &str, example: &str) -> Result<&T, Message> {
        self.is::<T>(place).ok_or_else(|| self.wrong(place, name, wanted, example))
    }

    /// The argument at `place` when it is this kind of thing.
    pub fn is<T: Trade>(&self, place: usize) -> Option<&T> {
        match self.values.get(place) {
            Some(Value::Thing(thing)) => thing.get(),
            _ => None,
        }
    }

    /// The things in a list argument.
    ///
    /// # Errors
    /// When it is missing or no list of things.
    pub fn things(&self, place: usize, name: &str, wanted: &str, example: &str) -> Result<Vec<&Thing>, Message> {
        let all: Option<Vec<_>> = match self.values.get(place) {
            Some(Value::List(all)) => {
                all.iter().map(|one| if let Value::Thing(thing) = one { Some(thing) } else { None }).collect()
            }
            Some(Value::Thing(thing)) => Some(vec![thing]),
            _ => None,
        };
        all.ok_or_else(|| self.wrong(place, name, wanted, example))
    }

    /// Width and height, from a list of two lengths: `piece.size` or `[24.inch, 36.inch]`.
    ///
    /// # Errors
    /// When it is not a list of two lengths above zero.
    pub fn width_and_height(&self, place: usize, name: &str) -> Result<(Length, Length), Message> {
        let wrong = || self.wrong(place, name, "a width and a height", "[63.inch, 24.inch]");
        let Some(Value::List(all)) = self.values.get(place) else { return Err(wrong()) };
        match all.as_slice() {
            [Value::Quantity(width), Value::Quantity(height)] => match (Length::of(*width), Length::of(*height)) {
                (Some(width), Some(height))
                    if [width, height].iter().all(|one| one.is_positive() && in_reach(one.quantity().value)) =>
                {
                    Ok((width, height))
                }
                _ => Err(wrong()),
            },
            _ => Err(wrong()),
        }
    }

    /// Whether an argument was given at that place.
    pub fn has(&self, place: usize) -> bool {
        self.values.len() > place
    }

    /// The message with the argument at `place`: what was wanted, what stands there, and how to write it.
    pub fn wrong(&self, place: usize, name: &str, wanted: &str, example: &str) -> Message {
        let what = match self.values.get(place) {
            None => format!("`{}` needs its {name}, {wanted}", self.function),
            Some(Value::Quantity(quantity)) if !in_reach(quantity.value) => {
                format!("the {name} that `{}` is given is far outside anything that can be made", self.function)
            }
            Some(value) => {
                let shown: String = value.shown(crate::measure::Units::Inch).chars().take(60).collect();
                format!("`{}` needs {wanted} as its {name}, and `{shown}` is {}", self.function, value.kind())
            }
        };
        Message::new(what, format!("write it like `{example}`"))
    }
}

/// Whether arithmetic on a number stays within what a computer can hold: zero, or from 10⁻³⁰ to 10³⁰ base units.
fn in_reach(value: f64) -> bool {
    value == 0.0 || (1e-30..=1e30).contains(&value.abs())
}
