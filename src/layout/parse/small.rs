//! What small parts of statements say: how doors open, where stairs lead, the lines of a title block.

use super::{Node, Rule};
use crate::layout::kinds::DrawingField;
use crate::layout::tree::{DrawingEntry, Heading, Side};
use crate::worded::Worded as _;

/// The hand of a door's hinges, and whether it opens outward.
pub(super) fn swing(node: Node<'_>) -> Option<(Side, bool)> {
    let mut parts = node.parts();
    let side = Side::of_word(&parts.word()?.text)?;
    Some((side, parts.word_if(Rule::swing_way).is_some_and(|way| way.text == "outward")))
}

/// Where a flight of stairs leads up to.
pub(super) fn flight(node: Node<'_>) -> Option<Heading> {
    let mut parts = node.parts();
    let down = parts.word()?.text == "down";
    let heading = parts.heading()?;
    Some(if down { heading.opposite() } else { heading })
}

/// A line of a title block.
pub(super) fn drawing_entry(node: Node<'_>) -> Option<DrawingEntry> {
    let span = node.tight();
    let mut parts = node.parts();
    let field = DrawingField::of_word(&parts.word()?.text)?;
    Some(DrawingEntry { field, text: parts.word()?, date: parts.word_if(Rule::date), span })
}
