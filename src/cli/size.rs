//! `layrule size`: plans in, the kits that suit their rooms out.

use std::path::{Path, PathBuf};

use clap::Args;

use super::new_file::Ground;
use super::one_plan::{HeldTo, OneRoom};
use super::outputs::open_sinks;
use super::problem::Problem;
use super::settings::Project;
use super::{Console, FOUND, SOUND, one_plan, rule_set};
use crate::measure::plan::Measured;
use crate::model::Kit;
use crate::model::resolve::resolve;
use crate::report::Target;
use crate::sizing::outputs::write;
use crate::sizing::{Sizing, Wanted, size};
use crate::source::shown;
use crate::takeoff::outputs::Form;

const EXAMPLES: &str = "Examples:
  layrule size bath.lay                       which kits of those it uses suit each room without cable
  layrule size flat.lay --room hall           one room, with what is drawn in it set aside
  layrule size bath.lay --kits store.lay      of another catalogue
  layrule size bath.lay --rules ours.rule     by limits of your own
  layrule size flat.lay --output csv=kits.csv for a spreadsheet
  layrule size - < bath.lay                   a plan from standard input

Kits are tried evenly laid over the free floor and held to the rules in force; what a rule finds is why a kit won't do. \
How the cable is then led, `layrule check` judges.

Exit codes: 0 something fits each room, 1 nothing fits some room, or a plan could not be read whole, 2 nothing was tried.";

/// How many choices of each sort a person is shown for a room.
const MOST_SHOWN: usize = 6;

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct SizeArguments {
    /// Plans (`.lay`), or `-` for standard input
    #[arg(value_name = "FILE", required = true)]
    plans: Vec<PathBuf>,
    /// A file of kits (`.lay`) to choose from instead of the plan's own; may be given several times
    #[arg(long, value_name = "FILE")]
    kits: Vec<PathBuf>,
    /// Show every choice that was tried, not the first few alone
    #[arg(long)]
    all: bool,
    /// An output and, after `=`, its file; may be given several times; one of them may go to standard output
    #[arg(long, value_name = "FORM[=FILE]", value_parser = super::values::outputs::<Form>())]
    output: Vec<Target<Form>>,
    /// The day on which deviations are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    #[command(flatten)]
    room: OneRoom,
    #[command(flatten)]
    held: HeldTo,
}

pub(super) fn run(arguments: &SizeArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    let mut inputs = Vec::new();
    let mut projects = Vec::new();
    for plan in &arguments.plans {
        let project = arguments.held.project(plan, &here)?;
        inputs.extend(one_plan::inputs(plan, &project, &here));
        projects.push(project);
    }
    inputs.extend(arguments.kits.iter().map(|file| here.join(file)));
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let text = [Target { form: Form::Text, file: None }];
    let targets = if arguments.output.is_empty() { &text[..] } else { &arguments.output };
    let sinks = open_sinks(targets, &ground)?;
    let mut sizings = Vec::new();
    for (plan, project) in arguments.plans.iter().zip(&projects) {
        project.say_notes(console);
        sizings.push(sizing(arguments, plan, project, &here, console)?);
    }
    let most = if arguments.all { usize::MAX } else { MOST_SHOWN };
    for (target, sink) in targets.iter().zip(sinks) {
        sink.put(&write(&sizings, target.form, most), console).map_err(|problem| vec![problem])?;
    }
    let found = sizings.iter().any(|sizing| !sizing.complete || sizing.lacks());
    Ok(if found { FOUND } else { SOUND })
}

fn sizing(
    arguments: &SizeArguments,
    plan: &Path,
    project: &Project,
    here: &Path,
    console: &Console,
) -> Result<Sizing, Vec<Problem>> {
    let one = |problem| vec![problem];
    let rules = rule_set(&project.rules.value)?;
    let measured = Measured::new(resolve(one_plan::load(plan, project, here).map_err(one)?.without_unlaid_cables()));
    one_plan::tell_faults(measured.plan(), console);
    let room = arguments.room.of(measured.plan()).map_err(one)?;
    let kits = kits(arguments, project, here, console).map_err(one)?;
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    Ok(size(&measured, &Wanted { rules: &rules, today, room, kits: kits.as_deref() }))
}

/// The kits of the files that are named; nothing where none is.
fn kits(
    arguments: &SizeArguments,
    project: &Project,
    here: &Path,
    console: &Console,
) -> Result<Option<Vec<Kit>>, Problem> {
    if arguments.kits.is_empty() {
        return Ok(None);
    }
    let mut kits: Vec<Kit> = Vec::new();
    for file in &arguments.kits {
        let catalogue = resolve(one_plan::load(file, project, here)?);
        one_plan::tell_faults(&catalogue, console);
        if !catalogue.faults.is_empty() {
            return Err(Problem::new(format!("the kits of {} can't be read", shown(file)))
                .help("mend what is told above, and try again"));
        }
        kits.extend(catalogue.kits);
    }
    Ok(Some(kits))
}
