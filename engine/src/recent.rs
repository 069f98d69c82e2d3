//! What was asked for a moment ago, kept in two generations: what was not asked for during one is let go with it.

use std::borrow::Borrow;
use std::collections::HashMap;
use std::hash::Hash;

use foldhash::fast::RandomState;

/// Values by key, of so much room in each generation: bytes, or how many there are.
#[derive(Debug)]
pub struct Recent<K, V> {
    room: usize,
    young: HashMap<K, (V, usize), RandomState>,
    taken: usize,
    old: HashMap<K, (V, usize), RandomState>,
}

impl<K: Hash + Eq, V: Clone> Recent<K, V> {
    /// Nothing yet, with so much room in each of the two generations.
    #[must_use]
    pub fn of(room: usize) -> Self {
        Self { room, young: HashMap::default(), taken: 0, old: HashMap::default() }
    }

    /// The value of a key.
    pub fn get<Q: Hash + Eq + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        if let Some((value, _)) = self.young.get(key) {
            return Some(value.clone());
        }
        let (key, (value, takes)) = self.old.remove_entry(key)?;
        self.put(key, value.clone(), takes);
        Some(value)
    }

    /// Keeps a value that takes so much room.
    pub fn put(&mut self, key: K, value: V, takes: usize) {
        if self.taken + takes > self.room {
            self.old = std::mem::take(&mut self.young);
            self.taken = 0;
        }
        self.taken += takes;
        if let Some((_, before)) = self.young.insert(key, (value, takes)) {
            self.taken -= before;
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
        let held: usize = recent.young.values().chain(recent.old.values()).map(|(_, takes)| takes).sum();
        assert!(held <= 2000, "{held}");
        recent.put(0, "again", 10);
        assert_eq!(recent.get(&0), Some("again"));
    }
}
