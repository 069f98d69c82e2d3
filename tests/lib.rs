//! The shipped notebook as the tests meet it: its folder, a copy of it, and its texts as facts.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::Facts;
use engine::document::{Document, Kind};
use engine::measure::Day;

/// The day every test stands on.
pub const TODAY: &str = "2026-11-25";

/// The shipped notebook's folder.
#[must_use]
pub fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks")
}

/// Copies the shipped plans and rate sheets into another folder.
///
/// # Errors
/// When a file cannot be read or written.
pub fn copy_to(folder: &Path) -> io::Result<()> {
    for (name, text) in texts()? {
        let file = folder.join(format!("{name}.md"));
        if let Some(parent) = file.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(file, text)?;
    }
    Ok(())
}

/// Every shipped document by its name: plans, and rate sheets as `shops/…`.
///
/// # Errors
/// When a file cannot be read.
pub fn texts() -> io::Result<BTreeMap<String, String>> {
    let mut all = BTreeMap::new();
    for (folder, before) in [(shipped(), ""), (shipped().join("shops"), "shops/")] {
        for entry in std::fs::read_dir(folder)? {
            let path = entry?.path();
            let name = path.file_stem().and_then(|stem| stem.to_str()).map(|stem| format!("{before}{stem}"));
            if let (Some(name), true) = (name, path.extension().is_some_and(|end| end == "md")) {
                all.insert(name, std::fs::read_to_string(&path)?);
            }
        }
    }
    Ok(all)
}

/// The facts of the shipped notebook on the day of the tests, with nothing sold.
///
/// # Errors
/// When a file cannot be read.
pub fn facts() -> io::Result<Facts> {
    let today = Day::parse(TODAY).ok_or_else(|| io::Error::other("the day of the tests is not a day"))?;
    let sheets = texts()?.into_iter().filter(|(_, text)| Document::read(text).front.kind == Kind::RateSheet);
    Ok(Facts { sheets: Arc::new(sheets.collect()), ..Facts::on(today) })
}
