//! Paths somebody else wrote down, in an archive or in the list of a backup: none is touched before it is known to be safe.

use std::collections::{BTreeMap, HashMap};
use std::fs;
use std::path::{Path, PathBuf};

use engine::Message;
use unicode_normalization::UnicodeNormalization as _;

use super::{inside, plain};
use crate::error::Error;
use crate::names::{folded, unfit};

/// How many parts a path has at most.
pub(crate) const DEPTH: usize = 8;

/// The path of a file inside a folder, whichever folder: it leads nowhere else, is not hidden and means no device.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Within(String);

impl Within {
    /// A path as it was written down, with `/` between its parts.
    ///
    /// # Errors
    /// When it is empty, absolute, leads upwards, has a drive's letter, is hidden, or has a part some system cannot hold.
    pub(crate) fn new(path: &str) -> Result<Self, Message> {
        let deep = (path.split('/').count() > DEPTH).then_some("it lies more than eight folders deep");
        match path.split('/').find_map(unfit).or(deep) {
            None => Ok(Self(path.to_owned())),
            Some(why) => Err(strange(path, why)),
        }
    }

    /// Where it lies in a folder.
    pub(crate) fn under(&self, root: &Path) -> PathBuf {
        let mut path = root.to_path_buf();
        path.extend(self.0.split('/'));
        path
    }

    /// As it was written down.
    pub(crate) fn as_str(&self) -> &str {
        &self.0
    }

    /// Opens the plain file under this path in a folder, through no link.
    ///
    /// # Errors
    /// When there is none, it is not a plain file, or the way to it passes through a link.
    pub(crate) fn open(&self, root: &Path) -> Result<fs::File, Error> {
        let path = self.under(root);
        inside(root, &path)?;
        Ok(plain(&path)?)
    }
}

fn strange(path: &str, why: &str) -> Message {
    Message::new(shown(path, why), "nothing was written; ask where it comes from")
}

fn clash(path: &str, why: &str) -> Message {
    Message::new(shown(path, why), "nothing was written; give one of the two another name where it comes from")
}

fn in_the_way(path: &str, why: &str) -> Message {
    Message::new(shown(path, why), "nothing was written; give yours another name, or take it out of the notebook")
}

fn shown(path: &str, why: &str) -> String {
    let short: String = path.chars().take(200).collect();
    format!("`{}` cannot lie in a folder of yours: {why}", short.escape_debug())
}

/// Paths that can lie in one folder together, on a disk that tells capitals apart or does not.
#[derive(Debug, Default)]
pub(crate) struct Together(BTreeMap<String, (String, bool)>);

impl Together {
    /// Takes one more path in.
    ///
    /// # Errors
    /// When it differs from another only in capitals or in how its accents are written, is there twice, or is a folder too.
    pub(crate) fn add(&mut self, path: &Within) -> Result<(), Message> {
        let ends: Vec<_> = path.0.match_indices('/').map(|(at, _)| at).chain([path.0.len()]).collect();
        let parts = || ends.iter().filter_map(|end| path.0.get(..*end).map(|part| (part, *end == path.0.len())));
        for (part, is_file) in parts() {
            match self.0.get(&folded(part)) {
                Some((other, _)) if other != part => {
                    return Err(clash(&path.0, &format!("it differs from `{other}` only in capitals or accents")));
                }
                Some((_, other_is_file)) if is_file || *other_is_file => {
                    return Err(clash(&path.0, "another file or folder has the same name"));
                }
                _ => {}
            }
        }
        for (part, is_file) in parts() {
            self.0.insert(folded(part), (part.to_owned(), is_file));
        }
        Ok(())
    }
}

/// Where a path would come to lie in a folder that has files already.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Place {
    /// Nothing lies there yet.
    Free(PathBuf),
    /// This plain file does.
    Taken(PathBuf),
}

/// A folder that has files already, each part of it read once.
#[derive(Debug)]
pub(crate) struct Places<'a> {
    root: &'a Path,
    folders: HashMap<PathBuf, HashMap<String, Vec<String>>>,
}

impl<'a> Places<'a> {
    pub(crate) fn of(root: &'a Path) -> Self {
        Self { root, folders: HashMap::new() }
    }

    /// Where a file of this path would come to lie.
    ///
    /// # Errors
    /// When a name on the way differs from one that is there only in capitals, is a link, or is not a folder or no plain file.
    pub(crate) fn find(&mut self, path: &Within) -> Result<Place, Message> {
        self.walk(path, &path.0, fs::Metadata::is_file)
    }

    /// Whether the folder of this path is there, or can be made.
    ///
    /// # Errors
    /// As [`Places::find`].
    pub(crate) fn folder_of(&mut self, path: &Within) -> Result<(), Message> {
        match path.0.rsplit_once('/') {
            Some((folder, _)) => self.walk(path, folder, fs::Metadata::is_dir).map(|_| ()),
            None => Ok(()),
        }
    }

    fn walk(&mut self, path: &Within, way: &str, last: fn(&fs::Metadata) -> bool) -> Result<Place, Message> {
        let mut at = self.root.to_path_buf();
        let mut parts = way.split('/').peekable();
        while let Some(part) = parts.next() {
            let alike = self.listed(&at).get(&folded(part)).cloned().unwrap_or_default();
            let Some(first) = alike.first() else {
                at.push(part);
                at.extend(parts);
                return Ok(Place::Free(at));
            };
            let Some(same) = alike.iter().find(|one| one.nfc().eq(part.nfc())) else {
                return Err(in_the_way(&path.0, &format!("`{first}` is here already, which differs only in capitals")));
            };
            at.push(same);
            let fits = if parts.peek().is_none() { last } else { fs::Metadata::is_dir };
            // A link is neither a folder nor a plain file.
            if !fs::symlink_metadata(&at).is_ok_and(|about| fits(&about)) {
                return Err(in_the_way(
                    &path.0,
                    &format!("`{same}` in this notebook is a link, or no plain file or folder"),
                ));
            }
        }
        Ok(Place::Taken(at))
    }

    fn listed(&mut self, folder: &Path) -> &HashMap<String, Vec<String>> {
        self.folders.entry(folder.to_path_buf()).or_insert_with(|| {
            let mut all: HashMap<String, Vec<String>> = HashMap::new();
            for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
                let name = entry.file_name().to_string_lossy().into_owned();
                all.entry(folded(&name)).or_default().push(name);
            }
            all
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{Place, Places, Together, Within};

    #[test]
    fn a_path_leads_to_one_file_inside_the_folder_or_is_refused() {
        for bad in [
            "",
            "/",
            "/etc/passwd",
            "..",
            "../.bashrc",
            "a/../../b",
            "a/..",
            "./a",
            "a/./b",
            "a//b",
            "a/",
            "C:x",
            "C:/x",
            "c:\\x",
            "a\\..\\b",
            "\\\\host\\x",
            ".bashrc",
            "a/.hidden",
            "con",
            "a/NUL.txt",
            "com1.md",
            "aux .txt",
            "lpt9",
            "CONIN$",
            "a.",
            "a ",
            "a./b",
            "x\0",
            "a\nb",
            "a\u{7f}b",
            "notes.md:stream",
            "1/2/3/4/5/6/7/8/9",
        ] {
            assert!(Within::new(bad).is_err(), "{bad:?} was taken");
        }
        for good in ["a", "shops/tarn-lab.md", "scans/roll 12/a..b (2).tif", "Été.md", "1/2/3/4/5/6/7/8", "console.md"]
        {
            let root = std::path::Path::new("/n");
            assert!(Within::new(good).unwrap().under(root).starts_with(root), "{good:?}");
        }
    }

    #[test]
    fn paths_that_some_disks_hold_for_one_do_not_lie_together() {
        for (one, other) in [
            ("a.jpg", "A.jpg"),
            ("a/x.jpg", "A/y.jpg"),
            ("\u{e9}.jpg", "e\u{301}.jpg"),
            ("\u{c9}.jpg", "e\u{301}.jpg"),
            ("stra\u{df}e.jpg", "STRASSE.jpg"),
            ("a.jpg", "a.jpg"),
            ("a", "a/b.jpg"),
            ("a/b.jpg", "a"),
        ] {
            let mut all = Together::default();
            all.add(&Within::new(one).unwrap()).unwrap();
            assert!(all.add(&Within::new(other).unwrap()).is_err(), "{one:?} beside {other:?}");
        }
        let mut all = Together::default();
        for path in ["a/b.jpg", "a/c.jpg", "a/d/b.jpg", "b.jpg"] {
            all.add(&Within::new(path).unwrap()).unwrap();
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_place_is_free_taken_by_a_plain_file_or_refused() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        std::fs::create_dir(root.join("scans")).unwrap();
        std::fs::write(root.join("scans/e\u{301}.jpg"), "x").unwrap();
        std::os::unix::fs::symlink("/etc", root.join("etc")).unwrap();
        std::os::unix::fs::symlink("/nowhere", root.join("gone.jpg")).unwrap();
        let find = |path: &str| Places::of(root).find(&Within::new(path).unwrap());
        assert_eq!(find("new/deep/a.jpg").unwrap(), Place::Free(root.join("new/deep/a.jpg")));
        assert_eq!(find("scans/\u{e9}.jpg").unwrap(), Place::Taken(root.join("scans/e\u{301}.jpg")));
        for bad in ["Scans/a.jpg", "scans/\u{c9}.jpg", "etc/passwd", "gone.jpg", "scans", "scans/e\u{301}.jpg/a.jpg"] {
            assert!(find(bad).is_err(), "{bad}");
        }
        assert!(Places::of(root).folder_of(&Within::new("Scans/a.md").unwrap()).is_err());
        assert!(Places::of(root).folder_of(&Within::new("scans/a.md").unwrap()).is_ok());
    }
}
