//! `layrule measure`: a plan in, its take-off out.

use std::path::PathBuf;

use clap::Args;

use super::new_file::Ground;
use super::one_plan::{HeldTo, OneRoom};
use super::outputs::open_sinks;
use super::problem::Problem;
use super::{Console, FOUND, SOUND, one_plan, rule_set, values};
use crate::measure::plan::Measured;
use crate::model::resolve::resolve;
use crate::quantity::{Dimension, Quantity, unit_named};
use crate::report::Target;
use crate::takeoff::allowances::Allowances;
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
  layrule measure --figures                          what figures there are
  layrule measure - < bath.lay                       a plan from standard input

What can't be told shows as a dash with the reason. What the free floor leaves along walls, and what a resistance may \
differ by where the kit gives no tolerance, are limits of rules; `--rules` may amend them.

Exit codes: 0 taken off, 1 taken off as far as the plan could be read, 2 not taken off.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct MeasureArguments {
    /// The plan (`.lay`), or `-` for standard input
    #[arg(value_name = "FILE", required_unless_present = "figures")]
    plan: Option<PathBuf>,
    /// An output and, after `=`, its file; may be given several times; one of them may go to standard output
    #[arg(long, value_name = "FORM[=FILE]", value_parser = values::outputs::<Form>())]
    output: Vec<Target<Form>>,
    /// Only parts of this kind; may be given several times
    #[arg(long, value_name = "KIND", value_parser = values::word::<Kind>("kind of part"))]
    part: Vec<Kind>,
    /// List in Markdown what figures there are and how each is reckoned, and measure nothing
    #[arg(long, conflicts_with_all = ["plan", "output", "part"])]
    figures: bool,
    /// How far apart lines of fixing tape lie at the most; 500 mm where not given
    #[arg(long, value_name = "LENGTH", value_parser = parse_length)]
    tape_spacing: Option<f64>,
    #[command(flatten)]
    room: OneRoom,
    #[command(flatten)]
    held: HeldTo,
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
    let Some(file) = &arguments.plan else {
        console.print(crate::reference::takeoff().as_bytes()).map_err(one)?;
        return Ok(SOUND);
    };
    let here = one_plan::here()?;
    let project = arguments.held.project(file, &here)?;
    project.say_notes(console);
    let rules = rule_set(&project.rules.value)?;
    let inputs = one_plan::inputs(file, &project, &here);
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let text = [Target { form: Form::Text, file: None }];
    let targets = if arguments.output.is_empty() { &text[..] } else { &arguments.output };
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
