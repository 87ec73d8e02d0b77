//! From a name to where it is given, and to where it is used.

use lsp_types::{GotoDefinitionParams, GotoDefinitionResponse, Location, ReferenceParams, TextDocumentPositionParams};

use super::diagnostics::location;
use super::occurrences::{self, Named, name_at};
use super::workspace::Workspace;

/// The name at a position, and the file it is in.
pub fn named(workspace: &mut Workspace, at: &TextDocumentPositionParams) -> Option<(std::path::PathBuf, Named)> {
    let path = workspace.path_of(&at.text_document.uri);
    let source = workspace.source(&path).ok()?;
    let offset = source.text.offset(workspace.client.encoding, at.position);
    let named = name_at(workspace.language(&path), &source, offset)?;
    Some((path, named))
}

/// `textDocument/definition`.
///
/// # Errors
/// Never: what has no definition has none.
pub fn definition(
    workspace: &mut Workspace,
    params: GotoDefinitionParams,
) -> Result<Option<GotoDefinitionResponse>, String> {
    let Some((path, named)) = named(workspace, &params.text_document_position_params) else { return Ok(None) };
    let given = occurrences::given(workspace, &path, &named);
    let places: Vec<Location> = given.iter().filter_map(|(path, span)| location(workspace, path, *span)).collect();
    Ok((!places.is_empty()).then_some(GotoDefinitionResponse::Array(places)))
}

/// `textDocument/references`.
///
/// # Errors
/// Never: what is used nowhere has none.
pub fn references(workspace: &mut Workspace, params: ReferenceParams) -> Result<Option<Vec<Location>>, String> {
    let Some((path, named)) = named(workspace, &params.text_document_position) else { return Ok(None) };
    let mut places = occurrences::all(workspace, &path, &named);
    if !params.context.include_declaration {
        let given = occurrences::given(workspace, &path, &named);
        places.retain(|place| !given.contains(place));
    }
    Ok(Some(places.iter().filter_map(|(path, span)| location(workspace, path, *span)).collect()))
}
