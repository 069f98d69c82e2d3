//! A record that is damaged, gone, or not the one last used lets nobody in over the network, takes nothing in, and says what
//! to do.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

use program::{Program, notebook, run, set_passphrase};
use rusqlite::Connection;
use server::names::Name;
use server::store::{FILE, Store};

const PLAN: &str = "+++\ntitle = \"Quiet\"\nedition = 40\n+++\n\n# Quiet\n\nAs it was.\n";

/// A notebook with a passphrase, whose record is damaged from a page on.
fn damaged(from: usize) -> tempfile::TempDir {
    let folder = notebook(&[("quiet", PLAN)]);
    let mut program = Program::start(folder.path(), &[]);
    assert_eq!(program.get("/plan/quiet").status, 200);
    program.end();
    set_passphrase(folder.path(), "four quiet words by the weir").ends_with(0);
    let record = folder.path().join(FILE);
    let mut bytes = std::fs::read(&record).unwrap();
    for byte in &mut bytes[from..] {
        *byte = byte.wrapping_mul(7).wrapping_add(13);
    }
    std::fs::write(&record, bytes).unwrap();
    folder
}

fn ends_with_two(root: &Path) {
    let mut serve = program::command(program::program());
    serve.args(["serve", ".", "--lan", "--port", "0"]).current_dir(root);
    let mut child = serve.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let began = Instant::now();
    while child.try_wait().unwrap().is_none() && began.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(20));
    }
    // One that serves would go on for ever.
    let _ = child.kill();
    let said = child.wait_with_output().unwrap();
    let (out, words) = (String::from_utf8_lossy(&said.stdout), String::from_utf8_lossy(&said.stderr));
    assert_eq!(said.status.code(), Some(2), "it serves with a damaged record, or says: {out}{words}");
    assert!(words.contains("record is damaged") && words.contains("bring back a copy"), "{words}");
    assert!(!out.contains("Open "), "{out}");
}

#[test]
fn a_record_that_cannot_be_read_lets_nobody_in() {
    // The second page on, and all of it.
    for from in [8192, 0] {
        let folder = damaged(from);
        ends_with_two(folder.path());
        assert_eq!(std::fs::read_to_string(folder.path().join("quiet.md")).unwrap(), PLAN);
    }
}

#[test]
fn a_damaged_record_takes_nothing_in_and_says_what_to_do() {
    let folder = damaged(8192);
    let before = std::fs::read(folder.path().join(FILE)).unwrap();
    let program = Program::start(folder.path(), &[]);
    let from = program.plan("quiet").etag();
    let saved = program.save("quiet", &from, "# Quiet\n\nOtherwise.\n");
    assert_eq!(saved.status, 507, "{}", saved.text());
    let sale = br#"{"number":1,"when":"2026-11-25","words":"a buyer"}"#;
    let sold = program.ask("POST", "/plan/quiet/ledger", &[("Sec-Fetch-Site", "same-origin")], sale).unwrap();
    assert!(sold.status >= 500, "{} {}", sold.status, sold.text());
    let page = program.ask("GET", "/", &[("Accept", "text/html")], b"").unwrap();
    let words = page.text();
    assert!(page.header("content-type").is_some_and(|kind| kind.starts_with("text/html")), "{words}");
    assert!(words.contains("damaged") && words.contains("bring back a copy"), "{words}");
    // The text is still given out, and neither file was touched.
    assert_eq!(program.plan("quiet").text(), PLAN);
    drop(program);
    assert_eq!(std::fs::read_to_string(folder.path().join("quiet.md")).unwrap(), PLAN);
    let after = std::fs::read(folder.path().join(FILE)).unwrap();
    let changed: Vec<_> =
        after.iter().zip(&before).enumerate().filter(|(_, (a, b))| a != b).map(|(at, _)| at).collect();
    assert!(changed.is_empty() && after.len() == before.len(), "{} to {}: {changed:?}", before.len(), after.len());
}

fn sell(program: &Program, number: usize) -> program::Answer {
    let body = format!("{{\"number\":{number},\"when\":\"2026-11-25\",\"words\":\"buyer {number}\"}}");
    program.ask("POST", "/plan/quiet/ledger", &[("Sec-Fetch-Site", "same-origin")], body.as_bytes()).unwrap()
}

/// Tries to start a server; gives it when it answers, else what it said.
fn tried(root: &Path) -> Result<Program, String> {
    use std::io::{BufRead as _, Read as _};
    let mut command = program::command(program::program());
    command.arg("serve").arg(root).args(["--port", "0"]).env("MAKEREADY_LOG", "off");
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    let mut said = String::new();
    std::io::BufReader::new(child.stdout.take().unwrap()).read_line(&mut said).unwrap();
    if said.is_empty() {
        let mut words = String::new();
        child.stderr.take().unwrap().read_to_string(&mut words).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(2), "{words}");
        return Err(words);
    }
    child.kill().unwrap();
    child.wait().unwrap();
    Ok(Program::start(root, &[]))
}

/// Forty prints for sale, of which the first three are sold; the program ended well unless it is `killed`.
fn sold_three(killed: bool) -> tempfile::TempDir {
    let folder = notebook(&[("quiet", PLAN)]);
    let mut program = Program::start(folder.path(), &[]);
    for number in 1..=3 {
        assert_eq!(sell(&program, number).status, 200);
    }
    if killed {
        program.kill()
    } else {
        assert!(program.end().1)
    }
    folder
}

fn sold(root: &Path) -> Vec<u32> {
    let store = server::store::Store::open(root).unwrap();
    let lines = store.ledger(&server::names::Name::new("quiet").unwrap()).unwrap();
    lines.iter().map(|line| line.number).collect()
}

#[test]
fn a_record_that_is_gone_is_never_begun_anew_unasked() {
    for killed in [false, true] {
        for how in ["deleted", "emptied", "moved", "deleted with its index", "deleted with its log"] {
            let folder = sold_three(killed);
            let root = folder.path();
            let record = root.join(FILE);
            match how {
                "emptied" => std::fs::write(&record, "").unwrap(),
                "moved" => std::fs::rename(&record, root.join("old.db")).unwrap(),
                _ => std::fs::remove_file(&record).unwrap(),
            }
            let also = if how.ends_with("index") { "makeready-index.db" } else { "makeready.db-wal" };
            if how.contains("with its") {
                let _ = std::fs::remove_file(root.join(also));
            }
            let Err(words) = tried(root) else { panic!("{how}: a new record was begun") };
            for part in ["there was one", "makeready recover", "--new"] {
                assert!(words.contains(part), "{how}: {words}");
            }
            let told = run(&["check", "."], root).ends_with(3);
            assert!(told.out.contains("there was one"), "{how}: {}", told.out);
            run(&["backup", &format!("{}-backup", root.display())], root).ends_with(2);
            run(&["ledger", "quiet.md"], root).ends_with(2);
            // There is no copy: what was sold is known all the same.
            let told = run(&["recover", "."], root).ends_with(2);
            assert!(told.err.contains("no sound copy"), "{how}: {}", told.err);
            // Asked for, a record is begun, and nothing is deleted.
            run(&["recover", ".", "--new"], root).ends_with(0);
            run(&["check", "."], root).ends_with(0);
            assert_eq!(sold(root), [0; 0], "{how}");
            let aside = |entry: &std::path::PathBuf| entry.join(".makeready-ledger.txt").exists();
            let copies = std::fs::read_dir(root.join(server::store::kept_copies::FOLDER)).unwrap();
            assert!(copies.flatten().any(|entry| aside(&entry.path())), "{how}: the ledger was not put aside");
        }
    }
}

#[test]
fn plans_alone_never_had_a_record_and_begin_one_without_a_question() {
    let folder = notebook(&[("quiet", PLAN)]);
    assert_eq!(Program::start(folder.path(), &[]).get("/plan/quiet").status, 200);
    let copied = program::copied();
    assert_eq!(Program::start(copied.path(), &[]).get("/").status, 200);
    // A restored backup has a record and no note of it.
    let folder = sold_three(false);
    let (copy, back) = (folder.path().with_extension("copy"), folder.path().with_extension("back"));
    run(&["backup", copy.to_str().unwrap()], folder.path()).ends_with(0);
    run(&["restore", copy.to_str().unwrap(), "--to", back.to_str().unwrap()], folder.path()).ends_with(0);
    assert_eq!(sell(&Program::start(&back, &[]), 3).status, 409);
    // A whole notebook moved or copied to another disk, with all that is hidden in it.
    let there = folder.path().with_extension("there");
    assert!(std::process::Command::new("cp").arg("-r").arg(folder.path()).arg(&there).status().unwrap().success());
    assert_eq!(sell(&Program::start(&there, &[]), 3).status, 409);
    run(&["check", "."], &there).ends_with(0);
    for folder in [copy, back, there] {
        std::fs::remove_dir_all(folder).unwrap();
    }
}

#[test]
fn an_older_record_put_in_its_place_before_a_start_sells_nothing_twice() {
    for killed in [false, true] {
        for by_renaming in [true, false] {
            let folder = sold_three(false);
            let root = folder.path();
            let (record, older) = (root.join(FILE), root.join("older"));
            std::fs::copy(&record, &older).unwrap();
            let mut program = Program::start(root, &[]);
            for number in 4..=6 {
                assert_eq!(sell(&program, number).status, 200);
            }
            if killed {
                program.kill()
            } else {
                assert!(program.end().1)
            }
            if by_renaming {
                std::fs::rename(&older, &record).unwrap();
            } else {
                std::fs::copy(&older, &record).unwrap();
            }
            // A log that still fits makes it whole again; else it is told, and nothing is written.
            if let Ok(program) = tried(root) {
                let status = sell(&program, 4).status;
                assert!(status == 409 || status == 507, "killed {killed}, renamed {by_renaming}: number 4 sells twice");
                if status == 507 {
                    let page = program.get("/").text();
                    assert!(page.contains("is not the one last used"), "{page}");
                    let told = run(&["check", "."], root).ends_with(3);
                    assert!(told.out.contains("recover"), "{}", told.out);
                    drop(program);
                    run(&["serve", ".", "--lan", "--port", "0"], root).ends_with(2);
                    // Gone on with on purpose: what was sold meanwhile is known from the second writing of the ledger.
                    let told = run(&["recover", ".", "--as-it-is"], root).ends_with(0);
                    assert!(told.out.contains("3 ledger lines were added"), "{}", told.out);
                    run(&["check", "."], root).ends_with(0);
                    assert_eq!(sell(&Program::start(root, &[]), 4).status, 409);
                }
            }
            assert_eq!(sold(root), [1, 2, 3, 4, 5, 6]);
        }
    }
}

#[test]
fn a_record_that_is_taken_away_while_in_use_takes_nothing_more_and_everything_saved_is_kept() {
    for how in ["deleted", "moved", "replaced", "written over", "emptied", "without its log", "log emptied"] {
        let folder = sold_three(false);
        let root = folder.path();
        let (record, journal, older) = (root.join(FILE), root.join("makeready.db-wal"), root.join("older"));
        std::fs::copy(&record, &older).unwrap();
        let program = Program::start(root, &[]);
        for number in 4..=6 {
            assert_eq!(sell(&program, number).status, 200, "{how}");
        }
        let from = program.plan("quiet").etag();
        assert_eq!(program.save("quiet", &from, &format!("{PLAN}\nOnce more.\n")).status, 200, "{how}");
        match how {
            "deleted" => std::fs::remove_file(&record).unwrap(),
            "moved" => std::fs::rename(&record, root.join("elsewhere.db")).unwrap(),
            "replaced" => std::fs::rename(&older, &record).unwrap(),
            "written over" => drop(std::fs::copy(&older, &record).unwrap()),
            "emptied" => drop(std::fs::File::create(&record).unwrap()),
            "without its log" => std::fs::remove_file(&journal).unwrap(),
            _ => drop(std::fs::File::create(&journal).unwrap()),
        }
        let refused = sell(&program, 7);
        if how == "written over" && refused.status == 200 {
            // All that the older one lacks stands in the log: it is whole.
            drop(program);
            assert_eq!(sold(root), [1, 2, 3, 4, 5, 6, 7]);
            continue;
        }
        assert_eq!(refused.status, 507, "{how}: {}", refused.text());
        assert!(refused.text().contains("while it was in use"), "{how}: {}", refused.text());
        let from = program.plan("quiet").etag();
        assert_eq!(program.save("quiet", &from, "# Lost?\n").status, 507, "{how}");
        let page = program.get("/").text();
        assert!(page.contains("while it was in use") && page.contains("makeready recover"), "{how}: {page}");
        drop(program);
        let again = tried(root);
        if let Ok(program) = &again {
            assert!(sell(program, 1).status != 200, "{how}");
        }
        drop(again);
        let told = run(&["recover", "."], root);
        // An older one that the log makes whole lacks nothing.
        let whole = how == "replaced" && told.err.contains("lies there as it was left");
        if told.code != 0 && !whole {
            // Nothing could be copied in time, and there was no other copy: the older one is gone on with.
            assert!(["emptied", "log emptied", "written over"].contains(&how), "{how}: {told:?}");
            if how == "emptied" {
                run(&["recover", ".", "--from", "older"], root).ends_with(0);
            } else {
                run(&["recover", ".", "--as-it-is"], root).ends_with(0);
            }
        }
        run(&["check", "."], root).ends_with(0);
        assert_eq!(sold(root), [1, 2, 3, 4, 5, 6], "{how}");
        let program = Program::start(root, &[]);
        assert_eq!(sell(&program, 4).status, 409, "{how}: number 4 sells twice");
        assert!(program.plan("quiet").text().contains("Once more"), "{how}");
    }
}

#[test]
fn a_log_that_was_cut_short_is_told() {
    let folder = notebook(&[("quiet", PLAN)]);
    let root = folder.path();
    let mut program = Program::start(root, &[]);
    assert_eq!(program.get("/").status, 200);
    assert!(program.end().1);
    let mut program = Program::start(root, &[]);
    let mut from = program.plan("quiet").etag();
    for number in 0..5 {
        from = program.save("quiet", &from, &format!("{PLAN}\nSaved {number}.\n")).etag();
    }
    program.kill();
    let journal = root.join("makeready.db-wal");
    let length = journal.metadata().unwrap().len();
    std::fs::File::options().write(true).open(&journal).unwrap().set_len(length / 3).unwrap();
    let told = run(&["check", "."], root).ends_with(3);
    assert!(told.out.contains("it lacks") && told.out.contains("saves"), "{}", told.out);
    let program = Program::start(root, &[]);
    let page = program.get("/").text();
    assert!(page.contains("it lacks") && page.contains("as-it-is"), "{page}");
    assert_eq!(program.save("quiet", &program.plan("quiet").etag(), "# More\n").status, 507);
    drop(program);
    let told = run(&["recover", ".", "--as-it-is"], root).ends_with(0);
    assert!(told.out.contains("added from `.makeready-saves.txt`") && !told.out.contains("It lacks"), "{}", told.out);
    run(&["check", "."], root).ends_with(0);
    let (store, quiet) = (Store::open(root).unwrap(), Name::new("quiet").unwrap());
    assert_eq!(store.revisions(&quiet).unwrap().len(), 6, "every save is in the history again");
    drop(store);
    let program = Program::start(root, &[]);
    assert_eq!(program.save("quiet", &program.plan("quiet").etag(), "# More\n").status, 200);
}

#[test]
fn a_daily_copy_is_brought_back_and_what_was_sold_since_is_known() {
    let folder = sold_three(false);
    let root = folder.path();
    let program = Program::start(root, &[]);
    assert!(server::daily::make(root, engine::measure::Day::parse("2026-11-25").unwrap()).unwrap().is_some());
    assert_eq!(sell(&program, 4).status, 200);
    drop(program);
    for file in [FILE, "makeready.db-wal"] {
        std::fs::remove_file(root.join(file)).unwrap();
    }
    let Err(words) = tried(root) else { panic!("a new record was begun") };
    assert!(words.contains("makeready-2026-11-25"), "{words}");
    // An older record is not copied over what is sound, nor backed up.
    let other = sold_three(false);
    std::fs::copy(other.path().join(FILE), root.join(FILE)).unwrap();
    assert!(server::daily::make(root, engine::measure::Day::parse("2026-11-26").unwrap()).is_err());
    run(&["backup", &format!("{}-backup", root.display())], root).ends_with(2);
    std::fs::remove_file(root.join(FILE)).unwrap();
    let told = run(&["recover", "."], root).ends_with(0);
    assert!(told.out.contains("one ledger line was added"), "{}", told.out);
    assert_eq!(sold(root), [1, 2, 3, 4]);
    run(&["check", "."], root).ends_with(0);
    // One that lies well is not exchanged.
    run(&["recover", "."], root).ends_with(2);
    run(&["recover", ".", "--new"], root).ends_with(2);
}

#[test]
fn another_program_that_writes_into_the_record_keeps_no_page_waiting() {
    let folder = sold_three(true);
    let root = folder.path();
    std::fs::write(root.join("other.md"), "# Other\n").unwrap();
    let program = Program::start(root, &[]);
    let other = Connection::open(root.join(FILE)).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    // A page not made before, and one of a file that was changed meanwhile.
    std::fs::write(root.join("other.md"), "# Other, changed\n").unwrap();
    for path in ["/plan/quiet", "/plan/quiet/ledger", "/plan/other", "/plan/quiet/history", "/"] {
        let began = Instant::now();
        let page = program.get(path);
        assert_eq!(page.status, 200, "{path}");
        assert!(began.elapsed() < Duration::from_secs(2), "{path} took {:?}", began.elapsed());
    }
    other.execute_batch("ROLLBACK").unwrap();
    assert_eq!(sell(&program, 4).status, 200);
}
