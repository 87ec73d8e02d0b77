//! `layrule draw`: a plan in, a picture of each of its rooms out.

use std::path::PathBuf;
use std::rc::Rc;

use clap::{Args, ValueEnum};

use super::new_file::Ground;
use super::one_plan::OneRoom;
use super::picture::beside;
use super::problem::Problem;
use super::{Console, FOUND, SOUND, one_plan, rule_set};
use crate::checker::{self, Report};
use crate::draw::sheet::{BETWEEN, Paper, SCALES, Scales};
use crate::draw::{Drawing, Request, RoomSheets, export, sheets_of_rooms, tiles};
use crate::exchange::dxf_out;
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::measure::temperature_map::TemperatureMap;
use crate::model::resolve::resolve;
use crate::model::{Plan, Room};
use crate::quantity::number;
use crate::reasons;
use crate::source::shown;
use crate::text::quoted;

const EXAMPLES: &str = "Examples:
  layrule draw bath.lay -o bath.pdf             to print; a page a room
  layrule draw bath.lay > bath.svg              a picture of its only room
  layrule draw flat.lay --room hall -o hall.png one room of several
  layrule draw flat.lay -o flat.svg             flat-hall.svg, flat-bath.svg …
  layrule draw bath.lay --findings -o bath.pdf  with what is wrong, by number
  layrule draw bath.lay --laying-table -o b.pdf with a table of its runs
  layrule draw loft.lay --tile -o loft.pdf      a large sheet on several of A4
  layrule draw bath.lay --heat -o bath.png      shaded by the floor's temperature
  layrule draw flat.lay -o flat.dxf             for CAD: all rooms at their true size, a layer a kind

Exit codes: 0 drawn, 1 drawn as far as the plan could be read, 2 not drawn.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct DrawArguments {
    /// The plan (`.lay`), or `-` for standard input
    #[arg(value_name = "FILE")]
    plan: PathBuf,
    /// Where the drawing goes; standard output where not given
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// What is written; by the output's ending where not given, else SVG
    #[arg(long, value_enum, value_name = "FORM")]
    format: Option<Format>,
    #[command(flatten)]
    room: OneRoom,
    /// The paper; the smaller that suits the room where not given
    #[arg(long, value_enum, value_name = "SIZE")]
    paper: Option<PaperSize>,
    /// The scale, such as 1:20; the largest of ISO 5455 that the paper has room for where not given
    #[arg(long, value_name = "SCALE", value_parser = parse_scale)]
    scale: Option<f64>,
    /// Add the laying table: each run with its heading, its length and the cable laid at its end
    #[arg(long)]
    laying_table: bool,
    /// Spread a sheet that is larger than A4 over several of that size, with marks by which they overlap
    #[arg(long)]
    tile: bool,
    /// Mark what the rules find in the plan, and list it beside the drawing
    #[arg(long)]
    findings: bool,
    /// Shade the floor by its surface temperature, as computed at full power, with isotherms
    #[arg(long)]
    heat: bool,
    /// A rule pack (`.rule`), or a folder of them, to use besides the built-in ones; may be given several times
    #[arg(long, value_name = "FILE", requires = "findings")]
    rules: Vec<PathBuf>,
    /// The date that the title block bears, and on which deviations are judged to hold
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    /// The folder that `use` may not lead out of; the repository that holds the plan, or the current folder, where not given
    #[arg(long, value_name = "FOLDER")]
    project: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Svg,
    Png,
    Pdf,
    /// A CAD drawing, at its true size in mm
    Dxf,
}

impl Format {
    fn ending(self) -> &'static str {
        match self {
            Format::Svg => "svg",
            Format::Png => "png",
            Format::Pdf => "pdf",
            Format::Dxf => "dxf",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PaperSize {
    A4,
    A3,
    A2,
}

/// A scale such as `1:50`, as what stands after the colon.
fn parse_scale(text: &str) -> Result<f64, String> {
    let figure = text.strip_prefix("1:").unwrap_or(text);
    let scales = SCALES.into_iter().chain(BETWEEN);
    let found = figure.parse().ok().and_then(|figure: f64| scales.into_iter().find(|scale| *scale == figure));
    found.ok_or_else(|| "drawings are 1:20, 1:50, 1:100 and so on (ISO 5455), 1:25 or 1:30".to_string())
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &DrawArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let format = format_of(arguments).map_err(one)?;
    let here = one_plan::here()?;
    let project = one_plan::project(&arguments.plan, arguments.project.as_ref(), &arguments.rules, &here)?;
    project.say_notes(console);
    let inputs = one_plan::inputs(&arguments.plan, &project, &here);
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let rules = if arguments.findings { Some(rule_set(&project.rules.value)?) } else { None };
    let measured = Measured::new(resolve(one_plan::load(&arguments.plan, &project, &here).map_err(one)?));
    let plan = measured.plan();
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let report = match &rules {
        Some(rules) => checker::check_plan(&measured, rules, today),
        None => one_plan::reading(plan),
    };
    one_plan::tell_faults(plan, console);
    let rooms = rooms_to_draw(&measured, arguments).map_err(one)?;
    if format == Format::Dxf {
        write_dxf(plan, &rooms, arguments, &ground, console).map_err(one)?;
        return Ok(if plan.faults.is_empty() { SOUND } else { FOUND });
    }
    let maps = maps(&rooms, arguments, console);
    let drawings = sheets(&rooms, arguments, &report, &maps);
    let mut drawn = drawings.iter().flat_map(|room| &room.drawn);
    drawn.try_for_each(|drawing| room_on_paper(drawing, arguments)).map_err(one)?;
    let parts = parts(&rooms, drawings, arguments);
    let several = parts.len() > 1 && format != Format::Pdf;
    if several && arguments.output.is_none() {
        return Err(one(one_sheet(&rooms, arguments)));
    }
    let refused = |error: export::ExportError| one(Problem::new(error.to_string()));
    if format == Format::Pdf {
        let sheets: Vec<Drawing> = parts.into_iter().map(|part| part.drawing).collect();
        let bytes = export::pdf(&sheets).map_err(refused)?;
        match &arguments.output {
            None => console.print(&bytes).map_err(one)?,
            Some(path) => one_plan::write(path, &bytes, &ground).map_err(one)?,
        }
    } else {
        for part in &parts {
            let bytes = match format {
                Format::Png => export::png(&part.drawing).map_err(refused)?,
                _ => part.drawing.svg.clone().into_bytes(),
            };
            match &arguments.output {
                None => console.print(&bytes).map_err(one)?,
                Some(path) => {
                    one_plan::write(&beside(path, &part.name, format.ending()), &bytes, &ground).map_err(one)?
                }
            }
        }
    }
    Ok(if plan.faults.is_empty() { SOUND } else { FOUND })
}

/// A DXF holds the floor at its true size, and neither paper nor what is written beside it.
fn write_dxf(
    plan: &Plan,
    rooms: &[RoomMeasure<'_>],
    arguments: &DrawArguments,
    ground: &Ground<'_>,
    console: &Console,
) -> Result<(), Problem> {
    let on_paper = arguments.paper.is_some() || arguments.scale.is_some() || arguments.laying_table || arguments.tile;
    if on_paper || arguments.findings || arguments.heat {
        let problem = Problem::new("a DXF has neither paper, nor marks of findings, nor shading");
        return Err(problem.help(
            "leave out `--findings`, `--heat`, `--paper`, `--scale`, `--laying-table` and `--tile`, or draw a PDF",
        ));
    }
    let rooms: Vec<&Room> = rooms.iter().map(|one| one.room).collect();
    let drawn = dxf_out::draw(plan, &rooms)
        .map_err(|reason| Problem::new(format!("the drawing can't be written as DXF: {reason}")))?;
    drawn.remarks.iter().for_each(|remark| console.say(&format!("{remark}\n")));
    match &arguments.output {
        None => console.print(&drawn.bytes),
        Some(path) => one_plan::write(path, &drawn.bytes, ground),
    }
}

fn format_of(arguments: &DrawArguments) -> Result<Format, Problem> {
    if let Some(format) = arguments.format {
        return Ok(format);
    }
    let Some(path) = &arguments.output else { return Ok(Format::Svg) };
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let known = Format::value_variants().iter().find(|format| ending.as_deref() == Some(format.ending()));
    known.copied().ok_or_else(|| {
        Problem::new(format!("{} doesn't say what to write", shown(path)))
            .help("end it in `.svg`, `.png`, `.pdf` or `.dxf`, or say `--format`")
    })
}

fn rooms_to_draw<'p>(measured: &'p Measured, arguments: &DrawArguments) -> Result<Vec<RoomMeasure<'p>>, Problem> {
    let plan = measured.plan();
    if plan.rooms.is_empty() {
        let problem = Problem::new(format!("{} holds no room that can be drawn", shown(&arguments.plan)));
        return Err(
            problem.help("a drawing needs a `room` with an `outline`; `layrule check` shows what can't be read")
        );
    }
    let meant = arguments.room.of(plan)?;
    Ok(measured
        .rooms()
        .enumerate()
        .filter(|(index, _)| meant.is_none_or(|meant| meant == *index))
        .map(|(_, room)| room)
        .collect())
}

/// What each room is shaded by, where that is asked for and can be worked out; where it can't, the reader is told.
fn maps(rooms: &[RoomMeasure<'_>], arguments: &DrawArguments, console: &Console) -> Vec<Option<Rc<TemperatureMap>>> {
    let map = |measure: &RoomMeasure<'_>| {
        let told = measure.temperature_map();
        if let Err(unknown) = told {
            let name = &measure.room.name.text;
            let why = reasons::heat(measure.plan, measure.room, unknown);
            let problem = Problem::new(format!("room `{name}` is drawn without its heat: {why}"));
            console.tell(&problem.help("a floor's heat needs the layers of its `floor`, where the cable lies, `inside` and `below`, and a kit for each cable"));
        }
        told.ok()
    };
    if arguments.heat { rooms.iter().map(map).collect() } else { vec![None; rooms.len()] }
}

/// The sheets of each room.
fn sheets<'p>(
    rooms: &'p [RoomMeasure<'p>],
    arguments: &'p DrawArguments,
    report: &'p Report,
    maps: &'p [Option<Rc<TemperatureMap>>],
) -> Vec<RoomSheets> {
    let paper = arguments.paper.map(|paper| match paper {
        PaperSize::A4 => Paper::A4,
        PaperSize::A3 => Paper::A3,
        PaperSize::A2 => Paper::A2,
    });
    let sheet = |(measure, heat): (&RoomMeasure<'p>, &'p Option<Rc<TemperatureMap>>)| {
        let (heat, sheet) = (heat.as_deref(), (1, 1));
        let (found, unchecked) = (report.findings.as_slice(), report.rules_unchecked());
        let (date, findings) = (arguments.date, arguments.findings);
        let scales = arguments.scale.map_or(Scales::Standard, Scales::Only);
        let request = Request { paper, scales, date, findings, found, list: true, unchecked, heat, ghost: None, sheet };
        (*measure, request)
    };
    sheets_of_rooms(rooms.iter().zip(maps).map(sheet), arguments.laying_table)
}

/// A room that is larger than its paper at the scale asked for is not drawn over what is written beside it.
fn room_on_paper(drawing: &Drawing, arguments: &DrawArguments) -> Result<(), Problem> {
    if drawing.sheet.fits {
        return Ok(());
    }
    let (scale, paper) = (number(drawing.sheet.scale, 0), drawing.sheet.paper.word());
    let problem =
        Problem::new(format!("{} has no room on {paper} at 1:{scale}", quoted([&*drawing.title].into_iter(), "and")));
    let larger = if arguments.paper.is_some() { "name a larger paper, or none" } else { "there is no larger paper" };
    Err(problem.help(format!("{larger}; or leave out `--scale`, and the largest scale is taken that has room")))
}

/// A sheet, and what its file's name has besides the one that was asked for.
struct Part {
    name: String,
    drawing: Drawing,
}

/// The sheets as they are written: each room's drawing, as tiles where these are asked for, and what goes on with its list; then its laying
/// table. A room's name holds no dot, so that no sheet has the name of another room's.
fn parts(rooms: &[RoomMeasure<'_>], drawings: Vec<RoomSheets>, arguments: &DrawArguments) -> Vec<Part> {
    let mut parts = Vec::new();
    for (measure, RoomSheets { drawn, table }) in rooms.iter().zip(drawings) {
        let room = if rooms.len() > 1 { format!("-{}", measure.room.name.text) } else { String::new() };
        let mut put = |drawing: Drawing, what: String| {
            parts.push(Part { name: format!("{room}{what}"), drawing });
        };
        for (drawing, number) in drawn.into_iter().zip(1..) {
            let own = if number == 1 { String::new() } else { format!(".{number}") };
            let tiles = if arguments.tile { tiles(&drawing) } else { vec![drawing] };
            let several = tiles.len() > 1;
            for (tile, place) in tiles.into_iter().zip(1..) {
                put(tile, if several { format!("{own}.tile-{place}") } else { own.clone() });
            }
        }
        let several = table.len() > 1;
        for (drawing, number) in table.into_iter().zip(1..) {
            put(drawing, if several { format!(".laying-table-{number}") } else { ".laying-table".to_string() });
        }
    }
    parts
}

/// That standard output takes one sheet.
fn one_sheet(rooms: &[RoomMeasure<'_>], arguments: &DrawArguments) -> Problem {
    if rooms.len() < 2 {
        let more = if arguments.laying_table || arguments.tile {
            "a laying table and tiles are sheets of their own"
        } else {
            "the list of findings goes on on another sheet"
        };
        let problem = Problem::new(format!("{more}, and standard output takes one"));
        return problem.help("write files with `--output`, or ask for a PDF, which has them all");
    }
    let names = quoted(rooms.iter().map(|one| one.room.name.text.as_str()), "and");
    let problem = Problem::new(format!("the plan has {} rooms, and standard output takes one sheet", rooms.len()));
    problem.help(format!("name one with `--room` ({names}), write files with `--output`, or ask for a PDF"))
}
