//! What is written by one of several words: kinds in a plan, outputs on the command line.

use crate::text::{nearest, quoted};

/// Something that is written by one of several words.
pub trait Worded: Copy + PartialEq + 'static {
    /// All of them, with their words.
    const WORDS: &'static [(Self, &'static str)];

    /// The word for it.
    fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(known, _)| *known == self).map_or("", |(_, word)| word)
    }

    /// The one that a word means; `what` says what they are.
    ///
    /// # Errors
    /// That there is none, with the nearest there is.
    fn meant(word: &str, what: &str) -> Result<Self, String> {
        Self::of_word(word).ok_or_else(|| match nearest(word, Self::words().into_iter()) {
            Some(near) => format!("no {what} is called `{word}`; did you mean `{near}`?"),
            None => format!("no {what} is called `{word}`; there are {}", quoted(Self::words().into_iter(), "and")),
        })
    }

    /// The one that a word means, where there is one.
    fn of_word(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(_, known)| *known == word).map(|(one, _)| *one)
    }

    /// The words, in their order.
    fn words() -> Vec<&'static str> {
        Self::WORDS.iter().map(|(_, word)| *word).collect()
    }
}
