//! Lays a file out in its canonical form.

use lsp_types::{DocumentFormattingParams, Position, Range, TextEdit};

use super::documents::Language;
use super::workspace::Workspace;

/// `textDocument/formatting`. The editor's own wishes for blanks are passed over: the form is the same for everyone.
///
/// # Errors
/// When the text has faults of syntax.
pub fn formatting(
    workspace: &mut Workspace,
    params: DocumentFormattingParams,
) -> Result<Option<Vec<TextEdit>>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let source = workspace.source(&path).map_err(|error| error.to_string())?;
    let text = source.text.raw();
    let tidied = match workspace.language(&path) {
        Some(Language::Layout) => crate::layout::tidy::tidy(text),
        Some(Language::Rules) => crate::rules::tidy::tidy(text),
        Some(Language::Project) | None => return Ok(None),
    };
    match tidied {
        Ok(tidied) => {
            let end = source.text.position(workspace.client.encoding, source.read().len());
            Ok(Some(difference(text, &tidied, end).into_iter().collect()))
        }
        Err(faults) => {
            let first = faults.first().map_or("", |fault| &fault.message);
            Err(format!("a text that can't be read whole is not laid out: {first}"))
        }
    }
}

/// The one change that turns a text into another, of whole lines: what stands before and behind it stays, and with it where one is at. `end` is
/// where the old one ends.
pub fn difference(old: &str, new: &str, end: Position) -> Option<TextEdit> {
    if old == new {
        return None;
    }
    let line = |number: usize| Position { line: u32::try_from(number).unwrap_or(u32::MAX), character: 0 };
    // A CR alone ends a line for an editor; where there is one, all of the text is exchanged.
    if old.replace("\r\n", "\n").contains('\r') {
        return Some(TextEdit::new(Range { start: line(0), end }, new.to_string()));
    }
    let (before, after): (Vec<&str>, Vec<&str>) =
        (old.split_inclusive('\n').collect(), new.split_inclusive('\n').collect());
    let head = before.iter().zip(&after).take_while(|(a, b)| a == b).count();
    let left = before.len().min(after.len()) - head;
    let tail = before.iter().rev().zip(after.iter().rev()).take(left).take_while(|(a, b)| a == b).count();
    let end = if tail == 0 { end } else { line(before.len() - tail) };
    Some(TextEdit::new(Range { start: line(head), end }, after[head..after.len() - tail].concat()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_change_is_of_the_lines_that_differ() {
        let end = Position { line: 3, character: 1 };
        let change = |old: &str, new: &str| {
            let edit = difference(old, new, end)?;
            Some((edit.range.start.line, edit.range.end.line, edit.range.end.character, edit.new_text))
        };
        assert_eq!(change("a\n", "a\n"), None);
        assert_eq!(change("a\nb\nc\nd", "a\nB\nc\nd"), Some((1, 2, 0, "B\n".into())));
        assert_eq!(change("a\nb\nc\nd", "a\nb\nc\nd\n"), Some((3, 3, 1, "d\n".into())));
        assert_eq!(change("a\n\n\nd", "a\nd"), Some((1, 3, 0, String::new())));
    }
}
