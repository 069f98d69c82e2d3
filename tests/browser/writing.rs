//! Writing in place: the page follows, the caret stays, problems stand under their lines, nothing is lost.

use fantoccini::key::Key;
use serde_json::json;

use crate::page::Page;
use crate::studio::open;

/// Opens a section for writing by its title.
async fn write(page: &Page, title: &str) {
    let css = format!("button.write[aria-label='write the section {title}']");
    page.click(&css).await;
    page.until_there("#passage").await;
}

#[test]
fn numbers_follow_while_typing_and_nothing_is_saved() {
    open(|studio, page| async move {
        page.go("/plan/causeway-first-light").await;
        let before = studio.file("causeway-first-light.md");
        write(&page, "The negative and the scan").await;
        page.caret_before("90.inch").await;
        page.press(Key::Delete).await;
        page.press(Key::Delete).await;
        page.keys("84").await;
        // 84 in of a film three times as long as high.
        page.until_says("#plan", "The print, 84 × 28 in").await;
        page.until_says("#standing", "not saved yet").await;
        assert_eq!(studio.file("causeway-first-light.md"), before);
        assert_eq!(studio.history("causeway-first-light").len(), 1);
        // Left as it was, the page goes back to what is saved.
        page.click("[data-act=leave]").await;
        page.until_gone("#passage").await;
        page.until_says("#plan", "The print, 90 × 30 in").await;
        assert_eq!(studio.file("causeway-first-light.md"), before);
        page.until_says("#brought", "A text you set aside").await;
        page.is_quiet().await;
    });
}

#[test]
fn caret_and_scroll_stay_where_they_are_while_the_page_follows() {
    open(|_, page| async move {
        page.go("/plan/causeway-first-light").await;
        write(&page, "Hanging").await;
        page.caret_before("58.inch").await;
        let place = "return [document.activeElement.id, document.getElementById('passage').selectionStart, Math.round(scrollY), Math.round(document.getElementById('passage').getBoundingClientRect().top)]";
        let before = page.js(place, &[]).await;
        page.press(Key::Delete).await;
        page.press(Key::Delete).await;
        // The height of the hooks: 58 + half of 32 1/4 − 4 = 70 1/8 in; with the middle two inches higher, 72 1/8.
        page.cdp("Input.insertText", json!({"text": "60"})).await;
        page.until_says("#plan", "72 1/8 in").await;
        let after = page.js(place, &[]).await;
        assert_eq!(after[0], "passage");
        assert_eq!(after[1].as_i64(), Some(before[1].as_i64().unwrap() + 2));
        assert_eq!(after[2], before[2], "the page did not scroll");
        assert_eq!(after[3], before[3], "and the passage stands where it stood on the screen");

        // Also when what stands above the passage grows.
        page.caret_before("60.inch").await;
        let before = page.js(place, &[]).await;
        page.keys("x").await;
        page.until_there("#wrong .problem").await;
        let after = page.js(place, &[]).await;
        assert_eq!((&after[0], after[1].as_i64()), (&json!("passage"), Some(before[1].as_i64().unwrap() + 1)));
        assert!((after[3].as_i64().unwrap() - before[3].as_i64().unwrap()).abs() <= 2, "{before} {after}");
        page.is_quiet().await;
    });
}

#[test]
fn a_problem_stands_under_the_line_that_caused_it() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_before("must(piece").await;
        page.keys("let heavy = wide + 3.lb;\n").await;
        let line = studio.file("first-plan.md").lines().position(|line| line.starts_with("must(")).unwrap() + 1;
        page.until_says("#wrong .problem", &format!("Line {line}: ")).await;
        let told = page.text("#wrong .problem").await;
        assert!(told.contains("a weight cannot be added to a length"), "{told}");
        // On the sheet too, right under its line.
        page.until_says(
            &format!(".workings.has-problem code[data-line='{line}'] + .problem"),
            "a weight cannot be added to a length",
        )
        .await;
        // The words it points at are underlined behind the writing.
        page.until_there(".mirror mark").await;
        // Its line is one step away.
        page.click("#wrong .problem button").await;
        let caret = page.js("const a = document.getElementById('passage'); return a.value.slice(0, a.selectionStart).split('\\n').length", &[]).await;
        assert_eq!(caret, json!(line));
        // Put right, it goes.
        page.caret_before(" + 3.lb").await;
        for _ in 0..7 {
            page.press(Key::Delete).await;
        }
        page.until_gone("#wrong .problem").await;
        page.until_gone(".workings .problem").await;
        page.is_quiet().await;
    });
}

#[test]
fn saving_goes_by_button_by_keyboard_and_by_closing() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        for (number, words) in [(2, "By button."), (3, "By keyboard."), (4, "By closing.")] {
            page.caret_to_the_end().await;
            page.keys(&format!("\n\n{words}")).await;
            match number {
                2 => page.click("[data-act=save]").await,
                3 => page.control("s").await,
                _ => page.press(Key::Escape).await,
            }
            studio.until_file("first-plan.md", words, |text| text.trim_end().ends_with(words)).await;
            page.until_says("#saved", &format!("saved, revision {number}")).await;
        }
        page.until_gone("#passage").await;
        assert_eq!(studio.history("first-plan").len(), 4);
        assert!(page.title().await.contains("revision 4"));
        page.is_quiet().await;
    });
}

#[test]
fn a_section_is_written_without_touching_the_rest() {
    open(|studio, page| async move {
        let before = studio.file("causeway-first-light.md");
        page.go("/plan/causeway-first-light").await;
        write(&page, "Carrying").await;
        assert!(page.value("#passage").await.starts_with("## Carrying {for=carrier}\n"));
        page.caret_before("Measured on site").await;
        page.keys("Twice. ").await;
        page.control("s").await;
        page.until_says("#standing", "saved, revision 2").await;
        assert_eq!(
            studio.file("causeway-first-light.md"),
            before.replace("Measured on site", "Twice. Measured on site")
        );
        page.is_quiet().await;
    });
}

#[test]
fn writing_that_was_not_saved_is_offered_again() {
    open(|studio, page| async move {
        let before = studio.file("first-plan.md");
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_before("Best seen").await;
        page.keys("Not saved. ").await;
        page.until_says("#plan", "Not saved. Best seen").await;
        page.until(
            "the writing to be held in the browser",
            "return (localStorage.getItem('makeready /plan/first-plan') ?? '').includes('Not saved. ')",
        )
        .await;
        // The window is lost: the page is opened afresh.
        page.go("/plan/first-plan").await;
        assert_eq!(studio.file("first-plan.md"), before);
        page.until_says("#brought", "Writing that was not saved").await;
        page.click("#brought button").await;
        page.until_there("#passage").await;
        assert!(page.value("#passage").await.contains("Not saved. Best seen"));
        page.control("s").await;
        studio.until_file("first-plan.md", "the writing", |text| text.contains("Not saved. Best seen")).await;
        page.is_quiet().await;
    });
}

#[test]
fn a_notebook_that_cannot_be_reached_loses_no_writing() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        let line =
            |offline: bool| json!({"offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1});
        page.cdp("Network.enable", json!({})).await;
        page.cdp("Network.emulateNetworkConditions", line(true)).await;
        page.caret_before("Best seen").await;
        page.keys("Far away. ").await;
        page.until_says("#standing", "The notebook cannot be reached; your text is kept here.").await;
        page.control("s").await;
        page.until_says("#standing", "Not saved; press save to try again.").await;
        assert!(page.value("#passage").await.contains("Far away. Best seen"));
        page.cdp("Network.emulateNetworkConditions", line(false)).await;
        page.click("[data-act=save]").await;
        page.until_says("#standing", "saved, revision 2").await;
        assert!(studio.file("first-plan.md").contains("Far away. Best seen"));
        page.complains_only_of(&["ERR_INTERNET_DISCONNECTED"]).await;
    });
}

#[test]
fn typing_goes_on_while_a_save_is_under_way() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_before("Best seen").await;
        for round in 0..8 {
            page.keys(&format!("{round} ")).await;
            page.control("s").await;
            page.keys("and ").await;
        }
        page.press(Key::Escape).await;
        page.until_gone("#passage").await;
        let text = studio.file("first-plan.md");
        assert!(text.contains("0 and 1 and 2 and 3 and 4 and 5 and 6 and 7 and Best seen"), "{text}");
        page.until("no writing to be left over", "return localStorage.getItem('makeready /plan/first-plan') === null")
            .await;
        page.is_quiet().await;
    });
}

#[test]
fn a_rate_sheet_is_written_in_place_too() {
    open(|studio, page| async move {
        page.go("/rates").await;
        page.click("a[href='/rates/shops%2Ftidewater-lab']").await;
        page.until_says("#title", "Tidewater Lab").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_before("38.usd").await;
        page.keys("1").await;
        page.until_says("#plan", "$138.00").await;
        page.press(Key::Escape).await;
        page.until_gone("#passage").await;
        assert!(studio.file("shops/tidewater-lab.md").contains("let tube = 138.usd;"));
        page.go("/plan/causeway-first-light").await;
        page.until_says("#plan", "$138.00").await;
        page.is_quiet().await;
    });
}

/// The article on the page, and the one the notebook would make again of the text being written.
const SAME: &str = r"
    return (async (before, after) => {
        const text = before + document.getElementById('passage').value + after;
        const headers = { 'Content-Type': 'text/markdown; charset=utf-8' };
        const reply = await fetch(`${location.pathname}/draft`, { method: 'POST', headers, body: text });
        const { fragment } = await import(document.querySelector('script[src*=plan]').src.replace('plan.js', 'safe.js'));
        const plain = root => {
            for (const kept of root.querySelectorAll('[data-keep]')) kept.remove();
            // What the page itself puts there: the length of bars, what was opened by hand, the bar of what just changed.
            for (const e of root.querySelectorAll('*')) {
                for (const name of ['style', 'open', 'data-rev']) e.removeAttribute(name);
                e.classList.remove('revised');
                if (!e.classList.length) e.removeAttribute('class');
            }
            const all = document.createElement('div');
            all.append(root);
            all.normalize();
            return all;
        };
        const here = document.createDocumentFragment();
        here.append(...document.getElementById('plan').cloneNode(true).childNodes);
        const [shown, again] = [plain(here), plain(document.importNode(fragment((await reply.json()).article), true))];
        return [shown.isEqualNode(again), shown.innerHTML, again.innerHTML];
    })(...arguments);";

#[test]
fn after_any_keys_the_page_shows_what_would_be_made_anew() {
    open(|studio, page| async move {
        page.go("/plan/causeway-first-light").await;
        let text = studio.file("causeway-first-light.md");
        write(&page, "The negative and the scan").await;
        let passage = page.value("#passage").await;
        let (before, after) = text.split_once(passage.as_str()).expect("the passage stands in the text");
        for (at, keys) in [
            ("90.inch", "1"),
            ("90.inch", "\n\n"),
            ("```workings", "A line more.\n\n"),
            ("A line more", "> `? 3 * 4`\n\n"),
            ("A line more", "## Else\n\n- [ ] clean the glass\n\n"),
            ("## The negative", "x"),
            ("x## The negative", "Before it.\n\n"),
            ("90.inch", "7"),
            ("x## The negative", "## Again\n\n"),
        ] {
            page.caret_before(at).await;
            page.cdp("Input.insertText", json!({"text": keys})).await;
            // Until no draft is under way any more.
            let mut same = serde_json::Value::Null;
            for _ in 0..100 {
                same = page.js(SAME, &[json!(before), json!(after)]).await;
                if same[0] == true {
                    break;
                }
                tokio::time::sleep(std::time::Duration::from_millis(50)).await;
            }
            assert_eq!(same[0], true, "after {keys:?} before {at:?}, on the page {}\nanew {}", same[1], same[2]);
            assert!(page.is_there("#plan > .part > [data-keep] #passage").await);
        }
        page.is_quiet().await;
    });
}
