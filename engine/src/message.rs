//! What went wrong, in two parts: what, and what to do next.

use std::fmt;

/// Something that cannot be calculated, told to a photographer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// What is wrong with which value.
    pub what: String,
    /// What to do next.
    pub next: String,
}

impl Message {
    /// What is wrong, and what to do next.
    pub fn new(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: shortened(what.into()), next: shortened(next.into()) }
    }
}

/// The longest name or value quoted in a message, and the longest half of one, in letters.
const LONGEST: (usize, usize) = (80, 280);

/// A text with long quoted parts cut short, so that a message stays one that can be read.
fn shortened(text: String) -> String {
    if text.len() <= LONGEST.0 {
        return text;
    }
    let parts: Vec<String> = text
        .split('`')
        .enumerate()
        .map(|(index, part)| if index % 2 == 1 { cut(part, LONGEST.0) } else { part.to_owned() })
        .collect();
    cut(&parts.join("`"), LONGEST.1)
}

fn cut(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((at, _)) => format!("{}…", text.get(..at).unwrap_or_default()),
        None => text.to_owned(),
    }
}

impl fmt::Display for Message {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.what, self.next)
    }
}

impl std::error::Error for Message {}
