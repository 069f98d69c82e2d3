//! Backups: a whole notebook out and in.

use super::*;

#[tokio::test]
async fn a_backup_made_in_use_is_read_back_and_brings_everything_back() {
    let studio = Studio::new();
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20"})).await;
    let outside = tempfile::tempdir().unwrap();
    let (copy, back) = (outside.path().join("copy"), outside.path().join("back"));
    let made = server::backup::make(studio.folder.path(), &copy, "2026-11-25T12:00:00Z").unwrap();
    let counts = made.record.unwrap();
    assert_eq!((counts.revisions, counts.ledger), (3, 1));
    // Nothing is written over, and no backup lies in what it is of.
    assert!(server::backup::make(studio.folder.path(), &copy, "now").is_err());
    assert!(server::backup::make(studio.folder.path(), &studio.folder.path().join("copy"), "now").is_err());
    server::backup::restore(&copy, &back).unwrap();
    assert!(server::backup::restore(&copy, &back).is_err());
    for file in ["long-weir.md", "shops/tarn-lab.md"] {
        assert_eq!(std::fs::read_to_string(back.join(file)).unwrap(), studio.text(file));
    }
    let (notebook, _) = open(&back, "2026-11-25");
    let name = server::names::Name::new("long-weir").unwrap();
    assert_eq!(notebook.store().ledger(&name).unwrap(), studio.notebook.store().ledger(&name).unwrap());
    assert_eq!(notebook.store().revisions(&name).unwrap().len(), 2);
    assert_eq!(std::fs::read_dir(outside.path()).unwrap().count(), 2, "nothing half done is left");
}

/// Saves put drafts beside the plans for a moment, and editors take files away before they write them again.
#[tokio::test]
async fn a_backup_is_made_while_files_come_and_go() {
    let studio = Studio::new();
    let (folder, outside) = (studio.folder.path(), tempfile::tempdir().unwrap());
    let (going_on, ended) = std::sync::mpsc::channel::<()>();
    std::thread::scope(|threads| {
        threads.spawn(move || {
            while ended.try_recv() != Err(std::sync::mpsc::TryRecvError::Disconnected) {
                for (name, text) in [(".makeready-a.tmp", "draft"), ("shops/new-lab.md", "# New Lab\n")] {
                    std::fs::write(folder.join(name), text).unwrap();
                    std::fs::remove_file(folder.join(name)).unwrap();
                }
            }
        });
        // Dropped when this ends, well or not.
        let _going_on = going_on;
        for turn in 0..60 {
            let made = server::backup::make(folder, &outside.path().join(turn.to_string()), "2026-11-25T12:00:00Z");
            let files = made.unwrap().files;
            assert!(
                files.contains_key("long-weir.md") && files.keys().all(|path| !path.contains("index")),
                "{files:?}"
            );
        }
    });
}

#[tokio::test]
async fn the_first_page_says_when_work_is_in_no_backup() {
    let studio = Studio::new();
    let says = async |studio: &Studio| {
        let page = studio.get("/").await;
        let at = page.find("makeready backup").map(|at| page[..at].rfind("<span>").unwrap());
        at.map(|at| page[at + 6..].split("Everything").next().unwrap().trim().to_owned())
    };
    assert_eq!(says(&studio).await, None, "what lay there when the notebook was opened is not work yet");
    studio.change("long-weir", "/plan/long-weir/given", json!({"given": 0, "value": "60"})).await;
    assert_eq!(says(&studio).await.as_deref(), Some("This notebook was never backed up."));
    let outside = tempfile::tempdir().unwrap();
    let moment = "2026-11-25T12:00:00Z";
    let made = server::backup::make(studio.folder.path(), &outside.path().join("copy"), moment).unwrap();
    Store::open(studio.folder.path()).unwrap().note_backup(moment, "elsewhere", &made.record.unwrap()).unwrap();
    assert_eq!(says(&studio).await, None);
    let studio = studio.on("2026-12-20");
    assert_eq!(says(&studio).await, None, "an old backup that holds everything is good");
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-12-19"})).await;
    let told = "The last backup was made on 25 November 2026, 25 days ago, and work was saved since.";
    assert_eq!(says(&studio).await.as_deref(), Some(told));
}

#[tokio::test]
async fn the_record_is_copied_once_a_day_while_it_changes_and_three_copies_stay() {
    let studio = Studio::new();
    let copies = || {
        let mut all: Vec<_> = std::fs::read_dir(studio.folder.path().join(server::store::kept_copies::FOLDER))
            .unwrap()
            .map(|one| one.unwrap().file_name().into_string().unwrap())
            .collect();
        all.sort();
        all
    };
    let root = studio.folder.path();
    assert!(server::daily::make(root, day("2026-11-25")).unwrap().is_some());
    assert!(server::daily::make(root, day("2026-11-25")).unwrap().is_none(), "once a day");
    assert!(server::daily::make(root, day("2026-11-26")).unwrap().is_none(), "nothing changed");
    for (number, on) in [(1, "2026-11-27"), (2, "2026-11-28"), (3, "2026-12-02")] {
        // Disks count time in steps.
        tokio::time::sleep(std::time::Duration::from_millis(30)).await;
        studio.post("/plan/long-weir/ledger", json!({"number": number, "what": "sold", "when": "2026-11-25"})).await;
        let copy = server::daily::make(root, day(on)).unwrap().unwrap();
        assert_eq!(server::store::copies::look_through(&copy).unwrap().ledger, number);
    }
    assert_eq!(copies(), ["makeready-2026-11-27.db", "makeready-2026-11-28.db", "makeready-2026-12-02.db"]);
    // A damaged record is not copied, and what is sound stays.
    studio.notebook.settle();
    let all = std::fs::read(root.join("makeready.db")).unwrap();
    drop(studio.notebook);
    drop(studio.app);
    let mut torn = all.clone();
    let middle = torn.len() / 2;
    torn[middle..].fill(7);
    std::fs::write(root.join("makeready.db"), torn).unwrap();
    let _ = std::fs::remove_file(root.join("makeready.db-wal"));
    assert!(server::daily::make(root, day("2026-12-03")).is_err());
    assert_eq!(copies().len(), 3);
}

#[tokio::test]
async fn any_single_byte_turned_in_a_backup_is_told() {
    let studio = Studio::new();
    studio.post("/plan/long-weir/ledger", json!({"number": 1, "what": "sold", "when": "2026-11-20"})).await;
    let outside = tempfile::tempdir().unwrap();
    let copy = outside.path().join("copy");
    server::backup::make(studio.folder.path(), &copy, "2026-11-25T12:00:00Z").unwrap();
    server::backup::look_through(&copy).unwrap();
    let files = ["makeready.db", "long-weir.md", "shops/tarn-lab.md", "backup.json", "backup.sha256"];
    // A plain generator of numbers with a fixed beginning: the same places every time.
    let mut number = 20_261_125_u64;
    for turn in 0..long_form("MAKEREADY_BYTES", 200) {
        number = number.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let path = copy.join(files[turn % files.len()]);
        let mut bytes = std::fs::read(&path).unwrap();
        let at = usize::try_from(number >> 16).unwrap() % bytes.len();
        bytes[at] ^= 1 << (turn % 8);
        std::fs::write(&path, &bytes).unwrap();
        assert!(server::backup::look_through(&copy).is_err(), "byte {at} of {} went unseen", path.display());
        bytes[at] ^= 1 << (turn % 8);
        std::fs::write(&path, &bytes).unwrap();
    }
    server::backup::look_through(&copy).unwrap();
}

/// A backup changed by somebody who knows how: files beside it, its list, and the list's mark written again.
fn relisted(copy: &std::path::Path, change: impl FnOnce(&mut serde_json::Map<String, Value>)) {
    use sha2::Digest as _;
    let mut list: Value = serde_json::from_slice(&std::fs::read(copy.join("backup.json")).unwrap()).unwrap();
    change(list["files"].as_object_mut().unwrap());
    let bytes = serde_json::to_vec_pretty(&list).unwrap();
    std::fs::write(copy.join("backup.json"), &bytes).unwrap();
    let mark: String = sha2::Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    std::fs::write(copy.join("backup.sha256"), mark).unwrap();
}

fn mark_of(bytes: &[u8]) -> Value {
    use sha2::Digest as _;
    sha2::Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect::<String>().into()
}

/// Every path below a folder.
pub(crate) fn tree(root: &std::path::Path) -> Vec<std::path::PathBuf> {
    let (mut all, mut folders) = (Vec::new(), vec![root.to_path_buf()]);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            if entry.file_type().unwrap().is_dir() {
                folders.push(entry.path());
            }
            all.push(entry.path());
        }
    }
    all.sort();
    all
}

#[tokio::test]
async fn a_backup_that_lists_paths_out_of_its_folder_restores_nothing() {
    let studio = Studio::new();
    let outside = tempfile::tempdir().unwrap();
    for (number, path) in [
        "../.bashrc",
        "../../to/x.md",
        "shops/../../x.md",
        "/tmp/makeready-slipped.md",
        "C:x.md",
        "a\\..\\x.md",
        ".bashrc",
        "shops/.hidden.md",
        "con.md",
        "x.md.",
        "x./y.md",
        "x\ny.md",
        "",
        ".",
        "makeready.db-wal",
        "backup.json",
        "LONG-WEIR.md",
        "Shops/other.md",
        "long-weir.md/x.md",
    ]
    .into_iter()
    .enumerate()
    {
        let place = outside.path().join(number.to_string());
        let (copy, to) = (place.join("from/copy"), place.join("to/back"));
        for folder in [&copy, &to] {
            std::fs::create_dir_all(folder.parent().unwrap()).unwrap();
        }
        server::backup::make(studio.folder.path(), &copy, "2026-11-25T12:00:00Z").unwrap();
        // What it lists lies there, where that can be: nothing else than the path is wrong with it.
        let (at, text) = (copy.join(path), b"mine now");
        let lies = !path.is_empty() && path != "." && !path.starts_with("backup");
        if lies && at.parent().is_some_and(|folder| std::fs::create_dir_all(folder).is_ok()) {
            let _ = std::fs::write(&at, text);
        }
        relisted(&copy, |files| {
            files.insert(path.to_owned(), mark_of(&std::fs::read(&at).unwrap_or_default()));
        });
        let before = tree(outside.path());
        let refusal = server::backup::restore(&copy, &to).expect_err(path);
        let first = path.split('/').next().unwrap_or_default().escape_debug().to_string();
        assert!(refusal.message().what.contains(&first), "{path:?}: {refusal}");
        assert_eq!(tree(outside.path()), before, "{path:?} wrote something");
        let _ = std::fs::remove_file("/tmp/makeready-slipped.md");
    }
}

/// What is said within two seconds; a pipe that keeps its reader waiting is let go of, so that the test ends.
#[cfg(unix)]
fn in_time<T: Send + 'static>(pipe: &std::path::Path, act: impl FnOnce() -> T + Send + 'static) -> T {
    let (out, said) = std::sync::mpsc::channel();
    std::thread::spawn(move || out.send(act()));
    let answer = said.recv_timeout(std::time::Duration::from_secs(2));
    if answer.is_err() {
        let _ = std::fs::OpenOptions::new().write(true).open(pipe);
    }
    answer.expect("no answer within two seconds")
}

#[cfg(unix)]
#[tokio::test]
async fn a_backup_holds_no_link_and_no_pipe() {
    use std::os::unix::fs::symlink;
    let studio = Studio::new();
    let outside = tempfile::tempdir().unwrap();
    let secret = outside.path().join("secret");
    std::fs::write(&secret, studio.text("long-weir.md")).unwrap();
    let shops = outside.path().join("elsewhere");
    std::fs::create_dir(&shops).unwrap();
    std::fs::write(shops.join("tarn-lab.md"), studio.text("shops/tarn-lab.md")).unwrap();
    for (what, path) in [
        ("link", "long-weir.md"),
        ("folder", "shops"),
        ("pipe", "long-weir.md"),
        ("pipe", "backup.json"),
        ("pipe", "makeready.db"),
    ] {
        let copy = outside.path().join(format!("{what} {}", path.replace('.', " ")));
        server::backup::make(studio.folder.path(), &copy, "2026-11-25T12:00:00Z").unwrap();
        let at = copy.join(path);
        if what == "folder" {
            std::fs::remove_dir_all(&at).unwrap();
            symlink(&shops, &at).unwrap();
        } else {
            std::fs::remove_file(&at).unwrap();
            match what {
                "link" => symlink(&secret, &at).unwrap(),
                _ => rustix::fs::mkfifoat(rustix::fs::CWD, &at, rustix::fs::Mode::from_raw_mode(0o600)).unwrap(),
            }
        }
        let to = outside.path().join("back");
        let (from, into) = (copy.clone(), to.clone());
        let said = in_time(&at, move || server::backup::restore(&from, &into).map_err(|refusal| refusal.to_string()));
        said.expect_err(what);
        assert!(!to.exists(), "{what} {path}");
    }
}

#[cfg(unix)]
#[tokio::test]
async fn what_could_not_be_brought_back_everywhere_is_left_out_of_a_backup_and_told() {
    let studio = Studio::new();
    let (root, outside) = (studio.folder.path(), tempfile::tempdir().unwrap());
    for odd in ["notes: lab.txt", "con.txt", "Long-Weir.md", "ends."] {
        std::fs::write(root.join(odd), "odd").unwrap();
    }
    rustix::fs::mkfifoat(rustix::fs::CWD, root.join("pipe.md"), rustix::fs::Mode::from_raw_mode(0o600)).unwrap();
    std::fs::write(root.join("fine (2) – größe.txt"), "fine").unwrap();
    let (copy, back) = (outside.path().join("copy"), outside.path().join("back"));
    let (from, to) = (root.to_path_buf(), copy.clone());
    let made =
        in_time(&root.join("pipe.md"), move || server::backup::make(&from, &to, "2026-11-25T12:00:00Z").unwrap());
    assert_eq!(made.left.len(), 4, "{:?}", made.left);
    for odd in ["notes: lab.txt", "con.txt", "ends."] {
        assert!(made.left.iter().any(|left| left.contains(odd)), "{odd} is not in {:?}", made.left);
    }
    server::backup::restore(&copy, &back).unwrap();
    assert_eq!(std::fs::read_to_string(back.join("fine (2) – größe.txt")).unwrap(), "fine");
    // On the command line it is told, and is not all well.
    let more = outside.path().join("more");
    let said = program::run(&["backup", &more.display().to_string(), "--notebook", &root.display().to_string()], root);
    assert!(said.code == 1 && said.err.contains("left out of this backup") && more.exists(), "{said:?}");
}
