//! How a selection grows: a word, its statement, the block round it, the block with its head, and so on to the whole text.

use std::ops::Range;

use lsp_types::{SelectionRange, SelectionRangeParams};

use super::workspace::{Source, Workspace};
use crate::language::caps::DEEPEST_NESTING;
use crate::language::tokens::statement_start;
use crate::source::Span;

/// For how many places of one request a selection grows.
const MOST_POSITIONS: usize = 500;

/// `textDocument/selectionRange`.
///
/// # Errors
/// Never: any place lies in its text.
pub fn selections(
    workspace: &mut Workspace,
    params: SelectionRangeParams,
) -> Result<Option<Vec<SelectionRange>>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let grown = params.positions.into_iter().enumerate().map(|(number, position)| {
        let nothing = SelectionRange { range: lsp_types::Range { start: position, end: position }, parent: None };
        if number >= MOST_POSITIONS {
            return nothing;
        }
        let at = source.text.offset(workspace.client.encoding, position);
        let mut selection: Option<SelectionRange> = None;
        for range in around(&source, at).into_iter().rev() {
            let range = source.text.range(workspace.client.encoding, Span::new(range));
            selection = Some(SelectionRange { range, parent: selection.map(Box::new) });
        }
        selection.unwrap_or(nothing)
    });
    Ok(Some(grown.collect()))
}

/// What lies round an offset, each within the next.
fn around(source: &Source, at: usize) -> Vec<Range<usize>> {
    let text = source.read();
    let tokens = source.tokens();
    let mut ranges: Vec<Range<usize>> = Vec::new();
    let token = tokens.iter().map(|token| token.span.range()).find(|range| range.start <= at && at <= range.end);
    ranges.extend(token.clone());
    // A statement goes on over lines only within brackets or as a list; the line it begins on is what is selected by then.
    let end = text[at..].find(['\n', '\r', '}']).map_or(text.len(), |length| at + length);
    let begun = statement_start(text, tokens, token.map_or(at, |token| token.end)).min(at);
    ranges.push(begun..(begun + text[begun..end.max(begun)].trim_end().len()).max(at));
    let mut blocks: Vec<_> =
        source.blocks().iter().filter(|block| block.head.range().start <= at && at <= block.close).collect();
    blocks.sort_by_key(|block| std::cmp::Reverse(block.open));
    // What nests deeper can't be read, and each answer holds the next within it.
    for block in blocks.into_iter().take(DEEPEST_NESTING) {
        let close = block.close.min(text.len());
        if block.open < at {
            ranges.push(block.open + 1..close);
        }
        ranges.push(block.head.range().start..(close + 1).min(text.len()));
    }
    ranges.push(0..text.len());
    // Each has to lie in the next, and to be more than it.
    let mut grown: Vec<Range<usize>> = Vec::new();
    for range in ranges {
        let grows =
            grown.last().is_none_or(|last| range.start <= last.start && last.end <= range.end && range != *last);
        if grows {
            grown.push(range);
        }
    }
    grown
}
