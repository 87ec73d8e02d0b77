//! Which kits suit, as comma-separated values by RFC 4180, a row a choice.

use super::kits;
use crate::report::csv_text::plain;
use crate::sizing::choice::{Choice, Load};
use crate::sizing::{Outcome, Sizing, Stop};
use crate::takeoff::Told;

const HEADER: [&str; 16] = [
    "plan",
    "room",
    "fits",
    "kits",
    "cables",
    "length-mm",
    "spacing-mm",
    "power-W",
    "power-density-W/m2",
    "surface-degC",
    "of-heat-loss-%",
    "thermostat-A",
    "thermostat-rated-A",
    "supply-A",
    "supply-rated-A",
    "findings",
];

pub(super) fn write(sizings: &[Sizing]) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory doesn't fail.
    let mut row = |cells: &[String]| drop(writer.write_record(cells));
    row(&HEADER.map(String::from));
    for sizing in sizings {
        for room in &sizing.rooms {
            let begin = [plain(&sizing.file), plain(&room.name)];
            match &room.outcome {
                Outcome::Sized(sized) => {
                    sized.fitting.iter().chain(&sized.stopped).for_each(|choice| row(&cells(&begin, choice)));
                }
                Outcome::LeftAlone(why) | Outcome::Untold(why) => {
                    let mut cells = vec![String::new(); HEADER.len()];
                    cells[..2].clone_from_slice(&begin);
                    cells[HEADER.len() - 1] = plain(why);
                    row(&cells);
                }
            }
        }
    }
    writer.into_inner().unwrap_or_default()
}

fn cells(begin: &[String; 2], choice: &Choice) -> Vec<String> {
    let rounded = |value: f64| super::json::rounded(value).to_string();
    let told =
        |value: &Told<f64>, factor: f64| value.as_ref().map_or_else(|_| String::new(), |value| rounded(value * factor));
    let most = |loads: &[Load]| {
        let known = loads.iter().filter_map(|load| Some((*load.current.as_ref().ok()?, load.rated)));
        let greatest = known.max_by(|a, b| a.0.total_cmp(&b.0));
        let rated = greatest.and_then(|(_, rated)| rated).map_or_else(String::new, rounded);
        [greatest.map_or_else(String::new, |(current, _)| rounded(current)), rated]
    };
    let finding = |stop: &Stop| format!("{}: {}", stop.rule, stop.message);
    let mut cells = begin.to_vec();
    cells.extend([
        if choice.stops.is_empty() { "yes" } else { "no" }.to_string(),
        plain(&kits(choice)),
        choice.cables().to_string(),
        rounded(choice.length),
        rounded(choice.spacing()),
        rounded(choice.power),
        rounded(choice.density() * 1e6),
        told(&choice.surface, 1.0),
        told(&choice.cover, 100.0),
    ]);
    cells.extend(most(&choice.thermostats));
    cells.extend(most(&choice.supplies));
    cells.push(plain(&choice.stops.iter().chain(&choice.notes).map(finding).collect::<Vec<_>>().join("; ")));
    cells
}
