//! Texts of plans that were asked for a moment ago, so that a page that is looked at is not read from the disk each time.

use std::collections::HashMap;
use std::sync::Arc;

use crate::folder::Kept;
use crate::names::Name;

/// How many bytes of text are kept in each of two generations.
const ROOM: usize = 4 << 20;

/// Texts in two generations: what was not asked for during one is let go with it.
#[derive(Debug, Default)]
pub(super) struct Texts {
    young: HashMap<Name, Arc<Kept>>,
    bytes: usize,
    old: HashMap<Name, Arc<Kept>>,
}

impl Texts {
    /// The text of a document under just this mark.
    pub(super) fn get(&mut self, name: &Name, mark: &str) -> Option<Arc<Kept>> {
        if let Some(kept) = self.young.get(name) {
            return (kept.etag == mark).then(|| kept.clone());
        }
        let kept = self.old.remove(name).filter(|kept| kept.etag == mark)?;
        self.put(name, &kept);
        Some(kept)
    }

    /// Keeps a text.
    pub(super) fn put(&mut self, name: &Name, kept: &Arc<Kept>) {
        if self.bytes + kept.text.len() > ROOM {
            self.old = std::mem::take(&mut self.young);
            self.bytes = 0;
        }
        self.bytes += kept.text.len();
        if let Some(before) = self.young.insert(name.clone(), kept.clone()) {
            self.bytes -= before.text.len();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(letter: &str, long: usize) -> Arc<Kept> {
        Arc::new(Kept { text: letter.repeat(long), etag: letter.to_owned() })
    }

    #[test]
    fn a_text_is_given_under_its_own_mark_only_and_room_is_bounded() {
        let mut texts = Texts::default();
        let name = |at: usize| Name::new(&format!("plan-{at}")).unwrap();
        texts.put(&name(0), &kept("a", 10));
        assert!(texts.get(&name(0), "a").is_some() && texts.get(&name(0), "b").is_none());
        for at in 1..100 {
            texts.put(&name(at), &kept("x", 1 << 20));
            assert!(texts.get(&name(0), "a").is_some(), "what is asked for stays");
        }
        let held: usize = texts.young.values().chain(texts.old.values()).map(|kept| kept.text.len()).sum();
        assert!(held <= 2 * ROOM, "{held}");
        assert!(texts.get(&name(1), "x").is_none());
    }
}
