//! Sums by name in bounded memory, whose parts can be added in any order.

use std::collections::BTreeMap;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// What can be added up.
pub trait Merge {
    /// Adds the other one.
    fn merge(&mut self, other: Self);
}

impl Merge for u64 {
    fn merge(&mut self, other: Self) {
        // What was added up elsewhere can be any number.
        *self = self.saturating_add(other);
    }
}

impl Merge for () {
    fn merge(&mut self, (): Self) {}
}

/// The values of the first `MOST` keys, in the order of the keys; what has other keys is only counted.
///
/// A key among the first of the whole is among the first of each part that has it. So its value misses nothing, however the
/// whole is cut and in whatever order its parts are added.
#[derive(Clone, Debug, PartialEq)]
pub struct Bounded<K, V, const MOST: usize> {
    kept: BTreeMap<K, (u64, V)>,
    all: u64,
}

impl<K, V, const MOST: usize> Default for Bounded<K, V, MOST> {
    fn default() -> Self {
        Bounded { kept: BTreeMap::new(), all: 0 }
    }
}

impl<K: Ord, V: Default, const MOST: usize> Bounded<K, V, MOST> {
    /// Counts one more with this key, and adds it to the value of the key where that is kept.
    pub fn add(&mut self, key: K, add: impl FnOnce(&mut V)) {
        self.all += 1;
        if let Some((count, value)) = self.kept.get_mut(&key) {
            *count += 1;
            return add(value);
        }
        let is_full = self.kept.len() >= MOST;
        if is_full && self.kept.last_key_value().is_none_or(|(last, _)| *last < key) {
            return;
        }
        let mut value = V::default();
        add(&mut value);
        self.kept.insert(key, (1, value));
        if is_full {
            self.kept.pop_last();
        }
    }
}

impl<K: Ord, V, const MOST: usize> Bounded<K, V, MOST> {
    /// The value of a key.
    pub fn get(&self, key: &K) -> Option<&V> {
        self.kept.get(key).map(|(_, value)| value)
    }

    /// Changes the value of a key that is kept, without counting it anew.
    pub fn change(&mut self, key: &K, change: impl FnOnce(&mut V)) {
        if let Some((_, value)) = self.kept.get_mut(key) {
            change(value);
        }
    }

    /// The keys that are kept, in their order, with how many there were of each and their values.
    #[must_use]
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (&K, u64, &V)> {
        self.kept.iter().map(|(key, (count, value))| (key, *count, value))
    }

    /// How many keys are kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.kept.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// How many there were, of all keys.
    #[must_use]
    pub fn all(&self) -> u64 {
        self.all
    }

    /// How many there were with keys that are not kept.
    #[must_use]
    pub fn left_out(&self) -> u64 {
        let kept = self.kept.values().fold(0, |sum: u64, (count, _)| sum.saturating_add(*count));
        self.all.saturating_sub(kept)
    }
}

impl<K: Ord, V: Merge, const MOST: usize> Merge for Bounded<K, V, MOST> {
    fn merge(&mut self, other: Self) {
        self.all.merge(other.all);
        for (key, (count, value)) in other.kept {
            match self.kept.get_mut(&key) {
                Some((known, sum)) => {
                    known.merge(count);
                    sum.merge(value);
                }
                None => drop(self.kept.insert(key, (count, value))),
            }
        }
        while self.kept.len() > MOST {
            self.kept.pop_last();
        }
    }
}

/// As it is written: how many there were, and the keys with their counts and values.
#[derive(Serialize, Deserialize)]
struct Written<K, V> {
    all: u64,
    kept: Vec<(K, u64, V)>,
}

impl<K: Serialize, V: Serialize, const MOST: usize> Serialize for Bounded<K, V, MOST> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let kept = self.kept.iter().map(|(key, (count, value))| (key, *count, value)).collect();
        Written { all: self.all, kept }.serialize(serializer)
    }
}

impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>, const MOST: usize> Deserialize<'de>
    for Bounded<K, V, MOST>
{
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let Written { all, kept } = Written::deserialize(deserializer)?;
        let mut kept: BTreeMap<K, (u64, V)> =
            kept.into_iter().map(|(key, count, value)| (key, (count, value))).collect();
        while kept.len() > MOST {
            kept.pop_last();
        }
        Ok(Bounded { kept, all })
    }
}
