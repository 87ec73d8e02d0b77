//! What can be done about a finding: write that it was agreed to, or apply its advice.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, CodeActionResponse, Diagnostic, NumberOrString,
    TextEdit, Uri, WorkspaceEdit,
};

use super::diagnostics::{SOURCE, location};
use super::documents::Language;
use super::workspace::{Analysis, Source, Workspace};
use crate::finding::{Edit, Finding, Fix, ids};
use crate::source::{FileId, Place, Span};

/// The most things of one finding that a deviation is offered for.
const MOST_SUBJECTS: usize = 3;

/// `textDocument/codeAction`.
///
/// # Errors
/// Never: where nothing can be done, nothing is offered.
pub fn actions(workspace: &mut Workspace, params: CodeActionParams) -> Result<Option<CodeActionResponse>, String> {
    let wanted = params.context.only.as_ref();
    if wanted
        .is_some_and(|kinds| !kinds.iter().any(|kind| kind == &CodeActionKind::QUICKFIX || kind.as_str().is_empty()))
    {
        return Ok(None);
    }
    let path = workspace.path_of(&params.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let offset = |position| source.text.offset(workspace.encoding, position);
    let asked = offset(params.range.start)..offset(params.range.end);
    let touches = |span: Span| span.range().start <= asked.end && asked.start <= span.range().end;
    let told = params.context.diagnostics;
    let mut offered = Offered { workspace, source: &source, told, list: Vec::new() };
    match offered.workspace.language(&path) {
        Some(Language::Layout) => {
            let Some(analysis) = offered.workspace.analysis(&path) else { return Ok(None) };
            let here = |finding: &&Finding| {
                finding.marks.iter().any(|mark| mark.place.file == FileId(0) && touches(mark.place.span))
            };
            for finding in analysis.settled().iter().filter(here) {
                if let Some(fix) = &finding.fix {
                    offered.fix(&analysis, finding, fix);
                }
                offered.deviations(&analysis, finding);
            }
        }
        Some(Language::Rules) => {
            for fault in faults(offered.workspace, &path).iter().filter(|fault| touches(fault.span)) {
                if let Some(word) = &fault.instead {
                    let place = Place { file: FileId(0), span: fault.span };
                    let fix = Fix::write(word, place);
                    offered.offer(&fix.title, vec![(path.clone(), &fix.edits[0])], "rule-pack", fault.span, true);
                }
            }
        }
        Some(Language::Project) | None => {}
    }
    Ok(Some(offered.list))
}

/// What is wrong with a rule pack, one of its project or one apart.
fn faults(workspace: &mut Workspace, path: &Path) -> Vec<crate::language::faults::SyntaxFault> {
    if let Some(draft) = workspace.draft(path) {
        return draft.faults.clone();
    }
    let folder = workspace.project_folder(path);
    let project = workspace.project(&folder);
    project.faults.iter().filter(|(own, _)| own == path).map(|(_, fault)| fault.clone()).collect()
}

struct Offered<'w> {
    workspace: &'w mut Workspace,
    source: &'w Source,
    /// What the editor shows there.
    told: Vec<Diagnostic>,
    list: Vec<CodeActionOrCommand>,
}

impl Offered<'_> {
    fn offer(&mut self, title: &str, edits: Vec<(PathBuf, &Edit)>, rule: &str, about: Span, preferred: bool) {
        // As a map from URIs, which every editor takes.
        #[allow(clippy::mutable_key_type)]
        let mut changes: HashMap<Uri, Vec<TextEdit>> = HashMap::new();
        for (path, edit) in edits {
            let Some(at) = location(self.workspace, &path, edit.place.span) else { return };
            changes.entry(at.uri).or_default().push(TextEdit::new(at.range, edit.text.clone()));
        }
        let at = self.source.text.range(self.workspace.encoding, about);
        let told = self.told.iter().filter(|one| {
            one.source.as_deref() == Some(SOURCE)
                && one.code.as_ref() == Some(&NumberOrString::String(rule.into()))
                && one.range == at
        });
        let mut letters = title.chars();
        let title = letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect();
        let action = CodeActionOrCommand::CodeAction(CodeAction {
            title,
            kind: Some(CodeActionKind::QUICKFIX),
            diagnostics: Some(told.cloned().collect()),
            edit: Some(WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() }),
            is_preferred: preferred.then_some(true),
            ..CodeAction::default()
        });
        if !self.list.contains(&action) {
            self.list.push(action);
        }
    }

    /// Offers the change that settles a finding. Only a word put right is made without looking at it, where an editor does that.
    fn fix(&mut self, analysis: &Analysis, finding: &Finding, fix: &Fix) {
        let edits = fix.edits.iter().map(|edit| Some((analysis.path(edit.place.file)?, edit)));
        if let Some(edits) = edits.collect() {
            let preferred = ids::ALL.contains(&&*finding.rule);
            self.offer(&fix.title, edits, &finding.rule, finding.place().span, preferred);
        }
    }

    /// Offers to write that a finding was agreed to, for each thing it is about. The reason is left to be written: until then the plan says
    /// that it lacks one, and the finding stands.
    fn deviations(&mut self, analysis: &Analysis, finding: &Finding) {
        let deviable = finding.accepted.is_none()
            && !ids::ALL.contains(&&*finding.rule)
            && analysis.rules.rule(&finding.rule).is_some_and(|rule| !rule.binding && !rule.program.asks_deviations);
        let Some(room) = finding.room.as_ref().filter(|_| deviable) else { return };
        let Some(room) = analysis.plan().rooms.iter().find(|one| one.name.text == *room) else { return };
        let blocks = self.source.blocks();
        let head = room.name.place.span.range().start;
        let Some(block) = blocks.iter().find(|block| block.head.range().contains(&head)) else { return };
        let text = self.source.read();
        let (at, indent) = before_close(text, block.open, block.close);
        let end_of_line = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let mut targets: Vec<String> =
            finding.subjects.iter().map(|subject| format!("{} {} ", subject.kind.statement(), subject.name)).collect();
        targets.truncate(MOST_SUBJECTS);
        if targets.is_empty() {
            targets.push(String::new());
        }
        for target in targets {
            let of = if target.is_empty() { format!("room {}", room.name.text) } else { target.trim_end().to_string() };
            let line = format!("{indent}deviation {} {target}\"\"{end_of_line}", finding.rule);
            // A block on one line is opened up.
            let line = if text[..at].ends_with(['\n', '\r']) { line } else { format!("{end_of_line}{line}") };
            let title = format!("agree to `{}` for {of}; the reason is yours to write", finding.rule);
            let place = Place { file: FileId(0), span: Span::new(at..at) };
            let edit = Edit { place, text: line };
            let path = self.source.path.clone();
            self.offer(&title, vec![(path, &edit)], &finding.rule, finding.place().span, false);
        }
    }
}

/// Where a statement goes that is put last in a block, and how far it is set in.
fn before_close(text: &str, open: usize, close: usize) -> (usize, String) {
    let line_start = text[..close].rfind(['\n', '\r']).map_or(0, |end| end + 1);
    let alone = text[line_start..close].trim().is_empty() && line_start > open;
    let at = if alone { line_start } else { close };
    // As what stands in the block already, on lines of its own.
    let first = text[open + 1..close].lines().skip(1).find(|line| !line.trim().is_empty());
    let indent = first.map_or("  ", |line| &line[..line.len() - line.trim_start().len()]);
    (at, if indent.is_empty() { "  ".into() } else { indent.to_string() })
}
