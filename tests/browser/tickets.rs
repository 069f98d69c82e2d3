//! Job tickets on paper: printed by the browser and read back from the PDF.

use engine::document::Document;
use serde_json::json;

use crate::page::Page;
use crate::sheets::Paper;
use crate::studio::open;

/// Every shop of every shipped plan.
fn tickets() -> Vec<(String, String)> {
    let mut all = Vec::new();
    for (name, text) in makeready_tests::texts().unwrap() {
        all.extend(Document::read(&text).front.shops.into_iter().map(|(role, _)| (name.clone(), role)));
    }
    assert_eq!(all.len(), 27, "{all:?}");
    all
}

/// The words a person reads on the ticket's page; a box that is ticked or not is a picture to them.
async fn shown(page: &Page) -> Vec<String> {
    let text = page.js("for (const e of document.querySelectorAll('.leaf .unseen, .leaf .box')) e.remove(); return document.querySelector('.leaf').innerText", &[]).await;
    text.as_str().unwrap().split_whitespace().map(str::to_owned).collect()
}

/// Letters and digits only, small: whatever a printed word may be hyphenated or set in.
fn bare(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

#[test]
fn every_ticket_is_whole_on_letter_and_on_a4() {
    open(|studio, page| async move {
        for (plan, role) in tickets() {
            // ANSI A is 8.5 × 11 in, 612 × 792 points. ISO 216 A4 is 210 × 297 mm, 595.3 × 841.9 points.
            for (paper, wide, high) in [("letter", 612.0, 792.0), ("a4", 595.3, 841.9)] {
                let what = format!("{plan} for {role} on {paper}");
                page.go(&format!("/plan/{plan}/ticket/{role}?paper={paper}")).await;
                let on_screen = shown(&page).await;
                let printed = Paper::of(&page.printed().await);
                let count = printed.sheets.len();
                for (number, sheet) in printed.sheets.iter().enumerate() {
                    assert!(
                        (sheet.wide - wide).abs() < 1.0 && (sheet.high - high).abs() < 1.0,
                        "{what}: {} × {}",
                        sheet.wide,
                        sheet.high
                    );
                    // Nothing clipped: every word lies inside the sheet with the printer's own margin, 5 mm or 14 points.
                    for word in &sheet.words {
                        assert!(
                            word.left >= 14.0
                                && word.top >= 14.0
                                && word.right <= sheet.wide - 14.0
                                && word.bottom <= sheet.high - 14.0,
                            "{what}, sheet {}: {word:?}",
                            number + 1
                        );
                    }
                    let said = sheet.words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ");
                    assert!(said.contains(&format!("page {} of {count}", number + 1)), "{what}: {said}");
                    assert!(said.contains("revision 1"), "{what}, sheet {}: {said}", number + 1);
                    assert!(said.contains("25 November 2026"), "{what}, sheet {}: {said}", number + 1);
                    assert!(sheet.words.len() > 12, "{what}: sheet {} is all but empty: {said}", number + 1);
                }
                // Nothing lost: all that stands on the page stands on paper.
                let all = format!("{} {}", bare(&printed.words()), bare(&printed.upwards()));
                for word in on_screen.iter().map(|word| bare(word)).filter(|word| word.chars().count() > 2) {
                    assert!(all.contains(&word), "{what}: `{word}` is not on paper");
                }
            }
        }
        drop(studio);
        page.is_quiet().await;
    });
}

#[test]
fn a_ticket_on_paper_holds_its_shops_text_and_no_other() {
    open(|studio, page| async move {
        for (plan, role) in tickets() {
            page.go(&format!("/plan/{plan}/ticket/{role}")).await;
            let printed = bare(&Paper::of(&page.printed().await).words());
            let document = Document::read(&studio.file(&format!("{plan}.md")));
            for section in document.sections.iter().filter(|one| one.level == 2 && !one.title.contains('?')) {
                let lines = document.text[section.range.clone()].lines().skip(1).filter(|line| {
                    line.len() > 60
                        && !line.contains(['`', '|', '*', '[', '#'])
                        && line.starts_with(char::is_alphabetic)
                        && !["let ", "if ", "fn ", "for ", "must(", "should(", "cost(", "step("]
                            .iter()
                            .any(|word| line.starts_with(word))
                });
                let own = !section.private && section.shop.as_deref() == Some(role.as_str());
                for line in lines.filter(|_| own || section.shop.is_some() || section.private) {
                    assert_eq!(printed.contains(&bare(line)), own, "{plan} for {role}: {line}");
                }
            }
            let values = page
                .js("const r = await fetch(arguments[0]); return r.json()", &[json!(format!("/plan/{plan}/values"))])
                .await;
            for cost in values["costs"].as_array().unwrap().iter().filter(|cost| cost["shop"] != role.as_str()) {
                let row = bare(&format!("{}{}", cost["what"].as_str().unwrap(), cost["amount"].as_str().unwrap()));
                assert!(!printed.contains(&row), "{plan} for {role}: {cost}");
            }
        }
        page.is_quiet().await;
    });
}

#[test]
fn a_ticket_is_black_on_white_whatever_the_screen_prefers() {
    open(|_, page| async move {
        for scheme in ["light", "dark"] {
            page.prefers(scheme).await;
            for (plan, role) in [("causeway-first-light", "framer"), ("quarry-upper-bench", "scanner")] {
                page.go(&format!("/plan/{plan}/ticket/{role}")).await;
                let (colour, white) = Paper::of(&page.printed().await).inks();
                assert!(colour < 24, "{scheme} {plan}: a point is {colour} from grey");
                assert!(white > 0.8, "{scheme} {plan}: {white} of it is white");
            }
        }
        page.is_quiet().await;
    });
}

#[test]
fn a_long_ticket_counts_its_pages_and_tears_no_row() {
    open(|studio, page| async move {
        let mut long = String::from(
            "+++\ntitle = \"Long\"\nedition = 3\n[shops]\nlab = \"shops/tidewater-lab\"\n+++\n\n# Long\n\n## The print {for=lab}\n\n| strip | what to look at | done |\n|---|---|---|\n",
        );
        for row in 1..=90 {
            long.push_str(&format!("| Strip{row}from | the sky above the weir, from the left edge to the pole, and once more from the right | Strip{row}to |\n"));
        }
        studio.outside("long.md", &long);
        studio.notebook.look();
        for paper in ["letter", "a4"] {
            page.go(&format!("/plan/long/ticket/lab?paper={paper}")).await;
            let printed = Paper::of(&page.printed().await);
            assert!(printed.sheets.len() > 2, "{}", printed.sheets.len());
            for row in 1..=90 {
                let on =
                    |word: &str| printed.sheets.iter().position(|sheet| sheet.words.iter().any(|one| one.text == word));
                let (from, to) = (on(&format!("Strip{row}from")), on(&format!("Strip{row}to")));
                assert!(from.is_some() && from == to, "{paper}: row {row} is on sheets {from:?} and {to:?}");
            }
            // The head of the table stands on every sheet that has rows.
            for sheet in printed.sheets.iter().filter(|sheet| {
                sheet.words.iter().any(|word| word.text.starts_with("Strip") && word.text.ends_with("from"))
            }) {
                assert!(
                    sheet.words.iter().any(|word| word.text.eq_ignore_ascii_case("strip")),
                    "the table's head is repeated"
                );
            }
        }
        page.is_quiet().await;
    });
}

#[test]
fn a_whole_plan_can_be_printed_too() {
    open(|_, page| async move {
        for plan in ["causeway-first-light", "quarry-upper-bench"] {
            page.go(&format!("/plan/{plan}")).await;
            let printed = Paper::of(&page.printed().await);
            for sheet in &printed.sheets {
                for word in &sheet.words {
                    assert!(
                        word.left >= 0.0 && word.right <= sheet.wide && word.top >= 0.0 && word.bottom <= sheet.high,
                        "{plan}: {word:?}"
                    );
                }
            }
            let said = printed.words();
            assert!(
                !said.contains("write the whole plan") && !said.contains("make the next piece"),
                "buttons stay on the screen"
            );
        }
        page.is_quiet().await;
    });
}
