//! Drawings to scale.
