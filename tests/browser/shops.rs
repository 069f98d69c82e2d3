//! A shop of one's own, as someone makes it who writes no code: begun on the page, its prices typed into the list.

use fantoccini::key::Key;
use serde_json::json;

use crate::page::Page;
use crate::screens::overhang;
use crate::studio::open;

const FILE: &str = "shops/tarn-lab.md";

/// The blank of an item in a column.
fn cell(item: &str, column: &str) -> String {
    format!("#plan [aria-label=\"{item}, {column}\"]")
}

/// Begins the shop from the list of rate sheets.
async fn begin(page: &Page) {
    page.go("/rates").await;
    page.click("a[href='/rates/begin']").await;
    page.until_there("#shop").await;
    page.type_into("#shop-name", "Tarn Lab").await;
    page.choose("#shop-trade", "lab: the print").await;
    page.click("#shop button[type=submit]").await;
    page.until("the shop's page", "return location.pathname === '/rates/shops%2Ftarn-lab'").await;
    page.until_there(&cell("Small proof", "price")).await;
}

async fn saved(page: &Page, revision: u32) {
    page.until_says("#saved", &format!("saved, revision {revision}")).await;
}

/// Walks it at one width of the screen.
fn walk(wide: u32, high: u32) {
    open(move |studio, page| async move {
        page.screen(wide, high).await;
        page.go("/rates/begin").await;
        assert_eq!(overhang(&page).await.0, 0, "the form: {}", overhang(&page).await.1);
        begin(&page).await;
        let begun = studio.file(FILE);
        assert_eq!(overhang(&page).await.0, 0, "the list: {}", overhang(&page).await.1);

        // Three prices, and just their cells.
        page.until_says("#asks", "No price yet").await;
        page.enter(&cell("Small proof", "price"), "28").await;
        saved(&page, 2).await;
        page.until_gone("#asks .open-lines").await;
        page.enter(&cell("Chromogenic, gloss", "price"), "18.50").await;
        saved(&page, 3).await;
        page.enter(&cell("Chromogenic, gloss", "least charge"), "40").await;
        saved(&page, 4).await;
        let priced = begun
            .replace("| Small proof | |", "| Small proof | 28 |")
            .replace("| Chromogenic, gloss | | ft² | |", "| Chromogenic, gloss | 18.50 | ft² | 40 |");
        assert_eq!(studio.file(FILE), priced);

        // What cannot be read is told beside its cell and not saved; mended, it is.
        page.enter(&cell("Pigment on rag", "price"), "a lot").await;
        page.until_says("#plan .problem", "“a lot” is not an amount in USD").await;
        assert_eq!(overhang(&page).await.0, 0, "a refusal: {}", overhang(&page).await.1);
        assert_eq!(studio.file(FILE), priced);
        page.enter(&cell("Pigment on rag", "price"), "22.40").await;
        saved(&page, 5).await;
        page.until_gone("#plan .problem").await;

        // A row is added by filling in the empty last one, and the caret stays in it.
        page.click(&cell("next item", "item")).await;
        page.keys("Rush, a day sooner").await;
        page.press(Key::Tab).await;
        saved(&page, 6).await;
        page.until_there(&cell("Rush, a day sooner", "price")).await;
        let label = "return document.activeElement.getAttribute('aria-label')";
        assert_eq!(page.js(label, &[]).await, json!("Rush, a day sooner, price"));
        page.keys("45").await;
        page.press(Key::Tab).await;
        saved(&page, 7).await;
        page.until_there(&cell("next item", "item")).await;
        page.choose(&cell("Rush, a day sooner", "per"), "sheet").await;
        saved(&page, 8).await;

        // One is taken out.
        page.click("#plan [aria-label='remove Chromogenic, matte']").await;
        saved(&page, 9).await;
        let text = studio.file(FILE);
        let (before, after) = priced.split_once("| Chromogenic, matte").unwrap();
        let after = after.split_once('\n').unwrap().1.replace("| Pigment on rag | |", "| Pigment on rag | 22.40 |");
        assert_eq!(text, format!("{before}{after}| Rush, a day sooner | 45 | sheet | | | | |\n"));
        assert_eq!(overhang(&page).await.0, 0, "the filled list: {}", overhang(&page).await.1);

        // The day until which all of it holds.
        let until = "const i = document.querySelector('[data-day=until]'); i.focus(); i.value = '2027-04-30'; i.blur()";
        page.js(until, &[]).await;
        saved(&page, 10).await;
        page.until_says("#block", "30 April 2027").await;
        assert_eq!(studio.file(FILE), text.replace("\"inch\"\n", "\"inch\"\nuntil = \"2027-04-30\"\n"));

        // Read again, the page says the same.
        page.go("/rates/shops%2Ftarn-lab").await;
        assert_eq!(page.value(&cell("Chromogenic, gloss", "price")).await, "18.50");
        assert_eq!(page.value(&cell("Rush, a day sooner", "per")).await, "sheet");
        page.complains_only_of(&["422"]).await;
    });
}

#[test]
fn a_shop_is_begun_priced_and_read_back() {
    walk(1440, 900);
}

#[test]
fn a_shop_is_begun_priced_and_read_back_on_a_phone() {
    walk(390, 844);
}

#[test]
fn a_list_is_pasted_and_what_cannot_be_read_stays_to_be_mended() {
    open(|studio, page| async move {
        page.screen(390, 844).await;
        begin(&page).await;
        page.click("#paste summary").await;
        page.type_into("#pasted", "Tube; 9,50; each\nFerry; about 90").await;
        page.click("#paste-in").await;
        page.until_says("#unread", "One item is added.").await;
        page.until_says("#unread", "“about 90” is not an amount in USD").await;
        assert_eq!(page.value("#pasted").await, "Ferry; about 90");
        assert_eq!(page.value(&cell("Tube", "price")).await, "9,50");
        assert!(studio.file(FILE).ends_with("| Tube | 9,50 | piece | | | | |\n"), "{}", studio.file(FILE));
        assert_eq!(overhang(&page).await.0, 0, "{}", overhang(&page).await.1);
        page.is_quiet().await;
    });
}

#[test]
fn prices_are_typed_by_keyboard_alone() {
    open(|studio, page| async move {
        begin(&page).await;
        let focus = "const e = document.querySelector(arguments[0]); e.focus(); e.select()";
        page.js(focus, &[json!(cell("Small proof", "price"))]).await;
        // Enter goes on to the row below, Escape puts back what was there.
        page.keys("28").await;
        page.press(Key::Enter).await;
        page.keys("18.50").await;
        page.press(Key::Enter).await;
        page.keys("17").await;
        page.press(Key::Escape).await;
        page.press(Key::Tab).await;
        saved(&page, 3).await;
        let text = studio.file(FILE);
        assert!(text.contains("| Small proof | 28 |") && text.contains("| Chromogenic, gloss | 18.50 |"), "{text}");
        assert!(text.contains("| Chromogenic, matte | |"), "{text}");
        // A row is taken out from its own button, and the caret goes on to the next.
        page.js("document.querySelector(arguments[0]).focus()", &[json!("[aria-label='remove Small proof']")]).await;
        page.press(Key::Enter).await;
        saved(&page, 4).await;
        page.until("the caret in the next row", "return document.activeElement.value === 'Chromogenic, gloss'").await;
        page.is_quiet().await;
    });
}
