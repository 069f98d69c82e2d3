//! Styles, modules, typefaces and page templates, carried in the program.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use data_encoding::HEXLOWER;
use minijinja::{AutoEscape, Environment, UndefinedBehavior};
use rust_embed::RustEmbed;
use sha2::{Digest as _, Sha256};

use crate::error::Error;

#[derive(RustEmbed)]
#[folder = "../static"]
struct Static;

/// The built-in beginnings of a plan, by the names of their files.
pub(crate) const BEGINNINGS: &[&str] = &["panoramic-float-frame", "matted-and-glazed", "unframed-edition"];

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

/// The text of one of the built-in beginnings.
///
/// # Errors
/// When there is none of that name.
pub(crate) fn beginning(name: &str) -> Result<String, Error> {
    let name = BEGINNINGS
        .iter()
        .find(|one| **one == name)
        .ok_or_else(|| Error::missing(format!("there is no beginning called `{name}`"), "choose one from the list"))?;
    Ok(text(&format!("beginnings/{name}.md")))
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
