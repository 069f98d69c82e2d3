//! A plan coming in from an archive: all of it, or nothing.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

use super::Notebook;
use super::history::Calculate;
use super::unpack::{Packed, broken, is_ledger};
use crate::error::Error;
use crate::folder::{self, Place, Places, Within};
use crate::names::Name;

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

impl Notebook {
    /// Takes an archive in. The plan gets a free name; rate sheets and pictures that are here already stay as they are.
    /// Everything is looked through before anything is written, and what was written is taken away again when the rest cannot be.
    ///
    /// # Errors
    /// When it is not a such archive, holds what cannot lie in a notebook, is larger than is unpacked, or is damaged; and when
    /// the disk refuses.
    pub fn import(&self, archive: &File) -> Result<Brought, Error> {
        let mut packed = Packed::open(archive)?;
        let holds = packed.look_through()?;
        let plan = Name::new(&holds.manifest.plan).map_err(Error::Unusable)?;
        let own = Within::new(&format!("{}.md", plan.as_str())).map_err(Error::Unusable)?;
        let text = holds.texts.get(&own).ok_or_else(broken)?;
        let mut places = Places::of(self.root());
        places.folder_of(&own).map_err(Error::Unusable)?;
        let (mut new, mut left) = (BTreeMap::new(), Vec::new());
        for (path, mark) in holds.files.iter().filter(|(path, _)| **path != own && !is_ledger(path)) {
            match places.find(path).map_err(Error::Unusable)? {
                Place::Free(at) => {
                    new.insert(path, at);
                }
                Place::Taken(here) if folder::marked(&mut folder::plain(&here)?)? != *mark => left.push(kept(path)),
                Place::Taken(_) => {}
            }
        }
        let mut bringing = Bringing::to(self);
        packed.each(|path, from| match Within::new(path).ok().and_then(|path| new.get_key_value(&path)) {
            Some((path, at)) if !holds.texts.contains_key(path) => {
                if !bringing.picture(path, at, from)? {
                    left.push(kept(path));
                }
                Ok(())
            }
            _ => Ok(()),
        })?;
        for path in new.keys() {
            if let Some(text) = holds.texts.get(*path)
                && !bringing.sheet(path, text)?
            {
                left.push(kept(path));
            }
        }
        let plan = bringing.plan(&plan, text)?;
        Ok(Brought { plan, written: bringing.done(), left })
    }
}

fn kept(path: &Within) -> String {
    format!("{} is here already and differs; yours was kept", path.as_str())
}

/// What was written so far. Unless all of it is, it is taken away again.
struct Bringing<'a> {
    notebook: &'a Notebook,
    written: Vec<String>,
    pictures: Vec<PathBuf>,
    texts: Vec<(Name, String)>,
    folders: Vec<PathBuf>,
}

impl<'a> Bringing<'a> {
    fn to(notebook: &'a Notebook) -> Self {
        Self { notebook, written: Vec::new(), pictures: Vec::new(), texts: Vec::new(), folders: Vec::new() }
    }

    /// Brings a picture. False when another came there meanwhile.
    fn picture(&mut self, path: &Within, at: &Path, from: &mut dyn Read) -> Result<bool, Error> {
        self.folder_for(at)?;
        let is_new = folder::bring(at, from)?;
        if is_new {
            self.pictures.push(at.to_path_buf());
            self.written.push(path.as_str().to_owned());
        }
        Ok(is_new)
    }

    /// Brings a rate sheet. False when another came there meanwhile.
    fn sheet(&mut self, path: &Within, text: &str) -> Result<bool, Error> {
        let name = Name::new(path.as_str().strip_suffix(".md").unwrap_or(path.as_str())).map_err(Error::Unusable)?;
        self.folder_for(&path.under(self.notebook.root()))?;
        let lock = self.notebook.documents.lock_of(&name);
        let _held = lock.lock();
        // Noted first: a save that breaks off may have written its file already.
        self.texts.push((name.clone(), folder::hash_of(text.as_bytes())));
        match self.notebook.put(&name, text, None) {
            Ok(_) => {
                self.written.push(path.as_str().to_owned());
                Ok(true)
            }
            Err(Error::Stale { .. }) => {
                self.texts.pop();
                Ok(false)
            }
            Err(error) => Err(error),
        }
    }

    /// Brings the plan, under a free name.
    fn plan(&mut self, wanted: &Name, text: &str) -> Result<Name, Error> {
        let lock = self.notebook.documents.lock_of(wanted);
        let _held = lock.lock();
        let name = self.notebook.free_name(wanted)?;
        self.folder_for(&name.file(self.notebook.root()))?;
        self.texts.push((name.clone(), folder::hash_of(text.as_bytes())));
        self.notebook.put(&name, text, None)?;
        self.written.push(format!("{}.md", name.as_str()));
        Ok(name)
    }

    /// Makes the folders on the way to a file, and remembers which are new.
    fn folder_for(&mut self, file: &Path) -> Result<(), Error> {
        let above = file.ancestors().skip(1).take_while(|folder| *folder != self.notebook.root());
        let missing: Vec<_> = above.filter(|folder| !folder.exists()).map(Path::to_path_buf).collect();
        for folder in missing.into_iter().rev() {
            fs::create_dir(&folder)?;
            self.folders.push(folder);
        }
        Ok(())
    }

    /// All of it is there and stays. Gives the names of its files.
    fn done(mut self) -> Vec<String> {
        self.pictures.clear();
        self.texts.clear();
        self.folders.clear();
        std::mem::take(&mut self.written)
    }
}

impl Drop for Bringing<'_> {
    fn drop(&mut self) {
        for picture in &self.pictures {
            let _ = fs::remove_file(picture);
        }
        for (name, hash) in &self.texts {
            let lock = self.notebook.documents.lock_of(name);
            let _held = lock.lock();
            // What somebody wrote over it meanwhile is theirs.
            if folder::read(self.notebook.root(), name).is_ok_and(|lies| lies.hash == *hash) {
                let _ = fs::remove_file(folder::place(self.notebook.root(), name));
            }
            self.notebook.fresh_held(name, Calculate::Now);
        }
        for folder in self.folders.iter().rev() {
            // Only where nothing else came into it.
            let _ = fs::remove_dir(folder);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::{ErrorKind, Seek as _, Write as _};

    use engine::measure::Day;

    use super::*;
    use crate::clock::Clock;
    use crate::folder::fault;
    use crate::notebook::Ledger;
    use crate::store::Store;

    fn open(root: &Path) -> Notebook {
        let clock = Clock::Fixed(Day::parse("2026-11-25").unwrap());
        Notebook::open(root.to_path_buf(), Store::open(root).unwrap(), clock).unwrap()
    }

    /// Every path in a folder but the record's own.
    fn tree(root: &Path) -> Vec<PathBuf> {
        let mut all = Vec::new();
        let mut folders = vec![root.to_path_buf()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap().flatten() {
                if entry.path().is_dir() {
                    folders.push(entry.path());
                }
                all.push(entry.path());
            }
        }
        all.retain(|path| {
            let name = path.file_name().unwrap().to_string_lossy();
            !name.starts_with("makeready") && ![".makeready-record.txt", ".makeready-saves.txt"].contains(&&*name)
        });
        all.sort();
        all
    }

    #[test]
    fn a_disk_that_refuses_at_any_step_of_an_import_leaves_all_of_it_or_nothing() {
        let from = tempfile::tempdir().unwrap();
        fs::create_dir_all(from.path().join("scans/weir")).unwrap();
        fs::create_dir(from.path().join("shops")).unwrap();
        fs::write(from.path().join("scans/weir/one.jpg"), "one").unwrap();
        fs::write(from.path().join("scans/two.jpg"), "two").unwrap();
        fs::write(from.path().join("shops/tarn-lab.md"), "+++\ntitle = \"Tarn Lab\"\nkind = \"rate sheet\"\n+++\n")
            .unwrap();
        let plan = "+++\ntitle = \"Weir\"\n[shops]\nlab = \"shops/tarn-lab\"\n+++\n\n# Weir\n\n![one](scans/weir/one.jpg)\n\n![two](scans/two.jpg)\n";
        fs::write(from.path().join("weir.md"), plan).unwrap();
        let mut archive = tempfile::tempfile().unwrap();
        let bytes = open(from.path())
            .export(&Name::new("weir").unwrap(), Ledger::None, std::io::Cursor::new(Vec::new()))
            .unwrap()
            .into_inner();
        archive.write_all(&bytes).unwrap();
        archive.rewind().unwrap();
        let to = tempfile::tempdir().unwrap();
        let notebook = open(to.path());
        let mut refused = 0;
        let brought = loop {
            fault::NEXT.set(Some((refused, ErrorKind::StorageFull)));
            let brought = notebook.import(&archive);
            fault::NEXT.set(None);
            if let Ok(brought) = brought {
                break brought;
            }
            assert_eq!(tree(to.path()), Vec::<PathBuf>::new(), "left behind by a refusal at step {refused}");
            refused += 1;
        };
        // A name that has a record, as one that could not be written after it was recorded, is not used again.
        let plan = fs::read(brought.plan.file(to.path()));
        assert_eq!(plan.ok(), fs::read(from.path().join("weir.md")).ok());
        for file in ["shops/tarn-lab.md", "scans/two.jpg", "scans/weir/one.jpg"] {
            let (here, there) = (fs::read(to.path().join(file)), fs::read(from.path().join(file)));
            assert_eq!(here.ok(), there.ok(), "{file}");
        }
        assert!(refused > 8, "the disk was asked {refused} times only");
    }
}
