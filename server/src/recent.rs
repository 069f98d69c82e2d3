//! What was asked for a moment ago, kept in two generations: what was not asked for during one is let go with it.

use std::borrow::Borrow;
use std::collections::HashMap;
use std::hash::Hash;

/// Values by key, of so many bytes in each generation.
#[derive(Debug)]
pub(crate) struct Recent<K, V> {
    room: usize,
    young: HashMap<K, (V, usize)>,
    bytes: usize,
    old: HashMap<K, (V, usize)>,
}

impl<K: Hash + Eq, V: Clone> Recent<K, V> {
    /// Nothing yet, with room for so many bytes in each of the two generations.
    pub(crate) fn of(room: usize) -> Self {
        Self { room, young: HashMap::new(), bytes: 0, old: HashMap::new() }
    }

    /// The value of a key.
    pub(crate) fn get<Q: Hash + Eq + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        if let Some((value, _)) = self.young.get(key) {
            return Some(value.clone());
        }
        let (key, (value, bytes)) = self.old.remove_entry(key)?;
        self.put(key, value.clone(), bytes);
        Some(value)
    }

    /// Keeps a value of so many bytes.
    pub(crate) fn put(&mut self, key: K, value: V, bytes: usize) {
        if self.bytes + bytes > self.room {
            self.old = std::mem::take(&mut self.young);
            self.bytes = 0;
        }
        self.bytes += bytes;
        if let Some((_, before)) = self.young.insert(key, (value, bytes)) {
            self.bytes -= before;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Recent;

    #[test]
    fn what_is_asked_for_stays_and_room_is_bounded() {
        let mut recent = Recent::of(1000);
        recent.put(0, "first", 10);
        for key in 1..100 {
            recent.put(key, "other", 300);
            assert_eq!(recent.get(&0), Some("first"), "what is asked for stays");
        }
        assert_eq!(recent.get(&1), None);
        let held: usize = recent.young.values().chain(recent.old.values()).map(|(_, bytes)| bytes).sum();
        assert!(held <= 2000, "{held}");
        recent.put(0, "again", 10);
        assert_eq!(recent.get(&0), Some("again"));
    }
}
