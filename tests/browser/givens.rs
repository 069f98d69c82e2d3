//! Givens changed where they stand in the sentence, and boxes ticked.

use fantoccini::key::Key;
use serde_json::json;

use crate::studio::open;

#[test]
fn a_number_with_its_unit_is_changed_in_place_and_the_others_follow() {
    open(|studio, page| async move {
        let before = studio.file("causeway-first-light.md");
        page.go("/plan/causeway-first-light").await;
        page.until_says("#plan", "The print is 90 × 30 in").await;
        let wide = "p input[aria-label='Print width, in inches']";
        page.enter(wide, "84").await;
        page.until_says("#plan", "The print is 84 × 28 in").await;
        page.until_says("#block", "86 1/4 × 30 1/4 in").await;
        // What just changed has a bar in the margin for a moment.
        page.until_there(".revised").await;
        page.until_says("#saved", "saved, revision 2").await;
        assert_eq!(studio.file("causeway-first-light.md"), before.replace("90.inch);", "84.inch);"));
        // With a unit of its own.
        page.enter(wide, "2 m").await;
        page.until_says("#saved", "saved, revision 3").await;
        assert_eq!(studio.file("causeway-first-light.md"), before.replace("90.inch);", "2.m);"));
        // 2000 mm over 25.4 is 78.74 in.
        page.until_says("#plan", "The print is 78.74 × 26.25 in").await;
        page.is_quiet().await;
    });
}

#[test]
fn a_choice_is_changed_in_place() {
    open(|studio, page| async move {
        let before = studio.file("quarry-upper-bench.md");
        page.go("/plan/quarry-upper-bench").await;
        page.until_says("#plan", "This plan went on by way of").await;
        page.choose("p select[aria-label='Route']", "drum scan").await;
        page.until_says("#saved", "saved, revision 2").await;
        page.until_says("#plan", "Against a drum scan that had been right, the change cost €0.00").await;
        assert_eq!(
            studio.file("quarry-upper-bench.md"),
            before.replacen("given(\"Route\", \"flatbed rescan\"", "given(\"Route\", \"drum scan\"", 1)
        );
        page.is_quiet().await;
    });
}

#[test]
fn a_value_that_is_none_is_refused_beside_it_and_kept() {
    open(|studio, page| async move {
        let before = studio.file("first-plan.md");
        page.go("/plan/first-plan").await;
        let wide = "p input[aria-label='Print width, in inches']";
        page.enter(wide, "60 lb").await;
        page.until_says(".problem.beside", "`lb` is not a unit of `Print width`").await;
        assert_eq!(page.value(wide).await, "60 lb", "what was typed stays");
        assert_eq!(
            page.js("return document.querySelector(arguments[0]).getAttribute('aria-invalid')", &[json!(wide)]).await,
            "true"
        );
        assert_eq!(studio.file("first-plan.md"), before);
        // Escape puts back what was there.
        page.click(wide).await;
        page.press(Key::Escape).await;
        page.until_gone(".problem.beside").await;
        assert_eq!(page.value(wide).await, "60");
        page.complains_only_of(&["422"]).await;
    });
}

#[test]
fn a_broken_rule_is_marked_where_its_number_stands() {
    open(|_, page| async move {
        page.go("/plan/first-plan").await;
        page.until_says("#block", "all kept").await;
        // 4000 ppi of 118 mm are 18 583 px; at 110 in that is 169 ppi, under the lab's 200.
        page.enter("p input[aria-label='Print width, in inches']", "110").await;
        page.until_says("#block", "1 broken").await;
        page.until_says(".marked", "168.9 ppi").await;
        page.until_says("#plan", "breaks a rule: The lab wants 200 ppi at least").await;
        page.until_says("#plan .state.broken", "The lab wants 200 ppi at least").await;
        page.is_quiet().await;
    });
}

#[test]
fn a_box_is_ticked_and_cleared_in_the_file() {
    open(|studio, page| async move {
        let before = studio.file("causeway-first-light.md");
        page.go("/plan/causeway-first-light").await;
        let tick = "input[aria-label^='Dust and hairs']";
        page.click(tick).await;
        let ticked = studio
            .until_file("causeway-first-light.md", "the tick", |text| text.contains("- [x] Dust and hairs"))
            .await;
        assert_eq!(ticked, before.replace("- [ ] Dust and hairs", "- [x] Dust and hairs"));
        page.until_says("#saved", "saved, revision 2").await;
        page.click(tick).await;
        page.until_says("#saved", "saved, revision 3").await;
        assert_eq!(studio.file("causeway-first-light.md"), before);
        page.is_quiet().await;
    });
}

#[test]
fn a_change_on_a_page_that_fell_behind_shows_the_new_text_and_keeps_the_value() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        // The page hears of nothing, as when a laptop slept.
        page.js(
            "EventSource.prototype.close = EventSource.prototype.close; window.dispatchEvent(new Event('pagehide'))",
            &[],
        )
        .await;
        let newer = studio.file("first-plan.md").replace("Best seen", "It is best seen");
        studio.outside("first-plan.md", &newer);
        let wide = "p input[aria-label='Print width, in inches']";
        page.enter(wide, "72").await;
        page.until_says("#plan", "It is best seen").await;
        page.until_says(".problem.beside", "This plan changed elsewhere").await;
        assert_eq!(page.value(wide).await, "72");
        assert_eq!(studio.file("first-plan.md"), newer);
        // Entered again, it is saved.
        page.enter(wide, "73").await;
        studio
            .until_file("first-plan.md", "the width", |text| {
                text.contains("73.inch") && text.contains("It is best seen")
            })
            .await;
        page.complains_only_of(&["412"]).await;
    });
}

#[test]
fn the_other_units_are_one_step_away_and_givens_still_change_the_text() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("a[href='?units=metric']").await;
        // 60 in × 25.4 = 1524 mm; its height is 56/118 of that, 723.3 mm.
        page.until_says("#plan", "1524 × 723.3 mm").await;
        page.enter("p input[aria-label='Print width, in inches']", "1800 mm").await;
        page.until_says("#plan", "1800 × 854.2 mm").await;
        assert!(studio.file("first-plan.md").contains("given(\"Print width\", 1800.mm)"));
        page.click("a[href='?units=inch']").await;
        page.until_says("#plan", "70.87 × 33.63 in").await;
        page.is_quiet().await;
    });
}
