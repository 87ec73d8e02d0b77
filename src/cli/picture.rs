//! Drawings into one file, of the kind that its ending says.

use std::path::Path;

use super::new_file::Ground;
use super::one_plan;
use super::problem::Problem;
use crate::draw::{Drawing, export};
use crate::source::shown;

/// Writes sheets as SVG, PNG or PDF, by the ending of the file. A PDF has a page for each; the others take one alone.
pub(super) fn write(file: &Path, drawings: &[Drawing], ground: &Ground<'_>) -> Result<(), Problem> {
    let Some(first) = drawings.first() else {
        return Err(Problem::new("there is no room to be drawn"));
    };
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let refused = |error: export::ExportError| Problem::new(error.to_string());
    let bytes = match ending.as_deref() {
        Some("pdf") => export::pdf(drawings).map_err(refused)?,
        Some("svg" | "png") if drawings.len() > 1 => {
            let help = "name one with `--room`, or draw a PDF, which has a page a room";
            let problem = Problem::new(format!("{} takes one room, and there are {}", shown(file), drawings.len()));
            return Err(problem.help(help));
        }
        Some("svg") => first.svg.clone().into_bytes(),
        Some("png") => export::png(first).map_err(refused)?,
        _ => {
            let problem = Problem::new(format!("{} doesn't say what to draw", shown(file)));
            return Err(problem.help("end it in `.svg`, `.png` or `.pdf`"));
        }
    };
    one_plan::write(file, &bytes, ground)
}
