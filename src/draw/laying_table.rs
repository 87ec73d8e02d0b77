//! The laying table, a sheet of its own: each run of a room's cables with its heading, its length, and how much cable lies at its end.

use super::canvas::{Frame, Item, finished, group, item, number, straight};
use super::lettering::{self, size};
use super::palette as color;
use super::palette::width;
use super::sheet::{Paper, Sheet};
use super::{Drawing, Request, View, title};
use crate::measure::length::{laid_length, turns};
use crate::measure::room::RoomMeasure;
use crate::model::{Cable, Point, Run};

/// Height of a line, mm.
const LINE: f64 = 3.9;
/// Lines side by side on a sheet.
const COLUMNS: usize = 2;
/// Gap between columns, mm.
const GAP: f64 = 8.0;
/// Height of what stands over the columns, mm.
const HEAD: f64 = 16.0;
/// How many sheets a room's table takes at the most.
const MOST_SHEETS: usize = 20;

/// What each column says, and where it ends as a share of the width.
const CELLS: [(&str, f64); 4] = [("run", 0.1), ("heading", 0.4), ("length, mm", 0.68), ("laid at its end, m", 1.0)];

/// A line of the table.
enum Line {
    /// A cable's name and what it comes to.
    Cable(String),
    Run([String; 4]),
    /// What is left out.
    Rest(String),
}

/// Where a run leads: by the plan's own directions, or clockwise from its north.
///
/// ```
/// use layrule::draw::heading;
/// use layrule::model::Point;
/// assert_eq!(heading(Point { x: -20.0, y: 0.0 }), "west");
/// assert_eq!(heading(Point { x: 1.0, y: 1.0 }), "45° from north");
/// ```
pub fn heading(step: Point) -> String {
    let straight = [("east", step.x), ("west", -step.x), ("north", step.y), ("south", -step.y)];
    let long = step.x.hypot(step.y);
    if let Some((word, _)) = straight.into_iter().find(|(_, share)| *share > long * (1.0 - 1e-9)) {
        return word.into();
    }
    let angle = step.x.atan2(step.y).to_degrees().rem_euclid(360.0);
    format!("{}° from north", number(angle, 1))
}

/// How much cable lies at the end of each run, mm: to its corner as it is drawn, the corners before it rounded.
///
/// ```
/// use layrule::draw::running;
/// use layrule::model::{Point, Run};
/// let p = |x, y| Point { x, y };
/// let run = |start, end, before| Run { start, end, before, place: Default::default() };
/// let path = [run(p(0.0, 0.0), p(100.0, 0.0), 0.0), run(p(100.0, 0.0), p(100.0, 100.0), 100.0)];
/// // A quarter of a circle of 20 mm takes 31.416 mm where its corner takes 40 mm.
/// let found = running(&path, 20.0);
/// assert!((found[0] - 100.0).abs() < 1e-9 && (found[1] - 191.416).abs() < 1e-3);
/// ```
pub fn running(runs: &[Run], bend_radius: f64) -> Vec<f64> {
    let mut saved = 0.0;
    let mut turns = turns(runs).peekable();
    let mut found = Vec::with_capacity(runs.len());
    for (index, run) in runs.iter().enumerate() {
        while let Some(turn) = turns.next_if(|turn| turn.run < index) {
            let radius = turn.radius.min(bend_radius);
            if radius > 0.0 {
                saved += radius * (2.0 * turn.half_tangent - turn.angle());
            }
        }
        found.push(run.before + run.length() - saved);
    }
    found
}

fn lines(view: &View<'_>, most: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let runs: usize = view.room.cables.iter().map(|cable| cable.runs.len()).sum();
    let mut told = 0;
    for cable in &view.room.cables {
        if lines.len() + 2 >= most {
            break;
        }
        let radius = super::cable::bend_radius(view, cable);
        lines.push(Line::Cable(cable_words(view, cable, laid_length(&cable.runs, radius))));
        for (index, (run, laid)) in cable.runs.iter().zip(running(&cable.runs, radius)).enumerate() {
            if lines.len() + 1 >= most {
                break;
            }
            told += 1;
            lines.push(Line::Run([
                (index + 1).to_string(),
                heading(run.end - run.start),
                number(run.length(), 1),
                format!("{:.2}", laid / 1e3),
            ]));
        }
    }
    if told < runs {
        lines.push(Line::Rest(format!("and {} more runs", runs - told)));
    }
    lines
}

fn cable_words(view: &View<'_>, cable: &Cable, laid: f64) -> String {
    let kit = cable.kit.and_then(|kit| view.plan.kits.get(kit));
    let kit =
        kit.map(|kit| format!(", kit {} of {} m", kit.name.text, number(kit.length / 1e3, 1))).unwrap_or_default();
    format!("cable {}{kit}: {:.1} m laid", cable.name.text, laid / 1e3)
}

/// What a sheet shows.
const SHOWS: &str = "Each run with its heading, its length and the cable laid at its end.";

/// The sheets of a room's table, numbered from the request's on; none where it has no cable.
pub fn laying_table(measure: RoomMeasure<'_>, request: &Request<'_>) -> Vec<Drawing> {
    let RoomMeasure { plan, room, .. } = measure;
    if room.cables.iter().all(|cable| cable.runs.is_empty()) {
        return Vec::new();
    }
    let sheet = Sheet::page(Paper::A4);
    let frame = sheet.frame();
    let body = Frame { top: frame.top + HEAD, bottom: sheet.title.top - 4.0, ..frame }.grown_across(-3.0);
    let rows = (body.height() / LINE) as usize;
    let view = View {
        plan,
        room,
        measure,
        ghost: None,
        sheet,
        figures: true,
        lacking: &[],
        marks: super::findings::Marks::default(),
    };
    let lines = lines(&view, rows * COLUMNS * MOST_SHEETS);
    let (first, count) = request.sheet;
    let pages = lines.chunks(rows * COLUMNS).zip(first..);
    pages
        .map(|(page, number)| drawn(&view, &Request { sheet: (number, count), ..*request }, page, body, rows))
        .collect()
}

fn drawn(view: &View<'_>, request: &Request<'_>, lines: &[Line], body: Frame, rows: usize) -> Drawing {
    let wide = (body.width() - GAP * (COLUMNS - 1) as f64) / COLUMNS as f64;
    let mut table = group("laying-table");
    let p = |x: f64, y: f64| Point { x, y };
    let top = body.top - HEAD + 3.0;
    table.push(lettering::line("Laying table", p(body.left, top + 3.0), size::HEADING, true));
    let words = "Runs by number, as on the drawing; laid: cable from the cold joint to the run's end, corners rounded.";
    table.push(lettering::line(words, p(body.left, top + 7.0), size::BODY, false));
    for (column, lines) in lines.chunks(rows).enumerate() {
        let left = body.left + (wide + GAP) * column as f64;
        let mut own = group("column");
        let mut heads = group("heads");
        for (index, (name, end)) in CELLS.into_iter().enumerate() {
            heads.push(cell(name, index, end, (left, body.top - 2.0), wide).set("fill", color::GREY));
        }
        own.push(heads);
        own.push(straight(p(left, body.top - 0.8), p(left + wide, body.top - 0.8), color::RULE, width::THIN));
        for (row, line) in lines.iter().enumerate() {
            let y = body.top + LINE * (row as f64 + 0.75);
            match line {
                Line::Cable(words) => {
                    let words = lettering::shorten(words, size::BODY, true, wide);
                    own.push(group("cable").with(lettering::line(&words, p(left, y), size::BODY, true)));
                }
                Line::Rest(words) => {
                    own.push(group("rest").with(lettering::line(words, p(left, y), size::BODY, false)))
                }
                Line::Run(cells) => {
                    let mut run = group("run");
                    for (index, (text, (_, end))) in cells.iter().zip(CELLS).enumerate() {
                        run.push(cell(text, index, end, (left, y), wide));
                    }
                    own.push(run);
                }
            }
        }
        table.push(own);
    }
    let sheet = &view.sheet;
    let page = item("rect").num("x", 0.0).num("y", 0.0).num("width", sheet.width).num("height", sheet.height);
    let name = view.room.title.as_deref().unwrap_or(&view.room.name.text);
    let whole = super::svg(sheet, &format!("Laying table: {name}"), SHOWS)
        .with(page.set("fill", color::PAPER))
        .with(table)
        .with(title::block(view, request, "laying table"))
        .with(title::centring_marks(view))
        .with(sheet.frame().item().set("class", "border").line(color::INK, width::BROAD));
    Drawing { title: format!("{name}, laying table"), shows: SHOWS.into(), sheet: sheet.clone(), svg: finished(&whole) }
}

/// A cell: the heading from its left, figures up to where their column ends.
fn cell(text: &str, index: usize, end: f64, (left, y): (f64, f64), wide: f64) -> Item {
    if index == 1 {
        lettering::line(text, Point { x: left + (CELLS[0].1 + 0.04) * wide, y }, size::BODY, false)
    } else {
        lettering::line_to(text, Point { x: left + end * wide, y }, size::BODY, false)
    }
}
