//! A whole notebook copied while it is in use, looked through before it is called done, and brought back.
//!
//! A copy is a folder: the plans as plain files, the record, a list of every file with its mark, and the mark of that list.
//! It gets its name only when all of it is on the disk and was read back; nothing is ever written over.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;
use std::{fs, io};

use engine::Trouble;
use sha2::{Digest as _, Sha256};

use crate::folder;
use crate::store::{Counts, FILE, copies, index};
use crate::trouble::Refusal;

/// The list of files.
const LIST: &str = "backup.json";
/// The mark of the list.
const LIST_MARK: &str = "backup.sha256";
/// How often a file that changes while it is copied is read again.
const TRIES: usize = 5;
/// How long one that is not there is waited for before each of these.
const MOMENT: Duration = Duration::from_millis(20);
/// How deep folders are copied.
const DEPTH: usize = 8;

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Backup {
    /// The form of this list.
    pub form: u32,
    /// The version of the program that made it.
    pub program: String,
    /// When, in universal time.
    pub made: String,
    /// What the record holds; nothing when the notebook had none.
    pub record: Option<Counts>,
    /// The mark of every file, by its path.
    pub files: BTreeMap<String, String>,
}

/// Copies a notebook to a folder that is not there yet.
///
/// # Errors
/// When something lies there, it lies in the notebook itself, or the disk refuses.
pub fn make(notebook: &Path, to: &Path, moment: &str) -> Result<Backup, Refusal> {
    free(to)?;
    let (notebook, parent) = (notebook.canonicalize()?, parent_of(to)?);
    if parent.starts_with(&notebook) {
        return Err(Refusal::Unusable(Trouble::new(
            "this backup would lie in the notebook itself",
            "choose a folder outside it, better still on another disk",
        )));
    }
    let part = Part::beside(&parent, to)?;
    let mut files = BTreeMap::new();
    copy_files(&notebook, &part.0, Path::new(""), 0, &mut files)?;
    let record = if notebook.join(FILE).exists() {
        let copy = part.0.join(FILE);
        copies::copy(&notebook, &copy)?;
        fs::File::open(&copy)?.sync_all()?;
        files.insert(FILE.to_owned(), digest(&fs::read(&copy)?));
        Some(copies::look_through(&copy)?)
    } else {
        None
    };
    let program = env!("CARGO_PKG_VERSION").to_owned();
    let backup = Backup { form: 1, program, made: moment.to_owned(), record, files };
    let list = serde_json::to_vec_pretty(&backup)
        .map_err(|_| Refusal::unable("the backup's list could not be written", "try again"))?;
    write(&part.0.join(LIST), &list)?;
    write(&part.0.join(LIST_MARK), digest(&list).as_bytes())?;
    look_through(&part.0)?;
    part.done(to, &parent)?;
    Ok(backup)
}

/// Looks a backup through: every file against its mark, the record page by page, the ledger line by line.
///
/// # Errors
/// When it is no backup, or anything in it is not as it was written.
pub fn look_through(backup: &Path) -> Result<Backup, Refusal> {
    let damaged =
        |words: String| Refusal::unable(format!("this backup is damaged: {words}"), "use another; nothing was changed");
    let list = fs::read(backup.join(LIST)).map_err(|_| {
        Refusal::missing(
            format!("`{}` is no backup of a notebook", backup.display()),
            "give the folder that `makeready backup` made",
        )
    })?;
    let mark = fs::read(backup.join(LIST_MARK)).unwrap_or_default();
    if mark != digest(&list).as_bytes() {
        return Err(damaged("its list of files is not as it was written".into()));
    }
    let told: Backup = serde_json::from_slice(&list).map_err(|_| damaged("its list of files cannot be read".into()))?;
    let mut there = Vec::new();
    paths(backup, Path::new(""), 0, &mut there)?;
    for path in &there {
        if path != LIST && path != LIST_MARK && !told.files.contains_key(path) {
            return Err(damaged(format!("`{path}` does not belong to it")));
        }
    }
    for (path, mark) in &told.files {
        match fs::read(backup.join(path)) {
            Ok(bytes) if digest(&bytes) == *mark => {}
            Ok(_) => return Err(damaged(format!("`{path}` is not as it was written"))),
            Err(_) => return Err(damaged(format!("`{path}` is missing"))),
        }
    }
    if let Some(counts) = &told.record
        && copies::look_through(&backup.join(FILE))? != *counts
    {
        return Err(damaged("its record holds something else than its list says".into()));
    }
    Ok(told)
}

/// Brings a backup back into a folder that is not there yet, and looks it through there.
///
/// # Errors
/// When something lies there, or the backup is damaged.
pub fn restore(backup: &Path, to: &Path) -> Result<Backup, Refusal> {
    free(to)?;
    let told = look_through(backup)?;
    let parent = parent_of(to)?;
    let part = Part::beside(&parent, to)?;
    for path in told.files.keys() {
        let target = part.0.join(path);
        if let Some(folder) = target.parent() {
            fs::create_dir_all(folder)?;
        }
        write(&target, &fs::read(backup.join(path))?)?;
    }
    for (path, mark) in &told.files {
        if digest(&fs::read(part.0.join(path))?) != *mark {
            return Err(Refusal::unable(format!("`{path}` did not arrive as it was"), "try again on another disk"));
        }
    }
    if let Some(counts) = &told.record
        && copies::look_through(&part.0.join(FILE))? != *counts
    {
        return Err(Refusal::unable("the record did not arrive as it was", "try again on another disk"));
    }
    part.done(to, &parent)?;
    Ok(told)
}

/// A folder under a name of its own until it is whole; taken away again when it never becomes so.
struct Part(PathBuf);

impl Part {
    fn beside(parent: &Path, to: &Path) -> Result<Self, Refusal> {
        let name = to.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let made = tempfile::Builder::new().prefix(&format!(".{name}-")).suffix(".part").tempdir_in(parent)?;
        Ok(Self(made.keep()))
    }

    fn done(self, to: &Path, parent: &Path) -> Result<(), Refusal> {
        sync_all(&self.0, 0)?;
        // Renaming a folder over a file or a folder with something in it fails, so nothing is written over.
        fs::rename(&self.0, to)?;
        folder::sync(parent)
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn free(to: &Path) -> Result<(), Refusal> {
    let empty = fs::read_dir(to).is_ok_and(|mut entries| entries.next().is_none());
    if fs::symlink_metadata(to).is_ok() && !empty {
        return Err(Refusal::Taken(Trouble::new(
            format!("something lies at `{}` already", to.display()),
            "choose a name that is free; nothing is ever written over",
        )));
    }
    Ok(())
}

fn parent_of(to: &Path) -> Result<PathBuf, Refusal> {
    let parent = to.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    parent.canonicalize().map_err(|_| {
        Refusal::missing(format!("there is no folder `{}`", parent.display()), "make it first, or choose another")
    })
}

/// Every plain file that is not hidden, no link, and neither the record nor what can be found out anew; read again when it
/// changes meanwhile, and left out when it is gone by then.
fn copy_files(
    notebook: &Path,
    to: &Path,
    at: &Path,
    depth: usize,
    files: &mut BTreeMap<String, String>,
) -> Result<(), Refusal> {
    let mut all = Vec::new();
    paths(notebook, at, depth, &mut all)?;
    for path in all.into_iter().filter(|path| !path.starts_with(FILE) && !path.starts_with(index::FILE)) {
        let Some(bytes) = at_rest(&notebook.join(&path))? else { continue };
        let target = to.join(&path);
        if let Some(folder) = target.parent() {
            fs::create_dir_all(folder)?;
        }
        write(&target, &bytes)?;
        files.insert(path, digest(&bytes));
    }
    Ok(())
}

/// A file's bytes, once it was read twice alike; nothing when it is gone. An editor may take a file away for a moment.
fn at_rest(path: &Path) -> Result<Option<Vec<u8>>, Refusal> {
    let mut bytes = there(fs::read(path))?;
    for _ in 0..TRIES {
        if bytes.is_none() {
            std::thread::sleep(MOMENT);
        }
        let again = there(fs::read(path))?;
        if again.is_some() && again == bytes {
            break;
        }
        bytes = again;
    }
    Ok(bytes)
}

/// What was asked of a file, unless it is gone.
fn there<T>(came: io::Result<T>) -> io::Result<Option<T>> {
    match came {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        came => came.map(Some),
    }
}

/// Paths of the plain files below a folder, with `/` between their parts.
fn paths(root: &Path, at: &Path, depth: usize, out: &mut Vec<String>) -> Result<(), Refusal> {
    for entry in fs::read_dir(root.join(at))? {
        let entry = entry?;
        let name = entry.file_name();
        // Drafts of saves come and go under hidden names.
        if name.to_string_lossy().starts_with('.') {
            continue;
        }
        let Some(about) = there(fs::symlink_metadata(entry.path()))?.filter(|about| !about.file_type().is_symlink())
        else {
            continue;
        };
        let path = at.join(&name);
        if about.is_dir() && depth + 1 < DEPTH {
            paths(root, &path, depth + 1, out)?;
        } else if about.is_file() {
            out.push(path.components().map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/"));
        }
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Refusal> {
    use std::io::Write as _;
    let mut file = fs::File::create_new(path)?;
    file.write_all(bytes)?;
    Ok(file.sync_all()?)
}

fn sync_all(at: &Path, depth: usize) -> Result<(), Refusal> {
    for entry in fs::read_dir(at)?.flatten() {
        if entry.path().is_dir() && depth + 1 < DEPTH {
            sync_all(&entry.path(), depth + 1)?;
        }
    }
    folder::sync(at)
}

fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}
