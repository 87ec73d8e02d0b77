//! `layrule compare`: two plans in, what differs between them out.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::new_file::Ground;
use super::one_plan::{HeldTo, reading};
use super::outputs::open_sinks;
use super::problem::Problem;
use super::settings::Project;
use super::{Console, FOUND, SOUND, one_plan, rule_set, values};
use crate::checker;
use crate::comparison::outputs::{Form, write};
use crate::comparison::{Comparison, Side, compare};
use crate::draw::{Ghost, Request, sheets_of_rooms};
use crate::finding::Severity;
use crate::measure::plan::Measured;
use crate::model::load::{Library, Loaded};
use crate::model::resolve::resolve;
use crate::report::Target;
use crate::source::{Disk, Reader as _, shown, tidy_path};

const EXAMPLES: &str = "Examples:
  layrule compare design.lay built.lay                 what was built otherwise than drawn
  layrule compare design.lay built.lay --draw it.pdf   with the old way shown behind the new
  layrule compare design.lay built.lay --output markdown=changes.md
                                                       to put under a merge request
  layrule compare a.lay b.lay --fail-on difference     fail where anything differs
  git difftool --extcmd 'layrule compare --at \"$BASE\"' HEAD~1 -- plans/
                                                       between two revisions

Things are compared, not lines: a plan that is laid out otherwise, renamed or drawn from another origin is the same.

Exit codes: 0 no new finding at or above the failing severity (errors where nothing else is said), 1 one, or a plan that \
could not be read whole, 2 not compared.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct CompareArguments {
    /// The plan as it was: as designed, or of an earlier revision
    #[arg(value_name = "DESIGN")]
    design: PathBuf,
    /// The plan as it is: as built, or of a later revision
    #[arg(value_name = "BUILT")]
    built: PathBuf,
    /// An output and, after `=`, its file; may be given several times; one of them may go to standard output
    #[arg(long, value_name = "FORM[=FILE]", value_parser = values::outputs::<Form>())]
    output: Vec<Target<Form>>,
    /// Draw the second plan, with what of the first lies elsewhere behind it: SVG, PNG or PDF, by the file's ending
    #[arg(long, value_name = "FILE")]
    draw: Option<PathBuf>,
    /// Only this room of both plans
    #[arg(long, value_name = "NAME")]
    room: Option<String>,
    /// The least severity of a new finding that fails the run, or `difference` for whatever differs
    #[arg(long, value_enum, value_name = "SEVERITY", default_value_t = FailOn::Error)]
    fail_on: FailOn,
    /// Where both plans are taken to lie, for what they `use` and for their project: of copies that `git difftool` makes elsewhere
    #[arg(long, value_name = "FILE")]
    at: Option<PathBuf>,
    /// The day on which deviations are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    #[command(flatten)]
    held: HeldTo,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FailOn {
    Error,
    Warning,
    Note,
    Difference,
}

impl FailOn {
    fn fails(self, comparison: &Comparison) -> bool {
        let least = match self {
            FailOn::Difference => return !comparison.is_empty(),
            FailOn::Error => Severity::Error,
            FailOn::Warning => Severity::Warning,
            FailOn::Note => Severity::Note,
        };
        comparison.worst().is_some_and(|worst| worst >= least)
    }
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &CompareArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    let paths = [&arguments.design, &arguments.built];
    let mut inputs = Vec::new();
    let mut projects = Vec::new();
    for path in paths {
        let project = arguments.held.project(arguments.at.as_ref().unwrap_or(path), &here)?;
        inputs.extend(one_plan::inputs(path, &project, &here));
        projects.push(project);
    }
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let text = [Target { form: Form::Text, file: None }];
    let targets = if arguments.output.is_empty() { &text[..] } else { &arguments.output };
    let sinks = open_sinks(targets, &ground)?;
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let mut sides = Vec::new();
    for (path, project) in paths.into_iter().zip(&projects) {
        project.say_notes(console);
        let rules = rule_set(&project.rules.value)?;
        let measured = Measured::new(resolve(load(path, arguments.at.as_deref(), project, &here).map_err(one)?));
        one_plan::tell_findings(&reading(measured.plan()), console);
        let report = checker::untried(&measured, &rules, today);
        sides.push((measured, report));
    }
    let [design, built] = [0, 1].map(|side: usize| Side { measured: &sides[side].0, report: &sides[side].1 });
    let mut comparison = compare(design, built);
    if let Some(name) = &arguments.room {
        if sides.iter().all(|(measured, _)| measured.plan().rooms.iter().all(|room| room.name.text != *name)) {
            let problem = Problem::new(format!("no room of either plan is called `{name}`"));
            return Err(one(problem.help("`layrule measure` shows the rooms of a plan")));
        }
        comparison.keep_room(name);
    }
    if let Some(file) = &arguments.draw {
        picture(file, arguments, design, built, &comparison, &ground)?;
    }
    for (target, sink) in targets.iter().zip(sinks) {
        sink.put(&write(&comparison, target.form), console).map_err(one)?;
    }
    let fails = arguments.fail_on.fails(&comparison) || !comparison.complete;
    Ok(if fails { FOUND } else { SOUND })
}

/// What stands for a plan that isn't there yet, or no more: git gives it in place of a copy.
const NOTHING: &str = "/dev/null";

fn load(path: &Path, at: Option<&Path>, project: &Project, here: &Path) -> Result<Loaded, Problem> {
    let Some(at) = at else { return one_plan::load(path, project, here) };
    let name = shown(path);
    let text = match path.to_str() {
        Some(NOTHING) => String::new(),
        _ => Disk.read(path).map_err(|error| Problem::new(format!("{name}: {error}")))?,
    };
    Ok(Library::new(&Disk, &project.folder, here).load_text(&tidy_path(&here.join(at)), &name, text))
}

/// Draws the rooms of the second plan that differ from those of the first, or all where none does.
fn picture(
    file: &Path,
    arguments: &CompareArguments,
    design: Side<'_>,
    built: Side<'_>,
    comparison: &Comparison,
    ground: &Ground<'_>,
) -> Result<(), Vec<Problem>> {
    let wanted = |name: &str| arguments.room.as_deref().is_none_or(|only| only == name);
    let differs = |name: &str| comparison.rooms.iter().find(|room| room.name == name);
    let rooms: Vec<_> = built.measured.rooms().filter(|room| wanted(&room.room.name.text)).collect();
    let any = rooms.iter().any(|room| differs(&room.room.name.text).is_some());
    let rooms: Vec<_> = rooms.into_iter().filter(|room| !any || differs(&room.room.name.text).is_some()).collect();
    let wanted = rooms.iter().map(|room| {
        let before = differs(&room.room.name.text).and_then(|found| Some((found, design.measured.room(found.at.0?)?)));
        let ghost = before.map(|(found, before)| Ghost { room: before.room, offset: found.offset });
        let request = Request {
            date: arguments.date,
            findings: true,
            unchecked: built.report.rules_unchecked(),
            ghost,
            ..Request::new(&built.report.findings)
        };
        (*room, request)
    });
    super::picture::write(file, &sheets_of_rooms(wanted, false), ground).map_err(one)
}
