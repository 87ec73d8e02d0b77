//! Gives a thing another name, wherever it is named.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use lsp_types::{PrepareRenameResponse, RenameParams, TextDocumentPositionParams, TextEdit, WorkspaceEdit};

use super::definition::named;
use super::documents::Language;
use super::edits::workspace_edit;
use super::occurrences::{self, At, Named};
use super::workspace::Workspace;
use crate::language::is_word;
use crate::layout;
use crate::model::materials::MATERIALS;
use crate::rules;
use crate::source::Span;

/// What can't be renamed, and why.
fn refusal(workspace: &mut Workspace, path: &Path, named: &Named) -> Option<String> {
    match named {
        Named::Layout(one) if one.kind == layout::names::Kind::File => {
            return Some("a file is renamed where it lies; then write its new path here".into());
        }
        Named::Rules(one) if matches!(one.kind, rules::names::Kind::Collection | rules::names::Kind::Field(_)) => {
            return Some(format!("`{}` is a word of the rule language", one.text));
        }
        _ => {}
    }
    let given = occurrences::given(workspace, path, named);
    if given.is_empty() {
        return Some(format!("`{}` is given nowhere in the project", named.text()));
    }
    let folder = workspace.project_folder(path);
    let outside = given.iter().any(|(path, _)| !path.starts_with(&folder));
    outside.then(|| format!("`{}` comes with the program; write a rule of your own, or `amend` it", named.text()))
}

/// `textDocument/prepareRename`.
///
/// # Errors
/// Why what is there can't be renamed.
pub fn prepare(
    workspace: &mut Workspace,
    params: TextDocumentPositionParams,
) -> Result<Option<PrepareRenameResponse>, String> {
    let Some((path, named)) = named(workspace, &params) else { return Ok(None) };
    if let Some(why) = refusal(workspace, &path, &named) {
        return Err(why);
    }
    let source = workspace.source(&path).map_err(|error| error.to_string())?;
    let range = source.text.range(workspace.client.encoding, named.span());
    Ok(Some(PrepareRenameResponse::RangeWithPlaceholder { range, placeholder: named.text().to_string() }))
}

/// `textDocument/rename`.
///
/// # Errors
/// Why it can't be renamed, or not to that.
pub fn rename(workspace: &mut Workspace, params: RenameParams) -> Result<Option<WorkspaceEdit>, String> {
    let Some((path, named)) = named(workspace, &params.text_document_position) else {
        return Err("there is no name here".into());
    };
    let new = params.new_name.trim();
    if new == named.text() {
        return Ok(None);
    }
    if let Some(why) = refusal(workspace, &path, &named) {
        return Err(why);
    }
    let mut letters = new.chars();
    let is_name = letters.next().is_some_and(|first| first.is_ascii_alphabetic()) && letters.all(is_word);
    if !is_name {
        return Err(format!("`{new}` is no name: a letter from a to z, then letters, digits, `-` and `_`"));
    }
    let mut files: BTreeMap<PathBuf, Vec<Span>> = BTreeMap::new();
    let places = occurrences::all(workspace, &path, &named);
    for (path, span) in &places {
        files.entry(path.clone()).or_default().push(*span);
    }
    taken(workspace, &path, &named, new, &places)?;
    for path in files.keys() {
        unread(workspace, path, named.text())?;
    }
    for (path, spans) in &files {
        still_reads(workspace, path, spans, new)?;
    }
    let mut changes: BTreeMap<PathBuf, Vec<TextEdit>> = BTreeMap::new();
    for (path, spans) in files {
        let source = workspace.source(&path).map_err(|error| error.to_string())?;
        let edit = |span: &Span| TextEdit::new(source.text.range(workspace.client.encoding, *span), new.to_string());
        let edits = spans.iter().map(edit).collect();
        changes.insert(path, edits);
    }
    Ok(Some(workspace_edit(workspace, changes)))
}

/// Refuses where a statement that can't be read holds the name: what it stands for there can't be told.
fn unread(workspace: &mut Workspace, path: &Path, name: &str) -> Result<(), String> {
    let Ok(source) = workspace.source(path) else { return Ok(()) };
    let text = source.read();
    let is_rules = path.extension().is_some_and(|ending| ending == "rule");
    let faults = if is_rules { &source.rules().faults } else { &source.layout().tree.faults };
    for fault in faults {
        let range = fault.span.range();
        let start = text.get(..range.start).and_then(|before| before.rfind(['\n', '\r'])).map_or(0, |end| end + 1);
        let line = text[start..].lines().next().unwrap_or("");
        if line.split(|c: char| !is_word(c)).any(|word| word == name) {
            let number = text[..start].lines().count() + 1;
            return Err(format!("line {number} of {} holds `{name}` and can't be read yet", path.display()));
        }
    }
    Ok(())
}

/// Whether something of the kind is called so already, where one of the places would then mean it.
fn taken(workspace: &mut Workspace, path: &Path, named: &Named, new: &str, places: &[At]) -> Result<(), String> {
    let taken = match named {
        Named::Layout(one) if occurrences::is_plan_wide(one.kind) => {
            let mut files: BTreeSet<PathBuf> = BTreeSet::new();
            // A plan that shares a file gives names of its own beside those of that file, whether it uses this one or not.
            let homes: BTreeSet<&PathBuf> = places.iter().map(|(file, _)| file).collect();
            for file in homes {
                files.extend(occurrences::closure(workspace, file));
                files.extend(occurrences::sharing(workspace, file));
            }
            let built_in = one.kind == layout::names::Kind::Material && MATERIALS.iter().any(|known| known.name == new);
            built_in || files.iter().any(|file| gives_plan_wide(workspace, file, one, new))
        }
        Named::Rules(one) if matches!(one.kind, rules::names::Kind::Local | rules::names::Kind::Limit) => {
            // Within a rule, a name stands for one thing, and is told from the collections.
            let held = |other: &rules::names::Occurrence| {
                let by_itself = matches!(other.kind, rules::names::Kind::Local | rules::names::Kind::Limit);
                by_itself && other.rule == one.rule && other.text == new
            };
            rules::vocabulary::collection(new).is_some()
                || places
                    .iter()
                    .any(|(file, _)| workspace.source(file).is_ok_and(|source| source.rule_names().iter().any(held)))
        }
        _ => {
            let other = match named.clone() {
                Named::Layout(one) => Named::Layout(layout::names::Occurrence { text: new.to_string(), ..one }),
                Named::Rules(one) => {
                    Named::Rules(rules::names::Occurrence { text: new.to_string(), given: None, ..one })
                }
            };
            !occurrences::given(workspace, path, &other).is_empty()
        }
    };
    if taken { Err(format!("something of the kind is called `{new}` already")) } else { Ok(()) }
}

/// Whether a file gives the name to something of the kind that holds beyond its room. A value of a room may not be called as one of the
/// whole plan, nor the other way round.
fn gives_plan_wide(workspace: &mut Workspace, file: &Path, one: &layout::names::Occurrence, new: &str) -> bool {
    let Ok(source) = workspace.source(file) else { return false };
    let value = one.kind == layout::names::Kind::Value;
    source.read().contains(new)
        && source.layout_names().iter().any(|other| {
            other.declares && other.kind == one.kind && other.text == new && (value || other.room.is_none())
        })
}

/// Whether a file reads with the new name as it does with the old one: a word of the language can't be a name everywhere.
fn still_reads(workspace: &mut Workspace, path: &Path, spans: &[Span], new: &str) -> Result<(), String> {
    let source = workspace.source(path).map_err(|error| error.to_string())?;
    let mut text = source.read().to_string();
    for span in spans.iter().rev() {
        text.replace_range(span.range(), new);
    }
    let (before, after) = match workspace.language(path) {
        Some(Language::Rules) => {
            let tree = rules::parse(&text);
            let count = |names: &[rules::names::Occurrence]| names.iter().map(|name| name.declares).collect::<Vec<_>>();
            let before = (source.rules().faults.len(), count(source.rule_names()));
            (before, (tree.faults.len(), count(&rules::names::occurrences(&tree))))
        }
        _ => {
            let tree = layout::parse(&text);
            let count =
                |names: &[layout::names::Occurrence]| names.iter().map(|name| name.declares).collect::<Vec<_>>();
            let before = (source.layout().tree.faults.len(), count(source.layout_names()));
            (before, (tree.faults.len(), count(&layout::names::occurrences(&tree))))
        }
    };
    if before == after {
        Ok(())
    } else {
        Err(format!("`{new}` is a word of the language and can't stand here as a name"))
    }
}
