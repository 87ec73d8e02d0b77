//! Findings, as an editor shows them.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::path::{Path, PathBuf};
use std::str::FromStr as _;

use lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, Location,
    NumberOrString, Uri,
};

use super::documents::Language;
use super::occurrences::closure;
use super::workspace::{Analysis, Workspace};
use crate::alike::{Alike, alike};
use crate::finding::Severity;
use crate::language::faults::SyntaxFault;
use crate::rules::names::Kind;
use crate::rules::packs::RuleSet;
use crate::source::{Place, Span};

/// What they come from, as an editor names it beside each.
pub const SOURCE: &str = "layrule";

/// How many findings of a file are shown; whoever has more begins with these.
const MOST_SHOWN: usize = 1_000;

/// What of a finding an editor can show.
#[derive(Debug, Clone, Copy, Default)]
pub struct Shown {
    /// Other places that belong to it.
    pub related: bool,
    /// A link from its rule's name.
    pub links: bool,
    /// That it is of no consequence.
    pub unneeded: bool,
}

/// The most plans that are checked for a file that they use, or for all that is in a folder.
const MOST_PLANS: usize = 1_000;

/// What is open, and the plans that use it.
pub fn in_sight(workspace: &Workspace) -> BTreeSet<PathBuf> {
    let open: BTreeSet<PathBuf> = workspace.documents.open.keys().cloned().collect();
    with_users(workspace, open)
}

/// Files with the plans of their projects that use them.
pub fn with_users(workspace: &Workspace, files: BTreeSet<PathBuf>) -> BTreeSet<PathBuf> {
    let used: Vec<&PathBuf> = files.iter().filter(|path| workspace.language(path) == Some(Language::Layout)).collect();
    let folders: BTreeSet<PathBuf> = used.iter().map(|path| workspace.project_folder(path)).collect();
    let plans = folders.iter().flat_map(|folder| workspace.plans(folder));
    let uses = |plan: &PathBuf| {
        let closure = closure(workspace, plan);
        used.iter().any(|path| closure.contains(*path))
    };
    let users: Vec<PathBuf> = plans.filter(|plan| !files.contains(plan) && uses(plan)).take(MOST_PLANS).collect();
    files.into_iter().chain(users).collect()
}

/// Everything in the folders that are open.
pub fn everything(workspace: &Workspace) -> BTreeSet<PathBuf> {
    let mut files: BTreeSet<PathBuf> = workspace.documents.open.keys().cloned().collect();
    let folders = workspace.folders.iter();
    files.extend(folders.flat_map(|folder| workspace.plans(folder)).take(MOST_PLANS));
    files
}

/// Everything that is wrong with some files, and with what they draw on, file by file.
pub fn all(workspace: &mut Workspace, of: BTreeSet<PathBuf>) -> BTreeMap<PathBuf, Vec<Diagnostic>> {
    let shown = workspace.client.shown;
    let mut all = All { workspace, shown, files: BTreeMap::new(), links: HashMap::new() };
    let mut projects = BTreeSet::new();
    for path in of {
        if all.workspace.wanted.left_off() {
            break;
        }
        all.files.entry(path.clone()).or_default();
        projects.insert(all.workspace.project_folder(&path));
        if all.workspace.too_large(&path) {
            let message = crate::source::ReadError::TooLarge.to_string();
            all.fault(
                &path,
                &SyntaxFault { span: Span::default(), message, label: String::new(), instead: None, help: None },
            );
            continue;
        }
        match all.workspace.language(&path) {
            Some(Language::Layout) => {
                let Some(analysis) = all.workspace.analysis(&path) else { continue };
                alike(&analysis.findings).into_iter().for_each(|found| all.finding(&analysis, &found));
                all.rule_faults(&analysis);
            }
            Some(Language::Rules) => {
                let Some(draft) = all.workspace.draft(&path) else { continue };
                draft.faults.iter().for_each(|fault| all.fault(&path, fault));
            }
            Some(Language::Project) | None => {}
        }
    }
    for folder in projects {
        let project = all.workspace.project(&folder);
        project.faults.iter().for_each(|(path, fault)| all.fault(path, fault));
    }
    let mut files = all.files;
    for list in files.values_mut() {
        // Several plans may find the same in what they use.
        list.sort_by(|a, b| {
            let key = |one: &Diagnostic| (one.range.start, one.range.end);
            key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message))
        });
        list.dedup();
        let more = list.len().saturating_sub(MOST_SHOWN);
        list.truncate(MOST_SHOWN);
        if more > 0 {
            list.push(Diagnostic {
                severity: Some(DiagnosticSeverity::INFORMATION),
                source: Some(SOURCE.into()),
                message: format!("{more} more findings are not shown here; `layrule check` lists all of them"),
                ..Diagnostic::default()
            });
        }
    }
    files
}

struct All<'w> {
    workspace: &'w mut Workspace,
    shown: Shown,
    files: BTreeMap<PathBuf, Vec<Diagnostic>>,
    links: HashMap<String, Option<Uri>>,
}

impl All<'_> {
    fn add(&mut self, path: &Path, diagnostic: Diagnostic) {
        self.files.entry(path.to_path_buf()).or_default().push(diagnostic);
    }

    fn fault(&mut self, path: &Path, fault: &SyntaxFault) {
        let code = match self.workspace.language(path) {
            Some(Language::Rules) => "rule-pack",
            _ => "project",
        };
        let message = with_advice(&fault.message, fault.help.as_deref());
        let range =
            self.workspace.source(path).map(|source| source.text.range(self.workspace.client.encoding, fault.span));
        let diagnostic = Diagnostic {
            range: range.unwrap_or_default(),
            severity: Some(DiagnosticSeverity::ERROR),
            code: Some(NumberOrString::String(code.into())),
            source: Some(SOURCE.into()),
            message,
            ..Diagnostic::default()
        };
        self.add(path, diagnostic);
    }

    fn finding(&mut self, analysis: &Analysis, found: &Alike<'_>) {
        let finding = found.worst;
        let Some((path, Location { range, .. })) = locate(self.workspace, analysis, finding.place()) else { return };
        let mut marks: Vec<(Place, String)> =
            finding.marks.iter().skip(1).map(|mark| (mark.place, mark.label.clone())).collect();
        let mut message = with_advice(&finding.message, finding.advice.as_deref());
        let severity = match (&finding.accepted, finding.severity) {
            (Some(_), _) => DiagnosticSeverity::HINT,
            (None, Severity::Error) => DiagnosticSeverity::ERROR,
            (None, Severity::Warning) => DiagnosticSeverity::WARNING,
            (None, Severity::Note) => DiagnosticSeverity::INFORMATION,
        };
        if let Some(accepted) = &finding.accepted {
            let until = accepted.until.map(|day| format!(" until {day}")).unwrap_or_default();
            message = format!("{}\naccepted{until}: {}", finding.message, accepted.reason);
            marks.push((accepted.place, "agreed here".into()));
        }
        if let Some(others) = found.others() {
            message = format!("{message}\n{others}");
        }
        let related = marks.into_iter().filter(|_| self.shown.related).filter_map(|(place, message)| {
            let (_, location) = locate(self.workspace, analysis, place)?;
            Some(DiagnosticRelatedInformation { location, message })
        });
        let related: Vec<_> = related.collect();
        let link = if self.shown.links { self.link(analysis, &finding.rule) } else { None };
        let diagnostic = Diagnostic {
            range,
            severity: Some(severity),
            code: Some(NumberOrString::String(finding.rule.to_string())),
            code_description: link.map(|href| CodeDescription { href }),
            source: Some(SOURCE.into()),
            message,
            related_information: (!related.is_empty()).then_some(related),
            tags: (self.shown.unneeded && finding.accepted.is_some()).then(|| vec![DiagnosticTag::UNNECESSARY]),
            data: None,
        };
        self.add(&path, diagnostic);
    }

    /// Where a rule is written; nothing for what reading a plan finds.
    fn link(&mut self, analysis: &Analysis, rule: &str) -> Option<Uri> {
        if let Some(known) = self.links.get(rule) {
            return known.clone();
        }
        let link =
            rule_place(self.workspace, &analysis.project.folder, &analysis.rules, rule).and_then(|(path, span)| {
                let line = self
                    .workspace
                    .source(&path)
                    .ok()?
                    .text
                    .position(self.workspace.client.encoding, span.range().start)
                    .line;
                let uri = self.workspace.documents.uri(&path)?;
                Uri::from_str(&format!("{}#L{}", uri.as_str(), line + 1)).ok()
            });
        self.links.insert(rule.to_string(), link.clone());
        link
    }

    /// What rules got wrong, in the packs that a project names.
    fn rule_faults(&mut self, analysis: &Analysis) {
        for fault in &analysis.rule_faults {
            let Some(pack) = analysis.rules.packs.get(fault.pack) else { continue };
            let Some(path) = analysis.project.packs.get(&pack.name).cloned() else { continue };
            let plan = analysis.plan().sources.plan_location();
            self.fault(
                &path,
                &SyntaxFault {
                    span: fault.span,
                    message: format!("rule `{}` can't be held to {plan}: {}", fault.rule, fault.message),
                    label: String::new(),
                    instead: None,
                    help: Some("guard it with `where`, or compare without dividing".into()),
                },
            );
        }
    }
}

fn with_advice(message: &str, advice: Option<&str>) -> String {
    advice.map_or_else(|| message.to_string(), |advice| format!("{message}\n{advice}"))
}

/// Where a place of a plan lies, by its path and as the protocol has it.
pub fn locate(workspace: &mut Workspace, analysis: &Analysis, place: Place) -> Option<(PathBuf, Location)> {
    let path = analysis.path(place.file)?;
    let location = location(workspace, &path, place.span)?;
    Some((path, location))
}

/// A span of a file as the protocol has it.
pub fn location(workspace: &mut Workspace, path: &Path, span: Span) -> Option<Location> {
    let range = workspace.source(path).ok()?.text.range(workspace.client.encoding, span);
    Some(Location { uri: workspace.documents.uri(path)?, range })
}

/// Where a rule of a set is given its name.
pub fn rule_place(workspace: &mut Workspace, folder: &Path, rules: &RuleSet, name: &str) -> Option<(PathBuf, Span)> {
    let rule = rules.rule(name)?;
    let project = workspace.project(folder);
    let path = workspace.pack_path(&project, &rules.packs.get(rule.pack)?.name)?;
    let source = workspace.source(&path).ok()?;
    let given = source.rule_names().iter().find(|one| one.kind == Kind::Rule && one.declares && one.text == name)?;
    Some((path, given.span))
}
