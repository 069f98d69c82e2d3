//! The page of whatever is written holds only elements and attributes of the one list the browser goes by too. The pages are
//! read by a parser of another project (html5ever, through scraper), as a browser reads them.

use std::collections::BTreeMap;

use engine::document::Document;
use engine::render::html::{View, article};
use engine::render::plain;
use engine::render::ticket_text;
use proptest::prelude::*;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use scraper::{Html, Node};

use super::marks::MARKS;
use super::{facts, plan};

/// `static/allowed.js`: data behind a few words of script.
fn allowed() -> serde_json::Value {
    let text = include_str!("../../../static/allowed.js");
    let (from, to) = (text.find("= {").unwrap() + 2, text.rfind('}').unwrap() + 1);
    serde_json::from_str(&text[from..to]).unwrap()
}

/// What is in some HTML that the list does not have, and how many of each element there are.
fn read(html: &str, allowed: &serde_json::Value) -> (Vec<String>, BTreeMap<String, usize>) {
    let (mut faults, mut counts) = (Vec::new(), BTreeMap::new());
    let has = |list: &serde_json::Value, name: &str| list.as_array().unwrap().iter().any(|one| one == name);
    for node in Html::parse_fragment(html).tree.nodes() {
        let Node::Element(element) = node.value() else { continue };
        *counts.entry(element.name().to_owned()).or_default() += 1;
        let kind = if &*element.name.ns == "http://www.w3.org/2000/svg" { "svg" } else { "html" };
        let own = &allowed[kind][element.name()];
        if own.is_null() {
            faults.push(format!("<{}>", element.name()));
            continue;
        }
        for (name, value) in element.attrs() {
            if !(name.starts_with("data-") || has(&allowed["attributes"], name) || has(own, name)) {
                faults.push(format!("{name}={value:?} of <{}>", element.name()));
            }
            let plain: String = value.chars().filter(|c| !c.is_control() && !c.is_whitespace()).collect();
            if matches!(name, "href" | "src") && plain.to_lowercase().starts_with("javascript:") {
                faults.push(format!("{name}={value:?}"));
            }
        }
    }
    (faults, counts)
}

/// The links and pictures of a text, as its Markdown is read; those within the words of a picture are words.
fn links_and_pictures(text: &str) -> (usize, usize) {
    let options = Options::ENABLE_TABLES
        | Options::ENABLE_TASKLISTS
        | Options::ENABLE_STRIKETHROUGH
        | Options::ENABLE_HEADING_ATTRIBUTES;
    let (mut links, mut pictures, mut depth) = (0, 0, 0_usize);
    for event in Parser::new_ext(text, options) {
        match event {
            Event::Start(Tag::Image { .. }) => {
                pictures += usize::from(depth == 0);
                depth += 1;
            }
            Event::End(TagEnd::Image) => depth -= 1,
            Event::Start(Tag::Link { .. }) if depth == 0 => links += 1,
            _ => {}
        }
    }
    (links, pictures)
}

fn check(body: &str) -> Result<(), String> {
    let allowed = allowed();
    // The first heading is the title block's own, so that all below it is on the page.
    let text = format!("# T\n\n{body}");
    let document = Document::read(&text);
    let evaluation = plan(&text, &facts(&[]));
    let html = article(&document, &evaluation, &View::default()).html;
    let (faults, counts) = read(&html, &allowed);
    if !faults.is_empty() {
        return Err(format!("{faults:?} in {html}"));
    }
    let count = |name: &str| counts.get(name).copied().unwrap_or(0);
    let wanted = links_and_pictures(&text);
    if (count("a"), count("img")) != wanted {
        return Err(format!("{} links and {} pictures, not {wanted:?}: {html}", count("a"), count("img")));
    }
    // What a shop is handed of it.
    let handed = ticket_text::html(&plain::whole(&document, &evaluation, &[]).blocks, &[true], 1);
    let (faults, _) = read(&handed, &allowed);
    if faults.is_empty() { Ok(()) } else { Err(format!("{faults:?} in {handed}")) }
}

#[test]
fn links_marks_and_pictures_in_a_pictures_words_are_plain_words() {
    for (body, alt) in [
        ("![a [b](/x/onerror=alert(1)//)](/nope.jpg)", "a b"),
        ("![a *b* **c** ~~d~~ `e`](/nope.jpg)", "a b c d e"),
        ("![a ![b [c](d)](e.jpg) f](/nope.jpg)", "a b c f"),
        ("![a\nb\\\nc](/nope.jpg)", "a b c"),
        ("![a <b onclick=x>c</b>](/nope.jpg)", "a c"),
        ("![\"' onerror=x `? 1 + 1`](/nope.jpg)", "\"' onerror=x 2"),
    ] {
        check(body).unwrap_or_else(|why| panic!("{body}: {why}"));
        let text = format!("# T\n\n{body}");
        let html = article(&Document::read(&text), &plan(&text, &facts(&[])), &View::default()).html;
        let parsed = Html::parse_fragment(&html);
        let pictures: Vec<_> = parsed.tree.nodes().filter_map(|node| node.value().as_element()).collect();
        let pictures: Vec<_> = pictures.into_iter().filter(|element| element.name() == "img").collect();
        assert_eq!(pictures.len(), 1, "{html}");
        assert_eq!(pictures[0].attr("alt"), Some(alt), "{html}");
        assert_eq!(pictures[0].attrs().count(), 2, "{html}");
    }
}

#[test]
fn an_ask_after_a_picture_with_an_ask_in_its_words_is_answered_as_its_own() {
    let text = "# T\n\n![it is `? 1 + 1`](a.jpg) and `? 2 + 2`\n";
    let html = article(&Document::read(text), &plan(text, &facts(&[])), &View::default()).html;
    assert!(html.contains("alt=\"it is 2\"") && html.contains("<span class=\"found\">4</span>"), "{html}");
}

#[test]
fn the_reader_of_these_tests_finds_what_is_not_on_the_list() {
    for bad in
        ["<script>", "<p onclick=x>", "<p style=x>", "<svg><animate/></svg>", "<a href=javascript:x>", "<iframe>"]
    {
        assert!(!read(bad, &allowed()).0.is_empty(), "{bad}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_page_of_any_text_holds_only_what_the_list_allows(pieces in prop::collection::vec(prop::sample::select(MARKS), 0..40)) {
        let body = pieces.concat();
        prop_assert!(check(&body).is_ok(), "{body:?}: {:?}", check(&body));
    }
}
