//! What a document is called: its title, and the sentence under it.

use engine::document::Document;

use crate::names::Name;

/// The document's title, else its name.
pub(crate) fn title(document: &Document, name: &Name) -> String {
    let title = document.title();
    if title.is_empty() { name.as_str().to_owned() } else { title }
}

/// The sentence under the title: the author's own, and where the plan came from.
pub(crate) fn sentence(document: &Document) -> String {
    let front = &document.front;
    let from = front.from.as_ref().map(|from| format!("Made from {from}."));
    [front.about.clone(), from].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// Words with their first letter large.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
