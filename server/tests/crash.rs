//! The computer fails in every way there is: what was acknowledged is kept, nothing is half written, and work goes on.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use program::{Dice, Line, Program, long_form, notebook, program, run};
use server::names::Name;
use server::store::{FILE, Store};

const EDITION: &str = "+++\ntitle = \"Sold\"\nedition = 5000\n+++\n\n# Sold\n\nIt is `? 3 * 4` long.\n";

fn plan(writer: usize, number: usize) -> String {
    format!(
        "+++\ntitle = \"Writer {writer}\"\n+++\n\n# Writer {writer}\n\nSaved {number}.\n\n{}",
        "A line of the plan.\n".repeat(40)
    )
}

fn is_sound(root: &Path) {
    let record = rusqlite::Connection::open(root.join(FILE)).unwrap();
    let sound: String = record.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
    assert_eq!(sound, "ok");
    let foreign: Option<i64> =
        record.query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0)).unwrap();
    assert_eq!(foreign, Some(0));
}

/// A plan's texts in the record.
fn kept(store: &Store, name: &Name) -> BTreeSet<String> {
    store.revisions(name).unwrap().iter().map(|one| store.revision_text(name, one.number).unwrap()).collect()
}

/// Saves a text over whatever stands there, and says whether that was acknowledged.
fn save(line: &mut Line, path: &str, etag: &mut String, text: &str) -> std::io::Result<bool> {
    loop {
        let mark = format!("\"{}\"", if etag.is_empty() { "none" } else { etag.as_str() });
        let headers = [("Sec-Fetch-Site", "same-origin"), ("If-Match", mark.as_str())];
        let answer = line.ask("PUT", path, &headers, text.as_bytes())?;
        match answer.status {
            200 => {
                *etag = answer.etag();
                return Ok(true);
            }
            412 => *etag = answer.json()["etag"].as_str().unwrap().to_owned(),
            503 | 507 => return Ok(false),
            other => panic!("{other}: {}", answer.text()),
        }
    }
}

fn sell(line: &mut Line, number: usize) -> std::io::Result<u16> {
    let body = format!("{{\"number\":{number},\"when\":\"2026-11-25\",\"words\":\"buyer {number}\"}}");
    Ok(line.ask("POST", "/plan/sold/ledger", &[("Sec-Fetch-Site", "same-origin")], body.as_bytes())?.status)
}

#[test]
fn nothing_acknowledged_is_lost_when_the_program_is_killed() {
    let rounds = long_form("MAKEREADY_ROUNDS", 60);
    let mut dice = Dice(20261125);
    let (mut acknowledged, mut sold_in_all) = (0, 0);
    let mut folder = notebook(&[("sold", EDITION), ("one", &plan(1, 0)), ("two", &plan(2, 0)), ("three", &plan(3, 0))]);
    let mut next = 1;
    let began = Instant::now();
    for round in 0..rounds {
        // Each round reads every text there is: a notebook begun again now and then keeps a long form from growing with its square.
        if round > 0 && (round % 20 == 0 || next > 3000) {
            folder = notebook(&[("sold", EDITION), ("one", &plan(1, 0)), ("two", &plan(2, 0)), ("three", &plan(3, 0))]);
            next = 1;
        }
        let mut program = Program::start(folder.path(), &[]);
        let address = program.address;
        let saved = Mutex::new(Vec::new());
        let sold = Mutex::new(Vec::new());
        let stop = AtomicBool::new(false);
        std::thread::scope(|scope| {
            for (writer, name) in [(1, "one"), (2, "two"), (3, "three")] {
                let (saved, stop) = (&saved, &stop);
                scope.spawn(move || {
                    let (mut line, mut etag) = (Line::to(address).unwrap(), String::new());
                    for number in 0.. {
                        if stop.load(Ordering::Relaxed) {
                            return;
                        }
                        let text = plan(writer, round * 10_000 + number);
                        match save(&mut line, &format!("/plan/{name}/text"), &mut etag, &text) {
                            Ok(true) => saved.lock().unwrap().push((name, text)),
                            Ok(false) => panic!("nothing is wrong with the disk"),
                            Err(_) => return,
                        }
                    }
                });
            }
            let (sold, stop) = (&sold, &stop);
            scope.spawn(move || {
                let mut line = Line::to(address).unwrap();
                for number in next.. {
                    match sell(&mut line, number) {
                        // Taken: the answer to it was lost with the last kill, and the sale was kept.
                        Ok(200 | 409) if !stop.load(Ordering::Relaxed) => sold.lock().unwrap().push(number),
                        Ok(200) => sold.lock().unwrap().push(number),
                        Ok(other) => panic!("{other}"),
                        Err(_) => return,
                    }
                    if stop.load(Ordering::Relaxed) {
                        return;
                    }
                }
            });
            // At a random moment, but not before something was acknowledged: on a busy computer that takes a while.
            std::thread::sleep(Duration::from_micros(20_000 + dice.roll(130_000)));
            let (wanted, began) = (4 + dice.roll(8) as usize, Instant::now());
            while saved.lock().unwrap().len() + sold.lock().unwrap().len() < wanted
                && began.elapsed() < Duration::from_secs(3)
            {
                std::thread::sleep(Duration::from_micros(200));
            }
            std::thread::sleep(Duration::from_micros(dice.roll(2000)));
            program.kill();
            stop.store(true, Ordering::Relaxed);
        });
        let (saved, sold) = (saved.into_inner().unwrap(), sold.into_inner().unwrap());
        next = sold.last().copied().unwrap_or(next - 1) + 1;
        // A file is whole: a text that was sent, and no older than the last acknowledged.
        for name in ["one", "two", "three"] {
            let text = std::fs::read_to_string(folder.path().join(format!("{name}.md"))).unwrap();
            assert!(
                text.ends_with("A line of the plan.\n") && text.starts_with("+++\n"),
                "round {round}: {name} is not whole"
            );
            let last = saved.iter().rev().find(|(one, _)| *one == name);
            let number =
                |text: &str| text.split("Saved ").nth(1).unwrap().split('.').next().unwrap().parse::<usize>().unwrap();
            assert!(
                last.is_none_or(|(_, last)| number(&text) >= number(last)),
                "round {round}: {name} is older than acknowledged"
            );
        }
        let store = Store::open(folder.path()).unwrap();
        for name in ["one", "two", "three"] {
            let kept = kept(&store, &Name::new(name).unwrap());
            let lost = saved.iter().filter(|(one, text)| *one == name && !kept.contains(text)).count();
            assert_eq!(lost, 0, "round {round}: {lost} acknowledged saves of {name} are lost");
        }
        let lines: Vec<_> =
            store.ledger(&Name::new("sold").unwrap()).unwrap().iter().map(|line| line.number as usize).collect();
        assert!(sold.iter().all(|number| lines.contains(number)), "round {round}: an acknowledged sale is lost");
        assert_eq!(lines.iter().collect::<BTreeSet<_>>().len(), lines.len(), "a number was sold twice");
        drop(store);
        is_sound(folder.path());
        run(&["check", "."], folder.path()).ends_with(0);
        acknowledged += saved.len() + sold.len();
        sold_in_all += sold.len();
    }
    println!("{rounds} rounds in {:?}: {acknowledged} acknowledged ({sold_in_all} sales), 0 lost", began.elapsed());
    assert!(acknowledged > rounds * 4, "too little was written to say anything: {acknowledged}");
}

/// What happens to the record while it is in use.
const TAKEN: [&str; 7] = [
    "deleted",
    "moved away",
    "replaced by an older copy",
    "written over by an older copy",
    "emptied",
    "its log deleted",
    "its log emptied",
];

fn take_away(root: &Path, how: &str) {
    let (record, journal) = (root.join(FILE), root.join("makeready.db-wal"));
    let done = match how {
        "deleted" => std::fs::remove_file(record),
        "moved away" => std::fs::rename(record, root.join("moved.db")),
        "replaced by an older copy" => std::fs::rename(root.join("older.db"), record),
        "written over by an older copy" => std::fs::copy(root.join("older.db"), record).map(drop),
        "emptied" => std::fs::File::create(record).map(drop),
        "its log deleted" => std::fs::remove_file(journal),
        _ => std::fs::File::create(journal).map(drop),
    };
    done.unwrap();
}

#[test]
fn no_number_is_sold_twice_and_all_is_told_when_the_record_is_taken_away() {
    let rounds = long_form("MAKEREADY_TAKEN", 7);
    let mut dice = Dice(20261127);
    let began = Instant::now();
    let (mut acknowledged, mut sales, mut refused, mut told, mut at_once) = (0, 0, 0, 0, 0);
    for round in 0..rounds {
        let how = TAKEN[round % TAKEN.len()];
        let writers: Vec<String> = (1..=8).map(|writer| format!("writer-{writer}")).collect();
        let texts: Vec<String> = (1..=8).map(|writer| plan(writer, 0)).collect();
        let mut documents: Vec<_> =
            writers.iter().zip(&texts).map(|(name, text)| (name.as_str(), text.as_str())).collect();
        documents.push(("sold", EDITION));
        let folder = notebook(&documents);
        let root = folder.path();
        // Used and ended once, so that something stands in the record's own file; an older copy is made as programs make it.
        let mut program = Program::start(root, &[]);
        let mut line = Line::to(program.address).unwrap();
        for number in 1..=3 {
            assert_eq!(sell(&mut line, number).unwrap(), 200);
        }
        assert!(program.end().1);
        std::fs::copy(root.join(FILE), root.join("older.db")).unwrap();
        let mut program = Program::start(root, &[]);
        if dice.roll(2) == 0 {
            server::daily::make(root, engine::measure::Day::parse("2026-11-25").unwrap()).unwrap();
        }
        let address = program.address;
        let (saved, sold, no) = (Mutex::new(Vec::new()), Mutex::new(vec![1, 2, 3]), Mutex::new(0));
        let stop = AtomicBool::new(false);
        let next = std::sync::atomic::AtomicUsize::new(4);
        std::thread::scope(|scope| {
            for (writer, name) in writers.iter().enumerate() {
                let (saved, stop, no) = (&saved, &stop, &no);
                scope.spawn(move || {
                    let (mut line, mut etag) = (Line::to(address).unwrap(), String::new());
                    for number in 1.. {
                        let text = plan(writer + 1, number);
                        match save(&mut line, &format!("/plan/{name}/text"), &mut etag, &text) {
                            Ok(true) => saved.lock().unwrap().push((name.clone(), text)),
                            Ok(false) => *no.lock().unwrap() += 1,
                            Err(_) => return,
                        }
                        if stop.load(Ordering::Relaxed) {
                            return;
                        }
                    }
                });
            }
            for _ in 0..2 {
                let (sold, stop, next, no) = (&sold, &stop, &next, &no);
                scope.spawn(move || {
                    let mut line = Line::to(address).unwrap();
                    while !stop.load(Ordering::Relaxed) {
                        let number = next.fetch_add(1, Ordering::Relaxed);
                        match sell(&mut line, number) {
                            Ok(200) => sold.lock().unwrap().push(number),
                            Ok(503 | 507) => *no.lock().unwrap() += 1,
                            Ok(other) => panic!("{how}: {other}"),
                            Err(_) => return,
                        }
                    }
                });
            }
            let (wanted, waits) = (20 + dice.roll(40) as usize, Instant::now());
            while saved.lock().unwrap().len() + sold.lock().unwrap().len() < wanted
                && waits.elapsed() < Duration::from_secs(5)
            {
                std::thread::sleep(Duration::from_millis(1));
            }
            take_away(root, how);
            // Killed at once now and then, before anything could be noticed.
            if dice.roll(3) == 0 {
                at_once += 1;
            } else {
                std::thread::sleep(Duration::from_millis(60 + dice.roll(100)));
            }
            program.kill();
            stop.store(true, Ordering::Relaxed);
        });
        let (saved, sold) = (saved.into_inner().unwrap(), sold.into_inner().unwrap());
        refused += no.into_inner().unwrap();
        acknowledged += saved.len() + sold.len();
        sales += sold.len();
        // What is not whole is told, and nothing is sold until it was decided.
        let said = run(&["check", "."], root);
        if said.code == 3 {
            told += 1;
            assert!(said.out.contains("makeready recover"), "{how}: {}", said.out);
            let brought =
                [&["recover", "."][..], &["recover", ".", "--as-it-is"], &["recover", ".", "--from", "older.db"]]
                    .into_iter()
                    .map(|command| run(command, root))
                    .find(|said| said.code == 0);
            let brought = brought.unwrap_or_else(|| panic!("{how}: nothing was brought back"));
            // Those under way when it was killed may be missing: nobody was told that they are saved.
            if let Some(lacks) = brought.out.lines().find_map(|line| line.strip_prefix("It lacks ")) {
                let missing: usize = lacks.split(' ').next().unwrap().parse().unwrap();
                assert!(missing <= writers.len() && lacks.contains(" 0 ledger entries"), "{how}: {lacks}");
            }
        } else {
            assert_eq!(said.code, 0, "{how}: {said:?}");
        }
        run(&["check", "."], root).ends_with(0);
        is_sound(root);
        let store = Store::open(root).unwrap();
        let lines: Vec<_> =
            store.ledger(&Name::new("sold").unwrap()).unwrap().iter().map(|line| line.number as usize).collect();
        let lost: Vec<_> = sold.iter().filter(|number| !lines.contains(number)).collect();
        assert!(lost.is_empty(), "round {round}, {how}: acknowledged sales are lost: {lost:?}");
        assert_eq!(lines.iter().collect::<BTreeSet<_>>().len(), lines.len(), "{how}: a number was sold twice");
        // The last text that was acknowledged stands in its file, or a newer one.
        for name in &writers {
            let text = std::fs::read_to_string(root.join(format!("{name}.md"))).unwrap();
            let number =
                |text: &str| text.split("Saved ").nth(1).unwrap().split('.').next().unwrap().parse::<usize>().unwrap();
            let last = saved.iter().rev().find(|(one, _)| one == name);
            assert!(last.is_none_or(|(_, last)| number(&text) >= number(last)), "round {round}, {how}: a save is lost");
        }
        let lost = saved.iter().filter(|(name, text)| !kept(&store, &Name::new(name).unwrap()).contains(text)).count();
        assert_eq!(lost, 0, "round {round}, {how}: acknowledged revisions are lost");
        drop(store);
        let program = Program::start(root, &[]);
        let mut line = Line::to(program.address).unwrap();
        for number in sold.iter().rev().take(5) {
            assert_eq!(sell(&mut line, *number).unwrap(), 409, "round {round}, {how}: {number} sells twice");
        }
    }
    println!(
        "{rounds} rounds in {:?}: {acknowledged} acknowledged ({sales} of them sales), none lost, none sold twice; {refused} refused, told {told} times, {at_once} killed at once",
        began.elapsed()
    );
    assert!(acknowledged > rounds * 8 && told * 2 > rounds, "{acknowledged} acknowledged, told {told} times");
}

/// The program with a limit to the size of the files it may write, which can be changed while it runs.
#[cfg(target_os = "linux")]
fn limited(root: &Path) -> Program {
    let mut command = Command::new("sh");
    // The signal would end the program; without it the write is refused, as by a full disk.
    command.arg("-c").arg("trap '' XFSZ; exec \"$0\" \"$@\"").arg(program());
    command.arg("serve").arg(root).args(["--port", "0"]);
    Program::of(command)
}

#[cfg(target_os = "linux")]
fn allow(program: &Program, bytes: Option<u64>) {
    use rustix::process::{Pid, Resource, Rlimit, prlimit};
    let limit = Rlimit { current: bytes, maximum: None };
    prlimit(Some(Pid::from_child(&program.child)), Resource::Fsize, limit).unwrap();
}

#[cfg(target_os = "linux")]
#[test]
fn a_disk_that_refuses_at_two_hundred_points_makes_no_false_promise_and_work_goes_on() {
    let points = long_form("MAKEREADY_POINTS", 200);
    let folder = notebook(&[("sold", EDITION), ("one", &plan(1, 0))]);
    let program = limited(folder.path());
    let mut dice = Dice(41);
    let (mut saved, mut sold) = (Vec::new(), Vec::new());
    let (mut refused, mut number) = (0, 0);
    let mut etag = String::new();
    let size = |name: &str| folder.path().join(name).metadata().map_or(0, |about| about.len());
    let began = Instant::now();
    for point in 0..points {
        // Somewhere within the journal, the record or the plan's file, sometimes just past the end of one.
        let within = [size("makeready.db-wal"), size(FILE), size("one.md"), 40_000][point % 4];
        let limit = [dice.roll(within + 8192), within, within + dice.roll(600)][dice.roll(3) as usize];
        allow(&program, Some(limit));
        let mut line = Line::to(program.address).unwrap();
        for _ in 0..2 {
            number += 1;
            let text = plan(1, number);
            if save(&mut line, "/plan/one/text", &mut etag, &text).unwrap() {
                assert_eq!(std::fs::read_to_string(folder.path().join("one.md")).unwrap(), text, "point {point}");
                saved.push(text);
            } else {
                refused += 1;
            }
            match sell(&mut line, number).unwrap() {
                200 => sold.push(number),
                507 | 503 => refused += 1,
                other => panic!("point {point}: {other}"),
            }
            // Reading goes on.
            assert_eq!(line.ask("GET", "/plan/one", &[], b"").unwrap().status, 200, "point {point}");
        }
        allow(&program, None);
        number += 1;
        let text = plan(1, number);
        assert!(
            save(&mut line, "/plan/one/text", &mut etag, &text).unwrap(),
            "point {point}: nothing is saved after the fault is gone"
        );
        saved.push(text);
        assert_eq!(sell(&mut line, number).unwrap(), 200, "point {point}");
        sold.push(number);
    }
    let file = std::fs::read_to_string(folder.path().join("one.md")).unwrap();
    assert_eq!(&file, saved.last().unwrap());
    drop(program);
    let store = Store::open(folder.path()).unwrap();
    let kept = kept(&store, &Name::new("one").unwrap());
    let lines: BTreeSet<_> =
        store.ledger(&Name::new("sold").unwrap()).unwrap().iter().map(|line| line.number as usize).collect();
    let lost = saved.iter().filter(|text| !kept.contains(*text)).count()
        + sold.iter().filter(|number| !lines.contains(number)).count();
    println!(
        "{points} points in {:?}: {} acknowledged, {refused} refused, {lost} lost",
        began.elapsed(),
        saved.len() + sold.len()
    );
    assert_eq!(lost, 0);
    assert!(refused > points / 4, "the disk refused only {refused} times");
    drop(store);
    is_sound(folder.path());
}

/// Runs a line of shell in a world of mounts of its own, where that is allowed.
#[cfg(target_os = "linux")]
fn in_own_mounts(line: &str) -> Option<Command> {
    let may = Command::new("unshare").args(["-rm", "sh", "-c", "mount -t tmpfs none /mnt"]).output();
    if !may.is_ok_and(|may| may.status.success()) {
        println!("left out: this system lets nobody mount in a namespace of their own");
        return None;
    }
    let mut command = Command::new("unshare");
    command.args(["-rm", "sh", "-c", line]).arg(program());
    Some(command)
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_said_and_once_there_is_room_work_goes_on() {
    let outer = tempfile::tempdir().unwrap();
    let line = "mount -t tmpfs -o size=3m none \"$1\" && printf '%s' \"$2\" > \"$1/sold.md\" && printf '# One\\n' > \"$1/one.md\" && head -c 1000000 /dev/zero > \"$1/filler\" && exec \"$0\" serve \"$1\" --port 0";
    let Some(mut command) = in_own_mounts(line) else { return };
    command.arg(outer.path()).arg(EDITION);
    let program = Program::of(command);
    let inside = Path::new("/proc")
        .join(program.child.id().to_string())
        .join("root")
        .join(outer.path().strip_prefix("/").unwrap());
    let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
    let (mut acknowledged, mut refused, mut sold, mut unsold) = (Vec::new(), 0, Vec::new(), 0);
    for number in 1..600 {
        let text = plan(1, number);
        if save(&mut line, "/plan/one/text", &mut etag, &text).unwrap() {
            assert_eq!(std::fs::read_to_string(inside.join("one.md")).unwrap(), text, "save {number}");
            acknowledged.push(text)
        } else {
            refused += 1
        }
        match sell(&mut line, number).unwrap() {
            200 => sold.push(number),
            507 => unsold += 1,
            other => panic!("{other}"),
        }
        if refused > 20 {
            break;
        }
    }
    assert!(refused > 20 && acknowledged.len() > 5, "{} saved, {refused} refused", acknowledged.len());
    let answer = line
        .ask(
            "PUT",
            "/plan/one/text",
            &[("Sec-Fetch-Site", "same-origin"), ("If-Match", &format!("\"{etag}\""))],
            b"# More\n",
        )
        .unwrap();
    assert_eq!(answer.status, 507);
    assert!(answer.text().contains("disk is full") && answer.text().contains("make room"), "{}", answer.text());
    assert_eq!(line.ask("GET", "/plan/one", &[], b"").unwrap().status, 200, "reading goes on");
    std::fs::remove_file(inside.join("filler")).unwrap();
    let text = plan(1, 9999);
    assert!(save(&mut line, "/plan/one/text", &mut etag, &text).unwrap(), "nothing is saved though there is room");
    acknowledged.push(text.clone());
    assert_eq!(std::fs::read_to_string(inside.join("one.md")).unwrap(), text);
    let copy = tempfile::tempdir().unwrap();
    for name in [FILE, "makeready.db-wal", "makeready.db-shm", "one.md", "sold.md"] {
        let _ = std::fs::copy(inside.join(name), copy.path().join(name));
    }
    let store = Store::open(copy.path()).unwrap();
    let kept = kept(&store, &Name::new("one").unwrap());
    let lines: BTreeSet<_> =
        store.ledger(&Name::new("sold").unwrap()).unwrap().iter().map(|line| line.number as usize).collect();
    println!("full disk: {} saved and {refused} refused, {} sold and {unsold} refused", acknowledged.len(), sold.len());
    assert!(acknowledged.iter().all(|text| kept.contains(text)) && sold.iter().all(|number| lines.contains(number)));
    drop(store);
    is_sound(copy.path());
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_may_not_be_written_is_said_and_the_rest_goes_on() {
    let outer = tempfile::tempdir().unwrap();
    let line = "mkdir \"$1/shut\" && printf '# Shut\\n' > \"$1/shut/plan.md\" && printf '# Open\\n' > \"$1/open.md\" && mount --bind \"$1/shut\" \"$1/shut\" && mount -o remount,bind,ro \"$1/shut\" && exec \"$0\" serve \"$1\" --port 0";
    let Some(mut command) = in_own_mounts(line) else { return };
    command.arg(outer.path());
    let program = Program::of(command);
    let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
    let before = line.ask("GET", "/plan/shut%2Fplan/text", &[], b"").unwrap();
    assert_eq!(before.status, 200);
    let mark = format!("\"{}\"", before.etag());
    let answer = line
        .ask("PUT", "/plan/shut%2Fplan/text", &[("Sec-Fetch-Site", "same-origin"), ("If-Match", &mark)], b"# New\n")
        .unwrap();
    assert_eq!(answer.status, 507);
    assert!(answer.text().contains("cannot be written to"), "{}", answer.text());
    assert_eq!(line.ask("GET", "/plan/shut%2Fplan/text", &[], b"").unwrap().text(), "# Shut\n");
    assert!(save(&mut line, "/plan/open/text", &mut etag, "# Opened\n").unwrap());
}

#[cfg(target_os = "linux")]
#[test]
fn a_notebook_that_may_not_be_written_at_all_is_said_at_the_start() {
    let outer = tempfile::tempdir().unwrap();
    let line = "printf '# Shut\\n' > \"$1/plan.md\" && mount --bind \"$1\" \"$1\" && mount -o remount,bind,ro \"$1\" && exec \"$0\" serve \"$1\" --port 0";
    let Some(mut command) = in_own_mounts(line) else { return };
    let said = command.arg(outer.path()).output().unwrap();
    let words = String::from_utf8_lossy(&said.stderr).into_owned();
    assert_eq!(said.status.code(), Some(2), "{words}");
    assert!(words.contains("cannot be used") && words.contains("right to write"), "{words}");
}

/// Runs the program under a tracer that makes one system call fail or kills at it; nothing when there is no tracer.
#[cfg(target_os = "linux")]
fn traced(root: &Path, how: &[&str]) -> Option<Program> {
    if !Command::new("strace").arg("-V").output().is_ok_and(|said| said.status.success()) {
        println!("left out: the tracer strace is not installed");
        return None;
    }
    let mut command = Command::new("strace");
    // The tracer runs beside the program, so that the program itself is the child, and ends with it.
    command.args(["-D", "-f", "-qq", "-o"]).arg(root.with_extension("trace")).args(how).arg("--").arg(program());
    command.arg("serve").arg(root).args(["--port", "0"]);
    Some(Program::of(command))
}

#[cfg(target_os = "linux")]
#[test]
fn a_save_is_on_the_disk_before_it_is_acknowledged() {
    let folder = notebook(&[("one", "# One\n")]);
    let calls = "--trace=pwrite64,write,writev,sendto,fsync,fdatasync,rename,renameat,renameat2,recvfrom,read,openat";
    let Some(mut program) = traced(folder.path(), &["-y", "-s", "64", calls]) else { return };
    let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
    for number in 0..5 {
        assert!(save(&mut line, "/plan/one/text", &mut etag, &format!("# One, saved {number}\n")).unwrap());
    }
    program.end();
    let trace = std::fs::read_to_string(folder.path().with_extension("trace")).unwrap();
    let _ = std::fs::remove_file(folder.path().with_extension("trace"));
    let lines: Vec<_> = trace.lines().collect();
    let answers: Vec<_> = (0..lines.len()).filter(|at| lines[*at].contains("HTTP/1.1 200 OK")).collect();
    assert!(answers.len() >= 5, "no answer was traced:\n{trace}");
    for answer in &answers[answers.len() - 5..] {
        let asked = (0..*answer).rev().find(|at| lines[*at].contains("\"PUT /plan")).expect("what was asked");
        let within = &lines[asked..*answer];
        // In order: the intent into the journal and synced, the draft synced, the change of places, the folder synced, the
        // mark into the journal and synced; the answer after all of it.
        let mut at = 0;
        for (call, what) in [
            ("pwrite64", "-wal"),
            ("sync", "-wal"),
            ("fsync", ".makeready-"),
            ("renameat2", "RENAME_EXCHANGE"),
            ("fsync", ""),
            ("pwrite64", "-wal"),
            ("sync", "-wal"),
        ] {
            let next = within[at..].iter().position(|line| line.contains(&format!("{call}(")) && line.contains(what));
            at += next.unwrap_or_else(|| panic!("no {call} of {what:?} in its place:\n{}", within.join("\n"))) + 1;
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_sync_that_fails_is_never_taken_for_done() {
    // The tracer counts from the start; opening the record takes fewer than twenty.
    let folder = notebook(&[("one", "# One\n")]);
    let _trace = Leftover(folder.path().with_extension("trace"));
    let Some(program) =
        traced(folder.path(), &["--trace=fsync,fdatasync", "-e", "inject=fsync,fdatasync:error=EIO:when=40+"])
    else {
        return;
    };
    let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
    let (mut saved, mut refused) = (Vec::new(), 0);
    for number in 0..60 {
        let text = format!("# One, saved {number}\n");
        if save(&mut line, "/plan/one/text", &mut etag, &text).unwrap() { saved.push(text) } else { refused += 1 }
    }
    println!("{} saved, then {refused} refused", saved.len());
    assert!(saved.len() > 2 && refused > 20, "{} saved, {refused} refused", saved.len());
    let page = line.ask("GET", "/plan/one", &[], b"").unwrap();
    assert_eq!(page.status, 200, "reading goes on");
    let store = Store::open(folder.path()).unwrap();
    let kept = kept(&store, &Name::new("one").unwrap());
    assert!(saved.iter().all(|text| kept.contains(text)));
}

#[cfg(target_os = "linux")]
#[test]
fn a_call_that_fails_once_makes_no_false_promise_and_work_goes_on() {
    let points = long_form("MAKEREADY_FAULTS", 7);
    let calls = ["pwrite64", "fdatasync", "fsync", "renameat2", "openat", "ftruncate", "unlink"];
    let (mut acknowledged, mut refused, mut told, mut not_begun) = (0, 0, 0, 0);
    let began = Instant::now();
    for point in 0..points {
        let call = calls[point % calls.len()];
        let fault = ["EIO", "ENOSPC"][point / calls.len() % 2];
        // The tracer counts the calls of each thread for itself, so that the fault comes once in each of several threads.
        // Files are opened by the dozen before anything is saved.
        let when = 1 + point / calls.len() * 2 + if call == "openat" { 40 } else { 0 };
        let folder = notebook(&[("sold", EDITION), ("one", &plan(1, 0))]);
        let _trace = Leftover(folder.path().with_extension("trace"));
        let how = format!("inject={call}:error={fault}:when={when}");
        let Some(program) = traced_or_dead(folder.path(), &[&format!("--trace={call}"), "-e", &how]) else { return };
        let (mut saved, mut sold) = (Vec::new(), Vec::new());
        let mut in_a_row = 0;
        if let Some(program) = &program {
            let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
            for number in 1..=40 {
                if save(&mut line, "/plan/one/text", &mut etag, &plan(1, number)).unwrap() {
                    saved.push(plan(1, number));
                    in_a_row += 1;
                } else {
                    refused += 1;
                    in_a_row = 0;
                }
                match sell(&mut line, number).unwrap() {
                    200 => sold.push(number),
                    507 | 503 => refused += 1,
                    other => panic!("{call} {fault} {when}: {other}"),
                }
                let page = line.ask("GET", "/plan/one", &[], b"").unwrap();
                assert_eq!(page.status, 200, "{call} {fault} {when}, {number}: reading goes on: {}", page.text());
                if number >= 20 && in_a_row >= 8 {
                    break;
                }
            }
            if in_a_row < 8 {
                let mark = format!("\"{etag}\"");
                let answer = program.send("PUT", "/plan/one/text", &[("If-Match", &mark)], b"# More\n").unwrap();
                let words = answer.text();
                assert!(answer.status == 507 && words.contains("start the program again"), "{call} {fault}: {words}");
                told += 1;
            }
        } else {
            not_begun += 1;
        }
        drop(program);
        if in_a_row < 8 {
            // What could not be begun, or said that it should be begun again, is begun again.
            let program = Program::start(folder.path(), &[]);
            let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
            assert!(save(&mut line, "/plan/one/text", &mut etag, &plan(1, 99)).unwrap(), "{call} {fault} {when}");
            saved.push(plan(1, 99));
        }
        let file = std::fs::read_to_string(folder.path().join("one.md")).unwrap();
        assert_eq!(&file, saved.last().unwrap_or(&plan(1, 0)), "{call} {fault} {when}: the file is not the last saved");
        let store = Store::open(folder.path()).unwrap();
        let kept = kept(&store, &Name::new("one").unwrap());
        assert!(saved.iter().all(|text| kept.contains(text)), "{call} {fault} {when}: an acknowledged save is lost");
        let lines: BTreeSet<_> =
            store.ledger(&Name::new("sold").unwrap()).unwrap().iter().map(|line| line.number as usize).collect();
        assert!(sold.iter().all(|number| lines.contains(number)), "{call} {fault} {when}: a sale is lost");
        drop(store);
        is_sound(folder.path());
        acknowledged += saved.len() + sold.len();
    }
    println!(
        "{points} faults in {:?}: {acknowledged} acknowledged, {refused} refused, {told} times told to begin again, {not_begun} times not begun, 0 lost",
        began.elapsed()
    );
    assert!(refused + not_begun > 0 && acknowledged > points, "{refused} refused, {acknowledged} acknowledged");
}

#[cfg(target_os = "linux")]
#[test]
fn a_save_cut_off_at_any_step_leaves_the_old_text_or_the_new() {
    let runs = long_form("MAKEREADY_STEPS", 1);
    let steps = [
        "pwrite64:when=WAL",
        "fdatasync",
        "openat",
        "write",
        "fchmod",
        "fsync",
        "renameat2",
        "unlink",
        "unlinkat",
        "sendto",
        "writev",
        "ftruncate",
    ];
    let mut cut = 0;
    for call in steps.iter().map(|step| step.split(':').next().unwrap()) {
        for run in 0..runs {
            let folder = notebook(&[("one", &plan(1, 0))]);
            // The program starts and saves once, so that its start is not what is cut.
            let first = {
                let program = Program::start(folder.path(), &[]);
                let (mut line, mut etag) = (Line::to(program.address).unwrap(), String::new());
                assert!(save(&mut line, "/plan/one/text", &mut etag, &plan(1, 1)).unwrap());
                plan(1, 1)
            };
            let when = 12 + run * 3 + usize::from(call == "openat") * 60;
            let _trace = Leftover(folder.path().with_extension("trace"));
            let inject = format!("inject={call}:signal=SIGKILL:when={when}");
            let trace = format!("--trace={call}");
            let Some(program) = traced_or_dead(folder.path(), &[&trace, "-e", &inject]) else { return };
            let mut acknowledged = vec![first];
            let mut sent = acknowledged.clone();
            if let Some(program) = program {
                let (Ok(mut line), mut etag) = (Line::to(program.address), String::new()) else { continue };
                for number in 2..30 {
                    sent.push(plan(1, number));
                    match save(&mut line, "/plan/one/text", &mut etag, &plan(1, number)) {
                        Ok(true) => acknowledged.push(plan(1, number)),
                        _ => {
                            cut += 1;
                            break;
                        }
                    }
                }
            }
            let text = std::fs::read_to_string(folder.path().join("one.md")).unwrap();
            assert!(sent.contains(&text), "{call} {run}: the file is neither old nor new");
            let store = Store::open(folder.path()).unwrap();
            let kept = kept(&store, &Name::new("one").unwrap());
            assert!(acknowledged.iter().all(|text| kept.contains(text)), "{call} {run}: an acknowledged save is lost");
            drop(store);
            is_sound(folder.path());
        }
    }
    println!("{cut} saves were cut off");
    assert!(cut >= 3, "only {cut} saves were cut off");
}

/// A file that is removed in the end.
#[cfg(target_os = "linux")]
struct Leftover(std::path::PathBuf);

#[cfg(target_os = "linux")]
impl Drop for Leftover {
    fn drop(&mut self) {
        let _ = std::fs::remove_file(&self.0);
    }
}

/// As `traced`, but the program may be killed before it says where it is.
#[cfg(target_os = "linux")]
fn traced_or_dead(root: &Path, how: &[&str]) -> Option<Option<Program>> {
    let started = std::panic::catch_unwind(|| traced(root, how));
    match started {
        Ok(None) => None,
        Ok(Some(program)) => Some(Some(program)),
        Err(_) => Some(None),
    }
}
