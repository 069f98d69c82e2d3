//! `makeready backup`, `restore`, `export` and `import`: a notebook or one plan out and in again.

use std::io::Seek as _;
use std::path::Path;
use std::process::ExitCode;

use super::{is_folder, notebook_of, print};
use crate::backup;
use crate::clock::Clock;
use crate::error::Error;
use crate::folder;
use crate::notebook::{Ledger, Notebook};
use crate::store::Store;

pub(super) fn backup(notebook: &Path, to: &Path) -> Result<ExitCode, Error> {
    is_folder(notebook)?;
    let moment = Clock::Computer.moment();
    let made = backup::make(notebook, to, &moment)?;
    if let Some(holds) = &made.record {
        // The copy is good, whether this can be noted or not.
        let noted =
            Store::open(notebook).and_then(|store| store.note_backup(&moment, &to.display().to_string(), holds));
        if let Err(error) = noted {
            eprintln!("makeready: that a backup was made could not be noted: {}", error.message());
        }
    }
    report("backed up and read back", to, &made);
    for left in &made.left {
        eprintln!("makeready: left out of this backup: {left}; rename it and back up again");
    }
    Ok(ExitCode::from(u8::from(!made.left.is_empty())))
}

pub(super) fn restore(from: &Path, to: &Path) -> Result<ExitCode, Error> {
    let made = backup::restore(from, to)?;
    report("restored and read back", to, &made);
    Ok(ExitCode::SUCCESS)
}

fn report(done: &str, to: &Path, backup: &backup::Backup) {
    let record = backup.record.as_ref().map_or_else(
        || "no record".to_owned(),
        |counts| {
            format!(
                "{} revisions, {} ledger lines, {} certificates",
                counts.revisions, counts.ledger, counts.certificates
            )
        },
    );
    print(&format!("{}: {done}, {} files, {record}\n", to.display(), backup.files.len()));
}

pub(super) fn export(plan: &Path, out: Option<&Path>, ledger: Option<&str>) -> Result<ExitCode, Error> {
    let which = match ledger {
        None => Ledger::None,
        Some("events") => Ledger::Events,
        Some("whole") => Ledger::Whole,
        Some(other) => {
            return Err(Error::unusable(
                format!("`{other}` is nothing a ledger is exported as"),
                "write events, or whole for names and amounts too",
            ));
        }
    };
    let (notebook, name) = notebook_of(plan)?;
    let stem = name.as_str().rsplit('/').next().unwrap_or("plan");
    let out = out.map_or_else(|| Path::new(&format!("{stem}.zip")).to_path_buf(), Path::to_path_buf);
    if out.exists() {
        return Err(Error::taken(
            format!("`{}` is already there", out.display()),
            "choose another name with `--out`; nothing was changed",
        ));
    }
    let mut draft = folder::nameless(out.parent().filter(|at| !at.as_os_str().is_empty()).unwrap_or(Path::new(".")))?;
    draft = notebook.export(&name, which, draft)?;
    draft.rewind()?;
    std::io::copy(&mut draft, &mut std::fs::File::create_new(&out)?)?;
    print(&format!("{}\n", out.display()));
    Ok(ExitCode::SUCCESS)
}

pub(super) fn import(archive: &Path, root: &Path) -> Result<ExitCode, Error> {
    let file = folder::plain(archive).map_err(|_| {
        Error::missing(format!("there is no file `{}`", archive.display()), "give an archive a notebook exported")
    })?;
    let notebook = Notebook::open(root.to_path_buf(), Store::open(root)?, Clock::Computer)?;
    let brought = notebook.import(&file)?;
    for left in &brought.left {
        eprintln!("makeready: {left}");
    }
    print(&format!("{}\n", brought.plan.file(root).display()));
    Ok(ExitCode::SUCCESS)
}
