//! `layrule measure`: a plan in, its take-off out.

use std::path::{Path, PathBuf};

use clap::Args;
use rayon::prelude::*;

use super::jobs::{Named, find_jobs, inputs, rule_sets};
use super::new_file::Ground;
use super::one_plan::{HeldTo, OneRoom};
use super::outputs::open_sinks;
use super::problem::Problem;
use super::{Console, FOUND, SOUND, one_plan, rule_set, values};
use crate::measure::plan::Measured;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::quantity::{Dimension, Quantity, unit_named};
use crate::report::Target;
use crate::source::Disk;
use crate::takeoff::allowances::Allowances;
use crate::takeoff::order::Order;
use crate::takeoff::outputs::order::write_order;
use crate::takeoff::outputs::{Form, write};
use crate::takeoff::{Kind, take_off};

const EXAMPLES: &str = "Examples:
  layrule measure bath.lay                           what it comes to, and how each figure is reckoned
  layrule measure bath.lay --part kit --part layer   what is to be ordered
  layrule measure flat.lay --room hall               one room of several
  layrule measure bath.lay --output csv=bath.csv     for a spreadsheet
  layrule measure bath.lay --output text --output json=bath.json
                                                     for a person, and for a program
  layrule measure bath.lay --tape-spacing \"400 mm\"   with fixing tape laid closer
  layrule measure plans/ --total                     what is to be ordered for all rooms below a folder
  layrule measure --figures                          what figures there are
  layrule measure - < bath.lay                       a plan from standard input

What can't be told shows as a dash with the reason. What the free floor leaves along walls, and what a resistance may \
differ by where the kit gives no tolerance, are limits of rules; `--rules` may amend them.

Exit codes: 0 taken off, 1 taken off as far as plans could be read, 2 not taken off.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct MeasureArguments {
    /// The plan (`.lay`), or `-` for standard input; with `--total` plans and folders of them
    #[arg(value_name = "PATH", required_unless_present = "figures")]
    plans: Vec<PathBuf>,
    /// What is to be ordered for all rooms of the plans, room by room and in sum
    #[arg(long, conflicts_with = "room")]
    total: bool,
    /// An output and, after `=`, its file; may be given several times; one of them may go to standard output
    #[arg(long, value_name = "FORM[=FILE]", value_parser = values::outputs::<Form>())]
    output: Vec<Target<Form>>,
    /// Only parts of this kind; may be given several times
    #[arg(long, value_name = "KIND", value_parser = values::word::<Kind>("kind of part"))]
    part: Vec<Kind>,
    /// List in Markdown what figures there are and how each is reckoned, and measure nothing
    #[arg(long, conflicts_with_all = ["plans", "output", "part", "total"])]
    figures: bool,
    /// How far apart lines of fixing tape lie at the most; 500 mm where not given
    #[arg(long, value_name = "LENGTH", value_parser = parse_length)]
    tape_spacing: Option<f64>,
    #[command(flatten)]
    room: OneRoom,
    #[command(flatten)]
    held: HeldTo,
}

impl MeasureArguments {
    /// The outputs asked for; text where none is.
    fn targets(&self) -> Vec<Target<Form>> {
        if self.output.is_empty() { vec![Target { form: Form::Text, file: None }] } else { self.output.clone() }
    }
}

/// A length of more than nothing, mm, with its unit or without.
fn parse_length(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let digits = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let (number, unit) = text.split_at(digits);
    let unit = if unit.trim().is_empty() { Some("mm") } else { Some(unit.trim()) }.and_then(unit_named);
    let unit = unit.filter(|unit| unit.dimension == Dimension::LENGTH);
    let length = number.parse().ok().zip(unit).map(|(number, unit)| Quantity::of(number, unit).value);
    length
        .filter(|length| (1.0..=1e6).contains(length))
        .ok_or_else(|| "write a length of 1 mm to 1 km, such as `400 mm`".to_string())
}

pub(super) fn run(arguments: &MeasureArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    let here = one_plan::here()?;
    let file = match arguments.plans.as_slice() {
        [] => {
            console.print(crate::reference::takeoff().as_bytes()).map_err(one)?;
            return Ok(SOUND);
        }
        _ if arguments.total => return total(arguments, &here, console),
        [file] if !here.join(file).is_dir() => file,
        _ => {
            let problem = Problem::new("one plan is measured at a time");
            return Err(one(
                problem.help("`--total` reckons what is to be ordered for several plans, or for a folder of them")
            ));
        }
    };
    let project = arguments.held.project(file, &here)?;
    project.say_notes(console);
    let rules = rule_set(&project.rules.value)?;
    let inputs = one_plan::inputs(file, &project, &here);
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let targets = &arguments.targets();
    let sinks = open_sinks(targets, &ground)?;
    let measured = Measured::new(resolve(one_plan::load(file, &project, &here).map_err(one)?));
    let plan = measured.plan();
    one_plan::tell_faults(plan, console);
    let room = arguments.room.of(plan).map_err(one)?;
    let mut allowances = Allowances::of(&rules);
    allowances.tape_spacing = arguments.tape_spacing.unwrap_or(allowances.tape_spacing);
    let mut taken = take_off(&measured, &allowances);
    if let Some(room) = room {
        taken.keep_room(plan, room);
    }
    if !arguments.part.is_empty() {
        taken.keep(&arguments.part);
    }
    for (target, sink) in targets.iter().zip(sinks) {
        let width = if target.file.is_none() { console.width } else { None };
        sink.put(&write(&taken, target.form, width), console).map_err(one)?;
    }
    Ok(if plan.faults.is_empty() { SOUND } else { FOUND })
}

/// What is to be ordered for all rooms of some plans.
fn total(arguments: &MeasureArguments, here: &Path, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    let mut projects = arguments.held.projects(here)?;
    let (jobs, mut problems) = find_jobs(&arguments.plans, &["lay"], Named::default(), &mut projects, here);
    problems.append(&mut projects.problems);
    if !problems.is_empty() {
        return Err(problems);
    }
    projects.say_notes(console);
    let rules = rule_sets(&projects)?;
    let inputs = inputs(&jobs, &projects, here);
    let ground = Ground { here, inputs: &inputs, project: None };
    let targets = arguments.targets();
    let sinks = open_sinks(&targets, &ground)?;
    let libraries: Vec<Library<'_>> =
        projects.list.iter().map(|project| Library::new(&Disk, &project.folder, here)).collect();
    let allowances: Vec<Allowances> = rules
        .iter()
        .map(|rules| {
            let own = Allowances::of(rules);
            Allowances { tape_spacing: arguments.tape_spacing.unwrap_or(own.tape_spacing), ..own }
        })
        .collect();
    let taken = jobs.par_iter().map(|job| {
        let measured = Measured::new(resolve(job.load(&libraries[job.project])?));
        let taken = take_off(&measured, &allowances[job.project]);
        Ok((taken, one_plan::reading(measured.plan())))
    });
    let mut order = Order::new();
    for plan in taken.collect::<Vec<Result<_, Problem>>>() {
        match plan {
            Ok((taken, read)) => {
                one_plan::tell_findings(&read, console);
                order.add(&taken);
            }
            Err(problem) => problems.push(problem),
        }
    }
    // A list that leaves a plan out would be ordered by as if it were whole.
    if !problems.is_empty() {
        return Err(problems);
    }
    if !arguments.part.is_empty() {
        order.keep(&arguments.part);
    }
    for (target, sink) in targets.iter().zip(sinks) {
        let width = if target.file.is_none() { console.width } else { None };
        sink.put(&write_order(&order, target.form, width), console).map_err(one)?;
    }
    Ok(if order.complete { SOUND } else { FOUND })
}
