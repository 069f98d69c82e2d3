//! Every ticket of every shipped plan, every plan whole, and a certificate, on both sizes of paper.

use engine::document::Document;

use crate::desk::{Desk, words};
use crate::program::shipped;
use crate::reader::{Found, others, read};
use crate::sheets::Paper;

/// ANSI A is 8.5 × 11 in, 612 × 792 points. ISO 216 A4 is 210 × 297 mm, 595.28 × 841.89 points.
const PAPERS: [(&str, f64, f64); 2] = [("letter", 612.0, 792.0), ("a4", 595.28, 841.89)];

/// The shipped plans with the shops of each.
pub fn plans() -> Vec<(String, Vec<String>)> {
    let mut all = Vec::new();
    for entry in std::fs::read_dir(shipped()).unwrap().flatten() {
        let path = entry.path();
        if path.extension().is_some_and(|end| end == "md") {
            let document = Document::read(&std::fs::read_to_string(&path).unwrap());
            let shops = document.front.shops.iter().map(|(role, _)| role.clone()).collect();
            all.push((path.file_stem().unwrap().to_str().unwrap().to_owned(), shops));
        }
    }
    all.sort();
    all
}

/// A file as the server gives it.
pub async fn pdf(desk: &Desk, path: &str) -> Vec<u8> {
    let reply = desk.get(path).await.is(200);
    assert_eq!(reply.headers["content-type"], "application/pdf", "{path}");
    assert!(reply.body.starts_with(b"%PDF-1.7"), "{path}");
    reply.body
}

/// Holds to what every sheet must be. Sources: PDF/UA-1 is ISO 14289-1, PDF/A-2a is ISO 19005-2; both name themselves in the
/// metadata and ask for tags, a language, a title that is shown, embedded fonts and words for each figure.
#[track_caller]
pub fn is_sound(what: &str, found: &Found, wide: f64, high: f64) {
    assert_eq!(found.problems, [""; 0], "{what}");
    assert_eq!(found.standards["pdfaid:part"], "2", "{what}");
    assert_eq!(found.standards["pdfaid:conformance"], "A", "{what}");
    assert_eq!(found.standards["pdfuaid:part"], "1", "{what}");
    assert!(!found.standards["dc:title"].is_empty(), "{what}");
    assert!(found.marked && found.shows_title, "{what}");
    assert_eq!(found.language, "en", "{what}");
    assert_eq!(found.output_intents, 1, "{what}");
    assert!(found.active.is_empty(), "{what}: {:?}", found.active);
    assert!(!found.fonts.is_empty(), "{what}");
    for font in &found.fonts {
        assert!(font.embedded && font.unicode && font.name.contains("+LibertinusSerif"), "{what}: {font:?}");
    }
    for page in found.pages.iter().chain(&found.boxes) {
        assert!((page[2] - page[0] - wide).abs() < 0.1 && (page[3] - page[1] - high).abs() < 0.1, "{what}: {page:?}");
    }
    assert_eq!(found.tags.iter().filter(|tag| *tag == "H1").count(), 1, "{what}: {:?}", found.tags);
    assert!(found.figures.iter().all(|alt| !alt.is_empty()), "{what}: {:?}", found.figures);
    assert!(found.tags.iter().filter(|tag| *tag == "Figure").count() == found.figures.len(), "{what}");
    // Every clause read back by itself; see read.py.
    assert_eq!(found.faults, [""; 0], "{what}");
}

/// Nothing stands outside the frame that leaves 20 mm at the left and 10 mm elsewhere, no word on another, each page counted.
#[track_caller]
fn is_laid_out(what: &str, paper: &Paper, wide: f64, high: f64) {
    const MM: f64 = 72.0 / 25.4;
    let count = paper.sheets.len();
    for (number, sheet) in paper.sheets.iter().enumerate() {
        for word in &sheet.words {
            assert!(
                word.left >= 20.0 * MM
                    && word.top >= 10.0 * MM
                    && word.right <= wide - 10.0 * MM
                    && word.bottom <= high - 10.0 * MM,
                "{what}, sheet {}: {word:?}",
                number + 1
            );
        }
        for (at, one) in sheet.words.iter().enumerate() {
            for other in &sheet.words[at + 1..] {
                // The boxes reach above and below the letters; half a line of common height is an overlap.
                let across = one.right.min(other.right) - one.left.max(other.left);
                let down = one.bottom.min(other.bottom) - one.top.max(other.top);
                let lowest = (one.bottom - one.top).min(other.bottom - other.top);
                assert!(across < 1.0 || down < 0.5 * lowest, "{what}, sheet {}: {one:?} on {other:?}", number + 1);
            }
        }
        let said: Vec<_> = sheet.words.iter().map(|word| word.text.as_str()).collect();
        assert!(said.join(" ").contains(&format!("page {} of {count}", number + 1)), "{what}: {said:?}");
    }
}

/// Letters and digits only, small.
fn bare(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[tokio::test]
async fn every_ticket_of_every_plan_is_whole_and_sound_on_letter_and_on_a4() {
    let desk = Desk::shipped();
    let mut files = Vec::new();
    for (plan, shops) in plans() {
        for role in shops {
            let page = desk.get(&format!("/plan/{plan}/ticket/{role}")).await.is(200);
            let (_, leaf) = page.text().split_once("aria-label=\"Job ticket\">").unwrap();
            let leaf = leaf.split("<svg").map(|part| part.split_once("</svg>").map_or(part, |(_, rest)| rest));
            // Captions for those who do not see the tables are tags on paper.
            let leaf = leaf.collect::<Vec<_>>().join(" ");
            let unseen = |part: &'_ str| part.split_once("</caption>").map_or(part, |(_, rest)| rest).to_owned();
            let leaf = leaf.split("<caption").map(unseen).collect::<Vec<_>>().join(" ");
            let on_page = words(&leaf.replace("done:", ""));
            for (paper, wide, high) in PAPERS {
                let what = format!("{plan} for {role} on {paper}");
                let made = pdf(&desk, &format!("/plan/{plan}/ticket/{role}/paper.pdf?paper={paper}")).await;
                let sheets = Paper::of(&made);
                is_laid_out(&what, &sheets, wide, high);
                // Nothing lost: what the page says the file says.
                let all = bare(&sheets.words());
                for word in on_page.split_whitespace().map(bare).filter(|word| word.chars().count() > 2) {
                    assert!(all.contains(&word), "{what}: `{word}` is not on paper");
                }
                files.push((what, made, wide, high));
            }
        }
    }
    assert_eq!(files.len(), 54);
    let named: Vec<_> = files.iter().map(|(what, made, _, _)| (what.clone(), made.clone())).collect();
    for ((what, found), (_, _, wide, high)) in read(&named).iter().zip(&files) {
        is_sound(what, found, *wide, *high);
        assert!(found.outline.iter().any(|title| title == "At a glance"), "{what}: {:?}", found.outline);
        assert!(found.tags.iter().any(|tag| tag == "Table") && found.tags.iter().any(|tag| tag == "TH"), "{what}");
        // The day of the revision, not of the printing.
        assert!(found.made.starts_with("D:20261125"), "{what}: {}", found.made);
    }
}

#[tokio::test]
async fn every_plan_is_whole_and_sound_on_letter_and_on_a4() {
    let desk = Desk::shipped();
    let mut files = Vec::new();
    for (plan, _) in plans() {
        for (paper, wide, high) in PAPERS {
            let what = format!("{plan} on {paper}");
            let made = pdf(&desk, &format!("/plan/{plan}/paper.pdf?paper={paper}")).await;
            let sheets = Paper::of(&made);
            is_laid_out(&what, &sheets, wide, high);
            let document = Document::read(&desk.file(&format!("{plan}.md")));
            let said = bare(&sheets.words());
            for section in document.sections.iter().filter(|one| !one.title.contains('?')) {
                assert!(said.contains(&bare(&section.title)), "{what}: {}", section.title);
            }
            files.push((what, made, wide, high));
        }
    }
    let named: Vec<_> = files.iter().map(|(what, made, _, _)| (what.clone(), made.clone())).collect();
    for ((what, found), (_, _, wide, high)) in read(&named).iter().zip(&files) {
        is_sound(what, found, *wide, *high);
        let plan = what.split(' ').next().unwrap();
        let sections = Document::read(&desk.file(&format!("{plan}.md"))).sections.len();
        assert!(found.outline.len() >= sections.min(4), "{what}: {:?} of {sections}", found.outline);
    }
}

#[tokio::test]
async fn the_same_plan_gives_the_same_bytes_in_another_process_too() {
    let (one, other) = (Desk::shipped(), Desk::shipped());
    for path in ["/plan/causeway-first-light/ticket/framer/paper.pdf", "/plan/boathouse-window/paper.pdf?paper=a4"] {
        let made = pdf(&one, path).await;
        assert!(made == pdf(&one, path).await && made == pdf(&other, path).await, "{path}");
    }
    // The command sets the same sheet; it stands on its own record, so only the bytes of one program are compared.
    let made = |out: &str| {
        let plan = shipped().join("boathouse-window.md");
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(out);
        let arguments = ["paper", plan.to_str().unwrap(), "--out", file.to_str().unwrap(), "--paper", "a4"];
        crate::program::run(&arguments, folder.path()).ends_with(0);
        std::fs::read(file).unwrap()
    };
    assert!(made("a.pdf") == made("b.pdf"));
}

#[tokio::test]
async fn a_change_of_the_plan_is_on_the_next_sheet() {
    let desk = Desk::with("+++\ntitle = \"One\"\n+++\n\n# One\n\n## Size\n\nIt is `? 60.inch` wide.\n");
    let before = Paper::of(&pdf(&desk, "/plan/p/paper.pdf").await).words();
    assert!(before.contains("It is 60 in wide."), "{before}");
    let from = desk.mark("p").await;
    desk.put("p", &from, &desk.file("p.md").replace("60.inch", "72.inch")).await.is(200);
    let after = Paper::of(&pdf(&desk, "/plan/p/paper.pdf").await).words();
    assert!(after.contains("It is 72 in wide."), "{after}");
    let metric = Paper::of(&pdf(&desk, "/plan/p/paper.pdf?units=metric").await).words();
    assert!(metric.contains("It is 1828.8 mm wide."), "{metric}");
}

#[tokio::test]
async fn a_rule_that_is_broken_stands_first_on_the_paper() {
    let desk = Desk::with(
        "+++\ntitle = \"One\"\n+++\n\n# One\n\n## Size\n\n```workings\nlet wide = 60.inch;\nmust(wide < 50.inch, \"It must go through the door\");\n```\n\nIt is `? wide` wide, and `? nowhere` high.\n",
    );
    let said = Paper::of(&pdf(&desk, "/plan/p/paper.pdf").await).words();
    let (at, size) = (said.find("It must go through the door").unwrap(), said.find("It is 60 in wide").unwrap());
    assert!(at < size, "{said}");
    assert!(said.contains("not known yet") && said.contains("nowhere"), "{said}");
}

#[tokio::test]
async fn a_certificate_is_set_as_it_was_handed_out() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("year");
    crate::program::run(&["example", root.to_str().unwrap()], folder.path()).ends_with(0);
    let store = server::store::Store::open(&root).unwrap();
    let clock = server::clock::Clock::Computer;
    let notebook = server::notebook::Notebook::open(root.clone(), store, clock).unwrap();
    let name = server::names::Name::new("ninth-pier-ebb").unwrap();
    let issued = notebook.store().certificates(&name).unwrap().remove(0);
    drop(notebook);
    let mut files = Vec::new();
    for (paper, ..) in PAPERS {
        let file = folder.path().join(format!("{paper}.pdf"));
        let arguments = [
            "certificate",
            &issued.code,
            "--notebook",
            root.to_str().unwrap(),
            "--out",
            file.to_str().unwrap(),
            "--paper",
            paper,
        ];
        crate::program::run(&arguments, folder.path()).ends_with(0);
        files.push((paper.to_owned(), std::fs::read(file).unwrap()));
    }
    for ((what, found), (_, wide, high)) in read(&files).iter().zip(PAPERS) {
        is_sound(what, found, wide, high);
        assert_eq!(found.pages.len(), 1);
    }
    for (what, made) in &files {
        let sheets = Paper::of(made);
        let said = bare(&sheets.words());
        for (label, words) in &issued.says {
            assert!(said.contains(&bare(label)) && said.contains(&bare(words)), "{what}: {label} {words}");
        }
        assert!(said.contains(&bare(&issued.code)), "{what}");
    }
}

/// What two readers of accessibility require, who know nothing of how the sheets were made; and each finds what is not there.
#[tokio::test]
async fn other_readers_find_nothing_missing_on_a_plan_and_its_tickets() {
    let desk = Desk::shipped();
    let mut files = Vec::new();
    for (plan, shops) in plans() {
        files.push((plan.clone(), pdf(&desk, &format!("/plan/{plan}/paper.pdf")).await));
        if plan == "causeway-first-light" {
            for role in shops {
                let path = format!("/plan/{plan}/ticket/{role}/paper.pdf?paper=a4");
                files.push((format!("{plan} {role}"), pdf(&desk, &path).await));
            }
        }
    }
    assert_eq!(others(&files), [""; 0]);
    let broken = crate::reader::untagged(&files.remove(0).1);
    let said = others(&[("untagged".to_owned(), broken)]);
    assert_eq!(said.len(), 2, "both refuse a file without tags: {said:?}");
}

/// Each of the checks refuses a file that was broken on purpose, so that none of them always passes.
#[tokio::test]
async fn a_file_broken_on_purpose_is_found_by_each_check() {
    let made = pdf(&Desk::shipped(), "/plan/causeway-first-light/ticket/framer/paper.pdf").await;
    assert_eq!(crate::reader::unseen(&made), [""; 0]);
}
