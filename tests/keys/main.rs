//! From a key press to the changed number on the page, in a real browser on this computer.
//!
//! A plan of 100 kB is opened for writing and digits are typed into a given; the page's own clock says when each key went down
//! and when the first frame with the new number was painted. `cargo bench --workspace --bench keys` prints half of the keys,
//! 95 of 100 and the slowest; two frames are 33 ms. The floor of the same run is a key typed into an empty page's text field.
#![allow(
    missing_docs,
    unreachable_pub,
    dead_code,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    reason = "a bench"
)]

#[path = "../browser/driver.rs"]
mod driver;
#[path = "../browser/page.rs"]
mod page;
#[path = "../browser/studio.rs"]
mod studio;

use std::fmt::Write as _;

use serde_json::json;

use page::Page;

/// Keys typed.
const KEYS: usize = 100;

/// A plan of about so many kilobytes.
fn plan(kilobytes: usize) -> String {
    let mut text = String::from(
        "+++\ntitle = \"Weir\"\n+++\n\n# Weir\n\n## First\n\n```workings\nlet first = 24.inch;\n```\n\nIt is `? first * 2` wide.\n",
    );
    let mut block = 0;
    while text.len() < kilobytes * 1024 {
        let _ = write!(
            text,
            "\n## Part {block}\n\nThe negative is read twice and the better of the two is kept; the lab holds the file until the proof is back, and nothing large is made before that. The shop is told in writing.\n\n```workings\nlet wide{block} = {}.inch;\nlet tall{block} = wide{block} * 24 / 72;\nlet ppi{block} = 7200.px / wide{block};\n```\n\nIt is `? tall{block}` high at `? ppi{block}`.\n",
            24 + block % 60
        );
        block += 1;
    }
    text
}

/// Types digits one after the other, each when the one before it is on the page, and gives the milliseconds of each.
async fn typed(page: &Page, watch: &str, area: &str) -> Vec<f64> {
    page.js(watch, &[]).await;
    let mut took = Vec::new();
    for key in 0..KEYS {
        // A digit comes, and goes again with the next turn.
        let script = if key % 2 == 0 { json!({"text": "7"}) } else { json!(null) };
        if key % 2 == 0 {
            page.cdp("Input.insertText", script).await;
        } else {
            for kind in ["rawKeyDown", "keyUp"] {
                page.cdp(
                    "Input.dispatchKeyEvent",
                    json!({"type": kind, "key": "Backspace", "code": "Backspace", "windowsVirtualKeyCode": 8}),
                )
                .await;
            }
        }
        let mut waited = 0;
        loop {
            let count = page.js("return window.took.length", &[]).await.as_u64().unwrap() as usize;
            if count > key {
                break;
            }
            waited += 1;
            assert!(waited < 2000, "key {key} never came to the page of {area}");
            tokio::time::sleep(std::time::Duration::from_millis(5)).await;
        }
        let last = page.js("return window.took[window.took.length - 1]", &[]).await;
        took.push(last.as_f64().unwrap());
    }
    took.sort_by(f64::total_cmp);
    took
}

fn said(what: &str, took: &[f64]) {
    let at = |share: usize| took[(took.len() * share / 100).min(took.len() - 1)];
    println!("{what}: half {:.1} ms, 95 of 100 {:.1} ms, slowest {:.1} ms", at(50), at(95), at(100));
}

fn main() {
    // Only when it is asked for by name.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    studio::open(|studio, page| async move {
        for kilobytes in [10, 100] {
            let name = format!("long-{kilobytes}");
            let text = plan(kilobytes);
            studio.outside(&format!("{name}.md"), &text);
            studio.notebook.look();
            page.go(&format!("/plan/{name}")).await;
            page.click("button.write[aria-label='write the section First']").await;
            page.until_there("#passage").await;
            page.js("const a = document.getElementById('passage'), at = a.value.indexOf('.inch'); a.focus(); a.setSelectionRange(at, at);", &[]).await;
            tokio::time::sleep(std::time::Duration::from_millis(500)).await;
            // From the input event to the frame after the number changed in the article.
            let watch = "window.took = []; const area = document.getElementById('passage'); let began = 0; area.addEventListener('input', e => { began = e.timeStamp }, true); const number = () => [...document.querySelectorAll('#plan p')].find(p => p.textContent.startsWith('It is') && p.textContent.includes('wide')).textContent; let last = number(); new MutationObserver(() => { const now = number(); if (now !== last && began) { last = now; const from = began; began = 0; requestAnimationFrame(() => window.took.push(performance.now() - from)); } }).observe(document.getElementById('plan'), { subtree: true, childList: true, characterData: true });";
            let took = typed(&page, watch, &name).await;
            said(&format!("a plan of {} kB", text.len() / 1024), &took);
        }
        page.go("/begin").await;
        let floor = "window.took = []; const area = document.querySelector('input'); area.value = ''; area.focus(); area.addEventListener('input', e => { const from = e.timeStamp; requestAnimationFrame(() => window.took.push(performance.now() - from)); });";
        let took = typed(&page, floor, "the empty page").await;
        said("floor, a field of an empty page", &took);
    });
}
