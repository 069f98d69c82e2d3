//! Changes that touch just one literal or one mark of a text and leave every other byte as it is.

use super::reading::Document;
use crate::measure::{Currency, Length, Quantity};
use crate::record::Given;
use crate::syntax::nearest::nearest;
use crate::syntax::units::{UNITS, Unit};
use crate::{Message, Value};

/// How a given is written.
#[derive(Clone, Debug, PartialEq)]
pub enum Literal {
    /// A number, with its unit when it has one: `63.inch`, `(3/4).inch`.
    Number {
        /// The digits as a person would type them: `63`, `3/4`, `23 15/16`, `5' 11 1/2"`.
        number: String,
        /// The unit.
        unit: Option<&'static Unit>,
    },
    /// An amount: `1250.usd`.
    Money {
        /// The digits.
        number: String,
        /// The currency.
        currency: Currency,
    },
    /// `true` or `false`.
    Truth(bool),
    /// Text in quotes.
    Text(String),
    /// Anything that is calculated; it is changed in the text only.
    Calculation,
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// Reads a literal.
#[must_use]
pub fn literal(written: &str) -> Literal {
    let written = written.trim();
    if let Some(text) = written.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'))
        && !text.contains(['"', '\\', '\n'])
    {
        return Literal::Text(text.to_owned());
    }
    match written {
        "true" => return Literal::Truth(true),
        "false" => return Literal::Truth(false),
        _ => {}
    }
    let (digits, unit) = split_unit(written);
    let Some(number) = digits_of(digits) else { return Literal::Calculation };
    match unit {
        None => Literal::Number { number, unit: None },
        Some(name) => match (Unit::of(name), Currency::of(name)) {
            (Some(unit), _) => Literal::Number { number, unit: Some(unit) },
            (None, Some(currency)) => Literal::Money { number, currency },
            (None, None) => Literal::Calculation,
        },
    }
}

/// `63.5.inch` into `63.5` and `inch`.
fn split_unit(written: &str) -> (&str, Option<&str>) {
    match written.rsplit_once('.') {
        Some((digits, name))
            if name.starts_with(|c: char| c.is_ascii_alphabetic())
                && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_') =>
        {
            (digits, Some(name))
        }
        _ => (written, None),
    }
}

/// A plain number, or one in brackets written with a fraction or in feet and inches: `(3/4)`, `(23 + 15/16)`,
/// `(5 * 12 + 11 + 1/2)`.
fn digits_of(written: &str) -> Option<String> {
    if is_number(written) {
        return Some(written.replace('_', ""));
    }
    let inside = written.strip_prefix('(')?.strip_suffix(')')?.trim();
    if let Some((feet, inches)) = inside.split_once("* 12 +") {
        let (feet, inches) = (feet.trim(), inches.trim());
        let inches = if is_number(inches) { inches.to_owned() } else { digits_of(&format!("({inches})"))? };
        return is_number(feet).then(|| format!("{feet}' {inches}\""));
    }
    let (whole, fraction) = match inside.split_once('+') {
        Some((whole, fraction)) => (Some(whole.trim()), fraction.trim()),
        None => (None, inside),
    };
    let (upper, lower) = fraction.split_once('/')?;
    let digits = |text: &str| !text.trim().is_empty() && text.trim().chars().all(|c| c.is_ascii_digit());
    if !digits(upper) || !digits(lower) || whole.is_some_and(|whole| !digits(whole)) {
        return None;
    }
    Some(match whole {
        Some(whole) => format!("{whole} {}/{}", upper.trim(), lower.trim()),
        None => format!("{}/{}", upper.trim(), lower.trim()),
    })
}

fn is_number(text: &str) -> bool {
    let text = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |text: &str| {
        text.starts_with(|c: char| c.is_ascii_digit()) && text.chars().all(|c| c.is_ascii_digit() || c == '_')
    };
    digits(whole) && digits(part)
}

/// Rewrites one given to what a person entered. The rest of the text keeps every byte.
///
/// # Errors
/// When what was entered cannot be read, or the given is calculated and has no literal to rewrite.
pub fn set_given(document: &Document, given: &Given, entered: &str) -> Result<String, Message> {
    let fixed = || {
        Message::new(
            format!("`{}` is calculated, so it cannot be changed here", given.label),
            "change it in the text of the workings",
        )
    };
    let place = given.place.as_ref().ok_or_else(fixed)?;
    let written = document.text.get(place.value.clone()).ok_or_else(fixed)?;
    let entered = entered.trim();
    let new = if !given.choices.is_empty() && given.choices.len() == place.choices.len() {
        let range = entered.parse::<usize>().ok().and_then(|index| place.choices.get(index));
        let by_words = || {
            given.choices.iter().zip(&place.choices).find(|(choice, range)| {
                document.text.get((*range).clone()) == Some(entered)
                    || [document.front.units, document.front.units.other()]
                        .iter()
                        .any(|units| choice.shown(*units) == entered)
            })
        };
        let range = range.or_else(|| by_words().map(|(_, range)| range)).ok_or_else(|| {
            let all: Vec<_> = given.choices.iter().map(|one| one.shown(document.front.units)).collect();
            Message::new(
                format!("`{entered}` is not a choice of `{}`", given.label),
                format!("choose one of {}", all.join(", ")),
            )
        })?;
        document.text.get(range.clone()).unwrap_or_default().to_owned()
    } else {
        match literal(written) {
            Literal::Number { unit, .. } => {
                number(entered, unit, given).and_then(|new| from_zero(new, entered, given))?
            }
            Literal::Money { currency, .. } => {
                let plain =
                    entered.trim_start_matches(currency.sign.trim()).replace([',', ' ', '\u{a0}', '\u{202f}'], "");
                if !is_number(&plain) {
                    return Err(Message::new(
                        format!("`{entered}` is not an amount of money"),
                        "write it in digits, like 1250 or 1250.50",
                    ));
                }
                // A number of the script language keeps fifteen digits for sure. Source: IEEE 754, binary64 (from memory).
                if plain.bytes().filter(u8::is_ascii_digit).count() > 15 {
                    return Err(Message::new(
                        "an amount of so many digits is not kept to the last of them",
                        "write at most 15 digits, like 1250 or 1250.50",
                    ));
                }
                format!("{plain}.{}", currency.code.to_lowercase())
            }
            Literal::Truth(_) => match entered.to_lowercase().as_str() {
                "yes" | "true" => "true".to_owned(),
                "no" | "false" => "false".to_owned(),
                _ => return Err(Message::new(format!("`{entered}` is neither yes nor no"), "choose yes or no")),
            },
            Literal::Text(_) => {
                // Choices that are calculated, such as what a shop makes, have no literals of their own.
                let nth = entered.parse::<usize>().ok().and_then(|index| given.choices.get(index));
                let chosen = nth.map(|choice| choice.shown(document.front.units));
                let entered = chosen.as_deref().unwrap_or(entered);
                if entered.contains(['"', '\\', '\n', '\r'])
                    || entered.chars().any(char::is_control)
                    || entered.len() > 1000
                {
                    return Err(Message::new(
                        "this text holds a quote, a backslash or a line break",
                        "leave them out, or change it in the text of the workings",
                    ));
                }
                format!("\"{entered}\"")
            }
            Literal::Calculation => return Err(fixed()),
        }
    };
    let (before, after) = (
        document.text.get(..place.value.start).unwrap_or_default(),
        document.text.get(place.value.end..).unwrap_or_default(),
    );
    Ok(format!("{before}{new}{after}"))
}

/// A number as entered, written as a literal: digits, a fraction, feet and inches, and a unit of its own when it was
/// typed.
fn number(entered: &str, unit: Option<&'static Unit>, given: &Given) -> Result<String, Message> {
    let unread = || {
        Message::new(
            format!("`{entered}` is not a number"),
            "write it like 63, 63.5, 3/4, 23 15/16 or 5' 11 1/2\", with a point before decimals",
        )
    };
    let dims = match &given.value {
        Value::Quantity(quantity) => quantity.dims,
        _ => Quantity::plain(0.0).dims,
    };
    if dims == Length::DIMS
        && let Some((feet, inches)) = feet_and_inches(entered)
    {
        let literal = digits_written(feet).zip(digits_written(inches));
        let (feet, inches) = literal.filter(|(feet, _)| is_number(feet)).ok_or_else(unread)?;
        let inches = inches.trim_start_matches('(').trim_end_matches(')');
        let written = format!("({feet} * 12 + {inches}).inch");
        return if written.len() > 60 { Err(unread()) } else { Ok(written) };
    }
    let cut = entered.find(begins_unit).unwrap_or(entered.len());
    let (digits, typed) =
        (entered.get(..cut).unwrap_or_default().trim(), entered.get(cut..).unwrap_or_default().trim());
    let unit = if typed.is_empty() {
        unit
    } else {
        let typed = match typed {
            "\"" | "″" | "inches" | "ins" => "in",
            "'" | "′" | "feet" | "foot" => "ft",
            other => other,
        };
        let same = || UNITS.iter().filter(|one| one.one.dims == dims);
        let found = same().find(|one| {
            one.name.eq_ignore_ascii_case(typed) || one.shown.eq_ignore_ascii_case(typed) || one.words == typed
        });
        Some(found.ok_or_else(|| {
            let names: Vec<_> = same().map(|one| one.name).collect();
            let next = nearest(typed, names.iter().copied())
                .map_or_else(|| format!("write one of {}", names.join(", ")), |near| format!("was `{near}` meant?"));
            Message::new(format!("`{typed}` is not a unit of `{}`", given.label), next)
        })?)
    };
    let written = digits_written(digits).ok_or_else(unread)?;
    if typed.is_empty()
        && let Some(unit) = unit
        && let Some(times) = far_off(&written, unit, given)
    {
        let (length, unit) = (entered.trim(), unit.shown);
        return Err(Message::new(
            format!("{length} {unit} is {times} what stood there"),
            format!("write its unit, `{length} {unit}` or another, if that is what is meant"),
        ));
    }
    Ok(match unit {
        Some(unit) => format!("{written}.{}", unit.name),
        None => written,
    })
}

/// How far a length without a unit of its own is from the one before, when it is tenfold or more: most likely it was meant in
/// another unit than the one shown.
fn far_off(written: &str, unit: &Unit, given: &Given) -> Option<String> {
    let Value::Quantity(before) = &given.value else { return None };
    let before = unit.count(*before).filter(|before| *before > 0.0 && unit.one.dims == Length::DIMS)?;
    let digits = written.trim_matches(['(', ')']);
    let part = |text: &str| match text.split_once('/') {
        Some((upper, lower)) => Some(upper.trim().parse::<f64>().ok()? / lower.trim().parse::<f64>().ok()?),
        None => text.trim().parse::<f64>().ok(),
    };
    let after: f64 = digits.split('+').map(part).sum::<Option<f64>>().filter(|after| *after > 0.0)?;
    match after / before {
        times if times > 10.0 => Some(format!("{times:.0} times")),
        times if times < 0.1 => Some(format!("one part in {:.0} of", 1.0 / times)),
        _ => None,
    }
}

/// Refuses less than none of something, where there is no such thing.
fn from_zero(new: String, entered: &str, given: &Given) -> Result<String, Message> {
    if new.starts_with('-') && given.begins_at_zero() {
        return Err(Message::new(
            format!("`{}` cannot be {entered}: there is no less than none of it", given.label),
            "write a number from zero up",
        ));
    }
    Ok(new)
}

fn begins_unit(c: char) -> bool {
    c.is_alphabetic() || matches!(c, '°' | 'µ' | '"' | '″' | '\'' | '′' | '%')
}

/// `5' 11 1/2"` and `5 ft 3 in` into feet and inches; nothing when it is not both.
fn feet_and_inches(entered: &str) -> Option<(&str, &str)> {
    let mark = |text: &'static str| entered.find(text).map(|at| (at, at + text.len()));
    let (end, from) = ["'", "′", "feet", "foot", "ft"].into_iter().find_map(mark)?;
    let (feet, rest) = (entered.get(..end)?.trim(), entered.get(from..)?.trim());
    let marks = ["\"", "″", "inches", "inch", "in"];
    let inches = marks.into_iter().find_map(|mark| rest.strip_suffix(mark)).unwrap_or(rest).trim();
    (!inches.is_empty()).then_some((feet, inches))
}

/// Digits as a literal, a fraction of them in brackets: `23 15/16` is `(23 + 15/16)`.
fn digits_written(digits: &str) -> Option<String> {
    let digits = digits.replace(['\u{a0}', '\u{202f}'], " ").replace('\u{2212}', "-");
    let written = match digits.split_once('/') {
        None => {
            let plain = digits.replace(' ', "");
            let plain = plain.strip_suffix('.').unwrap_or(&plain).to_owned();
            let plain = if plain.starts_with('.') { format!("0{plain}") } else { plain };
            is_number(&plain).then_some(plain)?
        }
        Some((upper, lower)) => {
            let (whole, upper) = upper
                .trim()
                .rsplit_once(' ')
                .map_or((None, upper.trim()), |(whole, upper)| (Some(whole.trim()), upper));
            let whole_number =
                |text: &str| !text.is_empty() && text.len() < 10 && text.chars().all(|c| c.is_ascii_digit());
            let lower = lower.trim();
            if !whole_number(upper)
                || !whole_number(lower)
                || whole.is_some_and(|whole| !whole_number(whole))
                || lower.chars().all(|c| c == '0')
            {
                return None;
            }
            match whole {
                Some(whole) => format!("({whole} + {upper}/{lower})"),
                None => format!("({upper}/{lower})"),
            }
        }
    };
    (written.len() <= 40).then_some(written)
}

/// Ticks or clears the task-list box on a line. The rest of the text keeps every byte.
///
/// # Errors
/// When the line has no box.
pub fn set_tick(document: &Document, line: usize, done: bool) -> Result<String, Message> {
    let start = document.lines.start(line);
    let rest = document.text.get(start..).unwrap_or_default();
    let text = rest.lines().next().unwrap_or_default();
    let boxed = ["[ ]", "[x]", "[X]"].iter().filter_map(|mark| text.find(mark)).min();
    let at = boxed.filter(|_| line >= 1 && document.lines.line(start) == line).ok_or_else(|| {
        Message::new(format!("line {line} has no box to tick"), "the text may have changed: look at the page again")
    })?;
    let (before, after) =
        (document.text.get(..start + at).unwrap_or_default(), document.text.get(start + at + 3..).unwrap_or_default());
    Ok(format!("{before}[{}]{after}", if done { "x" } else { " " }))
}
