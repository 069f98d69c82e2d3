//! The text of workings, read for what is shown beside a number: givens, conditions, and right-hand sides with values.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::{Arc, OnceLock};

use crate::measure::{Currency, Fraction, Length, Money};

/// The statements whose text is looked at.
const STATED: &[&str] = &["given", "must", "should", "step", "finished", "quoted", "invoiced", "snag"];

/// A call of a statement found in a block's text.
#[derive(Clone, Debug)]
pub struct Call {
    /// What is called.
    pub function: String,
    /// Line and column of the called name, both from 1.
    pub place: (usize, usize),
    /// The whole statement, from its first word to past its semicolon.
    pub statement: Range<usize>,
    /// The name the result is bound to, for `let name = given(...)`.
    pub name: Option<String>,
    /// The text of each argument.
    pub arguments: Vec<Range<usize>>,
    /// The first argument with its names, when it is a condition.
    condition: Option<Later>,
}

/// A piece of the text that is read as a trace the first time that is asked for.
#[derive(Clone, Debug)]
struct Later {
    range: Range<usize>,
    read: OnceLock<Option<Arc<Trace>>>,
}

impl Later {
    fn at(range: Range<usize>) -> Self {
        Self { range, read: OnceLock::new() }
    }

    fn trace(&self, whole: &str) -> Option<&Arc<Trace>> {
        self.read.get_or_init(|| whole.get(self.range.clone()).and_then(Trace::of).map(Arc::new)).as_ref()
    }
}

/// A name set by `let` or `const` outside braces.
#[derive(Clone, Debug)]
pub struct Let {
    /// The name.
    pub name: Arc<str>,
    /// Where it stands in the block.
    pub at: usize,
    /// Where its whole right-hand side stands.
    pub whole: Option<Range<usize>>,
    /// Its right-hand side, where it is set once and never changed.
    right: Option<Later>,
}

/// The statements of a block by place, and the right-hand sides of its names.
#[derive(Debug, Default)]
pub struct Calls {
    whole: String,
    calls: Vec<Call>,
    /// Names set by `let` or `const` outside braces.
    pub lets: Vec<Let>,
    /// The same in the order of their names, as indices.
    by_name: Vec<usize>,
}

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

#[derive(Clone, Copy, Debug, PartialEq)]
enum Token {
    Word,
    Number,
    Text,
    Mark(char),
}

/// Calls that read as a working as they stand.
const MATHEMATICS: &[&str] = &["round", "floor", "ceiling", "ceil", "abs", "sqrt", "min", "max", "smaller", "larger"];

fn is_whole(text: &str) -> bool {
    !text.is_empty() && text.len() < 6 && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// Words, numbers, texts and marks of a script, without comments and spaces.
fn tokens(text: &str) -> Vec<(Token, Range<usize>)> {
    let bytes = text.as_bytes();
    let byte = |at: usize| bytes.get(at).copied().unwrap_or(0);
    let mut out = Vec::with_capacity(text.len() / 3);
    let mut at = 0;
    while at < bytes.len() {
        let start = at;
        match byte(at) {
            b'/' if byte(at + 1) == b'/' => {
                while at < bytes.len() && byte(at) != b'\n' {
                    at += 1;
                }
            }
            b'/' if byte(at + 1) == b'*' => {
                at = text.get(at + 2..).and_then(|rest| rest.find("*/")).map_or(bytes.len(), |end| at + 2 + end + 2);
            }
            quote @ (b'"' | b'`') => {
                at += 1;
                while at < bytes.len() && byte(at) != quote {
                    at += if byte(at) == b'\\' { 2 } else { 1 };
                }
                at = (at + 1).min(bytes.len());
                out.push((Token::Text, start..at));
            }
            b'0'..=b'9' => {
                while byte(at).is_ascii_alphanumeric() || byte(at) == b'_' {
                    at += 1;
                }
                if byte(at) == b'.' && byte(at + 1).is_ascii_digit() {
                    at += 1;
                    while byte(at).is_ascii_alphanumeric() || byte(at) == b'_' {
                        at += 1;
                    }
                }
                out.push((Token::Number, start..at));
            }
            c if c.is_ascii_alphabetic() || c == b'_' => {
                while byte(at).is_ascii_alphanumeric() || byte(at) == b'_' {
                    at += 1;
                }
                out.push((Token::Word, start..at));
            }
            c if c.is_ascii_whitespace() => at += 1,
            _ => {
                let mark = text.get(at..).and_then(|rest| rest.chars().next()).unwrap_or(' ');
                at += mark.len_utf8();
                out.push((Token::Mark(mark), start..at));
            }
        }
    }
    out
}

impl Calls {
    /// Finds the statements in a block's text.
    pub fn of(text: &str) -> Self {
        let tokens = tokens(text);
        let word = |index: usize| match tokens.get(index) {
            Some((Token::Word, range)) => text.get(range.clone()),
            _ => None,
        };
        let mark =
            |index: usize, wanted: char| matches!(tokens.get(index), Some((Token::Mark(mark), _)) if *mark == wanted);
        let mut out = Self { whole: text.to_owned(), ..Self::default() };
        let mut depth = 0_i32;
        let mut changed: Vec<&str> = Vec::new();
        let mut places = Places { text, at: 0, line: 1, start: 0 };
        for (index, (token, range)) in tokens.iter().enumerate() {
            match token {
                Token::Mark('{') => depth += 1,
                Token::Mark('}') => depth -= 1,
                Token::Word if depth == 0 && matches!(text.get(range.clone()), Some("let" | "const")) => {
                    let Some(name) = word(index + 1) else { continue };
                    let at = tokens.get(index + 1).map_or(range.start, |(_, range)| range.start);
                    let (mut whole, mut right) = (None, None);
                    if mark(index + 2, '=') {
                        let end = end_of(&tokens, index + 3, &[';']);
                        whole = span(&tokens, index + 3, end);
                        // What a line of cost gives is its amount.
                        let (from, end) = if word(index + 3) == Some("cost") && mark(index + 4, '(') {
                            let from = end_of(&tokens, index + 5, &[',']) + 1;
                            (from, end_of(&tokens, from, &[',', ')']))
                        } else {
                            (index + 3, end)
                        };
                        right = Some(Later::at(span(&tokens, from, end).unwrap_or_default()));
                    }
                    out.lets.push(Let { name: name.into(), at, whole, right });
                }
                Token::Word if changes(&tokens, index) => changed.extend(text.get(range.clone())),
                Token::Word
                    if mark(index + 1, '(') && text.get(range.clone()).is_some_and(|word| STATED.contains(&word)) =>
                {
                    let mut arguments = Vec::new();
                    let mut from = index + 2;
                    loop {
                        let end = end_of(&tokens, from, &[',', ')']);
                        arguments.extend(span(&tokens, from, end));
                        if !mark(end, ',') {
                            break;
                        }
                        from = end + 1;
                    }
                    let bound = index >= 3 && mark(index - 1, '=') && matches!(word(index - 3), Some("let" | "const"));
                    let is_rule = text.get(range.clone()) != Some("given");
                    let first = (0..index).rev().find(|one| [';', '{', '}'].iter().any(|end| mark(*one, *end)));
                    let from = tokens.get(first.map_or(0, |one| one + 1)).map_or(range.start, |(_, range)| range.start);
                    let past = end_of(&tokens, index, &[';', '}']);
                    let to = match tokens.get(past) {
                        Some((Token::Mark(';'), range)) => range.end,
                        _ => tokens.get(past.saturating_sub(1)).map_or(range.end, |(_, range)| range.end),
                    };
                    out.calls.push(Call {
                        function: text.get(range.clone()).unwrap_or_default().to_owned(),
                        statement: from..to,
                        place: places.of(range.start),
                        name: if bound { word(index - 2).map(str::to_owned) } else { None },
                        condition: arguments.first().filter(|_| is_rule).cloned().map(Later::at),
                        arguments,
                    });
                }
                _ => {}
            }
        }
        out.sort(&changed);
        out
    }

    /// Puts the names in order, and leaves the right-hand side of each with its last `let`, or with none where it is
    /// changed afterwards.
    fn sort(&mut self, changed: &[&str]) {
        let lets = &self.lets;
        let name = |index: usize| lets.get(index).map(|one| &*one.name);
        let mut by_name: Vec<usize> = (0..lets.len()).collect();
        by_name.sort_by_key(|index| name(*index));
        for pair in 1..by_name.len() {
            let (Some(&before), Some(&this)) = (by_name.get(pair - 1), by_name.get(pair)) else { continue };
            if self.lets.get(before).map(|one| &one.name) == self.lets.get(this).map(|one| &one.name) {
                let right = self.lets.get_mut(before).and_then(|one| one.right.take());
                if let Some(last) = self.lets.get_mut(this)
                    && last.right.is_none()
                {
                    last.right = right;
                }
            }
        }
        self.by_name = by_name;
        for name in changed {
            if let Some(index) = self.find(name)
                && let Some(one) = self.lets.get_mut(index)
            {
                one.right = None;
            }
        }
    }

    /// The last `let` of a name, as an index into `lets`.
    pub(crate) fn find(&self, name: &str) -> Option<usize> {
        let not_after = |index: &usize| self.lets.get(*index).is_some_and(|one| &*one.name <= name);
        let index = *self.by_name.get(self.by_name.partition_point(not_after).checked_sub(1)?)?;
        self.lets.get(index).is_some_and(|one| &*one.name == name).then_some(index)
    }

    /// Whether a `let` has a right-hand side that may be shown.
    pub(crate) fn has_right(&self, index: usize) -> bool {
        self.lets.get(index).is_some_and(|one| one.right.is_some())
    }

    /// The right-hand side of a `let`, where there is something to show.
    pub(crate) fn right(&self, index: usize) -> Option<&Arc<Trace>> {
        self.lets.get(index)?.right.as_ref()?.trace(&self.whole)
    }

    /// The condition of a call, where there is something to show.
    pub(crate) fn condition<'a>(&self, call: &'a Call) -> Option<&'a Arc<Trace>> {
        call.condition.as_ref()?.trace(&self.whole)
    }

    /// The text of a range of the block.
    pub fn text(&self, range: &Range<usize>) -> Option<String> {
        self.whole.get(range.clone()).map(str::to_owned)
    }

    /// The elements of the list written in a range of the block.
    pub fn elements(&self, range: &Range<usize>) -> Vec<Range<usize>> {
        elements(&self.whole, range)
    }

    /// Every call found, in order.
    pub fn all(&self) -> &[Call] {
        &self.calls
    }

    /// The call at a place.
    pub fn at(&self, line: usize, column: usize) -> Option<&Call> {
        self.calls.iter().find(|call| call.place == (line, column))
    }
}

/// Whether the name at `index` is changed there, as in `n = 2`, `n += 2`, `n[0] = 2` or `n.push(2)`, after it was set.
fn changes(tokens: &[(Token, Range<usize>)], index: usize) -> bool {
    let mark = |index: usize| match tokens.get(index) {
        Some((Token::Mark(mark), _)) => *mark,
        _ => ' ',
    };
    let is_set = index >= 1 && matches!(tokens.get(index - 1), Some((Token::Word, _)));
    if is_set || (index >= 1 && mark(index - 1) == '.') {
        return false;
    }
    let mut next = index + 1;
    let mut within = false;
    loop {
        match mark(next) {
            '[' => next = end_of(tokens, next + 1, &[']']) + 1,
            '.' if mark(next + 2) == '(' => return !within,
            '.' => next += 2,
            _ => break,
        }
        within = true;
    }
    match mark(next) {
        '=' => mark(next + 1) != '=',
        '+' | '-' | '*' | '%' => mark(next + 1) == '=',
        _ => false,
    }
}

/// The elements of a list written `[a, b, c]` in `range` of the text.
fn elements(text: &str, range: &Range<usize>) -> Vec<Range<usize>> {
    let Some(inside) = text.get(range.clone()) else { return Vec::new() };
    let tokens = tokens(inside);
    if !matches!(tokens.first(), Some((Token::Mark('['), _))) {
        return Vec::new();
    }
    let mut out = Vec::new();
    let mut from = 1;
    loop {
        let end = end_of(&tokens, from, &[',', ']']);
        out.extend(span(&tokens, from, end).map(|one| one.start + range.start..one.end + range.start));
        if !matches!(tokens.get(end), Some((Token::Mark(','), _))) {
            return out;
        }
        from = end + 1;
    }
}

/// The numbers written in an expression, each with its unit.
pub(crate) fn literals(text: &str) -> Vec<Range<usize>> {
    let tokens = tokens(text);
    let mut out = Vec::new();
    for (index, (token, range)) in tokens.iter().enumerate() {
        if *token != Token::Number {
            continue;
        }
        let unit = match (tokens.get(index + 1), tokens.get(index + 2)) {
            (Some((Token::Mark('.'), _)), Some((Token::Word, word))) => word.end,
            _ => range.end,
        };
        out.push(range.start..unit);
    }
    out
}

/// The functions a text defines that take one value.
pub(crate) fn functions_of_one(text: &str) -> Vec<String> {
    let tokens = tokens(text);
    let is = |index: usize, wanted: char| matches!(tokens.get(index), Some((Token::Mark(mark), _)) if *mark == wanted);
    let word = |index: usize| match tokens.get(index) {
        Some((Token::Word, range)) => text.get(range.clone()),
        _ => None,
    };
    let starts = (0..tokens.len()).filter(|index| word(*index) == Some("fn"));
    let one = starts.filter(|at| is(at + 2, '(') && word(at + 3).is_some() && is(at + 4, ')'));
    one.filter_map(|at| word(at + 1).map(str::to_owned)).collect()
}

/// The index of the first of `ends` outside brackets, from `from` on.
fn end_of(tokens: &[(Token, Range<usize>)], from: usize, ends: &[char]) -> usize {
    let mut depth = 0;
    for (index, (token, _)) in tokens.iter().enumerate().skip(from) {
        if let Token::Mark(mark) = token {
            if depth == 0 && ends.contains(mark) {
                return index;
            }
            match mark {
                '(' | '[' | '{' => depth += 1,
                ')' | ']' | '}' => depth -= 1,
                _ => {}
            }
        }
    }
    tokens.len()
}

fn span(tokens: &[(Token, Range<usize>)], from: usize, end: usize) -> Option<Range<usize>> {
    if from >= end {
        return None;
    }
    Some(tokens.get(from)?.1.start..tokens.get(end - 1)?.1.end)
}

/// Lines and columns of places that come one after another, from 1, the column in characters.
struct Places<'a> {
    text: &'a str,
    at: usize,
    line: usize,
    start: usize,
}

impl Places<'_> {
    fn of(&mut self, at: usize) -> (usize, usize) {
        for (index, byte) in self.text.bytes().enumerate().take(at).skip(self.at) {
            if byte == b'\n' {
                self.line += 1;
                self.start = index + 1;
            }
        }
        self.at = self.at.max(at);
        (self.line, self.text.get(self.start..at).unwrap_or_default().chars().count() + 1)
    }
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
    use super::{Calls, Trace, elements};

    #[test]
    fn a_given_is_found_with_its_name_literal_and_choices() {
        let text = "let a = 1; // given(\nlet wide = given(\"Print, width\", 63.inch, [63.inch, 72.inch]);";
        let calls = Calls::of(text);
        let call = calls.at(2, 12).expect("the given on line 2");
        assert_eq!(call.name.as_deref(), Some("wide"));
        let shown: Vec<_> = call.arguments.iter().map(|range| &text[range.clone()]).collect();
        assert_eq!(shown, ["\"Print, width\"", "63.inch", "[63.inch, 72.inch]"]);
        let choices: Vec<_> = elements(text, &call.arguments[2]).into_iter().map(|range| &text[range]).collect();
        assert_eq!(choices, ["63.inch", "72.inch"]);
    }

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
