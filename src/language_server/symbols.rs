//! The outline of a file: rooms with what stands in them, kits, supplies; rules with their limits.

use std::collections::BTreeSet;
use std::path::PathBuf;

use lsp_types::{
    DocumentSymbol, DocumentSymbolParams, DocumentSymbolResponse, Location, OneOf, SymbolKind, WorkspaceSymbol,
    WorkspaceSymbolParams, WorkspaceSymbolResponse,
};

use super::documents::Language;
use super::workspace::{Source, Workspace};
use crate::layout::names::Kind;
use crate::rules::names::Kind as RuleKind;
use crate::source::Span;

/// `textDocument/documentSymbol`.
///
/// # Errors
/// Never: what can't be read has none.
pub fn symbols(
    workspace: &mut Workspace,
    params: DocumentSymbolParams,
) -> Result<Option<DocumentSymbolResponse>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let language = workspace.language(&path);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let given: Vec<Given> = match language {
        Some(Language::Layout) => layout(&source),
        Some(Language::Rules) => rules(&source),
        Some(Language::Project) | None => return Ok(None),
    };
    let mut list: Vec<DocumentSymbol> = Vec::new();
    for one in given {
        let symbol = symbol(workspace, &source, &one);
        // What stands in a room or a rule comes straight after it.
        match list.last_mut().filter(|_| one.inner) {
            Some(owner) => owner.children.get_or_insert_default().push(symbol),
            None => list.push(symbol),
        }
    }
    Ok(Some(DocumentSymbolResponse::Nested(list)))
}

/// The most names that are found over all files.
const MOST_FOUND: usize = 500;

/// `workspace/symbol`: names given anywhere in the projects of the open folders, that hold the letters asked for in their order.
///
/// # Errors
/// Never: what can't be read gives no names.
pub fn everywhere(
    workspace: &mut Workspace,
    params: WorkspaceSymbolParams,
) -> Result<Option<WorkspaceSymbolResponse>, String> {
    let wanted = params.query.to_lowercase();
    let mut files: BTreeSet<PathBuf> = workspace.documents.open.keys().cloned().collect();
    for folder in workspace.folders.clone() {
        files.extend(workspace.plans(&folder));
        files.extend(workspace.project(&folder).packs.values().cloned());
    }
    let mut found = Vec::new();
    for path in files {
        let Ok(source) = workspace.source(&path) else { continue };
        let given = match workspace.language(&path) {
            Some(Language::Layout) => layout(&source),
            Some(Language::Rules) => rules(&source),
            Some(Language::Project) | None => continue,
        };
        let Some(uri) = workspace.documents.uri(&path) else { continue };
        for one in given.into_iter().filter(|one| holds(&one.name.to_lowercase(), &wanted)) {
            let range = source.text.range(workspace.client.encoding, one.span);
            found.push(WorkspaceSymbol {
                name: one.name,
                kind: one.kind,
                tags: None,
                container_name: Some(one.detail),
                location: OneOf::Left(Location { uri: uri.clone(), range }),
                data: None,
            });
            if found.len() == MOST_FOUND {
                return Ok(Some(WorkspaceSymbolResponse::Nested(found)));
            }
        }
    }
    Ok(Some(WorkspaceSymbolResponse::Nested(found)))
}

/// Whether a name holds some letters in their order.
fn holds(name: &str, letters: &str) -> bool {
    let mut rest = name.chars();
    letters.chars().all(|letter| rest.any(|own| own == letter))
}

/// A name that is given, and what is shown of it.
struct Given {
    name: String,
    detail: String,
    kind: SymbolKind,
    span: Span,
    inner: bool,
}

fn layout(source: &Source) -> Vec<Given> {
    let statements = &source.layout().tree.statements;
    let title = |name: Span| statements.iter().find_map(|statement| statement.title_of(name));
    let given = source.layout_names().iter().filter(|one| one.declares && one.kind != Kind::Layer);
    given
        .map(|one| Given {
            name: one.text.clone(),
            detail: match title(one.span) {
                Some(title) => format!("{} \"{title}\"", one.kind.word()),
                None => one.kind.word().to_string(),
            },
            kind: match one.kind {
                Kind::Room => SymbolKind::NAMESPACE,
                Kind::Kit | Kind::Material | Kind::Floor => SymbolKind::CLASS,
                Kind::Supply => SymbolKind::INTERFACE,
                Kind::Value => SymbolKind::CONSTANT,
                Kind::Cable => SymbolKind::FUNCTION,
                _ => SymbolKind::OBJECT,
            },
            span: one.span,
            inner: one.room.is_some(),
        })
        .collect()
}

fn rules(source: &Source) -> Vec<Given> {
    let shown = source.rule_names().iter().filter(|one| match one.kind {
        // An amendment is shown as what it changes.
        RuleKind::Rule => true,
        RuleKind::Limit => one.declares,
        RuleKind::Local | RuleKind::Collection | RuleKind::Field(_) => false,
    });
    shown
        .map(|one| {
            let (detail, kind) = match (one.kind, one.declares) {
                (RuleKind::Rule, true) => ("rule", SymbolKind::FUNCTION),
                (RuleKind::Rule, false) => ("amendment", SymbolKind::FUNCTION),
                _ => ("limit", SymbolKind::CONSTANT),
            };
            let inner = one.kind != RuleKind::Rule;
            Given { name: one.text.clone(), detail: detail.into(), kind, span: one.span, inner }
        })
        .collect()
}

fn symbol(workspace: &Workspace, source: &Source, given: &Given) -> DocumentSymbol {
    let range = |span: Span| source.text.range(workspace.client.encoding, span);
    let at = given.span.range();
    // A block belongs to the name before its brace; any other statement is the line it stands on.
    let block = source.blocks().iter().find(|block| block.head.range().contains(&at.start));
    let whole = match block {
        Some(block) => Span::new(block.head.range().start..(block.close + 1).min(source.read().len())),
        None => {
            let text = source.read();
            let start = text[..at.start].rfind(['\n', '\r', '{']).map_or(0, |end| end + 1);
            let start = start + text[start..at.start].len() - text[start..at.start].trim_start().len();
            let end = text[at.end..].find(['\n', '\r', '}']).map_or(text.len(), |length| at.end + length);
            Span::new(start..at.start.max(text[..end].trim_end().len()).max(at.end))
        }
    };
    #[allow(deprecated)]
    DocumentSymbol {
        name: given.name.clone(),
        detail: Some(given.detail.clone()),
        kind: given.kind,
        tags: None,
        deprecated: None,
        range: range(whole),
        selection_range: range(given.span),
        children: None,
    }
}
