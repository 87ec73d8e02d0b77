//! What can be folded away: blocks, and comments of several lines.

use lsp_types::{FoldingRange, FoldingRangeKind, FoldingRangeParams};

use super::workspace::Workspace;
use crate::language::tokens::Sort;

/// `textDocument/foldingRange`.
///
/// # Errors
/// Never: what can't be read folds nowhere.
pub fn folding(workspace: &mut Workspace, params: FoldingRangeParams) -> Result<Option<Vec<FoldingRange>>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let line = |offset: usize| source.text.line(offset);
    let mut ranges = Vec::new();
    let mut add = |start: u32, end: u32, kind: Option<FoldingRangeKind>| {
        if start < end {
            ranges.push(FoldingRange { start_line: start, end_line: end, kind, ..FoldingRange::default() });
        }
    };
    for block in source.blocks() {
        let closed = block.close < source.read().len();
        let last = line(block.close);
        // The closing brace stays in sight.
        add(line(block.open), if closed { last.saturating_sub(1) } else { last }, None);
    }
    let tokens = source.tokens();
    let mut at = 0;
    while at < tokens.len() {
        let begun = at;
        let first = line(tokens[at].span.range().start);
        let mut last = first;
        let alone = at == 0 || line(tokens[at - 1].span.range().start) < first;
        while alone && tokens.get(at).is_some_and(|token| token.sort == Sort::Comment) {
            let next = line(tokens[at].span.range().start);
            if at > begun && next > last + 1 {
                break;
            }
            last = next;
            at += 1;
        }
        add(first, last, Some(FoldingRangeKind::Comment));
        at = at.max(begun + 1);
    }
    Ok(Some(ranges))
}
