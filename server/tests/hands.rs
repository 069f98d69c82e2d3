//! Two hands on one plan: browsers and outside editors at once, and nothing anyone wrote is lost.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::collections::BTreeSet;
use std::io::Write as _;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use program::{Dice, Line, Program, long_form, notebook};
use server::names::Name;
use server::store::Store;

fn plan(words: &str) -> String {
    format!("+++\ntitle = \"Shared\"\n+++\n\n# Shared\n\n{words}\n")
}

/// Every text the record holds of a plan, and the file's own.
fn kept(root: &Path, name: &str) -> BTreeSet<String> {
    let store = Store::open(root).unwrap();
    let name = Name::new(name).unwrap();
    let all = store.revisions(&name).unwrap();
    all.iter().map(|one| store.revision_text(&name, one.number).unwrap()).collect()
}

/// How an editor puts a text into a file.
#[derive(Clone, Copy)]
enum Habit {
    /// Empties the file and writes into it.
    InPlace,
    /// Writes a new file beside it and gives it the name.
    Rename,
    /// Moves the old file away, then writes a new one.
    Backup,
}

impl Habit {
    fn write(self, path: &Path, text: &str) {
        match self {
            Self::InPlace => {
                let mut file = std::fs::File::create(path).unwrap();
                file.write_all(text.as_bytes()).unwrap();
            }
            Self::Rename => {
                let beside = path.with_file_name(".shared.md.swp1");
                std::fs::write(&beside, text).unwrap();
                std::fs::rename(&beside, path).unwrap();
            }
            Self::Backup => {
                let backup = path.with_extension("md~");
                let _ = std::fs::rename(path, &backup);
                std::fs::write(path, text).unwrap();
            }
        }
    }
}

#[test]
fn eight_browsers_and_two_editors_lose_nothing() {
    let saves = long_form("MAKEREADY_SAVES", 400);
    let folder = notebook(&[("shared", &plan("first"))]);
    let program = Program::start(folder.path(), &[]);
    let acknowledged = Mutex::new(Vec::new());
    let outside = Mutex::new(Vec::new());
    let turn = Mutex::new(());
    let (count, stop, refused) = (AtomicUsize::new(0), AtomicBool::new(false), AtomicUsize::new(0));
    let began = Instant::now();
    std::thread::scope(|scope| {
        for writer in 0..8_u64 {
            let (program, acknowledged, count, stop, refused) = (&program, &acknowledged, &count, &stop, &refused);
            scope.spawn(move || {
                let mut line = Line::to(program.address).unwrap();
                let (mut number, mut etag) = (0, String::new());
                while count.load(Ordering::Relaxed) < saves {
                    number += 1;
                    let text = plan(&format!("browser {writer} wrote {number}"));
                    let mark = format!("\"{etag}\"");
                    let headers = [
                        ("Sec-Fetch-Site", "same-origin"),
                        ("If-Match", if etag.is_empty() { "\"none\"" } else { &mark }),
                    ];
                    let answer = line.ask("PUT", "/plan/shared/text", &headers, text.as_bytes()).unwrap();
                    match answer.status {
                        200 => {
                            acknowledged.lock().unwrap().push((std::mem::replace(&mut etag, answer.etag()), text));
                            count.fetch_add(1, Ordering::Relaxed);
                        }
                        412 => {
                            let answer = answer.json();
                            assert!(answer["theirs"].is_string(), "both texts are shown");
                            etag = answer["etag"].as_str().unwrap().to_owned();
                            refused.fetch_add(1, Ordering::Relaxed);
                        }
                        other => panic!("{other}: {}", answer.text()),
                    }
                }
                stop.store(true, Ordering::Relaxed);
            });
        }
        for (editor, habit) in [Habit::InPlace, Habit::Rename].into_iter().enumerate() {
            let (program, outside, turn, stop, path) =
                (&program, &outside, &turn, &stop, folder.path().join("shared.md"));
            scope.spawn(move || {
                let mut dice = Dice(7 + editor as u64);
                let mut number = 0;
                while !stop.load(Ordering::Relaxed) {
                    number += 1;
                    let text = plan(&format!("editor {editor} wrote {number}"));
                    {
                        // Two editors never overwrite each other before the notebook could look; browsers save all the time.
                        let _turn = turn.lock().unwrap();
                        habit.write(&path, &text);
                        outside.lock().unwrap().push(text);
                        program.get("/plan/shared/text");
                    }
                    std::thread::sleep(Duration::from_millis(20 + dice.roll(80)));
                }
            });
        }
    });
    let took = began.elapsed();
    // Last words are waited for a second.
    std::thread::sleep(Duration::from_millis(2500));
    let last = std::fs::read_to_string(folder.path().join("shared.md")).unwrap();
    assert_eq!(program.get("/plan/shared/text").text(), last);
    drop(program);
    let kept = kept(folder.path(), "shared");
    let (acknowledged, outside) = (acknowledged.into_inner().unwrap(), outside.into_inner().unwrap());
    let lost: Vec<_> = acknowledged.iter().filter(|(_, text)| !kept.contains(text)).collect();
    let unseen: Vec<_> = outside.iter().filter(|text| !kept.contains(*text)).collect();
    println!(
        "{} saves and {} refused in {took:?}, {} edits outside; lost {} and {}",
        acknowledged.len(),
        refused.load(Ordering::Relaxed),
        outside.len(),
        lost.len(),
        unseen.len()
    );
    assert!(lost.is_empty(), "acknowledged and not kept: {lost:?}");
    assert!(unseen.is_empty(), "written outside and not kept: {unseen:?}");
    assert!(outside.len() > 20);
    // Each was made from the text before it. Now and then an editor's last words are heard between the two.
    let store = Store::open(folder.path()).unwrap();
    let mut marks: Vec<_> =
        store.revisions(&Name::new("shared").unwrap()).unwrap().into_iter().map(|one| one.hash).collect();
    marks.reverse();
    let is_blind = |(from, text): &&(String, String)| {
        let at = marks.iter().position(|mark| *mark == server::folder::hash_of(text.as_bytes())).unwrap();
        at == 0 || marks[at - 1] != *from
    };
    let blind = acknowledged.iter().filter(is_blind).count();
    println!("{blind} made from another text than the one before");
    assert!(blind * 20 < acknowledged.len(), "{blind} of {} wrote over what they had not seen", acknowledged.len());
}

#[test]
fn a_save_over_an_unseen_edit_is_refused_with_both_texts() {
    let folder = notebook(&[("shared", &plan("first"))]);
    let program = Program::start(folder.path(), &[]);
    let path = folder.path().join("shared.md");
    for (round, habit) in [Habit::InPlace, Habit::Rename, Habit::Backup].into_iter().cycle().take(30).enumerate() {
        let etag = program.get("/plan/shared/text").etag();
        let outside = plan(&format!("outside {round}"));
        habit.write(&path, &outside);
        let mine = plan(&format!("mine {round}"));
        let answer =
            program.send("PUT", "/plan/shared/text", &[("If-Match", &format!("\"{etag}\""))], mine.as_bytes()).unwrap();
        assert_eq!(answer.status, 412, "round {round}");
        assert_eq!(answer.json()["theirs"], outside);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), outside);
    }
}

#[test]
fn an_edit_of_the_same_length_in_the_same_moment_is_seen() {
    let folder = notebook(&[("shared", &plan("aaaa"))]);
    let program = Program::start(folder.path(), &[]);
    let path = folder.path().join("shared.md");
    for round in 0..50 {
        let text = plan(&format!("{:04}", round));
        Habit::InPlace.write(&path, &text);
        assert_eq!(program.get("/plan/shared/text").text(), text);
        let again = plan(&format!("{:04}", 1000 + round));
        Habit::InPlace.write(&path, &again);
        assert_eq!(program.get("/plan/shared/text").text(), again, "round {round}");
    }
}

#[test]
fn an_answer_that_was_lost_may_be_asked_for_again() {
    let folder = notebook(&[("shared", &plan("first"))]);
    let program = Program::start(folder.path(), &[]);
    let etag = format!("\"{}\"", program.get("/plan/shared/text").etag());
    let save = || program.send("PUT", "/plan/shared/text", &[("If-Match", &etag)], plan("second").as_bytes()).unwrap();
    let first = save();
    let again = save();
    assert_eq!((first.status, again.status), (200, 200), "{}", again.text());
    assert_eq!(first.json()["revision"], again.json()["revision"], "the same text is not saved twice");
}

#[test]
fn writes_must_say_what_they_were_made_from() {
    let folder = notebook(&[("shared", &plan("first"))]);
    let program = Program::start(folder.path(), &[]);
    assert_eq!(program.send("PUT", "/plan/shared/text", &[], b"x").unwrap().status, 428);
    for path in ["/plan/shared/given", "/plan/shared/tick"] {
        let body = br#"{"given":0,"value":"1","line":1,"done":true}"#;
        assert_eq!(program.send("POST", path, &[], body).unwrap().status, 428, "{path}");
    }
    let before = std::fs::read(folder.path().join("shared.md")).unwrap();
    assert_eq!(before, plan("first").as_bytes());
}

#[test]
fn what_editors_leave_lying_about_is_no_plan() {
    let folder = notebook(&[("shared", &plan("first"))]);
    for name in
        [".shared.md.swp", "#shared.md#", "shared.md~", "4913", "shared.md.tmp", ".makeready-x.tmp", "shared.md.bak"]
    {
        std::fs::write(folder.path().join(name), "left over").unwrap();
    }
    #[cfg(unix)]
    std::os::unix::fs::symlink("someone@nowhere.1234", folder.path().join(".#shared.md")).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("/etc/passwd", folder.path().join("passwd.md")).unwrap();
    let program = Program::start(folder.path(), &[]);
    let wall = program.get("/").text();
    assert!(
        wall.contains("Shared") && !wall.contains("left over") && !wall.contains("passwd") && !wall.contains("4913")
    );
    assert_eq!(program.get("/plan/passwd").status, 404, "a link is not followed");
    assert_eq!(program.get("/plan/passwd/text").status, 404);
}

#[test]
fn a_change_outside_reaches_an_open_page_within_half_a_second() {
    let folder = notebook(&[("shared", &plan("first"))]);
    let program = Program::start(folder.path(), &[]);
    let mut line = Line::to(program.address).unwrap();
    assert_eq!(line.ask("GET", "/events", &[], b"").unwrap().status, 200);
    std::thread::sleep(Duration::from_millis(400));
    let mut took = Vec::new();
    for round in 0..12 {
        let began = Instant::now();
        let habit = [Habit::InPlace, Habit::Rename, Habit::Backup][round % 3];
        let text = plan(&format!("outside {round}"));
        habit.write(&folder.path().join("shared.md"), &text);
        let etag = server::folder::hash_of(text.as_bytes());
        let mut said = String::new();
        while !said.contains(&etag) {
            assert!(std::io::BufRead::read_line(&mut line.stream, &mut said).unwrap() > 0);
        }
        took.push(began.elapsed());
        std::thread::sleep(Duration::from_millis(120));
    }
    took.sort();
    println!("seen within {:?} (middle) and {:?} (longest)", took[took.len() / 2], took[took.len() - 1]);
    assert!(took[took.len() * 9 / 10] < Duration::from_millis(800), "{took:?}");
}

#[test]
fn a_flood_of_changes_ends_with_everything_as_it_lies() {
    let folder = notebook(&[]);
    let program = Program::start(folder.path(), &[]);
    // Far more than the system's queue of changes holds.
    let files = 400;
    for round in 0..60 {
        for number in 0..files {
            std::fs::write(folder.path().join(format!("plan-{number}.md")), format!("# Plan {number}, {round}\n"))
                .unwrap();
        }
    }
    let began = Instant::now();
    loop {
        let wall: String = (0..files).step_by(120).map(|from| program.get(&format!("/?from={from}")).text()).collect();
        if (0..files).all(|number| wall.contains(&format!("Plan {number}, 59"))) {
            break;
        }
        assert!(began.elapsed() < Duration::from_secs(20), "not as it lies after 20 s");
        std::thread::sleep(Duration::from_millis(200));
    }
    println!("{} changes: the wall was right {:?} after the last", files * 60, began.elapsed());
}
