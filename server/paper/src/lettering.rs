//! What the shipped face can write, and words too long for their line.
//!
//! A letter the face does not have would be left out of the file without a word, so a square stands for it and the caller is
//! told. A word longer than its column gets places at which it may be broken; they take no room and are no letters.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use serde_json::Value;
use ttf_parser::Face;

/// The typefaces the page is set in too. Source: Libertinus Serif, SIL Open Font License 1.1, beside them.
pub(crate) const FACES: [&[u8]; 3] = [
    include_bytes!("../../../static/fonts/LibertinusSerif-Regular.otf"),
    include_bytes!("../../../static/fonts/LibertinusSerif-Italic.otf"),
    include_bytes!("../../../static/fonts/LibertinusSerif-Bold.otf"),
];

static READ: LazyLock<Vec<Face<'static>>> =
    LazyLock::new(|| FACES.iter().filter_map(|face| Face::parse(face, 0).ok()).collect());

/// Stands for a letter the face does not have.
const SQUARE: char = '\u{25a1}';
/// A place at which a word may be broken, of no width.
const BREAK: char = '\u{200b}';
/// How many letters of a word in running text stand together before it may be broken.
const LINE: usize = 30;
/// How many letters of the text's size go on the whole width of a sheet.
const WIDTH: usize = 80;

/// Texts that are not set: names of kinds, addresses, and what is read aloud in place of a picture.
const UNSET: [&str; 6] = ["is", "alt", "author", "paper", "form", "columns"];

/// Makes everything in a sheet writable. Gives the letters that are not.
pub(crate) fn fit(sheet: &mut Value) -> Vec<char> {
    let mut unwritten = BTreeSet::new();
    walk(sheet, LINE, &mut unwritten);
    unwritten.into_iter().collect()
}

/// Letters of a text that are not writable, each once.
pub(crate) fn unwritten(text: &str) -> Vec<char> {
    let all: BTreeSet<char> = text.chars().filter(|c| !c.is_control() && !is_unseen(*c) && !is_written(*c)).collect();
    all.into_iter().collect()
}

fn walk(value: &mut Value, line: usize, unwritten: &mut BTreeSet<char>) {
    match value {
        Value::String(text) => {
            if let Some(fitted) = fitted(text, line, unwritten) {
                *text = fitted;
            }
        }
        Value::Array(all) => all.iter_mut().for_each(|one| walk(one, line, unwritten)),
        Value::Object(all) => {
            // A cell of a table has only its share of the width.
            let columns = all.get("columns").and_then(Value::as_array).map_or(1, Vec::len).max(1);
            let share = line.min((WIDTH / columns).max(4));
            let leads = all.get("is").is_some_and(|is| is == "link");
            for (key, one) in all.iter_mut() {
                match key.as_str() {
                    "svg" => walk(one, usize::MAX, unwritten),
                    "to" if leads => {}
                    key if UNSET.contains(&key) => {}
                    _ => walk(one, share, unwritten),
                }
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// A text as the face can write it; nothing when it can as it is.
fn fitted(text: &str, line: usize, unwritten: &mut BTreeSet<char>) -> Option<String> {
    let long = || text.split(|c: char| c.is_whitespace() || c == BREAK).any(|word| word.chars().count() > line);
    if text.chars().all(|c| c == '\n' || (' '..='~').contains(&c)) && !long() {
        return None;
    }
    let mut out = String::with_capacity(text.len() + 8);
    let mut together = 0;
    for c in text.chars() {
        if c == '\n' || c == '\t' {
            out.push(if c == '\t' { ' ' } else { c });
            together = 0;
            continue;
        }
        if c.is_control() || is_unseen(c) {
            continue;
        }
        let c = if is_written(c) {
            c
        } else {
            unwritten.insert(c);
            SQUARE
        };
        together = if c.is_whitespace() || c == '-' { 0 } else { together + 1 };
        if together > line {
            out.push(BREAK);
            together = 1;
        }
        out.push(c);
    }
    Some(out)
}

fn is_written(c: char) -> bool {
    c.is_ascii() || READ.iter().all(|face| face.glyph_index(c).is_some_and(|glyph| glyph.0 != 0))
}

/// Signs that only steer how others are shown: directions, joiners, marks of order. On paper they would change the order of
/// what stands there, or leave nothing.
fn is_unseen(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff0}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{SQUARE, fit, is_written};

    #[test]
    fn what_the_face_has_stays_and_what_it_lacks_is_told() {
        let mut sheet = json!({ "a": "Größe 1/2, naïve – 3 × 4 m²", "b": ["漢字 \u{1f600}", "\u{202e}plain"] });
        let unwritten = fit(&mut sheet);
        assert_eq!(sheet["a"], "Größe 1/2, naïve – 3 × 4 m²");
        assert_eq!(sheet["b"][0], format!("{SQUARE}{SQUARE} {SQUARE}"));
        assert_eq!(sheet["b"][1], "plain");
        assert_eq!(unwritten, ['字', '漢', '\u{1f600}']);
        assert!(is_written(SQUARE));
    }

    #[test]
    fn a_word_longer_than_its_column_may_be_broken_and_keeps_its_letters() {
        let long = "x".repeat(300);
        let mut sheet = json!({ "a": long, "cells": { "columns": ["left", "left", "left", "left"], "rows": [["y".repeat(50)]] }, "link": { "is": "link", "to": long } });
        fit(&mut sheet);
        let wide = |text: &str| text.split('\u{200b}').map(str::len).max();
        let text = |value: &serde_json::Value| value.as_str().map(str::to_owned).unwrap_or_default();
        assert_eq!(wide(&text(&sheet["a"])), Some(30));
        assert_eq!(text(&sheet["a"]).replace('\u{200b}', ""), long);
        assert_eq!(wide(&text(&sheet["cells"]["rows"][0][0])), Some(20));
        assert_eq!(text(&sheet["link"]["to"]), long);
    }
}
