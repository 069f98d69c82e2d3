//! Makes any text one that can be set: signs the typeface lacks are written by their number, what cannot be seen is left out,
//! and words too long for a line may be broken.

use serde_json::Value;

/// How many letters in a row may stand without a place to break.
const LONGEST: usize = 20;
/// After how many letters a longer word may break.
const BREAK: usize = 6;

/// Does it to every text of a sheet; addresses and drawings are left as they are.
pub(crate) fn settle(value: &mut Value, has: &impl Fn(char) -> bool) {
    match value {
        Value::String(text) => *text = settled(text, has),
        Value::Array(all) => all.iter_mut().for_each(|one| settle(one, has)),
        Value::Object(all) => {
            for (key, one) in all.iter_mut() {
                match (key.as_str(), &one) {
                    ("svg", _) => {}
                    ("to", Value::String(to)) => {
                        let plain = to.len() <= 2000 && to.chars().all(|c| c.is_ascii_graphic());
                        if !plain {
                            *one = Value::Null;
                        }
                    }
                    _ => settle(one, has),
                }
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// One text that can be set.
pub(crate) fn settled(text: &str, has: &impl Fn(char) -> bool) -> String {
    let mut out = String::with_capacity(text.len());
    let mut row = 0;
    let long: Vec<usize> = text.split(char::is_whitespace).map(|word| word.chars().count()).collect();
    let mut word = 0;
    for c in text.chars() {
        if c.is_whitespace() {
            word += 1;
            row = 0;
            out.push(if matches!(c, '\n' | '\u{a0}' | '\u{202f}') { c } else { ' ' });
            continue;
        }
        if is_unseen(c) {
            continue;
        }
        if row >= BREAK && long.get(word).is_some_and(|count| *count > LONGEST) {
            out.push('\u{200b}');
            row = 0;
        }
        row += 1;
        if has(c) {
            out.push(c);
        } else {
            out.push_str(&format!("[U+{:04X}]\u{200b}", u32::from(c)));
        }
    }
    out
}

/// Controls, marks that turn the direction of writing, joiners and variation selectors: none has a shape of its own.
fn is_unseen(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::settled;

    fn check(text: &str, wanted: &str) {
        assert_eq!(settled(text, &|c| c.is_ascii() || c == 'é'), wanted);
    }

    #[test]
    fn a_sign_the_typeface_lacks_is_written_by_its_number() {
        check("a \u{1f600} é", "a [U+1F600]\u{200b} é");
    }

    #[test]
    fn marks_that_turn_the_direction_of_writing_are_left_out() {
        check("a\u{202e}b\u{2066}c\u{0}", "abc");
    }

    #[test]
    fn a_long_word_may_be_broken_and_a_short_one_may_not() {
        check("abcdefghijklmnopqrst", "abcdefghijklmnopqrst");
        check("abcdefghijklmnopqrstu", "abcdef\u{200b}ghijkl\u{200b}mnopqr\u{200b}stu");
    }
}
