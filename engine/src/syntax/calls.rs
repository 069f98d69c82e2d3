//! The statements of workings by place, and the right-hand sides of their names: read from the text for what is shown beside a
//! number and for what is changed on a page.

use std::ops::Range;
use std::sync::{Arc, OnceLock};

use super::tokens::{Token, end_of, span, tokens};
use super::trace::Trace;

/// The statements whose text is looked at.
const STATED: &[&str] = &["cost", "given", "must", "should", "step", "finished", "quoted", "invoiced", "snag"];

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

impl Calls {
    /// The text they were found in.
    pub(crate) fn whole(&self) -> &str {
        &self.whole
    }

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

#[cfg(test)]
mod tests {
    use super::{Calls, elements};

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
}
