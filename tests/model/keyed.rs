//! A world together with the key that says when two worlds are the same.

use std::hash::{Hash, Hasher};
use std::sync::Arc;

/// A world, identified by its key: by what can still make a difference.
pub struct Keyed<W, K> {
    pub world: Arc<W>,
    pub key: K,
}

impl<W, K> Keyed<W, K> {
    pub fn new(world: W, key: K) -> Self {
        Self {
            world: Arc::new(world),
            key,
        }
    }
}

impl<W, K: Clone> Clone for Keyed<W, K> {
    fn clone(&self) -> Self {
        Self {
            world: Arc::clone(&self.world),
            key: self.key.clone(),
        }
    }
}

impl<W: std::fmt::Debug, K> std::fmt::Debug for Keyed<W, K> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.world.fmt(f)
    }
}

impl<W, K: Hash> Hash for Keyed<W, K> {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        self.key.hash(hasher);
    }
}

impl<W, K: PartialEq> PartialEq for Keyed<W, K> {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}
