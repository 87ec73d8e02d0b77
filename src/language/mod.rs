//! What the plan language and the rule language share.
//!
//! [`brackets`] are counted before a parser is let in; [`nodes`] is what it matched; [`expression`] reads what both languages reckon with,
//! and [`arithmetic`] reckons. [`faults`] are what a text can have wrong with it, each with its words, and [`expected`] tells where a statement
//! goes wrong. [`tokens`] cut up a text that is still being written, and [`tidy`] lays one out in its canonical form.

pub mod arithmetic;
pub mod brackets;
pub mod caps;
pub mod expected;
pub mod expression;
pub mod faults;
pub mod nodes;
pub mod tidy;
pub mod tokens;

use crate::source::Span;

/// A name, a word or a text, where it stands. A text is without its quotes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// What is written.
    pub text: String,
    /// Where.
    pub span: Span,
}

/// Whether a character may stand in a name after its first.
pub fn is_word(c: char) -> bool {
    c.is_ascii_alphanumeric() || c == '-' || c == '_'
}

/// The word at a byte offset, or the one character there, or nothing at the end of a line.
pub fn word_at(text: &str, at: usize) -> Span {
    let rest = text.get(at..).unwrap_or("");
    let length = match rest.chars().next() {
        None | Some('\n' | '\r') => 0,
        Some(c) if is_word(c) => rest.find(|c: char| !is_word(c)).unwrap_or(rest.len()),
        Some(c) => c.len_utf8(),
    };
    Span::new(at..at + length)
}
