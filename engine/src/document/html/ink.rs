//! HTML as it is written: text goes in escaped, and values without a detour.

use crate::Value;
use crate::measure::Units;
use crate::measure::show::push_digits;

/// Text with the marks of HTML escaped.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    push_escaped(&mut out, text);
    out
}

/// The marks of HTML and what stands for each.
const MARKS: [(u8, &str); 5] = [(b'&', "&amp;"), (b'<', "&lt;"), (b'>', "&gt;"), (b'"', "&quot;"), (b'\'', "&#39;")];

fn is_mark(byte: u8) -> bool {
    matches!(byte, b'&' | b'<' | b'>' | b'"' | b'\'')
}

fn push_escaped(out: &mut String, text: &str) {
    let mut from = 0;
    for (at, byte) in text.bytes().enumerate().filter(|(_, byte)| is_mark(*byte)) {
        // Every mark is one byte, so that the text between them is copied whole.
        out.push_str(text.get(from..at).unwrap_or_default());
        out.push_str(MARKS.iter().find(|(mark, _)| *mark == byte).map_or("", |(_, instead)| instead));
        from = at + 1;
    }
    out.push_str(text.get(from..).unwrap_or_default());
}

/// HTML being written.
pub(super) trait Ink {
    /// Marks as they are.
    fn raw(&mut self, html: &str) -> &mut Self;
    /// Text, escaped.
    fn text(&mut self, text: &str) -> &mut Self;
    /// A plain number.
    fn count(&mut self, number: usize) -> &mut Self;
    /// A value as a page shows it, escaped.
    fn value(&mut self, value: &Value, units: Units) -> &mut Self;
}

impl Ink for String {
    fn raw(&mut self, html: &str) -> &mut Self {
        self.push_str(html);
        self
    }

    fn text(&mut self, text: &str) -> &mut Self {
        push_escaped(self, text);
        self
    }

    fn count(&mut self, number: usize) -> &mut Self {
        push_digits(self, number as u64);
        self
    }

    fn value(&mut self, value: &Value, units: Units) -> &mut Self {
        match value {
            // Digits and units hold no mark of HTML.
            Value::Quantity(_) | Value::Whole(_) | Value::Truth(_) => value.push(self, units),
            Value::Text(text) => push_escaped(self, text),
            other => push_escaped(self, &other.shown(units)),
        }
        self
    }
}
