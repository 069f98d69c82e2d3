//! Pages from their templates: each is given one struct of its own, and beside it what every page shows.

use minijinja::Environment;
use minijinja::value::Serde;
use serde::Serialize;

use crate::error::Error;

/// What every template is given.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Around {
    /// What the notebook is called.
    pub(crate) studio: String,
    /// Today, like `2026-11-25`.
    pub(crate) day: String,
    /// Why nothing is saved any more.
    pub(crate) halted: Option<String>,
    /// Everyone in the network can read what is sent.
    pub(crate) overheard: bool,
    /// Everyone gives the passphrase.
    pub(crate) guarded: bool,
    /// For someone who has not given it.
    pub(crate) outside: bool,
    /// A sheet by itself, which leads to no other page.
    pub(crate) alone: bool,
}

#[derive(Serialize)]
struct All<'a, T> {
    #[serde(flatten)]
    around: &'a Around,
    #[serde(flatten)]
    own: &'a T,
}

/// A page from its template; the fields of its own struct are the names the template uses, and no others.
///
/// # Errors
/// When the template is wrong.
pub(crate) fn render(
    templates: &Environment<'_>,
    around: &Around,
    template: &str,
    own: &impl Serialize,
) -> Result<String, Error> {
    let given = Serde(All { around, own });
    templates.get_template(template).and_then(|template| template.render(given)).map_err(|error| {
        Error::internal("this page could not be made", "tell us which page it was; the plan itself is safe")
            .because(error)
    })
}
