//! `layrule outline`: rooms out of a drawing, a building model or a map, as a plan.

use std::ffi::OsStr;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::new_file::{Ground, NewFile};
use super::problem::Problem;
use super::{Console, SOUND, one_plan};
use crate::exchange::rooms::{Room, rooms, slug};
use crate::exchange::{LARGEST_FILE, Traced, Unit, Unreadable, dxf_in, geojson_in, ifc, write};
use crate::quantity::number;
use crate::source::{ReadError, read_at_most, shown, tidy_path};
use crate::text::{counted, nearest};

const EXAMPLES: &str = "Examples:
  layrule outline flat.dxf                            list its rooms, or write the only one
  layrule outline flat.dxf --room bath -o bath.lay    one of several, into a new file
  layrule outline house.ifc --room \"Bath 1.02\"        a room of a building model, by its name
  layrule outline floor.geojson --unit m --all        all rooms of a map drawn in metres
  layrule outline old.dxf --unit cm --layer RAUM      a drawing that doesn't say its unit; outlines on that layer

What the file doesn't tell stands in the plan as comments. Measure the room before any cable is ordered: a drawing is not the \
house.

Exit codes: 0 written, 2 not written, which is told.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct OutlineArguments {
    /// The file: DXF, IFC (ISO 10303-21) or GeoJSON; or `-` for standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Where the plan goes, a file that isn't there yet; standard output where not given
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Only this room, by its name in the file or in the list; may be given several times
    #[arg(long, value_name = "NAME", conflicts_with = "all")]
    room: Vec<String>,
    /// All rooms
    #[arg(long)]
    all: bool,
    /// Only outlines on this layer, whatever it is called
    #[arg(long, value_name = "NAME")]
    layer: Option<String>,
    /// The unit that the file is drawn in, over what it says itself: `mm`, `cm`, `dm`, `m`, `in` or `ft`
    #[arg(long, value_name = "UNIT", value_parser = parse_unit)]
    unit: Option<Unit>,
    /// What the file is; by its ending where not given
    #[arg(long, value_enum, value_name = "FORM")]
    format: Option<Format>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Dxf,
    Geojson,
    Ifc,
}

fn parse_unit(word: &str) -> Result<Unit, String> {
    Unit::of_word(word).ok_or_else(|| "write `mm`, `cm`, `dm`, `m`, `in` or `ft`".into())
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &OutlineArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    let from_input = arguments.file.as_os_str() == "-";
    let name = if from_input { "standard input".to_string() } else { shown(&arguments.file) };
    let format = format_of(arguments, &name).map_err(one)?;
    let refused = |error: Unreadable| one(Problem::new(format!("{name}: {error}")).help(error.help));
    let bytes =
        read(&arguments.file, &here, from_input).map_err(|error| one(Problem::new(format!("{name}: {error}"))))?;
    let traced = trace(format, &bytes, arguments.unit).map_err(refused)?;
    let found = rooms(&traced, arguments.layer.as_deref()).map_err(refused)?;
    let chosen = chosen(&found, arguments, &name).map_err(one)?;
    let called =
        arguments.file.file_name().filter(|_| !from_input).map_or_else(|| name.clone(), |name| shown(Path::new(name)));
    let plan = write::plan(&traced, &chosen, &called).map_err(refused)?;
    match &arguments.output {
        None => console.print(plan.as_bytes()).map_err(one)?,
        Some(path) => {
            put(path, plan.as_bytes(), &here, &arguments.file).map_err(one)?;
            console.say(&format!("{}: {} written\n", shown(path), counted(chosen.len(), "room")));
        }
    }
    Ok(SOUND)
}

/// A plan takes the place of nothing; what is no plan is written as any output is.
fn put(path: &Path, bytes: &[u8], here: &Path, read: &Path) -> Result<(), Problem> {
    let is_plan = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("lay"));
    if !is_plan {
        let inputs = [here.join(read)];
        return one_plan::write(path, bytes, &Ground { here, inputs: &inputs, project: None });
    }
    let mut file = NewFile::fresh(&tidy_path(&here.join(path)), &shown(path))?;
    file.write(bytes)?;
    file.finish()
}

fn trace(format: Format, bytes: &[u8], unit: Option<Unit>) -> Result<Traced, Unreadable> {
    match format {
        Format::Dxf => dxf_in::trace(bytes, unit),
        Format::Geojson => geojson_in::trace(bytes, unit),
        Format::Ifc => ifc::trace(bytes, unit),
    }
}

fn format_of(arguments: &OutlineArguments, name: &str) -> Result<Format, Problem> {
    if let Some(format) = arguments.format {
        return Ok(format);
    }
    match (format_by_ending(&arguments.file), ending(&arguments.file).as_deref()) {
        (Some(format), _) => Ok(format),
        (None, Some("dwg")) => {
            Err(Problem::new(format!("{name} is a DWG file, which isn't read")).help("save it as DXF"))
        }
        (None, _) => Err(Problem::new(format!("{name} doesn't say what it is"))
            .help("end it in `.dxf`, `.ifc` or `.geojson`, or say `--format`")),
    }
}

fn ending(file: &Path) -> Option<String> {
    file.extension().and_then(OsStr::to_str).map(str::to_lowercase)
}

fn format_by_ending(file: &Path) -> Option<Format> {
    match ending(file)?.as_str() {
        "dxf" => Some(Format::Dxf),
        "ifc" => Some(Format::Ifc),
        "geojson" | "json" => Some(Format::Geojson),
        _ => None,
    }
}

/// What the rooms of a file of so many bytes at the most are called, for who names one on a command line; none where it can't be read.
pub(super) fn names_in(file: &Path, most: u64) -> Vec<String> {
    let bytes = read_at_most(file, most).ok().filter(|bytes| bytes.len() as u64 <= most);
    let Some((bytes, format)) = bytes.zip(format_by_ending(file)) else { return Vec::new() };
    // In whatever unit it is drawn, its rooms are called the same.
    let traced = trace(format, &bytes, None).or_else(|_| trace(format, &bytes, Unit::of_word("mm")));
    let found = traced.and_then(|traced| rooms(&traced, None)).unwrap_or_default();
    found.into_iter().map(|room| room.name).collect()
}

fn read(file: &Path, here: &Path, from_input: bool) -> Result<Vec<u8>, String> {
    let bytes = if from_input {
        let mut bytes = Vec::new();
        let read = std::io::stdin().lock().take(LARGEST_FILE + 1).read_to_end(&mut bytes);
        read.map(|_| bytes).map_err(|error| ReadError::Refused(error.to_string()))
    } else {
        read_at_most(&here.join(file), LARGEST_FILE)
    };
    let bytes = bytes.map_err(|error| error.to_string())?;
    if bytes.len() as u64 > LARGEST_FILE {
        let most = LARGEST_FILE / 1024 / 1024;
        return Err(format!(
            "it is larger than {most} MiB, the most that is read; save the storey that is wanted by itself"
        ));
    }
    Ok(bytes)
}

/// The rooms that are meant.
fn chosen<'r>(found: &'r [Room], arguments: &OutlineArguments, name: &str) -> Result<Vec<&'r Room>, Problem> {
    if arguments.all || (found.len() == 1 && arguments.room.is_empty()) {
        const MOST: usize = 100;
        if found.len() > MOST {
            let problem = Problem::new(format!("{name} draws {} rooms; a plan takes {MOST} at the most", found.len()));
            return Err(problem.help("name those that are wanted with `--room`"));
        }
        return Ok(found.iter().collect());
    }
    if arguments.room.is_empty() {
        let problem = Problem::new(format!("{name} draws {} rooms: {}", found.len(), listed(found)));
        return Err(problem.help("name one with `--room`, or take them all with `--all`"));
    }
    let mut chosen: Vec<&Room> = Vec::new();
    for wanted in &arguments.room {
        let called = |room: &&Room| {
            room.name == *wanted
                || room.title.as_ref().is_some_and(|title| title.to_lowercase() == wanted.to_lowercase())
        };
        let short = slug(wanted);
        // "Bath" means "Bath 1.02" where no other room has the word.
        let holds = |room: &&Room| !short.is_empty() && format!("-{}-", room.name).contains(&format!("-{short}-"));
        let only = || {
            let mut holding = found.iter().filter(holds);
            holding.next().filter(|_| holding.next().is_none())
        };
        let room = found.iter().find(called).or_else(|| found.iter().find(|room| room.name == short)).or_else(only);
        let Some(room) = room else {
            let names = || found.iter().map(|room| room.name.as_str());
            let help = match nearest(wanted, names()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("there is {}", listed(found)),
            };
            return Err(Problem::new(format!("{name} draws no room called `{wanted}`")).help(help));
        };
        if !chosen.iter().any(|other| other.name == room.name) {
            chosen.push(room);
        }
    }
    Ok(chosen)
}

/// Rooms with their sizes and layers.
fn listed(rooms: &[Room]) -> String {
    const SHOWN: usize = 40;
    let told = rooms.iter().take(SHOWN).map(|room| {
        let size = room.size();
        let (wide, deep) = (number(size.x / 1000.0, 2), number(size.y / 1000.0, 2));
        let title = room.title.as_ref().filter(|title| **title != room.name);
        let title = title.map_or_else(String::new, |title| format!(" \"{title}\""));
        format!("`{}`{title}, {wide} by {deep} m on `{}`", room.name, room.layer)
    });
    let more = rooms.len().checked_sub(SHOWN).filter(|more| *more > 0);
    let more = more.map_or_else(String::new, |more| format!("; and {more} more"));
    format!("{}{more}", told.collect::<Vec<_>>().join("; "))
}
