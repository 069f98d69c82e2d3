//! Errors that the text around them tells more about: what was meant, where it begins, and the line as it should stand.

use std::ops::Range;

use rhai::{EvalAltResult, ParseErrorType, Position};

use super::explained::Explained;
use crate::Message;
use crate::syntax::slips;
use crate::syntax::tokens::{Token, end_of, span, tokens};

/// A text and a place in it: line and column from 1, the column in characters.
struct Place<'a> {
    text: &'a str,
    line: usize,
    column: usize,
}

impl<'a> Place<'a> {
    fn of(text: &'a str, place: Position) -> Self {
        let last = text.lines().count().max(1);
        let end = text.lines().last().map_or(1, |line| line.chars().count() + 1);
        Self { text, line: place.line().unwrap_or(last), column: place.position().unwrap_or(end).max(1) }
    }

    fn line(&self) -> &'a str {
        self.text.lines().nth(self.line - 1).unwrap_or_default()
    }

    /// Where it is in its line, in bytes.
    fn within(&self) -> usize {
        let line = self.line();
        line.char_indices().nth(self.column - 1).map_or(line.len(), |(at, _)| at)
    }

    /// Where it is in the text, in bytes.
    fn offset(&self) -> usize {
        self.text.split_inclusive('\n').take(self.line - 1).map(str::len).sum::<usize>() + self.within()
    }

    /// The place of an offset in the text.
    fn at(&self, offset: usize) -> Self {
        let before = self.text.get(..offset).unwrap_or_default();
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        Self { text: self.text, line, column }
    }

    /// The line with something set in at this place.
    fn with(&self, more: &str) -> String {
        let (before, after) = self.line().split_at_checked(self.within()).unwrap_or((self.line(), ""));
        format!("{before}{more}{after}")
    }

    fn says(&self, what: impl Into<String>, next: impl Into<String>) -> Explained {
        Explained { line: self.line, column: self.column, message: Message::new(what, next) }
    }
}

/// Something written in the line as on paper.
fn slipped(place: &Place<'_>) -> Option<Explained> {
    let (at, message) = slips::told(place.line())?;
    let column = place.line().get(..at)?.chars().count() + 1;
    Some(Explained { line: place.line, column, message })
}

/// What was meant where a text cannot be read.
pub(super) fn unread(error: &ParseErrorType, place: Position, text: &str) -> Option<Explained> {
    use ParseErrorType as P;
    let place = Place::of(text, place);
    // What stands last before it, which may be lines above.
    let tokens = tokens(text.get(..place.offset())?);
    let before = tokens.last().map(|(_, range)| (place.at(range.end), range.clone()));
    let is_end = matches!(error, P::MissingToken(token, _) if token == ";");
    let above = before.as_ref().filter(|(above, _)| is_end && above.line < place.line);
    slipped(above.map_or(&place, |(above, _)| above)).or_else(|| unquoted(&place)).or_else(|| compared(&place)).or_else(
        || match error {
            P::MissingToken(token, _) if token == ";" => before.and_then(|(before, last)| ended(&before, &place, last)),
            P::MissingToken(token, _) if matches!(token.as_str(), ")" | "]" | "}") && !place.line().is_empty() => {
                Some(place.says(format!("a closing `{token}` is missing here"), slips::written(&place.with(token))))
            }
            _ => None,
        },
    )
}

/// A statement without its end: told where that is missing.
fn ended(before: &Place<'_>, place: &Place<'_>, last: Range<usize>) -> Option<Explained> {
    if before.line < place.line {
        return Some(before.says("a `;` is missing at the end of this statement", slips::written(&before.with(";"))));
    }
    let rest = place.line().get(place.within()..)?;
    let next = tokens(rest).first().and_then(|(_, range)| rest.get(range.clone()))?;
    let last = place.text.get(last)?;
    let what = format!("between `{last}` and `{next}` something is missing: a `;`, or a mark like `*` or `+`");
    Some(before.says(what, "end each statement with `;` and join a unit to its number with a point: `63.inch`"))
}

/// A rate sheet without the quotes around its path.
fn unquoted(place: &Place<'_>) -> Option<Explained> {
    let line = place.line().trim_start();
    let rest = line.strip_prefix("import ").filter(|rest| !rest.trim_start().starts_with(['"', '`']))?;
    let rest = rest.trim().trim_end_matches(';');
    let (path, name) = rest.split_once(" as ").unwrap_or((rest, rest.rsplit('/').next().unwrap_or(rest)));
    let path = path.trim().trim_matches(['\'', '‘', '’', '“', '”']).trim_end_matches(".md");
    let name = name.trim().replace(['-', ' '], "_");
    let at = Place { column: place.line().chars().count() - line.chars().count() + 1, ..Place { ..*place } };
    Some(at.says("the path of a rate sheet stands in quotes", format!("write `import \"{path}\" as {name};`")))
}

/// One equals sign where two values are compared.
fn compared(place: &Place<'_>) -> Option<Explained> {
    let (before, after) = place.line().split_at_checked(place.within())?;
    let is_condition = before.contains('(') || before.trim_start().starts_with(['i', 'w']);
    if !after.starts_with('=') || after.starts_with("==") || !is_condition {
        return None;
    }
    Some(place.says("`=` gives a name its value; two values are compared by `==`", slips::written(&place.with("="))))
}

/// What was meant where a calculation fails.
pub(super) fn failed(error: &EvalAltResult, place: Position, text: &str) -> Option<Explained> {
    use EvalAltResult as E;
    let place = Place::of(text, place);
    match error {
        E::ErrorVariableNotFound(name, _) => unquoted(&place).or_else(|| unnamed(&place, name)),
        E::ErrorDotExpr(..) | E::ErrorFunctionNotFound(..) => slipped(&place),
        _ => None,
    }
}

/// A name given its first value without `let`.
fn unnamed(place: &Place<'_>, name: &str) -> Option<Explained> {
    let line = place.line();
    let mark = line.trim_start().strip_prefix(name)?.trim_start().strip_prefix('=')?;
    if mark.starts_with('=') {
        return None;
    }
    let what = format!("`{name}` is given its first value here without `let`");
    Some(place.says(what, slips::written(&format!("let {}", line.trim_start()))))
}

/// The call of a function at a place of a text, with the values at two places of it changed over: `enlarge(scan, 60.inch)`.
pub(super) fn changed_over(
    text: &str,
    place: Position,
    name: &str,
    count: usize,
    (one, other): (usize, usize),
) -> Option<String> {
    let at = Place::of(text, place).offset();
    let rest = text.get(at..)?;
    let tokens = tokens(rest);
    if !matches!(tokens.get(1), Some((Token::Mark('('), _))) {
        return None;
    }
    let (mut given, mut from) = (Vec::new(), 2);
    loop {
        let end = end_of(&tokens, from, &[',', ')']);
        given.extend(span(&tokens, from, end).and_then(|range| rest.get(range)));
        if !matches!(tokens.get(end), Some((Token::Mark(','), _))) {
            break;
        }
        from = end + 1;
    }
    if given.len() != count || !rest.starts_with(name) {
        return None;
    }
    given.swap(one, other);
    Some(format!("{name}({})", given.join(", ")))
}
