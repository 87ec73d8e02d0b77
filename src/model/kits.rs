//! The kits of a plan, in their order and by their names.

use std::collections::HashMap;
use std::ops::Deref;

use super::cable::Kit;

/// Kits in the order in which they stand; a slice of them wherever one is wanted.
#[derive(Debug, Clone, Default)]
pub struct Kits {
    list: Vec<Kit>,
    /// The first of each name.
    by_name: HashMap<String, usize>,
}

impl Kits {
    /// The index of the first kit of that name.
    pub fn named(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }

    /// Adds one behind the others.
    pub fn push(&mut self, kit: Kit) {
        self.by_name.entry(kit.name.text.clone()).or_insert(self.list.len());
        self.list.push(kit);
    }

    /// Takes out all but the first so many.
    pub fn truncate(&mut self, length: usize) {
        self.list.truncate(length);
        self.by_name.retain(|_, index| *index < length);
    }
}

impl Deref for Kits {
    type Target = [Kit];

    fn deref(&self) -> &[Kit] {
        &self.list
    }
}

impl Extend<Kit> for Kits {
    fn extend<T: IntoIterator<Item = Kit>>(&mut self, kits: T) {
        kits.into_iter().for_each(|kit| self.push(kit));
    }
}

impl IntoIterator for Kits {
    type Item = Kit;
    type IntoIter = std::vec::IntoIter<Kit>;

    fn into_iter(self) -> Self::IntoIter {
        self.list.into_iter()
    }
}

impl<'k> IntoIterator for &'k Kits {
    type Item = &'k Kit;
    type IntoIter = std::slice::Iter<'k, Kit>;

    fn into_iter(self) -> Self::IntoIter {
        self.list.iter()
    }
}
