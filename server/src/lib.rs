//! The notebook server.
