//! What the title block says, as it is written.

use super::Word;
use crate::layout::kinds::DrawingField;
use crate::source::Span;

/// `drawing { … }`
#[derive(Debug, Clone)]
pub struct Drawing {
    /// Its lines.
    pub entries: Vec<DrawingEntry>,
    /// The line that opens it.
    pub span: Span,
}

/// `owner "TEXT"` and its like, or `drawn "NAME" DATE` and its like.
#[derive(Debug, Clone)]
pub struct DrawingEntry {
    /// Which field.
    pub field: DrawingField,
    /// What it says.
    pub text: Word,
    /// When that was, where it says who did something.
    pub date: Option<Word>,
    /// The whole line.
    pub span: Span,
}
