//! What the commands have in common that take one plan: its project, its text, what reading it found, and one file written.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;

use super::Console;
use super::new_file::{Ground, NewFile};
use super::problem::Problem;
use super::settings::{Overrides, Project, Projects};
use crate::checker::Report;
use crate::model::Plan;
use crate::model::load::{Library, Loaded};
use crate::project::{FILE, folder_of};
use crate::report::Reporter as _;
use crate::report::text::Text;
use crate::source::{Disk, read_text, shown, tidy_path};
use crate::text::{nearest, quoted};

/// What a plan is held to, and where it may take files from.
#[derive(Debug, Clone, Args)]
pub(super) struct HeldTo {
    /// A rule pack (`.rule`), or a folder of them, to use besides the built-in ones; may be given several times
    #[arg(long, value_name = "FILE")]
    rules: Vec<PathBuf>,
    /// The folder that `use` may not lead out of; the repository that holds the plan, or the current folder, where not given
    #[arg(long, value_name = "FOLDER")]
    project: Option<PathBuf>,
}

impl HeldTo {
    /// The project that a plan belongs to.
    pub(super) fn project(&self, plan: &Path, here: &Path) -> Result<Project, Vec<Problem>> {
        project(plan, self.project.as_ref(), &self.rules, here)
    }

    /// The projects that plans belong to, as they are asked for.
    pub(super) fn projects<'h>(&self, here: &'h Path) -> Result<Projects<'h>, Vec<Problem>> {
        projects(self.project.as_ref(), &self.rules, here)
    }

    /// Where that project's file is, or would be.
    pub(super) fn project_file(&self, plan: &Path, here: &Path) -> PathBuf {
        let plan = tidy_path(&here.join(plan));
        let folder = match &self.project {
            Some(given) => tidy_path(&here.join(given)),
            None => folder_of(plan.parent().unwrap_or(here), here),
        };
        folder.join(FILE)
    }
}

/// Which of a plan's rooms is meant.
#[derive(Debug, Args)]
pub(super) struct OneRoom {
    /// Only this room; all of them where not given
    #[arg(long, value_name = "NAME")]
    room: Option<String>,
}

impl OneRoom {
    /// Its place among the plan's rooms; nothing where all are meant.
    pub(super) fn of(&self, plan: &Plan) -> Result<Option<usize>, Problem> {
        let Some(name) = &self.room else { return Ok(None) };
        if let Some(index) = plan.rooms.iter().position(|room| room.name.text == *name) {
            return Ok(Some(index));
        }
        let names = || plan.rooms.iter().map(|room| room.name.text.as_str());
        let help = match nearest(name, names()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if plan.rooms.is_empty() => "the plan holds no room that could be read".into(),
            None => format!("there is {}", quoted(names(), "and")),
        };
        Err(Problem::new(format!("no room is called `{name}`")).help(help))
    }
}

/// The current folder.
pub(super) fn here() -> Result<PathBuf, Vec<Problem>> {
    std::env::current_dir().map_err(|error| vec![Problem::new(format!("there is no current folder: {error}"))])
}

/// The project that a plan belongs to, the command line over its file.
pub(super) fn project(
    plan: &Path,
    folder: Option<&PathBuf>,
    rules: &[PathBuf],
    here: &Path,
) -> Result<Project, Vec<Problem>> {
    let mut projects = projects(folder, rules, here)?;
    let plan = tidy_path(&here.join(plan));
    let number = projects.of(plan.parent().unwrap_or(here));
    if projects.problems.is_empty() { Ok(projects.list.swap_remove(number)) } else { Err(projects.problems) }
}

fn projects<'h>(folder: Option<&PathBuf>, rules: &[PathBuf], here: &'h Path) -> Result<Projects<'h>, Vec<Problem>> {
    if let Some(folder) = folder.filter(|folder| !folder.is_dir()) {
        return Err(vec![Problem::new(format!("the project {} is no folder", shown(folder)))]);
    }
    let given = Overrides { project: folder.cloned(), rules: rules.to_vec(), ..Overrides::default() };
    Ok(Projects::new(given, here))
}

/// Reads a plan: a file, or `-` for standard input.
pub(super) fn load(plan: &Path, project: &Project, here: &Path) -> Result<Loaded, Problem> {
    let library = Library::new(&Disk, &project.folder, here);
    let name = shown(plan);
    if plan.as_os_str() == "-" {
        let text =
            read_text(std::io::stdin().lock()).map_err(|error| Problem::new(format!("standard input: {error}")))?;
        return Ok(library.load_text(&here.join("standard input"), "standard input", text));
    }
    library.load(&tidy_path(&here.join(plan)), &name).map_err(|error| Problem::new(format!("{name}: {error}")))
}

/// What reading a plan alone found.
pub(super) fn reading(plan: &Plan) -> Report {
    let mut findings = plan.faults.clone();
    crate::alike::number(&mut findings);
    Report {
        sources: plan.sources.clone(),
        rooms: plan.rooms.len(),
        findings,
        checked: 0,
        unchecked: Vec::new(),
        rule_faults: Vec::new(),
    }
}

/// Tells on standard error of what could not be read of a plan.
pub(super) fn tell_faults(plan: &Plan, console: &Console) {
    tell_findings(&reading(plan), console);
}

/// Tells on standard error of what was found, where anything was.
pub(super) fn tell_findings(report: &Report, console: &Console) {
    if !report.findings.is_empty() {
        // There is no one left to tell where standard error is gone.
        let _ = std::io::stderr()
            .write_all(&Text { color: console.stderr_color, width: console.width, ..Text::default() }.plan(report));
    }
}

/// Writes a file whole or not at all.
pub(super) fn write(path: &Path, bytes: &[u8], ground: &Ground<'_>) -> Result<(), Problem> {
    let mut file = NewFile::create(path, ground)?;
    file.write(bytes)?;
    file.finish()
}

/// What a command that takes one plan reads by its own name.
pub(super) fn inputs(plan: &Path, project: &Project, here: &Path) -> Vec<PathBuf> {
    let packs = project.rules.value.iter().map(|pack| here.join(pack));
    packs.chain([here.join(plan), project.folder.join(FILE)]).collect()
}
