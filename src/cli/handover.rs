//! `layrule handover`: a plan in, the page that is handed over with the floor out.

use std::path::PathBuf;

use clap::Args;

use super::new_file::Ground;
use super::one_plan::{HeldTo, OneRoom};
use super::outputs::open_sinks;
use super::problem::Problem;
use super::{Console, FOUND, SOUND, one_plan, rule_set};
use crate::checker;
use crate::handover::{Wanted, handover};
use crate::measure::plan::Measured;
use crate::model::resolve::resolve;
use crate::report::{Form, Target};
use crate::source::shown;
use crate::takeoff::allowances::Allowances;

const EXAMPLES: &str = "Examples:
  layrule handover bath.lay -o bath.html                    to print, to fill in and to sign
  layrule handover bath.lay --date 2026-11-25 -o bath.html  bearing that date
  layrule handover flat.lay --room hall -o hall.html        one room of several
  layrule handover flat.lay --rules ours.rule > flat.html   held to rules of your own too

One HTML file with no script, which asks for nothing from outside: cables and circuit, the drawing, expected and \
measured resistances by stage, the floor and its heat, deviations, open findings, and places for names and signatures. \
What the test record doesn't hold yet is left blank, so that the page is the form to fill in on site.

Exit codes: 0 written, 1 written as far as the plan could be read, 2 not written.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct HandoverArguments {
    /// The plan (`.lay`), or `-` for standard input
    #[arg(value_name = "FILE")]
    plan: PathBuf,
    /// Where the page goes; standard output where not given
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The date that the page bears, and on which deviations are judged to hold
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    #[command(flatten)]
    room: OneRoom,
    #[command(flatten)]
    held: HeldTo,
}

pub(super) fn run(arguments: &HandoverArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    let here = one_plan::here()?;
    let project = arguments.held.project(&arguments.plan, &here)?;
    project.say_notes(console);
    let rules = rule_set(&project.rules.value)?;
    let inputs = one_plan::inputs(&arguments.plan, &project, &here);
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let target = Target { form: Form::Text, file: arguments.output.clone() };
    let sinks = open_sinks(&[target], &ground)?;
    let measured = Measured::new(resolve(one_plan::load(&arguments.plan, &project, &here).map_err(one)?));
    let plan = measured.plan();
    one_plan::tell_faults(plan, console);
    if plan.rooms.is_empty() && plan.faults.is_empty() {
        let problem = Problem::new(format!("{} holds no room to be handed over", shown(&arguments.plan)));
        return Err(one(problem.help("name the plan of a room; what it uses is found from there")));
    }
    let room = arguments.room.of(plan).map_err(one)?;
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let report = checker::check_plan(&measured, &rules, today);
    let wanted = Wanted { date: arguments.date, report: &report, allowances: &Allowances::of(&rules), room };
    let page = handover(&measured, &wanted).map_err(|why| one(Problem::new(why)))?;
    for sink in sinks {
        sink.put(page.as_bytes(), console).map_err(one)?;
    }
    Ok(if plan.faults.is_empty() { SOUND } else { FOUND })
}
