//! The power fails: what was written and not yet synced may be there, or not, or half, in any order.
//!
//! The program is traced once while it saves and sells. Each system call that changes the notebook's folder goes into a
//! model of the disk, in which only what was synced is sure: a file's bytes by a sync of the file, its name by a sync of the
//! folder. The trace is then cut at many points; at each, writes that were not synced are dropped, kept, torn at sectors of
//! 512 bytes and put down in another order, and the notebook that is left is opened and read.
//!
//! Source of the model: what POSIX promises of `fsync` and nothing more, except that names change in the order they were
//! changed, as on a disk with a journal.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, clippy::panic, reason = "a test may stop")]

mod program;

use std::collections::{BTreeMap, HashMap};
use std::path::Path;
use std::process::Command;
use std::rc::Rc;

use engine::measure::Day;
use program::{Dice, Line, Program, long_form, notebook};
use server::clock::Clock;
use server::names::Name;
use server::notebook::Notebook;
use server::store::{FILE, Store};

const PLAN: &str = "+++\ntitle = \"Power\"\nedition = 500\n+++\n\n# Power\n\nAs it was.\n";
const SECTOR: usize = 512;

/// What a save says. Some are long, so that they take several pages of the record.
fn saved(number: usize) -> String {
    let lines = if number.is_multiple_of(5) { 400 } else { 3 };
    format!("{PLAN}Saved {number}.\n\n{}", format!("A line of the plan, {number}.\n").repeat(lines))
}

// ------------------------------------------------------------------------------------------------ what was traced

/// One thing that changed the folder or told a client that something is kept.
#[derive(Clone, Debug)]
enum Event {
    Create(String),
    Write { name: String, at: Option<usize>, bytes: Rc<[u8]> },
    Cut { name: String, length: usize },
    Sync(String),
    SyncFolder,
    Rename(String, String),
    Exchange(String, String),
    Remove(String),
    Answered,
}

/// A string as the tracer writes it: every byte as `\x2f`.
fn bytes_of(text: &str) -> Vec<u8> {
    text.split("\\x").skip(1).map(|digits| u8::from_str_radix(&digits[..2], 16).unwrap()).collect()
}

fn text_of(text: &str) -> String {
    String::from_utf8(bytes_of(text)).unwrap()
}

/// All strings of a call, still as the tracer writes them.
fn strings(call: &str) -> Vec<&str> {
    call.split('"').skip(1).step_by(2).collect()
}

/// Calls as they ended, in that order; one that was begun and ended apart is put together.
fn calls(trace: &str) -> Vec<String> {
    let mut begun: HashMap<&str, String> = HashMap::new();
    let mut all = Vec::new();
    for line in trace.lines() {
        let Some((thread, rest)) = line.split_once(' ') else { continue };
        let rest = rest.trim_start();
        if let Some(start) = rest.strip_suffix("<unfinished ...>") {
            begun.insert(thread, start.trim_end().to_owned());
        } else if let Some((_, end)) = rest.strip_prefix("<... ").and_then(|rest| rest.split_once("resumed>")) {
            all.push(begun.remove(thread).unwrap_or_default() + end);
        } else {
            all.push(rest.to_owned());
        }
    }
    all
}

/// What the calls did to a folder.
fn events(trace: &str, root: &Path) -> Vec<Event> {
    let root = root.to_str().unwrap();
    let inside = |path: &str| path.strip_prefix(root).and_then(|rest| rest.strip_prefix('/')).map(str::to_owned);
    let mut all = Vec::new();
    for call in calls(trace) {
        let Some((name, arguments)) = call.split_once('(') else { continue };
        if call.contains(" = -1 ") || call.contains(" = ?") {
            continue;
        }
        // A file behind a number: `12</tmp/x/makeready.db>`, its path in the tracer's own writing.
        let open = arguments.split_once('<').and_then(|(_, rest)| rest.split_once('>')).map(|(path, _)| path);
        let open = open.map(|path| if path.starts_with("\\x") { text_of(path) } else { path.to_owned() });
        let file = open.as_deref().and_then(inside);
        let number = |from_end: usize| -> usize {
            let (inside, _) = arguments.rsplit_once(')').unwrap();
            inside.rsplit(", ").nth(from_end).unwrap().trim().parse().unwrap()
        };
        match name {
            "openat" if arguments.contains("O_CREAT") || arguments.contains("O_TRUNC") => {
                let Some(file) = inside(&text_of(strings(arguments)[0])) else { continue };
                if arguments.contains("O_CREAT") {
                    all.push(Event::Create(file.clone()));
                }
                if arguments.contains("O_TRUNC") {
                    all.push(Event::Cut { name: file, length: 0 });
                }
            }
            "pwrite64" | "write" => {
                let Some(file) = file else { continue };
                let at = (name == "pwrite64").then(|| number(0));
                all.push(Event::Write { name: file, at, bytes: bytes_of(strings(arguments)[0]).into() });
            }
            "writev" | "pwritev" | "sendto" => {
                assert!(file.is_none(), "{name} of a file is not in the model");
                let first = strings(arguments).first().map(|text| bytes_of(text)).unwrap_or_default();
                if first.starts_with(b"HTTP/1.1 ") {
                    assert!(first.starts_with(b"HTTP/1.1 200"), "{}", String::from_utf8_lossy(&first));
                    all.push(Event::Answered);
                }
            }
            "ftruncate" => all.extend(file.map(|name| Event::Cut { name, length: number(0) })),
            "fsync" | "fdatasync" if open.as_deref() == Some(root) => all.push(Event::SyncFolder),
            "fsync" | "fdatasync" => all.extend(file.map(Event::Sync)),
            "rename" | "renameat" | "renameat2" => {
                let paths: Vec<_> = strings(arguments).iter().map(|path| inside(&text_of(path))).collect();
                let [Some(from), Some(to)] = paths.as_slice() else { continue };
                let (from, to) = (from.clone(), to.clone());
                let exchange = arguments.contains("RENAME_EXCHANGE");
                all.push(if exchange { Event::Exchange(from, to) } else { Event::Rename(from, to) });
            }
            "unlink" | "unlinkat" => all.extend(inside(&text_of(strings(arguments)[0])).map(Event::Remove)),
            "link" | "linkat" | "fallocate" | "copy_file_range" => {
                assert!(!call.contains(root), "{name} is not in the model: {call}");
            }
            _ => {}
        }
    }
    all
}

// -------------------------------------------------------------------------------------------------- the model disk

#[derive(Clone, Debug)]
enum Change {
    Write(usize, Rc<[u8]>),
    Cut(usize),
}

#[derive(Clone, Debug, Default)]
struct File {
    sure: Vec<u8>,
    unsure: Vec<Change>,
    /// How long it is as the program sees it.
    length: usize,
}

/// Names to files, in the order they were changed.
type Names = BTreeMap<String, usize>;

#[derive(Debug, Default)]
struct Disk {
    files: Vec<File>,
    seen: Names,
    sure: Names,
    /// Every state of the names since the folder was last synced.
    unsure: Vec<Names>,
}

impl Disk {
    fn holding(name: &str, bytes: &[u8]) -> Self {
        let file = File { sure: bytes.to_vec(), unsure: Vec::new(), length: bytes.len() };
        let names: Names = [(name.to_owned(), 0)].into();
        Self { files: vec![file], seen: names.clone(), sure: names, unsure: Vec::new() }
    }

    fn file(&mut self, name: &str) -> &mut File {
        let number = *self.seen.get(name).unwrap_or_else(|| panic!("{name} is written and was never made"));
        &mut self.files[number]
    }

    fn rename(&mut self, change: impl FnOnce(&mut Names)) {
        change(&mut self.seen);
        self.unsure.push(self.seen.clone());
    }

    fn happen(&mut self, event: &Event) {
        match event {
            Event::Create(name) if self.seen.contains_key(name) => {}
            Event::Create(name) => {
                let number = self.files.len();
                self.files.push(File::default());
                self.rename(|names| _ = names.insert(name.clone(), number));
            }
            Event::Write { name, at, bytes } => {
                let file = self.file(name);
                let at = at.unwrap_or(file.length);
                file.length = file.length.max(at + bytes.len());
                file.unsure.push(Change::Write(at, bytes.clone()));
            }
            Event::Cut { name, length } => {
                let file = self.file(name);
                file.length = *length;
                file.unsure.push(Change::Cut(*length));
            }
            Event::Sync(name) => {
                let file = self.file(name);
                for change in std::mem::take(&mut file.unsure) {
                    put(&mut file.sure, &change);
                }
            }
            Event::SyncFolder => {
                self.sure = self.seen.clone();
                self.unsure.clear();
            }
            Event::Rename(from, to) => self.rename(|names| {
                let file = names.remove(from).unwrap();
                names.insert(to.clone(), file);
            }),
            Event::Exchange(one, other) => self.rename(|names| {
                let (a, b) = (names[one], names[other]);
                names.insert(one.clone(), b);
                names.insert(other.clone(), a);
            }),
            Event::Remove(name) => self.rename(|names| _ = names.remove(name)),
            Event::Answered => {}
        }
    }

    /// What may be left when the power fails now.
    fn left(&self, dice: &mut Dice) -> BTreeMap<String, Vec<u8>> {
        let states = self.unsure.len() + 1;
        let kept = match below(dice, 3) {
            0 => 0,
            1 => states - 1,
            _ => below(dice, states),
        };
        let names = if kept == 0 { &self.sure } else { &self.unsure[kept - 1] };
        let mood = below(dice, 4);
        let mut left = BTreeMap::new();
        for (name, number) in names {
            let file = &self.files[*number];
            let mut bytes = file.sure.clone();
            let mut changes: Vec<&Change> = file.unsure.iter().collect();
            match mood {
                0 => changes.clear(),
                1 => {}
                _ => {
                    changes.retain(|_| below(dice, 2) == 0);
                    if mood == 3 {
                        for at in (1..changes.len()).rev() {
                            changes.swap(at, below(dice, at + 1));
                        }
                    }
                }
            }
            for change in changes {
                match change {
                    Change::Write(at, all) if mood > 1 && below(dice, 4) == 0 => {
                        // Torn: some sectors of it are there.
                        for (number, sector) in all.chunks(SECTOR).enumerate() {
                            if below(dice, 2) == 0 {
                                put(&mut bytes, &Change::Write(at + number * SECTOR, sector.into()));
                            }
                        }
                    }
                    change => put(&mut bytes, change),
                }
            }
            left.insert(name.clone(), bytes);
        }
        left
    }
}

fn put(bytes: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Cut(length) => bytes.resize(*length, 0),
        Change::Write(at, written) => {
            let end = at + written.len();
            if bytes.len() < end {
                bytes.resize(end, 0);
            }
            bytes[*at..end].copy_from_slice(written);
        }
    }
}

// ------------------------------------------------------------------------------------------------------- the test

fn below(dice: &mut Dice, end: usize) -> usize {
    dice.roll(end as u64) as usize
}

/// What was asked of the program, in order; each is answered before the next is asked.
#[derive(Clone, Debug)]
enum Asked {
    Mark,
    Save(String),
    Sell(usize),
}

/// Saves and sells under the tracer.
fn traced() -> (Vec<Event>, Vec<Asked>) {
    let folder = notebook(&[("power", PLAN)]);
    let root = folder.path().canonicalize().unwrap();
    let trace = root.with_extension("trace");
    let mut command = Command::new("strace");
    command
        .args(["-D", "-f", "-qq", "-y", "-xx", "-s", "4000000", "-o"])
        .arg(&trace)
        .arg("--trace=openat,write,writev,pwrite64,pwritev,ftruncate,fallocate,fsync,fdatasync,rename,renameat,renameat2,unlink,unlinkat,link,linkat,sendto,copy_file_range")
        .arg("--")
        .arg(env!("CARGO_BIN_EXE_makeready"));
    command.arg("serve").arg(&root).args(["--port", "0"]);
    let mut program = Program::of(command);
    let mut line = Line::to(program.address).unwrap();
    let mut asked = vec![Asked::Mark];
    let mut etag = line.ask("GET", "/plan/power/text", &[], b"").unwrap().etag();
    let own = ("Sec-Fetch-Site", "same-origin");
    for number in 1..=40 {
        let text = saved(number);
        asked.push(Asked::Save(text.clone()));
        let mark = format!("\"{etag}\"");
        let answer = line.ask("PUT", "/plan/power/text", &[own, ("If-Match", &mark)], text.as_bytes()).unwrap();
        assert_eq!(answer.status, 200, "{}", answer.text());
        etag = answer.etag();
        if number % 2 == 0 {
            asked.push(Asked::Sell(number));
            let sale = format!("{{\"number\":{number},\"when\":\"2026-11-25\",\"words\":\"buyer {number}\"}}");
            let answer = line.ask("POST", "/plan/power/ledger", &[own], sale.as_bytes()).unwrap();
            assert_eq!(answer.status, 200, "{}", answer.text());
        }
    }
    program.end();
    let text = std::fs::read_to_string(&trace).unwrap();
    let _ = std::fs::remove_file(&trace);
    (events(&text, &root), asked)
}

#[test]
fn nothing_acknowledged_is_lost_when_the_power_fails() {
    let rounds = long_form("MAKEREADY_CUTS", 1_000);
    let (events, asked) = traced();
    let answers = events.iter().filter(|event| matches!(event, Event::Answered)).count();
    assert_eq!(answers, asked.len(), "every answer was seen in the trace");
    let syncs = events.iter().filter(|event| matches!(event, Event::Sync(_) | Event::SyncFolder)).count();
    let mut dice = Dice(20261126);
    let mut cuts: Vec<usize> = (0..rounds).map(|_| below(&mut dice, events.len() + 1)).collect();
    cuts.sort_unstable();
    let mut disk = Disk::holding("power.md", PLAN.as_bytes());
    let (mut at, mut answered, mut unsynced) = (0, 0, 0);
    let name = Name::new("power").unwrap();
    for cut in cuts {
        for event in &events[at..cut] {
            disk.happen(event);
            answered += usize::from(matches!(event, Event::Answered));
        }
        at = at.max(cut);
        let open =
            |(name, number): (&String, &usize)| !name.ends_with("-shm") && !disk.files[*number].unsure.is_empty();
        unsynced += usize::from(disk.seen.iter().any(open) || !disk.unsure.is_empty());
        // In memory where there is such a folder: what is looked at is what is left, not how it is written again.
        let memory = Path::new("/dev/shm");
        let folder = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap();
        for (file, bytes) in disk.left(&mut dice) {
            // The record's index in memory is made again, and was never meant to outlast the program.
            if !file.ends_with("-shm") {
                std::fs::write(folder.path().join(file), bytes).unwrap();
            }
        }
        look(folder.path(), &name, &asked[..answered], asked.get(answered), cut);
    }
    println!(
        "{} events with {syncs} syncs, cut {rounds} times, {unsynced} of them amid what was not synced",
        events.len()
    );
    assert!(unsynced * 3 > rounds, "{unsynced} of {rounds}");
}

/// The notebook that is left holds all that was acknowledged, and work goes on.
fn look(root: &Path, name: &Name, done: &[Asked], under_way: Option<&Asked>, cut: usize) {
    let store = Store::open(root).unwrap_or_else(|refusal| panic!("cut at {cut}: {refusal:?}"));
    let texts: Vec<_> =
        store.revisions(name).unwrap().iter().map(|one| store.revision_text(name, one.number).unwrap()).collect();
    let sold: Vec<_> = store.ledger(name).unwrap().iter().map(|line| line.number as usize).collect();
    let mut last = PLAN;
    for asked in done {
        match asked {
            Asked::Mark => {}
            Asked::Save(text) => {
                assert!(
                    texts.contains(text),
                    "cut at {cut}: an acknowledged save is gone: {}",
                    &text[PLAN.len()..][..20]
                );
                last = text;
            }
            Asked::Sell(number) => assert!(sold.contains(number), "cut at {cut}: the sale of {number} is gone"),
        }
    }
    assert_eq!(store.follow_chain().unwrap().unwrap(), sold.len(), "cut at {cut}");
    let sound: String = rusqlite::Connection::open(root.join(FILE))
        .unwrap()
        .query_row("PRAGMA integrity_check", [], |row| row.get(0))
        .unwrap();
    assert_eq!(sound, "ok", "cut at {cut}");
    // The file is the last acknowledged text or the one that was being saved, whole.
    let file = std::fs::read_to_string(root.join("power.md")).unwrap_or_else(|error| panic!("cut at {cut}: {error}"));
    let next = under_way.and_then(|asked| if let Asked::Save(text) = asked { Some(text.as_str()) } else { None });
    assert!(file == last || Some(file.as_str()) == next, "cut at {cut}: the file is\n{file}");
    // And it is read and saved again.
    let notebook = Notebook::open(root.to_path_buf(), store, Clock::Fixed(Day::parse("2026-11-26").unwrap())).unwrap();
    notebook.look();
    let mark = notebook.text(name).unwrap().hash.clone();
    notebook.save(name, "# Power again\n", &mark).unwrap_or_else(|refusal| panic!("cut at {cut}: {refusal:?}"));
    assert_eq!(std::fs::read_to_string(root.join("power.md")).unwrap(), "# Power again\n", "cut at {cut}");
}
