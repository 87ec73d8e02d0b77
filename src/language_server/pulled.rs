//! Findings that an editor asks for: of a text, or of everything in the folders that are open.

use std::collections::{BTreeSet, HashMap};
use std::hash::{DefaultHasher, Hash as _, Hasher as _};

use lsp_types::{
    Diagnostic, DocumentDiagnosticParams, DocumentDiagnosticReport, DocumentDiagnosticReportResult,
    FullDocumentDiagnosticReport, RelatedFullDocumentDiagnosticReport, RelatedUnchangedDocumentDiagnosticReport,
    UnchangedDocumentDiagnosticReport, Uri, WorkspaceDiagnosticParams, WorkspaceDiagnosticReport,
    WorkspaceDiagnosticReportResult, WorkspaceDocumentDiagnosticReport, WorkspaceFullDocumentDiagnosticReport,
    WorkspaceUnchangedDocumentDiagnosticReport,
};

use super::diagnostics::{all, everything, with_users};
use super::workspace::Workspace;

/// `textDocument/diagnostic`: what is wrong in a text, by itself or for a plan that uses it.
///
/// # Errors
/// Never: what can't be read has a finding that says so.
pub fn document(
    workspace: &mut Workspace,
    params: DocumentDiagnosticParams,
) -> Result<DocumentDiagnosticReportResult, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let files = with_users(workspace, BTreeSet::from([path.clone()]));
    let items = all(workspace, files).remove(&path).unwrap_or_default();
    let id = id_of(&items);
    let report = if params.previous_result_id.as_ref() == Some(&id) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id: id };
        DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report,
        })
    } else {
        let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id: Some(id), items };
        DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
            related_documents: None,
            full_document_diagnostic_report,
        })
    };
    Ok(report.into())
}

/// `workspace/diagnostic`: what is wrong in every file of the folders, and what was wrong before and no longer is.
///
/// # Errors
/// Never: what can't be read has a finding that says so.
pub fn workspace(
    workspace: &mut Workspace,
    params: WorkspaceDiagnosticParams,
) -> Result<WorkspaceDiagnosticReportResult, String> {
    // As a map from URIs, which are compared as the editor wrote them.
    #[allow(clippy::mutable_key_type)]
    let mut before: HashMap<Uri, String> =
        params.previous_result_ids.into_iter().map(|one| (one.uri, one.value)).collect();
    let files = everything(workspace);
    let mut found = all(workspace, files);
    let told: Vec<_> = before.keys().map(|uri| workspace.path_of(uri)).collect();
    for path in told {
        found.entry(path).or_default();
    }
    let mut items = Vec::new();
    for (path, list) in found {
        let Some(uri) = workspace.documents.uri(&path) else { continue };
        let version = workspace.documents.open.get(&path).map(|document| i64::from(document.version));
        let id = id_of(&list);
        items.push(match before.remove(&uri) {
            Some(known) if known == id => {
                let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id: id };
                let report =
                    WorkspaceUnchangedDocumentDiagnosticReport { uri, version, unchanged_document_diagnostic_report };
                WorkspaceDocumentDiagnosticReport::Unchanged(report)
            }
            _ => {
                let full_document_diagnostic_report = FullDocumentDiagnosticReport { result_id: Some(id), items: list };
                let report = WorkspaceFullDocumentDiagnosticReport { uri, version, full_document_diagnostic_report };
                WorkspaceDocumentDiagnosticReport::Full(report)
            }
        });
    }
    Ok(WorkspaceDiagnosticReport { items }.into())
}

/// What tells a list of findings from another, for as long as the server runs.
fn id_of(items: &[Diagnostic]) -> String {
    let mut hasher = DefaultHasher::new();
    serde_json::to_string(items).unwrap_or_default().hash(&mut hasher);
    format!("{:016x}", hasher.finish())
}
