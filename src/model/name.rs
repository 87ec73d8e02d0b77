//! What things of a plan are known by: their names, and the lines that say something of them.

use crate::source::Place;

/// A name and where it was given.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Name {
    /// The name.
    pub text: String,
    /// Where.
    pub place: Place,
}

/// A value and the line that gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated<T> {
    /// The value.
    pub value: T,
    /// Where.
    pub place: Place,
}

/// What bears a name.
pub(crate) trait Named {
    /// Its name.
    fn name(&self) -> &Name;
}

/// What each of several things is called.
pub(crate) fn names<'n, T: Named + 'n>(things: impl IntoIterator<Item = &'n T>) -> Vec<&'n str> {
    things.into_iter().map(|thing| thing.name().text.as_str()).collect()
}
