//! A whole notebook copied while it is in use, looked through before it is called done, and brought back.
//!
//! A copy is a folder: the plans as plain files, the record, a list of every file with its mark, and the mark of that list.
//! It gets its name only when all of it is on the disk and was read back; nothing is ever written over. A copy somebody else
//! made is not trusted: every path in its list is made safe first, as those of an archive are.

use std::collections::BTreeMap;
use std::io::{self, Read as _, Seek as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use engine::Message;
use fs_err as fs;

use crate::error::Error;
use crate::folder::{self, PARTS, Together, Within, copied, marked, plain};
use crate::store::{Counts, FILE, copies, has_one, index};

/// The list of files.
const LIST: &str = "backup.json";
/// The mark of the list.
const LIST_MARK: &str = "backup.sha256";
/// How often a file that changes while it is copied is read again.
const TRIES: usize = 5;
/// How long one that is not there is waited for before each of these.
const MOMENT: Duration = Duration::from_millis(20);
/// The longest list of files that is read.
const LONGEST_LIST: u64 = 64 << 20;

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
    /// What was left out as it was made, and why: what could not be brought back on every computer.
    #[serde(skip)]
    pub left: Vec<String>,
}

/// Copies a notebook to a folder that is not there yet.
///
/// # Errors
/// When something lies there, it lies in the notebook itself, or the disk refuses.
pub fn make(notebook: &Path, to: &Path, moment: &str) -> Result<Backup, Error> {
    free(to)?;
    let (notebook, parent) = (notebook.canonicalize()?, parent_of(to)?);
    if parent.starts_with(&notebook) {
        return Err(Error::Unusable(Message::new(
            "this backup would lie in the notebook itself",
            "choose a folder outside it, better still on another disk",
        )));
    }
    // One that is gone is told, and no backup made that lacks it.
    let has_record = has_one(&notebook)?;
    let part = PartialCopy::beside(&parent, to)?;
    let (mut files, mut left) = (BTreeMap::new(), Vec::new());
    copy_files(&notebook, &part.0, &mut files, &mut left)?;
    let record = if has_record {
        let copy = part.0.join(FILE);
        copies::copy(&notebook, &copy)?;
        let mut file = plain(&copy)?;
        file.sync_all()?;
        files.insert(FILE.to_owned(), marked(&mut file)?);
        Some(copies::look_through(&copy)?)
    } else {
        None
    };
    let program = env!("CARGO_PKG_VERSION").to_owned();
    let backup = Backup { form: 1, program, made: moment.to_owned(), record, files, left };
    let list = serde_json::to_vec_pretty(&backup)
        .map_err(|error| Error::internal("the backup's list could not be written", "try again").because(error))?;
    write(&part.0.join(LIST), &list)?;
    write(&part.0.join(LIST_MARK), marked(&mut list.as_slice())?.as_bytes())?;
    look_through(&part.0)?;
    part.done(to, &parent)?;
    Ok(backup)
}

/// Looks a backup through: every file against its mark, the record page by page, the ledger line by line.
///
/// # Errors
/// When it is not a backup, or anything in it is not as it was written.
pub fn look_through(backup: &Path) -> Result<Backup, Error> {
    let damaged =
        |words: String| Error::storage(format!("this backup is damaged: {words}"), "use another; nothing was changed");
    let list = head_of(&backup.join(LIST)).map_err(|_| {
        Error::missing(
            format!("`{}` is not a backup of a notebook", backup.display()),
            "give the folder that `makeready backup` made",
        )
    })?;
    let mark = head_of(&backup.join(LIST_MARK)).unwrap_or_default();
    if mark != marked(&mut list.as_slice())?.as_bytes() {
        return Err(damaged("its list of files is not as it was written".into()));
    }
    let list: Backup = serde_json::from_slice(&list).map_err(|_| damaged("its list of files cannot be read".into()))?;
    let listed = listed(&list)?;
    let mut there = Vec::new();
    paths(backup, Path::new(""), 0, &mut there, &mut Vec::new())?;
    for path in &there {
        if path != LIST && path != LIST_MARK && !list.files.contains_key(path) {
            return Err(damaged(format!("`{path}` does not belong to it")));
        }
    }
    for (path, mark) in &listed {
        let file = path.open(backup);
        match file.and_then(|mut file| Ok(marked(&mut file)?)) {
            Ok(is) if is == **mark => {}
            Ok(_) => return Err(damaged(format!("`{}` is not as it was written", path.as_str()))),
            Err(_) => return Err(damaged(format!("`{}` is missing, or is not a plain file", path.as_str()))),
        }
    }
    if let Some(counts) = &list.record
        && copies::look_through(&backup.join(FILE))? != *counts
    {
        return Err(damaged("its record holds something else than its list says".into()));
    }
    Ok(list)
}

/// Brings a backup back into a folder that is not there yet, and looks it through there.
///
/// # Errors
/// When something lies there, or the backup is damaged.
pub fn restore(backup: &Path, to: &Path) -> Result<Backup, Error> {
    free(to)?;
    let list = look_through(backup)?;
    let parent = parent_of(to)?;
    let part = PartialCopy::beside(&parent, to)?;
    let differs = |path: &Within| {
        let what = format!("`{}` did not arrive as it was", path.as_str());
        Error::storage(what, "try again on another disk")
    };
    let listed = listed(&list)?;
    for (path, mark) in &listed {
        let target = path.under(&part.0);
        if let Some(folder) = target.parent() {
            fs::create_dir_all(folder)?;
        }
        let mut file = fs::File::create_new(&target)?;
        let (_, came) = copied(&mut path.open(backup)?, &mut file)?;
        file.sync_all()?;
        if came != **mark {
            return Err(differs(path));
        }
    }
    for (path, mark) in &listed {
        if marked(&mut path.open(&part.0)?)? != **mark {
            return Err(differs(path));
        }
    }
    if let Some(counts) = &list.record
        && copies::look_through(&part.0.join(FILE))? != *counts
    {
        return Err(Error::storage("the record did not arrive as it was", "try again on another disk"));
    }
    part.done(to, &parent)?;
    Ok(list)
}

/// A folder under a name of its own until it is whole; taken away again when it never becomes so.
struct PartialCopy(PathBuf);

impl PartialCopy {
    fn beside(parent: &Path, to: &Path) -> Result<Self, Error> {
        let name = to.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let made = tempfile::Builder::new().prefix(&format!(".{name}-")).suffix(".part").tempdir_in(parent)?;
        Ok(Self(made.keep()))
    }

    fn done(self, to: &Path, parent: &Path) -> Result<(), Error> {
        sync_all(&self.0, 0)?;
        // Renaming a folder over a file or a folder with something in it fails, so nothing is written over.
        fs::rename(&self.0, to)?;
        folder::sync(parent)
    }
}

impl Drop for PartialCopy {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

fn free(to: &Path) -> Result<(), Error> {
    let empty = fs::read_dir(to).is_ok_and(|mut entries| entries.next().is_none());
    if fs::symlink_metadata(to).is_ok() && !empty {
        return Err(Error::Conflict(Message::new(
            format!("something lies at `{}` already", to.display()),
            "choose a name that is free; nothing is ever written over",
        )));
    }
    Ok(())
}

fn parent_of(to: &Path) -> Result<PathBuf, Error> {
    let parent = to.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    parent.canonicalize().map_err(|_| {
        Error::missing(format!("there is no folder `{}`", parent.display()), "make it first, or choose another")
    })
}

/// The files a backup lists, each with its mark, when all of them can lie in a folder together.
fn listed(list: &Backup) -> Result<Vec<(Within, &String)>, Error> {
    let refused = |what: String| {
        let next = "nothing was written; if you made it yourself, its files are plain files and can be copied by hand";
        Error::Unusable(Message::new(what, next))
    };
    let strange = |path: &str| refused(format!("this backup lists `{}`, which no backup holds", path.escape_debug()));
    let mut together = Together::default();
    let mut all = Vec::new();
    for (path, mark) in &list.files {
        let within = Within::new(path).map_err(|message| refused(message.what))?;
        together.add(&within).map_err(|message| refused(message.what))?;
        // A journal beside the record would be read into it, whatever the record's own mark says.
        let ours = is_the_record_s(path) || path == LIST || path == LIST_MARK;
        if ours && (path != FILE || list.record.is_none()) {
            return Err(strange(path));
        }
        all.push((within, mark));
    }
    if list.record.is_some() && !list.files.contains_key(FILE) {
        return Err(strange(FILE));
    }
    Ok(all)
}

/// Whether a path is the record's, its journal's or that of what can be found out again.
fn is_the_record_s(path: &str) -> bool {
    path.starts_with(FILE) || path.starts_with(index::FILE)
}

/// Every plain file that is not hidden, no link, and neither the record nor what can be found out again; read again when it
/// changes meanwhile, and left out when it is gone by then. One that could not be brought back everywhere is left out, and told.
fn copy_files(
    notebook: &Path,
    to: &Path,
    files: &mut BTreeMap<String, String>,
    left: &mut Vec<String>,
) -> Result<(), Error> {
    let mut all = Vec::new();
    paths(notebook, Path::new(""), 0, &mut all, left)?;
    all.sort();
    let mut together = Together::default();
    for path in all.into_iter().filter(|path| !is_the_record_s(path) && path != LIST && path != LIST_MARK) {
        let within = match Within::new(&path).and_then(|within| together.add(&within).map(|()| within)) {
            Ok(within) => within,
            Err(message) => {
                left.push(message.what);
                continue;
            }
        };
        if let Some(mark) = at_rest(&within.under(notebook), &within.under(to))? {
            files.insert(path, mark);
        }
    }
    Ok(())
}

/// Copies a file and gives its mark, once it was read twice alike; nothing when it is gone. An editor may take a file away for
/// a moment.
fn at_rest(from: &Path, to: &Path) -> Result<Option<String>, Error> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder)?;
    }
    let mut copy = fs::File::create_new(to)?;
    let mut mark = None;
    for turn in 0..=TRIES {
        if turn > 0 && mark.is_none() {
            std::thread::sleep(MOMENT);
        }
        let Some(mut file) = there(plain(from))? else {
            mark = None;
            continue;
        };
        copy.set_len(0)?;
        copy.rewind()?;
        let (_, read) = copied(&mut file, &mut copy)?;
        let again = there(plain(from).and_then(|mut file| marked(&mut file)))?;
        mark = again.is_some().then(|| read.clone());
        if again == Some(read) {
            break;
        }
    }
    copy.sync_all()?;
    if mark.is_none() {
        fs::remove_file(to)?;
    }
    Ok(mark)
}

/// A list, or its mark, as far as one is read.
fn head_of(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    plain(path)?.take(LONGEST_LIST).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// What was asked of a file, unless it is gone.
fn there<T>(came: io::Result<T>) -> io::Result<Option<T>> {
    match came {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        came => came.map(Some),
    }
}

/// Paths of the plain files below a folder, with `/` between their parts; and what cannot be one.
fn paths(root: &Path, at: &Path, depth: usize, out: &mut Vec<String>, left: &mut Vec<String>) -> Result<(), Error> {
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
        if about.is_dir() && depth + 1 < PARTS {
            paths(root, &path, depth + 1, out, left)?;
        } else if about.is_dir() {
            left.push(format!("the folder `{}` lies more than {PARTS} folders deep", path.display()));
        } else if about.is_file() {
            let parts: Option<Vec<_>> = path.components().map(|part| part.as_os_str().to_str()).collect();
            match parts {
                Some(parts) => out.push(parts.join("/")),
                None => left.push(format!("the name of `{}` is not UTF-8", path.display())),
            }
        }
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    use std::io::Write as _;
    let mut file = fs::File::create_new(path)?;
    file.write_all(bytes)?;
    Ok(file.sync_all()?)
}

fn sync_all(at: &Path, depth: usize) -> Result<(), Error> {
    for entry in fs::read_dir(at)?.flatten() {
        if entry.path().is_dir() && depth + 1 < PARTS {
            sync_all(&entry.path(), depth + 1)?;
        }
    }
    folder::sync(at)
}
