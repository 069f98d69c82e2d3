//! The results of a revision, packed small, with the words for what moved.

use std::io::{Read as _, Write as _};

use engine::render::compare::Results;
use flate2::Compression;
use flate2::read::DeflateDecoder;
use flate2::write::DeflateEncoder;
use rusqlite::{Transaction, params};

use super::Store;
use crate::error::Error;

/// The most that packed results may unpack to.
const LARGEST: u64 = 64 << 20;

/// The results of a revision, and what moved since the one before.
#[derive(Clone, Debug)]
pub(crate) struct RecordedResults {
    /// The version of the program that worked it out.
    pub(crate) program: &'static str,
    /// Every name and number, packed.
    pub(crate) packed: Vec<u8>,
    /// What moved, in words.
    pub(crate) moved: String,
    /// How many numbers moved.
    pub(crate) numbers: u32,
    /// Lines of text that came and went.
    pub(crate) lines: (u32, u32),
}

impl Store {
    /// Keeps the results of a revision, when that was calculated after it was saved.
    ///
    /// # Errors
    /// When the record cannot be written, or has it already.
    pub(crate) fn keep_results(&self, row: i64, results: RecordedResults) -> Result<(), Error> {
        self.write(|change| insert(change, row, &results))
    }
}

pub(super) fn insert(change: &Transaction<'_>, row: i64, results: &RecordedResults) -> Result<(), Error> {
    change.execute(
        "INSERT INTO results (revision, program, packed, moved, numbers, lines_in, lines_out) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![row, results.program, results.packed, results.moved, results.numbers, results.lines.0, results.lines.1],
    )?;
    Ok(())
}

/// Results as they are kept.
pub(crate) fn pack(results: &Results) -> Result<Vec<u8>, Error> {
    let text = serde_json::to_vec(results).map_err(|error| {
        Error::internal(format!("the results of this plan could not be saved: {error}"), "the text itself is safe")
            .because(error)
    })?;
    let mut packed = DeflateEncoder::new(Vec::new(), Compression::fast());
    packed.write_all(&text)?;
    Ok(packed.finish()?)
}

pub(crate) fn unpack(packed: &[u8]) -> Result<Results, Error> {
    let damaged = |cause: std::io::Error| {
        Error::storage("the results of a revision cannot be read", "run `makeready check` on the notebook")
            .because(cause)
    };
    let mut text = Vec::new();
    DeflateDecoder::new(packed).take(LARGEST).read_to_end(&mut text).map_err(damaged)?;
    serde_json::from_slice(&text).map_err(|error| damaged(error.into()))
}
