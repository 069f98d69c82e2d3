//! A plan with its pictures and rate sheets as one archive: what is in one, and a plan going out.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Read, Seek, Write};
use std::path::Path;

use engine::document::{Document, Kind};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::Notebook;
use crate::error::Error;
use crate::folder::{Within, copied};
use crate::names::Name;
use crate::table::{csv, words};

/// The file that says what is in an archive.
pub(super) const MANIFEST: &str = "makeready.json";
/// The ledger of the plan, when it was asked for.
pub(super) const LEDGER: &str = "ledger.csv";
/// The largest picture in one.
pub(super) const LARGEST: u64 = 64 << 20;
/// Kinds of pictures that are taken along.
const PICTURES: &[&str] = &["jpg", "jpeg", "png", "webp", "gif", "tif", "tiff"];

/// What an archive takes along of the ledger.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Ledger {
    /// Nothing.
    #[default]
    None,
    /// What happened, without names, amounts and places.
    Events,
    /// All of it, buyers too, because somebody asked for them.
    Whole,
}

/// What an archive says of itself.
#[derive(Debug, serde::Serialize, serde::Deserialize)]
pub(super) struct Manifest {
    pub(super) form: u32,
    pub(super) plan: String,
    pub(super) title: String,
    pub(super) revision: u32,
    pub(super) made: String,
    /// The mark of every file.
    pub(super) files: BTreeMap<String, String>,
}

impl Notebook {
    /// A plan with what it shows and draws on, written as a zip archive.
    ///
    /// # Errors
    /// When the plan is not there, a file cannot be read, or the archive cannot be written.
    pub fn export<W: Write + Seek>(&self, name: &Name, ledger: Ledger, to: W) -> Result<W, Error> {
        let kept = self.text(name)?;
        let document = Document::read(&kept.text);
        let mut texts: BTreeMap<String, Vec<u8>> = BTreeMap::new();
        texts.insert(format!("{}.md", name.as_str()), kept.text.clone().into_bytes());
        for (sheet, _) in self.documents.all(Kind::RateSheet) {
            if kept.text.contains(&format!("\"{}\"", sheet.as_str()))
                && let Some(sheet_kept) = self.rates.text(&sheet)
            {
                texts.insert(format!("{}.md", sheet.as_str()), sheet_kept.text.clone().into_bytes());
            }
        }
        match ledger {
            Ledger::None => {}
            which => {
                texts.insert(LEDGER.into(), self.ledger_table(name, which == Ledger::Whole)?);
            }
        }
        let beside = name.as_str().rsplit_once('/').map(|(folder, _)| format!("{folder}/")).unwrap_or_default();
        let mut pictures: BTreeMap<String, File> = BTreeMap::new();
        for picture in document.pictures() {
            let found = [format!("{beside}{picture}"), picture].into_iter().find_map(|path| self.picture(&path));
            pictures.extend(found);
        }
        let mut packing = Packing::to(to);
        for (path, bytes) in &texts {
            packing.add(path, CompressionMethod::Deflated, &mut bytes.as_slice())?;
        }
        for (path, mut picture) in pictures {
            // Pictures are as small as they get already.
            packing.add(&path, CompressionMethod::Stored, &mut Read::take(&mut picture, LARGEST))?;
        }
        let manifest = Manifest {
            form: 1,
            plan: name.as_str().to_owned(),
            title: document.title(),
            revision: self.store.number_of(name, &kept.hash)?,
            made: self.today().iso(),
            files: std::mem::take(&mut packing.marks),
        };
        let manifest = serde_json::to_vec_pretty(&manifest).map_err(|error| {
            Error::internal("the list of this archive could not be written", "try again").because(error)
        })?;
        packing.add(MANIFEST, CompressionMethod::Deflated, &mut manifest.as_slice())?;
        packing.zip.finish().map_err(not_made)
    }

    /// A picture of the notebook by its path inside it: a plain file, through no link.
    fn picture(&self, path: &str) -> Option<(String, File)> {
        let path = picture(path)?;
        let file = path.open(self.root()).ok()?;
        (file.metadata().ok()?.len() <= LARGEST).then(|| (path.as_str().to_owned(), file))
    }

    /// A picture a plan shows, found beside it or from the notebook's folder, when it is no larger than so many bytes.
    pub(crate) fn picture_beside(&self, beside: &Path, file: &str, most: usize) -> Option<Vec<u8>> {
        let beside = beside.join(file);
        let (_, picture) = [beside.to_str()?, file].into_iter().find_map(|path| self.picture(path))?;
        let length = picture.metadata().ok()?.len();
        let mut bytes = Vec::new();
        if length > most as u64 {
            return None;
        }
        Read::take(&picture, length).read_to_end(&mut bytes).ok()?;
        Some(bytes)
    }

    fn ledger_table(&self, name: &Name, whole: bool) -> Result<Vec<u8>, Error> {
        let mut head = words(["line", "print", "what", "date"]);
        if whole {
            head.extend(words(["whom", "amount", "place"]));
        }
        let mut rows = vec![head];
        for line in self.store.ledger(name)? {
            let mut cells = vec![line.line.to_string(), line.print, line.what, line.when];
            if whole {
                cells.extend([line.words, line.amount, line.place]);
            }
            rows.push(cells);
        }
        csv(&rows)
    }
}

/// An archive that is being written, with the marks of what is in it.
struct Packing<W: Write + Seek> {
    zip: ZipWriter<W>,
    marks: BTreeMap<String, String>,
}

impl<W: Write + Seek> Packing<W> {
    fn to(to: W) -> Self {
        Self { zip: ZipWriter::new(to), marks: BTreeMap::new() }
    }

    fn add(&mut self, path: &str, how: CompressionMethod, from: &mut dyn Read) -> Result<(), Error> {
        // No times: the same plan makes the same archive, byte for byte.
        let options = SimpleFileOptions::default().compression_method(how);
        self.zip.start_file(path, options).map_err(not_made)?;
        let (_, mark) = copied(from, &mut self.zip)?;
        self.marks.insert(path.to_owned(), mark);
        Ok(())
    }
}

fn not_made(error: zip::result::ZipError) -> Error {
    Error::storage(format!("the archive could not be made: {error}"), "try again").because(error)
}

/// The path of a file that an archive may hold: a document's, a picture's, or the ledger's.
pub(super) fn allowed(path: &str) -> Option<Within> {
    match path.strip_suffix(".md") {
        Some(stem) if is_named(stem) => Within::new(path).ok(),
        None if path == LEDGER => Within::new(path).ok(),
        _ => picture(path),
    }
}

/// The path of a picture inside a notebook, when it is one: each part a name as documents have.
fn picture(path: &str) -> Option<Within> {
    let end = Path::new(path).extension()?.to_str()?.to_lowercase();
    (is_named(path) && PICTURES.contains(&end.as_str())).then(|| Within::new(path).ok()).flatten()
}

fn is_named(path: &str) -> bool {
    Name::new(path).is_ok_and(|name| name.as_str() == path)
}

#[cfg(test)]
mod tests {
    use super::allowed;

    #[test]
    fn an_archive_holds_only_what_can_lie_in_a_notebook() {
        for bad in [
            "../x.md",
            "/etc/passwd",
            "a/../b.jpg",
            "x.exe",
            "x.svg",
            ".hidden.md",
            "a\\b.md",
            "a//b.jpg",
            "./a.jpg",
            "con.jpg",
            "makeready.db",
            "a/b/c/d.jpg",
            "x.md/",
        ] {
            assert!(allowed(bad).is_none(), "{bad} was taken");
        }
        for good in ["long-weir.md", "shops/tarn-lab.md", "pictures/weir.jpg"] {
            assert!(allowed(good).is_some(), "{good} was refused");
        }
    }
}
