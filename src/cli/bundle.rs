//! `layrule bundle`: a plan in, one file with all that it is checked by out; and back.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use clap::Args;

use super::new_file::{Ground, NewFile};
use super::one_plan::HeldTo;
use super::outputs::open_sinks;
use super::problem::Problem;
use super::settings::Project;
use super::{Console, SOUND, one_plan, rule_set};
use crate::bundle::{Bundle, ENDING, LARGEST, Member, Role, built_in, bundled_path, unpacked, write};
use crate::finding::ids;
use crate::report::{Form, Target};
use crate::source::{Disk, ReadError, Reader as _, ends_in, read_at_most, shown, tidy_path};

const EXAMPLES: &str = "Examples:
  layrule bundle bath.lay -o bath.laybundle            one file to be sent by mail
  layrule check bath.laybundle                         what whoever gets it does
  layrule bundle bath.laybundle --unpack bath/         its files, in a new folder

A bundle holds the plan, the files that it uses, the rule packs that hold for it with those of `--rules`, `fail-on`, `whole` and known \
findings, each with its fingerprint. A check of it finds what a check of the plan finds, run in its project's folder with the plan named \
from there. Nothing is written by names that a bundle holds but with `--unpack`, and then below that folder alone.

Exit codes: 0 written, 2 not written.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct BundleArguments {
    /// The plan (`.lay`); with `--unpack` a bundle (`.laybundle`)
    #[arg(value_name = "FILE")]
    plan: PathBuf,
    /// Where the bundle goes; standard output where not given
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Write the files of a bundle into this folder, which must be new or empty
    #[arg(long, value_name = "FOLDER", conflicts_with_all = ["output", "rules", "project"])]
    unpack: Option<PathBuf>,
    #[command(flatten)]
    held: HeldTo,
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &BundleArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    if let Some(folder) = &arguments.unpack {
        return unpack(&read(&arguments.plan).map_err(one)?, folder, &here).map(|()| SOUND);
    }
    if ends_in(&arguments.plan, ENDING) {
        let problem = Problem::new(format!("{} is a bundle already", shown(&arguments.plan)));
        return Err(one(problem.help("`--unpack FOLDER` makes its files out of it")));
    }
    let project = arguments.held.project(&arguments.plan, &here)?;
    project.say_notes(console);
    // Packs that don't hold together are told of here rather than by whoever gets them.
    rule_set(&project.rules.value)?;
    let mut inputs = one_plan::inputs(&arguments.plan, &project, &here);
    inputs.extend(project.known.value.iter().map(|file| here.join(file)));
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let target = Target { form: Form::Text, file: arguments.output.clone() };
    let sinks = open_sinks(&[target], &ground)?;
    let bundle = Bundle {
        program: env!("CARGO_PKG_VERSION").to_string(),
        built_in: built_in(),
        fail_on: project.fail_on.value,
        whole: project.whole.value,
        members: members(&arguments.plan, &project, &here)?,
    };
    for sink in sinks {
        sink.put(write(&bundle).as_bytes(), console).map_err(one)?;
    }
    Ok(SOUND)
}

/// Reads a bundle.
pub(super) fn read(path: &Path) -> Result<Bundle, Problem> {
    let name = shown(path);
    let refused = |error: ReadError| Problem::new(format!("{name}: {error}"));
    let bytes = read_at_most(path, LARGEST).map_err(refused)?;
    if bytes.len() as u64 > LARGEST {
        return Err(Problem::new(format!(
            "{name}: it is larger than {} MiB, the most that is read of a bundle",
            LARGEST / 1024 / 1024
        )));
    }
    let text =
        String::from_utf8(bytes).map_err(|error| refused(ReadError::NotText(error.utf8_error().valid_up_to())))?;
    Bundle::parse(&text).map_err(|fault| {
        Problem::new(format!("{name}: {fault}")).help(
            "`layrule bundle PLAN -o FILE.laybundle` writes one; have it sent as a file rather than as words of a mail",
        )
    })
}

/// The files that go into a bundle.
fn members(plan: &Path, project: &Project, here: &Path) -> Result<Vec<Member>, Vec<Problem>> {
    let loaded = one_plan::load(plan, project, here).map_err(one)?;
    let missing = loaded.faults.iter().filter(|fault| *fault.rule == *ids::USE);
    let mut problems: Vec<Problem> = missing
        .map(|fault| {
            let place = loaded.sources.file_and_line(fault.place());
            let problem = Problem::new(format!("{place}: {}", fault.message));
            problem.help(
                "a bundle needs it: ask for that file whoever wrote the plan, and put it where the plan looks for it",
            )
        })
        .collect();
    let mut members = Vec::new();
    let mut taken = HashSet::new();
    for (index, (path, text)) in loaded.sources.each().enumerate() {
        let role = if index == 0 { Role::Plan } else { Role::Use };
        match bundled_path(path, role).filter(|path| taken.insert(path.to_ascii_lowercase())) {
            Some(path) => members.push(Member { role, path, text: text.to_string() }),
            None => problems.push(unfit(path)),
        }
    }
    for pack in &project.rules.value {
        problems.extend(add(&mut members, &mut taken, pack, Role::Rules, project, here).err());
    }
    if let Some(known) = &project.known.value {
        problems.extend(add(&mut members, &mut taken, known, Role::Known, project, here).err());
    }
    if problems.is_empty() { Ok(members) } else { Err(problems) }
}

fn unfit(path: &Path) -> Problem {
    let problem = Problem::new(format!("{} can't go into a bundle by that name", shown(path)));
    problem.help("names in a bundle lead to files of their own kind below the project's folder, by letters that all systems take; rename it, or name the folder with `--project`")
}

/// Adds a pack or known findings, by their path in the project or, from outside, by their name alone.
fn add(
    members: &mut Vec<Member>,
    taken: &mut HashSet<String>,
    file: &Path,
    role: Role,
    project: &Project,
    here: &Path,
) -> Result<(), Problem> {
    let whole = tidy_path(&here.join(file));
    let text = Disk.read(&whole).map_err(|error| Problem::new(format!("{}: {error}", shown(file))))?;
    let inside = whole.strip_prefix(tidy_path(&here.join(&project.folder))).ok();
    let alone = whole.file_name().map(PathBuf::from).unwrap_or_default();
    let path = bundled_path(inside.unwrap_or(&alone), role).ok_or_else(|| unfit(file))?;
    // Two packs from elsewhere may be called alike.
    let numbered = (2..1_000).map(|number| format!("{number}-{path}"));
    let free = std::iter::once(path.clone()).chain(numbered).find(|path| taken.insert(path.to_ascii_lowercase()));
    members.push(Member { role, path: free.ok_or_else(|| unfit(file))?, text });
    Ok(())
}

/// Writes the files of a bundle below a folder that holds nothing yet, so that no link in it leads elsewhere.
fn unpack(bundle: &Bundle, folder: &Path, here: &Path) -> Result<(), Vec<Problem>> {
    let root = tidy_path(&here.join(folder));
    let refused = |why: String| {
        one(Problem::new(format!("{} can't be unpacked to: {why}", shown(folder)))
            .help("name a folder that is new or empty"))
    };
    let is_there = root.symlink_metadata().is_ok();
    if is_there && std::fs::read_dir(&root).map_err(|error| refused(error.to_string()))?.next().is_some() {
        return Err(refused("it holds something".into()));
    }
    for (path, text) in unpacked(bundle) {
        let whole = root.join(&path);
        let made = whole.parent().map_or(Ok(()), std::fs::create_dir_all);
        made.map_err(|error| refused(error.to_string()))?;
        let mut file = NewFile::fresh(&whole, &shown(&folder.join(&path))).map_err(one)?;
        file.write(text.as_bytes()).and_then(|()| file.finish()).map_err(one)?;
    }
    Ok(())
}
