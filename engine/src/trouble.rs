//! What went wrong, in two parts: what, and what to do next.

use std::fmt;

/// Something that cannot be worked out, told to a photographer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trouble {
    /// What is wrong with which value.
    pub what: String,
    /// What to do next.
    pub next: String,
}

impl Trouble {
    /// What is wrong, and what to do next.
    pub fn new(what: impl Into<String>, next: impl Into<String>) -> Self {
        Self { what: what.into(), next: next.into() }
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.what, self.next)
    }
}

impl std::error::Error for Trouble {}
