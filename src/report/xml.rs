//! Text as XML holds it.

use crate::source::printable;

/// Text without the characters that XML 1.0 has no way to write.
pub(super) fn writable(text: &str) -> String {
    let forbidden =
        |c: char| matches!(c, '\u{0}'..='\u{8}' | '\u{b}' | '\u{c}' | '\u{e}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}');
    printable(text.replace(forbidden, "\u{fffd}"))
}

/// Text for an attribute: on one line, since readers make spaces of its breaks anyway.
pub(super) fn one_line(text: &str) -> String {
    writable(text).replace(['\n', '\r', '\t'], " ")
}
