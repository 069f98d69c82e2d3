//! Plans that go out and come in, and backups.

use super::*;

#[tokio::test]
async fn a_plan_goes_out_with_its_pictures_and_comes_in_elsewhere() {
    let studio = Studio::new();
    std::fs::create_dir(studio.folder.path().join("pictures")).unwrap();
    std::fs::write(studio.folder.path().join("pictures/weir.jpg"), b"not really a picture").unwrap();
    studio.save("/plan/long-weir", "long-weir", &format!("{PLAN}\n![the weir](pictures/weir.jpg)\n")).await;
    studio
        .post(
            "/plan/long-weir/ledger",
            json!({"number": 1, "what": "sold", "when": "2026-11-20", "words": "=R. Vell", "amount": "4200"}),
        )
        .await;
    let name = server::names::Name::new("long-weir").unwrap();
    let archive = studio.notebook.export(&name, server::notebook::Ledger::None).unwrap();
    let other = tempfile::tempdir().unwrap();
    let (notebook, app) = open(other.path(), "2026-11-25");
    let (status, body) = ask(&app, "POST", "/import", None, Some(archive.clone())).await;
    assert_eq!(status, StatusCode::OK, "{body}");
    for file in ["long-weir.md", "shops/tarn-lab.md", "pictures/weir.jpg"] {
        assert_eq!(
            std::fs::read(other.path().join(file)).unwrap(),
            std::fs::read(studio.folder.path().join(file)).unwrap(),
            "{file}"
        );
    }
    let (_, again) = ask(&app, "POST", "/import", None, Some(archive.clone())).await;
    assert!(again.contains("long-weir-2"), "{again}");
    assert!(notebook.ledger(&name).unwrap().is_empty());
    let inside = |which| {
        let bytes = studio.notebook.export(&name, which).unwrap();
        let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        let mut text = String::new();
        if let Ok(mut file) = zip.by_name("ledger.csv") {
            std::io::Read::read_to_string(&mut file, &mut text).unwrap();
        }
        text
    };
    assert_eq!(inside(server::notebook::Ledger::None), "");
    assert_eq!(inside(server::notebook::Ledger::Events), "line,print,what,date\r\n1,1,sold,2026-11-20\r\n");
    assert!(inside(server::notebook::Ledger::Whole).contains(",'=R. Vell,4200,"));
}

fn zipped(files: &[(&str, Vec<u8>)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        std::io::Write::write_all(&mut zip, bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[tokio::test]
async fn an_archive_that_would_reach_outside_burst_or_lie_is_refused_whole() {
    let studio = Studio::new();
    let before = || {
        let mut all: Vec<_> =
            std::fs::read_dir(studio.folder.path()).unwrap().map(|one| one.unwrap().file_name()).collect();
        all.sort();
        all
    };
    let standing = before();
    let list = |files: &str| {
        format!("{{\"form\":1,\"plan\":\"x\",\"title\":\"x\",\"revision\":1,\"made\":\"\",\"files\":{{{files}}}}}")
            .into_bytes()
    };
    let bomb = vec![0_u8; (64 << 20) + 1];
    for (what, archive, want) in [
        ("no archive", b"hello".to_vec(), StatusCode::UNPROCESSABLE_ENTITY),
        ("no list", zipped(&[("x.md", b"# x".to_vec())]), StatusCode::UNPROCESSABLE_ENTITY),
        (
            "outside",
            zipped(&[("makeready.json", list("")), ("../x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "absolute",
            zipped(&[("makeready.json", list("")), ("/tmp/x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "the record",
            zipped(&[("makeready.json", list("")), ("makeready.db", b"x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        (
            "not as listed",
            zipped(&[("makeready.json", list("\"x.md\":\"00\"")), ("x.md", b"# x".to_vec())]),
            StatusCode::UNPROCESSABLE_ENTITY,
        ),
        ("a bomb", zipped(&[("makeready.json", list("")), ("x.jpg", bomb)]), StatusCode::PAYLOAD_TOO_LARGE),
        (
            "many files",
            zipped(&NAMES.iter().map(|name| (*name, Vec::new())).collect::<Vec<_>>()),
            StatusCode::PAYLOAD_TOO_LARGE,
        ),
    ] {
        let (status, body) = ask(&studio.app, "POST", "/import", None, Some(archive)).await;
        assert_eq!(status, want, "{what}: {body}");
        assert_eq!(before(), standing, "{what}");
    }
}

static NAMES: std::sync::LazyLock<Vec<&'static str>> =
    std::sync::LazyLock::new(|| (0..201).map(|index| &*Box::leak(format!("p{index}.md").into_boxed_str())).collect());

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
    assert_eq!(notebook.ledger(&name).unwrap(), studio.notebook.ledger(&name).unwrap());
    assert_eq!(notebook.revisions(&name).unwrap().len(), 2);
    assert_eq!(std::fs::read_dir(outside.path()).unwrap().count(), 2, "nothing half done is left");
}

/// Saves put drafts beside the plans for a moment, and editors take files away before they write them anew.
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
    assert_eq!(says(&studio).await, None, "what lay there when the notebook was opened is no work yet");
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
        let mut all: Vec<_> = std::fs::read_dir(studio.folder.path().join(server::daily::FOLDER))
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
