//! Letters of any script, put together by an input method, and files with the line ends of another system.

use fantoccini::key::Key;
use serde_json::json;

use crate::studio::open;

#[test]
fn letters_composed_by_an_input_method_arrive_whole() {
    open(|studio, page| async move {
        page.go("/plan/first-plan").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_before("Best seen").await;
        // As while a word is being chosen from a list: the letters change until they are settled.
        for part in ["h", "hi", "ひ", "ひが", "干"] {
            let end = part.chars().count();
            page.cdp("Input.imeSetComposition", json!({"text": part, "selectionStart": end, "selectionEnd": end}))
                .await;
            page.until_says("#plan", &format!("{part}Best seen")).await;
            let value = page.value("#passage").await;
            assert!(
                value.contains(&format!("{part}Best seen")),
                "the composition is not disturbed by the page that follows: {value}"
            );
        }
        page.cdp("Input.insertText", json!({"text": "干潟 "})).await;
        // And at one stroke, as a picture panel or dictation puts it in.
        page.cdp("Input.insertText", json!({"text": "Été e\u{301} 🖼️ ‘’ "})).await;
        page.until_says("#plan", "干潟 Été e\u{301} 🖼️ ‘’ Best seen").await;
        page.control("s").await;
        studio
            .until_file("first-plan.md", "the letters", |text| text.contains("干潟 Été e\u{301} 🖼️ ‘’ Best seen"))
            .await;
        page.is_quiet().await;
    });
}

#[test]
fn numbers_follow_behind_letters_of_more_than_one_byte() {
    open(|studio, page| async move {
        studio.outside(
            "first-plan.md",
            &studio.file("first-plan.md").replace("A 6x12 negative", "干潟 🖼️ e\u{301}: a 6x12 negative"),
        );
        page.go("/plan/first-plan").await;
        page.until_says("#plan", "干潟").await;
        page.enter("p input[aria-label='Print width, in inches']", "72").await;
        page.until_says("#plan", "72 × 34.17 in").await;
        assert!(studio.file("first-plan.md").contains("干潟 🖼️ e\u{301}: a 6x12 negative"));
        assert!(studio.file("first-plan.md").contains("given(\"Print width\", 72.inch)"));
        page.is_quiet().await;
    });
}

#[test]
fn a_file_with_the_line_ends_of_windows_keeps_them() {
    open(|studio, page| async move {
        let before = studio.file("causeway-first-light.md").replace('\n', "\r\n");
        studio.outside("causeway-first-light.md", &before);
        page.go("/plan/causeway-first-light").await;
        page.until_says("#plan", "The print is 90 × 30 in").await;
        assert!(!page.is_there(".problem").await);

        // A given, a tick, a section, and the whole.
        page.enter("p input[aria-label='Print width, in inches']", "84").await;
        page.until_says("#saved", "saved, revision").await;
        let mut expected = before.replace("90.inch);", "84.inch);");
        studio.until_file("causeway-first-light.md", "the given", |text| text == expected).await;

        page.click("input[aria-label^='Dust and hairs']").await;
        expected = expected.replace("- [ ] Dust and hairs", "- [x] Dust and hairs");
        studio.until_file("causeway-first-light.md", "the tick", |text| text == expected).await;

        for (button, words) in [
            ("button.write[aria-label='write the section Carrying']", "Twice.\nOnce more. "),
            ("#write-all", "Three times.\n\n"),
        ] {
            page.click(button).await;
            page.until_there("#passage").await;
            page.caret_before("Measured on site").await;
            page.keys(words).await;
            page.press(Key::Escape).await;
            page.until_gone("#passage").await;
            expected =
                expected.replace("Measured on site", &format!("{}Measured on site", words.replace('\n', "\r\n")));
            studio.until_file("causeway-first-light.md", words, |text| text == expected).await;
        }
        page.is_quiet().await;
    });
}

#[test]
fn a_file_that_begins_with_a_byte_order_mark_can_be_written() {
    open(|studio, page| async move {
        studio.outside("first-plan.md", &format!("\u{feff}{}", studio.file("first-plan.md")));
        page.go("/plan/first-plan").await;
        page.until_says("#plan", "60 × 28.47 in").await;
        assert!(!page.is_there(".problem").await);
        page.enter("p input[aria-label='Print width, in inches']", "72").await;
        page.until_says("#plan", "72 × 34.17 in").await;
        page.click("#write-all").await;
        page.until_there("#passage").await;
        page.caret_to_the_end().await;
        page.keys("\n\nThe end.").await;
        page.control("s").await;
        studio
            .until_file("first-plan.md", "both changes behind the mark", |text| {
                text.contains("72.inch")
                    && text.contains("The end.")
                    && text.starts_with("\u{feff}+++")
                    && text.matches('\u{feff}').count() == 1
            })
            .await;
        page.is_quiet().await;
    });
}
