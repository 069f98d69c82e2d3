//! The pictures a text shows.

use super::reading::Document;
use super::tree::Part;
use crate::markup::is_local_picture;

impl Document {
    /// The paths of the notebook's own pictures shown in the text, each once, as written.
    #[must_use]
    pub fn pictures(&self) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        for node in self.nodes().all() {
            if let Part::Picture { file } = &node.part
                && is_local_picture(file)
                && !all.iter().any(|one| **one == **file)
            {
                all.push(file.to_string());
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
