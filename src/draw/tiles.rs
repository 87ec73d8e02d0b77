//! A sheet larger than A4 on several sheets of it, to be trimmed and put together: each overlaps its neighbours, and marks show by how much.

use super::canvas::{Frame, finished, group, item, number, straight};
use super::lettering::{self, size};
use super::palette::{INK, PAPER, width};
use super::sheet::{FILING, MARGIN, Paper, Sheet};
use super::{Drawing, svg};
use crate::model::Point;

/// What a printer leaves blank on each side of A4, mm.
const BLANK: f64 = 10.0;
/// By how much a tile shows what its neighbour shows too, mm.
const OVERLAP: f64 = 10.0;
/// Length of a mark, mm.
const MARK: f64 = 4.0;

/// A sheet as tiles of A4, row by row; the sheet itself where it is no larger.
pub fn tiles(drawing: &Drawing) -> Vec<Drawing> {
    if drawing.sheet.paper == Paper::A4 {
        return vec![drawing.clone()];
    }
    let Some(body) = body_of(&drawing.svg) else { return vec![drawing.clone()] };
    // The paper beyond the frame isn't printed.
    let frame = drawing.sheet.frame();
    let shown = Frame { left: frame.left.min(FILING), top: frame.top.min(MARGIN), ..frame }.grown(0.26);
    let (short, long) = Paper::A4.sides();
    let count = |side: f64, whole: f64| {
        let inner = side - 2.0 * BLANK;
        (((whole - inner) / (inner - OVERLAP)).ceil().max(0.0) as usize) + 1
    };
    let laid = |(wide, high): (f64, f64)| (count(wide, shown.width()), count(high, shown.height()));
    let page = [(short, long), (long, short)].into_iter().min_by_key(|page| laid(*page).0 * laid(*page).1);
    let page = page.unwrap_or((short, long));
    let (columns, rows) = laid(page);
    let places = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
    places.map(|place| tile(drawing, body, page, shown, place, (rows, columns))).collect()
}

/// What stands inside the outermost element.
fn body_of(svg: &str) -> Option<&str> {
    let from = svg.find("<svg").and_then(|at| svg[at..].find('>').map(|end| at + end + 1))?;
    svg.get(from..svg.rfind("</svg>")?)
}

fn tile(
    drawing: &Drawing,
    body: &str,
    (wide, high): (f64, f64),
    shown: Frame,
    (row, column): (usize, usize),
    (rows, columns): (usize, usize),
) -> Drawing {
    let (inner_wide, inner_high) = (wide - 2.0 * BLANK, high - 2.0 * BLANK);
    let left = shown.left + (inner_wide - OVERLAP) * column as f64;
    let top = shown.top + (inner_high - OVERLAP) * row as f64;
    let window = item("svg")
        .num("x", BLANK)
        .num("y", BLANK)
        .num("width", inner_wide)
        .num("height", inner_high)
        .set("viewBox", [left, top, inner_wide, inner_high].map(|value| number(value, 3)).join(" "))
        .set("overflow", "hidden")
        .text(BODY);
    let mut marks = group("overlap-marks");
    let p = |x: f64, y: f64| Point { x, y };
    let (right, bottom) = (wide - BLANK, high - BLANK);
    // Where a neighbour's picture begins or ends, on both sides of the tile.
    let across = [(column > 0, BLANK + OVERLAP), (column + 1 < columns, right - OVERLAP)];
    for x in across.into_iter().filter(|(any, _)| *any).map(|(_, x)| x) {
        marks.push(straight(p(x, BLANK - MARK), p(x, BLANK), INK, width::THIN));
        marks.push(straight(p(x, bottom), p(x, bottom + MARK), INK, width::THIN));
    }
    let along = [(row > 0, BLANK + OVERLAP), (row + 1 < rows, bottom - OVERLAP)];
    for y in along.into_iter().filter(|(any, _)| *any).map(|(_, y)| y) {
        marks.push(straight(p(BLANK - MARK, y), p(BLANK, y), INK, width::THIN));
        marks.push(straight(p(right, y), p(right + MARK, y), INK, width::THIN));
    }
    let number_ = row * columns + column + 1;
    let name = format!("{}, tile {number_} of {}", drawing.title, rows * columns);
    let words =
        format!("{name}: row {} of {rows}, column {} of {columns}; marks show the overlap", row + 1, column + 1);
    let words = lettering::shorten(&words, size::BODY, false, inner_wide - 4.0 * OVERLAP);
    marks.push(lettering::line(&words, p(BLANK + 2.0 * OVERLAP, bottom + MARK), size::BODY, false));
    let sheet = Sheet { paper: Paper::A4, width: wide, height: high, ..drawing.sheet.clone() };
    let page = Frame::new(0.0, 0.0, wide, high).item().set("fill", PAPER);
    let whole = svg(&sheet, &name, "A part of a larger sheet.").with(page).with(window).with(marks);
    Drawing { title: name, shows: drawing.shows.clone(), sheet, svg: finished(&whole).replacen(BODY, body, 1) }
}

/// Stands for the larger sheet while a tile is written.
const BODY: &str = "\u{e000}";
