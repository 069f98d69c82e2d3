//! The words, numbers, texts and marks a script is made of.

use std::ops::Range;

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Token {
    Word,
    Number,
    Text,
    Mark(char),
}

/// Words, numbers, texts and marks of a script, without comments and spaces.
pub(crate) fn tokens(text: &str) -> Vec<(Token, Range<usize>)> {
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

/// The index of the first of `ends` outside brackets, from `from` on.
pub(crate) fn end_of(tokens: &[(Token, Range<usize>)], from: usize, ends: &[char]) -> usize {
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

pub(crate) fn span(tokens: &[(Token, Range<usize>)], from: usize, end: usize) -> Option<Range<usize>> {
    if from >= end {
        return None;
    }
    Some(tokens.get(from)?.1.start..tokens.get(end - 1)?.1.end)
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

/// The functions a text defines, as they are called: `priced(wide, high)`.
pub(crate) fn functions(text: &str) -> Vec<&str> {
    let tokens = tokens(text);
    let starts = tokens
        .iter()
        .enumerate()
        .filter(|(_, (token, at))| *token == Token::Word && text.get(at.clone()) == Some("fn"));
    let whole = |(index, _)| span(&tokens, index + 1, end_of(&tokens, index + 3, &[')']) + 1);
    starts.filter_map(whole).filter_map(|range| text.get(range)).collect()
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
