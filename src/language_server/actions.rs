//! What can be done about a finding: write that it was agreed to, or apply its advice.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, CodeActionResponse, Diagnostic, NumberOrString,
    TextEdit,
};

use super::diagnostics::{SOURCE, location};
use super::documents::Language;
use super::edits::workspace_edit;
use super::formatting::difference;
use super::laying;
use super::workspace::{Analysis, Source, Workspace};
use crate::checker::mend::{is_laid, mend_until};
use crate::finding::{Edit, Finding, Fix, ids};
use crate::measure::plan::Measured;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::source::{FileId, Place, Span};
use crate::text::counted;

/// The most things of one finding that a deviation is offered for.
const MOST_SUBJECTS: usize = 3;

/// `textDocument/codeAction`.
///
/// # Errors
/// Never: where nothing can be done, nothing is offered.
pub fn actions(workspace: &mut Workspace, params: CodeActionParams) -> Result<Option<CodeActionResponse>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let wanted = params.context.only.as_ref();
    let wants = |offered: &CodeActionKind| {
        // A kind stands for those below it too.
        let holds = |kind: &CodeActionKind| {
            let kind = kind.as_str();
            kind.is_empty() || offered.as_str() == kind || offered.as_str().starts_with(&format!("{kind}."))
        };
        wanted.is_none_or(|kinds| kinds.iter().any(holds))
    };
    // All changes are tried for it, which is too much for who only moves the pointer.
    if wanted.is_some() && wants(&FIX_ALL) {
        return Ok(fix_all(workspace, &path).map(|action| vec![action]));
    }
    if !wants(&CodeActionKind::QUICKFIX) {
        return Ok(None);
    }
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let offset = |position| source.text.offset(workspace.client.encoding, position);
    let asked = offset(params.range.start)..offset(params.range.end);
    let touches = |span: Span| span.range().start <= asked.end && asked.start <= span.range().end;
    let told = params.context.diagnostics;
    let mut offered = Offered { workspace, source: &source, told, list: Vec::new() };
    match offered.workspace.language(&path) {
        Some(Language::Layout) => {
            offered.list.extend(laying::offered(offered.workspace, &source, touches));
            let Some(analysis) = offered.workspace.analysis(&path) else { return Ok(None) };
            let here = |finding: &&Finding| {
                finding.marks.iter().any(|mark| mark.place.file == FileId(0) && touches(mark.place.span))
            };
            let wanted = offered.workspace.wanted.clone();
            let Some(settled) = analysis.settled(&wanted) else { return Ok(None) };
            for finding in settled.iter().filter(here) {
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

/// What makes every change that settles something, as `check --apply` does.
pub const FIX_ALL: CodeActionKind = CodeActionKind::new("source.fixAll.layrule");

/// Every change that settles a finding of a plan and brings no other, made one after the other.
fn fix_all(workspace: &mut Workspace, path: &Path) -> Option<CodeActionOrCommand> {
    if workspace.language(path) != Some(Language::Layout) {
        return None;
    }
    let analysis = workspace.analysis(path)?;
    let source = workspace.source(path).ok()?;
    let wanted = &workspace.wanted;
    let (report, texts) = (analysis.check(&analysis.measured, wanted)?, analysis.plan().sources.texts());
    let library = Library::new(&texts, "", "");
    let (name, own, text) = analysis.plan().sources.own()?;
    // What is in the floor is drawn as it lies.
    if is_laid(text) {
        return None;
    }
    let mended = mend_until(text, &report, |changed| {
        // Once it is left off nothing more is read.
        let plan = (!wanted.left_off()).then(|| resolve(library.load_text(own, name, changed.to_string())))?;
        analysis.check(&Measured::new(plan), wanted)
    })?;
    let end = source.text.position(workspace.client.encoding, source.read().len());
    let edit = difference(source.read(), &mended.text, end)?;
    let made = counted(mended.made.len(), "change");
    Some(CodeActionOrCommand::CodeAction(CodeAction {
        title: format!("Make {made} that settle findings"),
        kind: Some(FIX_ALL),
        edit: Some(workspace_edit(workspace, BTreeMap::from([(path.to_path_buf(), vec![edit])]))),
        ..CodeAction::default()
    }))
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
        let mut changes: BTreeMap<PathBuf, Vec<TextEdit>> = BTreeMap::new();
        for (path, edit) in edits {
            let Some(at) = location(self.workspace, &path, edit.place.span) else { return };
            changes.entry(path).or_default().push(TextEdit::new(at.range, edit.text.clone()));
        }
        let at = self.source.text.range(self.workspace.client.encoding, about);
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
            edit: Some(workspace_edit(self.workspace, changes)),
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
