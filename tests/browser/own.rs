//! A piece of one's own, as somebody makes it who writes no code: in a notebook without anything in it, with what is on the
//! pages and nothing else.

use serde_json::json;

use crate::page::Page;
use crate::screens::overhang;
use crate::studio::open_empty;

/// Begins a shop and fills prices in: item, column and what is typed.
async fn shop(page: &Page, name: &str, trade: &str, cells: &[(&str, &str, &str)]) {
    page.go("/rates/begin").await;
    page.until_there("#shop").await;
    page.type_into("#shop-name", name).await;
    page.choose("#shop-trade", trade).await;
    page.click("#shop button[type=submit]").await;
    page.until_says("#title", name).await;
    for (at, (item, column, typed)) in cells.iter().enumerate() {
        page.enter(&format!("#plan [aria-label=\"{item}, {column}\"]"), typed).await;
        page.until_says("#saved", &format!("saved, revision {}", at + 2)).await;
    }
}

/// The walk, at one width of the screen.
fn walk(wide: u32, high: u32) {
    open_empty(move |studio, page| async move {
        page.screen(wide, high).await;
        let gloss = [("Small proof", "price", "28"), ("Chromogenic, gloss", "price", "18.50")];
        shop(&page, "Gull Lab", "lab: the print", &gloss).await;
        let scans = [("Drum scan", "price", "180"), ("Drum scan", "working days", "6")];
        shop(&page, "Heron Scans", "scanner: the scan", &scans).await;

        // The piece: what it would be stands beside the blanks before it is begun.
        page.go("/begin").await;
        page.until_says("#piece", "72 × 24 in").await;
        assert_eq!(overhang(&page).await.0, 0, "{}", overhang(&page).await.1);
        page.type_into("#begin-title", "Weir, Second Frost").await;
        page.choose("[name=film]", "4x5").await;
        page.js("const i = document.querySelector('[name=width]'); i.value = '60 in'; i.dispatchEvent(new Event('input', { bubbles: true }))", &[]).await;
        page.choose("[name=shop-lab]", "Gull Lab").await;
        // 60 in of a 4x5 are 48 in high (identity: nominal inches).
        page.until_says("#piece", "60 × 48 in").await;
        page.until_says("#piece", "prices to come").await;
        page.click("#begin button[type=submit]").await;
        page.until("the plan", "return location.pathname === '/plan/weir-second-frost'").await;
        page.until_says("#title", "Weir, Second Frost").await;
        assert!(!page.is_there("#plan .problem, #plan .remark").await, "{}", page.text("#plan").await);
        assert_eq!(overhang(&page).await.0, 0, "{}", overhang(&page).await.1);

        // The lab's price is there: 60.5 × 48.5 in are 20.377 ft² (identity), at 18.50 a square foot.
        page.until_says("#plan .costs", "$376.97").await;
        page.until_says("#plan .costs", "$28.00").await;
        page.until_says("#plan .costs tfoot", "prices to come").await;

        // A shop is named on the plan, and its price and days follow.
        page.choose("[data-role=scanner]", "Heron Scans").await;
        page.until_says("#plan .costs", "$180.00").await;
        assert!(studio.file("weir-second-frost.md").contains("scanner = \"shops/heron-scans\""));
        // Another paper is a choice of what the lab makes.
        page.choose("#plan select[aria-label='Printed as']", "Pigment on rag").await;
        page.until_says("#plan .costs", "price to come").await;
        page.choose("#plan select[aria-label='Printed as']", "Chromogenic, gloss").await;
        page.until_says("#plan .costs", "$376.97").await;
        // Every choice is a blank: the width again.
        page.enter("#plan p input[aria-label='Print width, in inches']", "50").await;
        page.until_says("#plan .costs", "$262.76").await;

        // All tickets are there, each for its shop or for whoever it will be.
        for (role, words) in [
            ("scanner", "Heron Scans"),
            ("lab", "Gull Lab"),
            ("mounter", "mounter"),
            ("framer", "framer"),
            ("carrier", "carrier"),
        ] {
            page.go(&format!("/plan/weir-second-frost/ticket/{role}")).await;
            page.until_says("main", words).await;
            assert_eq!(overhang(&page).await.0, 0, "{role}: {}", overhang(&page).await.1);
        }
        // And the piece hangs on the wall of the first page.
        page.go("/").await;
        page.until_there("#hung-weir-second-frost").await;
        page.is_quiet().await;
    });
}

#[test]
fn two_shops_a_plan_and_its_tickets_without_a_line_of_code() {
    walk(1440, 900);
}

#[test]
fn two_shops_a_plan_and_its_tickets_without_a_line_of_code_on_a_phone() {
    walk(390, 844);
}

#[test]
fn a_plan_is_begun_in_metric_and_euro() {
    open_empty(|studio, page| async move {
        page.go("/begin?set=matted-and-glazed").await;
        page.until_says("#piece", "to come").await;
        page.choose("[name=units]", "metric").await;
        page.choose("[name=currency]", "EUR").await;
        page.until_says("#piece", "1800 × ").await;
        page.type_into("#begin-title", "Wehr").await;
        page.click("#begin button[type=submit]").await;
        page.until("the plan", "return location.pathname === '/plan/wehr'").await;
        page.until_says("#plan", "1800").await;
        assert!(!page.is_there("#plan .problem, #plan .remark").await, "{}", page.text("#plan").await);
        let text = studio.file("wehr.md");
        assert!(text.contains("currency = \"EUR\"") && text.contains("1800.mm") && !text.contains(".inch"), "{text}");
        // What does not fit is told on the form and nothing is begun.
        page.go("/begin").await;
        page.until_says("#piece", "to come").await;
        page.click("[name=stage][value=mount]").await;
        page.until_says("#alert", "The float frame builds on another part of the work: mount").await;
        page.complains_only_of(&["422"]).await;
        let plans =
            page.js("return fetch('/').then(r => r.text()).then(t => (t.match(/hung-/g) ?? []).length)", &[]).await;
        assert_ne!(plans, json!(null));
    });
}
