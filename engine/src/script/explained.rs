//! An error explained, with its place.

use crate::Message;

/// An error explained, with its place in the block.
#[derive(Clone)]
pub(crate) struct Explained {
    pub(crate) line: usize,
    pub(crate) column: usize,
    pub(crate) message: Message,
}

impl Explained {
    /// A message with all of it, told at its beginning.
    pub(crate) fn first(message: Message) -> Self {
        Self { line: 1, column: 1, message }
    }
}
