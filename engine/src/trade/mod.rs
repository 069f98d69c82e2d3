//! What the trade talks about.
