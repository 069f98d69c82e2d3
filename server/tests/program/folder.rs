//! Notebooks to begin a test with, in folders that go away with it.

use std::path::{Path, PathBuf};

/// The shipped notebook.
pub(crate) fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks").canonicalize().expect("the shipped notebook")
}

/// A copy of the shipped notebook.
pub(crate) fn copied() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    copy(&shipped(), folder.path());
    folder
}

/// Copies plans and rate sheets from one folder to another.
pub(crate) fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for entry in std::fs::read_dir(from).expect("a folder").flatten() {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else if entry.path().extension().is_some_and(|end| end == "md") {
            std::fs::copy(entry.path(), target).expect("a copy");
        }
    }
}

/// A notebook with these documents in it.
pub(crate) fn notebook(documents: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, text) in documents {
        let path: PathBuf = folder.path().join(format!("{name}.md"));
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        std::fs::write(path, text).expect("a document");
    }
    folder
}
