//! Numbers written as on paper, which workings write another way: `$250`, `60"`, `5'11"`, `63,5.inch`, `23 15/16.inch`, `24.in`.
//! Each with what was meant, and the line as it should stand.

use std::ops::Range;

use super::plain_words;
use super::units::Unit;
use crate::Message;
use crate::measure::Currency;

/// Something written another way than workings write it.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Slip {
    /// What it is meant as, like `a length in inches`.
    kind: &'static str,
    /// Where it stands in its line, in bytes.
    pub(crate) at: Range<usize>,
    /// How workings write it.
    good: String,
}

/// The first such place of a line, and what to say of it, with the whole line as it should stand.
pub(crate) fn told(line: &str) -> Option<(usize, Message)> {
    let all = all(line);
    let first = all.first()?;
    let bad = line.get(first.at.clone())?;
    let mut whole = line.to_owned();
    for slip in all.iter().rev() {
        whole.replace_range(slip.at.clone(), &slip.good);
    }
    let what = format!("{} is written `{}`, and here stands `{bad}`", first.kind, first.good);
    Some((first.at.start, Message::new(what, written(&whole))))
}

/// The advice to write a line so.
pub(crate) fn written(line: &str) -> String {
    format!("write `{}`", line.trim())
}

/// Every such place of a line, from left to right.
pub(crate) fn all(line: &str) -> Vec<Slip> {
    let mut out = Vec::new();
    let (mut at, mut before) = (0, ' ');
    while let Some(rest) = line.get(at..).filter(|rest| !rest.is_empty()) {
        let next = rest.chars().next().unwrap_or(' ');
        if rest.starts_with("//") {
            break;
        }
        let is_apart = !before.is_alphanumeric() && !matches!(before, '_' | '.');
        let slip = if is_apart { slip(rest) } else { None };
        if let Some((kind, length, good)) = slip {
            out.push(Slip { kind, at: at..at + length, good });
            at += length;
            before = '0';
            continue;
        }
        // A text is passed over, with what it holds; and so is a number, or a word that holds digits.
        let length = match next {
            '"' | '`' => rest.get(1..).and_then(|rest| rest.find(next)).map_or(rest.len(), |end| end + 2),
            _ => next.len_utf8(),
        };
        before = next;
        at += length;
    }
    out
}

/// What is meant by the beginning of a text, how long it is, and how it is written.
fn slip(text: &str) -> Option<(&'static str, usize, String)> {
    let first = text.chars().next()?;
    if let Some(code) = code(first) {
        let rest = text.get(first.len_utf8()..)?;
        let blank = rest.len() - rest.trim_start_matches(' ').len();
        let (number, length) = number(rest.get(blank..)?)?;
        return Some((MONEY, first.len_utf8() + blank + length, format!("{number}.{code}")));
    }
    if first == '“' {
        let rest = text.get(first.len_utf8()..)?;
        let end = rest.find(['”', '“', '"'])?;
        let close = rest.get(end..)?.chars().next()?;
        let inside = rest.get(..end)?;
        return Some(("a text", first.len_utf8() + end + close.len_utf8(), format!("\"{inside}\"")));
    }
    if !first.is_ascii_digit() {
        return None;
    }
    let (digits, length) = number(text)?;
    let comma = text.get(..length)?.contains(',');
    let rest = text.get(length..)?;
    fraction(&digits, length, rest)
        .or_else(|| feet(&digits, length, rest))
        .or_else(|| behind(&digits, length, rest))
        .or_else(|| {
            let unit = unit_behind(rest)?;
            comma.then(|| ("a number", length + unit.1, format!("{digits}.{}", unit.0)))
        })
}

const MONEY: &str = "an amount of money";
const INCHES: &str = "a length in inches";

fn code(sign: char) -> Option<&'static str> {
    Some(match sign {
        '$' => "usd",
        '€' => "eur",
        '£' => "gbp",
        '¥' => "jpy",
        _ => return None,
    })
}

/// A number at the beginning, without its thousands' commas and with a point for a decimal comma; and how long it is.
fn number(text: &str) -> Option<(String, usize)> {
    let digits = |from: usize| {
        text.get(from..).map_or(0, |rest| rest.bytes().take_while(|b| b.is_ascii_digit() || *b == b'_').count())
    };
    let is = |at: usize, wanted: u8| text.as_bytes().get(at) == Some(&wanted);
    let mut end = digits(0);
    if end == 0 {
        return None;
    }
    let mut out = text.get(..end)?.to_owned();
    let mut groups = 0;
    // `1.250,50`, where the point sets thousands apart.
    if end <= 3 && is(end, b'.') && digits(end + 1) == 3 && is(end + 4, b',') && digits(end + 5) > 0 {
        let cents = digits(end + 5);
        let (thousands, cents) = (text.get(end + 1..end + 4)?, text.get(end + 5..end + 5 + cents)?);
        return Some((format!("{out}{thousands}.{cents}"), end + 5 + cents.len()));
    }
    while is(end, b',') && end - groups <= 3 + groups * 4 && digits(end + 1) == 3 {
        out.push_str(text.get(end + 1..end + 4)?);
        end += 4;
        groups += 1;
    }
    let count = digits(end + 1);
    if count > 0 && (is(end, b'.') || (groups == 0 && is(end, b',') && count != 3)) {
        out.push('.');
        out.push_str(text.get(end + 1..end + 1 + count)?);
        end += 1 + count;
    }
    Some((out, end))
}

/// `23 15/16`, with or without its unit.
fn fraction(whole: &str, length: usize, rest: &str) -> Option<(&'static str, usize, String)> {
    let after = rest.strip_prefix([' ', '-'])?;
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let above = digits(after);
    let below = after.get(above..)?.strip_prefix('/')?;
    let under = digits(below);
    if above == 0 || under == 0 {
        return None;
    }
    let (over, under_text) = (after.get(..above)?, below.get(..under)?);
    let past = length + 1 + above + 1 + under;
    let (unit, more) =
        below.get(under..).and_then(|rest| inch_mark(rest).or_else(|| unit_behind(rest))).unwrap_or_default();
    let unit = if unit.is_empty() { String::new() } else { format!(".{unit}") };
    Some(("a number with a fraction", past + more, format!("({whole} + {over}/{under_text}){unit}")))
}

/// `5'11"` and `5'`.
fn feet(whole: &str, length: usize, rest: &str) -> Option<(&'static str, usize, String)> {
    let after = rest.strip_prefix(['\'', '′', '’'])?;
    let mark = rest.len() - after.len();
    let blank = after.len() - after.trim_start_matches([' ', '-']).len();
    if let Some((inches, long)) = after.get(blank..).and_then(number) {
        let close = after.get(blank + long..).and_then(inch_mark).map_or(0, |(_, close)| close);
        let whole = format!("({whole}.ft + {inches}.inch)");
        return Some(("a length in feet and inches", length + mark + blank + long + close, whole));
    }
    Some(("a length in feet", length + mark, format!("{whole}.ft")))
}

/// An inch mark, and how long it is.
fn inch_mark(rest: &str) -> Option<(String, usize)> {
    let first = rest.chars().next().filter(|mark| matches!(mark, '"' | '″' | '”'))?;
    Some(("inch".to_owned(), first.len_utf8()))
}

/// What stands behind a number: an inch mark, a percent mark, a sign of money, or a unit apart from it or by another name.
fn behind(digits: &str, length: usize, rest: &str) -> Option<(&'static str, usize, String)> {
    if let Some((unit, long)) = inch_mark(rest) {
        return Some((INCHES, length + long, format!("{digits}.{unit}")));
    }
    let blank = rest.len() - rest.trim_start_matches([' ', '\u{a0}']).len();
    let next = rest.get(blank..)?.chars().next()?;
    if let Some(code) = code(next) {
        return Some((MONEY, length + blank + next.len_utf8(), format!("{digits}.{code}")));
    }
    if next == '%' {
        let after = rest.get(blank + 1..)?.trim_start();
        let goes_on = after.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '_' | '(' | '='));
        return (!goes_on).then(|| ("a share in percent", length + blank + 1, format!("{digits}.percent")));
    }
    let point = rest.starts_with('.');
    let (unit, long) = unit_behind(rest)?;
    let is_right = point && rest.get(1..long) == Some(unit.as_str());
    let kind = if Currency::of(&unit).is_some() { MONEY } else { "a number with its unit" };
    (!is_right).then(|| (kind, length + long, format!("{digits}.{unit}")))
}

/// The unit named next, whether behind a point, behind a space or at once; and how long all of it is.
fn unit_behind(rest: &str) -> Option<(String, usize)> {
    let after = rest.trim_start_matches([' ', '\u{a0}']);
    let after = after.strip_prefix('.').unwrap_or(after);
    let blank = rest.len() - after.len();
    let long = after.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(after.len());
    let word = after.get(..long).filter(|word| !word.is_empty())?;
    let past = after.get(long..)?;
    // A function of that name, or the word between a value and the list it is looked for in.
    let is_called = past.starts_with('(')
        || (word == "in"
            && past.trim_start().starts_with(|c: char| c.is_alphanumeric() || matches!(c, '[' | '"' | '_')));
    let lower = word.to_lowercase();
    let known = Unit::of(word).map(|unit| unit.name).or_else(|| plain_words::unit(&lower));
    let unit = known.map(str::to_owned).or_else(|| Currency::of(word).map(|_| lower))?;
    (!is_called).then_some((unit, blank + long))
}

#[cfg(test)]
mod tests {
    use super::all;

    #[test]
    fn what_workings_write_is_no_slip() {
        for line in [
            "let a = 24.inch + 3/4 * 2.5.inch - 1_250.usd;",
            "let b = [1.inch, 2.inch, 250.usd];",
            "let c = (23 + 15/16).inch; // 60\" and $250",
            "let d = \"60 in\" + \"$250 5'11\" + 50 % 7;",
            "for n in 1..5 { total += n; }",
            "let f = a2 + x3.width;",
            "let g = max(2, 3) + piece.size[0];",
        ] {
            assert_eq!(all(line), Vec::new(), "{line}");
        }
    }
}
