//! The whole job: from the wall to an empty plan, written up, kept, handed to a shop, made the start of the next, sold.

use fantoccini::key::Key;
use serde_json::json;

use crate::sheets::Paper;
use crate::studio::open;

/// A small plan as a person would type it.
const PLAN: &str = r#"+++
title = "Weir, Late Light"
edition = 6
proofs = 1
units = "inch"
currency = "USD"

[shops]
lab = "shops/tidewater-lab"
+++

# Weir, Late Light

One frame of 6x12, printed `? piece.size`.

## The print {for=lab}

```workings
import "shops/tidewater-lab" as lab;
let resolution = given("Scan resolution", 4000.ppi, [3200.ppi, 4000.ppi]);
let wide = given("Print width", 60.inch);
let piece = enlarge(scan(film("6x12"), resolution), wide);
must(piece.ppi >= lab::least_ppi, "The lab wants 200 ppi at least");
cost("Print", lab::chromogenic(piece.size));
step("Print", lab::print_days, "lab");
hangs(piece.size);
```

Please print `? wide` wide at `? piece.ppi`, no sharpening.

- [ ] Proof approved
"#;

#[test]
fn a_plan_is_written_from_an_empty_page_to_the_ticket_of_its_shop() {
    open(|studio, page| async move {
        // From the wall to an empty plan.
        page.go("/").await;
        page.until_says("#wall", "Causeway, First Light").await;
        page.click("nav a[href='/begin']").await;
        page.until_there("#begin").await;
        page.type_into("#begin-title", "Weir, Late Light").await;
        page.press(Key::Enter).await;
        page.until(
            "the new plan",
            "return location.pathname === '/plan/weir-late-light' && !!document.getElementById('write-all')",
        )
        .await;
        let begun = studio.file("weir-late-light.md");

        // Written in place: the numbers follow before anything is saved.
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.control("a").await;
        let (first, rest) = PLAN.split_at(PLAN.find("## The print").unwrap());
        page.keys(first).await;
        page.until_says("#plan", "not known yet").await;
        page.until_says("#title", "Weir, Late Light").await;
        page.keys(rest).await;
        // 60 in × 56 / 118 = 28.47 in: the shape of 6x12 film.
        page.until_says("#plan", "printed 60 × 28.47 in.").await;
        page.until_says("#block", "6 + 1 AP").await;
        assert_eq!(studio.file("weir-late-light.md"), begun, "nothing is saved while typing");
        assert_eq!(studio.history("weir-late-light").len(), 1);

        // Saved with the keyboard, closed with Escape.
        page.control("s").await;
        page.until_says("#standing", "saved, revision 2").await;
        let text = studio.file("weir-late-light.md");
        assert_eq!(text.trim_end(), PLAN.trim_end());
        page.press(Key::Escape).await;
        page.until_gone("#passage").await;
        page.until_says("#saved", "saved, revision 2").await;

        // The ticket of its shop is there without opening the page again, and so is the ledger.
        page.until_there("#record").await;
        page.click("nav a[href='/plan/weir-late-light/ticket/lab']").await;
        page.until_says("h1", "Weir, Late Light").await;
        let pdf = Paper::of(&page.printed().await);
        let said = pdf.words();
        for words in [
            "for Tidewater Lab",
            "revision 2",
            "25 November 2026",
            "Please print 60 in (1524 mm) wide",
            "page 1 of 2",
            "Your price",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        assert!(!said.contains("One frame of 6x12"), "what is not the lab's is not on its ticket");

        // And it hangs on the wall.
        page.go("/").await;
        page.until_says("#hung-weir-late-light", "60 × 28.47 in").await;
        page.is_quiet().await;
    });
}

#[test]
fn the_next_piece_is_made_from_a_plan() {
    open(|studio, page| async move {
        page.go("/plan/grain-elevator-noon").await;
        page.click("[data-copy]").await;
        page.until_there("#copy-title").await;
        page.keys("Silo, Evening").await;
        page.press(Key::Enter).await;
        page.until("the next piece", "return location.pathname === '/plan/silo-evening'").await;
        page.until_says("#title", "Silo, Evening").await;
        page.until_says("#plan", "Made from Grain Elevator, Noon").await;
        page.until_says("#ledger", "12 left").await;
        assert_eq!(page.js("return document.querySelectorAll('[data-tick]:checked').length", &[]).await, json!(0));
        let ticks = page.js("return document.querySelectorAll('[data-tick]').length", &[]).await;
        assert!(ticks.as_u64().unwrap() > 10, "{ticks}");
        assert!(studio.file("silo-evening.md").contains("from = \"grain-elevator-noon\""));
        page.is_quiet().await;
    });
}

#[test]
fn the_next_piece_is_made_from_the_wall_and_a_dialog_can_be_left() {
    open(|studio, page| async move {
        page.go("/").await;
        page.click("#hung-first-plan [data-copy]").await;
        page.until_says("#copy-from", "Jetty, Winter").await;
        page.press(Key::Escape).await;
        page.until_gone("#copy-title").await;
        assert!(!studio.path("pier.md").exists());
        page.click("#hung-first-plan [data-copy]").await;
        page.until_there("#copy-title").await;
        page.keys("Pier").await;
        page.click("#copy-form button[type=submit]").await;
        page.until("the next piece", "return location.pathname === '/plan/pier'").await;
        page.is_quiet().await;
    });
}

#[test]
fn a_title_that_is_none_is_told_in_the_dialog() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("[data-copy]").await;
        page.until_there("#copy-title").await;
        page.keys("…").await;
        page.press(Key::Enter).await;
        page.until_says("#copy-alert", "the title holds no letter and no digit give the piece a title one can say")
            .await;
        assert_eq!(page.address().await, "/plan/first-plan");
        assert_eq!(studio.history("first-plan").len(), 1);
        page.complains_only_of(&["422"]).await;
    });
}

#[test]
fn a_sale_is_recorded_and_the_next_number_follows() {
    open(|studio, page| async move {
        page.go("/plan/causeway-first-light").await;
        assert_eq!(page.value("#record [name=number]").await, "1");
        page.type_into("#record [name=words]", "A. Reader").await;
        page.type_into("#record [name=amount]", "5400").await;
        page.click("#record button[type=submit]").await;
        page.until_says("#ledger .prints", "sold, A. Reader").await;
        page.until_says("#plan", "The next print is 2/10").await;
        page.until_says("#said", "Print 1 is in the ledger.").await;
        page.until(
            "the next number to be offered",
            "return document.querySelector('#record [name=number]').value === '2'",
        )
        .await;
        page.until_says("#ledger", "9 left").await;
        page.is_quiet().await;

        // A number that is taken is refused beside the sentence, and what was typed stays.
        page.enter("#record [name=number]", "1").await;
        page.type_into("#record [name=words]", "B. Reader").await;
        page.click("#record button[type=submit]").await;
        page.until_says("#record-alert", "number 1 is already sold").await;
        assert_eq!(page.value("#record [name=words]").await, "B. Reader");
        let lines = studio.notebook.store().ledger(&server::names::Name::new("causeway-first-light").unwrap()).unwrap();
        assert_eq!(lines.len(), 1);
        assert_eq!(
            (lines[0].number, lines[0].words.as_str(), lines[0].amount.as_str()),
            (1, "A. Reader", "5400.00 USD")
        );
        page.complains_only_of(&["409"]).await;
    });
}
