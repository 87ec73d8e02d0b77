//! The task sheet that a learner gets: the drawing without what was measured, the plan with its lines numbered, and a table to be filled in.

use askama::Template;

use super::key::Exercise;
use super::sound::plan_of;
use crate::draw::sheet::Paper;
use crate::draw::{draw_unmeasured, inline};
use crate::measure::plan::Measured;

/// How many rows the table has: more than there are mistakes, so that it doesn't tell how many.
const ROWS: usize = 12;

#[derive(Template)]
#[template(path = "sheet.html", config = "src/exercise/askama.toml", escape = "html")]
struct Page<'p> {
    id: &'p str,
    learner: Option<&'p str>,
    file: &'p str,
    drawings: Vec<Drawing>,
    lines: Vec<&'p str>,
    rows: usize,
    cautions: &'static str,
    css: &'static str,
}

struct Drawing {
    title: String,
    svg: String,
    wide: bool,
}

/// The sheet of an exercise, as HTML. `file` is what the learner's plan is called.
///
/// # Errors
/// In words, where a drawing can't be put into the page.
pub fn sheet(exercise: &Exercise, file: &str) -> Result<String, String> {
    let measured = Measured::new(plan_of(file, &exercise.text));
    let count = measured.rooms().count();
    let drawings = measured.rooms().zip(1..).map(|(room, number)| {
        let title = room.room.title.clone().unwrap_or_else(|| room.room.name.text.clone());
        let drawn = draw_unmeasured(room, Some(Paper::A4), (number, count));
        let svg = inline(&drawn.svg, &format!("room-{number}-"))?;
        Ok(Drawing { title, svg, wide: drawn.sheet.width > drawn.sheet.height })
    });
    let page = Page {
        id: &exercise.id,
        learner: exercise.learner.as_deref(),
        file,
        drawings: drawings.collect::<Result<_, String>>()?,
        lines: exercise.text.lines().collect(),
        rows: ROWS,
        cautions: crate::draw::CAUTIONS,
        css: include_str!("sheet.css"),
    };
    page.render().map_err(|error| error.to_string())
}

/// The table that a learner fills in, as comma-separated values: the exercise stands in it already.
pub fn table(exercise: &Exercise) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory doesn't fail.
    for row in [["exercise", "line", "rule", "what is wrong"], [&exercise.id, "", "", ""]] {
        let _ = writer.write_record(row);
    }
    writer.into_inner().unwrap_or_default()
}
