//! Archives of any make: taken in whole or refused whole, and nothing is written outside the notebook.

use std::collections::BTreeMap;
use std::io::{Cursor, Write as _};

use sha2::{Digest as _, Sha256};
use zip::write::SimpleFileOptions;

use crate::asked::Asked;
use crate::tries::{Tries, text};

/// Lines of which an archive is made: a path is a file of it, `!` says what its list gets wrong, `~` turns a byte of the whole.
const LINES: &[&str] = &[
    "one.md\n",
    "ONE.md\n",
    "new.md\n",
    "deep/new.md\n",
    "shops/lab.md\n",
    "shops/../lab.md\n",
    "../escaped.md\n",
    "/escaped.md\n",
    "..\\escaped.md\n",
    "C:escaped.md\n",
    "./new.md\n",
    "a//b.md\n",
    "a/b/c/d/e/f/g/h/i/j.md\n",
    ".makeready-ledger.txt\n",
    "makeready.db\n",
    "makeready.json\n",
    "ledger.csv\n",
    "picture.png\n",
    "new.md/picture.png\n",
    "nul.md\n",
    "e\u{301}.md\n",
    "\u{202e}dm.md\n",
    "\u{0}.md\n",
    "long.png\n",
    "!list\n",
    "!hash\n",
    "!plan\n",
    "!form\n",
    "!stored\n",
    "~1\n",
    "~77\n",
    "~",
    "9",
    "4",
    "\n",
    ".md",
    "/",
    "..",
];

fn contents(path: &str) -> Vec<u8> {
    match path {
        "long.png" => vec![0; 300_000],
        path if path.ends_with(".md") => b"# New\n\n- [ ] a box\n".to_vec(),
        _ => path.as_bytes().to_vec(),
    }
}

/// The archive that some lines ask for; as many of its files as the writer itself takes.
fn archive(lines: &str) -> Vec<u8> {
    let (mut zip, mut files, mut wrong) = (zip::ZipWriter::new(Cursor::new(Vec::new())), BTreeMap::new(), Vec::new());
    let method =
        if lines.contains("!stored") { zip::CompressionMethod::Stored } else { zip::CompressionMethod::Deflated };
    let options = SimpleFileOptions::default().compression_method(method);
    let mut turned = Vec::new();
    for line in lines.lines().filter(|line| !line.is_empty()) {
        if let Some(fault) = line.strip_prefix('!') {
            wrong.push(fault);
        } else if let Some(at) = line.strip_prefix('~') {
            turned.extend(at.parse::<usize>().ok());
        } else if zip.start_file(line, options).is_ok() {
            zip.write_all(&contents(line)).unwrap();
            let hash: String = Sha256::digest(contents(line)).iter().map(|byte| format!("{byte:02x}")).collect();
            files.insert(line.to_owned(), if wrong.contains(&"hash") { "00".repeat(32) } else { hash });
        }
    }
    if !wrong.contains(&"list") {
        let plan = if wrong.contains(&"plan") { "another" } else { "new" };
        let list = serde_json::json!({
            "form": if wrong.contains(&"form") { 2 } else { 1 },
            "plan": plan, "title": "New", "revision": 1, "made": "2026-11-25", "files": files,
        });
        if zip.start_file("makeready.json", options).is_ok() {
            zip.write_all(list.to_string().as_bytes()).unwrap();
        }
    }
    let mut bytes = zip.finish().unwrap().into_inner();
    for at in turned {
        let (length, at) = (bytes.len(), at.wrapping_mul(2_654_435_761));
        bytes[at % length] ^= 1 << (at % 7);
    }
    bytes
}

/// Every file of the notebook that is not the program's own, with its text.
fn files(asked: &Asked) -> BTreeMap<String, Vec<u8>> {
    let (mut all, mut folders) = (BTreeMap::new(), vec![asked.folder.path().to_owned()]);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.strip_prefix(asked.folder.path()).unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                folders.push(path);
            } else if !name.starts_with("makeready") && !name.starts_with(".makeready") {
                all.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    all
}

#[test]
fn archives_of_any_make_are_taken_in_whole_or_refused_whole() {
    let mut asked = Asked::new();
    let mut before = files(&asked);
    let (mut taken, mut refused) = (0, 0);
    // One that is right is taken in, or the rest would show nothing.
    let (status, answer) = asked.send("/import", archive("new.md\npicture.png\n"));
    assert_eq!(status, 200, "{}", String::from_utf8_lossy(&answer));
    let mut tries = Tries::of("archives", 12, LINES, 400);
    while let Some(lines) = tries.next(|dice| text(dice, LINES, 12)) {
        if taken % 20 == 0 {
            asked = Asked::new();
            before = files(&asked);
            taken += 1;
        }
        let (status, answer) = asked.send("/import", archive(&lines));
        let said = String::from_utf8_lossy(&answer).into_owned();
        let after = files(&asked);
        assert!(before.iter().all(|(name, text)| after.get(name) == Some(text)), "a file was changed by {lines:?}");
        assert!(!asked.folder.path().parent().unwrap().join("escaped.md").exists(), "{lines:?} wrote outside");
        if status == 200 {
            taken += 1;
            let answer: serde_json::Value = serde_json::from_slice(&answer).unwrap();
            let written: Vec<_> = answer["written"].as_array().unwrap().iter().filter_map(|one| one.as_str()).collect();
            let new: Vec<_> = after.keys().filter(|name| !before.contains_key(*name)).map(String::as_str).collect();
            assert!(new.iter().all(|name| written.iter().any(|one| name.starts_with(one))), "{new:?} but {written:?}");
        } else {
            refused += 1;
            assert!((400..500).contains(&status), "{status} for {lines:?}: {said}");
            assert_eq!(before.len(), after.len(), "refused, and yet something was written: {lines:?}");
        }
        before = after;
        tries.showed(&lines, [format!("{status} {}", said.replace('"', " "))]);
    }
    println!("{taken} were taken in, {refused} refused");
    assert!(taken > 5 && refused > 50, "{taken} taken in, {refused} refused");
}
