//! Every place of a name in one file, while the pointer rests on it.

use lsp_types::{DocumentHighlight, DocumentHighlightKind, DocumentHighlightParams};

use super::definition::named;
use super::occurrences;
use super::workspace::Workspace;

/// `textDocument/documentHighlight`.
///
/// # Errors
/// Never: where no name stands, nothing is marked.
pub fn highlights(
    workspace: &mut Workspace,
    params: DocumentHighlightParams,
) -> Result<Option<Vec<DocumentHighlight>>, String> {
    let Some((path, named)) = named(workspace, &params.text_document_position_params) else { return Ok(None) };
    let here = occurrences::here(workspace, &path, &named);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let marked = here.into_iter().map(|(span, given)| DocumentHighlight {
        range: source.text.range(workspace.client.encoding, span),
        kind: Some(if given { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
    });
    Ok(Some(marked.collect()))
}
