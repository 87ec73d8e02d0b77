//! Which files the paths of a command line lead to.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::problem::Problem;
use super::rule_set;
use super::settings::{Project, Projects};
use crate::model::load::{Library, Loaded};
use crate::model::uses::closure;
use crate::project::FILE;
use crate::rules::packs::RuleSet;
use crate::source::{Disk, Reader as _, read_text, shown, tidy_path};
use crate::walk::files_below;

/// A file to be worked on: how to show it, where it is, and which project it belongs to.
pub(super) struct Job {
    pub name: String,
    /// None for standard input.
    pub path: Option<PathBuf>,
    pub folder: PathBuf,
    /// Its project, among [`Projects`].
    pub project: usize,
}

impl Job {
    /// Reads it and what it uses.
    pub(super) fn load(&self, library: &Library<'_>) -> Result<Loaded, Problem> {
        let at = |error| Problem::new(format!("{}: {error}", self.name));
        match &self.path {
            Some(path) => library.load(path, &self.name).map_err(at),
            None => {
                let text = read_text(std::io::stdin().lock()).map_err(at)?;
                Ok(library.load_text(&self.folder.join("standard input"), &self.name, text))
            }
        }
    }
}

/// What jobs are checked by.
pub(super) struct CheckedBy<'r> {
    pub(super) projects: &'r Projects<'r>,
    pub(super) rules: &'r [Arc<RuleSet>],
    pub(super) today: jiff::civil::Date,
    pub(super) here: &'r Path,
}

impl CheckedBy<'_> {
    pub(super) fn folder(&self, job: &Job) -> &Path {
        &self.projects.list[job.project].folder
    }

    pub(super) fn rules(&self, job: &Job) -> &RuleSet {
        &self.rules[job.project]
    }
}

/// What is done with a file that is named, rather than found in a folder.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Named {
    /// Whether it is left out where it is left out of its folder.
    pub(super) leave_out: bool,
    /// Whether it stands for every plan that it touches.
    pub(super) affected: bool,
}

/// The files that the paths lead to, in order and each once, and what is wrong with the paths.
/// Of what lies in folders, only files of these endings count.
pub(super) fn find_jobs(
    paths: &[PathBuf],
    endings: &[&str],
    named: Named,
    projects: &mut Projects<'_>,
    here: &Path,
) -> (Vec<Job>, Vec<Problem>) {
    let mut touched: BTreeMap<usize, BTreeSet<PathBuf>> = BTreeMap::new();
    let mut found = Found { jobs: Vec::new(), problems: Vec::new(), seen: HashSet::new(), endings, here };
    for path in paths {
        if path.as_os_str() == "-" {
            found.standard_input(projects);
        } else if here.join(path).is_dir() {
            found.folder(path, projects);
        } else {
            let whole = tidy_path(&here.join(path));
            let project = projects.of(whole.parent().unwrap_or(here));
            let stands_for_itself = !(named.affected && is_setting(&whole));
            if stands_for_itself && !(named.leave_out && projects.leaves_out(project, &whole)) {
                found.add(path, whole.clone(), project);
            }
            if named.affected {
                touched.entry(project).or_default().insert(whole);
            }
        }
    }
    for (project, files) in touched {
        found.touched(project, &files, projects);
    }
    (found.jobs, found.problems)
}

/// Whether a file holds for all plans of its project: a rule pack, known findings, the project file.
fn is_setting(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == "rule" || ending == "toml")
}

struct Found<'h> {
    jobs: Vec<Job>,
    problems: Vec<Problem>,
    seen: HashSet<PathBuf>,
    endings: &'h [&'h str],
    here: &'h Path,
}

impl Found<'_> {
    fn add(&mut self, name: &Path, whole: PathBuf, project: usize) {
        if self.seen.insert(whole.clone()) {
            let folder = whole.parent().unwrap_or(self.here).to_path_buf();
            self.jobs.push(Job { name: shown(name), path: Some(whole), folder, project });
        }
    }

    /// Adds the plans of a project that some of its files touch: those that use one of them, or all where one holds for all.
    fn touched(&mut self, project: usize, files: &BTreeSet<PathBuf>, projects: &mut Projects<'_>) {
        let folder = projects.list[project].folder.clone();
        let all = files.iter().any(|file| is_setting(file));
        for plan in files_below(&folder, &["lay"]).filter_map(Result::ok) {
            let whole = tidy_path(&self.here.join(&plan));
            let own = projects.of(whole.parent().unwrap_or(self.here));
            if own != project || projects.leaves_out(project, &whole) {
                continue;
            }
            let used = closure(&whole, &folder, |file, show| {
                if let Ok(text) = Disk.read(file) {
                    show(&text);
                }
            });
            if all || used.iter().any(|file| files.contains(file)) {
                let name = whole.strip_prefix(self.here).unwrap_or(&whole).to_path_buf();
                self.add(&name, whole, project);
            }
        }
    }

    fn standard_input(&mut self, projects: &mut Projects<'_>) {
        if self.jobs.iter().any(|job| job.path.is_none()) {
            self.problems.push(Problem::new("standard input can be read once only").help("name `-` once"));
            return;
        }
        let project = projects.of(self.here);
        self.jobs.push(Job { name: "standard input".into(), path: None, folder: self.here.to_path_buf(), project });
    }

    fn folder(&mut self, path: &Path, projects: &mut Projects<'_>) {
        let (mut any, mut left_out) = (false, false);
        let mut files = files_below(path, self.endings);
        for entry in files.by_ref() {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    self.problems.push(Problem::new(error.to_string()));
                    continue;
                }
            };
            let whole = tidy_path(&self.here.join(&entry));
            let project = projects.of(whole.parent().unwrap_or(self.here));
            if projects.leaves_out(project, &whole) {
                left_out = true;
                continue;
            }
            any = true;
            self.add(&entry, whole, project);
        }
        for (ignore, why) in files.passed_over() {
            projects
                .note(format!("{} is passed over: {why}", shown(ignore.strip_prefix(self.here).unwrap_or(&ignore))));
        }
        if !any {
            let help = if left_out {
                "every plan in it is left out; `layrule check --show-settings` says by what"
            } else {
                "plans are files that end in `.lay`; name the file where it is called otherwise"
            };
            self.problems.push(Problem::new(format!("{} holds no plan", shown(path))).help(help));
        }
    }
}

/// The files that a run reads by their own names, which no output takes the place of.
pub(super) fn inputs(jobs: &[Job], projects: &Projects<'_>, here: &Path) -> Vec<PathBuf> {
    let plans = jobs.iter().filter_map(|job| job.path.clone());
    let own = |project: &Project| {
        let packs = project.rules.value.iter().map(|pack| here.join(pack));
        packs.chain([project.folder.join(FILE)]).collect::<Vec<_>>()
    };
    plans.chain(projects.list.iter().flat_map(own)).collect()
}

/// The rules of each project; the same set where the packs are the same.
pub(super) fn rule_sets(projects: &Projects<'_>) -> Result<Vec<Arc<RuleSet>>, Vec<Problem>> {
    let mut built: HashMap<&[PathBuf], Arc<RuleSet>> = HashMap::new();
    let mut sets = Vec::new();
    for project in &projects.list {
        let files = project.rules.value.as_slice();
        let set = match built.get(files) {
            Some(set) => Arc::clone(set),
            None => Arc::new(rule_set(files)?),
        };
        built.insert(files, Arc::clone(&set));
        sets.push(set);
    }
    Ok(sets)
}
