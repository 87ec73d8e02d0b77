//! Changes as an editor is given them: by file, each with the version of the text it is made to where the editor heeds that.

use std::collections::{BTreeMap, HashMap};
use std::path::PathBuf;

use lsp_types::{
    DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier, TextDocumentEdit, TextEdit, Uri, WorkspaceEdit,
};

use super::client::Client;
use super::workspace::Workspace;

/// Changes of files; of those that no URI names, none.
pub fn workspace_edit(workspace: &Workspace, files: BTreeMap<PathBuf, Vec<TextEdit>>) -> WorkspaceEdit {
    let named = files.into_iter().filter_map(|(path, edits)| {
        let version = workspace.documents.open.get(&path).map(|document| document.version);
        Some((workspace.documents.uri(&path)?, version, edits))
    });
    edit_of(workspace.client, named)
}

/// Changes of files by their URIs, each with the version of its text, where it is open.
pub fn edit_of(client: Client, named: impl IntoIterator<Item = (Uri, Option<i32>, Vec<TextEdit>)>) -> WorkspaceEdit {
    let named = named.into_iter();
    if client.versions {
        let changes = named.map(|(uri, version, edits)| TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier { uri, version },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        });
        let changes = Some(DocumentChanges::Edits(changes.collect()));
        return WorkspaceEdit { document_changes: changes, ..WorkspaceEdit::default() };
    }
    // As a map from URIs, which every editor takes.
    #[allow(clippy::mutable_key_type)]
    let changes: HashMap<Uri, Vec<TextEdit>> = named.map(|(uri, _, edits)| (uri, edits)).collect();
    WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() }
}
