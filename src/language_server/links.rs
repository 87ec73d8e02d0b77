//! What opens where it is named: the file of a `use`, the packs and the known findings of a project file.

use std::path::PathBuf;

use lsp_types::{DocumentLink, DocumentLinkParams};

use super::documents::Language;
use super::workspace::Workspace;
use crate::layout::names::Kind;
use crate::project;
use crate::source::{Span, shown, tidy_path};

/// `textDocument/documentLink`.
///
/// # Errors
/// Never: what isn't there is no link.
pub fn links(workspace: &mut Workspace, params: DocumentLinkParams) -> Result<Option<Vec<DocumentLink>>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let named: Vec<(Span, String)> = match workspace.language(&path) {
        Some(Language::Layout) => {
            let uses = source.layout_names().iter().filter(|one| one.kind == Kind::File);
            uses.map(|one| (one.span, one.text.clone())).collect()
        }
        Some(Language::Project) => {
            let Ok(file) = project::parse(source.read()) else { return Ok(None) };
            let packs = file.rules.iter().flat_map(|rules| &rules.value);
            let packs = packs.filter(|pack| !project::is_folder(&pack.value));
            packs.chain(&file.known).map(|named| (named.span, named.value.clone())).collect()
        }
        Some(Language::Rules) | None => return Ok(None),
    };
    let folder = path.parent().map(PathBuf::from).unwrap_or_default();
    let project = workspace.project_folder(&path);
    let links = named.into_iter().filter_map(|(span, written)| {
        let target = tidy_path(&folder.join(written));
        // What the program would not read is not led to either.
        let there = target.starts_with(&project) && workspace.documents.text(&target).is_ok();
        let target = there.then(|| workspace.documents.uri(&target).map(|uri| (uri, shown(&target))))??;
        Some(DocumentLink {
            range: source.text.range(workspace.client.encoding, span),
            tooltip: Some(target.1),
            target: Some(target.0),
            data: None,
        })
    });
    Ok(Some(links.collect()))
}
