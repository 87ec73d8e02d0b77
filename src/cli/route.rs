//! `layrule route`: a plan in, the cables that it only names laid.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle};

use super::new_file::{Ground, NewFile};
use super::one_plan::{HeldTo, OneRoom};
use super::problem::Problem;
use super::tidy::difference;
use super::{Console, FOUND, SOUND, one_plan, rule_set};
use crate::checker;
use crate::draw::{Request, sheets_of_rooms};
use crate::measure::plan::Measured;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::route::{Asked, Outcome, Pattern, Routed, Setting, USUAL_TIME, in_form, route_telling};
use crate::rules::packs::RuleSet;
use crate::source::{Disk, printable, read_text, shown, tidy_path};

const EXAMPLES: &str = "Examples:
  layrule route bath.lay                       show how its cables would be laid
  layrule route bath.lay --write               and write that into the plan
  layrule route bath.lay --kit W-560           with a cable of that kit
  layrule route flat.lay --room hall           in one room of several
  layrule route bath.lay --along 2             with runs along wall 2
  layrule route bath.lay --pattern spiral      in a spiral
  layrule route bath.lay --draw bath.png       drawn, or the nearest layout where none keeps every rule
  layrule route - < bath.lay                   a plan from standard input

A cable that is to be laid names its kit and nothing of its way: `cable a { kit W-560 }`. Its way, its cold tail and the \
floor sensor are written as any plan has them, so that they may be changed by hand. Nothing is written that breaks a rule.

Exit codes: 0 laid, 1 something stands in the way, which is told, 2 the plan could not be read or written.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct RouteArguments {
    /// The plan (`.lay`), or `-` for standard input
    #[arg(value_name = "FILE")]
    plan: PathBuf,
    /// Write the cables into the plan rather than show what would change
    #[arg(long)]
    write: bool,
    /// Lay a cable of this kit in each room that has none
    #[arg(long, value_name = "NAME")]
    kit: Option<String>,
    /// Lay runs along the wall of this number; along whichever suits best where not given
    #[arg(long, value_name = "WALL")]
    along: Option<usize>,
    /// How runs lie: to and fro, or inward round the floor and back between
    #[arg(long, value_enum, default_value_t)]
    pattern: Shape,
    /// How many seconds a plan may take at the most
    #[arg(long, value_name = "SECONDS", default_value_t = USUAL_TIME, value_parser = parse_seconds)]
    time: f64,
    /// Draw the room as it is laid, or the nearest layout: `.svg`, `.png` or `.pdf`
    #[arg(long, value_name = "FILE")]
    draw: Option<PathBuf>,
    /// The date on which deviations are judged to hold
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    #[command(flatten)]
    room: OneRoom,
    #[command(flatten)]
    held: HeldTo,
}

/// How runs lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Shape {
    /// Either, to and fro first
    #[default]
    Auto,
    /// To and fro
    Loops,
    /// Inward round the floor and back between
    Spiral,
}

impl From<Shape> for Pattern {
    fn from(shape: Shape) -> Self {
        match shape {
            Shape::Auto => Pattern::Auto,
            Shape::Loops => Pattern::Loops,
            Shape::Spiral => Pattern::Spiral,
        }
    }
}

fn parse_seconds(text: &str) -> Result<f64, String> {
    let seconds = text.trim().parse().ok().filter(|seconds| (0.01..=600.0).contains(seconds));
    seconds.ok_or_else(|| "write a number of seconds from 0.01 to 600, such as `2`".to_string())
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &RouteArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    let project = arguments.held.project(&arguments.plan, &here)?;
    project.say_notes(console);
    let rules = rule_set(&project.rules.value)?;
    let inputs = one_plan::inputs(&arguments.plan, &project, &here);
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let from_input = arguments.plan.as_os_str() == "-";
    if from_input && arguments.write {
        return Err(one(Problem::new("cables can't be written into standard input").help("name the plan's file")));
    }
    let name = if from_input { "standard input".to_string() } else { shown(&arguments.plan) };
    let path = if from_input { here.join("standard input") } else { tidy_path(&here.join(&arguments.plan)) };
    if arguments.along.is_some() && arguments.pattern == Shape::Spiral {
        let help = "leave `--along` out, or lay it with `--pattern loops`";
        return Err(one(Problem::new("a spiral goes along all walls").help(help)));
    }
    let before = read(&path, &name, from_input).map_err(one)?;
    let library = Library::new(&Disk, &project.folder, &here);
    let measured = |text: &str| Measured::new(resolve(library.load_text(&path, &name, text.to_string())));
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let original = measured(&before);
    let room = arguments.room.of(original.plan()).map_err(one)?;
    let asked = Asked {
        room: room.and_then(|index| original.plan().rooms.get(index)).map(|room| room.name.text.clone()),
        kit: arguments.kit.clone(),
        along: arguments.along,
        pattern: arguments.pattern.into(),
        until: Instant::now() + Duration::from_secs_f64(arguments.time),
    };
    let progress = Progress::new(arguments.time, console.quiet);
    let setting = Setting { read: &measured, rules: &rules, today, stop: &|| false };
    let routed = route_telling(&before, &asked, &setting, &|room| progress.begins(room));
    progress.finish();
    if routed.rooms.is_empty() {
        let help = "a cable that is to be laid names its kit alone: `cable a { kit NAME }`; or name one with `--kit`";
        console.tell(&Problem::new(format!("{name} has no cable to be laid")).help(help));
        return Ok(FOUND);
    }
    if let Some(file) = &arguments.draw {
        let text = pictured(&routed);
        draw_to(file, &measured(&text), &routed, (&rules, today), &ground)?;
    }
    let after = in_form(&before, routed.text.clone());
    if arguments.write && after != before {
        let mut file = NewFile::replace(&path, &name, &before).map_err(one)?;
        file.write(after.as_bytes()).and_then(|()| file.finish()).map_err(one)?;
    } else if after != before {
        console.print(difference(&name, &before, &after, console.stdout_color).as_bytes()).map_err(one)?;
    }
    Ok(tell(&routed, &name, console))
}

/// How far laying has come, on a terminal alone; nothing of it is left behind.
struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// Of what may take so many seconds.
    fn new(most: f64, quiet: bool) -> Self {
        let target = if quiet { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        let bar = ProgressBar::with_draw_target(None, target);
        let used = move |state: &ProgressState, out: &mut dyn std::fmt::Write| {
            // What it is written to is a line on a screen.
            let _ = write!(out, "{}", used(state.elapsed(), most));
        };
        if let Ok(style) = ProgressStyle::with_template("laying cable in {msg}: {used}") {
            bar.set_style(style.with_key("used", used));
        }
        Progress { bar }
    }

    fn begins(&self, room: &str) {
        self.bar.set_message(format!("room `{room}`"));
        self.bar.enable_steady_tick(Duration::from_millis(100));
    }

    fn finish(&self) {
        self.bar.finish_and_clear();
    }
}

/// How much of the time is used, in words.
fn used(elapsed: Duration, most: f64) -> String {
    format!("{:.1} s of {most} s", elapsed.as_secs_f64().min(most))
}

fn read(path: &Path, name: &str, from_input: bool) -> Result<String, Problem> {
    let text = match from_input {
        true => read_text(std::io::stdin().lock()),
        false => crate::source::Reader::read(&Disk, path),
    };
    let text = text.map_err(|error| Problem::new(format!("{name}: {error}")))?;
    if printable(text.clone()) != text {
        return Err(Problem::new(format!("{name} holds characters that a terminal would obey"))
            .help("take the control characters out first"));
    }
    Ok(text)
}

/// The text that is drawn: with what is laid, or the nearest where nothing is.
fn pictured(routed: &Routed) -> String {
    let nearest = routed.rooms.iter().find_map(|(_, outcome)| match outcome {
        Outcome::Stopped(stop) => stop.nearest.clone(),
        Outcome::Laid(_) => None,
    });
    let laid = routed.rooms.iter().any(|(_, outcome)| matches!(outcome, Outcome::Laid(_)));
    nearest.filter(|_| !laid).unwrap_or_else(|| routed.text.clone())
}

fn draw_to(
    file: &Path,
    measured: &Measured,
    routed: &Routed,
    (rules, today): (&RuleSet, jiff::civil::Date),
    ground: &Ground<'_>,
) -> Result<(), Vec<Problem>> {
    let report = checker::untried(measured, rules, today);
    let wanted = |name: &str| routed.rooms.iter().any(|(room, _)| room == name);
    let rooms: Vec<_> = measured.rooms().filter(|room| wanted(&room.room.name.text)).collect();
    let wanted = rooms.iter().map(|room| {
        let found = report.findings.as_slice();
        let unchecked = report.rules_unchecked();
        let request = Request { findings: true, unchecked, ..Request::new(found) };
        (*room, request)
    });
    super::picture::write(file, &sheets_of_rooms(wanted, false), ground).map_err(one)
}

/// Says what came of each room; the exit code.
fn tell(routed: &Routed, name: &str, console: &Console) -> u8 {
    let mut code = SOUND;
    for (room, outcome) in &routed.rooms {
        match outcome {
            Outcome::Laid(told) => console.say(&format!("{name}: room `{room}`: {}\n", told.join("; "))),
            Outcome::Stopped(stop) => {
                code = FOUND;
                console.tell(&Problem::new(stop.reason.clone()).help(stop.advice.clone()));
            }
        }
    }
    code
}
