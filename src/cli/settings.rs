//! What holds for a run: the command line over the project file over the defaults.

use std::collections::HashMap;
use std::fmt;
use std::path::{Path, PathBuf};

use ignore::gitignore::{Gitignore, GitignoreBuilder};

use super::Console;
use super::problem::Problem;
use crate::finding::Severity;
use crate::project::{self, FILE, Found, Placed, ProjectFile};
use crate::report::{Form, Target};
use crate::source::{Disk, ReadError, Reader as _, SourceFile, one_line, printable, same_file, shown, tidy_path};
use crate::walk::packs_below;

/// Where a setting comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Origin {
    CommandLine,
    /// A project file, as it is shown, and the line.
    File(String, usize),
    Default,
}

impl fmt::Display for Origin {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Origin::CommandLine => formatter.write_str("command line"),
            Origin::File(name, line) => write!(formatter, "{name}:{line}"),
            Origin::Default => formatter.write_str("default"),
        }
    }
}

/// A setting and where it comes from.
#[derive(Debug, Clone)]
pub(super) struct Setting<T> {
    pub value: T,
    pub origin: Origin,
}

/// What the command line says of what a project file may say too.
#[derive(Debug, Clone, Default)]
pub(super) struct Overrides {
    pub project: Option<PathBuf>,
    pub rules: Vec<PathBuf>,
    pub fail_on: Option<Severity>,
    /// Whether a plan fails on which some rule could not be held.
    pub whole: bool,
    pub leave_out: Vec<String>,
    pub outputs: Vec<Target>,
    pub known: Option<PathBuf>,
    /// Whether files that a project file names as outputs are written.
    pub trust_project: bool,
}

/// A project and what holds for its plans.
#[derive(Debug)]
pub(super) struct Project {
    /// The folder that `use` may not lead out of.
    pub folder: PathBuf,
    /// Whether a project file says so.
    pub has_file: bool,
    /// Rule packs besides the built-in ones, those of folders one by one.
    pub rules: Setting<Vec<PathBuf>>,
    /// The folders that some of them were found in.
    pub rule_folders: Vec<PathBuf>,
    pub fail_on: Setting<Severity>,
    /// Whether a plan fails on which some rule could not be held.
    pub whole: Setting<bool>,
    pub leave_out: Setting<Vec<String>>,
    pub outputs: Setting<Vec<Target>>,
    /// Outputs that its file names and that are not written, since it isn't trusted.
    pub unwritten: Vec<Target>,
    pub known: Setting<Option<PathBuf>>,
    /// What the user should know of how it was found.
    pub notes: Vec<String>,
    globs: Gitignore,
}

impl Project {
    /// Says what there is to know of how it was found.
    pub(super) fn say_notes(&self, console: &Console) {
        self.notes.iter().for_each(|note| console.say(&format!("{note}\n")));
    }

    /// Whether it is its file that asks for its outputs.
    pub(super) fn asks_for_outputs(&self) -> bool {
        matches!(self.outputs.origin, Origin::File(..))
    }
}

/// The projects that the plans of a run belong to.
pub(super) struct Projects<'h> {
    pub list: Vec<Project>,
    pub problems: Vec<Problem>,
    notes: Vec<String>,
    overrides: Overrides,
    here: &'h Path,
    by_folder: HashMap<PathBuf, usize>,
}

impl<'h> Projects<'h> {
    pub(super) fn new(overrides: Overrides, here: &'h Path) -> Self {
        Projects {
            list: Vec::new(),
            problems: Vec::new(),
            notes: Vec::new(),
            overrides,
            here,
            by_folder: HashMap::new(),
        }
    }

    /// The project of what lies in a folder.
    pub(super) fn of(&mut self, folder: &Path) -> usize {
        if let Some(known) = self.by_folder.get(folder) {
            return *known;
        }
        let found = match &self.overrides.project {
            // What the user names is theirs to trust.
            Some(given) => Found { folder: tidy_path(&self.here.join(given)), passed_over: Vec::new() },
            None => project::find(folder, self.here),
        };
        let place = self.list.iter().position(|project| project.folder == found.folder).unwrap_or_else(|| {
            let passed_over = found.passed_over.iter().map(|path| {
                let what = shown(path.strip_prefix(self.here).unwrap_or(path));
                format!("{what} is passed over: it belongs to another user; `--project` with its folder heeds it")
            });
            let notes = passed_over.collect();
            let mut project = self.read(found.folder);
            project.notes = notes;
            self.list.push(project);
            self.list.len() - 1
        });
        self.by_folder.insert(folder.to_path_buf(), place);
        place
    }

    /// Adds what the user should know of the run.
    pub(super) fn note(&mut self, note: String) {
        if !self.notes.contains(&note) {
            self.notes.push(note);
        }
    }

    /// Says what there is to know of how projects and plans were found.
    pub(super) fn say_notes(&self, console: &Console) {
        self.list.iter().for_each(|project| project.say_notes(console));
        self.notes.iter().for_each(|note| console.say(&format!("{note}\n")));
    }

    /// Whether a plan is left out when its folder is checked.
    pub(super) fn leaves_out(&self, project: usize, plan: &Path) -> bool {
        let globs = &self.list[project].globs;
        // The nearest name that anything is said of decides; the project's own folder is none of them.
        let names = plan.ancestors().take_while(|path| *path != globs.path() && path.starts_with(globs.path()));
        let said = names.map(|path| globs.matched(path, path != plan)).find(|said| !said.is_none());
        said.is_some_and(|said| said.is_ignore())
    }

    /// What holds in a folder, by its project file, where it has one.
    fn read(&mut self, folder: PathBuf) -> Project {
        let path = folder.join(FILE);
        let shown = shown(path.strip_prefix(self.here).unwrap_or(&path));
        let mut has_file = false;
        let mut file = ProjectFile::default();
        let mut text = String::new();
        let is_there = path.symlink_metadata().is_ok();
        if is_there && (self.overrides.project.is_some() || project::heeded(&path)) {
            has_file = true;
            match (Disk.astray(&path, &folder), Disk.read(&path).map(printable)) {
                (Some(how), _) => {
                    let problem = Problem::new(format!("{shown} {how}"));
                    self.problems
                        .push(problem.help("it is not read; put the project file itself in the project's folder"));
                }
                (None, Ok(read)) => text = read,
                (None, Err(error)) => self.problems.push(Problem::new(format!("{shown}: {error}"))),
            }
            match project::parse(&text) {
                Ok(parsed) => file = parsed,
                Err(faults) => self.problems.extend(faults.iter().map(|fault| fault_problem(&shown, &text, fault))),
            }
        }
        self.settle(folder, has_file, file, &SourceFile::new(shown, path, text))
    }

    fn settle(&mut self, folder: PathBuf, has_file: bool, file: ProjectFile, source: &SourceFile) -> Project {
        let origin =
            |span: crate::source::Span| Origin::File(source.name.clone(), source.line_and_column(span.start()).0);
        let over = self.overrides.clone();
        let mut rule_folders = Vec::new();
        let rules = match (over.rules.is_empty(), file.rules) {
            (false, _) => {
                let named = over.rules.into_iter();
                let found = named.flat_map(|path| self.packs(path, false, &mut rule_folders));
                Setting { value: found.collect(), origin: Origin::CommandLine }
            }
            (true, Some(rules)) => {
                let mut value = Vec::new();
                for rule in &rules.value {
                    let Some(path) = self.inside(&folder, rule, source) else { continue };
                    value.extend(self.packs(path, project::is_folder(&rule.value), &mut rule_folders));
                }
                Setting { value, origin: origin(rules.span) }
            }
            (true, None) => Setting { value: Vec::new(), origin: Origin::Default },
        };
        let fail_on = match (over.fail_on, file.fail_on) {
            (Some(value), _) => Setting { value, origin: Origin::CommandLine },
            (None, Some(severity)) => Setting { value: severity.value, origin: origin(severity.span) },
            (None, None) => Setting { value: Severity::Error, origin: Origin::Default },
        };
        let whole = match (over.whole, file.whole) {
            (true, _) => Setting { value: true, origin: Origin::CommandLine },
            (false, Some(whole)) => Setting { value: whole.value, origin: origin(whole.span) },
            (false, None) => Setting { value: false, origin: Origin::Default },
        };
        let trusted = over.trust_project || file.outputs.is_some() && self.user_trusts(&folder);
        let mut unwritten = Vec::new();
        let (leave_out, root) = match (over.leave_out.is_empty(), file.leave_out) {
            (false, _) => (Setting { value: over.leave_out, origin: Origin::CommandLine }, self.here),
            (true, Some(globs)) => {
                let value = globs.value.into_iter().map(|glob| glob.value).collect();
                (Setting { value, origin: origin(globs.span) }, folder.as_path())
            }
            (true, None) => (Setting { value: Vec::new(), origin: Origin::Default }, folder.as_path()),
        };
        let globs = self.globs(&leave_out.value, root);
        let outputs = match (over.outputs.is_empty(), file.outputs) {
            (false, _) => Setting { value: over.outputs, origin: Origin::CommandLine },
            (true, Some(outputs)) => {
                let mut value = Vec::new();
                for output in outputs.value {
                    let file = match &output.value.file {
                        None => None,
                        Some(file) => {
                            let placed = Placed { value: file.display().to_string(), span: output.span };
                            let Some(file) = self.inside(&folder, &placed, source) else { continue };
                            Some(file)
                        }
                    };
                    let target = Target { form: output.value.form, file };
                    if target.file.is_none() || trusted { value.push(target) } else { unwritten.push(target) }
                }
                if value.is_empty() {
                    value.push(Target { form: Form::Text, file: None });
                }
                Setting { value, origin: origin(outputs.span) }
            }
            (true, None) => Setting { value: vec![Target { form: Form::Text, file: None }], origin: Origin::Default },
        };
        let known = match (over.known, file.known) {
            (Some(known), _) => Setting { value: Some(known), origin: Origin::CommandLine },
            (None, Some(known)) => Setting { value: self.inside(&folder, &known, source), origin: origin(known.span) },
            (None, None) => Setting { value: None, origin: Origin::Default },
        };
        let notes = Vec::new();
        Project {
            folder,
            has_file,
            rules,
            rule_folders,
            fail_on,
            whole,
            leave_out,
            outputs,
            unwritten,
            known,
            notes,
            globs,
        }
    }

    /// Whether the user's own configuration names a folder among those whose project files may write outputs.
    fn user_trusts(&mut self, folder: &Path) -> bool {
        let Some(list) = user_file() else { return false };
        let text = match Disk.read(&list) {
            Ok(text) => text,
            Err(ReadError::Missing) => return false,
            Err(error) => {
                self.problems.push(Problem::new(format!("{}: {error}", shown(&list))));
                return false;
            }
        };
        let folders = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
        let mut folders = folders.map(Path::new).filter(|path| path.is_absolute());
        folders.any(|one| same_file(one, folder))
    }

    /// The packs that a path means: itself, or, of a folder, those below it, which is noted then. What `must` be a folder is nothing else.
    fn packs(&mut self, path: PathBuf, must: bool, folders: &mut Vec<PathBuf>) -> Vec<PathBuf> {
        // A trailing `/` has gone from the path.
        if !must && !path.is_dir() {
            return vec![path];
        }
        let found = packs_below(&path);
        if let Err(why) = &found {
            self.problems.push(Problem::new(format!("rule packs in {}: {why}", shown(&path))));
        }
        folders.push(path);
        found.unwrap_or_default()
    }

    /// A path that a project file names, from here; none, and a problem, where a link leads it out of the project.
    fn inside(&mut self, folder: &Path, written: &Placed<String>, source: &SourceFile) -> Option<PathBuf> {
        let path = tidy_path(&folder.join(&written.value));
        // What is still to be written is judged by the folder it will lie in.
        let there = if path.symlink_metadata().is_ok() { path.as_path() } else { path.parent().unwrap_or(folder) };
        if let Some(how) = Disk.astray(there, folder) {
            let problem = Problem::new(format!("`{}` {how}", written.value));
            self.problems.push(
                problem
                    .at(&source.name, &source.text, written.span, "here")
                    .help("a link leads there; keep what the project names inside the project"),
            );
            return None;
        }
        Some(path.strip_prefix(self.here).map(Path::to_path_buf).unwrap_or(path))
    }

    fn globs(&mut self, globs: &[String], root: &Path) -> Gitignore {
        let mut builder = GitignoreBuilder::new(root);
        let mut problems = Vec::new();
        for glob in globs {
            if let Err(error) = builder.add_line(None, glob) {
                problems.push(
                    Problem::new(format!("`{glob}` is no glob: {error}"))
                        .help("globs are written as in `.gitignore`: `drafts/`, `*-old.lay`, `**/trial/*.lay`"),
                );
            }
        }
        // Those of the file have been told of, with their places.
        if !self.overrides.leave_out.is_empty() && self.list.is_empty() {
            self.problems.extend(problems);
        }
        builder.build().unwrap_or_else(|_| Gitignore::empty())
    }

    /// What holds for each project, and where it comes from.
    pub(super) fn show(&self) -> String {
        let mut text = String::new();
        for project in &self.list {
            let why = match (&self.overrides.project, project.has_file) {
                (Some(_), _) => "command line".to_string(),
                (None, true) => format!("it holds {FILE}"),
                (None, false) if project.folder.join(".git").exists() => "the repository".into(),
                (None, false) => "default".into(),
            };
            let gap = if text.is_empty() { "" } else { "\n" };
            let lies_at = match project.folder.strip_prefix(self.here) {
                Ok(path) if path.as_os_str().is_empty() => ".".into(),
                Ok(path) => one_line(&path.to_string_lossy()),
                Err(_) => one_line(&project.folder.to_string_lossy()),
            };
            let paths = |paths: &[PathBuf]| paths.iter().map(|path| shown(path)).collect::<Vec<_>>();
            let outputs = project.outputs.value.iter().map(ToString::to_string).collect::<Vec<_>>();
            let unwritten = project.unwritten.iter().map(ToString::to_string).collect::<Vec<_>>();
            let known: Vec<PathBuf> = project.known.value.iter().cloned().collect();
            let rows = [
                ("project", vec![lies_at], why),
                ("rules", paths(&project.rules.value), project.rules.origin.to_string()),
                ("fail-on", vec![project.fail_on.value.word().into()], project.fail_on.origin.to_string()),
                ("whole", vec![project.whole.value.to_string()], project.whole.origin.to_string()),
                ("leave-out", project.leave_out.value.clone(), project.leave_out.origin.to_string()),
                ("output", outputs, project.outputs.origin.to_string()),
                ("unwritten", unwritten, format!("{}; `--trust-project` writes them", project.outputs.origin)),
                ("known", paths(&known), project.known.origin.to_string()),
            ];
            let rows = rows.into_iter().filter(|(word, values, _)| *word != "unwritten" || !values.is_empty());
            let rows: Vec<_> = rows.collect();
            let values: Vec<String> = rows
                .iter()
                .map(|(_, values, _)| if values.is_empty() { "none".into() } else { one_line(&values.join(", ")) })
                .collect();
            let width = values.iter().map(|value| value.chars().count()).max().unwrap_or(0);
            text.push_str(gap);
            for ((word, _, origin), value) in rows.iter().zip(&values) {
                text.push_str(&format!("{word:9}  {value:width$}  ({origin})\n"));
            }
        }
        printable(text)
    }
}

/// Where the user's own list of trusted folders lies: by XDG's base directories, in `layrule/trusted-folders`.
fn user_file() -> Option<PathBuf> {
    let set = |name| std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute());
    let folder = set("XDG_CONFIG_HOME").or_else(|| Some(set("HOME")?.join(".config")))?;
    Some(folder.join("layrule").join("trusted-folders"))
}

/// What is wrong at a place of one of the tool's own files.
pub(super) fn fault_problem(name: &str, text: &str, fault: &crate::language::faults::SyntaxFault) -> Problem {
    let problem = Problem::new(fault.message.clone()).at(name, text, fault.span, fault.label.clone());
    match &fault.help {
        Some(help) => problem.help(help.clone()),
        None => problem,
    }
}
