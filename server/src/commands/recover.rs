//! `makeready recover`: the record of a notebook brought back from a copy, after it went missing, was damaged, or another program
//! put an older one in its place. What lies there is put aside and never deleted.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::{is_folder, print};
use crate::error::Error;
use crate::folder;
use crate::store::kept_copies::{self, FOLDER};
use crate::store::witness::Witness;
use crate::store::{Completed, FILE, LEDGER, SAVES, Store, copies, is_there};

/// Which record it is to be.
#[derive(Clone, Debug, Args)]
pub(super) struct Recover {
    /// The notebook's folder
    #[arg(default_value = ".")]
    notebook: PathBuf,
    /// This copy of the record, instead of the best in `.makeready-copies`: a backup has one, `makeready.db`
    #[arg(long, value_name = "FILE", conflicts_with_all = ["as_it_is", "new"])]
    from: Option<PathBuf>,
    /// The one that lies there, although it is not the one last used
    #[arg(long, conflicts_with = "new")]
    as_it_is: bool,
    /// A new one: without the sales, revisions and links there were
    #[arg(long)]
    new: bool,
}

impl Recover {
    pub(super) fn run(self) -> Result<ExitCode, Error> {
        let root = self.notebook.as_path();
        is_folder(root)?;
        let noted = Witness::noted(root);
        if self.as_it_is {
            if !is_there(root) {
                return Err(Error::missing(
                    format!("no record lies in `{}`", root.display()),
                    "bring a copy back, or begin a new record with `--new`",
                ));
            }
            copies::look_through_in_use(&root.join(FILE))?;
            Witness::forget(root);
        } else if self.new {
            Self::lies_well(root, "leave it; a new one would lose all of it")?;
            put_aside(root, true)?;
        } else {
            let copy = match self.from {
                Some(copy) => copy,
                None => {
                    Self::lies_well(root, "nothing needs to be brought back; give a copy with `--from` all the same")?;
                    best(root, noted.as_ref())?
                }
            };
            copies::look_through(&copy)?;
            bring(root, &copy)?;
            print(&format!("{}: brought back\n", copy.display()));
        }
        let completed = if self.new { Completed::default() } else { Store::complete(root)? };
        for (count, one, file) in [(completed.ledger.0, "ledger line", LEDGER), (completed.saves.0, "revision", SAVES)]
        {
            match count {
                0 => {}
                1 => print(&format!("one {one} was added from `{file}`\n")),
                count => print(&format!("{count} {one}s were added from `{file}`\n")),
            }
        }
        let store = Store::open_or_begin(root)?;
        if let Some(message) = store.halted() {
            return Err(Error::Halted(message.clone()));
        }
        drop(store);
        let now = copies::look_through_in_use(&root.join(FILE))?;
        print(&format!(
            "{}: {} revisions, {} ledger lines, {} certificates\n",
            root.join(FILE).display(),
            now.revisions,
            now.ledger,
            now.certificates
        ));
        if completed.saves.1 > 0 {
            print(&format!(
                "{} other saves do not follow those of this record: their texts are in `{}`, in a text file\n",
                completed.saves.1,
                kept_copies::FOLDER
            ));
        }
        if completed.ledger.1 > 0 {
            let apart = completed.ledger.1;
            print(&format!(
                "{apart} other ledger lines do not follow those of this record: they are in `{}`, a text file; compare them before you sell\n",
                FOLDER
            ));
        }
        if let Some(lost) = noted.and_then(|noted| missing(&noted, i64::from(now.revisions), i64::from(now.ledger))) {
            print(&format!("{lost}\n"));
        }
        Ok(ExitCode::SUCCESS)
    }

    /// Refuses when the record lies there as it should.
    fn lies_well(root: &Path, next: &str) -> Result<(), Error> {
        let well = Store::open(root).is_ok_and(|store| store.halted().is_none());
        if well && is_there(root) {
            return Err(Error::taken(format!("the record of `{}` lies there as it was left", root.display()), next));
        }
        Ok(())
    }
}

/// The copy that holds the most of the record last used.
fn best(root: &Path, noted: Option<&Witness>) -> Result<PathBuf, Error> {
    let place = root.join(FOLDER);
    let mut all = kept_copies::all(&place);
    all.extend(kept_copies::rescued(&place));
    let sound = all.into_iter().filter(|copy| copies::look_through(copy).is_ok());
    let witness = sound.filter_map(|copy| copies::witness(&copy).ok().map(|witness| (witness, copy)));
    let is_own = |witness: &Witness| noted.is_none_or(|noted| noted.name == witness.name);
    witness
        .max_by_key(|(witness, copy)| (is_own(witness), witness.writes, copy.clone()))
        .map(|(_, copy)| copy)
        .ok_or_else(|| {
            Error::missing(
                format!("there is no sound copy in `{}`", place.display()),
                format!("give one of a backup: `--from BACKUP/{FILE}`; or begin a new record with `--new`"),
            )
        })
}

/// Puts a copy in the record's place.
fn bring(root: &Path, copy: &Path) -> Result<(), Error> {
    let draft = tempfile::Builder::new().prefix(".makeready-").suffix(".db").tempfile_in(root)?;
    fs::copy(copy, draft.path())?;
    draft.as_file().sync_all()?;
    put_aside(root, false)?;
    draft.persist_noclobber(root.join(FILE)).map_err(|error| error.error)?;
    folder::sync(root)
}

/// Puts what lies at the record's place aside, with its log, which would be taken for that of the next.
fn put_aside(root: &Path, all: bool) -> Result<(), Error> {
    Witness::forget(root);
    let mut files: Vec<_> = ["", "-wal", "-shm"].iter().map(|end| format!("{FILE}{end}")).collect();
    if all {
        files.extend([LEDGER.to_owned(), SAVES.to_owned()]);
    }
    if files.iter().any(|file| root.join(file).exists()) {
        let place = root.join(FOLDER);
        fs::create_dir_all(&place)?;
        let aside = tempfile::Builder::new().prefix("aside-").tempdir_in(&place)?.keep();
        for file in files.iter().filter(|file| root.join(file).exists()) {
            fs::rename(root.join(file), aside.join(file))?;
        }
        folder::sync(&aside)?;
        print(&format!("{}: what lay there is put aside\n", aside.display()));
    }
    folder::sync(root)
}

/// What was saved and is not in the record any more, in a sentence.
fn missing(noted: &Witness, revisions: i64, ledger: i64) -> Option<String> {
    let (saves, entries) = (noted.revision.0 - revisions, noted.ledger.0 - ledger);
    (saves > 0 || entries > 0).then(|| {
        format!(
            "It lacks {} revisions and {} ledger entries that were saved: the plans' files hold their last texts; write the ledger entries again before you sell.",
            saves.max(0),
            entries.max(0)
        )
    })
}
