//! A plan with its pictures and rate sheets as one archive, out and in.
//!
//! What comes in is never trusted: names are checked as if they were asked for, nothing is unpacked past its limits, and
//! nothing that is there already is written over.

use std::collections::BTreeMap;
use std::io::{Cursor, Read as _, Write as _};
use std::path::{Component, Path, PathBuf};

use engine::Trouble;
use engine::document::{Document, Kind};
use sha2::{Digest as _, Sha256};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::Notebook;
use crate::folder;
use crate::names::Name;
use crate::table::{csv, words};
use crate::trouble::Refusal;

/// The file that says what is in an archive.
const MANIFEST: &str = "makeready.json";
/// Files an archive may hold.
const FILES: usize = 200;
/// The largest file in one, unpacked.
const LARGEST: u64 = 64 << 20;
/// All of them together, unpacked.
const WHOLE: u64 = 256 << 20;
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

/// What came in.
#[derive(Clone, Debug)]
pub struct Brought {
    /// The plan under its name here.
    pub plan: Name,
    /// Files that were written.
    pub written: Vec<String>,
    /// Files that were here already and were left as they are, and why.
    pub left: Vec<String>,
}

#[derive(Debug, serde::Serialize, serde::Deserialize)]
struct Manifest {
    form: u32,
    plan: String,
    title: String,
    revision: u32,
    made: String,
    files: BTreeMap<String, String>,
}

impl Notebook {
    /// A plan with what it shows and draws on, as a zip archive.
    ///
    /// # Errors
    /// When the plan is not there or a file cannot be read.
    pub fn export(&self, name: &Name, ledger: Ledger) -> Result<Vec<u8>, Refusal> {
        let kept = self.text(name)?;
        let document = Document::read(&kept.text);
        let mut files: BTreeMap<String, Vec<u8>> = BTreeMap::new();
        files.insert(format!("{}.md", name.as_str()), kept.text.clone().into_bytes());
        for (sheet, entry) in self.all(Kind::RateSheet) {
            if let Some(sheet_kept) = &entry.sheet
                && kept.text.contains(&format!("\"{}\"", sheet.as_str()))
            {
                files.insert(format!("{}.md", sheet.as_str()), sheet_kept.text.clone().into_bytes());
            }
        }
        let beside = name.as_str().rsplit_once('/').map_or(PathBuf::new(), |(folder, _)| PathBuf::from(folder));
        for picture in document.pictures() {
            let places = [beside.join(&picture), PathBuf::from(&picture)];
            if let Some((path, bytes)) = places.iter().find_map(|path| self.picture(path)) {
                files.insert(path, bytes);
            }
        }
        match ledger {
            Ledger::None => {}
            which => {
                files.insert("ledger.csv".into(), self.ledger_table(name, which == Ledger::Whole)?);
            }
        }
        let manifest = Manifest {
            form: 1,
            plan: name.as_str().to_owned(),
            title: document.title(),
            revision: self.revision(name, &kept.etag)?,
            made: self.today().iso(),
            files: files.iter().map(|(path, bytes)| (path.clone(), digest(bytes))).collect(),
        };
        let manifest = serde_json::to_vec_pretty(&manifest).map_err(|_| broken())?;
        pack(&files, &manifest)
            .map_err(|error| Refusal::unable(format!("the archive could not be made: {error}"), "try again"))
    }

    /// A picture of the notebook by its path inside it: a plain file, through no link.
    fn picture(&self, path: &Path) -> Option<(String, Vec<u8>)> {
        let inside = inside(path)?;
        let mut at = self.root.clone();
        for part in inside.split('/') {
            at.push(part);
            if std::fs::symlink_metadata(&at).ok()?.file_type().is_symlink() {
                return None;
            }
        }
        let about = std::fs::metadata(&at).ok()?;
        (about.is_file() && about.len() <= LARGEST)
            .then(|| std::fs::read(&at).ok())
            .flatten()
            .map(|bytes| (inside, bytes))
    }

    /// A picture a plan shows, found beside it or from the notebook's folder, when it is no larger than so many bytes.
    pub(crate) fn picture_beside(&self, beside: &Path, file: &str, most: usize) -> Option<Vec<u8>> {
        let places = [beside.join(file), PathBuf::from(file)];
        let small = |path: &&PathBuf| std::fs::metadata(self.root.join(path)).is_ok_and(|about| about.is_file() && about.len() <= most as u64);
        places.iter().filter(small).find_map(|path| self.picture(path)).map(|(_, bytes)| bytes)
    }

    fn ledger_table(&self, name: &Name, whole: bool) -> Result<Vec<u8>, Refusal> {
        let mut head = words(["line", "print", "what", "date"]);
        if whole {
            head.extend(words(["whom", "amount", "place"]));
        }
        let mut rows = vec![head];
        for line in self.ledger(name)? {
            let mut cells = vec![line.line.to_string(), line.print, line.what, line.when];
            if whole {
                cells.extend([line.words, line.amount, line.place]);
            }
            rows.push(cells);
        }
        csv(&rows)
    }

    /// Takes an archive in. The plan gets a free name; rate sheets and pictures that are here already stay as they are.
    ///
    /// # Errors
    /// When it is no such archive, holds what cannot lie in a notebook, is larger than is unpacked, or is damaged.
    pub fn import(&self, bytes: &[u8]) -> Result<Brought, Refusal> {
        let (manifest, files) = unpack(bytes)?;
        let plan = Name::new(&manifest.plan).map_err(Refusal::Unusable)?;
        let path = format!("{}.md", plan.as_str());
        let text = |bytes: &[u8]| {
            String::from_utf8(bytes.to_vec()).map_err(|_| {
                Refusal::Unusable(Trouble::new("a text of this archive is not UTF-8", "ask for the archive again"))
            })
        };
        let own = text(files.get(&path).ok_or_else(broken)?)?;
        let (mut written, mut left) = (Vec::new(), Vec::new());
        for (file, bytes) in files.iter().filter(|(file, _)| **file != path && *file != "ledger.csv") {
            let target = self.root.join(file);
            if target.exists() {
                if std::fs::read(&target).is_ok_and(|here| here != *bytes) {
                    left.push(format!("{file} is here already and differs; yours was kept"));
                }
                continue;
            }
            match file.strip_suffix(".md") {
                Some(stem) => {
                    let sheet = Name::new(stem).map_err(Refusal::Unusable)?;
                    let text = text(bytes)?;
                    let lock = self.lock_of(&sheet);
                    let _held = super::held(&lock);
                    self.put(&sheet, &text, None)?;
                }
                None => folder::bring(&self.root, Path::new(file), bytes)?,
            }
            written.push(file.clone());
        }
        let name = self.begin_as(&plan, &own)?;
        written.push(format!("{}.md", name.as_str()));
        Ok(Brought { plan: name, written, left })
    }
}

fn pack(files: &BTreeMap<String, Vec<u8>>, manifest: &[u8]) -> zip::result::ZipResult<Vec<u8>> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    // No times: the same plan makes the same archive, byte for byte.
    let options = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
    zip.start_file(MANIFEST, options)?;
    zip.write_all(manifest)?;
    for (path, bytes) in files {
        zip.start_file(path.as_str(), options)?;
        zip.write_all(bytes)?;
    }
    Ok(zip.finish()?.into_inner())
}

fn unpack(bytes: &[u8]) -> Result<(Manifest, BTreeMap<String, Vec<u8>>), Refusal> {
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|_| {
        Refusal::Unusable(Trouble::new(
            "this is no archive of a plan",
            "choose a file that a notebook exported, ending in .zip",
        ))
    })?;
    if zip.len() > FILES {
        return Err(too_much(format!("this archive holds {} files, and at most {FILES} are unpacked", zip.len())));
    }
    let (mut files, mut whole, mut manifest) = (BTreeMap::new(), 0, None);
    for index in 0..zip.len() {
        let mut file = zip.by_index(index).map_err(|_| broken())?;
        let name = file.name().map_err(|_| broken())?.into_owned();
        let strange = || {
            Refusal::Unusable(Trouble::new(
                format!("this archive holds `{}`, which cannot lie in a notebook", name.escape_debug()),
                "nothing was unpacked; ask where it comes from",
            ))
        };
        if !file.is_file() || file.encrypted() {
            return Err(strange());
        }
        // What a file says of its size is not believed: it is read to one byte past the limit.
        let mut inside = Vec::new();
        (&mut file).take(LARGEST + 1).read_to_end(&mut inside).map_err(|_| broken())?;
        whole += inside.len() as u64;
        if inside.len() as u64 > LARGEST || whole > WHOLE {
            return Err(too_much(format!("`{}` is larger unpacked than is taken in", name.escape_debug())));
        }
        if name == MANIFEST {
            manifest = Some(serde_json::from_slice::<Manifest>(&inside).map_err(|_| broken())?);
            continue;
        }
        if name != "ledger.csv" && allowed(&name).is_none() {
            return Err(strange());
        }
        if files.insert(name, inside).is_some() {
            return Err(broken());
        }
    }
    let manifest = manifest.ok_or_else(broken)?;
    let listed = manifest.files.len() == files.len()
        && files.iter().all(|(path, bytes)| manifest.files.get(path).is_some_and(|mark| *mark == digest(bytes)));
    if !listed || manifest.form != 1 {
        return Err(broken());
    }
    Ok((manifest, files))
}

/// A path an archive may hold: a document's, or a picture's.
fn allowed(path: &str) -> Option<()> {
    match path.strip_suffix(".md") {
        Some(stem) => Name::new(stem).ok().filter(|name| name.as_str() == stem).map(|_| ()),
        None => inside(Path::new(path)).filter(|inside| inside == path).map(|_| ()),
    }
}

/// The path of a picture inside a notebook, when it is one: each part a name as documents have.
fn inside(path: &Path) -> Option<String> {
    let parts: Option<Vec<_>> = path
        .components()
        .map(|part| match part {
            Component::Normal(part) => part.to_str(),
            _ => None,
        })
        .collect();
    let whole = parts?.join("/");
    let end = Path::new(&whole).extension()?.to_str()?.to_lowercase();
    let named = Name::new(&whole).is_ok_and(|name| name.as_str() == whole);
    (named && PICTURES.contains(&end.as_str())).then_some(whole)
}

fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

fn broken() -> Refusal {
    Refusal::Unusable(Trouble::new(
        "this archive is damaged or was not made by a notebook",
        "ask for it again; nothing was unpacked",
    ))
}

fn too_much(what: String) -> Refusal {
    Refusal::TooLong(Trouble::new(what, "nothing was unpacked; send fewer or smaller pictures"))
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
