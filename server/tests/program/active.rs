//! What a page holds that is not on the one list the browser goes by, or that acts or leads out.

use scraper::{Html, Node};

/// `static/allowed.js`, the one list of what pages are made of: data behind a few words of script.
fn allowed() -> serde_json::Value {
    let text = include_str!("../../../static/allowed.js");
    let (from, to) = (text.find("= {").unwrap() + 2, text.rfind('}').unwrap() + 1);
    serde_json::from_str(&text[from..to]).unwrap()
}

/// What besides only a whole page has, which no script of ours makes nodes of.
const OF_A_PAGE: &[(&str, &str)] = &[
    ("link", "href rel type"),
    ("meta", "charset content name"),
    ("script", "src type"),
    ("template", ""),
    ("title", ""),
];

/// Whether the list, or a whole page, has an element, and an attribute of it.
fn has(allowed: &serde_json::Value, is_page: bool, element: &scraper::node::Element, attribute: Option<&str>) -> bool {
    let kind = if &*element.name.ns == "http://www.w3.org/2000/svg" { "svg" } else { "html" };
    let own = allowed[kind][element.name()].as_array();
    let of_a_page = OF_A_PAGE.iter().find(|(name, _)| is_page && *name == element.name());
    let Some(attribute) = attribute else { return own.is_some() || of_a_page.is_some() };
    attribute.starts_with("data-")
        || own.into_iter().chain(allowed["attributes"].as_array()).flatten().any(|one| one == attribute)
        || of_a_page.is_some_and(|(_, all)| all.split(' ').any(|one| one == attribute))
}

/// What is wrong with a page: read by a parser of another project, as a browser would.
pub(crate) fn active(html: &str, is_page: bool) -> Vec<String> {
    let parsed = if is_page { Html::parse_document(html) } else { Html::parse_fragment(html) };
    let allowed = allowed();
    let mut found = Vec::new();
    for node in parsed.tree.nodes() {
        let Node::Element(element) = node.value() else { continue };
        let name = element.name();
        if !has(&allowed, is_page, element, None) {
            found.push(format!("the element <{name}>"));
        }
        for (attribute, value) in element.attrs().filter(|(one, _)| !has(&allowed, is_page, element, Some(one))) {
            found.push(format!("the attribute {attribute}={value:?} of <{name}>"));
        }
        if name == "script"
            && !(is_page
                && element.attr("src").is_some_and(|src| src.starts_with("/a/"))
                && element.attr("type") == Some("module")
                && node.children().count() == 0)
        {
            found.push("a script".to_owned());
        }
        if name == "link"
            && !element.attr("href").is_some_and(|href| {
                href.starts_with("/a/") || href.ends_with("paper.css") || href.contains("/paper.css?paper=")
            })
        {
            found.push(format!("a link to {:?}", element.attr("href")));
        }
        if name == "meta" && element.attr("http-equiv").is_some() {
            found.push("a meta that orders".to_owned());
        }
        for (attribute, value) in element.attrs() {
            let is_ours = is_page && element.attr("href").is_some_and(|href| href.starts_with("/reference"));
            if attribute == "target" && !is_ours {
                found.push(format!("<{name}> opens {value:?}"));
            }
            if matches!(attribute, "href" | "src" | "action" | "data" | "cite" | "xlink:href") {
                // As a browser reads it: control characters and line breaks left out, case set aside.
                let plain: String = value.chars().filter(|c| !c.is_control()).collect::<String>().trim().to_lowercase();
                let scheme =
                    plain.split(['/', '?', '#']).next().unwrap_or_default().split_once(':').map(|(scheme, _)| scheme);
                if scheme.is_some_and(|scheme| !matches!(scheme, "http" | "https" | "mailto") || name != "a") {
                    found.push(format!("<{name}> leads to {value:?}"));
                }
                let away = plain.starts_with("//") || plain.starts_with("/\\") || plain.starts_with("\\");
                if away && name != "a" {
                    found.push(format!("<{name}> loads {value:?}"));
                }
                if name == "form" && !plain.starts_with('/') {
                    found.push(format!("a form to {value:?}"));
                }
            }
            if attribute == "id"
                && matches!(value, "main" | "plan" | "alert" | "said" | "title" | "block" | "clash" | "record")
                && !is_page
            {
                found.push(format!("the text takes the name {value:?}"));
            }
        }
    }
    found
}
