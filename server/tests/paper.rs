//! What the shops are handed on paper, read back with other programs than the one that made it (poppler's `pdfinfo`, `pdffonts`,
//! `pdftotext` and `pdftocairo`).
#![cfg(feature = "pdf")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    missing_docs,
    reason = "a test may stop at once"
)]

use std::path::{Path, PathBuf};
use std::process::Command;

const PLANS: [(&str, &[&str]); 4] = [
    ("causeway-first-light", &["scanner", "retoucher", "lab", "mounter", "framer", "installer", "carrier"]),
    ("quarry-upper-bench", &["scanner", "lab", "mounter", "framer", "installer"]),
    ("grain-elevator-noon", &["scanner", "lab", "mounter", "framer"]),
    ("boathouse-window", &["scanner", "lab", "framer", "carrier"]),
];
const PAPERS: [(&str, f64, f64); 2] = [("letter", 612.0, 792.0), ("a4", 595.28, 841.89)];
/// Points to the millimetre.
const MM: f64 = 72.0 / 25.4;

fn notebooks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../notebooks")
}

fn said(program: &str, words: &[&str]) -> String {
    let out = Command::new(program).args(words).output().unwrap_or_else(|error| panic!("{program} is needed: {error}"));
    assert!(out.status.success(), "{program} {words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn ticket(plan: &Path, role: &str, paper: &str, folder: &Path) -> PathBuf {
    let file = folder.join(format!("{role}-{paper}.pdf"));
    said(
        env!("CARGO_BIN_EXE_makeready"),
        &["ticket", plan.to_str().unwrap(), "--for", role, "--paper", paper, "--out", file.to_str().unwrap()],
    );
    file
}

/// The words of a sheet with their boxes: page, left, top, right, bottom, word.
fn words(file: &Path) -> Vec<(usize, [f64; 4], String)> {
    let text = said("pdftotext", &["-bbox-layout", file.to_str().unwrap(), "-"]);
    let (mut page, mut out) = (0, Vec::new());
    for line in text.lines().map(str::trim) {
        if line.starts_with("<page ") {
            page += 1;
        }
        if let Some(rest) = line.strip_prefix("<word ") {
            let number = |name: &str| -> f64 {
                rest.split(&format!("{name}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
            };
            let word = rest.split('>').nth(1).unwrap().split('<').next().unwrap();
            out.push((page, [number("xMin"), number("yMin"), number("xMax"), number("yMax")], word.to_owned()));
        }
    }
    out
}

fn is_sound(file: &Path, (paper, width, height): (&str, f64, f64)) {
    let name = file.to_str().unwrap();
    let about = said("pdfinfo", &[name]);
    let field = |label: &str| {
        let line =
            about.lines().find(|line| line.starts_with(label)).unwrap_or_else(|| panic!("no {label} in {about}"));
        line.split_once(':').unwrap().1.trim().to_owned()
    };
    assert_eq!(field("Tagged"), "yes", "{name}");
    assert_eq!(field("Suspects"), "no", "{name}");
    assert!(!field("Title").is_empty());
    let size = field("Page size");
    let numbers: Vec<f64> = size.split(' ').filter_map(|part| part.parse().ok()).collect();
    assert!((numbers[0] - width).abs() < 0.6 && (numbers[1] - height).abs() < 0.6, "{paper}: {size}");
    let fonts = said("pdffonts", &[name]);
    let rows: Vec<&str> = fonts.lines().skip(2).collect();
    assert!(!rows.is_empty());
    for row in rows {
        assert!(row.contains("LibertinusSerif"), "{row}");
        let flags: Vec<&str> = row.split_whitespace().filter(|word| ["yes", "no"].contains(word)).collect();
        assert_eq!(flags, ["yes", "yes", "yes"], "embedded, subset, with Unicode: {row}");
    }
    let all = words(file);
    assert!(all.len() > 60, "{name} has {} words", all.len());
    for (page, [left, top, right, bottom], word) in &all {
        assert!(
            *left >= 20.0 * MM && *top >= 10.0 * MM && *right <= width - 10.0 * MM && *bottom <= height - 10.0 * MM,
            "{name}, page {page}: `{word}` stands outside the sheet frame: {left} {top} {right} {bottom}"
        );
    }
    let structure = said("pdfinfo", &["-struct", name]);
    assert!(structure.contains("H1") && structure.contains("H2") && structure.contains("Table"), "{structure}");
}

#[test]
fn every_ticket_of_every_shipped_plan_is_tagged_and_whole_on_both_papers() {
    let folder = tempfile::tempdir().unwrap();
    for (plan, roles) in PLANS {
        for role in roles {
            for paper in PAPERS {
                let file = ticket(&notebooks().join(format!("{plan}.md")), role, paper.0, folder.path());
                is_sound(&file, paper);
            }
        }
    }
}

/// Straight paths of a page in points, as another program draws them: each with its transformation done.
fn paths(file: &Path) -> Vec<Vec<(f64, f64)>> {
    let pages: usize = {
        let about = said("pdfinfo", &[file.to_str().unwrap()]);
        about
            .lines()
            .find(|line| line.starts_with("Pages"))
            .unwrap()
            .split_whitespace()
            .last()
            .unwrap()
            .parse()
            .unwrap()
    };
    let mut out = Vec::new();
    for page in 1..=pages {
        let number = page.to_string();
        let svg = said("pdftocairo", &["-svg", "-f", &number, "-l", &number, file.to_str().unwrap(), "-"]);
        for tag in svg.split("<path").skip(1) {
            let attribute = |name: &str| {
                tag.split('>')
                    .next()
                    .unwrap()
                    .split(&format!(" {name}=\""))
                    .nth(1)
                    .map(|rest| rest.split('"').next().unwrap())
            };
            let Some(d) = attribute("d") else { continue };
            if d.contains('C') {
                continue;
            }
            let m: Vec<f64> = attribute("transform").and_then(|matrix| matrix.strip_prefix("matrix(")).map_or(
                vec![1.0, 0.0, 0.0, 1.0, 0.0, 0.0],
                |matrix| {
                    matrix
                        .trim_end_matches(')')
                        .split([',', ' '])
                        .filter(|part| !part.is_empty())
                        .map(|part| part.parse().unwrap())
                        .collect()
                },
            );
            let numbers: Vec<f64> = d.split_whitespace().filter_map(|part| part.parse().ok()).collect();
            out.push(
                numbers
                    .chunks_exact(2)
                    .map(|at| (m[0] * at[0] + m[2] * at[1] + m[4], m[1] * at[0] + m[3] * at[1] + m[5]))
                    .collect(),
            );
        }
    }
    out
}

fn values(plan: &Path, names: &[&str]) -> Vec<f64> {
    let text =
        said(env!("CARGO_BIN_EXE_makeready"), &["values", plan.to_str().unwrap(), "--json", "--units", "metric"]);
    let all: serde_json::Value = serde_json::from_str(&text).unwrap();
    names
        .iter()
        .map(|name| all["names"][name]["value"].as_f64().unwrap_or_else(|| panic!("{name} in {text}")))
        .collect()
}

#[test]
fn the_check_rule_is_100_mm_on_both_papers_to_a_twentieth() {
    let folder = tempfile::tempdir().unwrap();
    for plan in ["causeway-first-light", "boathouse-window", "quarry-upper-bench"] {
        for (paper, ..) in PAPERS {
            let file = ticket(&notebooks().join(format!("{plan}.md")), "framer", paper, folder.path());
            let rules: Vec<f64> = paths(&file)
                .into_iter()
                .filter(|path| path.len() == 2 && (path[0].1 - path[1].1).abs() < 0.01)
                .map(|path| (path[0].0 - path[1].0).abs() / MM)
                .filter(|long| (99.0..101.0).contains(long))
                .collect();
            assert_eq!(rules.len(), 1, "{plan} on {paper}: {rules:?}");
            assert!((rules[0] - 100.0).abs() < 0.05, "{plan} on {paper}: {} mm", rules[0]);
        }
    }
}

#[test]
fn a_frame_section_measured_on_paper_is_the_frame_as_planned() {
    let folder = tempfile::tempdir().unwrap();
    // A plan of its own, with sizes written here: 19.05 mm face, 9.525 mm gap, 22 mm piece, 12.7 mm ledge, 6.35 mm back.
    let text = "+++\ntitle = \"Sluice\"\nedition = 3\n[shops]\nframer = \"Corner\"\n+++\n\n# Sluice\n\n## The frame {for=framer}\n\n```workings\nlet frame = float_frame([900.mm, 300.mm], 0.375.inch, 0.75.inch, 22.mm, 0.5.inch, 0.25.inch);\nlet depth = frame.depth;\n```\n\n`? frame`\n";
    let plan = folder.path().join("sluice.md");
    std::fs::write(&plan, text).unwrap();
    let depth = values(&plan, &["depth"])[0];
    assert!((depth - 41.05).abs() < 0.001, "22 + 12.7 + 6.35 mm, added by hand");
    for (paper, ..) in PAPERS {
        let file = ticket(&plan, "framer", paper, folder.path());
        let profiles: Vec<(f64, f64, f64)> = paths(&file)
            .into_iter()
            .filter(|path| path.len() >= 6 && path.len() <= 8)
            .map(|path| {
                let (x, y) = path[0];
                let of = |index: usize| ((path[index].0 - x) / MM, (path[index].1 - y) / MM);
                (of(1).0, of(2).1, of(5).1)
            })
            .filter(|(face, _, deep)| (18.0..20.0).contains(face) && (40.0..42.0).contains(deep))
            .collect();
        assert!(!profiles.is_empty(), "no moulding found on {paper}");
        for (face, to_ledge, deep) in profiles {
            assert!((face - 19.05).abs() < 0.05, "face {face} mm on {paper}");
            assert!((to_ledge - (41.05 - 12.7)).abs() < 0.05, "down to the ledge {to_ledge} mm on {paper}");
            assert!((deep - 41.05).abs() < 0.05, "depth {deep} mm on {paper}");
        }
    }
}

const HOSTILE: &str = "#panic(\"x\") $1/0$ #eval(\"1\") @ref <label> #read(\"/etc/passwd\") = Not a heading \\\\ <script>alert(1)</script> &amp; \\input{/etc/passwd} ${x} `code` {{ x }} %s";

#[test]
fn hostile_words_come_out_as_the_words_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let long = "x".repeat(300);
    let plain = HOSTILE.replace("\\\\", "\\").replace('"', "'");
    let toml = plain.replace('\\', "\\\\");
    let mut text = format!(
        "+++\ntitle = \"{toml}\"\nedition = 3\n[shops]\nframer = \"{toml} shop\"\n[contact]\nname = \"{toml}\"\nphone = \"{long}\"\n+++\n\n# T\n\n## Heading {{for=framer}}\n\n~~~~\n{plain}\n~~~~\n\n"
    );
    text.push_str(&format!("Long: {long} end.\n\nRight to left: \u{5e9}\u{5dc}\u{5d5}\u{5dd} \u{202e}abc\u{202c} and \u{1f600}\u{200d}\u{1f525} and \u{6f22}\u{5b57}.\n\n"));
    text.push_str("| a | b |\n|---|---:|\n");
    for row in 0..5000 {
        text.push_str(&format!("| row{row} | #panic {row} |\n"));
    }
    let plan = folder.path().join("hostile.md");
    std::fs::write(&plan, &text).unwrap();
    let file = ticket(&plan, "framer", "a4", folder.path());
    let read = said("pdftotext", &["-layout", file.to_str().unwrap(), "-"]);
    let squeezed: String = read.chars().filter(|c| !c.is_whitespace() && *c != '\u{200b}').collect();
    let wanted: String = plain.chars().filter(|c| !c.is_whitespace()).collect();
    assert!(
        squeezed.contains(&wanted),
        "the code block is not there letter for letter: {}",
        &read[..2000.min(read.len())]
    );
    assert!(squeezed.contains(&long));
    assert!(squeezed.contains("[U+1F600]") && squeezed.contains("[U+1F525]"));
    assert!(squeezed.contains("row0") && squeezed.contains("row4999") && squeezed.contains("#panic4999"));
    let (_, width, height) = PAPERS[1];
    for (page, [left, top, right, bottom], word) in words(&file) {
        assert!(
            left >= 20.0 * MM && top >= 10.0 * MM && right <= width - 10.0 * MM && bottom <= height - 10.0 * MM,
            "page {page}: `{word}` stands outside the sheet frame"
        );
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let plan = notebooks().join("causeway-first-light.md");
    let first = std::fs::read(ticket(&plan, "framer", "letter", one.path())).unwrap();
    let second = std::fs::read(ticket(&plan, "framer", "letter", two.path())).unwrap();
    assert!(first.len() > 10_000);
    assert!(first == second, "two runs of the program gave different bytes");
}

#[test]
fn the_words_of_a_ticket_stand_in_the_order_they_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let file = ticket(&notebooks().join("causeway-first-light.md"), "framer", "letter", folder.path());
    let read = said("pdftotext", &[file.to_str().unwrap(), "-"]);
    let mut last = 0;
    for words in [
        "Causeway, First Light",
        "At a glance",
        "White ash, clear",
        "check: 100 mm",
        "What to deliver",
        "Your price",
        "Before it leaves you",
        "Handling and cautions",
        "Your remarks",
        "Agreed at revision",
    ] {
        let at =
            read[last..].find(words).unwrap_or_else(|| panic!("`{words}` is not after what stands before it:\n{read}"));
        last += at;
    }
    for private in ["5400", "What it costs", "Why the drum", "Gallery"] {
        assert!(!read.contains(private), "`{private}` is on the framer's ticket");
    }
}
