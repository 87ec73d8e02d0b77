//! The places of a name over the files of a project: where it is given, and where it is used.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::diagnostics::rule_place;
use super::documents::Language;
use super::workspace::{Source, Workspace};
use crate::layout::names::{Kind, Occurrence};
use crate::model::uses::{self, used_path};
use crate::rules::names::{Kind as RuleKind, Occurrence as RuleOccurrence};
use crate::source::Span;

/// A name in either language.
#[derive(Debug, Clone, PartialEq)]
pub enum Named {
    /// In a plan.
    Layout(Occurrence),
    /// In a rule pack.
    Rules(RuleOccurrence),
}

impl Named {
    /// The name.
    pub fn text(&self) -> &str {
        match self {
            Named::Layout(one) => &one.text,
            Named::Rules(one) => &one.text,
        }
    }

    /// Where it stands.
    pub fn span(&self) -> Span {
        match self {
            Named::Layout(one) => one.span,
            Named::Rules(one) => one.span,
        }
    }

    /// The rule it names, where it names one.
    pub fn rule(&self) -> Option<&str> {
        match self {
            Named::Layout(Occurrence { kind: Kind::Rule, text, .. })
            | Named::Rules(RuleOccurrence { kind: RuleKind::Rule, text, .. }) => Some(text),
            _ => None,
        }
    }
}

/// A place of a name.
pub type At = (PathBuf, Span);

/// The name at an offset of a file.
pub fn name_at(language: Option<Language>, source: &Source, offset: usize) -> Option<Named> {
    let holds = |span: Span| span.range().start <= offset && offset <= span.range().end;
    match language? {
        Language::Layout => {
            source.layout_names().iter().find(|one| holds(one.span)).map(|one| Named::Layout(one.clone()))
        }
        Language::Rules => source.rule_names().iter().find(|one| holds(one.span)).map(|one| Named::Rules(one.clone())),
        Language::Project => None,
    }
}

/// Whether names of a kind hold in every file that a plan is made of.
pub fn is_plan_wide(kind: Kind) -> bool {
    matches!(kind, Kind::Value | Kind::Material | Kind::Kit | Kind::Supply | Kind::Floor | Kind::Room)
}

/// Whether things of a kind are named within their room.
fn of_room(kind: Kind) -> bool {
    !is_plan_wide(kind) && !matches!(kind, Kind::File | Kind::Rule)
}

/// Where the name in a file is given.
pub fn given(workspace: &mut Workspace, path: &Path, named: &Named) -> Vec<At> {
    match named {
        Named::Layout(one) => match one.kind {
            Kind::File => {
                let target = used_path(path, &one.text);
                workspace.source(&target).map(|_| (target, Span::default())).into_iter().collect()
            }
            Kind::Rule => rule_given(workspace, path, &one.text).into_iter().collect(),
            kind if of_room(kind) => in_file(workspace, path, |other| same_room(one, other) && other.declares),
            _ => {
                let own = in_file(workspace, path, |other| {
                    one.kind == Kind::Value && one.room.is_some() && same_room(one, other) && other.declares
                });
                if !own.is_empty() {
                    return own;
                }
                let known = given_in(workspace, &closure(workspace, path), one);
                if !known.is_empty() {
                    return known;
                }
                // A file that is used may draw on what is used beside it.
                let sharing = sharing(workspace, path);
                given_in(workspace, &sharing, one)
            }
        },
        Named::Rules(one) => match one.kind {
            RuleKind::Rule => rule_given(workspace, path, &one.text).into_iter().collect(),
            RuleKind::Local => one.given.map(|span| (path.to_path_buf(), span)).into_iter().collect(),
            RuleKind::Limit => match one.given {
                Some(span) => vec![(path.to_path_buf(), span)],
                None => {
                    let rule = one.rule.clone().unwrap_or_default();
                    let Some((pack, _)) = rule_given(workspace, path, &rule) else { return Vec::new() };
                    in_pack(workspace, &pack, |other| same_limit(one, other) && other.declares)
                }
            },
            RuleKind::Collection | RuleKind::Field(_) => Vec::new(),
        },
    }
}

/// Every place of the name in a file: where it is given and where it is used.
pub fn all(workspace: &mut Workspace, path: &Path, named: &Named) -> Vec<At> {
    let mut places = match named {
        Named::Layout(one) if of_room(one.kind) => in_file(workspace, path, |other| same_room(one, other)),
        Named::Layout(one) if one.kind == Kind::Rule => rule_places(workspace, path, &one.text),
        Named::Layout(one) if one.kind == Kind::File => uses_of_file(workspace, &used_path(path, &one.text)),
        Named::Layout(one) => plan_wide(workspace, path, one),
        Named::Rules(one) => match one.kind {
            RuleKind::Rule => rule_places(workspace, path, &one.text),
            RuleKind::Local => in_pack(workspace, path, |other| other.given == one.given && other.kind == one.kind),
            RuleKind::Limit => {
                let mut places = Vec::new();
                for pack in packs(workspace, path) {
                    places.extend(in_pack(workspace, &pack, |other| same_limit(one, other)));
                }
                places
            }
            // What the vocabulary names is looked for in this file.
            RuleKind::Collection | RuleKind::Field(_) => {
                in_pack(workspace, path, |other| other.kind == one.kind && other.text == one.text)
            }
        },
    };
    places.sort();
    places.dedup();
    places
}

/// The places of the name in its own file, and whether it is given there.
pub fn here(workspace: &mut Workspace, path: &Path, named: &Named) -> Vec<(Span, bool)> {
    let Ok(source) = workspace.source(path) else { return Vec::new() };
    match named {
        Named::Layout(one) => {
            let names = source.layout_names();
            let shadowed = own_value(names, one);
            let same = |other: &&Occurrence| match () {
                () if of_room(one.kind) || shadowed => same_room(one, other),
                () => other.kind == one.kind && other.text == one.text && !own_value(names, other),
            };
            names.iter().filter(same).map(|one| (one.span, one.declares)).collect()
        }
        Named::Rules(one) => {
            let same = |other: &&RuleOccurrence| match one.kind {
                RuleKind::Local => other.kind == one.kind && other.given == one.given,
                RuleKind::Limit => same_limit(one, other),
                _ => other.kind == one.kind && other.text == one.text,
            };
            source.rule_names().iter().filter(same).map(|one| (one.span, one.declares)).collect()
        }
    }
}

/// Whether a name is of a value that its room gives itself, whatever is called so outside.
fn own_value(names: &[Occurrence], one: &Occurrence) -> bool {
    one.kind == Kind::Value && one.room.is_some() && names.iter().any(|given| given.declares && same_room(one, given))
}

fn same_room(one: &Occurrence, other: &Occurrence) -> bool {
    one.kind == other.kind && one.room == other.room && one.text == other.text
}

fn same_limit(one: &RuleOccurrence, other: &RuleOccurrence) -> bool {
    other.kind == RuleKind::Limit && other.rule == one.rule && other.text == one.text
}

fn in_file(workspace: &mut Workspace, path: &Path, wanted: impl Fn(&Occurrence) -> bool) -> Vec<At> {
    let Ok(source) = workspace.source(path) else { return Vec::new() };
    let wanted = source.layout_names().iter().filter(|one| wanted(one));
    wanted.map(|one| (path.to_path_buf(), one.span)).collect()
}

fn in_pack(workspace: &mut Workspace, path: &Path, wanted: impl Fn(&RuleOccurrence) -> bool) -> Vec<At> {
    let Ok(source) = workspace.source(path) else { return Vec::new() };
    let wanted = source.rule_names().iter().filter(|one| wanted(one));
    wanted.map(|one| (path.to_path_buf(), one.span)).collect()
}

/// Where a name that holds beyond its file is given, in these files.
fn given_in(workspace: &mut Workspace, files: &BTreeSet<PathBuf>, one: &Occurrence) -> Vec<At> {
    let mut places = Vec::new();
    for file in files {
        places.extend(in_file(workspace, file, |other| {
            other.declares && other.kind == one.kind && other.text == one.text && other.room.is_none()
        }));
    }
    places
}

/// The places of a value, a material, a kit, a supply or a room.
fn plan_wide(workspace: &mut Workspace, path: &Path, one: &Occurrence) -> Vec<At> {
    let shadowed = workspace.source(path).is_ok_and(|source| own_value(source.layout_names(), one));
    if shadowed {
        return in_file(workspace, path, |other| same_room(one, other));
    }
    let mut open: Vec<PathBuf> = match given(workspace, path, &Named::Layout(one.clone())) {
        places if places.is_empty() => vec![path.to_path_buf()],
        places => places.into_iter().map(|(path, _)| path).collect(),
    };
    // A file that names it may belong to other plans too, in which another file gives it.
    let mut files: BTreeSet<PathBuf> = BTreeSet::new();
    let mut places = Vec::new();
    while let Some(home) = open.pop() {
        for file in sharing(workspace, &home) {
            if !files.insert(file.clone()) {
                continue;
            }
            let Ok(source) = workspace.source(&file) else { continue };
            // Most files of a project don't name it, and needn't be parsed to know.
            if !source.read().contains(&one.text) {
                continue;
            }
            let names = source.layout_names();
            let same =
                |other: &&Occurrence| other.kind == one.kind && other.text == one.text && !own_value(names, other);
            let before = places.len();
            places.extend(names.iter().filter(same).map(|other| (file.clone(), other.span)));
            if places.len() > before {
                open.push(file);
            }
        }
    }
    places
}

/// A file and all that it uses.
pub fn closure(workspace: &Workspace, path: &Path) -> BTreeSet<PathBuf> {
    let folder = workspace.project_folder(path);
    uses::closure(path, &folder, |file, show| {
        if let Ok(text) = workspace.documents.text(file) {
            show(text.read());
        }
    })
}

/// The files of all plans that a file is part of.
pub fn sharing(workspace: &Workspace, path: &Path) -> BTreeSet<PathBuf> {
    let mut files = closure(workspace, path);
    for plan in workspace.plans(&workspace.project_folder(path)) {
        let closure = closure(workspace, &plan);
        if closure.contains(path) {
            files.extend(closure);
        }
    }
    files
}

fn uses_of_file(workspace: &mut Workspace, target: &Path) -> Vec<At> {
    let mut places = Vec::new();
    for plan in workspace.plans(&workspace.project_folder(target)) {
        let uses_it = workspace
            .documents
            .text(&plan)
            .is_ok_and(|text| uses::uses(text.read()).any(|written| used_path(&plan, written) == target));
        if uses_it {
            places.extend(in_file(workspace, &plan, |one| {
                one.kind == Kind::File && used_path(&plan, &one.text) == target
            }));
        }
    }
    places
}

/// Where a rule that holds for a file is given.
fn rule_given(workspace: &mut Workspace, path: &Path, rule: &str) -> Option<At> {
    let own = match workspace.language(path) {
        Some(Language::Rules) => {
            in_pack(workspace, path, |one| one.kind == RuleKind::Rule && one.declares && one.text == rule)
        }
        _ => Vec::new(),
    };
    if let Some(place) = own.into_iter().next() {
        return Some(place);
    }
    let folder = workspace.project_folder(path);
    let rules = workspace.rules_for(path);
    rule_place(workspace, &folder, &rules, rule)
}

/// The packs of the project that a file belongs to, and itself where it is one.
fn packs(workspace: &mut Workspace, path: &Path) -> BTreeSet<PathBuf> {
    let folder = workspace.project_folder(path);
    let mut packs: BTreeSet<PathBuf> = workspace.project(&folder).packs.values().cloned().collect();
    if workspace.language(path) == Some(Language::Rules) {
        packs.insert(path.to_path_buf());
    }
    packs
}

fn rule_places(workspace: &mut Workspace, path: &Path, rule: &str) -> Vec<At> {
    let mut files = packs(workspace, path);
    files.extend(rule_given(workspace, path, rule).map(|(path, _)| path));
    let mut places = Vec::new();
    for pack in files {
        places.extend(in_pack(workspace, &pack, |one| one.kind == RuleKind::Rule && one.text == rule));
    }
    for plan in workspace.plans(&workspace.project_folder(path)) {
        if workspace.documents.text(&plan).is_ok_and(|text| text.read().contains(rule)) {
            places.extend(in_file(workspace, &plan, |one| one.kind == Kind::Rule && one.text == rule));
        }
    }
    places
}
