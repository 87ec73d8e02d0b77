//! `layrule init`: a project to begin with.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::new_file::NewFile;
use super::problem::Problem;
use super::{Console, SOUND};
use crate::source::{shown, tidy_path};
use crate::text::list;

const EXAMPLES: &str = "Examples:
  layrule init                    in the current folder: a plan, kits, settings
  layrule init plans              in a folder, which is made where it isn't there
  layrule init --ci github        with a workflow that checks the plans
  layrule init --ci gitlab        with a job that does

Nothing that is there already is written over: then nothing is written at all. The plan is sound; `layrule check .` says so, and \
`layrule draw cloakroom.lay --output cloakroom.svg` draws it. Its kit is invented.

Exit codes: 0 written, 2 nothing written.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct InitArguments {
    /// The project's folder; the current one where none is named
    #[arg(value_name = "FOLDER", default_value = ".")]
    folder: PathBuf,
    /// Write, too, what has a host check the plans
    #[arg(long, value_enum, value_name = "HOST")]
    ci: Option<Host>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Host {
    Github,
    Gitlab,
}

/// The files of a project to begin with, and what they hold.
const STARTER: &[(&str, &str)] = &[
    ("cloakroom.lay", include_str!("starter/cloakroom.lay")),
    ("kits.lay", include_str!("starter/kits.lay")),
    ("layrule.toml", include_str!("starter/layrule.toml")),
];

/// The file that has a host check the plans.
fn workflow(host: Host) -> (&'static str, &'static str) {
    match host {
        Host::Github => (".github/workflows/plans.yml", include_str!("starter/github.yml")),
        Host::Gitlab => (".gitlab-ci.yml", include_str!("starter/gitlab.yml")),
    }
}

pub(super) fn run(arguments: &InitArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    let here =
        std::env::current_dir().map_err(|error| one(Problem::new(format!("there is no current folder: {error}"))))?;
    let folder = tidy_path(&here.join(&arguments.folder));
    let files: Vec<(&str, &str)> = STARTER.iter().copied().chain(arguments.ci.map(workflow)).collect();
    let there = files.iter().filter(|(name, _)| folder.join(name).symlink_metadata().is_ok());
    let there: Vec<Problem> = there
        .map(|(name, _)| {
            let problem = Problem::new(format!("{} is there already", shown(&arguments.folder.join(name))));
            problem.help("nothing was written; name another folder, or take the file away")
        })
        .collect();
    if !there.is_empty() {
        return Err(there);
    }
    for (name, text) in &files {
        write(&folder.join(name), &shown(&arguments.folder.join(name)), text).map_err(one)?;
    }
    let names = files.iter().map(|(name, _)| shown(&arguments.folder.join(name))).collect::<Vec<_>>();
    let names = list(names.iter().map(String::as_str), "and");
    console.say(&format!("written: {names}\n`layrule check {}` checks the plan\n", shown(&arguments.folder)));
    Ok(SOUND)
}

/// Writes a file that isn't there, and the folders that it lies in.
fn write(path: &Path, shown: &str, text: &str) -> Result<(), Problem> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)
            .map_err(|error| Problem::new(format!("{shown} can't be written: its folder can't be made: {error}")))?;
    }
    let mut file = NewFile::fresh(path, shown)?;
    file.write(text.as_bytes())?;
    file.finish()
}
