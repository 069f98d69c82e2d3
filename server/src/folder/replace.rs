//! A new text put in a document's place, so that the file is always whole, old or new, and never over something written
//! outside that nobody has seen.

use std::io::{self, Read as _, Write as _};
use std::path::Path;
use std::time::{Duration, SystemTime};

use fs_err as fs;

use super::{EMPTY, Kept, LONGEST, OURS, bytes_of, hash_of, inside, place, plain, readable, sync};
use crate::error::Error;
use crate::names::Name;

/// The outcome of a replacement.
#[derive(Debug)]
pub enum Replaced {
    /// The new text stands. The old file, which another program may still be writing into, is watched a moment longer.
    Done(Option<Displaced>),
    /// Another text had been written meanwhile: it stands, and this is its hash.
    Changed,
}

/// The file a new text took the place of.
#[derive(Debug)]
pub struct Displaced {
    /// The hash of the text that took the place.
    pub by: String,
    file: std::fs::File,
    hash: String,
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
        let hash = hash_of(&bytes);
        if bytes.is_empty() || hash == self.hash {
            return None;
        }
        self.hash.clone_from(&hash);
        String::from_utf8(bytes).ok().map(|text| Kept { text, hash })
    }
}

/// Puts a new text in a document's place: written beside it, brought to the disk, then changed places with it. `from` is
/// the hash of the text it was made from, nothing for a document that is new: when another text lies there, it stays.
///
/// # Errors
/// When the disk or the folder refuses; the old text then still stands.
pub fn replace(root: &Path, name: &Name, text: &str, from: Option<&str>) -> Result<Replaced, Error> {
    let path = place(root, name);
    inside(root, &path)?;
    let folder = path.parent().unwrap_or(root);
    if !folder.is_dir() {
        fs::create_dir_all(folder)?;
    }
    let there = fs::symlink_metadata(&path).ok();
    if there.as_ref().is_some_and(|about| about.file_type().is_symlink()) {
        return Err(Error::storage(
            format!("`{}.md` is a link", name.as_str()),
            "put the file itself into the notebook's folder",
        ));
    }
    if there.as_ref().is_some_and(|about| about.permissions().readonly()) {
        return Err(Error::storage(
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
    swap(draft, &path, from, &hash_of(text.as_bytes()), folder)
}

/// The hash of a file just before its place is taken. An editor that empties a file before it writes is waited for.
fn settled(path: &Path) -> io::Result<String> {
    let began = std::time::Instant::now();
    loop {
        let bytes = match bytes_of(path) {
            Ok(bytes) => bytes,
            // Some editors move the file away for a moment before they write it again.
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            Err(error) => return Err(error),
        };
        if !bytes.is_empty() || began.elapsed() > EMPTY {
            return Ok(hash_of(&bytes));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Changes places with the file, looks at what was taken out, and changes back when that was not what was expected: what
/// another program wrote in the last moment is never lost.
fn swap(draft: tempfile::NamedTempFile, path: &Path, from: &str, ours: &str, folder: &Path) -> Result<Replaced, Error> {
    if !exchange(draft.path(), path)? {
        // This disk cannot change places: the last look is all there is.
        draft.persist(path).map_err(|error| error.error)?;
        sync(folder)?;
        return Ok(Replaced::Done(None));
    }
    let out = plain(draft.path()).or_else(|error| exchange(draft.path(), path).and(Err(error)))?;
    let mut displaced = Displaced { by: ours.to_owned(), file: out, hash: from.to_owned(), at: SystemTime::now() };
    if displaced.last_words().is_some() {
        exchange(draft.path(), path)?;
        sync(folder)?;
        if hash_of(&bytes_of(draft.path())?) != ours {
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

    use std::path::PathBuf;

    use super::*;
    use crate::folder::{look, read};

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
                    let from = hash_of(b"old");
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
                        Err(error) => {
                            refused += 1;
                            assert!(matches!(now.as_deref(), None | Some("old" | "new")), "{now:?}");
                            assert!(!error.message().what.is_empty() && !error.message().next.is_empty());
                        }
                    }
                    assert_eq!(fs::read_to_string(&path).unwrap(), if fresh { "old".to_owned() } else { now.unwrap() });
                    assert!(all(folder.path()).iter().all(|name| name.ends_with(".md")), "a draft is left lying");
                    // Once the disk is well again, the same save works.
                    if fresh {
                        let _ = fs::remove_file(name.file(folder.path()));
                    }
                    let now = (!fresh).then(|| hash_of(&fs::read(&path).unwrap()));
                    assert!(matches!(replace(folder.path(), &name, "newer", now.as_deref()), Ok(Replaced::Done(_))));
                }
            }
        }
        assert_eq!((refused, refused + done), (45, 80), "the steps of a save are as many as they were");
    }

    #[test]
    fn another_text_in_the_place_of_the_old_one_stays() {
        let (folder, name, path) = file("from outside");
        assert!(matches!(replace(folder.path(), &name, "ours", Some(&hash_of(b"old"))), Ok(Replaced::Changed)));
        assert!(matches!(replace(folder.path(), &name, "ours", None), Ok(Replaced::Changed)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "from outside");
        assert_eq!(all(folder.path()), ["plan.md"]);
    }

    #[test]
    fn a_text_that_comes_in_the_very_moment_of_the_swap_is_put_back() {
        let (folder, _, path) = file("came in the last moment");
        let mut draft = tempfile::Builder::new().prefix(OURS).tempfile_in(folder.path()).unwrap();
        draft.write_all(b"ours").unwrap();
        let swapped = swap(draft, &path, &hash_of(b"what was looked at"), &hash_of(b"ours"), folder.path());
        assert!(matches!(swapped, Ok(Replaced::Changed)));
        assert_eq!(fs::read_to_string(&path).unwrap(), "came in the last moment");
        assert_eq!(all(folder.path()), ["plan.md"]);
    }

    #[test]
    fn what_a_program_writes_into_the_file_whose_place_was_taken_is_heard() {
        let (folder, name, path) = file("old");
        let mut open = fs::OpenOptions::new().write(true).open(&path).unwrap();
        let Ok(Replaced::Done(Some(mut displaced))) = replace(folder.path(), &name, "ours", Some(&hash_of(b"old")))
        else {
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
            fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
            replace(folder.path(), &name, "new", Some(&hash_of(b"old"))).unwrap();
            assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
            fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).unwrap();
            let refused = replace(folder.path(), &name, "newer", Some(&hash_of(b"new"))).unwrap_err();
            assert!(refused.message().what.contains("read only"));
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
        replace(folder.path(), &name, "# Lake", Some(&hash_of(b"# Pond"))).unwrap();
        assert_eq!(all(folder.path()), ["e\u{301}tang.md"], "no second file is made");
    }

    #[test]
    fn a_link_a_pipe_and_a_folder_are_no_documents() {
        let (folder, _, path) = file("old");
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(&path, folder.path().join("link.md")).unwrap();
            fs::create_dir(folder.path().join("folder.md")).unwrap();
            std::os::unix::fs::symlink("/etc", folder.path().join("etc")).unwrap();
            let (here, mode) = (rustix::fs::CWD, rustix::fs::Mode::from_raw_mode(0o600));
            rustix::fs::mkfifoat(here, folder.path().join("pipe.md"), mode).unwrap();
            assert_eq!(look(folder.path()).len(), 1);
            for name in ["link", "folder", "etc/passwd", "pipe"] {
                assert!(read(folder.path(), &Name::new(name).unwrap()).is_err(), "{name}");
                assert!(
                    replace(folder.path(), &Name::new(name).unwrap(), "x", Some(&hash_of(b"old"))).is_err(),
                    "{name}"
                );
            }
            assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        }
    }
}
