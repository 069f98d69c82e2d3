//! The notebook's files: read, found, and replaced so that a file is always whole, old or new, and never over something
//! written outside that nobody has seen.

use std::fs;
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use engine::Trouble;
use sha2::{Digest as _, Sha256};
use unicode_normalization::UnicodeNormalization as _;

use crate::names::Name;
use crate::trouble::Refusal;

/// The longest document that is read, in bytes.
pub const LONGEST: u64 = 1 << 20;
/// How deep folders are looked into.
const DEPTH: usize = 3;
/// Files of this program that are not documents begin so.
const OURS: &str = ".makeready-";
/// How long a file may be empty before that is taken for its text: some editors empty a file before they write it.
pub const EMPTY: Duration = Duration::from_secs(1);
/// A file changed this lately may change again without a new time: disks count in steps.
const UNSURE: Duration = Duration::from_millis(60);

/// A document as it lies in the folder.
#[derive(Clone, Debug)]
pub struct Kept {
    /// Its text.
    pub text: String,
    /// The mark of just this text.
    pub etag: String,
}

/// What a replacement came to.
#[derive(Debug)]
pub enum Replaced {
    /// The new text stands. The old file, which another program may still be writing into, is watched a moment longer.
    Done(Option<Displaced>),
    /// Another text had been written meanwhile: it stands, and this is its mark.
    Changed,
}

/// The file a new text took the place of.
#[derive(Debug)]
pub struct Displaced {
    /// The mark of the text that took the place.
    pub by: String,
    file: fs::File,
    etag: String,
    at: SystemTime,
}

impl Displaced {
    /// Whether it is too young for another program's last words to have arrived.
    pub fn is_young(&self) -> bool {
        self.at.elapsed().is_ok_and(|age| age < EMPTY)
    }

    /// What another program wrote into it after its place was taken, if it did.
    pub fn last_words(&mut self) -> Option<Kept> {
        use std::io::Seek as _;
        self.file.rewind().ok()?;
        let mut bytes = Vec::new();
        (&self.file).take(LONGEST).read_to_end(&mut bytes).ok()?;
        let etag = etag(&bytes);
        if bytes.is_empty() || etag == self.etag {
            return None;
        }
        self.etag.clone_from(&etag);
        String::from_utf8(bytes).ok().map(|text| Kept { text, etag })
    }
}

/// The mark of a text: the same bytes give the same mark, on any machine.
pub fn etag(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(16).map(|byte| format!("{byte:02x}")).collect()
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
pub fn read(root: &Path, name: &Name) -> Result<Kept, Refusal> {
    let path = place(root, name);
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
        return Err(too_long(&shown, about.len()));
    }
    let mut bytes = Vec::new();
    unlinked(&path)?.take(LONGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LONGEST {
        return Err(too_long(&shown, bytes.len() as u64));
    }
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

fn too_long(shown: &str, length: u64) -> Refusal {
    Refusal::TooLong(Trouble::new(
        format!("`{shown}` is {} kB long, and at most 1024 kB are read", length / 1024),
        "cut it into two documents; the file is left as it is",
    ))
}

/// Opens a file for reading, and refuses one that became a link or a pipe since it was looked at.
fn unlinked(path: &Path) -> io::Result<fs::File> {
    let mut how = fs::OpenOptions::new();
    how.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
        how.custom_flags(flags.bits().cast_signed());
    }
    how.open(path)
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

/// Puts a new text in a document's place: written beside it, brought to the disk, then changed places with it. `from` is
/// the mark of the text it was made from, nothing for a document that is new: when another text lies there, it stays.
///
/// # Errors
/// When the disk or the folder refuses; the old text then still stands.
pub fn replace(root: &Path, name: &Name, text: &str, from: Option<&str>) -> Result<Replaced, Refusal> {
    let path = place(root, name);
    inside(root, &path)?;
    let folder = path.parent().unwrap_or(root);
    if !folder.is_dir() {
        fs::create_dir_all(folder)?;
    }
    let there = fs::symlink_metadata(&path).ok();
    if there.as_ref().is_some_and(|about| about.file_type().is_symlink()) {
        return Err(Refusal::unable(
            format!("`{}.md` is a link", name.as_str()),
            "put the file itself into the notebook's folder",
        ));
    }
    if there.as_ref().is_some_and(|about| about.permissions().readonly()) {
        return Err(Refusal::unable(
            format!("`{}.md` is set to be read only", name.as_str()),
            "give yourself the right to write it and save again; what you wrote is still on this page",
        ));
    }
    fault::step()?;
    let mut draft = tempfile::Builder::new().prefix(OURS).suffix(".tmp").tempfile_in(folder)?;
    fault::step()?;
    draft.write_all(text.as_bytes())?;
    if let Some(about) = &there {
        // The file keeps the rights its owner gave it.
        let _ = draft.as_file().set_permissions(about.permissions());
    } else {
        readable(draft.as_file());
    }
    fault::step()?;
    draft.as_file().sync_all()?;
    let Some(from) = from else {
        fault::step()?;
        return match draft.persist_noclobber(&path) {
            Ok(_) => {
                sync(folder)?;
                Ok(Replaced::Done(None))
            }
            Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Ok(Replaced::Changed),
            Err(error) => Err(error.error.into()),
        };
    };
    if settled(&path)? != from {
        return Ok(Replaced::Changed);
    }
    fault::step()?;
    swap(draft, &path, from, &etag(text.as_bytes()), folder)
}

/// The mark of a file just before its place is taken. An editor that empties a file before it writes is waited for.
fn settled(path: &Path) -> io::Result<String> {
    let began = std::time::Instant::now();
    loop {
        let bytes = match fs::read(path) {
            Ok(bytes) => bytes,
            // Some editors move the file away for a moment before they write it anew.
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            Err(error) => return Err(error),
        };
        if !bytes.is_empty() || began.elapsed() > EMPTY {
            return Ok(etag(&bytes));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Changes places with the file, looks at what was taken out, and changes back when that was not what was expected: what
/// another program wrote in the last moment is never lost.
fn swap(
    draft: tempfile::NamedTempFile,
    path: &Path,
    from: &str,
    ours: &str,
    folder: &Path,
) -> Result<Replaced, Refusal> {
    if !exchange(draft.path(), path)? {
        // This disk cannot change places: the last look is all there is.
        draft.persist(path).map_err(|error| error.error)?;
        sync(folder)?;
        return Ok(Replaced::Done(None));
    }
    let out = fs::File::open(draft.path())?;
    let mut displaced = Displaced { by: ours.to_owned(), file: out, etag: from.to_owned(), at: SystemTime::now() };
    if displaced.last_words().is_some() {
        exchange(draft.path(), path)?;
        sync(folder)?;
        if etag(&fs::read(draft.path())?) != ours {
            // Two texts from outside within a moment: the older is kept beside the newer, under a name of its own.
            let (_, kept) = draft.keep().map_err(|error| error.error)?;
            tracing::warn!(file = %kept.display(), "a text written outside in the moment of a save was set aside");
        }
        return Ok(Replaced::Changed);
    }
    fault::step()?;
    sync(folder)?;
    Ok(Replaced::Done(Some(displaced)))
}

/// Two files change places in one step. False when the system or the disk has no such step.
fn exchange(one: &Path, other: &Path) -> io::Result<bool> {
    #[cfg(any(target_os = "linux", target_os = "android", target_vendor = "apple"))]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        use rustix::io::Errno;
        match renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE) {
            Ok(()) => Ok(true),
            Err(Errno::INVAL | Errno::NOSYS | Errno::NOTSUP) => Ok(false),
            Err(error) => Err(error.into()),
        }
    }
    #[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
    {
        let _ = (one, other);
        Ok(false)
    }
}

/// Brings a file that is not there yet into the notebook, whole or not at all.
///
/// # Errors
/// When something lies there already, or the disk or the folder refuses.
pub fn bring(root: &Path, inside: &Path, bytes: &[u8]) -> Result<(), Refusal> {
    let path = root.join(inside);
    self::inside(root, &path)?;
    let folder = path.parent().unwrap_or(root);
    fs::create_dir_all(folder)?;
    let mut draft = tempfile::Builder::new().prefix(".makeready-").suffix(".tmp").tempfile_in(folder)?;
    draft.write_all(bytes)?;
    readable(draft.as_file());
    draft.as_file().sync_all()?;
    draft.persist_noclobber(&path).map_err(|error| error.error)?;
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
    fn new(name: Name, about: &fs::Metadata) -> Self {
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
            if !(about.is_file() && name.starts_with(OURS) && name.ends_with(".tmp") && about.len() <= LONGEST) {
                continue;
            }
            let Ok(bytes) = fs::read(entry.path()) else { continue };
            if bytes.is_empty() || is_recorded(&etag(&bytes)) {
                let _ = fs::remove_file(entry.path());
            } else {
                tracing::warn!(file = %entry.path().display(), "a text that no save finished lies here; it is left as it is");
            }
        }
    }
}

/// Where tests make the disk refuse. Nothing in the program itself.
pub(crate) mod fault {
    #[cfg(test)]
    thread_local! {
        /// Steps until one is refused, and how.
        pub(crate) static NEXT: std::cell::Cell<Option<(u32, std::io::ErrorKind)>> = const { std::cell::Cell::new(None) };
    }

    #[cfg(test)]
    pub(crate) fn step() -> std::io::Result<()> {
        match NEXT.get() {
            Some((0, kind)) => {
                NEXT.set(None);
                Err(kind.into())
            }
            Some((left, kind)) => {
                NEXT.set(Some((left - 1, kind)));
                Ok(())
            }
            None => Ok(()),
        }
    }

    #[cfg(not(test))]
    #[expect(clippy::unnecessary_wraps, reason = "in tests it refuses")]
    pub(crate) const fn step() -> std::io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::io::ErrorKind;

    use super::*;

    fn file(text: &str) -> (tempfile::TempDir, Name, PathBuf) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.md");
        fs::write(&path, text).unwrap();
        (folder, Name::new("plan").unwrap(), path)
    }

    /// Names of everything in a folder.
    fn all(folder: &Path) -> Vec<String> {
        let mut all: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        all.sort();
        all
    }

    #[test]
    fn a_disk_that_refuses_at_any_step_leaves_the_old_text_or_the_new() {
        let (mut refused, mut done) = (0, 0);
        for kind in [
            ErrorKind::StorageFull,
            ErrorKind::QuotaExceeded,
            ErrorKind::Other,
            ErrorKind::PermissionDenied,
            ErrorKind::ReadOnlyFilesystem,
        ] {
            for step in 0..8 {
                for fresh in [false, true] {
                    let (folder, name, path) = file("old");
                    let name = if fresh { Name::new("new").unwrap() } else { name };
                    let from = etag(b"old");
                    fault::NEXT.set(Some((step, kind)));
                    let replaced = replace(folder.path(), &name, "new", (!fresh).then_some(from.as_str()));
                    fault::NEXT.set(None);
                    let now = fs::read_to_string(name.file(folder.path())).ok();
                    match replaced {
                        Ok(Replaced::Done(_)) => {
                            assert_eq!(now.as_deref(), Some("new"));
                            done += 1;
                        }
                        Ok(Replaced::Changed) => panic!("nobody else wrote"),
                        Err(refusal) => {
                            refused += 1;
                            assert!(matches!(now.as_deref(), None | Some("old" | "new")), "{now:?}");
                            assert!(!refusal.trouble().what.is_empty() && !refusal.trouble().next.is_empty());
                        }
                    }
                    assert_eq!(fs::read_to_string(&path).unwrap(), if fresh { "old".to_owned() } else { now.unwrap() });
                    assert!(all(folder.path()).iter().all(|name| name.ends_with(".md")), "a draft is left lying");
                    // Once the disk is well again, the same save works.
                    if fresh {
                        let _ = fs::remove_file(name.file(folder.path()));
                    }
                    let now = (!fresh).then(|| etag(&fs::read(&path).unwrap()));
                    assert!(matches!(replace(folder.path(), &name, "newer", now.as_deref()), Ok(Replaced::Done(_))));
                }
            }
        }
        assert_eq!((refused, refused + done), (45, 80), "the steps of a save are as many as they were");
    }

    #[test]
    fn another_text_in_the_place_of_the_old_one_stays() {
        let (folder, name, path) = file("from outside");
        assert!(matches!(replace(folder.path(), &name, "ours", Some(&etag(b"old"))), Ok(Replaced::Changed)));
        assert!(matches!(replace(folder.path(), &name, "ours", None), Ok(Replaced::Changed)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "from outside");
        assert_eq!(all(folder.path()), ["plan.md"]);
    }

    #[test]
    fn a_text_that_comes_in_the_very_moment_of_the_swap_is_put_back() {
        let (folder, _, path) = file("came in the last moment");
        let mut draft = tempfile::Builder::new().prefix(OURS).tempfile_in(folder.path()).unwrap();
        draft.write_all(b"ours").unwrap();
        let swapped = swap(draft, &path, &etag(b"what was looked at"), &etag(b"ours"), folder.path());
        assert!(matches!(swapped, Ok(Replaced::Changed)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "came in the last moment");
        assert_eq!(all(folder.path()), ["plan.md"]);
    }

    #[test]
    fn what_a_program_writes_into_the_file_whose_place_was_taken_is_heard() {
        let (folder, name, path) = file("old");
        let mut open = fs::OpenOptions::new().write(true).open(&path).unwrap();
        let Ok(Replaced::Done(Some(mut displaced))) = replace(folder.path(), &name, "ours", Some(&etag(b"old"))) else {
            panic!("nobody else wrote")
        };
        assert!(displaced.last_words().is_none());
        open.set_len(0).unwrap();
        assert!(displaced.last_words().is_none(), "empty is not yet written");
        open.write_all(b"last words").unwrap();
        assert_eq!(displaced.last_words().map(|kept| kept.text), Some("last words".to_owned()));
        assert!(displaced.last_words().is_none(), "they are heard once");
    }

    #[test]
    fn a_file_keeps_its_rights_and_one_that_is_read_only_is_not_replaced() {
        let (folder, name, path) = file("old");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
            replace(folder.path(), &name, "new", Some(&etag(b"old"))).unwrap();
            assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
            fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
            let refused = replace(folder.path(), &name, "newer", Some(&etag(b"new"))).unwrap_err();
            assert!(refused.trouble().what.contains("read only"));
        }
    }

    #[test]
    fn an_accent_written_in_two_signs_is_the_same_name() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("e\u{301}tang.md"), "# Pond").unwrap();
        let seen = look(folder.path());
        assert_eq!(seen.len(), 1);
        let name = Name::new("\u{e9}tang").unwrap();
        assert_eq!(seen.first().map(|one| one.name.clone()), Some(name.clone()));
        assert_eq!(read(folder.path(), &name).unwrap().text, "# Pond");
        replace(folder.path(), &name, "# Lake", Some(&etag(b"# Pond"))).unwrap();
        assert_eq!(all(folder.path()), ["e\u{301}tang.md"], "no second file is made");
    }

    #[test]
    fn drafts_left_behind_are_cleared_away_when_the_record_holds_them() {
        let (folder, ..) = file("old");
        for (name, text) in [
            (".makeready-a.tmp", "held"),
            (".makeready-b.tmp", "not held"),
            (".makeready-c.tmp", ""),
            ("own.tmp", "held"),
        ] {
            fs::write(folder.path().join(name), text).unwrap();
        }
        tidy(folder.path(), |mark| mark == etag(b"held"));
        assert_eq!(all(folder.path()), [".makeready-b.tmp", "own.tmp", "plan.md"]);
    }

    #[test]
    fn a_link_a_pipe_and_a_folder_are_no_documents() {
        let (folder, _, path) = file("old");
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(&path, folder.path().join("link.md")).unwrap();
            fs::create_dir(folder.path().join("folder.md")).unwrap();
            std::os::unix::fs::symlink("/etc", folder.path().join("etc")).unwrap();
            assert_eq!(look(folder.path()).len(), 1);
            for name in ["link", "folder", "etc/passwd"] {
                assert!(read(folder.path(), &Name::new(name).unwrap()).is_err(), "{name}");
                assert!(replace(folder.path(), &Name::new(name).unwrap(), "x", Some(&etag(b"old"))).is_err(), "{name}");
            }
            assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        }
    }
}
