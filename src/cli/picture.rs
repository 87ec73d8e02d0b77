//! Drawings into one file, of the kind that its ending says.

use std::path::{Path, PathBuf};

use super::new_file::Ground;
use super::one_plan;
use super::problem::Problem;
use crate::draw::{Drawing, RoomSheets, export};
use crate::source::shown;

/// Writes the sheets of rooms as SVG, PNG or PDF, by the ending of the file. A PDF has a page for each; the others take one room alone, and what
/// goes on with its list goes into files beside.
pub(super) fn write(file: &Path, rooms: &[RoomSheets], ground: &Ground<'_>) -> Result<(), Problem> {
    let Some(first) = rooms.first() else {
        return Err(Problem::new("there is no room to be drawn"));
    };
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let refused = |error: export::ExportError| Problem::new(error.to_string());
    let each: fn(&Drawing) -> Result<Vec<u8>, export::ExportError> = match ending.as_deref() {
        Some("pdf") => {
            let sheets: Vec<Drawing> = rooms.iter().flat_map(|room| room.drawn.iter().cloned()).collect();
            let bytes = export::pdf(&sheets).map_err(refused)?;
            return one_plan::write(file, &bytes, ground);
        }
        Some("svg" | "png") if rooms.len() > 1 => {
            let help = "name one with `--room`, or draw a PDF, which has a page a room";
            let problem = Problem::new(format!("{} takes one room, and there are {}", shown(file), rooms.len()));
            return Err(problem.help(help));
        }
        Some("svg") => |drawing| Ok(drawing.svg.clone().into_bytes()),
        Some("png") => export::png,
        _ => {
            let problem = Problem::new(format!("{} doesn't say what to draw", shown(file)));
            return Err(problem.help("end it in `.svg`, `.png` or `.pdf`"));
        }
    };
    for (drawing, number) in first.drawn.iter().zip(1..) {
        let part = if number == 1 { String::new() } else { format!(".{number}") };
        one_plan::write(&beside(file, &part, "svg"), &each(drawing).map_err(refused)?, ground)?;
    }
    Ok(())
}

/// The file for one sheet of several: what tells it from the others stands before the ending, which is `usual` where the name has none.
pub(super) fn beside(file: &Path, part: &str, usual: &str) -> PathBuf {
    if part.is_empty() {
        return file.to_path_buf();
    }
    let stem = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let ending = file.extension().map_or_else(|| usual.into(), |ending| ending.to_string_lossy().into_owned());
    file.with_file_name(format!("{stem}{part}.{ending}"))
}
