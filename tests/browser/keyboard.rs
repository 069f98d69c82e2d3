//! Everything is reached with a keyboard alone.

use fantoccini::key::Key;
use serde_json::json;

use crate::page::Page;
use crate::studio::open;

/// Goes from one thing to the next with Tab until a script says that this is the one.
async fn tab_to(page: &Page, what: &str, is: &str) {
    for _ in 0..600 {
        page.press(Key::Tab).await;
        let here = page
            .js(&format!("const e = document.activeElement; return !!e && e !== document.body && ({is})"), &[])
            .await;
        if here == json!(true) {
            // What has the focus shows it.
            let shown = page
                .js(
                    "const e = document.activeElement, s = getComputedStyle(e), b = getComputedStyle(e.closest('.given') ?? e); \
                     return e.matches(':focus-visible') && (s.outlineStyle !== 'none' || b.outlineStyle !== 'none' || s.boxShadow !== 'none' || s.borderBottomWidth !== '0px' || b.borderBottomWidth !== '0px')",
                    &[],
                )
                .await;
            assert_eq!(shown, json!(true), "{what} shows that it has the focus");
            return;
        }
    }
    panic!("{what} is not reached with Tab");
}

#[test]
fn a_given_is_reached_and_changed() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        tab_to(&page, "the skip link", "e.classList.contains('skip')").await;
        page.press(Key::Enter).await;
        tab_to(&page, "the width", "e.matches('p input[data-given]')").await;
        page.control("a").await;
        page.keys("72").await;
        page.press(Key::Enter).await;
        studio.until_file("first-plan.md", "the width", |text| text.contains("72.inch")).await;
        page.until_says("#plan", "72 × 34.17 in").await;
        tab_to(&page, "the resolution", "e.matches('p select[data-given]')").await;
        page.press(Key::Up).await;
        page.press(Key::Tab).await;
        studio.until_file("first-plan.md", "the resolution", |text| text.contains("3200.ppi, [3200.ppi")).await;
        page.is_quiet().await;
    });
}

#[test]
fn a_section_is_reached_written_and_closed_and_the_focus_comes_back() {
    open(|studio, page| async move {
        page.go("/plan/causeway-first-light").await;
        tab_to(&page, "the section on hanging", "e.getAttribute('aria-label') === 'write the section Hanging'").await;
        page.press(Key::Enter).await;
        page.until("the passage to have the focus", "return document.activeElement.id === 'passage'").await;
        page.press(Key::Down).await;
        page.press(Key::Down).await;
        page.keys("Quietly. ").await;
        page.press(Key::Escape).await;
        page.until_gone("#passage").await;
        assert!(studio.file("causeway-first-light.md").contains("Quietly. North wall of the long room"));
        let focus = "return document.activeElement.getAttribute('aria-label') === 'write the section Hanging'";
        page.until("the focus to come back to the button", focus).await;
        page.is_quiet().await;
    });
}

#[test]
fn workings_boxes_tickets_and_the_ledger_are_reached() {
    open(|studio, page| async move {
        page.go("/plan/causeway-first-light").await;
        tab_to(&page, "the framer's ticket", "e.matches('nav a[href$=\"/ticket/framer\"]')").await;
        tab_to(&page, "writing the whole plan", "e.id === 'write-all'").await;
        tab_to(&page, "making the next piece", "e.dataset.copy !== undefined").await;
        tab_to(&page, "the text of the workings", "e.nodeName === 'SUMMARY'").await;
        page.press(Key::Enter).await;
        page.until("the workings to unfold", "return document.activeElement.parentElement.open === true").await;
        tab_to(&page, "a box", "e.matches('[data-tick]:not(:checked)')").await;
        page.press(Key::Space).await;
        studio.until_file("causeway-first-light.md", "the tick", |text| text.contains("- [x] Scan looked at")).await;
        tab_to(&page, "the ledger", "e.name === 'words'").await;
        page.keys("A. Reader").await;
        page.press(Key::Enter).await;
        page.until_says("#ledger .prints", "sold, A. Reader").await;
        page.go("/plan/causeway-first-light").await;
        tab_to(&page, "the framer's ticket", "e.matches('nav a[href$=\"/ticket/framer\"]')").await;
        page.press(Key::Enter).await;
        page.until("the ticket", "return location.pathname.endsWith('/ticket/framer')").await;
        tab_to(&page, "print", "e.id === 'print'").await;
        page.is_quiet().await;
    });
}

#[test]
fn the_wall_is_a_table_one_key_away_and_its_columns_sort() {
    open(|_, page| async move {
        page.go("/").await;
        assert!(page.is_there("#wall").await && !page.is_there("#list table").await);
        page.keys("t").await;
        page.until_there("#list table").await;
        page.until_gone("#wall").await;
        let first = "return document.querySelector('#list tbody tr').textContent";
        tab_to(&page, "the column of sizes", "e.nodeName === 'BUTTON' && e.textContent === 'size'").await;
        page.press(Key::Enter).await;
        let smallest = page.js(first, &[]).await;
        page.press(Key::Enter).await;
        let largest = page.js(first, &[]).await;
        assert!(smallest.as_str().unwrap().contains("Ferry Ramp, Thaw"), "{smallest}");
        assert!(largest.as_str().unwrap().contains("Long Wall, Flood Tide"), "{largest}");
        page.keys("w").await;
        page.until_there("#wall").await;
        tab_to(&page, "the first artwork", "e.matches('#wall h2 a')").await;
        page.press(Key::Enter).await;
        page.until("its plan", "return location.pathname.startsWith('/plan/')").await;
        page.is_quiet().await;
    });
}

#[test]
fn two_texts_are_chosen_between_with_the_keyboard() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        tab_to(&page, "writing the whole plan", "e.id === 'write-all'").await;
        page.press(Key::Enter).await;
        page.until("the passage to have the focus", "return document.activeElement?.id === 'passage'").await;
        page.control(&char::from(Key::End).to_string()).await;
        page.keys("\n\nMine.").await;
        let theirs = studio.file("first-plan.md").replace("Best seen", "Theirs. Best seen");
        studio.outside("first-plan.md", &theirs);
        page.control("s").await;
        page.until_there("#clash").await;
        tab_to(&page, "keeping mine", "e.value === 'mine'").await;
        page.press(Key::Enter).await;
        studio.until_file("first-plan.md", "mine", |text| text.contains("Mine.") && !text.contains("Theirs.")).await;
        assert!(studio.history("first-plan").contains(&theirs));
        page.complains_only_of(&["412"]).await;
    });
}
