//! The notebook's files: found, read, brought in; [`replace`] puts a new text in a document's place, `within` makes a path
//! somebody else wrote down safe.

mod replace;
mod within;

use std::fs::{File, Metadata};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use data_encoding::HEXLOWER;
use engine::Message;
use fs_err as fs;
use sha2::{Digest as _, Sha256};
use unicode_normalization::UnicodeNormalization as _;

use crate::error::Error;
use crate::names::Name;

#[cfg(test)]
pub(crate) use replace::fault;
pub use replace::{Displaced, Replaced, replace};
pub(crate) use within::{DEPTH as PARTS, Place, Places, Together, Within};

/// The longest document that is read, in bytes.
pub const LONGEST: u64 = 1 << 20;
/// How deep folders are looked into.
const DEPTH: usize = 3;
/// Files of this program that are not documents begin so.
const OURS: &str = ".makeready-";
/// What is being brought in ends so until it is whole, and is nobody's text.
const BROUGHT: &str = ".part";
/// How old such a file is before it is taken for one that was left behind.
const LEFT_BEHIND: Duration = Duration::from_secs(3600);
/// How long a file may be empty before that is taken for its text: some editors empty a file before they write it.
pub const EMPTY: Duration = Duration::from_secs(1);
/// A file changed this lately may change again without a new time: disks count in steps.
const UNSURE: Duration = Duration::from_millis(60);

/// A document as it lies in the folder.
#[derive(Clone, Debug)]
pub struct Kept {
    /// Its text.
    pub text: String,
    /// The hash of just this text.
    pub hash: String,
}

/// The hash of a text: the same bytes give the same hash, on any machine.
pub fn hash_of(bytes: &[u8]) -> String {
    HEXLOWER.encode(Sha256::digest(bytes).get(..16).unwrap_or_default())
}

/// Where a document lies: under its own name, or under the same name written with composed or with separate accents.
pub fn place(root: &Path, name: &Name) -> PathBuf {
    let path = name.file(root);
    if fs::symlink_metadata(&path).is_ok() {
        return path;
    }
    let (Some(folder), Some(wanted)) = (path.parent(), path.file_name().and_then(|name| name.to_str())) else {
        return path;
    };
    let Ok(mut entries) = fs::read_dir(folder) else { return path };
    let same = entries.find_map(|entry| {
        let entry = entry.ok()?;
        entry.file_name().to_str().is_some_and(|one| one.nfc().eq(wanted.chars())).then(|| entry.path())
    });
    same.unwrap_or(path)
}

/// Reads a document.
///
/// # Errors
/// When it is missing, a link, longer than 1 MB, or not text.
pub fn read(root: &Path, name: &Name) -> Result<Kept, Error> {
    let path = place(root, name);
    let shown = format!("{}.md", name.as_str());
    inside(root, &path)?;
    let about = fs::symlink_metadata(&path).map_err(|error| match error.kind() {
        io::ErrorKind::NotFound => Error::missing(
            format!("there is no `{shown}` in this notebook"),
            "look at the wall for what there is; it may have been renamed or moved",
        ),
        _ => error.into(),
    })?;
    if !about.is_file() {
        return Err(Error::missing(
            format!("`{shown}` is not a plain file"),
            "put the file itself into the notebook's folder, not a link to it",
        ));
    }
    if about.len() > LONGEST {
        return Err(too_long(&shown, about.len()));
    }
    let mut bytes = Vec::new();
    plain(&path)?.take(LONGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LONGEST {
        return Err(too_long(&shown, bytes.len() as u64));
    }
    let hash = hash_of(&bytes);
    String::from_utf8(bytes).map(|text| Kept { text, hash }).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let line = error.as_bytes().get(..valid).unwrap_or_default().iter().filter(|byte| **byte == b'\n').count() + 1;
        Error::Unusable(Message::new(
            format!("`{shown}` is not plain text: line {line} holds bytes that are not UTF-8"),
            "open it in an editor and save it as UTF-8; the file is left as it is",
        ))
    })
}

fn too_long(shown: &str, length: u64) -> Error {
    Error::TooLong(Message::new(
        format!("`{shown}` is {} kB long, and at most 1024 kB are read", length / 1024),
        "cut it into two documents; the file is left as it is",
    ))
}

/// Opens a plain file for reading: no link, and nothing that keeps its reader waiting, as a pipe or a device may.
///
/// # Errors
/// When it is missing, cannot be read, or is not a plain file.
pub(crate) fn plain(path: &Path) -> io::Result<File> {
    let is_plain = |about: &Metadata| match about.is_file() {
        true => Ok(()),
        false => Err(io::Error::new(io::ErrorKind::InvalidInput, "this is not a plain file")),
    };
    // Looked at before it is opened, because to open a device may already do something; and after, because it may have changed.
    is_plain(&fs::symlink_metadata(path)?)?;
    let mut how = fs::OpenOptions::new();
    how.read(true);
    #[cfg(unix)]
    {
        use fs_err::os::unix::fs::OpenOptionsExt as _;
        let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
        how.custom_flags(flags.bits().cast_signed());
    }
    let file = how.open(path)?;
    is_plain(&file.metadata()?)?;
    Ok(file.into_file())
}

/// Reads a plain file whole.
pub(crate) fn bytes_of(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    plain(path)?.read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Copies all there is to read, a part at a time. Gives its length and its hash, whole.
pub(crate) fn copied(from: &mut dyn io::Read, to: &mut dyn io::Write) -> io::Result<(u64, String)> {
    let (mut hash, mut length, mut part) = (Sha256::new(), 0, vec![0; 64 << 10]);
    loop {
        let count = match from.read(&mut part) {
            Ok(0) => break,
            Ok(count) => count,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        let read = part.get(..count).unwrap_or_default();
        hash.update(read);
        to.write_all(read)?;
        length += count as u64;
    }
    Ok((length, HEXLOWER.encode(&hash.finalize())))
}

/// The hash of all there is to read.
pub(crate) fn marked(from: &mut dyn io::Read) -> io::Result<String> {
    copied(from, &mut io::sink()).map(|(_, hash)| hash)
}

/// Refuses a path that passes through a link.
fn inside(root: &Path, path: &Path) -> Result<(), Error> {
    let mut at = path.parent();
    while let Some(folder) = at.filter(|folder| *folder != root && folder.starts_with(root)) {
        if fs::symlink_metadata(folder).is_ok_and(|about| about.file_type().is_symlink()) {
            return Err(Error::missing(
                "this folder is a link that leads out of the notebook",
                "put the folder itself into the notebook",
            ));
        }
        at = folder.parent();
    }
    Ok(())
}

/// Brings a file that is not there yet into a folder, whole or not at all. False when something lies there already.
///
/// # Errors
/// When what is brought cannot be read, or the disk or the folder refuses.
pub(crate) fn bring(path: &Path, from: &mut dyn io::Read) -> io::Result<bool> {
    let folder = path.parent().unwrap_or(path);
    replace::fault::step()?;
    let mut draft = tempfile::Builder::new().prefix(OURS).suffix(BROUGHT).tempfile_in(folder)?;
    copied(from, &mut draft)?;
    readable(draft.as_file());
    replace::fault::step()?;
    draft.as_file().sync_all()?;
    match draft.persist_noclobber(path) {
        Ok(_) => {}
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => return Ok(false),
        Err(error) => return Err(error.error),
    }
    #[cfg(unix)]
    fs::File::open(folder)?.sync_all()?;
    Ok(true)
}

/// A file without a name on the disk of a folder, gone when it is let go of.
///
/// # Errors
/// When no disk takes it.
pub(crate) fn nameless(folder: &Path) -> io::Result<File> {
    tempfile::tempfile_in(folder).or_else(|_| tempfile::tempfile())
}

/// A new file may be read by others, as any file an editor makes.
fn readable(file: &File) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let _ = file.set_permissions(std::fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}

/// Brings a folder's own entries to the disk.
///
/// # Errors
/// When the disk refuses.
pub fn sync(folder: &Path) -> Result<(), Error> {
    #[cfg(unix)]
    fs::File::open(folder)?.sync_all()?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// A document found in the folder. Another file, or the same one written to, is seen as different.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// Its name.
    pub name: Name,
    length: u64,
    changed: Option<SystemTime>,
    /// Which file it is and when anything about it last changed, where the system tells.
    inode: (u64, i64, i64),
}

impl Seen {
    fn new(name: Name, about: &Metadata) -> Self {
        #[cfg(unix)]
        let inode = {
            use std::os::unix::fs::MetadataExt as _;
            (about.ino(), about.ctime(), about.ctime_nsec())
        };
        #[cfg(not(unix))]
        let inode = (0, 0, 0);
        Self { name, length: about.len(), changed: about.modified().ok(), inode }
    }

    /// The document as it lies there now, if it does.
    pub fn now(root: &Path, name: &Name) -> Option<Self> {
        let about = fs::symlink_metadata(place(root, name)).ok()?;
        Some(Self::new(name.clone(), &about))
    }

    /// How long it is, in bytes.
    pub fn length(&self) -> u64 {
        self.length
    }

    /// What was seen, written down for another start.
    pub fn written(&self) -> String {
        let since = |time: SystemTime| time.duration_since(SystemTime::UNIX_EPOCH).ok().map(|age| age.as_nanos());
        let changed = self.changed.and_then(since).map_or_else(String::new, |age| age.to_string());
        let (inode, seconds, nanoseconds) = self.inode;
        format!("{} {changed} {inode} {seconds} {nanoseconds}", self.length)
    }

    /// Whether it was changed so lately that another change may leave no trace, or is empty as only for a moment.
    pub fn is_unsure(&self) -> bool {
        let within = if self.length == 0 { EMPTY } else { UNSURE };
        self.changed.is_some_and(|changed| changed.elapsed().is_ok_and(|age| age < within))
    }
}

/// Every Markdown document in the folder, by name; hidden files, links and names no plan can have are passed over.
pub fn look(root: &Path) -> Vec<Seen> {
    let mut found = Vec::new();
    walk(root, root, 0, &mut found);
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found.dedup_by(|a, b| a.name == b.name);
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
            found.extend(Name::of_file(root, &path).map(|name| Seen::new(name, &about)));
        }
    }
}

/// Drafts a program that was cut short left behind: what the record holds is cleared away, anything else stays.
pub fn tidy(root: &Path, is_recorded: impl Fn(&str) -> bool) {
    let mut folders = vec![(root.to_path_buf(), 0)];
    while let Some((folder, depth)) = folders.pop() {
        let Ok(entries) = fs::read_dir(&folder) else { continue };
        for entry in entries.flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            let Ok(about) = entry.metadata() else { continue };
            if about.is_dir() && depth + 1 < DEPTH && !name.starts_with('.') {
                folders.push((entry.path(), depth + 1));
            }
            if !(about.is_file() && name.starts_with(OURS)) {
                continue;
            }
            if name.ends_with(BROUGHT)
                && about.modified().is_ok_and(|at| at.elapsed().is_ok_and(|age| age > LEFT_BEHIND))
            {
                let _ = fs::remove_file(entry.path());
            }
            if !name.ends_with(".tmp") || about.len() > LONGEST {
                continue;
            }
            let Ok(bytes) = bytes_of(&entry.path()) else { continue };
            if bytes.is_empty() || is_recorded(&hash_of(&bytes)) {
                let _ = fs::remove_file(entry.path());
            } else {
                tracing::warn!(file = %entry.path().display(), "a text that no save finished lies here; it is left as it is");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drafts_left_behind_are_cleared_away_when_the_record_holds_them() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("plan.md"), "old").unwrap();
        for (name, text) in [
            (".makeready-a.tmp", "held"),
            (".makeready-b.tmp", "not held"),
            (".makeready-c.tmp", ""),
            ("own.tmp", "held"),
            (".makeready-d.part", "half a picture"),
            (".makeready-e.part", "half of one that comes in now"),
        ] {
            fs::write(folder.path().join(name), text).unwrap();
        }
        let long_ago = SystemTime::now() - 2 * LEFT_BEHIND;
        let half = fs::OpenOptions::new().write(true).open(folder.path().join(".makeready-d.part")).unwrap();
        half.set_modified(long_ago).unwrap();
        tidy(folder.path(), |hash| hash == hash_of(b"held"));
        let mut left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        left.sort();
        assert_eq!(left, [".makeready-b.tmp", ".makeready-e.part", "own.tmp", "plan.md"]);
    }
}
