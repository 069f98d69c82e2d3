//! `tests/ASVS.md`: each of its rows names a test that exists; and claims about the whole source, which no request can show.

use std::path::{Path, PathBuf};

use serde_json::json;
use server::names::Name;

use crate::desk::Desk;

const TABLE: &str = include_str!("../../../tests/ASVS.md");
/// Rows that hold nothing by a test say so, in bold.
const OTHERWISE: &[&str] = &["**cannot be held**", "**held otherwise**", "**not held**"];
/// What holds a row besides tests, as the row names it, with the file and the words that switch it on.
const CHECKS: &[(&str, &str, &str)] = &[
    ("the compiler (`unsafe_code`)", "Cargo.toml", "unsafe_code = \"deny\""),
    ("the compiler (format strings)", "Cargo.toml", "edition = \"2024\""),
    ("the compiler (shared data)", "Cargo.toml", "unsafe_code = \"deny\""),
    ("clippy (`await_holding_lock`)", "Cargo.toml", "await_holding_lock = \"warn\""),
    ("`.ci/deny`", ".ci/run", ".ci/deny"),
    ("`.ci/deny --sbom`", ".ci/deny", "--sbom"),
];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Every file below a folder whose name ends so, with its text.
fn sources(folder: &str, end: &str) -> Vec<(String, String)> {
    let (mut folders, mut all) = (vec![root().join(folder)], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).unwrap().map(Result::unwrap) {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|one| one == end) {
                let name = path.strip_prefix(root()).unwrap().to_str().unwrap().to_owned();
                all.push((name, std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    assert!(!all.is_empty(), "nothing in {folder}");
    all
}

/// A source without its own tests.
fn shipped(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or_default()
}

/// The files in which the tests of a place stand: `links` is a test binary of the server, `src/names` a module of the server,
/// anything else a path from the root.
fn files_of(place: &str) -> Vec<PathBuf> {
    let bases = match place.strip_prefix("src/") {
        Some(module) => vec![format!("server/src/{module}")],
        None => vec![format!("server/tests/{place}"), place.to_owned()],
    };
    let mut all = Vec::new();
    for base in bases {
        all.push(root().join(format!("{base}.rs")));
        let folder = root().join(&base);
        if folder.is_dir() {
            all.extend(sources(&base, "rs").into_iter().map(|(name, _)| root().join(name)));
        }
    }
    all.retain(|path| path.is_file());
    all
}

/// Whether a text has a test of this name: an attribute that makes it one stands above it.
fn has_test(text: &str, name: &str) -> bool {
    text.split(&format!("fn {name}(")).collect::<Vec<_>>().windows(2).any(|parts| {
        let above: Vec<_> = parts[0].trim_end_matches(' ').lines().rev().take(6).map(str::trim).collect();
        let end = above.iter().position(|line| line.ends_with('}') || line.is_empty()).unwrap_or(above.len());
        above[..end].iter().any(|line| line.starts_with("#[test]") || line.starts_with("#[tokio::test"))
    })
}

/// What stands between back-ticks.
fn quoted(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2)
}

#[test]
fn every_row_names_a_test_that_exists_and_no_file_that_is_gone() {
    let (mut wrong, mut rows, mut named) = (Vec::new(), 0, 0);
    for line in TABLE.lines().filter(|line| line.starts_with("| ")).skip(1) {
        let cells: Vec<_> = line.trim_matches('|').splitn(4, '|').map(str::trim).collect();
        let [number, _, _, held] = cells[..] else { panic!("a row of other than four cells: {line}") };
        rows += 1;
        let mut tests = 0;
        for words in quoted(held) {
            if let Some((place, name)) = words.split_once("::") {
                let files = files_of(place);
                if files.iter().any(|path| has_test(&std::fs::read_to_string(path).unwrap(), name)) {
                    tests += 1;
                } else {
                    wrong.push(format!("{number}: there is no test `{words}`"));
                }
            } else if words.contains('/') && !words.starts_with('/') && !words.contains([' ', ':', '…']) {
                let there = [root().join(words), root().join("server").join(words)].iter().any(|path| path.exists());
                if !there {
                    wrong.push(format!("{number}: there is no file `{words}`"));
                }
            }
        }
        let checked = CHECKS.iter().any(|(words, file, switch)| {
            held.contains(words) && std::fs::read_to_string(root().join(file)).unwrap().contains(switch)
        });
        let otherwise = OTHERWISE.iter().any(|mark| held.contains(mark));
        if tests == 0 && !checked && !otherwise {
            wrong.push(format!("{number}: no test holds this: {held}"));
        }
        named += tests;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(rows > 110 && named > 110, "{rows} rows name {named} tests");
    // The reader itself: a test, one that is none, and a place that is not there.
    assert!(has_test("#[test]\nfn a_fact() {", "a_fact") && !has_test("}\n\nfn a_fact() {", "a_fact"));
    assert!(files_of("src/folder").len() > 1 && files_of("nowhere").is_empty());
}

/// Files whose shipped part holds one of these words.
fn holding(folders: &[(&str, &str)], words: &[&str]) -> Vec<String> {
    let all = folders.iter().flat_map(|(folder, end)| sources(folder, end));
    let mut found: Vec<_> =
        all.filter(|(_, text)| words.iter().any(|word| shipped(text).contains(word))).map(|(name, _)| name).collect();
    found.sort();
    found
}

const CODE: &[(&str, &str)] = &[("server/src", "rs"), ("engine/src", "rs"), ("server/paper/src", "rs")];
const NOWHERE: [&str; 0] = [];

#[test]
fn the_server_opens_no_connection_and_starts_no_other_program() {
    assert_eq!(
        holding(CODE, &["TcpStream::connect", "UdpSocket", "UnixStream::connect", "lookup_host", "to_socket_addrs"]),
        NOWHERE
    );
    assert_eq!(holding(CODE, &["Command::new"]), NOWHERE);
    let needed = |file: &str| std::fs::read_to_string(root().join(file)).unwrap();
    for file in ["Cargo.toml", "server/Cargo.toml", "engine/Cargo.toml", "server/paper/Cargo.toml"] {
        let text = needed(file);
        let shipped = text.split("[dev-dependencies]").next().unwrap();
        for client in
            ["reqwest", "ureq", "isahc", "curl", "hyper-tls", "\"client\"", "lettre", "trust-dns", "typst-kit"]
        {
            assert!(!shipped.contains(client), "{file} brings {client}");
        }
    }
}

#[test]
fn no_code_query_pattern_or_page_is_made_of_text() {
    // SQL stands in one folder, and there each statement is a literal: values are parameters. Put together from parts of the
    // program's own are only the names of tables and columns, and which index is asked.
    let made = ["format!(\"SELECT", "format!(\"INSERT", "format!(\"UPDATE", "format!(\"DELETE", "format!(\"REPLACE"];
    assert_eq!(
        holding(CODE, &made),
        ["copies", "daybook", "index", "sound"].map(|file| format!("server/src/store/{file}.rs"))
    );
    let sql = holding(&[("server/src", "rs")], &["\"SELECT ", "\"INSERT INTO ", "\"UPDATE ", "\"DELETE FROM "]);
    let outside: Vec<_> = sql.iter().filter(|name| !name.starts_with("server/src/store/")).collect();
    assert_eq!(outside, Vec::<&String>::new());
    assert_eq!(holding(CODE, &["render_str", "template_from_str", "add_template", "render_named_str"]), NOWHERE);
    assert_eq!(holding(CODE, &["Regex::new", "RegexBuilder", "regex::"]), NOWHERE);
    let modules = &[("static", "js")];
    assert_eq!(holding(modules, &["new RegExp", "eval(", "new Function", "setTimeout('", "document.write"]), NOWHERE);
}

#[test]
fn html_becomes_nodes_in_one_module_only() {
    let makes = [
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "createContextualFragment",
        "parseFromString",
        "setHTML",
        "srcdoc",
        "createPolicy",
    ];
    assert_eq!(holding(&[("static", "js")], &makes), ["static/safe.js"]);
}

#[test]
fn a_browser_keeps_only_unsaved_writing_and_ways_of_showing() {
    let keeps = ["localStorage", "sessionStorage", "indexedDB", "caches.", "document.cookie", "serviceWorker"];
    let found = holding(&[("static", "js")], &keeps);
    assert_eq!(found, ["static/kept.js", "static/wall.js"]);
    let wall = std::fs::read_to_string(root().join("static/wall.js")).unwrap();
    for call in wall.split("remember('").skip(1) {
        let what = call.split('\'').next().unwrap();
        assert!(["wall as", "keys"].contains(&what), "{what} is kept");
    }
}

#[tokio::test]
async fn fields_nobody_asked_for_are_not_taken() {
    let desk = Desk::with(
        "+++\ntitle = \"P\"\nedition = 5\n[shops]\nlab = \"North Lab\"\n+++\n\n# P\n\n## Print {for=lab}\n\nDark.\n",
    );
    let sale = json!({
        "number": 1, "what": "sold", "when": "2026-11-20", "words": "A", "id": 99, "plan": "other", "kind": "proof", "nth": 7,
        "entered": "1999-01-01T00:00:00Z", "before": "x", "mark": "x",
    });
    desk.post("/plan/p/ledger", "", sale).await.is(200);
    let lines = desk.notebook.store().ledger(&Name::new("p").unwrap()).unwrap();
    assert_eq!(lines.len(), 1);
    assert_eq!((lines[0].line, lines[0].print.as_str(), lines[0].number), (1, "1", 1), "{:?}", lines[0]);
    assert!(!format!("{:?}", lines[0]).contains("1999"), "{:?}", lines[0]);
    assert_eq!(desk.notebook.store().follow_chain().unwrap(), Ok(1), "the chain is the program's own");
    let secret = "A".repeat(43);
    let link = json!({
        "role": "lab", "days": 3, "token": secret, "expires": "2099-01-01T00:00:00Z", "revision": 9, "plan": "other", "shop": "x",
    });
    let made = desk.post("/plan/p/links", "", link).await.is(200).json();
    assert!(!made["address"].as_str().unwrap().contains(&secret));
    let links = server::store::Store::open(desk.folder.path()).unwrap().links(&Name::new("p").unwrap()).unwrap();
    assert_eq!(
        (links.len(), links[0].expires.as_str(), links[0].shop.as_str()),
        (1, "2026-11-28T12:00:00Z", "North Lab")
    );
}

/// What is wrong with a line of a script or a style, if anything is.
fn misformed(line: &str) -> Option<&'static str> {
    if line.chars().count() > 120 {
        Some("is longer than 120 characters: break it")
    } else if line.contains('\t') {
        Some("holds a tab: write two spaces")
    } else if line.ends_with(char::is_whitespace) {
        Some("ends in a blank: take it away")
    } else {
        None
    }
}

#[test]
fn scripts_and_styles_keep_to_the_width_of_a_screen() {
    let all = ["js", "css"].map(|end| sources("static", end)).concat();
    let lines =
        all.iter().flat_map(|(name, text)| text.split('\n').enumerate().map(move |(at, line)| (name, at, line)));
    let wrong: Vec<_> =
        lines.filter_map(|(name, at, line)| Some(format!("{name}:{} {}", at + 1, misformed(line)?))).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(misformed(&"x".repeat(121)).is_some() && misformed("a\tb").is_some() && misformed("a ").is_some());
    assert!(misformed(&"é".repeat(120)).is_none());
}
