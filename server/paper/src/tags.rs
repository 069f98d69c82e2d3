//! The tags of a sheet: a tree built while it is laid out, filled while it is drawn.

use krilla::tagging::{Identifier, Node as Branch, Tag, TagGroup, TagKind, TagTree, kind};

use crate::lettering::clean;

/// A place in the tree.
pub(crate) type Node = u32;

enum Child {
    Node(Node),
    Leaf(Identifier),
}

struct Held {
    tag: TagKind,
    children: Vec<Child>,
}

/// The tree of one sheet.
pub(crate) struct Tags {
    all: Vec<Held>,
}

/// What everything hangs from.
pub(crate) const ROOT: Node = 0;

/// The tag of a picture or drawing. PDF/UA-1 asks for words about each, so one that has none says that.
pub(crate) fn figure(alt: &str) -> Tag<kind::Figure> {
    let words = clean(alt);
    Tag::Figure(Some(if words.trim().is_empty() { "picture without a description".to_owned() } else { words }))
}

impl Tags {
    pub(crate) fn new() -> Self {
        Self { all: vec![Held { tag: Tag::Div.into(), children: Vec::new() }] }
    }

    /// A new tag under another.
    pub(crate) fn add(&mut self, parent: Node, tag: impl Into<TagKind>) -> Node {
        let node = self.all.len() as Node;
        self.all.push(Held { tag: tag.into(), children: Vec::new() });
        if let Some(parent) = self.all.get_mut(parent as usize) {
            parent.children.push(Child::Node(node));
        }
        node
    }

    /// Drawn content of a tag.
    pub(crate) fn leaf(&mut self, node: Node, leaf: Identifier) {
        if let Some(held) = self.all.get_mut(node as usize) {
            held.children.push(Child::Leaf(leaf));
        }
    }

    /// Gives a tag another kind, once more is known of it.
    pub(crate) fn retag(&mut self, node: Node, tag: impl Into<TagKind>) {
        if let Some(held) = self.all.get_mut(node as usize) {
            held.tag = tag.into();
        }
    }

    /// The tree as the writer takes it.
    pub(crate) fn tree(mut self, language: &str) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        let top = self.all.get_mut(ROOT as usize).map(|held| std::mem::take(&mut held.children)).unwrap_or_default();
        for child in top {
            tree.push(self.branch(child));
        }
        tree
    }

    /// Depth is that of lists and quotations in each other, which is bounded where a plan is read.
    fn branch(&mut self, child: Child) -> Branch {
        match child {
            Child::Leaf(leaf) => Branch::Leaf(leaf),
            Child::Node(node) => {
                let Some(held) = self.all.get_mut(node as usize) else {
                    return Branch::Group(TagGroup::new(Tag::NonStruct));
                };
                let tag = std::mem::replace(&mut held.tag, Tag::NonStruct.into());
                let children = std::mem::take(&mut held.children);
                Branch::Group(TagGroup::with_children(
                    tag,
                    children.into_iter().map(|child| self.branch(child)).collect(),
                ))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::content::{Block, Drawing, Place, Run};
    use crate::{Bounds, Sheet, Size, pdf};

    #[test]
    fn a_drawing_without_words_is_set_and_says_that_it_has_none() {
        assert!(set(Place(40.0, 40.0)).is_ok());
    }

    #[test]
    fn a_drawing_without_end_is_told_in_words_and_what_follows_stays_on_the_sheet() {
        assert!(set(Place(f64::INFINITY, 40.0)).is_ok() && set(Place(40.0, f64::INFINITY)).is_ok());
    }

    /// A sheet with a drawing of a size and a link after it, set.
    fn set(size: Place) -> Result<crate::Set, crate::Unset> {
        let drawing = Drawing { alt: "\u{200b}".into(), caption: String::new(), size, shapes: Vec::new() };
        let link = Run { to: Some("https://a.example/".into()), ..Run::plain("a link") };
        let sheet = Sheet {
            size: Size::A4,
            title: "T".into(),
            author: String::new(),
            day: (2026, 11, 25),
            running: String::new(),
            ident: "t".into(),
            body: vec![Block::Drawing(drawing), Block::Paragraph(vec![link])],
            foot: Vec::new(),
        };
        pdf(&sheet, &Bounds::default(), &|| true)
    }
}
