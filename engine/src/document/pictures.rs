//! The pictures a text shows.

use pulldown_cmark::{Event, Tag};

use super::reading::Document;
use crate::markup::is_local_picture;

impl Document {
    /// The paths of the notebook's own pictures shown in the text, each once, as written.
    #[must_use]
    pub fn pictures(&self) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for (event, _) in &self.events {
            if let Event::Start(Tag::Image { dest_url, .. }) = event
                && is_local_picture(dest_url)
                && !all.iter().any(|one| **one == **dest_url)
            {
                all.push(dest_url.to_string());
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::Document;

    #[test]
    fn only_pictures_of_the_notebook_are_found_and_each_once() {
        let text =
            "![a](pictures/weir.jpg) ![b](https://example.org/x.png) ![c](../out.jpg)\n\n![a](pictures/weir.jpg)\n";
        assert_eq!(Document::read(text).pictures(), ["pictures/weir.jpg"]);
    }
}
