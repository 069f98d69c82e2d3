//! Styles, modules, typefaces and page templates, carried in the program.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use data_encoding::HEXLOWER;
use engine::document::stages::Stage;
use minijinja::{AutoEscape, Environment, UndefinedBehavior};
use rust_embed::RustEmbed;
use sha2::{Digest as _, Sha256};

#[derive(RustEmbed)]
#[folder = "../static"]
struct Static;

/// The stages of a plan, in the order of the work.
const STAGES: &[&str] = &["scan", "files", "print", "mount", "float-frame", "mat-frame", "carry", "hang", "sell"];

/// Sets of stages that are usual together: the name in the address, what it is called, what it does, its stages.
pub(crate) const BEGINNINGS: &[(&str, &str, &str, &[&str])] = &[
    (
        "panoramic-float-frame",
        "Laminated and floated",
        "printed large, laminated, on board, in a float frame; no glass",
        &["scan", "files", "print", "mount", "float-frame", "carry", "hang", "sell"],
    ),
    (
        "matted-and-glazed",
        "Matted and behind glazing",
        "hinged behind a window mat, framed under acrylic or glass",
        &["scan", "files", "print", "mat-frame", "hang", "sell"],
    ),
    (
        "unframed-edition",
        "Unframed edition",
        "prints alone, rolled or flat; what happens to them after is their buyers' affair",
        &["scan", "files", "print", "sell"],
    ),
];

/// The stages a plan can be put together from.
pub(crate) static ALL_STAGES: LazyLock<Vec<Stage>> = LazyLock::new(|| {
    // Carried in the program and read in the tests: one that cannot be read is left out and missed there.
    let read = |name: &&str| Stage::read(name, &text(&format!("stages/{name}.md"))).ok();
    STAGES.iter().filter_map(read).collect()
});

/// The example notebook, copied to a working folder on first start.
#[derive(RustEmbed)]
#[folder = "../notebooks"]
pub(crate) struct Examples;

/// One mark for all of them: modules load each other by relative names, so they change together.
static MARK: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Static::iter().collect();
    names.sort();
    let mut all = Sha256::new();
    for name in names {
        if let Some(file) = Static::get(&name) {
            all.update(name.as_bytes());
            all.update(file.metadata.sha256_hash());
        }
    }
    HEXLOWER.encode(all.finalize().get(..8).unwrap_or_default())
});

/// The address of a file.
pub(crate) fn url(file: &str) -> String {
    format!("/a/{}/{file}", *MARK)
}

/// The text of a file, for pages that are handed over without the server.
pub(crate) fn text(file: &str) -> String {
    Static::get(file).map(|file| String::from_utf8_lossy(&file.data).into_owned()).unwrap_or_default()
}

/// Gives a file; its address changes with its content, so a browser may keep it for ever.
pub(crate) async fn get(Path((mark, file)): Path<(String, String)>) -> Response {
    let found = (mark == *MARK && !file.starts_with("templates/")).then(|| Static::get(&file)).flatten();
    let Some(found) = found else { return (StatusCode::NOT_FOUND, "no such file").into_response() };
    let kind = match file.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml; charset=utf-8",
        Some("otf") => "font/otf",
        _ => "text/plain; charset=utf-8",
    };
    let headers = [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "public, max-age=31536000, immutable")];
    (headers, found.data.into_owned()).into_response()
}

/// The page templates.
pub(crate) fn templates() -> Environment<'static> {
    let mut templates = Environment::new();
    // A name that no page gives is a fault, which tests find; a page that lacks one word is better than none.
    if cfg!(debug_assertions) {
        templates.set_undefined_behavior(UndefinedBehavior::Strict);
    }
    templates.set_auto_escape_callback(|_| AutoEscape::Html);
    templates.set_loader(|name| {
        Ok(Static::get(&format!("templates/{name}")).map(|file| String::from_utf8_lossy(&file.data).into_owned()))
    });
    templates.add_function("asset", |file: &str| url(file));
    templates
}

#[cfg(test)]
mod tests {
    use super::templates;

    #[test]
    fn a_name_that_no_page_gives_is_a_fault() {
        let mut templates = templates();
        templates.add_template("wrong.html", "{% if studioo %}{{ studioo }}{% endif %}").unwrap();
        assert!(templates.get_template("wrong.html").unwrap().render(minijinja::context! { studio => "A" }).is_err());
    }
}
