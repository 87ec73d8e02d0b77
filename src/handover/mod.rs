//! The handover: one HTML page with all that stays with a floor: its drawing, its cables and circuit, the readings that were taken and are
//! still to be taken, its build-up and heat, what was found and agreed, and who answers for it.
//!
//! A page is data first: a `Page`, made of `Table`s and pictures by one file a section. `handover.html` and `handover.css` show it; the
//! template escapes every text. The page has no script and asks for nothing from outside.

mod chart;
mod checklist;
mod findings;
mod leaflet;
mod record;
mod tables;

use std::borrow::Cow;

use askama::Template;

use crate::checker::Report;
use crate::draw::sheet::{Paper, Scales};
use crate::draw::{Request, draw, inline};
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::takeoff::allowances::Allowances;
use crate::takeoff::{RoomTakeOff, take_off};

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq)]
enum Cell {
    /// This.
    Text(String),
    /// Nothing, for this reason.
    Missing(String),
    /// What is to be filled in by hand.
    Blank,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq)]
struct Row {
    head: String,
    cells: Vec<Cell>,
}

/// A table: its first column holds the heads of its rows.
#[derive(Debug, Clone, PartialEq)]
struct Table {
    caption: String,
    columns: Vec<String>,
    rows: Vec<Row>,
    /// Whether its fields are high enough to be filled in by hand.
    form: bool,
}

impl Table {
    fn new(caption: impl Into<String>, columns: &[&str]) -> Self {
        let columns = columns.iter().map(|column| (*column).to_string()).collect();
        Table { caption: caption.into(), columns, rows: Vec::new(), form: false }
    }

    /// The heading of the column of a cell, numbered from 1.
    fn label(&self, cell: &usize) -> &str {
        self.columns.get(*cell).map_or("", String::as_str)
    }

    fn row(&mut self, head: impl Into<String>, cells: Vec<Cell>) {
        self.rows.push(Row { head: head.into(), cells });
    }
}

/// A drawing or a chart: SVG that stands in the page.
#[derive(Debug, Clone, PartialEq)]
struct Picture {
    svg: String,
    wide: bool,
}

/// What the page says of a room.
struct RoomPage {
    title: String,
    incomplete: Option<String>,
    drawing: Picture,
    cables: Table,
    circuit: Table,
    areas: Table,
    readings: Vec<(Table, Picture)>,
    sensors: Vec<Table>,
    labels: Table,
    rcd_tests: Table,
    milestones: Table,
    notes: Table,
    photos: Table,
    /// What to go through; none where nothing is heated.
    checklist: Option<Table>,
    /// What the leaflet says; none where nothing is heated.
    leaflet: Option<Table>,
    layers: Table,
    heat: Table,
    /// How warm each cable and the floor over it get.
    warmth: Table,
}

/// The page.
#[derive(Template)]
#[template(path = "handover.html", config = "src/handover/askama.toml")]
struct Page {
    title: String,
    file: String,
    date: Option<String>,
    complete: bool,
    summary: String,
    rooms: Vec<RoomPage>,
    supplies: Table,
    findings: Table,
    agreed: Table,
    unchecked: Table,
    signatures: Table,
    cautions: &'static str,
    css: &'static str,
    /// What stands at the head and the foot of each printed page, as CSS.
    margins: String,
}

/// What is asked of a handover.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// The date it bears.
    pub date: Option<jiff::civil::Date>,
    /// What the rules found in the plan.
    pub report: &'a Report,
    /// What figures are reckoned with.
    pub allowances: &'a Allowances,
    /// The room it is of, by its place among the plan's; all of them where there is none.
    pub room: Option<usize>,
}

/// The handover of a plan, as an HTML file.
///
/// # Errors
/// When a drawing can't be put into the page, or the page can't be written.
pub fn handover(measured: &Measured, wanted: &Wanted<'_>) -> Result<String, String> {
    let plan = measured.plan();
    let mut taken = take_off(measured, wanted.allowances);
    let mut rooms: Vec<RoomMeasure<'_>> = measured.rooms().collect();
    let mut report = Cow::Borrowed(wanted.report);
    if let Some(room) = wanted.room {
        taken.keep_room(plan, room);
        rooms = rooms.into_iter().skip(room).take(1).collect();
        report = Cow::Owned(wanted.report.of_room(rooms.first().map_or("", |one| &one.room.name.text)));
    }
    let wanted = &Wanted { report: &report, ..*wanted };
    let sheets = rooms.len();
    let rooms = rooms.into_iter().zip(&taken.rooms).zip(1..);
    let rooms: Vec<RoomPage> = rooms
        .map(|((room, taken), number)| room_page(room, taken, (number, sheets), wanted))
        .collect::<Result<_, _>>()?;
    let titles: Vec<&str> = rooms.iter().map(|room| room.title.as_str()).collect();
    let title = if titles.is_empty() { "no room".into() } else { titles.join(", ") };
    let date = wanted.date.map(|date| date.to_string());
    let margins = margins(&title, &taken.file, date.as_deref());
    let page = Page {
        title,
        file: taken.file.clone(),
        date,
        complete: taken.complete,
        summary: findings::summary(wanted.report),
        rooms,
        supplies: tables::supplies(&taken),
        findings: findings::open(plan, wanted.report),
        agreed: findings::agreed(plan, wanted.report),
        unchecked: findings::unchecked(wanted.report),
        signatures: record::signatures(),
        cautions: crate::draw::CAUTIONS,
        css: include_str!("handover.css"),
        margins,
    };
    page.render().map_err(|error| error.to_string())
}

/// The most characters of a running title.
const RUNNING: usize = 60;

/// The running title, the plan and the number of the page, in the margins of printed pages but those that are drawings and have titles of their own.
fn margins(title: &str, file: &str, date: Option<&str>) -> String {
    let short = |text: &str| match text.char_indices().nth(RUNNING) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_string(),
    };
    let plan = date.map_or_else(|| short(file), |date| format!("{}, {date}", short(file)));
    format!(
        "@page {{\n  @top-left {{ content: \"{}\"; font: 8pt sans-serif; color: #55555f; }}\n  \
         @bottom-left {{ content: \"{}\"; font: 8pt sans-serif; color: #55555f; }}\n  \
         @bottom-right {{ content: \"Page \" counter(page) \" of \" counter(pages); font: 8pt sans-serif; color: #55555f; }}\n}}\n",
        css_text(&format!("Handover of floor heating: {}", short(title))),
        css_text(&plan),
    )
}

/// A text as a string of CSS holds it (CSS Syntax Level 3, 4.3.7): whatever is no letter, digit or space is written by its number.
fn css_text(text: &str) -> String {
    let written = |c: char| match c {
        ' ' => " ".to_string(),
        c if c.is_ascii_alphanumeric() => c.to_string(),
        c => format!("\\{:x} ", u32::from(c)),
    };
    text.chars().map(written).collect()
}

fn room_page(
    measure: RoomMeasure<'_>,
    taken: &RoomTakeOff,
    sheet: (usize, usize),
    wanted: &Wanted<'_>,
) -> Result<RoomPage, String> {
    let request = Request {
        paper: Some(Paper::A4),
        // The page has no larger paper.
        scales: Scales::Close,
        date: wanted.date,
        findings: true,
        list: false,
        unchecked: wanted.report.rules_unchecked(),
        sheet,
        ..Request::new(&wanted.report.findings)
    };
    let (plan, room) = (measure.plan, measure.room);
    let drawing = draw(measure, &request);
    // Names of elements must be the page's own, and each room has the same.
    let svg = inline(&drawing.svg, &format!("room-{}-", sheet.0))?;
    Ok(RoomPage {
        title: room.title.clone().unwrap_or_else(|| room.name.text.clone()),
        incomplete: room.incomplete.clone(),
        drawing: Picture { svg, wide: drawing.sheet.width > drawing.sheet.height },
        cables: tables::cables(taken),
        circuit: tables::circuit(taken),
        areas: tables::areas(taken),
        readings: record::readings(room, taken, wanted.allowances),
        sensors: record::sensors(room),
        labels: record::labels(plan, room),
        rcd_tests: record::rcd_tests(plan, room, wanted.allowances),
        notes: record::notes(room),
        photos: record::photos(room),
        checklist: checklist::checklist(plan, room),
        milestones: record::milestones(room, wanted.allowances),
        leaflet: leaflet::leaflet(measure, taken),
        layers: tables::layers(room, taken),
        heat: tables::heat(room, taken),
        warmth: tables::warmth(taken),
    })
}
