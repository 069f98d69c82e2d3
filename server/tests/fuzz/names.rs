//! Names, titles and escaped texts of any letters, thrown by a library for that.

use std::sync::Arc;

use engine::document::Document;
use engine::evaluate;
use engine::evaluate::Compiled;
use engine::render::html::View;
use proptest::prelude::*;
use server::evaluator::calculate;
use server::names::Name;

use crate::facts;
use crate::program::long_form;

/// In the long form twenty-five times as many.
fn cases() -> u32 {
    4000 * u32::try_from(long_form("MAKEREADY_FUZZ", 1).clamp(1, 25)).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_name_is_one_file_inside_the_notebook(text in "\\PC{0,60}|[a-c./\\\\~ -]{1,10}|(\\.\\.|\\.|~|a|b c)(/(\\.\\.|\\.|-|a)){0,3}") {
        let root = std::path::Path::new("/notebook");
        if let Ok(name) = Name::new(&text) {
            let file = name.file(root);
            prop_assert!(file.starts_with(root) && file.components().all(|part| !matches!(part, std::path::Component::ParentDir | std::path::Component::CurDir)));
            prop_assert!(file.to_string_lossy().ends_with(".md"));
            // The same name again, however it is written.
            prop_assert_eq!(Name::new(name.as_str()).ok(), Some(name.clone()));
            prop_assert_eq!(Name::of_file(root, &file), Some(name.clone()));
            prop_assert!(name.in_url().bytes().all(|byte| byte.is_ascii_alphanumeric() || b"-_.%".contains(&byte)));
        }
    }

    #[test]
    fn a_title_becomes_a_name_or_is_refused(title in "\\PC{0,60}|[a-zA-Z ./\\\\\u{300}-\u{310}\u{5d0}-\u{5ea}\u{900}-\u{97f}]{0,200}") {
        match Name::from_title(&title) {
            Ok(name) => {
                prop_assert!(!name.as_str().contains('/'));
                prop_assert_eq!(Name::new(name.as_str()).ok(), Some(name.clone()));
                prop_assert_eq!(name.folded(), name.as_str().to_uppercase().to_lowercase());
            }
            Err(message) => prop_assert!(!message.next.is_empty()),
        }
    }

    #[test]
    fn what_is_escaped_is_read_back_as_it_was(text in any::<String>()) {
        let plain: String = text.chars().filter(|c| !c.is_control()).collect();
        let html = scraper::Html::parse_fragment(&format!("<p title=\"{0}\">{0}</p>", engine::render::html::escape(&plain)));
        let paragraph = scraper::Selector::parse("p").unwrap();
        let found = html.select(&paragraph).next().unwrap();
        prop_assert_eq!(found.text().collect::<String>(), plain.clone());
        prop_assert_eq!(found.value().attr("title"), Some(plain.as_str()));
    }

    #[test]
    fn a_calculation_gives_the_same_whoever_asks(a in 1_i64..500, b in 1_i64..500, c in 1_u32..16) {
        let plan = format!("# A\n\n```workings\nlet wide = {a}.inch + {c}/16.inch;\nlet high = {b}.mm;\nlet price = {b}.usd * {c};\n```\n\n`? wide` `? high` `? price` `? wide * high`\n");
        let compiled = Arc::new(Compiled::default());
        let first = calculate(&plan, &facts(), &View::default(), &compiled).article().clone();
        let again = evaluate(&Document::read(&plan), &facts(), &Arc::new(Compiled::default()), None);
        prop_assert_eq!(first, engine::render::html::article(&Document::read(&plan), &again, &View::default()));
    }
}
