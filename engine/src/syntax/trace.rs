//! An expression as it is written beside its number, with values in the place of names.

use std::borrow::Cow;

use super::tokens::{Token, tokens};
use crate::measure::{Currency, Fraction, Length, Money};

/// An expression's text and the values of the names in it: what is written beside the number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace(pub Vec<Piece>);

/// A piece of a trace.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece {
    /// Text as it is.
    Text(String),
    /// A name or a part of a thing, to be replaced by its value.
    Path(String),
}

/// A text without a mark in it, which is seldom there.
fn without(text: &str, mark: char) -> Cow<'_, str> {
    if text.contains(mark) { text.replace(mark, "").into() } else { text.into() }
}

/// A number with its groups set apart as a page does.
fn push_spaced(out: &mut String, number: &str) {
    for (nth, group) in number.split('_').enumerate() {
        out.push_str(if nth > 0 { "\u{202f}" } else { "" });
        out.push_str(group);
    }
}

/// Calls that read as a working as they stand, former names among them: a working shows what was written.
const MATHEMATICS: &[&str] = &["round", "floor", "ceiling", "ceil", "abs", "sqrt", "min", "max", "smaller", "larger"];

fn is_whole(text: &str) -> bool {
    !text.is_empty() && text.len() < 6 && text.bytes().all(|byte| byte.is_ascii_digit())
}

impl Trace {
    /// Reads an expression. Nothing when there is nothing to show: a lone literal or name, the result of a function that
    /// only the function knows, or more than a line.
    pub fn of(expression: &str) -> Option<Self> {
        let tells_more = |byte: u8| matches!(byte, b'{' | b'|' | b';' | b'\n' | b'%');
        let is_raised = || expression.as_bytes().windows(2).any(|pair| pair == b"**");
        if expression.len() > 160 || expression.bytes().any(tells_more) || is_raised() {
            return None;
        }
        let tokens = tokens(expression);
        let mut pieces: Vec<Piece> = Vec::with_capacity(tokens.len());
        let mut text = String::new();
        let (mut index, mut names, mut marks) = (0, 0, 0);
        let text_of =
            |index: usize| tokens.get(index).and_then(|(_, range)| expression.get(range.clone())).unwrap_or_default();
        let is =
            |index: usize, wanted: char| matches!(tokens.get(index), Some((Token::Mark(mark), _)) if *mark == wanted);
        while let Some((token, range)) = tokens.get(index) {
            match token {
                Token::Number => {
                    let written = expression.get(range.clone()).unwrap_or_default();
                    let digits = without(written, '_');
                    let unit = if is(index + 1, '.') { text_of(index + 2) } else { "" };
                    if let Some(unit) = super::units::Unit::of(unit) {
                        let inches = digits.parse().ok().filter(|_| unit.name == "inch");
                        match inches.and_then(|inches| Fraction::of(Length::inch(inches))) {
                            Some(fraction) => fraction.push(&mut text),
                            None => push_spaced(&mut text, written),
                        }
                        text.push_str(if unit.shown == "°" { "" } else { "\u{a0}" });
                        text.push_str(unit.shown);
                        index += 2;
                    } else if let Some(currency) = Currency::of(unit)
                        && let Ok(amount) = digits.parse()
                    {
                        text.push_str(&Money::new(amount, currency).to_string());
                        index += 2;
                    } else {
                        push_spaced(&mut text, written);
                    }
                }
                Token::Word => {
                    let from = range.start;
                    let mut last = index;
                    loop {
                        if (is(last + 1, '.') || (is(last + 1, ':') && is(last + 2, ':'))) && !is(last + 3, '(') {
                            last += if is(last + 1, '.') { 2 } else { 3 };
                        } else if is(last + 1, '[') && is(last + 3, ']') && is_whole(text_of(last + 2)) {
                            last += 3;
                        } else {
                            break;
                        }
                    }
                    let end = tokens.get(last).map_or(range.end, |(_, range)| range.end);
                    let path = without(expression.get(from..end).unwrap_or_default(), ' ');
                    if is(last + 1, '(') {
                        // What a call gave is not in its text; only the names of plain mathematics read as a working.
                        if !MATHEMATICS.contains(&&*path) {
                            return None;
                        }
                        text.push_str(&path);
                    } else if matches!(&*path, "true" | "false") {
                        text.push_str(if path == "true" { "yes" } else { "no" });
                    } else {
                        names += 1;
                        if !text.is_empty() {
                            pieces.push(Piece::Text(std::mem::take(&mut text)));
                        }
                        pieces.push(Piece::Path(path.into_owned()));
                    }
                    index = last;
                }
                Token::Text => text.push_str(expression.get(range.clone()).unwrap_or_default()),
                Token::Mark(mark) => {
                    let pair = if is(index + 1, '=') { '=' } else { ' ' };
                    let written = match (mark, pair) {
                        ('*', _) => " × ",
                        ('/', _) => " ÷ ",
                        ('+', _) => " + ",
                        ('-', _) => " − ",
                        ('>', '=') => " ≥ ",
                        ('<', '=') => " ≤ ",
                        ('=', '=') => " = ",
                        ('!', '=') => " ≠ ",
                        ('>', _) => " > ",
                        ('<', _) => " < ",
                        ('&', _) if is(index + 1, '&') => " and ",
                        ('!', _) => "not ",
                        (',', _) => ", ",
                        _ => "",
                    };
                    if written.is_empty() {
                        text.push(*mark);
                    } else {
                        marks += usize::from(!matches!(mark, ',' | '!') || pair == '=');
                        text.push_str(written);
                        index += usize::from(pair == '=' || (*mark == '&' && is(index + 1, '&')));
                    }
                }
            }
            index += 1;
        }
        if !text.is_empty() {
            pieces.push(Piece::Text(text));
        }
        (names > 0 && marks > 0).then_some(Self(pieces))
    }

    /// The expression with values in the place of names; nothing when a name has none. `value` writes the value of a
    /// name, or says that it has none.
    pub fn shown(&self, value: impl Fn(&str, &mut String) -> Option<()>) -> Option<String> {
        let mut out = String::with_capacity(32);
        for piece in &self.0 {
            match piece {
                Piece::Text(text) => out.push_str(text),
                Piece::Path(path) => value(path, &mut out)?,
            }
        }
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::Trace;

    #[test]
    fn an_expression_shows_its_values() {
        let trace = Trace::of("wide * 56.mm / film.long").expect("has names and marks");
        let shown = trace.shown(|path, out| {
            out.push_str(if path == "wide" { "63 in" } else { "118 mm" });
            Some(())
        });
        assert_eq!(shown.as_deref(), Some("63 in × 56\u{a0}mm ÷ 118 mm"));
    }

    #[test]
    fn a_lone_name_shows_nothing() {
        assert_eq!(Trace::of("piece.width"), None);
        assert_eq!(Trace::of("63.inch"), None);
    }
}
