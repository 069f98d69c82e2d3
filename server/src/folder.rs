//! The notebook's files: read, found, and replaced so that a file is always whole, old or new.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use engine::Trouble;
use sha2::{Digest as _, Sha256};

use crate::names::Name;
use crate::trouble::Refusal;

/// The longest document that is read, in bytes.
pub const LONGEST: u64 = 1 << 20;
/// How deep folders are looked into.
const DEPTH: usize = 3;

/// A document as it lies in the folder.
#[derive(Clone, Debug)]
pub struct Kept {
    /// Its text.
    pub text: String,
    /// The mark of just this text.
    pub etag: String,
}

/// The mark of a text: the same bytes give the same mark, on any machine.
pub fn etag(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(16).map(|byte| format!("{byte:02x}")).collect()
}

/// Reads a document.
///
/// # Errors
/// When it is missing, a link, longer than 1 MB, or not text.
pub fn read(root: &Path, name: &Name) -> Result<Kept, Refusal> {
    let path = name.file(root);
    let shown = format!("{}.md", name.as_str());
    inside(root, &path)?;
    let about = fs::symlink_metadata(&path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => Refusal::missing(
            format!("there is no `{shown}` in this notebook"),
            "look at the wall for what there is; it may have been renamed or moved",
        ),
        _ => error.into(),
    })?;
    if !about.is_file() {
        return Err(Refusal::missing(
            format!("`{shown}` is no plain file"),
            "put the file itself into the notebook's folder, not a link to it",
        ));
    }
    if about.len() > LONGEST {
        return Err(Refusal::TooLong(Trouble::new(
            format!("`{shown}` is {} kB long, and at most 1024 kB are read", about.len() / 1024),
            "cut it into two documents; the file is left as it is",
        )));
    }
    let bytes = fs::read(&path)?;
    let etag = etag(&bytes);
    String::from_utf8(bytes).map(|text| Kept { text, etag }).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let line = error.as_bytes().get(..valid).unwrap_or_default().iter().filter(|byte| **byte == b'\n').count() + 1;
        Refusal::Unusable(Trouble::new(
            format!("`{shown}` is no plain text: line {line} holds bytes that are not UTF-8"),
            "open it in an editor and save it as UTF-8; the file is left as it is",
        ))
    })
}

/// Refuses a path that passes through a link.
fn inside(root: &Path, path: &Path) -> Result<(), Refusal> {
    let mut at = path.parent();
    while let Some(folder) = at.filter(|folder| *folder != root && folder.starts_with(root)) {
        if fs::symlink_metadata(folder).is_ok_and(|about| about.file_type().is_symlink()) {
            return Err(Refusal::missing(
                "this folder is a link that leads out of the notebook",
                "put the folder itself into the notebook",
            ));
        }
        at = folder.parent();
    }
    Ok(())
}

/// Puts a new text in a document's place: written beside it, brought to the disk, then renamed over it.
///
/// # Errors
/// When the disk or the folder refuses; the old text then still stands.
pub fn replace(root: &Path, name: &Name, text: &str) -> Result<(), Refusal> {
    let path = name.file(root);
    inside(root, &path)?;
    let folder = path.parent().unwrap_or(root);
    fs::create_dir_all(folder)?;
    if fs::symlink_metadata(&path).is_ok_and(|about| about.file_type().is_symlink()) {
        return Err(Refusal::unable(
            format!("`{}.md` is a link", name.as_str()),
            "put the file itself into the notebook's folder",
        ));
    }
    let mut draft = tempfile::Builder::new().prefix(".makeready-").suffix(".tmp").tempfile_in(folder)?;
    draft.write_all(text.as_bytes())?;
    if let Ok(about) = fs::metadata(&path) {
        // The file keeps the rights its owner gave it.
        let _ = draft.as_file().set_permissions(about.permissions());
    } else {
        readable(draft.as_file());
    }
    draft.as_file().sync_all()?;
    draft.persist(&path).map_err(|error| error.error)?;
    sync(folder)
}

/// A new file may be read by others, as any file an editor makes.
fn readable(file: &fs::File) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let _ = file.set_permissions(fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}

/// Brings a folder's own entries to the disk.
///
/// # Errors
/// When the disk refuses.
pub fn sync(folder: &Path) -> Result<(), Refusal> {
    #[cfg(unix)]
    fs::File::open(folder)?.sync_all()?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// A document found in the folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// Its name.
    pub name: Name,
    /// Its length in bytes.
    pub length: u64,
    /// When it was last changed.
    pub changed: Option<std::time::SystemTime>,
}

/// Every Markdown document in the folder, by name; hidden files, links and names no plan can have are passed over.
pub fn look(root: &Path) -> Vec<Seen> {
    let mut found = Vec::new();
    walk(root, root, 0, &mut found);
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

fn walk(root: &Path, folder: &Path, depth: usize, found: &mut Vec<Seen>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let path: PathBuf = entry.path();
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        let Ok(about) = entry.metadata() else { continue };
        if hidden || about.file_type().is_symlink() {
            continue;
        }
        if about.is_dir() && depth + 1 < DEPTH {
            walk(root, &path, depth + 1, found);
        } else if about.is_file() && path.extension().is_some_and(|end| end == "md") {
            found.extend(Name::of_file(root, &path).map(|name| Seen {
                name,
                length: about.len(),
                changed: about.modified().ok(),
            }));
        }
    }
}
